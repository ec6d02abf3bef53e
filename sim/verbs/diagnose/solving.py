"""The model fitted to points of a log, with what cannot be as it was taken let go."""

from collections.abc import Callable
from typing import Any, NamedTuple

import numpy as np

from ...case import Case
from ...errors import CaseError
from . import suspects
from .fit import Array, Fitted, finish, fit, search
from .logged import Point
from .problem import Problem
from .unknowns import Unknown

Progress = Callable[[str], None]
NOISE = 0.3  # rise of the sum of squares that the jumps of the march's steps make
MOST_BLAMED = 2  # fits with something let go
STARTS = (1.5, -1.5)  # along the direction the log knows least, in standard deviations, where one start may not do


class Solved(NamedTuple):
    """A problem solved, and what had to be let go for it."""

    problem: Problem
    fitted: Fitted
    before: list[Any]  # every channel at every point with the case as it came
    linear: suspects.Linear
    gone: suspects.Blame | None
    left: list[tuple[str, float]]  # what still stands out


def fitted_to(
    case: Case, lot: list[Point], chosen: list[Unknown], say: Progress = lambda _: None, free: bool = True
) -> Solved:
    """The problem of these points, solved; gauges or priors that cannot be, one or two, are let go.

    free : False lets go of nothing but what is among the chosen
    """
    allowed = None if free else {u.name for u in chosen}
    problem, fitted, before = _fitted(case, lot, chosen, None, say)
    linear, gone = suspects.Linear(problem, fitted, chosen), None
    for _ in range(MOST_BLAMED):
        blamed = suspects.blame(linear, allowed)
        if blamed is None or (gone is not None and set(blamed.names) == set(gone.names)):
            gone = blamed or gone
            break
        gone = blamed
        say(f"{' and '.join(gone.names)} does not fit the rest; it is let go and the fit made again")
        widened = chosen
        for name in gone.names:
            widened = suspects.let_go(widened, name)
        problem, fitted, _ = _fitted(case, lot, widened, linear.least(gone.names).values, say)
        linear = suspects.Linear(problem, fitted, chosen)
    left = [s for s in suspects.still(linear, gone.names if gone else ()) if allowed is None or s[0] in allowed]
    return Solved(problem, fitted, before, linear, gone, left)


def _fitted(
    case: Case, lot: list[Point], chosen: list[Unknown], start: dict[str, float] | None, say: Progress
) -> tuple[Problem, Fitted, list[Any]]:
    problem = Problem(case, lot, chosen, say)
    low, high = bounds(chosen)
    x = np.array([((start or {}).get(u.name, u.middle) - u.middle) / u.sigma for u in chosen])
    x = np.clip(x, low, high)
    if problem.spots:
        problem.weigh(x)
    if not problem.spots:
        raise CaseError(
            "The model has no answer at any point of the log; check its columns, units and the case's boost and turbine."
        )
    before = [s.channels for s in problem.spots]
    x, _ = search(problem.residuals, problem.jacobian, x, low, high)
    problem.correct(x)
    fitted = finish(problem.residuals, problem.jacobian, x, low, high, noise=NOISE)
    if start is None and (fitted.at_bound.any() or not fitted.converged):
        fitted = _other_starts(problem, fitted, low, high)
    return problem, fitted, before


def _other_starts(problem: Problem, fitted: Fitted, low: Array, high: Array) -> Fitted:
    """The best of a few starts along the direction the log knows least: the surface may hold another valley."""
    spread, directions = np.linalg.eigh(fitted.covariance)
    far = directions[:, -1] * np.sqrt(spread[-1])
    for factor in STARTS:
        start = np.clip(fitted.x + factor * far, low, high)
        other = fit(problem.residuals, problem.jacobian, start, low, high, steps=2, noise=NOISE)
        if other.sum_of_squares < fitted.sum_of_squares - NOISE:
            fitted = other
    problem.solve(fitted.x)
    return fitted


def bounds(chosen: list[Unknown]) -> tuple[Array, Array]:
    """Bounds in units of x."""
    low = np.array([(u.low - u.middle) / u.sigma for u in chosen])
    high = np.array([(u.high - u.middle) / u.sigma for u in chosen])
    return low, high
