"""One point of a log and the model there: what its gauges show at x, and how they answer unknowns and conditions.

Conditions are measured with errors, and the model bends: its sensitivities at the measured mixture and at the true one
differ, in step with the very error that the residuals hold, and such weights pull the unknowns to one side however many rows
there are. So the model is taken where conditions likeliest were, given all readings of the point, and brought back to where
they were measured by its slopes there (orthogonal distance regression: W. A. Fuller, Measurement Error Models (1987) sec.
3.2, from memory).
"""

from collections.abc import Mapping
from typing import Any

import numpy as np

from ...records import Array
from .forward import READINGS, Stand, Unsolved
from .logged import CONDITIONS, Point
from .unknowns import Unknown, offset, offsets_of, values_of

Channels = dict[str, float]
CONDITION_STEP = {"speed": 0.005, "boost": 1.5e3, "lambda": 0.01, "spark_advance": 1.0, "wastegate_opening": 0.01}
MOST_MOVED = 3.0  # standard deviations that a condition is taken to be off at the most
OPENING = "wastegate_opening"
SAME = {"engine.spark_offset": "spark_advance"}  # unknowns that do what a condition does


class Spot:
    """A point, its stand, its weights and the sensitivities last found; x (n,) is in prior standard deviations."""

    def __init__(self, point: Point, stand: Stand, probes: list[str], unknowns: list[Unknown]) -> None:
        self.point, self.stand, self.unknowns = point, stand, unknowns
        self.names = [c for c in (*READINGS, *probes) if c in point.readings]
        self.whiten: Array = np.diag([1.0 / point.errors[c] for c in self.names])
        self.channels: Channels = {}
        self.by_unknown: dict[str, Channels] = {}  # change for each unit of x
        self.by_condition: dict[str, Channels] = {}  # change for each SI unit
        self.moved: dict[str, float] = {}  # from the conditions as measured to where they likeliest were [SI]
        self.brought: Channels = {}  # what that does to the readings by the slopes there
        self.reads = 0

    def inputs(self, x: Array, change: Mapping[str, float] | None = None) -> dict[str, float]:
        """Inputs of the case here; `change` moves conditions on from where they are taken to be."""
        values, offsets = values_of(self.unknowns, x), offsets_of(self.unknowns, x)
        for name, dotted_name in CONDITIONS.items():
            if name in self.point.conditions:
                moved = self.moved.get(name, 0.0) + (change or {}).get(name, 0.0)
                values[dotted_name] = self.point.conditions[name] - offsets.get(name, 0.0) + moved
        values["run.boost"] = max(values["run.boost"], 0.0)
        lambda_ratio = values.get("run.lambda", self.stand.case.run.lambda_ratio)
        values["run.lambda"] = min(max(lambda_ratio * self.mixing(values), 0.51), 1.59)
        return values

    def mixing(self, values: Mapping[str, float]) -> float:
        """Nominal over mixed lambda: the probe sees the mixture of all cylinders, departures are from the nominal."""
        case = self.stand.case

        def total(what: str) -> float:
            names = [f"cylinder.{k}.{what}" for k in range(1, case.engine.cylinders + 1)]
            return sum(1.0 + float(values.get(name, case.get(name))) for name in names)

        return total("fuel") / total("air")

    def opening(self, change: Mapping[str, float] | None = None) -> float | None:
        """Of the wastegate, None where it is free."""
        if self.point.opening is None:
            return None
        moved = self.moved.get(OPENING, 0.0) + (change or {}).get(OPENING, 0.0)
        return min(max(self.point.opening + moved, 0.0), 1.0)

    def show(
        self,
        x: Array,
        change: Mapping[str, float] | None = None,
        keep: bool = False,
        also: Mapping[str, float] | None = None,
    ) -> Channels:
        """What the gauges show, their offsets added; raises Unsolved.

        change : of conditions, by channel; also : changes of further inputs, by dotted name
        """
        self.reads += 1
        values = self.inputs(x, change)
        if also:
            before = self.mixing(values)
            values |= {name: values.get(name, float(self.stand.case.get(name) or 0.0)) + d for name, d in also.items()}
            values["run.lambda"] *= self.mixing(values) / before
        offsets = offsets_of(self.unknowns, x)
        shown = self.stand.read(values, self.opening(change), keep=keep)
        return {n: v + offset(offsets, n) - self.brought.get(n, 0.0) for n, v in shown.items()}

    def solve(self, x: Array) -> bool:
        """The model and how it answers the unknowns, later solutions starting from here; False where it has no answer."""
        try:
            self.channels = self.show(x, keep=True)
            self.by_unknown = {u.name: self._by_unknown(x, k) for k, u in enumerate(self.unknowns)}
        except Unsolved:
            return False
        return True

    def _by_unknown(self, x: Array, k: int) -> Channels:
        """Differences across a stride, as wide as bounds allow: narrow ones would read the jumps of the march's steps."""
        u = self.unknowns[k]
        if u.sensor is not None and u.sensor not in CONDITIONS:
            return {name: offset({u.sensor: u.sigma}, name) for name in self.channels}
        ahead, back = x.copy(), x.copy()
        ahead[k] = min(x[k] + u.stride, (u.high - u.middle) / u.sigma)
        back[k] = max(x[k] - u.stride, (u.low - u.middle) / u.sigma)
        first, last = self.show(back), self.show(ahead)
        return {name: (last[name] - first[name]) / (ahead[k] - back[k]) for name in first}

    def weigh(self, x: Array) -> bool:
        """Put the errors of the conditions into the weights of the readings; False where the model has no answer."""
        try:
            self.by_condition = {c: self._by_condition(x, c) for c in self._moving()}
        except Unsolved:
            return False
        own = np.diag([self.point.errors[n] ** 2 for n in self.names])
        c: Array = own + sum(e**2 * np.outer(g, g) for e, g in self._slopes())
        self.whiten = np.linalg.inv(np.linalg.cholesky(c))
        return True

    def _slopes(self) -> list[tuple[float, Array]]:
        """Error of each condition and how the readings compared answer it."""
        errors = self.point.condition_errors | {OPENING: self.point.opening_error}
        return [(errors[c], np.array([slope[n] for n in self.names])) for c, slope in self.by_condition.items()]

    def move(self, x: Array) -> bool:
        """Take the conditions to where they likeliest were; weights and sensitivities are to be made anew after it."""
        try:
            left = self.whiten.T @ self.residual(self.show(x), 0.0)  # C^-1 (measured less predicted)
        except Unsolved:
            return False
        likeliest = {}
        for condition, (error, slope) in zip(self.by_condition, self._slopes(), strict=True):
            most = MOST_MOVED * error
            likeliest[condition] = min(max(error**2 * float(slope @ left), -most), most)
        if OPENING in likeliest:
            opening = self.point.opening or 0.0
            likeliest[OPENING] = min(max(opening + likeliest[OPENING], 0.0), 1.0) - opening
        self.moved, self.brought = likeliest, {}
        return True

    def bring_back(self) -> None:
        """From here on readings are shown as of the conditions measured, by the slopes at those they were moved to."""
        shift = {n: sum(d * self.by_condition[c][n] for c, d in self.moved.items()) for n in self.channels}
        self.channels = {n: v - shift[n] for n, v in self.channels.items()}
        self.brought = shift

    def _moving(self) -> list[str]:
        moving = [c for c in CONDITIONS if c in self.point.condition_errors]
        return moving + ([OPENING] if self.point.opening is not None and self.point.opening_error > 0.0 else [])

    def _by_condition(self, x: Array, condition: str) -> Channels:
        for u in self.unknowns:
            if SAME.get(u.name) == condition:
                return {name: slope / u.sigma for name, slope in self.by_unknown[u.name].items()}
            if u.sensor == condition:
                return {name: -slope / u.sigma for name, slope in self.by_unknown[u.name].items()}
        step = CONDITION_STEP[condition] * (self.point.conditions["speed"] if condition == "speed" else 1.0)
        there = self.show(x, {condition: step})
        return {name: (value - self.channels[name]) / step for name, value in there.items()}

    def residual(self, predicted: Channels | None, unknown: float) -> Array:
        """Whitened, measured less predicted; `unknown` for each reading where the model has no answer."""
        if predicted is None:
            return np.full(len(self.names), unknown)
        return self.whiten @ np.array([self.point.readings[c] - predicted[c] for c in self.names])

    def whitened(self, slopes: Mapping[str, Any]) -> Array:
        """Derivative of the whitened residuals from that of the channels."""
        return -self.whiten @ np.array([float(slopes[c]) for c in self.names])

    def whole_error(self, name: str) -> float:
        """Standard deviation of a reading with what the errors of the conditions do to it."""
        k, inverse = self.names.index(name), np.linalg.inv(self.whiten)
        return float(np.sqrt((inverse @ inverse.T)[k, k]))
