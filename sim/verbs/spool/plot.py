"""Boost and shaft speed against time, as a picture."""

from typing import Any

from ...showing import FAMILIES
from .result import SpoolResult


def draw(result: SpoolResult, family: str) -> Any:
    """A figure: boost and backpressure above, shaft speed below."""
    from matplotlib.figure import Figure

    pressure, turns = FAMILIES[family]["pressure"], FAMILIES[family]["rotation"]
    figure = Figure(figsize=(7.0, 5.5), layout="constrained")
    top, low = figure.subplots(2, 1, sharex=True)
    time = result.time_s
    top.plot(time, [p / pressure.factor for p in result.boost_pa], label="boost")
    top.plot(time[1:], [p / pressure.factor for p in result.backpressure_pa[1:]], lw=0.8, label="before the turbine")
    if result.time_to_90_s is not None:
        top.axvline(result.time_to_90_s, color="0.5", ls=":", lw=1.0)
        top.text(
            result.time_to_90_s,
            top.get_ylim()[0],
            f"90 % at {result.time_to_90_s:.2f} s ",
            va="bottom",
            ha="right",
            fontsize=9,
        )
    top.set_ylabel(f"gauge pressure [{pressure.unit}]")
    top.legend(frameon=False)
    low.plot(time, [w / turns.factor / 1e3 for w in result.shaft_speed_rad_s])
    low.set_ylabel("turbo shaft [1000 rpm]")
    low.set_xlabel("time after the throttle opens [s]")
    top.set_title(f"{result.title}, {result.speed_rpm:.0f} rpm", fontsize=10)
    for axes in (top, low):
        axes.grid(alpha=0.3)
    return figure
