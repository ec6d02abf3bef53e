"""Whether a measured map goes with the wheel it is said to belong to, and with the engine: a unit read wrong shows there."""

import math
from collections.abc import Iterator
from statistics import median
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from .sections import Sections

WORK = (0.2, 1.8)  # work over tip speed squared of a compressor, 0.6 to 0.75 usual: wide, as the wheel may be another's
SPEED_RATIO = (0.2, 1.6)  # tip speed over spouting velocity of a turbine, about 0.4 to 1 in maps
CP, K = 1004.7, 2.0 / 7.0  # of the air of maps
R_AIR, OUTSIDE, CHARGE, EXHAUST = 287.05, 1.013e5, 320.0, 1150.0  # [J/(kg K)], [Pa], [K]; a rough flow is enough here
# Judgement, wide: share of what the engine draws that a compressor must pass at its most, and the pressure before a turbine that
# takes all of the exhaust at its greatest flow [Pa]; beyond them nothing real is left of a point.
LEAST_FLOW, MOST_BEFORE = 0.1, 20e5


def problems(case: "Sections") -> Iterator[str]:
    """A sentence for each map whose speeds no wheel of the given size turns, or whose flows are none of this engine's."""
    yield from _flows(case)
    compressor, turbine = case.compressor, case.turbine
    if compressor is not None and compressor.map is not None and compressor.model == "map":
        wheel = _given(compressor, "wheel_diameter")
        if wheel is not None:
            T, points = compressor.map[0], compressor.map[2]
            found = median(CP * T * (x**K - 1.0) / e / (0.5 * wheel * n) ** 2 for n, _, x, e in points)
            if not WORK[0] <= found <= WORK[1]:
                yield _said("compressor.map", "compressor.wheel_diameter", wheel, points)
    if turbine is not None and turbine.map is not None and turbine.model == "map":
        wheel = _given(turbine, "wheel_inlet_diameter")
        if wheel is not None:
            T, points = turbine.map[0], turbine.map[2]
            found = median(0.5 * wheel * n / math.sqrt(2.0 * CP * T * (1.0 - x**-K)) for n, _, x, e in points)
            if not SPEED_RATIO[0] <= found <= SPEED_RATIO[1]:
                yield _said("turbine.map", "turbine.wheel_inlet_diameter", wheel, points)


def _flows(case: "Sections") -> Iterator[str]:
    """A sentence for each map far too small for the engine."""
    compressor, turbine, e, run = case.compressor, case.turbine, case.engine, case.run
    intake = OUTSIDE + (run.boost or 0.0)
    swept = e.cylinders * 0.25 * math.pi * e.bore**2 * e.stroke
    drawn = intake * swept / (R_AIR * CHARGE) * run.speed_rpm / 120.0
    if compressor is not None and compressor.map is not None and compressor.model == "map":
        most = max(flow for _, flow, _, _ in compressor.map[2])
        if most < LEAST_FLOW * drawn:
            yield _small("compressor.map", most, f"the engine draws about {drawn:.2g} kg/s at {run.speed_rpm:.0f} rpm")
    if turbine is not None and turbine.map is not None and turbine.model == "map":
        T, p, points = turbine.map
        most = max(flow for _, flow, _, _ in points)
        before = p * drawn / most * math.sqrt(EXHAUST / T)
        if before > MOST_BEFORE:
            yield _small(
                "turbine.map",
                most,
                f"the engine's exhaust, {drawn:.2g} kg/s, would need {before / 1e5:.0f} bar before it",
            )


def _small(name: str, most: float, why: str) -> str:
    return f"{name} passes {most:.2g} kg/s at most, corrected, and {why}; check the unit of the column corrected_flow."


def _given(section: object, name: str) -> float | None:
    return float(getattr(section, name)) if name in getattr(section, "model_fields_set", ()) else None


def _said(name: str, size: str, wheel: float, points: tuple[tuple[float, float, float, float], ...]) -> str:
    slow, fast = (f(p[0] for p in points) * 30.0 / math.pi for f in (min, max))
    return (
        f"{name} runs from {slow:.0f} to {fast:.0f} rpm, which does not go with its pressure ratios and {size} = "
        f"{1e3 * wheel:g} mm; check the unit of the column speed, and the wheel."
    )
