"""What a fit says and how sure it is: intervals, prior or data, correlations, misfit, and which gauge or prior cannot be."""

import math
from typing import Any, NamedTuple

import numpy as np

from ... import channels
from . import lies
from .fit import Array, Fitted
from .forward import BALANCE, READINGS
from .problem import Problem
from .suspects import CANNOT_BE
from .unknowns import NORMAL_90, SHARED

BY_DATA, BY_BOTH = 0.5, 0.85  # standard deviation left, of the prior's: below, the data tell; above, the prior does
TOGETHER = 0.8  # correlation from which two unknowns cannot be told apart
DOUBT = 0.01  # chance of a misfit this large by luck, below which the model is doubted
OF_SUBMODELS = ("wall_heat.scale", "burn.duration_scale")  # where these are far off the submodel is not the engine's


class Misfit(NamedTuple):
    """Sum of squares against what chance gives, and whether the model is doubted."""

    sum_of_squares: float
    freedom: int
    probability: float
    doubted: bool
    widening: float  # factor on intervals where the model is doubted


def misfit(
    problem: Problem, fitted: Fitted, gone: tuple[str, ...] = (), left: list[tuple[str, float]] | None = None
) -> Misfit:
    """Chi-square test of a fit: with priors among the residuals there are as many degrees of freedom as readings.

    One or two lying gauges or unusual parts may explain a log. Where another still stands out after they were let go, one of
    them ran to the end of its range, or beside it a submodel's own factor had to go, the model is doubted whatever the sum
    of squares. So it is where every probe had to go beside something else: a wrong heat of walls or burn looks like that.
    """
    from scipy.stats import chi2

    freedom = max(sum(c != BALANCE or problem.spots[i].point.opening is not None for i, c in problem.rows()), 1)
    chance = float(chi2.sf(fitted.sum_of_squares, freedom))
    at_bound = {u.name for u, bound in zip(problem.unknowns, fitted.at_bound, strict=True) if bound}
    fall = left[0][1] if left else 0.0
    probes = {f"sensor.{c}" for _, c in problem.rows() if c.startswith("probe.")}
    heat = bool(probes) and (probes <= set(gone) or SHARED in gone)
    submodel = len(gone) > 1 and (heat or any(name in OF_SUBMODELS for name in gone))
    doubted = chance < DOUBT or fall >= CANNOT_BE or submodel or any(name in at_bound for name in gone)
    widening = math.sqrt(max(fitted.sum_of_squares / freedom, fall / 4.0, 1.0)) if doubted else 1.0
    return Misfit(fitted.sum_of_squares, freedom, chance, doubted, widening)


def estimates(problem: Problem, fitted: Fitted, wrong: Misfit, claimed: bool) -> list[dict[str, Any]]:
    """A row for each unknown: value, 90 % interval with every gauge sound, chance of its side with any lying, prior, what decided."""
    spread = np.sqrt(np.diag(fitted.covariance))
    chances = lies.sides(problem, fitted, wrong.widening)
    rows = []
    for k, u in enumerate(problem.unknowns):
        value, sd = u.middle + u.sigma * fitted.x[k], u.sigma * spread[k] * wrong.widening
        share = float(spread[k])
        decided = "data" if share < BY_DATA else ("both" if share < BY_BOTH else "prior")
        if u.name == "turbine.flow_scale" and not claimed:
            decided = "prior"
        rows.append(
            {
                "name": u.name,
                "words": u.words,
                "value": float(value),
                "low": float(max(value - NORMAL_90 * sd, u.low)),
                "high": float(min(value + NORMAL_90 * sd, u.high)),
                "standard_deviation": float(sd),
                "chance": float(chances[k]),
                "prior": u.middle,
                "prior_standard_deviation": u.sigma,
                "left_of_prior": share,
                "decided_by": decided,
                "at_bound": bool(fitted.at_bound[k]),
            }
        )
    return rows


def correlations(problem: Problem, fitted: Fitted) -> list[dict[str, Any]]:
    """Correlation of every pair of unknowns, the closest first."""
    spread = np.sqrt(np.diag(fitted.covariance))
    rho = fitted.covariance / np.outer(spread, spread)
    names = [u.name for u in problem.unknowns]
    rows = [
        {"first": names[i], "second": names[j], "correlation": float(rho[i, j])}
        for i in range(len(names))
        for j in range(i + 1, len(names))
    ]
    return sorted(rows, key=lambda row: -abs(row["correlation"]))


def channel_rows(problem: Problem, before: list[dict[str, float]], fitted: Fitted) -> list[dict[str, Any]]:
    """For each channel: mean and root-mean-square of measured less predicted, before and after, and over its error."""
    after = problem.predict(fitted.x)
    rows = []
    for name in dict.fromkeys(c for _, c in problem.rows()):
        at = [i for i, spot in enumerate(problem.spots) if name in spot.names]
        here = [problem.spots[i] for i in at]
        if name == BALANCE and all(s.point.opening is None for s in here):
            continue
        measured = np.array([s.point.readings[name] for s in here])
        error = np.array([s.point.errors[name] for s in here])
        whole = np.array([s.whole_error(name) for s in here])
        first, last = (np.array([p[i][name] if p[i] else np.nan for i in at]) for p in (before, after))  # type: ignore[index]
        rows.append(
            {
                "channel": name,
                "points": len(at),
                "rms_before": _rms(measured - first),
                "rms": _rms(measured - last),
                "mean": float(np.nanmean(measured - last)),
                "error": float(np.sqrt((error**2).mean())),
                "over_error": _rms((measured - last) / whole),
            }
        )
    return rows


def _rms(values: Array) -> float:
    return float(np.sqrt(np.nanmean(values**2))) if np.isfinite(values).any() else math.nan


def helpful(problem: Problem, fitted: Fitted, name: str) -> tuple[str, float] | None:
    """The channel not logged that would tell most about an unknown, and what it would leave of the prior."""
    k = [u.name for u in problem.unknowns].index(name)
    information = fitted.jacobian.T @ fitted.jacobian
    logged = {c for _, c in problem.rows()}
    best: tuple[str, float] | None = None
    for c in (*READINGS, *problem.probes):
        if c in logged or c == BALANCE:
            continue
        added = information.copy()
        one = channels.channel(c)
        for spot in problem.spots:
            errors = spot.point.condition_errors
            noise = max(one.error, one.share * abs(spot.channels[c])) ** 2 + sum(
                (errors.get(q, 0.0) * slope[c]) ** 2 for q, slope in spot.by_condition.items()
            )
            g = np.array([spot.by_unknown[u.name][c] for u in problem.unknowns])
            added += np.outer(g, g) / noise
        left = float(np.sqrt(np.linalg.inv(added)[k, k]))
        if best is None or left < best[1]:
            best = (c, left)
    now = float(np.sqrt(fitted.covariance[k, k]))
    return best if best is not None and best[1] < 0.75 * now else None
