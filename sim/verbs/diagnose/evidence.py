"""The evidence of each cause: the chance of the readings under it, its size unknown.

The model is solved at a few sizes, the readings between them interpolated, and normal densities summed with how usual each
size is. What the case leaves open (priors of the unknowns, errors of gauges and conditions) makes the width of those
densities.
"""

from collections.abc import Mapping
from typing import Any, NamedTuple

import numpy as np

from ... import channels
from ...errors import CaseError
from . import lies
from .causes import Cause, Setting, bell
from .fit import Array
from .forward import BALANCE, Unsolved
from .logged import Point
from .looks import amount
from .problem import Problem

FINE = 201  # sizes between those solved


def covariance_of(problem: Problem, names: list[str]) -> Array:
    """Of the readings about the model: gauges, conditions, and what the case leaves open."""
    point, solved = problem.spots[0].point, problem.spots[0]
    c = np.diag([_own(point, n) ** 2 for n in names])
    for condition, error in point.condition_errors.items():
        if condition in solved.by_condition:
            g = np.array([solved.by_condition[condition].get(n, 0.0) for n in names])
            c += error**2 * np.outer(g, g)
    for u in problem.unknowns:
        g = np.array([solved.by_unknown[u.name][n] for n in names])
        c += np.outer(g, g)
    return c


def _own(point: Point, name: str) -> float:
    if name in point.errors:
        return point.errors[name]
    one = channels.channel(name)
    return max(one.error, one.share * abs(point.readings.get(name, 0.0)))


class Shown(NamedTuple):
    """A cause, and every channel at each of its sizes; None where the model has no answer."""

    cause: Cause
    at: list[dict[str, float] | None]


def shown(cause: Cause, setting: Setting) -> Shown:
    """What the gauges would show at each size of a cause."""
    found: list[dict[str, float] | None] = []
    for size in cause.sizes:
        try:
            found.append(cause.show(setting, float(size)))
        except Unsolved:
            found.append(None)
    return Shown(cause, found)


def gauges(point: Point, setting: Setting) -> list[Cause]:
    """A lying gauge for each thing read."""
    base = setting.stand.read(setting.inputs, point.opening)
    family = setting.stand.case.report.units
    found = []
    for name, value in point.readings.items():
        if name == BALANCE:
            continue
        sigma = lies.usual(name, max(abs(value), abs(base[name])))
        found.append(_gauge(name, sigma, lambda s, x, name=name: base | {name: base[name] + x}, family))
    if "lambda" in point.conditions:
        sigma = lies.LAMBDA
        found.append(
            _gauge(
                "lambda",
                sigma,
                lambda s, x: s.stand.read(s.inputs | {"run.lambda": max(s.inputs["run.lambda"] - x, 0.55)}, s.opening),
                family,
            )
        )
    return found


def _gauge(name: str, sigma: float, show: Any, family: str) -> Cause:
    def size_words(x: float) -> str:
        return f"{amount(name, x, family)} {'high' if x > 0.0 else 'low'}"

    sizes = sigma * np.array([-2.5, -1.0, -0.3, 0.3, 1.0, 2.5])
    return Cause(
        f"gauge: {name}",
        f"the gauge of {channels.words(name)} is off",
        lies.BEFORE,
        sizes,
        bell(sigma),
        size_words,
        show,
    )


def ranked(causes: list[Shown], point: Point, names: list[str], covariance: Array) -> list[dict[str, Any]]:
    """Causes with their chances given the readings of a point, the likeliest first; raises CaseError where none comes near."""
    inverse: Array = np.asarray(np.linalg.inv(covariance), dtype=np.float64)
    measured = np.array([point.readings[c] for c in names])
    rows: list[dict[str, Any]] = []
    for cause, at in causes:
        solved = [(float(s), c) for s, c in zip(cause.sizes, at, strict=True) if c is not None]
        if solved:
            rows.append(_weighed(cause, solved, measured, names, inverse))
    total = sum(r["evidence"] for r in rows)
    before = sum(r["cause"].before for r in rows)
    if total <= 1e-300:
        raise CaseError("No single cause comes near these readings: check each figure and its unit first.")
    rows.sort(key=lambda r: -r["evidence"])
    for r in rows:
        share, one = r["evidence"] / total, r["cause"]
        r["told"] = {
            "cause": one.name,
            "words": one.words,
            "chance": share,
            "odds": share / max(1.0 - share, 1e-12),
            "before": one.before / before,
            "size": _size(r),
        }
    return rows


def _weighed(
    cause: Cause, solved: list[tuple[float, dict[str, float]]], measured: Array, names: list[str], inverse: Array
) -> dict[str, Any]:
    """The evidence of one cause, and its likeliest size."""
    sizes = np.array([s for s, _ in solved])
    curve = np.array([[c[n] for n in names] for _, c in solved])
    fine = np.linspace(sizes[0], sizes[-1], FINE) if len(sizes) > 1 else sizes
    predicted = np.stack([np.interp(fine, sizes, curve[:, k]) for k in range(len(names))], axis=1)
    gap = measured - predicted
    chance = np.exp(-0.5 * np.einsum("ik,kl,il->i", gap, inverse, gap))
    usual = cause.density(fine)
    return {
        "cause": cause,
        "evidence": cause.before * float((usual / usual.sum()) @ chance),
        "size": float(fine[int(np.argmax(chance * usual))]),
        "seen": bool(len(sizes) > 1 and np.ptp(chance) > 1e-3 * chance.max()),
        "sizes": sizes,
        "solved": [c for _, c in solved],
    }


def _size(row: Mapping[str, Any]) -> str:
    """The likeliest size in words; a cause that moves no reading has none."""
    if row["seen"]:
        return str(row["cause"].size_words(row["size"]))
    return "not seen" if len(row["sizes"]) > 1 else ""


def at_likeliest(row: Mapping[str, Any], channel: str) -> float:
    """A channel at the likeliest size of a cause."""
    return float(np.interp(row["size"], row["sizes"], [c[channel] for c in row["solved"]]))
