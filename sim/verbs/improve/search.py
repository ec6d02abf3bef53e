"""How far a change has to go by itself: outward in steps until the target is crossed, then a bracketed search."""

import math
from collections.abc import Callable
from typing import Any, NamedTuple

from ...case import Case
from ...errors import CaseError
from ...prediction import Prediction
from ...steady import SolveError, predict
from ...variants import Variants
from .goal import CLOSE, SPOOL, Goal, reading

SHARES = (0.1, 0.25, 0.5, 0.75, 1.0)  # of the way, solved on the way out
MOST = 12  # points of the bracketed search
EVERY = 20  # points between two words of progress; a tip-in takes as long as that many


class Point(NamedTuple):
    """A changed case solved; None where it has no answer."""

    share: float
    inputs: dict[str, Any]
    prediction: Prediction | None
    value: float | None  # of the reading wanted


class Path(NamedTuple):
    """The points along one way, from the case outward, and the one that meets the target."""

    points: list[Point]
    met: Point | None


class Solver:
    """A case at changed inputs, for one goal."""

    def __init__(self, case: Case, say: Callable[[str], None]) -> None:
        self.case, self.variants, self.solved, self.say = case, Variants(case), 0, say
        self.stage = ""

    def begin(self, stage: str) -> None:
        """Say what is solved from now on."""
        self.stage = stage
        self.say(stage)

    def point(self, goal: Goal, share: float, inputs: dict[str, Any]) -> Point:
        """The changed case solved."""
        try:
            case = self.variants.make(inputs)
            found = predict(case)
        except (SolveError, CaseError):
            return Point(share, inputs, None, None)
        self.solved += 1
        value = reading(goal, case, found) if found.converged else None
        if self.solved % (1 if goal.name == SPOOL else EVERY) == 0:
            self.say(f"{self.stage}: {self.solved} points solved")
        return Point(share, inputs, found, value)


def walk(solver: Solver, goal: Goal, here: Point, inputs: Callable[[float], dict[str, Any]]) -> Path:
    """Outward from the case; `inputs` gives those at a share of the way.

    Ends where the target is met, where there is no answer, or where two points in a row each went farther from the target
    (a reading that turns back beyond them is not looked for).
    """
    points = [here]
    for share in SHARES:
        found = solver.point(goal, share, inputs(share))
        if found.prediction is None or found.value is None:
            break
        points.append(found)
        if goal.short_of(found.value) <= 0.0:
            met = narrowed(solver, goal, points[-2], found, inputs, abs(goal.value - (here.value or 0.0)))
            return Path([*points[:-1], met], met)
        if len(points) == 3 and goal.short_of(here.value) < goal.short_of(points[1].value) < goal.short_of(found.value):
            break
    return Path(points, None)


def narrowed(
    solver: Solver, goal: Goal, before: Point, after: Point, inputs: Callable[[float], dict[str, Any]], way: float
) -> Point:
    """The nearest point that meets the target between one that does not and one that does: false position, halved when slow."""
    low, high = before, after
    for turn in range(MOST):
        miss, over = goal.short_of(low.value), -goal.short_of(high.value)
        if over <= CLOSE * way or high.share - low.share < 1e-5:
            break
        part = 0.5 if turn % 3 == 2 or over == math.inf else min(max(miss / (miss + 0.98 * over), 0.02), 0.98)
        share = low.share + part * (high.share - low.share)
        found = solver.point(goal, share, inputs(share))
        if found.value is None:
            break
        low, high = (low, found) if goal.short_of(found.value) <= 0.0 else (found, high)
    return high


def best(goal: Goal, paths: list[Path]) -> Point:
    """The solved point nearest to the target."""
    return min((p for path in paths for p in path.points), key=lambda p: (goal.short_of(p.value), p.share))
