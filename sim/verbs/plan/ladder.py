"""The pulls from mild to target, one thing at a time: boost with the spark no earlier than the target's, then the spark."""

import math
from collections.abc import Sequence
from itertools import accumulate

from ...units import PSI
from ..limits.allowance import allowance
from ..limits.points import OVER, Points
from ..limits.settings import Setting
from .target import MIXTURE, clear

MILD = 4e4  # least boost of the first pull, or half the target where that is less [Pa]; judgement, no source
BOOST_STEPS = {
    "metric": 0.2 * 1e5,
    "us": 3.0 * PSI,
}  # boost between two pulls, in round numbers of the case's units [Pa]
SPARK_STEP = 2.0  # most spark between two pulls [deg]
HELD_BACK = (4.0, 2.0, 0.0)  # spark later than the target's that is tried while boost goes up [deg]
ADVANCED = (-2.0, -4.0)  # and earlier, where the exhaust of a late one is too hot: less boost bears more spark
LEANER = 0.04  # lambda of the first pull above the target's: a mixture table grows richer with boost
LEANEST = 0.88
AMPLE = 2.0  # allowances to every limit from which the leaner mixture is taken
MOST = 6  # boosts of a card that fits a page


def ladder(points: Points, goal: Setting, family: str) -> list[Setting]:
    """Settings of the pulls, each keeping every allowance, the last the goal; steps are round in "metric" or "us" units."""
    found: list[Setting] = []
    for boost in reversed(boosts(points, goal, BOOST_STEPS[family])):
        pull = _pull(points, goal, boost, found[0].spark if found else -math.inf)
        found = [pull, *found] if pull is not None else found
    found = _richer_on_the_way(found)
    return found + _sparks(points, found[-1] if found else None, goal)


def boosts(points: Points, goal: Setting, least_step: float) -> list[float]:
    """Boosts from mild to the goal's, in equal steps down from it and not below what the open wastegate leaves [Pa].

    A step is doubled or trebled where a page would not hold so many.
    """
    top = goal.boost or 0.0
    mild = min(MILD, 0.5 * top)
    step = least_step * max(math.ceil((top - mild) / least_step / (MOST - 1) - 1e-6), 1)
    count = int((top - mild) / step + 1e-6)
    found = [round(top - step * k, 0) for k in range(count, -1, -1)]
    return [b for b in found if b == top or points.at(goal.moved("boost", b)).least().name != OVER]


def room(points: Points, setting: Setting) -> float:
    """Distance to the nearest limit in allowances: 1 keeps just one."""
    point = points.at(setting)
    if point.prediction is None or point.prediction.status != "converged":
        return -math.inf
    return min((row["margin"] / allowance(row) for row in point.guarded.values()), default=math.inf)


def _pull(points: Points, goal: Setting, boost: float, latest: float) -> Setting | None:
    """The spark with most room at this boost, and the leaner mixture where that leaves it ample; None where nothing is clear.

    latest : the spark of the next pull, with more boost: none later, or boost and spark would go up together [deg]

    A spark held very late is no mild one: at little boost the exhaust is as hot as at much, and knock is far.
    """
    best = _roomiest(points, goal.moved("boost", boost), HELD_BACK, latest)
    best = best or _roomiest(points, goal.moved("boost", boost), ADVANCED, latest)
    if best is None:
        return None
    top = goal.boost or 1.0
    lean = goal.mixture + min((top - boost) / (0.5 * top), 1.0) * max(min(LEANER, LEANEST - goal.mixture), 0.0)
    leaner = best.moved("mixture", max(math.floor(lean / MIXTURE + 1e-6) * MIXTURE, goal.mixture))
    return leaner if room(points, leaner) >= AMPLE else best


def _roomiest(points: Points, start: Setting, lates: Sequence[float], latest: float) -> Setting | None:
    """Of sparks so much later than that of `start` the clear one with most room, none later than `latest`."""
    tries = [start.moved("spark", start.spark - late) for late in lates if start.spark - late >= latest]
    return max((s for s in tries if clear(points, s)), key=lambda s: room(points, s), default=None)


def _richer_on_the_way(pulls: list[Setting]) -> list[Setting]:
    """The same, none leaner than the one before it: each is clear with the goal's mixture, and with leaner ones up to its own."""
    leanest = accumulate((pull.mixture for pull in pulls), min)
    return [pull.moved("mixture", mixture) for pull, mixture in zip(pulls, leanest, strict=True)]


def _sparks(points: Points, last: Setting | None, goal: Setting) -> list[Setting]:
    """From the last pull to the goal's spark in steps, where every margin keeps its allowance on the way."""
    if last is None:
        return [goal]
    steps = math.ceil((goal.spark - last.spark) / SPARK_STEP - 1e-6)
    found = [goal.moved("spark", goal.spark - SPARK_STEP * k) for k in range(steps - 1, -1, -1)]
    return [s for s in found if clear(points, s) and s != last] or ([] if last == goal else [goal])


def change(here: Setting, after: Setting | None) -> str:
    """What to change after a pull, in few words."""
    if after is None:
        return "end of card"
    words = []
    if after.boost != here.boost:
        words.append("boost up")
    if after.spark != here.spark:
        words.append(f"spark {after.spark - here.spark:+g} deg")
    if after.mixture != here.mixture:
        words.append("richer" if after.mixture < here.mixture else "leaner")
    return ", ".join(words)
