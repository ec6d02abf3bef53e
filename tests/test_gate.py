"""Wastegates: by opening, by the boost that is asked for, by spring and diaphragm."""

from pathlib import Path

import numpy as np
import pytest
from hotside.models import wastegate
from hotside.sim import load, predict
from hotside.sim.errors import CaseError

TWIN = {  # 0.9 litres, two cylinders
    "engine": {
        "cylinders": 2, "bore": "80 mm", "stroke": "88 mm", "compression_ratio": 9.8,
        "intake_valve": {"count": 2, "diameter": "30 mm", "lift": "8.8 mm", "opens": "10 deg BTDC", "closes": "46 deg ABDC"},
        "exhaust_valve": {"count": 2, "diameter": "26 mm", "lift": "8.4 mm", "opens": "46 deg BBDC", "closes": "10 deg ATDC"},
    },
    "fuel": {"name": "gasoline_98"},
    "turbine": {"model": "hardware", "a_over_r": "8.5 mm", "wheel_inlet_diameter": "37 mm"},
    "wastegate": {"diameter": "20 mm"},
    "run": {"speed": "5000 rpm", "boost": "0.9 bar", "lambda": 0.85, "spark_advance": "9 deg"},
}  # fmt: skip


def sprung(**changes):
    """The twin with a spring-loaded gate."""
    names = {"wastegate.model": "spring", "wastegate.crack_pressure": "0.5 bar", "wastegate.full_pressure": "1.1 bar"}
    return load(TWIN).set_all(names | changes)


def test_the_opening_that_makes_a_boost_makes_it_again():
    """Asked for by boost the gate takes an opening; left at that opening the same boost comes of it."""
    asked = predict(load(TWIN))
    again = predict(
        load(TWIN).set_all(
            {"wastegate.model": "opening", "wastegate.opening": asked.wastegate_opening, "run.boost": "0.3 bar"}
        )
    )
    assert asked.status == again.status == "converged"
    assert again.boost_pa == pytest.approx(asked.boost_pa, rel=2e-4)
    assert again.wastegate_opening == pytest.approx(asked.wastegate_opening, abs=1e-6)
    assert any("run.boost is not followed" in text for text in again.warnings)


def test_more_opening_is_less_boost():
    law = {"wastegate.model": "opening"}
    boosts = [predict(load(TWIN).set_all(law | {"wastegate.opening": x})).boost_pa for x in (0.0, 0.2, 0.4, 0.7, 1.0)]
    print("boost by opening: " + ", ".join(f"{b / 1e5:.2f}" for b in boosts))
    assert np.all(np.diff(boosts) < 0.0)


@pytest.mark.parametrize("signal", ["compressor", "intake"])
def test_the_spring_stands_where_its_forces_balance(signal):
    """Diaphragm and exhaust on the valve against the spring: recomputed from what is printed."""
    case = sprung(**{"wastegate.signal": signal})
    found = predict(case)
    w = case.wastegate
    assert found.status == "converged"
    assert found.boost_reached
    assert 0.0 < found.wastegate_opening < 1.0
    gate = wastegate.gate_from_pump(w.crack_pressure, w.full_pressure, w.diaphragm_diameter, w.lever_ratio, w.diameter)
    loss = case.cooler.pressure_loss[0] * (found.air_flow_kg_s / case.cooler.pressure_loss[1]) ** 2
    pressure = found.boost_pa + (loss if signal == "compressor" else 0.0)
    behind = found.pre_turbine_pressure_pa / found.pressure_ratio_turbine
    opening = wastegate.gate_opening(gate, pressure, found.pre_turbine_pressure_pa, behind)
    assert found.wastegate_opening == pytest.approx(opening, abs=2e-3)


def test_exhaust_on_the_valve_lowers_the_boost():
    """A diaphragm small against the valve has little to say against the exhaust under it: the gate cracks early."""
    large, small = (predict(sprung(**{"wastegate.diaphragm_diameter": d})) for d in ("70 mm", "28 mm"))
    assert small.boost_pa < large.boost_pa


def test_a_stiffer_spring_is_more_boost():
    found = [
        predict(sprung(**{"wastegate.crack_pressure": f"{p} bar", "wastegate.full_pressure": f"{p + 0.6} bar"}))
        for p in (0.3, 0.5, 0.7)
    ]
    boosts = [p.boost_pa for p in found]
    assert np.all(np.diff(boosts) > 0.0)


def test_boost_of_a_spring_rises_with_speed_and_a_small_valve_creeps():
    """More gas has to go past the turbine, so the valve must lift more against its spring; once fully open it can no more,
    and the boost creeps, which is said."""
    found = [predict(sprung(**{"run.speed": f"{n} rpm"})) for n in (3500, 4500, 5500, 6500)]
    assert np.all(np.diff([p.wastegate_opening for p in found]) > 0.0)
    assert not any("creeps" in text for p in found for text in p.warnings)
    small = [predict(sprung(**{"run.speed": f"{n} rpm", "wastegate.diameter": "11 mm"})) for n in (4500, 5500)]
    print("boost of the small valve: " + ", ".join(f"{p.boost_pa / 1e5:.2f} bar" for p in small))
    assert all(p.wastegate_opening == pytest.approx(1.0, abs=1e-4) for p in small)
    assert all(p.boost_pa > q.boost_pa + 0.3e5 for p, q in zip(small, found[1:3], strict=True))
    assert all(any("creeps" in text for text in p.warnings) for p in small)


def test_a_gate_that_never_opens_is_said():
    found = predict(sprung(**{"run.speed": "1200 rpm"}))
    assert found.wastegate_opening == 0.0
    assert any("stays shut" in text for text in found.warnings)


def test_what_a_gate_needs_is_asked_for():
    with pytest.raises(CaseError, match=r"wastegate\.crack_pressure is missing"):
        load(TWIN).set("wastegate.model", "spring")
    with pytest.raises(CaseError, match=r"wastegate\.opening is missing"):
        load(TWIN).set("wastegate.model", "opening")
    with pytest.raises(CaseError, match="is not above"):
        sprung(**{"wastegate.full_pressure": "0.4 bar"})
    raw = load(TWIN).set_all({"wastegate.model": "opening", "wastegate.opening": "20 %"}).to_dict()
    del raw["run"]["boost"]
    assert predict(load(raw)).boost_pa > 0.0
    assert "wastegate.crack_pressure" in load(TWIN).set("wastegate.crack_pressure", "0.5 bar").unread


def test_a_wastegate_that_does_not_close_costs_boost_only_where_it_should_be_shut():
    """Gas that passes it gives the wheel no power; where the valve stands further open than the gap, the gap is nothing."""
    six = load(Path(__file__).resolve().parent.parent / "examples" / "tractor_six.toml")
    leaking = six.set("wastegate.leak_area", "100 mm2")
    low, low_leaking = (predict(c.set("run.speed", "2600 rpm")) for c in (six, leaking))
    assert low_leaking.boost_pa < 0.9 * low.boost_pa
    assert low_leaking.wastegate_opening == low.wastegate_opening == 0.0
    high, high_leaking = predict(six), predict(leaking)
    assert high.wastegate_opening * six.wastegate.area * six.wastegate.discharge > 100e-6
    assert high_leaking.backpressure_pa == pytest.approx(high.backpressure_pa, rel=1e-4)


SIX = {  # 3.0 litres with a wheel that gas must turn before it gives anything
    "engine": {
        "cylinders": 6, "bore": "84 mm", "stroke": "90 mm", "compression_ratio": 9.8,
        "intake_valve": {"count": 2, "diameter": "33 mm", "lift": "9.5 mm", "opens": "8 deg BTDC", "closes": "44 deg ABDC"},
        "exhaust_valve": {"count": 2, "diameter": "28 mm", "lift": "9 mm", "opens": "48 deg BBDC", "closes": "8 deg ATDC"},
    },
    "fuel": {"name": "gasoline_95"},
    "exhaust": {"runner_length": "200 mm", "runner_diameter": "38 mm"},
    "turbine": {"model": "hardware", "a_over_r": "0.7 in", "wheel_inlet_diameter": "62 mm"},
    "wastegate": {"model": "spring", "diameter": "36 mm", "crack_pressure": "0.5 bar"},
    "compressor": {"wheel_diameter": "66 mm"},
    "run": {"speed": "3500 rpm", "lambda": 0.85, "spark_advance": "13 deg"},
}  # fmt: skip


def test_wheels_at_rest_are_no_balance():
    """Standing still both wheels give and take nothing, which balances and is no answer: gas blowing on a standing wheel turns it.
    Along speed the boost of a spring rises smoothly, nowhere down to nothing."""
    found = [predict(load(SIX).set("run.speed", f"{n} rpm")) for n in range(3400, 3701, 25)]
    boost = np.array([p.boost_pa for p in found])
    assert all(p.converged and p.compressor_pressure_ratio > 1.3 for p in found)
    assert np.all(np.diff(boost) > 0.0)
    assert np.ptp(boost) < 0.02e5


def test_a_spring_and_an_asked_boost_are_one_balance():
    """Asked for the boost a spring makes, the wastegate that follows it stands where the spring held it."""
    case = load(SIX)
    sprung = predict(case)
    asked = predict(case.set_all({"wastegate.model": "boost", "run.boost": f"{sprung.boost_pa!r} Pa"}))
    assert asked.wastegate_opening == pytest.approx(sprung.wastegate_opening, rel=1e-3)
    assert asked.shaft_speed_rad_s == pytest.approx(sprung.shaft_speed_rad_s, rel=1e-4)
    assert asked.power_w == pytest.approx(sprung.power_w, rel=1e-4)
