"""The picture of the card: the way up in boost and spark, and what the probe should read in each pull."""

from typing import Any

import numpy as np

from ...style import BRICK, INK, LIMIT, drawn, head, legend, new_figure, scale
from .result import PlanResult
from .table import gauge

LEAST_SPAN = 2.0  # about the way up, so that a spark left alone does not fill the height with tenths [deg]


@drawn
def draw(r: PlanResult, family: str) -> Any:
    """The figure: the way up, and below it the probe in each pull."""
    figure = new_figure(height=6.4)
    way, heat = figure.subplots(2, 1, height_ratios=(2, 3))
    _way(way, r, family)
    _heat(heat, r, family)
    head(figure, f"{r.title}: step-up card, {r.speed_rpm:.0f} rpm")
    legend(figure)
    return figure


def _way(axes: Any, r: PlanResult, family: str) -> None:
    pressure, unit = scale("pressure", family)
    x = pressure([pull["boost_pa"] for pull in r.pulls])
    y = [pull["spark_advance_deg"] for pull in r.pulls]
    axes.plot(x, y, "-", color="0.6", linewidth=1.0)
    axes.plot(x, y, "o", color=INK, markersize=15, linestyle="none")
    for pull, a, b in zip(r.pulls, x, y, strict=True):
        axes.annotate(str(pull["pull"]), (a, b), color="1.0", ha="center", va="center", fontsize=9)
    axes.margins(0.15)
    low, high = axes.get_ylim()
    axes.set_ylim(min(low, min(y) - LEAST_SPAN), max(high, max(y) + LEAST_SPAN))
    axes.set_xlabel(f"boost [{unit}]")
    axes.set_ylabel("spark advance [deg]")


def _heat(axes: Any, r: PlanResult, family: str) -> None:
    shown, unit = scale("temperature", family)
    rows = [row for row in (gauge(pull, "probe_k") for pull in r.pulls) if row is not None]
    x = [pull["pull"] for pull in r.pulls][: len(rows)]
    low, middle, high, lift = (shown([row[name] for row in rows]) for name in ("low", "expected", "high", "lift"))
    ends = (middle - low, np.minimum(high, lift) - middle)  # past its lift value no reading belongs to a pull
    axes.errorbar(x, middle, yerr=ends, fmt="o", color=INK, capsize=5, label="should read")
    axes.plot(x, lift, "_", color=BRICK, markersize=18, markeredgewidth=2.4, label="lift at")
    limit = next((row["limit"] for row in r.limits if row["name"] == "probe_temperature_k"), None)
    if limit is not None:
        axes.axhline(shown(limit), label="the limit, an edge", **LIMIT)
    axes.set_xticks(x)
    axes.set_xlabel("pull")
    axes.margins(x=0.08)
    axes.set_ylabel(f"probe reads [{unit}]")
