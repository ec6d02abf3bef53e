"""Points whose cycles go to and fro between two answers: those of the loop are brought to rest, those of the engine are told."""

import numpy as np
import pytest
from hotside.sim import load, predict, settle
from hotside.sim.alternation import ratio
from hotside.sim.setup import prepare
from hotside.sim.steady import solve
from hotside.sim.surroundings import Z_AIR
from test_extremes import with_extremes

TWO_CYCLE = {  # a throttled three on a bench whose late, slow burn still goes on when the exhaust opens
    "engine": {
        "cylinders": 3, "bore": "100.06 mm", "stroke": "135.087 mm", "compression_ratio": 9.47, "head_temperature": "332 degF",
        "intake_valve": {
            "count": 2, "diameter": "37.065 mm", "lift": "12.932 mm", "opens": "42.447 deg BTDC", "closes": "69.702 deg ABDC",
            "at_lift": "2.746 mm",
        },
        "exhaust_valve": {
            "count": 4, "diameter": "29.174 mm", "lift": "4.376 mm", "opens": "65.654 deg BBDC", "closes": "0.769 deg BTDC",
            "discharge_table": [[0.0, 0.3], [0.08, 0.857], [0.17, 0.866], [0.3, 0.849]],
        },
    },
    "fuel": {"name": "gasoline_95"},
    "burn": {"duration_scale": 1.433518},
    "run": {
        "speed": "3033.58 rpm", "lambda": 1.1882, "spark_advance": "6.104 deg ATDC", "intake_pressure": "72.745 kPa",
        "intake_temperature": "357.11 K", "exhaust_pressure": "69.315 kPa",
    },
    "cylinder": [
        {"number": 1, "air": 0.0302, "fuel": 0.1034, "spark": "8.11 deg"},
        {"number": 2, "air": -0.10837, "fuel": -0.04374, "spark": "9.12 deg"},
        {"number": 3, "air": -0.11944, "fuel": 0.06733, "spark": "8.277 deg"},
    ],
}  # fmt: skip


def test_a_loop_that_overshoots_is_brought_to_rest():
    """Past its choke line the wheel's efficiency falls so steeply with flow that plain cycles swing wider and wider."""
    case = load(with_extremes("4 bar"))
    found = predict(case)
    assert found.converged
    assert found.mass_closure < 1e-6
    march, _ = solve(prepare(case))
    air = []
    for _ in range(14):
        march.whole_cycle()
        air.append(march.z[Z_AIR])
    swing = np.diff(air)
    assert (swing[1:] * swing[:-1] < 0.0).all(), "to and fro"
    assert abs(swing[-1]) > 5.0 * abs(swing[-8]), "and ever wider, left to itself: the rest is between"


def test_an_engine_that_alternates_says_both_answers():
    """One cycle leaves unburned charge behind, the next one has it: no start of a cycle brings that to rest."""
    found = predict(load(TWO_CYCLE))
    assert found.status == "alternates"
    assert not found.converged
    assert found.warnings[0].startswith("Cycles go to and fro at 3034 rpm between two answers: ")
    march, ending = solve(prepare(load(TWO_CYCLE)))
    assert ending == settle.ALTERNATES
    states = []
    for _ in range(4):
        march.whole_cycle()
        states.append(march.memory.content.copy())
    scale = np.abs(states[0]).max(axis=0)
    once = np.max(np.abs(states[3] - states[2]) / scale)
    twice = np.max(np.abs(states[3] - states[1]) / scale)
    assert once > 1e-3
    assert twice < 0.1 * once, "every second cycle repeats"


def test_what_counts_as_to_and_fro():
    there = np.array([1.0, 2.0])
    assert ratio([there]) is None
    assert ratio([there, -1.5 * there]) == pytest.approx(-1.5)
    assert ratio([there, 0.5 * there]) is None
    assert ratio([there, -0.05 * there]) is None, "that dies away by itself"
    assert ratio([there, np.array([-2.0, 1.0])]) is None
