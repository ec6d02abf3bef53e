"""Intervals of the path that fits a log hold the truth as often as they say.

The engine is stood in for by a page of algebra with its shape (flow by breathing, heat by mixture, burn and walls, a turbine
that swallows, a balance of power), so that hundreds of logs are fitted in seconds; the engine itself is tried so in
benchmarks/recovery.py.
"""

import math
from pathlib import Path

import numpy as np
import pytest
from hotside.sim import load
from hotside.sim.verbs.diagnose import lies, problem, solving
from hotside.sim.verbs.diagnose.logged import Point
from hotside.sim.verbs.diagnose.unknowns import NORMAL_90, offsets_of, unknowns, values_of

SIX = load(Path(__file__).resolve().parent.parent / "examples" / "tractor_six.toml")
FOUND = unknowns(SIX, ("backpressure", "air_flow", "probe.1"))
CONDITION_ERRORS = {"speed": 1.05, "boost": 1.2e3, "lambda": 0.01, "spark_advance": 0.2}
OPENING_ERROR = 0.01


def engine(values, opening):
    """Channels of the stand-in, in SI."""
    n, p = values["run.speed"] / 460.0, 1e5 + values["run.boost"]
    rich, early = values["run.lambda"] - 0.8, values["run.spark_advance"] + values["engine.spark_offset"] - 20.0
    burn, walls = values["burn.duration_scale"] - 1.0, values["wall_heat.scale"] / SIX.wall_heat.scale - 1.0
    air = 0.42 * n * p / 2.1e5 * values["engine.breathing"]
    gas = air * (1.0 + 1.0 / (9.8 * values["run.lambda"]))
    heat = 1080.0 + 500.0 * rich - 1500.0 * rich**2 - 6.0 * early
    heat += 90.0 * burn * (1.0 + 6.0 * rich) * (1.0 - 0.02 * early) - 130.0 * walls * (1.0 + rich) / math.sqrt(n)
    swallowed = values["turbine.flow_scale"] * (1.0 + opening)
    after = 1e5 + 2e4 * values["exhaust.loss_coefficient"] * gas**2
    before = after + 1.6e5 * (gas * math.sqrt(heat / 1080.0) / (0.45 * swallowed)) ** 1.7
    share = 1.0 / (1.0 + opening)
    turbine = values["turbine.efficiency_scale"] * share * gas * heat * (1.0 - (after / before) ** 0.25)
    compressor = 1.3 * (0.6 + 0.4 * p / 1e5) * air * 300.0 * ((p / 1e5) ** 0.286 - 1.0)
    return {
        "backpressure": before - 1e5, "outlet_pressure": after - 1e5, "air_flow": air, "fuel_flow": gas - air, "torque": 600.0,
        "shaft_speed": 9e3, "intake_temperature": 350.0, "compressor_temperature": 400.0,
        "turbine_outlet_temperature": heat - 100.0, "balance": turbine / compressor - 1.0, "opening": opening, "probe.1": heat,
    }  # fmt: skip


class Algebra:
    """What Stand is to Problem, with the stand-in for an engine."""

    def __init__(self, variants, case, opening):
        self.case, self.opening = case, opening

    def read(self, values, opening=None, keep=False, texts=None):
        return engine(values, self.opening if opening is None else opening)


def log(x, rng):
    """Twelve points of a truth, every gauge and condition off by its error; the boost is what balances the shaft."""
    values, offsets = values_of(FOUND, x), offsets_of(FOUND, x)
    lot = []
    for k in range(12):
        opening = 0.0 if k < 4 else 0.05 + 0.04 * (k - 4)
        true = {
            "speed": 250.0 + 22.0 * k,
            "boost": 0.0,
            "lambda": 0.80 + 0.05 * (k % 3 == 1),
            "spark_advance": 22.0 - 4 * (k % 2),
        }
        true["boost"] = balanced(values, true, opening)
        shown = engine(inputs(values, true), opening)
        readings = {c: shown[c] for c in ("backpressure", "air_flow", "probe.1")}
        errors = {"backpressure": max(0.01 * readings["backpressure"], 1e3), "air_flow": 0.02 * readings["air_flow"]}
        errors["probe.1"] = 1.5
        off = {c: v + offsets.get(c, 0.0) + errors[c] * rng.normal() for c, v in readings.items()}
        seen = {c: v + offsets.get(c, 0.0) + CONDITION_ERRORS[c] * rng.normal() for c, v in true.items()}
        off["balance"], errors["balance"] = 0.005 * rng.normal(), 0.005
        error = OPENING_ERROR if opening > 0.0 else 0.0
        lot.append(Point(seen, dict(CONDITION_ERRORS), off, errors, opening + error * rng.normal(), error, f"line {k}"))
    return lot


def inputs(values, true):
    return values | {
        "run.speed": true["speed"],
        "run.boost": true["boost"],
        "run.lambda": true["lambda"],
        "run.spark_advance": true["spark_advance"],
    }


def balanced(values, true, opening):
    low, high = 1e3, 4e5
    for _ in range(40):
        middle = 0.5 * (low + high)
        short = engine(inputs(values, true | {"boost": middle}), opening)["balance"] < 0.0
        low, high = (low, middle) if short else (middle, high)
    return middle


@pytest.fixture
def algebra(monkeypatch):
    """The stand-in put in the engine's place."""
    monkeypatch.setattr(problem, "Stand", Algebra)
    monkeypatch.setattr(problem, "each", lambda tasks: [task() for task in tasks])


@pytest.fixture
def distances(algebra):
    """How far the truth lies from what was found, in standard deviations said: a row for each log."""

    def measured(logs):
        rng, rows = np.random.default_rng(3), []
        for _ in range(logs):
            x = np.clip(rng.normal(size=len(FOUND)), -2.8, 2.8)
            fitted = solving.fitted_to(SIX, log(x, rng), FOUND, free=False).fitted
            rows.append((fitted.x - x) / np.sqrt(np.diag(fitted.covariance)))
        return np.array(rows)

    return measured


def test_nine_of_ten_intervals_hold_the_truth(distances):
    z = distances(120)
    inside = np.abs(z) < NORMAL_90
    assert 0.87 < inside.mean() < 0.93
    assert (inside.mean(axis=0) > 0.81).all()
    assert (inside.mean(axis=0) < 0.97).all()
    assert 0.9 < (z**2).mean() < 1.1
    assert (np.abs(z.mean(axis=0)) < 0.25).all(), "no unknown is pulled to one side"


def test_weights_at_the_measured_conditions_pull_to_one_side(distances, monkeypatch):
    """Statistics: the slopes at a mixture read too lean err in step with what that misreading does to the residuals."""
    monkeypatch.setattr(problem.Problem, "correct", problem.Problem.weigh)
    z = distances(120)
    assert np.abs(z.mean(axis=0)).max() > 0.35


def off(point, gauge, error):
    """The point with one gauge lying."""
    lies_here = {gauge: error}
    conditions = {c: v + lies_here.get(c, 0.0) for c, v in point.conditions.items()}
    return point._replace(
        conditions=conditions, readings={c: v + lies_here.get(c, 0.0) for c, v in point.readings.items()}
    )


def test_what_is_said_to_be_sure_allows_for_a_lying_gauge(algebra):
    """In each log one gauge lies, too little to be caught: a model that trusts it is surest of what the lie made."""
    rng, claims = np.random.default_rng(5), []
    for k in range(40):
        x = np.clip(rng.normal(size=len(FOUND)), -2.8, 2.8)
        lot = log(x, rng)
        gauge = ("backpressure", "probe.1", "lambda", "boost")[k % 4]
        error = 0.7 * lies.usual(gauge, 8e4) * (1.0 if rng.random() < 0.5 else -1.0)
        solved = solving.fitted_to(SIX, [off(p, gauge, error) for p in lot], FOUND, free=False)
        found = solved.fitted
        trusting = lies.above(found.x, found.covariance, found.x, 1.0)
        right = np.sign(found.x) == np.sign(x)
        claims.append(np.stack([lies.sides(solved.problem, found), trusting, right]))
    chance, trusting, right = np.concatenate(claims, axis=1)
    wrong = [int(((said > 0.99) & (right == 0.0)).sum()) for said in (chance, trusting)]
    assert wrong[1] >= 5, "the lies do mislead"
    assert wrong[0] < 0.6 * wrong[1]
