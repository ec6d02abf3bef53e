"""Which cylinder departs from the others, and by which of the causes: mixture, timing or air."""

import math
from typing import Any

import numpy as np

from .examine import Misfit
from .fit import Fitted
from .problem import Problem
from .unknowns import NORMAL_90, PRIORS

CAUSES = {"fuel": "lean", "air": "airier", "spark": "late"}
NAMED_AT = 2.5  # standard deviations from which a departure is named
WORTH = 0.01  # departure of lambda from which it is worth naming
RICH_ENOUGH = 0.92  # lambda up to which leaner burns hotter without doubt: the peak lies near 1
ODDS = 3.0  # to one, from which one cause is named


def told(problem: Problem, fitted: Fitted, wrong: Misfit) -> list[dict[str, Any]]:
    """For each cylinder with a probe of its own: departure of its lambda from the middle of those probed, and the causes.

    The middle is the median: one lean cylinder does not make the others rich.
    """
    names = [u.name for u in problem.unknowns]
    ours = [k for k, name in enumerate(names) if name.startswith("cylinder.") and name.endswith(".fuel")]
    if len(ours) < 2:
        return []
    sigma = np.array([problem.unknowns[k].sigma for k in ours])
    share = np.eye(len(ours)) - _middle(sigma * fitted.x[ours])
    fuel = share @ (sigma * fitted.x[ours])
    spread = share @ (np.outer(sigma, sigma) * fitted.covariance[np.ix_(ours, ours)]) @ share.T
    whole = len(ours) == problem.case.engine.cylinders
    richest = max((s.point.conditions.get("lambda", problem.case.run.lambda_ratio) for s in problem.spots), default=1.0)
    rows = []
    for k, value, variance in zip(ours, fuel, np.diag(spread), strict=True):
        sd = math.sqrt(max(variance, 0.0)) * wrong.widening
        number = int(names[k].split(".")[1])
        departs = abs(value) > NAMED_AT * sd and abs(value) > WORTH
        odds = causes(problem, fitted, number) if departs else {}
        rows.append(
            {
                "cylinder": number,
                "lambda_departure": float(1.0 / (1.0 + value) - 1.0),
                "lambda_interval": NORMAL_90 * sd,
                "departs": bool(departs),
                "named": _named(float(value), odds, whole and richest <= RICH_ENOUGH) if departs else "cannot tell",
                "odds": odds,
            }
        )
    return rows


def _middle(values: Any) -> Any:
    """Weights, in every row, whose product with the values is their median."""
    order, n = np.argsort(values), len(values)
    weights = np.zeros(n)
    weights[order[(n - 1) // 2]] += 0.5
    weights[order[n // 2]] += 0.5
    return np.tile(weights, (n, 1))


def causes(problem: Problem, fitted: Fitted, number: int) -> dict[str, float]:
    """Chance of each single cause of a cylinder's departure, from how well it explains the log and how usual it is.

    Each cause replaces the departure of fuel, alone: Gauss's evidence with its prior, linear about the solution.
    """
    name = f"cylinder.{number}.fuel"
    k = [u.name for u in problem.unknowns].index(name)
    cylinders = [i for i, u in enumerate(problem.unknowns) if u.name.startswith("cylinder.")]
    others = [i for i in range(len(problem.unknowns)) if i not in cylinders]
    # all departures of fuel moved together change nothing: count from the mean of the other cylinders
    mean = float(np.mean([fitted.x[i] for i in cylinders if i != k]))
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
