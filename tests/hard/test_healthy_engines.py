"""Engines as people build them, at full load, by the hundred: every one is answered and settles."""

import math

import numpy as np
import pytest
from hotside.sim import load, predict
from hotside.sim.steady import SolveError


def healthy_case(seed):
    """An engine as people build them, at full load: nothing in it is out of the ordinary."""
    rng = np.random.default_rng(seed)
    n, bore = int(rng.integers(2, 9)), rng.uniform(66.0, 95.0)
    stroke = bore * rng.uniform(0.85, 1.15)
    litres = n * math.pi / 4.0 * bore**2 * stroke * 1e-6
    head, wheel = bore * rng.uniform(0.36, 0.40), 50.0 * math.sqrt(litres / 1.8)

    def valve(diameter, opens, closes):
        a, b = rng.uniform(0.0, 25.0), rng.uniform(35.0, 65.0)
        early, late = (a, b) if opens == "BTDC" else (b, a)
        return {
            "count": 2,
            "diameter": f"{diameter:.2f} mm",
            "lift": f"{head * rng.uniform(0.25, 0.32):.2f} mm",
            "opens": f"{early:.1f} deg {opens}",
            "closes": f"{late:.1f} deg {closes}",
            "at_lift": "0.2 mm",
        }

    return {
        "engine": {
            "cylinders": n,
            "bore": f"{bore:.1f} mm",
            "stroke": f"{stroke:.1f} mm",
            "compression_ratio": round(float(rng.uniform(8.0, 10.5)), 2),
            "intake_valve": valve(head, "BTDC", "ABDC"),
            "exhaust_valve": valve(0.86 * head, "BBDC", "ATDC"),
        },
        "fuel": {"name": "gasoline_98"},
        "turbine": {
            "model": "hardware",
            "throat_area": f"{255.0 * litres * rng.uniform(0.7, 1.6):.1f} mm2",
            "wheel_inlet_diameter": f"{wheel:.1f} mm",
        },
        "wastegate": {"diameter": f"{wheel * rng.uniform(0.4, 0.8):.1f} mm"},
        "compressor": {"efficiency_peak": round(float(rng.uniform(0.65, 0.76)), 3)},
        "exhaust": {"collectors": int(rng.integers(1, 3))},
        "run": {
            "speed": f"{rng.uniform(1000.0, 7500.0):.1f} rpm",
            "boost": f"{rng.uniform(0.2, 2.0):.3f} bar",
            "lambda": round(float(rng.uniform(0.75, 1.05)), 3),
            "spark_advance": f"{rng.uniform(3.0, 28.0):.1f} deg",
        },
    }


@pytest.fixture(scope="module")
def healthy():
    """How four hundred healthy points ended, by seed."""
    ends = {}
    for seed in range(400):
        try:
            ends[seed] = predict(load(healthy_case(seed)))
        except SolveError as error:
            ends[seed] = error
    return ends


def test_healthy_engines_are_answered(healthy):
    """An ordinary engine at full load never leaves the range of physical states."""
    broken = [seed for seed, end in healthy.items() if isinstance(end, SolveError)]
    assert not broken


def test_healthy_engines_repeat_themselves(healthy):
    """An ordinary engine at full load settles: converged, boost short or boost over, and its books close."""
    found = {seed: end for seed, end in healthy.items() if not isinstance(end, SolveError)}
    restless = [seed for seed, end in found.items() if not end.converged]
    open_books = [seed for seed, end in found.items() if end.converged and end.mass_closure > 1e-6]
    assert not restless, f"not periodic: {restless}"
    assert not open_books, f"mass closure above 1e-6: {open_books}"
