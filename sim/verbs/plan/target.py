"""Where the card ends: the point asked for, or the nearest that keeps every allowance; never an edge."""

import math
from collections.abc import Iterator

from ...errors import CaseError
from ...names import label_of
from ..limits.allowance import allowance
from ..limits.points import Points, none
from ..limits.region import is_inside, summit, window
from ..limits.settings import Setting

SPARK, BOOST, MIXTURE = 0.5, 5e3, 0.005  # what a person sets to [deg], [Pa], [-]
RICHER = (0.0, 0.02, 0.04)  # lambda that may be taken off where the mixture asked for leaves no room
RICHEST = 0.74  # no richer than this for room; judgement, no source
TRIES = 20


def clear(points: Points, setting: Setting) -> bool:
    """Whether every margin there keeps its allowance."""
    return is_inside(points.at(setting), allowance)


def target(points: Points, asked: Setting) -> Setting:
    """The point asked for where it keeps every allowance; else a spark inside, a richer mixture, less boost, in this order.

    Raises CaseError where no boost, however low, has room at this speed.
    """
    if clear(points, asked):
        return asked
    for mixture in _mixtures(asked):
        found = _spark_inside(points, asked.moved("mixture", mixture))
        if found is not None:
            return found
    for mixture in _mixtures(asked):
        top = summit(points, asked.moved("mixture", mixture), allowance)
        found = None if top is None else _below(points, top.strongest.setting)
        if found is not None:
            return found
    raise CaseError(
        "no boost has room between the limits and their allowances at this speed, so there is nothing to step up to; hotside "
        "limits shows what stands in the way."
    )


def _mixtures(asked: Setting) -> Iterator[float]:
    """The mixture asked for, then richer ones."""
    for step in RICHER:
        mixture = round(math.floor((asked.mixture - step) / MIXTURE + 1e-6) * MIXTURE, 6) if step else asked.mixture
        if step == 0.0 or mixture >= RICHEST:
            yield mixture


def _spark_inside(points: Points, start: Setting) -> Setting | None:
    """The spark nearest to that of `start` that keeps every allowance, to half a degree on the inner side."""
    found = window(points, start, allowance)
    if found is None:
        return None
    early = None if found.early is None else found.early.point.setting.spark
    late = None if found.late is None else found.late.point.setting.spark
    wanted = min(start.spark, early) if early is not None else start.spark
    if late is not None:
        wanted = max(wanted, late)
    for spark in (math.floor(wanted / SPARK) * SPARK, math.ceil(wanted / SPARK) * SPARK):
        setting = start.moved("spark", spark)
        if clear(points, setting):
            return setting
    return None


def _below(points: Points, top: Setting) -> Setting | None:
    """The highest boost to be set below a summit that leaves a spark to be set."""
    boost = math.floor((top.boost or 0.0) / BOOST) * BOOST
    for _ in range(TRIES):
        if boost <= 0.0:
            return None
        found = _spark_inside(points, top.moved("boost", boost))
        if found is not None:
            return found
        boost -= BOOST
    return None


def why(points: Points, asked: Setting, goal: Setting) -> str | None:
    """Why the card does not end where the case asks; None where it does."""
    if goal == asked:
        return None
    near = [gap for gap in points.at(asked).gaps(allowance) if gap.share < 0.0]
    past = {gap.name for gap in points.at(asked).gaps(none) if gap.share < 0.0}
    each = [f"{label_of(gap.name)} ({'past it' if gap.name in past else 'nearer than its allowance'})" for gap in near]
    return "What the case asks for leaves too little room: " + ", ".join(each) + "."
