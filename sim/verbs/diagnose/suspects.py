"""Which gauges or parts cannot be what they are taken for, one or two at once, and what explains the log as well.

All linear about the solution: least squares with a gauge's offset added, or the prior of an unknown taken away. Each such
freedom takes off the sum of squares; by luck alone one takes off 15 once in ten thousand times.
"""

import math
from collections.abc import Iterable
from itertools import combinations
from typing import NamedTuple

import numpy as np

from ... import channels
from ...records import Array
from .fit import Fitted
from .forward import BALANCE, Unsolved
from .problem import Problem
from .unknowns import PRIORS, WORDS, Unknown

CANNOT_BE = 15.0  # fall of the sum of squares from which a gauge or a prior is taken to be wrong
AS_WELL = 6.0  # sums of squares as near as this do not tell two explanations apart: odds of 20 to 1
LEAK = "wastegate.leak_area"
WIDER = {"probe": 40.0, LEAK: 30.0, "": 8.0}  # factor on a prior that is let go
GAUGE = {"boost": 5e4, "backpressure": 5e4, "outlet_pressure": 2e4, "intake_temperature": 30.0, "lambda": 0.1}  # [SI]


class Freed(NamedTuple):
    """A problem with some freedoms: the least sum of squares and the values there, in SI."""

    sum_of_squares: float
    values: dict[str, float]


class Blame(NamedTuple):
    """What is let go, and by how much the sum of squares falls; other sets that do as well."""

    names: tuple[str, ...]
    fall: float
    rivals: list[tuple[str, ...]]


class Linear:
    """The problem about its solution, with every prior as it stood before any was let go."""

    def __init__(self, problem: Problem, fitted: Fitted, before: list[Unknown]) -> None:
        now, m = problem.unknowns, fitted.residuals.size - len(problem.unknowns)
        self.unknowns = before
        place = {u.name: k for k, u in enumerate(now)}
        r, j = fitted.residuals[:m], fitted.jacobian[:m]
        self.r = r
        self.columns = np.stack([j[:, place[u.name]] * u.sigma / now[place[u.name]].sigma for u in before], axis=1)
        self.at = np.array([(now[place[u.name]].at(fitted.x[place[u.name]]) - u.middle) / u.sigma for u in before])
        own = {u.name for u in before}
        self.extras = {u.name: (j[:, k] / u.sigma, u.at(fitted.x[k])) for k, u in enumerate(now) if u.name not in own}
        for gauge in gauges(problem):
            name = f"sensor.{gauge}"
            if name not in own and name not in self.extras:
                self.extras[name] = (offset_column(problem, gauge), 0.0)
        if LEAK not in own and LEAK not in self.extras:
            leak = leak_column(problem, fitted)
            self.extras |= {} if leak is None else {LEAK: (leak[:m], 0.0)}

    @property
    def names(self) -> list[str]:
        """What may be let go."""
        return [u.name for u in self.unknowns] + list(self.extras)

    def least(self, free: Iterable[str] = (), held: str = "") -> Freed:
        """With these let go; `held` is an unknown that stays at its prior's middle."""
        free = set(free)
        fixed = np.array([u.name == held for u in self.unknowns])
        r = self.r - self.columns[:, fixed] @ self.at[fixed]
        for name, (column, value) in self.extras.items():
            r = r - column * value * (name not in free)
        added = [n for n in self.extras if n in free]
        matrix = np.column_stack([self.columns[:, ~fixed], *(self.extras[n][0] for n in added)])
        scale = np.maximum(np.linalg.norm(matrix, axis=0), 1e-30)
        scale[: int((~fixed).sum())] = 1.0
        bound = [k for k, u in enumerate(self.unknowns) if not fixed[k] and u.name not in free]
        columns = np.nonzero(~fixed)[0].tolist()
        priors = np.zeros((len(bound), matrix.shape[1]))
        priors[range(len(bound)), [columns.index(k) for k in bound]] = 1.0
        target = np.concatenate([r, self.at[bound]])
        step, *_ = np.linalg.lstsq(np.vstack([matrix / scale, priors]), -target, rcond=None)
        left = target + np.vstack([matrix / scale, priors]) @ step
        values = {self.unknowns[k].name: float(self._value(k, step[i])) for i, k in enumerate(columns)}
        for n, s, w in zip(added, step[len(columns) :], scale[len(columns) :], strict=True):
            values[n] = self.extras[n][1] + float(s / w)
        return Freed(float(left @ left), values)

    def _value(self, k: int, step: float) -> float:
        u = self.unknowns[k]
        return u.middle + u.sigma * (self.at[k] + step)


def blame(lin: Linear, allowed: Iterable[str] | None = None) -> Blame | None:
    """What cannot be as it was taken, one thing or two at once; None where nothing stands out."""
    names = [n for n in lin.names if allowed is None or n in set(allowed)]
    base = lin.least().sum_of_squares
    sets: list[dict[tuple[str, ...], float]] = []
    for size in (1, 2):
        falls = {s: base - _possible(lin, s, base) for s in combinations(names, size)}
        sets.append(falls)
    best = [max(falls.values(), default=0.0) for falls in sets]
    if best[0] < CANNOT_BE:
        return None
    falls = sets[1] if best[1] >= best[0] + CANNOT_BE else sets[0]
    ranked = sorted(falls, key=lambda s: -falls[s])
    top = falls[ranked[0]]
    return Blame(ranked[0], top, [s for s in ranked[1:] if falls[s] >= top - AS_WELL])


def _possible(lin: Linear, free: tuple[str, ...], base: float) -> float:
    """The sum of squares with these let go; a gap below nothing explains nothing."""
    found = lin.least(free)
    return base if found.values.get(LEAK, 0.0) < 0.0 else found.sum_of_squares


def still(lin: Linear, gone: Iterable[str]) -> list[tuple[str, float]]:
    """What would still take most off the sum of squares after these were let go, the greatest first."""
    base = lin.least(gone).sum_of_squares
    falls = [(n, base - _possible(lin, (*gone, n), base)) for n in lin.names if n not in set(gone)]
    return sorted(falls, key=lambda pair: -pair[1])


def instead(lin: Linear, name: str, gone: tuple[str, ...], unseen: Iterable[str] = ()) -> list[tuple[str, float]]:
    """Gauges, gaps and unknowns the log does not see that explain it as well as a departure does, each with its size [SI]."""
    whole = lin.least(gone)
    found = []
    others = [*lin.extras, *(u.name for u in lin.unknowns if u.sensor is not None or u.name in set(unseen))]
    reach = {u.name: (u.low, u.high) for u in lin.unknowns}
    for other in others:
        if other in (*gone, name):
            continue
        held = lin.least((*gone, other), held=name)
        if held.sum_of_squares <= whole.sum_of_squares and held.values.get(LEAK, 0.0) >= 0.0:
            low, high = reach.get(other, (-math.inf, math.inf))
            if low <= held.values[other] <= high:
                found.append((held.sum_of_squares, other, held.values[other]))
    return [(other, size) for _, other, size in sorted(found)]


def gauges(problem: Problem) -> list[str]:
    """Channels whose gauge may be off: readings seen at several points, and conditions but timing, which has its unknown."""
    seen = [c for _, c in problem.rows() if c != BALANCE]
    conditions = [c for c in ("boost", "lambda") if any(c in s.by_condition for s in problem.spots)]
    return [c for c in dict.fromkeys(seen) if seen.count(c) > 1] + (conditions if len(problem.spots) > 1 else [])


def offset_column(problem: Problem, name: str) -> Array:
    """Derivative of the whitened residuals by an offset of a gauge."""
    parts = []
    for spot in problem.spots:
        slopes = spot.by_condition.get(name)
        parts.append(spot.whitened({c: float(c == name) if slopes is None else -slopes[c] for c in spot.names}))
    return np.concatenate(parts)


def leak_column(problem: Problem, fitted: Fitted) -> Array | None:
    """Derivative by the gap of a wastegate that does not close; None where no point would show it."""
    case = problem.case
    if case.wastegate is None or all(s.point.opening is None for s in problem.spots):
        return None
    try:
        return problem.column(LEAK, 2.0 * PRIORS[LEAK], fitted.x) / (2.0 * PRIORS[LEAK])
    except Unsolved:
        return None


def let_go(unknowns: list[Unknown], name: str) -> list[Unknown]:
    """The unknowns with one prior widened, or the offset of a gauge, or the wastegate's gap, added with a wide one."""
    if name in {u.name for u in unknowns}:
        wide = WIDER.get("probe" if name.startswith("sensor.probe") else name, WIDER[""])
        return [u._replace(sigma=u.sigma * wide, usual=u.usual or u.sigma) if u.name == name else u for u in unknowns]
    if name == LEAK:
        sigma = WIDER[LEAK] * PRIORS[LEAK]
        return [*unknowns, Unknown(LEAK, WORDS[LEAK], 0.0, sigma, 0.0, 1e-3, PRIORS[LEAK])]
    gauge = name.removeprefix("sensor.")
    one = channels.channel(gauge)
    sigma = GAUGE.get(gauge, 40.0 * one.error if one.kind == "temperature" else 0.1 * one.high)
    offset = f"offset of {channels.words(gauge)}"
    return [*unknowns, Unknown(name, offset, 0.0, sigma, -10.0 * sigma, 10.0 * sigma, 0.1 * sigma)]
