"""The pulls from mild to target, one thing at a time: boost with the spark no earlier than the target's, then the spark."""

import math

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
    return min((row["margin"] / allowance(row) for row in point.rows.values()), default=math.inf)


def _pull(points: Points, goal: Setting, boost: float, latest: float) -> Setting | None:
    """The spark with most room at this boost, and the leaner mixture where that leaves it ample; None where nothing is clear.

    latest : the spark of the next pull, with more boost: none later, or boost and spark would go up together [deg]

    A spark held very late is no mild one: at little boost the exhaust is as hot as at much, and knock is far.
    """
    sparks = [goal.spark - late for late in HELD_BACK if goal.spark - late >= latest]
    tries = [Setting(boost, 0.0, goal.mixture).moved("spark", spark) for spark in sparks]
    best = max((s for s in tries if clear(points, s)), key=lambda s: room(points, s), default=None)
    if best is None:
        return None
    top = goal.boost or 1.0
    lean = goal.mixture + min((top - boost) / (0.5 * top), 1.0) * max(min(LEANER, LEANEST - goal.mixture), 0.0)
    leaner = best.moved("mixture", max(math.floor(lean / MIXTURE + 1e-6) * MIXTURE, goal.mixture))
    return leaner if room(points, leaner) >= AMPLE else best


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
