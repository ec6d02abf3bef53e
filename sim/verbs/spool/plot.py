"""Boost and shaft speed against time, as a picture."""

from typing import Any

from ...style import BRICK, INK, QUIET, TEAL, drawn, head, legend, new_figure, scale
from .result import SpoolResult


@drawn
def draw(result: SpoolResult, family: str) -> Any:
    """A figure: boost and backpressure above, shaft speed below."""
    pressure, unit = scale("pressure", family)
    turns, rpm = scale("rotation", family)
    figure = new_figure(height=5.6)
    top, low = figure.subplots(2, 1, sharex=True, height_ratios=(3, 2))
    time = result.time_s
    top.plot(time, pressure(result.boost_pa), color=INK, linewidth=2.2, label="boost")
    top.plot(
        time[1:], pressure(result.backpressure_pa[1:]), "--", color=BRICK, linewidth=1.1, label="before the turbine"
    )
    if result.time_to_90_s is not None:
        for axes in (top, low):
            said = f"90 % of the boost after {result.time_to_90_s:.2f} s"
            axes.axvline(result.time_to_90_s, color=QUIET, linestyle=":", linewidth=1.2, label=said)
    top.set_ylabel(f"gauge pressure [{unit}]")
    low.plot(
        time,
        turns(result.shaft_speed_rad_s) / 1e3,
        color=TEAL,
        linewidth=1.2,
        label="turbo shaft, with the turbine's pulses",
    )
    low.set_ylabel(f"turbo shaft [1000 {rpm}]")
    low.set_xlabel("time after the throttle opens [s]")
    head(figure, f"{result.title}: boost after a tip-in, {result.speed_rpm:.0f} rpm")
    legend(figure, 4)
    return figure
