"""The picture of the region: sparks inside every limit against boost, each border named by the limit that draws it."""

from collections.abc import Callable
from itertools import groupby
from typing import Any

from ...style import HERE, PALE, SHADE, drawn, head, legend, look, new_figure, scale
from .result import LimitsResult
from .table import short

ROOM = 4.0  # degrees left above and below


@drawn
def draw(r: LimitsResult, family: str) -> Any:
    """The figure: spark over boost."""
    figure = new_figure(height=5.0)
    axes = figure.add_subplot()
    pressure, unit = scale("pressure", family)
    low, high = _span(r)
    names: list[str] = []
    for rows, grey in ((r.region, PALE), (r.region_backed_off, SHADE)):
        outline = _outline(rows, "earliest", high) + _outline(rows, "latest", low)[::-1]
        said = "inside every limit" if rows is r.region else "backed off by the allowances"
        axes.fill(pressure([x for x, _ in outline]), [y for _, y in outline], color=grey, linewidth=0.0, label=said)
    for end, otherwise in (("latest", low), ("earliest", high)):
        _border(axes, r.region, end, otherwise, pressure, names)
    if r.boost_pa is not None:
        here = HERE if r.inside else HERE | {"marker": "X", "markersize": 10}
        said = "the case" if r.inside else "the case, outside"
        axes.plot(pressure(r.boost_pa), r.spark_advance_deg, label=said, zorder=3, **here)
    axes.set_ylim(low, high)
    axes.set_xlabel(f"boost [{unit}]")
    axes.set_ylabel("spark advance [deg before top dead centre]")
    head(figure, f"{r.title}: how far it can go, {r.speed_rpm:.0f} rpm, lambda {r.lambda_ratio:.3f}")
    legend(figure)
    return figure


def _span(r: LimitsResult) -> tuple[float, float]:
    """Lowest and highest spark of the picture."""
    ends = [row[end]["spark_advance_deg"] for row in r.region for end in ("latest", "earliest") if row[end] is not None]
    ends += [row["strongest"]["spark_advance_deg"] for row in r.region]
    return min([*ends, r.spark_advance_deg]) - ROOM, max([*ends, r.spark_advance_deg]) + ROOM


def _outline(rows: list[dict[str, Any]], end: str, otherwise: float) -> list[tuple[float, float]]:
    """One side of the region as boost and spark; upright to the picture's edge where an end appears or goes."""
    line: list[tuple[float, float]] = []
    before: dict[str, Any] | None = None
    for row in rows:
        here, was = row[end], None if before is None else before[end]
        if before is not None and (here is None) != (was is None):
            known = row if was is None else before
            upright = [(known["boost_pa"], otherwise), (known["boost_pa"], known[end]["spark_advance_deg"])]
            line += upright if was is None else upright[::-1]
        line.append((row["boost_pa"], otherwise if here is None else float(here["spark_advance_deg"])))
        before = row
    return line


def _border(
    axes: Any, rows: list[dict[str, Any]], end: str, otherwise: float, pressure: Callable[[Any], Any], names: list[str]
) -> None:
    """A border as one line for each run of the same limit, joined to the next run; upright where it begins among the rows."""
    kept = [row for row in rows if row[end] is not None]
    start = 0
    for name, run in groupby(kept, key=lambda row: row[end]["limit"]):
        stop = start + len(list(run))
        part = [(row["boost_pa"], row[end]["spark_advance_deg"]) for row in kept[max(start - 1, 0) : stop]]
        if start == 0 and kept[0] is not rows[0]:
            part = [(part[0][0], otherwise), *part]
        if name not in names:
            names.append(name)
        axes.plot(
            pressure([x for x, _ in part]),
            [y for _, y in part],
            label=f"edge: {short(name)}",
            **look(names.index(name)),
        )
        start = stop
