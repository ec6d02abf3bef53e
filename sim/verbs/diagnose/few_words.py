"""What a few readings mean, in sentences, and the cheapest next test that would split the two likeliest causes."""

from collections.abc import Mapping
from typing import Any

import numpy as np

from ...case import Case
from .causes import TESTS, Test
from .evidence import at_likeliest, covariance_of
from .logged import Point
from .problem import Problem
from .unknowns import NORMAL_90

SPLITS = 2.0  # standard deviations that two causes must lie apart in a reading for it to tell them apart


def tests(ranked: list[dict[str, Any]], problem: Problem, point: Point, case: Case) -> list[dict[str, Any]]:
    """Tests that would split the two likeliest causes, the cheapest first."""
    first, second = ranked[0], ranked[1]
    found = []
    for test in TESTS:
        apart = _apart(first, second, test.channel, problem) if _can_be_read(test.channel, point, case) else 0.0
        direct = [r["cause"].name for r in (first, second) if _decides(test, r["cause"].name)]
        if direct or apart >= SPLITS:
            found.append({"test": test.words, "minutes": test.minutes, "decides": direct, "apart": apart})
    return sorted(found, key=lambda t: t["minutes"])


def _can_be_read(channel: str, point: Point, case: Case) -> bool:
    """Whether a test reads a channel that is not read yet."""
    return bool(channel) and channel not in point.readings and (bool(case.probe) or not channel.startswith("probe"))


def _apart(first: Mapping[str, Any], second: Mapping[str, Any], channel: str, problem: Problem) -> float:
    """How far two causes lie apart in a channel, in standard deviations of its reading about the model."""
    error = float(np.sqrt(covariance_of(problem, [channel])[0, 0]))
    return abs(at_likeliest(first, channel) - at_likeliest(second, channel)) / max(error, 1e-12)


def _decides(test: Test, cause: str) -> bool:
    return cause in test.decides or (cause.startswith("gauge: ") and "gauge" in test.decides)


def sentences(told: list[dict[str, Any]], tests: list[dict[str, Any]], rows: list[dict[str, Any]]) -> list[str]:
    """The likeliest two, whether they can be told apart, and what to do next."""
    first, second = told[0], told[1]
    size = f" ({first['size']})" if first["size"] else ""
    ratio = first["chance"] / max(second["chance"], 1e-12)
    found = [
        f"Likeliest: {first['words']}{size}, {100.0 * first['chance']:.0f} %; then {second['words']}"
        + (f" ({second['size']})" if second["size"] else "")
        + f", {100.0 * second['chance']:.0f} %: odds {ratio:.1f} to 1."
    ]
    if ratio < 3.0:
        found.append("These readings do not tell the two apart.")
    if max(abs(r["distance"]) for r in rows) < NORMAL_90:
        found.append("Every reading lies within what the model and the gauges leave open: nothing has to be wrong.")
    if tests:
        best = tests[0]
        what = (
            f"it settles {' and '.join(best['decides'])}"
            if best["decides"]
            else f"the two lie {best['apart']:.1f} errors apart there"
        )
        found.append(f"Cheapest next test that splits them: {best['test']} (about {best['minutes']:.0f} min): {what}.")
    else:
        found.append("No usual test splits the two; take the readings again at another speed.")
    return found
