"""What a fit says and how sure it is: intervals, prior or data, correlations, misfit, and which gauge or prior cannot be."""

import math
from typing import Any, NamedTuple

import numpy as np

from ... import channels
from .fit import Array, Fitted
from .forward import BALANCE, READINGS
from .problem import Problem
from .unknowns import NORMAL_90, Unknown

BY_DATA, BY_BOTH = 0.5, 0.85  # standard deviation left, of the prior's: below, the data tell; above, the prior does
TOGETHER = 0.8  # correlation from which two unknowns cannot be told apart
DOUBT = 0.01  # chance of a misfit this large by luck, below which the model is doubted
CANNOT_BE = 15.0  # fall of the sum of squares from which a gauge or a prior is taken to be wrong: 1 in 10,000 by luck


class Misfit(NamedTuple):
    """Sum of squares against what chance gives, and whether the model is doubted."""

    sum_of_squares: float
    freedom: int
    probability: float
    doubted: bool
    widening: float  # factor on intervals where the model is doubted


class Suspect(NamedTuple):
    """What would explain most if it were let go: the prior of an unknown, or a gauge."""

    name: str
    fall: float  # of the sum of squares


def misfit(problem: Problem, fitted: Fitted, left: list[Suspect], freed: list[Suspect]) -> Misfit:
    """Chi-square test of a fit: with priors among the residuals there are as many degrees of freedom as readings.

    One lying gauge or one unusual part may explain a log. Where another still stands out after it was let go, or it ran
    to the end of its range, no single cause explains the log, and the model is doubted whatever the sum of squares.
    """
    from scipy.stats import chi2

    freedom = max(sum(c != BALANCE or problem.points[i].opening is not None for i, c in problem.rows()), 1)
    chance = float(chi2.sf(fitted.sum_of_squares, freedom))
    at_bound = {u.name for u, bound in zip(problem.unknowns, fitted.at_bound, strict=True) if bound}
    fall = left[0].fall if left else 0.0
    doubted = chance < DOUBT or fall >= CANNOT_BE or any(f.name in at_bound for f in freed)
    widening = math.sqrt(max(fitted.sum_of_squares / freedom, fall / 4.0, 1.0)) if doubted else 1.0
    return Misfit(fitted.sum_of_squares, freedom, chance, doubted, widening)


def suspects(problem: Problem, fitted: Fitted) -> list[Suspect]:
    """By how much the sum of squares would fall with each prior, and each gauge's offset, let go; the greatest first."""
    r, n = fitted.residuals, len(problem.unknowns)
    found = []
    columns: dict[str, Array] = {}
    for k, u in enumerate(problem.unknowns):
        prior = np.zeros(r.size)
        prior[r.size - n + k] = 1.0
        columns[u.name] = prior
    known = {u.sensor for u in problem.unknowns}
    for name in gauges(problem):
        if name not in known:
            columns[f"sensor.{name}"] = offset_column(problem, name)
    for name, a in columns.items():
        rest = a - fitted.jacobian @ (fitted.covariance @ (fitted.jacobian.T @ a))
        free = float(rest @ rest)
        if free > 1e-9 * float(a @ a):
            found.append(Suspect(name, float(rest @ r) ** 2 / free))
    return sorted(found, key=lambda s: -s.fall)


def gauges(problem: Problem) -> list[str]:
    """Channels whose gauge may be off: readings seen at several points, and conditions but timing, which has its unknown."""
    seen = [c for _, c in problem.rows() if c != BALANCE]
    conditions = [c for c in ("boost", "lambda") if any(c in p.conditions for p in problem.points)]
    return [c for c in dict.fromkeys(seen) if seen.count(c) > 1] + (conditions if len(problem.points) > 1 else [])


def offset_column(problem: Problem, name: str) -> Array:
    """Derivative of the whitened residuals by an offset of a gauge."""
    parts = []
    for names, whiten, solved in zip(problem.names, problem.whiten, problem.solved, strict=True):
        slopes = solved.by_condition.get(name)
        change = [-slopes[c] if slopes is not None else float(c == name) for c in names]
        parts.append(-whiten @ np.array(change))
    return np.concatenate([*parts, np.zeros(len(problem.unknowns))])


def estimates(problem: Problem, fitted: Fitted, wrong: Misfit, claimed: bool) -> list[dict[str, Any]]:
    """A row for each unknown: value, 90 % interval, prior, what decided it, bound hit."""
    spread = np.sqrt(np.diag(fitted.covariance))
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
        at = [i for i, names in enumerate(problem.names) if name in names]
        if name == BALANCE and all(problem.points[i].opening is None for i in at):
            continue
        measured = np.array([problem.points[i].readings[name] for i in at])
        error = np.array([problem.points[i].errors[name] for i in at])
        whole = np.array([whole_error(problem, i, name) for i in at])
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


def whole_error(problem: Problem, i: int, name: str) -> float:
    """Standard deviation of a reading with what the errors of the conditions do to it."""
    k = problem.names[i].index(name)
    inverse = np.linalg.inv(problem.whiten[i])
    return float(np.sqrt((inverse @ inverse.T)[k, k]))


def _rms(values: Array) -> float:
    return float(np.sqrt(np.nanmean(values**2))) if np.isfinite(values).any() else math.nan


def helpful(problem: Problem, fitted: Fitted, name: str) -> tuple[str, float] | None:
    """The channel not logged that would tell most about an unknown, and what it would leave of the prior."""
    k = [u.name for u in problem.unknowns].index(name)
    information = fitted.jacobian.T @ fitted.jacobian
    logged = {c for names in problem.names for c in names}
    best: tuple[str, float] | None = None
    for c in (*READINGS, *problem.probes):
        if c in logged or c == BALANCE:
            continue
        added = information.copy()
        for solved in problem.solved:
            value = solved.channels[c]
            one = channels.channel(c)
            error = max(one.error, one.share * abs(value))
            noise = error**2 + sum(
                (problem.points[0].condition_errors.get(q, 0.0) * slope[c]) ** 2
                for q, slope in solved.by_condition.items()
            )
            g = np.array([solved.by_unknown[u.name][c] for u in problem.unknowns])
            added += np.outer(g, g) / noise
        left = float(np.sqrt(np.linalg.inv(added)[k, k]))
        if best is None or left < best[1]:
            best = (c, left)
    now = float(np.sqrt(fitted.covariance[k, k]))
    return best if best is not None and best[1] < 0.75 * now else None


def let_go(unknowns: list[Unknown], name: str, factor: float = 8.0) -> list[Unknown]:
    """The unknowns with one prior widened, or the offset of a gauge added with a wide one."""
    if name in {u.name for u in unknowns}:
        wide = 40.0 if name.startswith("sensor.probe") else factor
        return [u._replace(sigma=u.sigma * wide) if u.name == name else u for u in unknowns]
    gauge = name.removeprefix("sensor.")
    size = {"boost": 5e4, "backpressure": 5e4, "outlet_pressure": 2e4, "intake_temperature": 30.0, "lambda": 0.1}
    one = channels.channel(gauge)
    sigma = size.get(gauge, 40.0 * one.error if one.kind == "temperature" else 0.1 * one.high)
    return [*unknowns, Unknown(name, f"offset of {channels.words(gauge)}", 0.0, sigma, -10.0 * sigma, 10.0 * sigma)]
