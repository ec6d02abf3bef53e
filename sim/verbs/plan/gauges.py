"""What each gauge should read in a pull, within which band, and at which reading to lift.

Bands are those of `limits.allowance`: judgement where no class of instrument states them. The lift value is the lower of
two: the limit less the gauge's own error, and twice the band above what is expected, since a reading that far off means that
the engine is not the one that was calculated.
"""

import math
from typing import Any

from ...case import Case
from ...prediction import Prediction
from ..limits.allowance import BOOST_GAUGE, MODEL_PRESSURE, MODEL_TEMPERATURE

BOOST_OVER = 1e4  # boost above that asked for at which to lift [Pa]
LAMBDA_GAUGE = 0.02  # of a wideband probe and the mixture's own wander [-]
LEAN = 0.04  # lambda above that asked for at which to lift [-]
FUEL_DROP = 2e4  # of rail pressure at which to lift [Pa]
FUEL_GAUGE = 1e4  # [Pa]
LEAST_BACKPRESSURE_BAND = 5e3  # [Pa]


def readings(case: Case, p: Prediction, behind: list[float] | None) -> list[dict[str, Any]]:
    """A row for each gauge: name, place, expected, low, high and lift in SI; lift_below says that it is a floor.

    behind : how far each probe's needle is behind in a pull [K], None where that is not known
    """
    late: list[float | None] = [None] * len(p.probes) if behind is None else list(behind)
    probes = [_probe(case, row, lag) for row, lag in zip(p.probes, late, strict=True)]
    rows = [_boost(p), *probes, _backpressure(case, p), _mixture(p), _fuel(case, p)]
    return [row for row in rows if row is not None]


def _row(gauge: str, place: str, expected: float, band: float, lift: float, below: bool = False) -> dict[str, Any]:
    return {
        "gauge": gauge,
        "place": place,
        "expected": expected,
        "low": expected - band,
        "high": expected + band,
        "lift": lift,
        "lift_below": below,
    }


def _boost(p: Prediction) -> dict[str, Any] | None:
    if p.boost_pa is None:
        return None
    return _row("boost_pa", "intake manifold", p.boost_pa, BOOST_GAUGE, p.boost_pa + BOOST_OVER)


def _probe(case: Case, row: dict[str, Any], behind: float | None) -> dict[str, Any]:
    """Held readings; lift_in_pull is what the needle shows in a pull when the held reading would be at the lift value."""
    own = float(row["reading_high_k"]) - float(row["reading_k"])
    band = math.hypot(MODEL_TEMPERATURE, own)
    lift = min(case.limits.probe_temperature - own, row["reading_k"] + 2.0 * band)
    return _row("probe_k", str(row["location"]), float(row["reading_k"]), band, lift) | {
        "time_constant_s": float(row["time_constant_s"]),
        "behind_in_pull_k": behind,
        "lift_in_pull": None if behind is None else lift - max(behind, 0.0),
    }


def _backpressure(case: Case, p: Prediction) -> dict[str, Any]:
    """What the tap of the case shows, or one before the turbine where it has none.

    In a runner the pressure stands some per cent above that before the turbine, by which its limit is moved.
    """
    tap = p.pressure_tap
    shown = p.backpressure_pa if tap is None else float(tap["reading_pa"])
    band = max(MODEL_PRESSURE * shown, LEAST_BACKPRESSURE_BAND)
    edge = (
        case.limits.backpressure_ratio * (p.boost_pa or 0.0) * (1.0 - MODEL_PRESSURE / 2.0) + shown - p.backpressure_pa
    )
    place = "before the turbine" if tap is None else str(tap["location"])
    return _row("backpressure_pa", place, shown, band, min(shown + 2.0 * band, max(edge, shown + band)))


def _mixture(p: Prediction) -> dict[str, Any]:
    return _row("lambda_ratio", "exhaust", p.lambda_ratio, LAMBDA_GAUGE, p.lambda_ratio + LEAN)


def _fuel(case: Case, p: Prediction) -> dict[str, Any]:
    """Rail pressure against the open air, as a gauge on the rail shows it."""
    rail = case.fuel.rail_pressure + ((p.boost_pa or 0.0) if case.fuel.rail_follows == "manifold" else 0.0)
    return _row("fuel_pressure_pa", "rail", rail, FUEL_GAUGE, rail - FUEL_DROP, below=True)
