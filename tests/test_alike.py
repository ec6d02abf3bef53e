"""Cylinders that are alike are marched once; the answer must be that of marching each, and unlike ones must show why."""

import math

import numpy as np
import pytest
from hotside.sim import closed, load, predict
from hotside.sim.setup import prepare
from hotside.sim.steady import solve

SIX = {  # 3 litres
    "engine": {
        "cylinders": 6, "bore": "84 mm", "stroke": "90 mm", "compression_ratio": 9.0,
        "intake_valve": {"count": 2, "diameter": "33 mm", "lift": "9.5 mm", "opens": "14 deg BTDC", "closes": "52 deg ABDC"},
        "exhaust_valve": {"count": 2, "diameter": "28 mm", "lift": "9 mm", "opens": "52 deg BBDC", "closes": "16 deg ATDC"},
    },
    "fuel": {"name": "gasoline_98"},
    "turbine": {"model": "hardware", "throat_area": "830 mm2", "wheel_inlet_diameter": "64 mm"},
    "wastegate": {"diameter": "40 mm"},
    "compressor": {"efficiency": 0.74},
    "run": {"speed": "5500 rpm", "boost": "0.8 bar", "lambda": 0.82, "spark_advance": "14 deg"},
}  # fmt: skip
THREE = {  # 660 cc
    "engine": {
        "cylinders": 3, "bore": "65.8 mm", "stroke": "64.7 mm", "compression_ratio": 8.8,
        "intake_valve": {"count": 2, "diameter": "25 mm", "lift": "7.5 mm", "opens": "8 deg BTDC", "closes": "44 deg ABDC"},
        "exhaust_valve": {"count": 2, "diameter": "22 mm", "lift": "7 mm", "opens": "44 deg BBDC", "closes": "8 deg ATDC"},
    },
    "fuel": {"name": "gasoline_95"},
    "turbine": {"model": "area", "area": "150 mm2", "wheel_inlet_diameter": "36 mm"},
    "wastegate": {"diameter": "20 mm"},
    "compressor": {"efficiency": 0.70},
    "run": {"speed": "6000 rpm", "boost": "0.7 bar", "lambda": 0.83, "spark_advance": "12 deg"},
}  # fmt: skip
FOUR_SPLIT = {
    **SIX,
    "engine": {**SIX["engine"], "cylinders": 4},
    "exhaust": {"collectors": 2},
    "turbine": {"model": "hardware", "throat_area": "560 mm2", "wheel_inlet_diameter": "52 mm"},
    "wastegate": {"diameter": "34 mm"},
}
BENCH = {
    "engine": SIX["engine"],
    "fuel": SIX["fuel"],
    "run": {
        "speed": "3500 rpm", "lambda": 0.9, "spark_advance": "18 deg", "intake_pressure": "140 kPa",
        "intake_temperature": "315 K", "exhaust_pressure": "160 kPa",
    },
}  # fmt: skip
HELD = {**THREE, "run": {**THREE["run"], "held_backpressure": "0.9 bar"}}
CASES = {"three": THREE, "six": SIX, "divided four": FOUR_SPLIT, "bench": BENCH, "held": HELD}
COUNTED = {"cycles", "mass_closure", "energy_closure", "knock_onset_deg"}  # not a reading, or compared on its own


def differences(a, b):
    """Relative difference of every reading of two predictions."""
    found = {}
    for name, x in a.to_dict().items():
        y = getattr(b, name)
        if isinstance(x, float) and name not in COUNTED:
            found[name] = abs(x - y) / max(abs(x), abs(y), 1e-9)
    return found


@pytest.mark.parametrize("name", CASES)
def test_one_for_all_is_each_for_itself(name):
    """Alike cylinders share one closed cycle: temperatures within 0.05 K, every other reading within 0.01 %."""
    case = load(CASES[name])
    assert prepare(case).engine.alike == 1
    one, each = predict(case), predict(case, alike=False)
    assert one.status == each.status == "converged"
    assert one.exhaust_temperature_k == pytest.approx(each.exhaust_temperature_k, abs=0.05)
    for angle in ("knock_margin_deg", "ca50_deg", "peak_pressure_deg", "knock_onset_deg"):
        assert getattr(one, angle) == pytest.approx(getattr(each, angle), abs=0.01), angle
    wrong = {n: d for n, d in differences(one, each).items() if d > 1e-4 and not n.endswith("_deg")}
    assert not wrong


@pytest.mark.parametrize("name", ["three", "six", "divided four"])
def test_firing_order_alone_makes_no_difference(name):
    """In one collector at even intervals every cylinder meets the same pulses, whatever its number."""
    rows = predict(load(CASES[name]), alike=False).cylinders
    for value in ("exhaust_temperature_k", "residual_fraction", "imep_net_pa", "runner_pressure_pa", "octane_required"):
        column = [row[value] for row in rows]
        assert max(column) - min(column) < 1e-4 * abs(np.mean(column)), value


def test_firing_order_renumbers():
    """Another firing order with even intervals changes numbers, not readings."""
    a, b = (predict(load(SIX).set("engine.firing_order", order)) for order in ([1, 5, 3, 6, 2, 4], [1, 4, 2, 5, 3, 6]))
    assert a.exhaust_temperature_k == pytest.approx(b.exhaust_temperature_k, abs=0.02)
    assert a.torque_nm == pytest.approx(b.torque_nm, rel=1e-5)


def test_uneven_firing_is_marched_each():
    """Uneven intervals in one collector: the cylinder in whose overlap another blows down holds back more burnt gas."""
    case = load(FOUR_SPLIT).set_all(
        {
            "exhaust.collectors": 1,
            "engine.firing_order": [1, 3, 4, 2],
            "engine.firing_intervals": ["90 deg", "270 deg", "90 deg", "270 deg"],
        }
    )
    assert prepare(case).engine.alike == 0
    found = predict(case)
    assert found.status == "converged"
    rows = {c["cylinder"]: c for c in found.cylinders}
    assert rows[1]["residual_fraction"] == pytest.approx(rows[4]["residual_fraction"], rel=1e-4)
    assert rows[2]["residual_fraction"] == pytest.approx(rows[3]["residual_fraction"], rel=1e-4)
    assert abs(rows[1]["residual_fraction"] / rows[3]["residual_fraction"] - 1.0) > 0.01


def test_uneven_groups_of_a_divided_housing_are_marched_each():
    """Neighbours in the firing order led into one scroll make its two cylinders unlike, mirrored in the other scroll."""
    case = load(FOUR_SPLIT).set("exhaust.cylinders_to", [[1, 3], [4, 2]])
    assert prepare(case).engine.alike == 0
    rows = {c["cylinder"]: c for c in predict(case).cylinders}
    assert rows[1]["residual_fraction"] == pytest.approx(rows[4]["residual_fraction"], rel=1e-3)
    assert rows[3]["residual_fraction"] == pytest.approx(rows[2]["residual_fraction"], rel=1e-3)
    assert abs(rows[1]["residual_fraction"] / rows[3]["residual_fraction"] - 1.0) > 0.01


@pytest.mark.parametrize("lam", [0.82, 1.05])
def test_lean_cylinder_shows_in_its_own_runner(lam):
    """6 % less fuel heats a rich engine's cylinder and cools a lean one's, and its neighbours stay as they were."""
    case = load(SIX).set("run.lambda", lam)
    even, odd = predict(case, alike=False), predict(case.set("cylinder.4.fuel", -0.06))
    assert odd.cylinders[3]["lambda_ratio"] == pytest.approx(lam / 0.94, rel=1e-9)
    change = [
        o["exhaust_temperature_k"] - e["exhaust_temperature_k"]
        for o, e in zip(odd.cylinders, even.cylinders, strict=True)
    ]
    assert math.copysign(1.0, change[3]) == (1.0 if lam < 1.0 else -1.0)
    assert abs(change[3]) > 20.0
    assert max(abs(c) for k, c in enumerate(change) if k != 3) < 0.1 * abs(change[3])


def test_one_retarded_cylinder_is_hotter():
    """5 deg later in one cylinder: that one hotter and weaker, and needing less octane."""
    odd = predict(load(THREE).set("cylinder.2.spark", "-5 deg"))
    own, others = odd.cylinders[1], [odd.cylinders[0], odd.cylinders[2]]
    assert own["exhaust_temperature_k"] > max(c["exhaust_temperature_k"] for c in others) + 15.0
    assert own["imep_gross_pa"] < min(c["imep_gross_pa"] for c in others)
    assert own["octane_required"] < min(c["octane_required"] for c in others) - 2.0


def test_more_air_in_one_cylinder_makes_it_lean():
    """5 % more air with the same fuel: lambda 5 % up, more work in a rich engine, and flows still balance."""
    odd = predict(load(THREE).set("cylinder.1.air", 0.05))
    own, other = odd.cylinders[0], odd.cylinders[1]
    assert own["lambda_ratio"] == pytest.approx(1.05 * other["lambda_ratio"], rel=1e-9)
    assert own["air_per_cycle_kg"] == pytest.approx(1.05 * other["air_per_cycle_kg"], rel=0.02)
    assert odd.exhaust_flow_kg_s == pytest.approx(odd.air_flow_kg_s + odd.fuel_flow_kg_s, rel=2e-6)


def test_the_mean_of_unlike_cylinders_is_theirs():
    """Engine values are sums or flow-weighted means of the cylinders' own."""
    found = predict(load(THREE).set_all({"cylinder.1.fuel": 0.08, "cylinder.3.spark": "-4 deg"}))
    rows = found.cylinders
    assert np.mean([c["imep_gross_pa"] for c in rows]) == pytest.approx(found.imep_gross_pa, rel=1e-9)
    assert np.mean([c["residual_fraction"] for c in rows]) == pytest.approx(found.residual_fraction, rel=1e-9)
    assert max(c["octane_required"] for c in rows) == pytest.approx(found.octane_required, rel=1e-9)
    temperatures = [c["exhaust_temperature_k"] for c in rows]
    assert min(temperatures) < found.exhaust_temperature_k < max(temperatures)
    assert sum(c["air_per_cycle_kg"] for c in rows) * found.speed_rpm / 120.0 == pytest.approx(
        found.air_flow_kg_s, rel=1e-6
    )


def test_a_cylinder_that_fires_between_two_steps_is_marched_by_itself():
    """Each of the two has a collector of its own, so they are alike but for the steps that meet their valve events."""
    odd = load().set_all(
        {
            "engine.cylinders": 2,
            "engine.firing_order": [1, 2],
            "engine.firing_intervals": ["336.647 deg", "383.353 deg"],
            "exhaust.collectors": 2,
            "exhaust.cylinders_to": [[1], [2]],
            "probe.1.cylinder": 1,
            "turbine.a_over_r": "8 mm",
        }
    )
    assert not prepare(odd).engine.alike
    found = predict(odd)
    assert found.converged
    assert found.mass_closure < 1e-6
    assert prepare(odd.set("engine.firing_intervals", ["360 deg", "360 deg"])).engine.alike


@pytest.mark.parametrize("case", [THREE, SIX, FOUR_SPLIT], ids=["three", "six", "four, two collectors"])
def test_a_march_from_one_firing_to_the_next_records_the_whole_cycle(case: dict) -> None:
    """At rest each cylinder repeats what the one before it did a firing earlier, so one march holds the records of all."""
    march, _ = solve(prepare(load(case)))
    assert march.told == len(march.setup.inputs)
    kept = []
    for keep in (march.last_cycle, march.whole_cycle):
        keep()
        used = march.desk.record[march.desk.record[:, closed.R_P] > 0.0].copy()
        kept.append((march.desk.manifold_record.copy(), used))
    (manifold, crank), (manifold_marched, crank_marched) = kept
    size = np.abs(manifold_marched).max(axis=(0, 1))
    assert np.abs(manifold - manifold_marched).max(axis=(0, 1)) / size == pytest.approx(np.zeros(len(size)), abs=2e-4)
    assert crank.shape == crank_marched.shape
    assert crank == pytest.approx(crank_marched, rel=1e-4, abs=1e-9)


def test_a_point_that_faster_repetition_keeps_from_rest_is_marched_plainly() -> None:
    """No boost asked for and the wastegate open: what little the turbine makes is found though mixed starts never rest there."""
    found = predict(load(FOUR_SPLIT).set_all({"run.speed": "1200 rpm", "run.boost": "0 bar"}))
    assert found.status == "boost over"
    assert 1e3 < found.boost_pa < 5e3
    assert found.mass_closure < 1e-6
