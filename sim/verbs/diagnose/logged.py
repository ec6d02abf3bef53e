"""The points of a log as the fit takes them: conditions, readings, their errors, and what is known of the wastegate."""

import math
from typing import Any, NamedTuple

from ...case import Case
from .forward import BALANCE, READINGS
from .points import Points

CONDITIONS = {"speed": "run.speed", "boost": "run.boost", "lambda": "run.lambda", "spark_advance": "run.spark_advance"}
BALANCE_ERROR = 0.005  # share of the power to which a steady point's agree: a shaft that drifts by 1 % in a second
CLOSED_SHARE = (
    0.8  # of the crack pressure, up to which the exhaust's push does not open it either; common practice, no source
)


class Point(NamedTuple):
    """One point of a log."""

    conditions: dict[str, float]  # in SI, by channel
    condition_errors: dict[str, float]
    readings: dict[str, float]
    errors: dict[str, float]
    opening: float | None  # of the wastegate, None where it is free
    opening_error: float
    label: str


def shut_below(case: Case) -> float | None:
    """Boost below which the wastegate is known to be shut [Pa]: stated, or well below where its rod first moves."""
    if case.log is not None and case.log.wastegate_shut_below is not None:
        return case.log.wastegate_shut_below
    crack = case.wastegate.crack_pressure if case.wastegate is not None else None
    return None if crack is None else CLOSED_SHARE * crack


def points_of(found: Points, case: Case) -> list[Point]:
    """Points of a problem from the points of a log."""
    return [_point(found, k, shut_below(case)) for k in range(len(found.values))]


def _point(found: Points, k: int, shut: float | None) -> Point:
    values = {n: float(v) for n, v in found.values.iloc[k].items() if n != "line" and math.isfinite(v)}
    errors = {n: float(v) for n, v in found.errors.iloc[k].items() if n in values}
    opening, opening_error = _opening(values, errors, shut)
    readings = {n: v for n, v in values.items() if n in READINGS or n.startswith("probe.")}
    own = {n: errors[n] for n in readings}
    if opening is not None and found.steady[k]:
        readings[BALANCE], own[BALANCE] = 0.0, BALANCE_ERROR
    return Point(
        {n: values[n] for n in CONDITIONS if n in values},
        {n: errors[n] for n in CONDITIONS if n in errors},
        readings,
        own,
        opening,
        opening_error,
        f"line {found.values['line'].iloc[k]:.0f}",
    )


def _opening(values: dict[str, Any], errors: dict[str, Any], shut: float | None) -> tuple[float | None, float]:
    """The wastegate's opening and its error: on its seat it is known better than its sender knows anything."""
    opening = values.get("wastegate_opening")
    if opening is None:
        return (0.0, 0.0) if shut is not None and values["boost"] < shut else (None, 0.0)
    return max(opening, 0.0), min(errors["wastegate_opening"], max(opening, 0.0))
