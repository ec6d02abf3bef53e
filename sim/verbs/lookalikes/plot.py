"""The picture: readings of the probe over mixture and spark, with the line of the same reading through the case."""

from typing import Any

from ...style import BRICK, HERE, INK, LEAST, PALE, drawn, head, legend, new_figure, scale
from .result import LookalikesResult

JUMP = 0.1  # of lambda, from which two neighbours are not joined
FAR = 30.0  # knock margin drawn where there is none [deg]


def branches(r: LookalikesResult) -> list[list[dict[str, Any]]]:
    """The lookalikes in runs without a jump: the lean side of the summit is a line of its own."""
    found: list[list[dict[str, Any]]] = [[]]
    for row in r.alike:
        if found[-1] and row["lambda_ratio"] - found[-1][-1]["lambda_ratio"] > JUMP:
            found.append([])
        found[-1].append(row)
    return found


@drawn
def draw(r: LookalikesResult, family: str) -> Any:
    """The figure: lines of equal reading."""
    import numpy as np

    warm, unit = scale("temperature", family)
    figure = new_figure(height=5.2)
    axes = figure.add_subplot()
    x, y = r.map["lambda_ratio"], r.map["spark_advance_deg"]
    kelvin = np.array([[np.nan if v is None else v for v in row] for row in r.map["reading_k"]]).T
    shown = np.ma.masked_invalid(warm(kelvin))
    here = float(warm(r.reading_k))
    wide = float(warm(r.reading_k + r.tolerance_k)) - here
    axes.contourf(x, y, shown, levels=[here - wide, here + wide], colors=[PALE])
    lines = axes.contour(x, y, shown, levels=12, colors="0.65", linewidths=0.8)
    axes.clabel(lines, fmt="%.0f", fontsize=LEAST)
    label: str | None = f"reads {here:.0f} {unit}"
    for branch in branches(r):
        axes.plot(
            [row["lambda_ratio"] for row in branch], [row["spark_advance_deg"] for row in branch], "o-", color=INK,
            linewidth=2.2, markersize=4, label=label,
        )  # fmt: skip
        label = None
    for row in r.same_spark:
        axes.plot(row["lambda_ratio"], row["spark_advance_deg"], "D", color=INK, markersize=6)
    knock = np.array([[FAR if v is None else v for v in row] for row in r.map["knock_margin_deg"]]).T
    if knock.min() < 0.0 < knock.max():
        axes.contour(x, y, knock, levels=[0.0], colors=BRICK, linestyles="dashed", linewidths=1.7)
        axes.plot([], [], "--", color=BRICK, label="knock limit of the mean cycle, knock above it")
    axes.plot(r.lambda_ratio, r.spark_advance_deg, label="the case", zorder=3, **HERE | {"markersize": 11})
    axes.fill_between([], [], [], color=PALE, label=f"within the probe's class, +-{wide:.0f} {unit}")
    axes.set_xlabel("lambda (richer to the left)")
    axes.set_ylabel("spark advance [deg before top dead centre]")
    axes.grid(False)
    head(figure, f"{r.title}: what the probe reads, {r.place}, {r.speed_rpm:.0f} rpm [{unit}]")
    legend(figure, 2)
    return figure
