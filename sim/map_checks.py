"""Whether a measured map goes with the wheel it is said to belong to: a unit read wrong shows in its speeds."""

import math
from collections.abc import Iterator
from statistics import median
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from .sections import Sections

WORK = (0.2, 1.8)  # work over tip speed squared of a compressor, 0.6 to 0.75 usual: wide, as the wheel may be another's
SPEED_RATIO = (0.2, 1.6)  # tip speed over spouting velocity of a turbine, about 0.4 to 1 in maps
CP, K = 1004.7, 2.0 / 7.0  # of the air of maps


def problems(case: "Sections") -> Iterator[str]:
    """A sentence for each map whose speeds no wheel of the given size turns."""
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


def _given(section: object, name: str) -> float | None:
    return float(getattr(section, name)) if name in getattr(section, "model_fields_set", ()) else None


def _said(name: str, size: str, wheel: float, points: tuple[tuple[float, float, float, float], ...]) -> str:
    slow, fast = (f(p[0] for p in points) * 30.0 / math.pi for f in (min, max))
    return (
        f"{name} runs from {slow:.0f} to {fast:.0f} rpm, which does not go with its pressure ratios and {size} = "
        f"{1e3 * wheel:g} mm; check the unit of the column speed, and the wheel."
    )
