"""Random turbo cases around sane engines, every compressor, turbine and wastegate model among them: each one is answered or ends
in a named status with its sentence."""

import importlib.util
import math
import re
import time
from collections import Counter
from pathlib import Path

import numpy as np
import pytest
from hotside.sim import load, maps, predict
from hotside.sim.steady import SolveError

EXAMPLES = Path(__file__).resolve().parent.parent / "examples"
SHORT = re.compile(
    r"The turbine cannot make \d\.\d\d bar at \d+ rpm; it makes -?\d\.\d\d bar with the wastegate shut\."
)
NAMED = ("converged", "boost short", "boost over", "not periodic", "does not fire", "no fresh charge")


def neighbour():
    """The file of healthy engines, as a module."""
    path = Path(__file__).parent / "hard" / "test_healthy_engines.py"
    spec = importlib.util.spec_from_file_location("healthy_engines", path)
    loaded = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(loaded)
    return loaded


healthy_case = neighbour().healthy_case


def unfinite(value, name=""):
    """Dotted names of figures that are not finite, anywhere in a nested result."""
    if isinstance(value, dict | list):
        items = value.items() if isinstance(value, dict) else enumerate(value)
        return [n for k, v in items for n in unfinite(v, f"{name}.{k}")]
    return [name] if isinstance(value, float) and not math.isfinite(value) else []


def stretched(name, flow, seed_speed):
    """A map of examples/ for a machine `flow` times as large, its shaft slower in proportion to size."""
    table = maps.read_map(EXAMPLES / name, "turbine.map" if "turbine" in name else "compressor.map")
    points = []
    for speed, m, ratio, efficiency in table["points"]:
        points.append(
            [
                f"{float(speed.split()[0]) * seed_speed!r} rad/s",
                f"{float(m.split()[0]) * flow!r} kg/s",
                ratio,
                efficiency,
            ]
        )
    return table | {"points": points}


def turbo_case(seed):
    """One case; the seed alone tells which."""
    rng = np.random.default_rng(10_000 + seed)
    case = healthy_case(seed)
    e = case["engine"]
    litres = e["cylinders"] * math.pi / 4.0 * float(e["bore"].split()[0]) ** 2 * float(e["stroke"].split()[0]) * 1e-6
    size = math.sqrt(litres / 2.0)
    case["run"]["boost"] = f"{rng.uniform(0.1, 3.0):.3f} bar"
    model = str(rng.choice(["wheel", "map", "constant"]))
    case["compressor"] = {"model": model, "wheel_diameter": f"{58.0 * size * rng.uniform(0.75, 1.3):.2f} mm"}
    stretch = size**2 * rng.uniform(0.7, 1.4)
    if model == "map":
        case["compressor"]["map"] = stretched("compressor_58.csv", stretch, 1.0 / size)
    if rng.random() < 0.3:
        wheel = {"model": "map", "wheel_inlet_diameter": f"{56.0 * size:.2f} mm"}
        case["turbine"] = wheel | {
            "map": stretched("housings/turbine_56_small.csv", stretch * rng.uniform(0.8, 1.5), 1.0 / size)
        }
    kind = rng.random()
    if kind < 0.2:
        case["wastegate"] |= {"model": "opening", "opening": round(float(rng.uniform(0.0, 1.0)), 3)}
    elif kind < 0.4:
        crack = rng.uniform(0.2, 1.2)
        case["wastegate"] |= {
            "model": "spring",
            "crack_pressure": f"{crack:.3f} bar",
            "full_pressure": f"{crack + rng.uniform(0.1, 0.8):.3f} bar",
        }
    return case


def judge(seed):
    """Status, what is wrong with it, and the first sentence of its warnings."""
    try:
        found = predict(load(turbo_case(seed)))
    except SolveError as error:
        return "solve error", [] if str(error).endswith(".") else [str(error)], str(error)
    wrong = [f"{name} is not finite" for name in unfinite(found.to_dict())]
    if found.status not in NAMED:
        wrong.append(f"status {found.status} has no name")
    if found.status != "converged" and not found.warnings:
        wrong.append("no sentence")
    if found.status == "boost short" and not any(SHORT.match(text) for text in found.warnings):
        wrong.append("does not say what it makes")
    if found.compressor_pressure_ratio <= 1.0:
        wrong.append("the wheels stand still")
    if found.converged and found.energy_closure > 1e-3:
        wrong.append(f"energy closure {found.energy_closure:.1e}")
    if found.shaft_speed_rad_s is not None and not 0.0 <= found.shaft_speed_rad_s < 1e5:
        wrong.append(f"shaft {found.shaft_speed_rad_s:.0f} rad/s")
    return found.status, wrong, next(iter(found.warnings), "no warning")


def run(seeds):
    """Counts by ending, printed with one sentence of each, and what is wrong."""
    tally, wrong, said = Counter(), [], {}
    begun = time.perf_counter()
    for seed in seeds:
        status, complaints, sentence = judge(seed)
        tally[status] += 1
        said.setdefault(status, sentence)
        wrong += [f"seed {seed} ({status}): {text}" for text in complaints]
    print(f"{len(seeds)} random turbos in {time.perf_counter() - begun:.0f} s")
    for status, count in tally.most_common():
        print(f"{count:4d} {status}: {said[status]}")
    return tally, wrong


def test_thirty_random_turbos():
    tally, wrong = run(range(30))
    assert not wrong, "\n".join(wrong)
    assert tally["converged"] + tally["boost short"] + tally["boost over"] >= 28


@pytest.mark.slow
def test_five_hundred_random_turbos():
    tally, wrong = run(range(500))
    assert not wrong, "\n".join(wrong)
    assert tally["converged"] + tally["boost short"] + tally["boost over"] >= 475
