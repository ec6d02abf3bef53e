"""Where a measured map or curve is left, and what carries it on there."""

import math
from collections.abc import Mapping
from functools import lru_cache
from typing import Any

from ..models import compressor, turbine
from .sections_turbo import Turbine
from .setup import Setup

R_RATIO = 1.012  # gas constant of burnt gas over that of the air maps are measured with
RPM_OF = 30.0 / math.pi  # of rad/s
NEAR = 0.02  # of a speed or an expansion ratio: no more is known of the mean of a pulsing flow


def off_the_maps(s: Setup, values: Mapping[str, Any]) -> list[str]:
    """A sentence for each map that a solved point has left."""
    return off_the_compressor_map(s, values) + off_the_turbine_map(s.case.turbine, values)


def off_the_compressor_map(s: Setup, values: Mapping[str, Any]) -> list[str]:
    """Where the compressor's shaft speed lies outside the lines of its map."""
    if s.plant.compressor.model != compressor.MAP or values["shaft_speed_rad_s"] is None:
        return []
    chart = s.plant.compressor.chart
    speed = values["shaft_speed_rad_s"] / (s.plant.ambient_temperature / chart.reference_temperature) ** 0.5
    lines = s.chart[2 * chart.lines + 1, : chart.lines]
    if chart.lines == 1:
        return ["The compressor map has one speed line: all other speeds follow from it by similarity, a rough guess."]
    if lines[0] <= speed <= lines[-1]:
        return []
    side = "below the slowest" if speed < lines[0] else "above the fastest"
    return [f"The turbo turns {side} speed line of the compressor map: carried on by similarity, less sure there."]


def off_the_turbine_map(t: Turbine | None, values: Mapping[str, Any]) -> list[str]:
    """Where the cycle's mean state lies past the points of the turbine's map or curve."""
    ratio = values["pressure_ratio_turbine"]
    if t is None or ratio is None:
        return []
    if t.model == "curve" and t.curve is not None:
        end = t.curve[-1][0]
        return [_past(ratio, end, "curve ends", "its flow is held")] if ratio > (1.0 + NEAR) * end else []
    if t.model != "map" or t.map is None or values["shaft_speed_rad_s"] is None:
        return []
    found = list(out_of_order(t.map[2]))
    speeds, ends = line_ends(t.map[2])
    speed = values["shaft_speed_rad_s"] * math.sqrt(t.map[0] / (R_RATIO * values["turbine_inlet_temperature_k"]))
    if len(speeds) == 1:
        found.append(
            "The turbine map has one speed line: all other speeds swallow the same and share its efficiency, a rough guess."
        )
    elif not (1.0 - NEAR) * speeds[0] <= speed <= (1.0 + NEAR) * speeds[-1]:
        side = "below the slowest" if speed < speeds[0] else "above the fastest"
        found.append(f"The turbo turns {side} speed line of the turbine map: read as that line, less sure there.")
    end = _between(speed, speeds, ends)
    if ratio > (1.0 + NEAR) * end:
        found.append(_past(ratio, end, "map ends at this speed", "carried on by a nozzle law fitted to its lines"))
    return found


@lru_cache(maxsize=64)
def out_of_order(points: tuple[tuple[float, float, float, float], ...]) -> tuple[str, ...]:
    """A sentence where all speed lines of a turbine map lie the wrong way round; a mixed order is no map."""
    pairs = turbine.rising(turbine.map_lines(points))
    if not pairs:
        return ()
    where = ", ".join(f"{a * RPM_OF:.0f} to {b * RPM_OF:.0f} rpm" for a, b in pairs)
    return (
        f"At one pressure ratio the flow of the turbine map rises from {where}: a radial wheel that turns faster passes less there; "
        "see whether these speeds are swapped.",
    )


@lru_cache(maxsize=64)
def line_ends(points: tuple[tuple[float, float, float, float], ...]) -> tuple[list[float], list[float]]:
    """Speed of each line of a turbine map [rad/s], and the expansion ratio of its last point."""
    lines = turbine.map_lines(points)
    return [float(line[0, 0]) for line in lines], [float(line[-1, 2]) for line in lines]


def _past(ratio: float, end: float, what: str, how: str) -> str:
    return (
        f"The turbine works at a mean expansion ratio of {ratio:.2f}, past the {end:.2f} at which its {what}: {how}, and where it "
        "chokes is less sure."
    )


def _between(x: float, xs: list[float], ys: list[float]) -> float:
    """Linear between points, constant beyond them."""
    import numpy as np

    return float(np.interp(x, xs, ys))
