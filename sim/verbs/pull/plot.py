"""The picture of a pull: temperatures above, pressures below, against engine speed."""

from typing import Any

from ...gauge_tables import place_text
from ...style import BRICK, COLOURS, INK, LIMIT, MARKERS, drawn, head, legend, new_figure, scale
from .result import PullResult


@drawn
def draw(result: PullResult, family: str) -> Any:
    """The figure."""
    figure = new_figure(height=7.4)
    upper, lower = figure.subplots(2, 1, sharex=True, height_ratios=(3, 2))
    _temperatures(upper, result, family)
    _pressures(lower, result, family)
    lower.set_xlabel("engine speed [rpm]")
    how = "dyno ramp" if result.by == "dyno" else "in a gear"
    head(figure, f"{result.title}: needles through a pull, {how}, {result.duration_s:.1f} s")
    legend(figure)
    return figure


def _temperatures(axes: Any, result: PullResult, family: str) -> None:
    y, unit = scale("temperature", family)
    x = result.speed_rpm
    for number, probe in enumerate(result.probes):
        place, look = place_text(probe), {"color": COLOURS[number % len(COLOURS)]}
        mark = {"marker": MARKERS[number % len(MARKERS)], "markevery": max(len(x) // 8, 1)}
        axes.plot(x, y(probe["gas_temperature_k"]), ":", linewidth=1.2, label=f"{place}: gas", **look, **mark)
        axes.plot(x, y(probe["held_reading_k"]), "--", linewidth=1.2, label=f"{place}: reads if held", **look, **mark)
        axes.plot(x, y(probe["needle_k"]), "-", linewidth=2.2, label=f"{place}: needle", **look, **mark)
        at, lift = [probe["lift_at_rpm"]], y([probe["lift_backed_off_k"]])
        axes.plot(at, lift, "v", markersize=9, markeredgecolor="1.0", label=f"{place}: lift mark, backed off", **look)
    for ceiling in {probe["ceiling_k"] for probe in result.probes}:
        axes.axhline(y(ceiling), label="ceiling if held, an edge", **LIMIT)
    axes.set_ylabel(f"temperature [{unit}]")


def _pressures(axes: Any, result: PullResult, family: str) -> None:
    y, unit = scale("pressure", family)
    x = result.speed_rpm
    axes.plot(x, y(result.boost_pa), "-", color=INK, label="boost")
    axes.plot(x, y(result.backpressure_pa), "--", color=BRICK, linewidth=1.2, label="before the turbine")
    if result.tap_needle_pa is not None:
        axes.plot(x, y(result.tap_needle_pa), "-", color=BRICK, linewidth=2.0, label="tap's needle")
    axes.set_ylabel(f"gauge pressure [{unit}]")
    axes.set_ylim(bottom=0.0)
