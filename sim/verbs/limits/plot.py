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
        x = pressure([row["boost_pa"] for row in rows])
        late, early = ([_spark(row[end], at) for row in rows] for end, at in (("latest", low), ("earliest", high)))
        said = "inside every limit" if rows is r.region else "backed off by the allowances"
        axes.fill_between(x, late, early, color=grey, linewidth=0.0, label=said)
    for end in ("latest", "earliest"):
        _border(axes, r.region, end, pressure, names)
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


def _spark(end: dict[str, Any] | None, otherwise: float) -> float:
    return otherwise if end is None else float(end["spark_advance_deg"])


def _border(axes: Any, rows: list[dict[str, Any]], end: str, pressure: Callable[[Any], Any], names: list[str]) -> None:
    """A border as one line for each run of the same limit, joined to the next run."""
    kept = [row for row in rows if row[end] is not None]
    start = 0
    for name, run in groupby(kept, key=lambda row: row[end]["limit"]):
        stop = start + len(list(run))
        part = kept[max(start - 1, 0) : stop]
        if name not in names:
            names.append(name)
        axes.plot(
            pressure([row["boost_pa"] for row in part]),
            [row[end]["spark_advance_deg"] for row in part],
            label=f"edge: {short(name)}",
            **look(names.index(name)),
        )
        start = stop
