"""Which cylinder departs from the others, and by which of the causes: mixture, timing or air."""

import math
from typing import Any, NamedTuple

import numpy as np

from ...records import Array
from . import unlike
from .examine import Misfit
from .fit import Fitted
from .problem import Problem
from .unknowns import NORMAL_90, PRIORS
from .unlike import ODDS, SURE

CAUSES = {"fuel": "lean", "air": "airier", "spark": "late"}
RICH_ENOUGH = 0.92  # lambda up to which leaner burns hotter without doubt: the peak lies near 1
MORE_ROWS = 4  # times as many, to say what they would show


class Told(NamedTuple):
    """What is said of the cylinders that have a probe of their own."""

    rows: list[dict[str, Any]]
    odds: float | None  # to one, that one departs, whichever it is
    named_from: dict[
        str, float
    ]  # departure of lambda that 95 of 100 such logs name, and such logs made better; none near lambda 1


def told(problem: Problem, fitted: Fitted, wrong: Misfit) -> Told:
    """For each cylinder with a probe of its own: departure of its lambda from the others, its chance, and the causes."""
    ours = [k for k, u in enumerate(problem.unknowns) if u.name.startswith("cylinder.") and u.name.endswith(".fuel")]
    if len(ours) < 2:
        return Told([], None, {})
    wide = np.array([problem.unknowns[k].sigma for k in ours])
    middle = np.array([problem.unknowns[k].middle for k in ours])
    known = _information(problem, fitted, ours, wrong.widening)
    push = known @ (middle + wide * fitted.x[ours]) + fitted.x[ours] / wide / wrong.widening**2
    found = unlike.weighed(known, push, wide)
    rich = _leanest(problem) <= RICH_ENOUGH
    sure = rich and len(ours) == problem.case.engine.cylinders
    rows = []
    for i, k in enumerate(ours):
        number = int(problem.unknowns[k].name.split(".")[1])
        fuel, departs = float(found.departure[i]), bool(found.chance[i] >= SURE)
        odds = causes(problem, fitted, number) if departs else {}
        rows.append(
            {
                "cylinder": number,
                "chance": float(found.chance[i]),
                "departs": departs,
                "lambda_departure": (1.0 + float(problem.case.get(f"cylinder.{number}.air"))) / (1.0 + fuel) - 1.0,
                "lambda_interval": NORMAL_90 * float(found.spread[i]),
                "named": _named(fuel, odds, sure) if departs else "cannot tell",
                "odds": odds,
            }
        )
    return Told(rows, found.odds, _named_from(problem, fitted, ours, wrong.widening) if rich else {})


def _leanest(problem: Problem) -> float:
    """The leanest mixture of the log."""
    return max((s.point.conditions.get("lambda", problem.case.run.lambda_ratio) for s in problem.spots), default=1.0)


def _information(
    problem: Problem, fitted: Fitted, ours: list[int], widening: float, rows: float = 1.0, matched: bool = False
) -> Array:
    """What the log tells of the departures, their own priors left out.

    rows : how many times as many; matched : whether the probes are known not to differ
    """
    n = len(problem.unknowns)
    data = fitted.jacobian[:-n]
    kept = [k for k, u in enumerate(problem.unknowns) if not (matched and u.name.startswith("sensor.probe."))]
    whole = np.linalg.inv((rows * data.T @ data + np.eye(n))[np.ix_(kept, kept)])
    place = [kept.index(k) for k in ours]
    wide = np.array([problem.unknowns[k].sigma for k in ours])
    known = np.linalg.inv(whole[np.ix_(place, place)]) - np.eye(len(ours))
    return known / np.outer(wide, wide) / widening**2


def _named_from(problem: Problem, fitted: Fitted, ours: list[int], widening: float) -> dict[str, float]:
    """Departure of lambda that 95 of 100 logs would name, of the cylinder worst seen: of this log, and of better ones."""
    better = {"this log": (1.0, False), "more rows": (float(MORE_ROWS), False), "matched probes": (1.0, True)}
    found, wide = {}, np.array([problem.unknowns[k].sigma for k in ours])
    for what, (rows, matched) in better.items():
        known = _information(problem, fitted, ours, widening, rows, matched)
        fuel = max(unlike.named_from(known, i, wide) for i in range(len(ours)))
        found[what] = 1.0 / (1.0 - min(fuel, 0.9)) - 1.0
    return found


def causes(problem: Problem, fitted: Fitted, number: int) -> dict[str, float]:
    """Chance of each single cause of a cylinder's departure, from how well it explains the log and how usual it is.

    Each cause replaces the departure of fuel, alone: Gauss's evidence with its prior, linear about the solution.
    """
    name = f"cylinder.{number}.fuel"
    k = [u.name for u in problem.unknowns].index(name)
    cylinders = [i for i, u in enumerate(problem.unknowns) if u.name.startswith("cylinder.")]
    others = [i for i in range(len(problem.unknowns)) if i not in cylinders]
    # all departures of fuel moved together change nothing: count from the mean of the other cylinders
    begun = np.array([u.middle / u.sigma for u in problem.unknowns])
    mean = float(np.mean([begun[i] + fitted.x[i] for i in cylinders if i != k])) - begun[k]
    n = len(problem.unknowns)
    at_none = fitted.residuals - fitted.jacobian[:, k] * (fitted.x[k] - mean)
    at_none[[-n + i for i in cylinders]] = 0.0
    evidence = {}
    for what in CAUSES:
        sigma = PRIORS[f"cylinder.N.{what}"]
        column = (
            fitted.jacobian[:, k].copy()
            if what == "fuel"
            else problem.column(f"cylinder.{number}.{what}", sigma, fitted.x)
        )
        column[-n:] = 0.0
        evidence[what] = _evidence(at_none, column, fitted.jacobian[:, others])
    best = max(evidence.values())
    weights = {what: math.exp(value - best) for what, value in evidence.items()}
    total = sum(weights.values())
    return {what: w / total for what, w in weights.items()}


def _evidence(r: Any, column: Any, nuisance: Any) -> float:
    """Logarithm of the evidence of one cause (prior standard normal), nuisance unknowns marginalised, but for a constant."""
    matrix = np.column_stack((column, nuisance))
    stacked = np.vstack((matrix, np.eye(1, matrix.shape[1])))  # the nuisances' priors are rows of r already
    solution, *_ = np.linalg.lstsq(stacked, np.append(-r, 0.0), rcond=None)
    left = np.append(r, 0.0) + stacked @ solution
    _, logarithm = np.linalg.slogdet(stacked.T @ stacked)
    return float(-0.5 * (left @ left) - 0.5 * logarithm)


def _named(fuel: float, odds: dict[str, float], sure: bool) -> str:
    """What the cylinder is said to be. More air at the same fuel is lean too."""
    hot = fuel < 0.0
    lean = odds.get("fuel", 0.0) + odds.get("air", 0.0)
    if sure and lean > ODDS * odds.get("spark", 0.0):
        return "lean" if hot else "rich"
    return "hot: lean, late or airier" if hot else "cool: rich, early or short of air"
