"""One point of a log and the model there: what its gauges show at x, and how they answer unknowns and conditions."""

from collections.abc import Mapping
from typing import Any

import numpy as np

from ...records import Array
from .forward import READINGS, Stand, Unsolved
from .logged import CONDITIONS, Point
from .unknowns import Unknown, offsets_of, values_of

Channels = dict[str, float]
CONDITION_STEP = {"speed": 0.005, "boost": 1.5e3, "lambda": 0.01, "spark_advance": 1.0, "wastegate_opening": 0.01}
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
        self.reads = 0

    def inputs(self, x: Array, change: Mapping[str, float] | None = None) -> dict[str, float]:
        """Inputs of the case here; `change` moves conditions off what was measured."""
        values, offsets = values_of(self.unknowns, x), offsets_of(self.unknowns, x)
        for name, dotted_name in CONDITIONS.items():
            if name in self.point.conditions:
                moved = (change or {}).get(name, 0.0)
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

    def opening(self, moved: float = 0.0) -> float | None:
        """Of the wastegate, None where it is free."""
        return None if self.point.opening is None else min(max(self.point.opening + moved, 0.0), 1.0)

    def show(
        self, x: Array, change: Mapping[str, float] | None = None, moved: float = 0.0, keep: bool = False
    ) -> Channels:
        """What the gauges show, their offsets added; raises Unsolved."""
        self.reads += 1
        return self.gauged(self.stand.read(self.inputs(x, change), self.opening(moved), keep=keep), x)

    def gauged(self, channels: Channels, x: Array) -> Channels:
        """Channels with the offsets of their gauges."""
        offsets = offsets_of(self.unknowns, x)
        return {name: value + offsets.get(name, 0.0) for name, value in channels.items()}

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
            return {name: u.sigma * (name == u.sensor) for name in self.channels}
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
        errors = self.point.condition_errors | {"wastegate_opening": self.point.opening_error}
        slopes = {c: np.array([slope[n] for n in self.names]) for c, slope in self.by_condition.items()}
        own = np.diag([self.point.errors[n] ** 2 for n in self.names])
        c: Array = own + sum(errors[name] ** 2 * np.outer(g, g) for name, g in slopes.items())
        self.whiten = np.linalg.inv(np.linalg.cholesky(c))
        return True

    def _moving(self) -> list[str]:
        moving = [c for c in CONDITIONS if c in self.point.condition_errors]
        return moving + (
            ["wastegate_opening"] if self.point.opening is not None and self.point.opening_error > 0.0 else []
        )

    def _by_condition(self, x: Array, condition: str) -> Channels:
        for u in self.unknowns:
            if SAME.get(u.name) == condition:
                return {name: slope / u.sigma for name, slope in self.by_unknown[u.name].items()}
            if u.sensor == condition:
                return {name: -slope / u.sigma for name, slope in self.by_unknown[u.name].items()}
        step = CONDITION_STEP[condition] * (self.point.conditions["speed"] if condition == "speed" else 1.0)
        there = self.show(x, moved=step) if condition == "wastegate_opening" else self.show(x, {condition: step})
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
