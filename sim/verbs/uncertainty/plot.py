"""The picture of an uncertainty study: bands of the readings beside what drives them."""

from typing import Any

import numpy as np

from ...style import AMBER, INK, LEAST, QUIET, TEAL, drawn, head, legend, new_figure
from .result import UncertaintyResult
from .table import SHOWN, reading_label

LARGEST = 200.0  # area of the disc of a whole share [points squared]
ROOM = 0.62  # right of the bars, for their figures, as a share of their span
LEAST_BAND = 1e-4  # of the case's figure: below it nothing is uncertain


@drawn
def draw(r: UncertaintyResult, family: str = "metric") -> Any:
    """The figure: above the total and first-order share of each input in each reading, below how far the reading may lie off."""
    rows = [row for row in r.readings if (row["name"] in SHOWN or row["name"].startswith("probe.")) and _wide(row)]
    names = [i["name"] for i in r.inputs if i["in_sensitivities"]]
    figure = new_figure(height=3.0 + 0.55 * len(rows))
    field, bars = figure.subplots(2, 1, sharey=True, height_ratios=(1.2, 1.0))
    total = np.array([[_share(r, row["name"], name, "total") for name in names] for row in rows])
    first = np.array([[_share(r, row["name"], name, "first") for name in names] for row in rows])
    _field(field, total, first, rows, names)
    _bars(bars, rows, family)
    head(figure, f"{r.title}: what drives each reading, and how far it may lie off")
    legend(figure)
    return figure


def _wide(row: dict[str, Any]) -> bool:
    return bool(row["high"] - row["low"] > LEAST_BAND * max(abs(row["value"]), 1e-9))


def _share(r: UncertaintyResult, reading: str, name: str, which: str) -> float:
    found = next((s for s in r.sensitivities if s["reading"] == reading and s["input"] == name), None)
    return min(max(found[which], 0.0), 1.0) if found else 0.0


def _field(axes: Any, total: Any, first: Any, rows: list[dict[str, Any]], names: list[str]) -> None:
    """Dots whose area is the share: ring for the total, disc for the first order."""
    x, y = np.meshgrid(np.arange(len(names)), np.arange(len(rows)))
    axes.scatter(
        x,
        y,
        s=LARGEST * total,
        facecolors="none",
        edgecolors=INK,
        linewidths=1.2,
        label="total: with all it does together with others",
    )
    axes.scatter(x, y, s=LARGEST * first, color=TEAL, alpha=0.9, linewidths=0.0, label="first order: by itself")
    axes.set_xticks(np.arange(len(names)), names, rotation=35, ha="right", rotation_mode="anchor")
    axes.set_yticks(np.arange(len(rows)), [reading_label(row["name"]) for row in rows])
    axes.set_ylim(len(rows) - 0.4, -0.6)
    axes.set_xlim(-0.6, len(names) - 0.4)
    axes.set_title("share of the variance (area)")


def _bars(axes: Any, rows: list[dict[str, Any]], family: str) -> None:
    """The middle 90 % of each reading, in per cent of the case's own; temperatures and angles by themselves."""
    degree = "degF" if family == "us" else "K"
    ends = []
    for k, row in enumerate(rows):
        size, unit = _scale(row, degree)
        low, high = ((row[end] - row["value"]) / size for end in ("low", "high"))
        ends += [low, high]
        axes.plot([low, high], [k, k], color=AMBER, linewidth=6.0, solid_capstyle="butt")
        axes.annotate(
            f"{low:+.1f} to {high:+.1f} {unit}".rstrip(), (high, k), xytext=(5, 0), textcoords="offset points", va="center",
            fontsize=LEAST,
        )  # fmt: skip
    span = max(ends) - min(ends)
    axes.axvline(0.0, color=QUIET, linewidth=1.0)
    axes.set_xlim(min(ends) - 0.05 * span, max(ends) + ROOM * span)
    axes.set_xlabel(f"off the case's figure [%, {degree} or deg]")
    axes.set_title("nine in ten lie within")


def _scale(row: dict[str, Any], degree: str) -> tuple[float, str]:
    """What a difference is divided by, and its unit then."""
    if row["name"].endswith("_k"):
        return (1.0 / 1.8 if degree == "degF" else 1.0), degree
    if row["name"].endswith("_deg"):
        return 1.0, "deg"
    return (1.0, "") if row["name"].endswith("octane_required") else (0.01 * abs(row["value"]), "%")
