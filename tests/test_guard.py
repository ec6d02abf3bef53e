"""The regression guard: what twelve cases gave, kept with the version of the physics that gave it.

These are figures of our own: they prove nothing, they notice. A change that moves a reading beyond its tolerance has to say
so: renew the figures with

    python tests/test_guard.py "what changed in the physics"

which counts the version up and writes down why, and how many readings moved, in tests/guard.json.
"""

import json
import math
import sys
from pathlib import Path

import pytest
from hotside.sim import load, predict

KEPT = Path(__file__).with_name("guard.json")
EXAMPLES = Path(__file__).resolve().parent.parent / "examples"
# What a person could notice on a gauge; step errors of the default setting are inside (tests/test_steps.py).
TOLERANCES = {  # reading -> (share of the value, and at least, unit)
    "air_flow_kg_s": (2e-3, 1e-6, "kg/s"),
    "boost_pa": (0.0, 200.0, "Pa"),
    "ca50_deg": (0.0, 0.1, "deg"),
    "exhaust_temperature_k": (0.0, 1.0, "K"),
    "fmep_pa": (2e-3, 100.0, "Pa"),
    "imep_gross_pa": (2e-3, 1e3, "Pa"),
    "knock_margin_deg": (0.0, 0.1, "deg"),
    "octane_required": (0.0, 0.1, ""),
    "peak_pressure_pa": (3e-3, 1e3, "Pa"),
    "pmep_pa": (2e-3, 500.0, "Pa"),
    "power_w": (2e-3, 10.0, "W"),
    "pre_turbine_pressure_pa": (2e-3, 100.0, "Pa"),
    "probe_k": (0.0, 1.0, "K"),
    "residual_fraction": (0.0, 5e-4, ""),
    "shaft_speed_rad_s": (3e-3, 1.0, "rad/s"),
    "turbine_choked_share": (0.0, 0.02, ""),
    "turbine_inlet_temperature_k": (0.0, 1.0, "K"),
    "wall_heat_fraction": (0.0, 1e-3, ""),
    "wastegate_opening": (0.0, 5e-3, ""),
}
BUGGY = "flange"  # the three-cylinder of the examples


def example(name, **changes):
    """A case of the examples, or the demo, with some inputs changed; __ stands for the dot."""
    case = load(EXAMPLES / f"{name}.toml") if name else load()
    values = {key.replace("__", "."): value for key, value in changes.items()}
    return case.set_all(values) if values else case


def cases():
    """Twelve cases that together use every submodel and layout."""
    maps = {"turbine.model": "map", "turbine.map": str(EXAMPLES / "housings" / "turbine_56_large.csv")}
    maps |= {"compressor.model": "map", "compressor.map": str(EXAMPLES / "compressor_58.csv")}
    return {
        "demo": example(""),
        "demo, measured maps": _with_maps(example(""), maps),
        "bench": example("bench"),
        "bench, spark-driven, woschni, slow": example(
            "bench", burn__model="spark", run__spark_advance="22 deg", wall_heat__model="woschni", run__speed="1000 rpm"
        ),
        "divided four": example("divided_four"),
        "tractor six": example("tractor_six"),
        "uneven four": example("uneven"),
        "buggy": example(BUGGY),
        "buggy, turbine too large": example(BUGGY, turbine__a_over_r="24 mm", run__speed="2600 rpm"),
        "buggy, small wastegate": example(
            BUGGY, turbine__a_over_r="20 mm", wastegate__diameter="6 mm", run__boost="0.4 bar", friction__model="patton"
        ),
        "buggy, held, methanol, annand": example(
            BUGGY, run__held_backpressure="1.2 bar", fuel__name="methanol", wall_heat__model="annand"
        ),
        "buggy, uneven firing, lean, late": example(
            BUGGY,
            engine__firing_intervals=["180 deg", "180 deg", "360 deg"],
            run__lambda=1.15,
            run__spark_advance="4 deg",
            friction__model="sandoval",
            engine__blow_by_area="0.3 mm2",
        ),
    }


def _with_maps(case, maps):
    """The case with maps from files, which only a file or a table can name."""
    from hotside.sim.maps import read_map

    return case.set_all({k: read_map(Path(v), k) if k.endswith(".map") else v for k, v in maps.items()})


def readings(case):
    """What is kept of a case: the status and the readings that have a tolerance."""
    found = predict(case).to_dict()
    found["probe_k"] = found["probes"][0]["reading_k"] if found["probes"] else None
    return {"status": found["status"]} | {
        name: None if found[name] is None else float(f"{found[name]:.8g}") for name in TOLERANCES
    }


def moved(before, now):
    """Sentences: which readings of a case moved beyond their tolerance, and by how much."""
    lines = [] if before["status"] == now["status"] else [f"status: {before['status']} -> {now['status']}"]
    for name, (share, least, unit) in TOLERANCES.items():
        old, new = before.get(name), now[name]
        if old is None or new is None:
            lines += [] if old == new else [f"{name}: {old} -> {new}"]
            continue
        most = max(share * abs(old), least)
        if not math.isfinite(new) or abs(new - old) > most:
            by = f"{new - old:+.4g} {unit}".strip() + (f", {100 * (new / old - 1):+.2f} %" if old else "")
            lines.append(f"{name}: {old:.6g} -> {new:.6g} ({by}; allowed {most:.3g})")
    return lines


def renew(why, path=KEPT):
    """Write today's readings with the next version and the reason; returns what moved, by case."""
    kept = json.loads(path.read_text()) if path.exists() else {"physics_version": 0, "history": [], "cases": {}}
    today = {name: readings(case) for name, case in cases().items()}
    changed = {name: moved(kept["cases"][name], now) for name, now in today.items() if name in kept["cases"]}
    version = kept["physics_version"] + 1
    entry = {"physics_version": version, "why": why, "readings_moved": sum(map(len, changed.values()))}
    whole = {"physics_version": version, "history": [*kept["history"], entry], "cases": today}
    path.write_text(json.dumps(whole, indent=1) + "\n")
    return changed


@pytest.fixture(scope="module")
def kept():
    """The file of the guard."""
    return json.loads(KEPT.read_text())


@pytest.mark.parametrize("name", cases())
def test_nothing_moved_unsaid(name, kept):
    lines = moved(kept["cases"][name], readings(cases()[name]))
    assert not lines, (
        f"{name}, against physics version {kept['physics_version']}:\n  "
        + "\n  ".join(lines)
        + '\nIf that is meant: python tests/test_guard.py "what changed in the physics"'
    )


def test_the_guard_notices_and_says_by_how_much(kept):
    before = kept["cases"]["demo"]
    now = before | {"exhaust_temperature_k": before["exhaust_temperature_k"] + 2.5, "status": "boost over"}
    said = moved(before, now)
    assert len(said) == 2
    assert "converged -> boost over" in said[0]
    assert "exhaust_temperature_k" in said[1]
    assert "+2.5 K" in said[1]
    assert moved(before, before) == []
    assert moved(before, before | {"power_w": None}) == [f"power_w: {before['power_w']} -> None"]


def test_what_is_kept_is_whole(kept):
    """Twelve cases that use every kind of ending, each version with its reason."""
    assert list(kept["cases"]) == list(cases())
    assert len(kept["cases"]) == 12
    assert {"converged", "boost short", "boost over"} <= {row["status"] for row in kept["cases"].values()}
    assert [entry["physics_version"] for entry in kept["history"]] == list(range(1, kept["physics_version"] + 1))
    assert all(entry["why"].strip() for entry in kept["history"])
    read = {name for row in kept["cases"].values() for name, value in row.items() if value is not None}
    assert read == {"status", *TOLERANCES}


if __name__ == "__main__":
    if len(sys.argv) != 2 or not sys.argv[1].strip():
        sys.exit('say why: python tests/test_guard.py "what changed in the physics"')
    for case_name, said in renew(sys.argv[1]).items():
        print("\n  ".join([f"{case_name}: {len(said)} readings moved", *said]))
