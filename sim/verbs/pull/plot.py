"""The picture of a pull: temperatures above, pressures below, against engine speed."""

from typing import Any

from ...gauge_tables import place_text
from ...showing import FAMILIES
from .result import PullResult

SHADES = ("#1b4965", "#c1553b", "#4f772d", "#7b5ea7", "#8a6d3b", "#5c5c5c")  # probes in turn


def draw(result: PullResult, family: str) -> Any:
    """The figure."""
    from matplotlib.figure import Figure

    figure = Figure(figsize=(7.4, 6.6), layout="constrained")
    upper, lower = figure.subplots(2, 1, sharex=True, height_ratios=(3, 2))
    _temperatures(upper, result, family)
    _pressures(lower, result, family)
    lower.set_xlabel("engine speed [rpm]")
    how = "dyno ramp" if result.by == "dyno" else "in a gear"
    upper.set_title(f"{result.title}: {how}, {result.duration_s:.1f} s", loc="left", fontsize=10)
    for axes in (upper, lower):
        axes.margins(x=0.01)
        axes.spines[["top", "right"]].set_visible(False)
        axes.grid(axis="y", color="0.9", linewidth=0.6)
        axes.set_axisbelow(True)
        axes.legend(frameon=False, fontsize=7.5, loc="center left", bbox_to_anchor=(1.0, 0.5))
    return figure


def _temperatures(axes: Any, result: PullResult, family: str) -> None:
    unit = FAMILIES[family]["temperature"]

    def y(values: Any) -> Any:
        return [(value - unit.offset) / unit.factor for value in values]

    for number, probe in enumerate(result.probes):
        shade, place = SHADES[number % len(SHADES)], place_text(probe)
        axes.plot(
            result.speed_rpm, y(probe["gas_temperature_k"]), ":", color=shade, linewidth=1.1, label=f"{place}: gas"
        )
        axes.plot(
            result.speed_rpm,
            y(probe["held_reading_k"]),
            "--",
            color=shade,
            linewidth=1.1,
            label=f"{place}: reads if held",
        )
        axes.plot(result.speed_rpm, y(probe["needle_k"]), "-", color=shade, linewidth=2.0, label=f"{place}: needle")
        axes.plot(
            [probe["lift_at_rpm"]],
            y([probe["lift_backed_off_k"]]),
            "v",
            color=shade,
            markersize=7,
            label=f"{place}: lift mark, backed off",
        )
    for ceiling in {probe["ceiling_k"] for probe in result.probes}:
        axes.axhline(y([ceiling])[0], color="0.25", linewidth=1.0, dashes=(8, 3, 2, 3), label="ceiling if held")
    axes.set_ylabel(f"temperature [{unit.unit}]")


def _pressures(axes: Any, result: PullResult, family: str) -> None:
    unit = FAMILIES[family]["pressure"]

    def y(values: Any) -> Any:
        return [value / unit.factor for value in values]

    axes.plot(result.speed_rpm, y(result.boost_pa), "-", color="#1b4965", linewidth=1.8, label="boost")
    axes.plot(
        result.speed_rpm, y(result.backpressure_pa), "--", color="#c1553b", linewidth=1.2, label="before the turbine"
    )
    if result.tap_needle_pa is not None:
        axes.plot(result.speed_rpm, y(result.tap_needle_pa), "-", color="#c1553b", linewidth=1.8, label="tap's needle")
    axes.set_ylabel(f"gauge pressure [{unit.unit}]")
    axes.set_ylim(bottom=0.0)
