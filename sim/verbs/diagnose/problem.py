"""A log and the model as one least-squares problem: residuals of all readings, each point whitened, and the priors.

Conditions (speed, boost, lambda, timing, wastegate) are measured too. What their errors do to the readings of a point is
carried in that point's covariance, C = E + G S G', with E the readings' own variances, S the conditions' and G the
sensitivities of the model: least squares with errors in all variables, linear in the errors.
"""

import math
from collections.abc import Mapping
from typing import Any, NamedTuple

import numpy as np
from numpy.typing import NDArray

from ...case import Case
from ...variants import Variants
from .forward import BALANCE, READINGS, Stand, Unsolved, each
from .unknowns import Unknown, offsets_of, values_of

Array = NDArray[np.float64]
STEP = 0.25  # of a prior's standard deviation, for differences
CONDITIONS = {"speed": "run.speed", "boost": "run.boost", "lambda": "run.lambda", "spark_advance": "run.spark_advance"}
CONDITION_STEP = {"speed": 0.005, "boost": 1.5e3, "lambda": 0.01, "spark_advance": 0.5, "wastegate_opening": 0.01}
BALANCE_ERROR = 0.005  # share of the power to which a steady point's agree: a shaft that drifts by 1 % in a second
SAME = {"engine.spark_offset": "spark_advance"}  # unknowns that do what a condition does
LARGE = 30.0  # residual of a reading that the model has no answer for


class Point(NamedTuple):
    """One point of a log."""

    conditions: dict[str, float]  # in SI, by channel
    condition_errors: dict[str, float]
    readings: dict[str, float]
    errors: dict[str, float]
    opening: float | None  # of the wastegate, None where it is free
    opening_error: float
    label: str


class Solved(NamedTuple):
    """The model at one point: every channel, and how it answers unknowns and conditions."""

    channels: dict[str, float]
    by_unknown: dict[str, dict[str, float]]  # name -> channel -> change for each unit of x
    by_condition: dict[str, dict[str, float]]  # condition -> channel -> change for each SI unit


class Problem:
    """Residuals and Jacobian over all points, as functions of x (n,), the unknowns in prior standard deviations."""

    def __init__(self, case: Case, points: list[Point], found: list[Unknown]) -> None:
        self.case, self.unknowns = case, found
        # the boost is what was measured, whatever moves the wastegate
        variants = Variants(case.set_all({"wastegate.model": "boost", "run.boost": "0.5 bar"}))
        self.probes = [f"probe.{k}" for k in range(1, len(case.probe) + 1)]
        self.points, self.stands, self.dropped = [], [], []
        self.evaluations = 0
        stands = [Stand(variants, case, p.opening) for p in points]
        zero = np.zeros(len(found))
        ready = each([lambda p=p, s=s: self._begin(p, s, zero) for p, s in zip(points, stands, strict=True)])
        for point, stand, fine in zip(points, stands, ready, strict=True):
            if fine:
                self.points.append(point)
                self.stands.append(stand)
            else:
                self.dropped.append(point)
        self.names = [[*self._shared(p)] for p in self.points]
        self.whiten: list[Array] = [
            np.diag([1.0 / p.errors[c] for c in n]) for p, n in zip(self.points, self.names, strict=True)
        ]
        self.needed = {u.sensor for u in found} | {SAME[u.name] for u in found if u.name in SAME}
        self.solved: list[Solved] = []
        self.solved_at: Array | None = None

    def _begin(self, point: Point, stand: Stand, x: Array) -> bool:
        try:
            stand.read(self._inputs(point, x), self._opening(point), keep=True)
        except Unsolved:
            return False
        return True

    def _shared(self, point: Point) -> list[str]:
        return [c for c in (*READINGS, *self.probes) if c in point.readings]

    # ------------------------------------------------------------------------------------------------------- model

    def _inputs(self, point: Point, x: Array, change: Mapping[str, float] | None = None) -> dict[str, float]:
        """Inputs of the case at a point; `change` moves conditions off what was measured."""
        values, offsets = values_of(self.unknowns, x), offsets_of(self.unknowns, x)
        for name, dotted_name in CONDITIONS.items():
            if name in point.conditions:
                moved = (change or {}).get(name, 0.0)
                values[dotted_name] = point.conditions[name] - offsets.get(name, 0.0) + moved
        values["run.boost"] = max(values["run.boost"], 0.0)
        values["run.lambda"] = min(
            max(values.get("run.lambda", self.case.run.lambda_ratio) * self._mixing(values), 0.51), 1.59
        )
        return values

    def _mixing(self, values: Mapping[str, float]) -> float:
        """Nominal over mixed lambda: the probe sees the mixture of all cylinders, departures are from the nominal."""
        n = self.case.engine.cylinders
        fuel, air = (
            sum(
                1.0 + float(values.get(f"cylinder.{k}.{what}", self.case.get(f"cylinder.{k}.{what}")))
                for k in range(1, n + 1)
            )
            for what in ("fuel", "air")
        )
        return fuel / air

    def _opening(self, point: Point, moved: float = 0.0) -> float | None:
        return None if point.opening is None else min(max(point.opening + moved, 0.0), 1.0)

    def predict(self, x: Array) -> list[dict[str, float] | None]:
        """Every channel at every point; None where the model has no answer."""

        def one(point: Point, stand: Stand) -> dict[str, float] | None:
            try:
                return self._gauged(stand.read(self._inputs(point, x), self._opening(point)), x)
            except Unsolved:
                return None

        self.evaluations += len(self.points)
        return each([lambda p=p, s=s: one(p, s) for p, s in zip(self.points, self.stands, strict=True)])

    def _gauged(self, channels: dict[str, float], x: Array) -> dict[str, float]:
        """What the gauges show: their offsets added."""
        offsets = offsets_of(self.unknowns, x)
        return {name: value + offsets.get(name, 0.0) for name, value in channels.items()}

    # --------------------------------------------------------------------------------------------------- residuals

    def residuals(self, x: Array) -> Array:
        """Whitened residuals, measured less predicted, then the priors (x itself)."""
        parts = [self._residual(i, p) for i, p in enumerate(self.predict(x))]
        return np.concatenate([*parts, x])

    def _residual(self, i: int, predicted: dict[str, float] | None) -> Array:
        point, names = self.points[i], self.names[i]
        if predicted is None:
            return np.full(len(names), LARGE)
        gap = np.array([point.readings[c] - predicted[c] for c in names])
        return self.whiten[i] @ gap

    def jacobian(self, x: Array) -> Array:
        """Of the residuals, by differences on dotted names at every point."""
        self.solve(x)
        parts = []
        for i, solved in enumerate(self.solved):
            columns = [[-solved.by_unknown[u.name][c] for c in self.names[i]] for u in self.unknowns]
            parts.append(self.whiten[i] @ np.array(columns).T.reshape(len(self.names[i]), len(self.unknowns)))
        return np.vstack([*parts, np.eye(len(self.unknowns))])

    def solve(self, x: Array) -> None:
        """Solve every point at x with all sensitivities, and start later solutions from there."""
        if self.solved_at is not None and np.array_equal(x, self.solved_at):
            return
        self.solved_at = np.array(x)
        known: list[Solved | None] = list(self.solved) or [None] * len(self.points)
        tasks = [
            lambda p=p, s=s, k=k: self._sensitive(p, s, x, k)
            for p, s, k in zip(self.points, self.stands, known, strict=True)
        ]
        found = each(tasks)
        kept = [new or old for new, old in zip(found, known, strict=True)]
        for i in reversed([i for i, s in enumerate(kept) if s is None]):
            self.dropped.append(self.points[i])
            for rows in (self.points, self.stands, self.names, self.whiten, kept):
                del rows[i]
        self.solved = [s for s in kept if s is not None]

    def weigh(self) -> None:
        """Put the errors of the conditions into the weights of the readings, with the sensitivities last found."""
        for i, (point, solved) in enumerate(zip(self.points, self.solved, strict=True)):
            c: Array = np.diag([point.errors[name] ** 2 for name in self.names[i]])
            for condition, error in (*point.condition_errors.items(), ("wastegate_opening", point.opening_error)):
                if condition in solved.by_condition:
                    g = np.array([solved.by_condition[condition][name] for name in self.names[i]])
                    c = c + error**2 * np.outer(g, g)
            self.whiten[i] = np.linalg.inv(np.linalg.cholesky(c))

    def _sensitive(self, point: Point, stand: Stand, x: Array, known: Solved | None) -> Solved | None:
        """The model and its sensitivities; those that serve weights alone are found once."""
        try:
            here = stand.read(self._inputs(point, x), self._opening(point), keep=True)
            by_condition = dict(known.by_condition) if known is not None else {}
            for c in self._moving(point):
                if c not in by_condition or c in self.needed:
                    by_condition[c] = self._by_condition(point, stand, x, here, c)
            by_unknown = {
                u.name: self._by_unknown(point, stand, x, here, k, by_condition) for k, u in enumerate(self.unknowns)
            }
        except Unsolved:
            return None
        return Solved(self._gauged(here, x), by_unknown, by_condition)

    def _moving(self, point: Point) -> list[str]:
        moving = [c for c in CONDITIONS if c in point.conditions]
        return moving + (["wastegate_opening"] if point.opening is not None and point.opening_error > 0.0 else [])

    def _by_condition(
        self, point: Point, stand: Stand, x: Array, here: dict[str, float], condition: str
    ) -> dict[str, float]:
        step = CONDITION_STEP[condition] * (point.conditions["speed"] if condition == "speed" else 1.0)
        opening = self._opening(point)
        if condition == "wastegate_opening":
            opening = self._opening(point, step)
        self.evaluations += 1
        there = stand.read(self._inputs(point, x, {condition: step}), opening)
        return {name: (there[name] - here[name]) / step for name in here}

    def _by_unknown(
        self,
        point: Point,
        stand: Stand,
        x: Array,
        here: dict[str, float],
        k: int,
        by_condition: dict[str, dict[str, float]],
    ) -> dict[str, float]:
        u = self.unknowns[k]
        if u.sensor is not None:
            slopes = by_condition.get(u.sensor)
            if slopes is not None:
                return {name: -u.sigma * slope for name, slope in slopes.items()}
            return {name: u.sigma * (name == u.sensor) for name in here}
        if u.name in SAME and SAME[u.name] in by_condition:
            return {name: u.sigma * slope for name, slope in by_condition[SAME[u.name]].items()}
        step = STEP if u.middle + u.sigma * (x[k] + STEP) <= u.high else -STEP
        moved = x.copy()
        moved[k] += step
        self.evaluations += 1
        there = stand.read(self._inputs(point, moved), self._opening(point))
        return {name: (there[name] - here[name]) / step for name in here}

    def column(self, name: str, sigma: float, x: Array) -> Array:
        """Derivative of the whitened residuals by an input that is not among the unknowns, for a step sigma."""

        def one(point: Point, stand: Stand, here: dict[str, float]) -> dict[str, float]:
            values = self._inputs(point, x)
            base = values.get(name, float(self.case.get(name) or 0.0))
            values[name] = base + 0.5 * sigma
            nominal = self._mixing(values) / self._mixing(self._inputs(point, x))
            values["run.lambda"] *= nominal
            there = stand.read(values, self._opening(point))
            return {c: (there[c] - here[c] + offsets.get(c, 0.0)) / 0.5 for c in there}

        offsets = offsets_of(self.unknowns, x)
        found = each(
            [
                lambda p=p, s=s, h=h.channels: one(p, s, h)
                for p, s, h in zip(self.points, self.stands, self.solved, strict=True)
            ]
        )
        parts = [-self.whiten[i] @ np.array([slopes[c] for c in self.names[i]]) for i, slopes in enumerate(found)]
        return np.concatenate([*parts, np.zeros(len(self.unknowns))])

    def rows(self) -> list[tuple[int, str]]:
        """Point and channel of each residual that is a reading."""
        return [(i, c) for i, names in enumerate(self.names) for c in names]


def points_of(found: Any, case: Case, ambient_opening: float | None) -> list[Point]:
    """Points of a problem from the points of a log; below `ambient_opening` [Pa] of boost the wastegate is shut."""
    made = []
    for k in range(len(found.values)):
        values = {n: float(v) for n, v in found.values.iloc[k].items() if n != "line" and math.isfinite(v)}
        errors = {n: float(v) for n, v in found.errors.iloc[k].items() if n in values}
        opening, opening_error = values.get("wastegate_opening"), errors.get("wastegate_opening", 0.0)
        if opening is None and ambient_opening is not None and values["boost"] < ambient_opening:
            opening, opening_error = 0.0, 0.0
        if opening is not None and opening < 0.02:  # on its seat, a scatter of the sender means nothing
            opening, opening_error = 0.0, 0.0
        readings = {n: v for n, v in values.items() if n in READINGS or n.startswith("probe.")}
        own = {n: errors[n] for n in readings}
        if opening is not None and found.steady[k]:
            readings[BALANCE], own[BALANCE] = 0.0, BALANCE_ERROR
        made.append(
            Point(
                {n: values[n] for n in CONDITIONS if n in values},
                {n: errors[n] for n in CONDITIONS if n in errors},
                readings,
                own,
                opening,
                opening_error,
                f"line {found.values['line'].iloc[k]:.0f}",
            )
        )
    return made
