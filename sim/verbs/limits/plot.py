"""The picture of the region: sparks inside every limit against boost, each border named by the limit that draws it."""

from itertools import groupby
from pathlib import Path
from typing import Any

from ...pictures import check_picture, save_picture
from ...showing import FAMILIES
from .result import LimitsResult
from .table import short

DASHES = ((), (6, 2), (2, 2), (8, 2, 2, 2), (1, 1.5), (10, 3))
ROOM = 4.0  # degrees left above and below


def check_plot(path: Path, force: bool) -> None:
    """Raise CaseError where a picture cannot go to `path`, before anything is calculated."""
    check_picture(path, force, "region.png")


def write_plot(result: LimitsResult, path: Path, family: str, force: bool = False) -> None:
    """Draw the region and write the picture whole; raises CaseError."""
    check_plot(path, force)
    save_picture(draw(result, family), path)


def draw(r: LimitsResult, family: str) -> Any:
    """The figure: spark over boost."""
    from matplotlib.figure import Figure

    figure = Figure(figsize=(7.2, 4.8), layout="constrained")
    axes = figure.add_subplot()
    unit = FAMILIES[family]["pressure"]
    low, high = _span(r)
    names: dict[str, tuple[float, ...]] = {}
    for rows, grey in ((r.region, "0.90"), (r.region_backed_off, "0.76")):
        x = [row["boost_pa"] / unit.factor for row in rows]
        late, early = ([_spark(row[end], at) for row in rows] for end, at in (("latest", low), ("earliest", high)))
        said = "inside every limit" if rows is r.region else "backed off by the allowances"
        axes.fill_between(x, late, early, color=grey, linewidth=0.0, label=said)
    for end in ("latest", "earliest"):
        _border(axes, r.region, end, unit.factor, names)
    if r.boost_pa is not None:
        mark = "o" if r.inside else "X"
        said = "the case" if r.inside else "the case, outside"
        axes.plot(
            r.boost_pa / unit.factor, r.spark_advance_deg, mark, color="0.0", markersize=7, label=said, linestyle="none"
        )
    axes.set_ylim(low, high)
    axes.set_xlabel(f"boost [{unit.unit}]")
    axes.set_ylabel("spark advance [deg before top dead centre]")
    axes.spines[["top", "right"]].set_visible(False)
    axes.set_title(f"{r.title}: {r.speed_rpm:.0f} rpm, lambda {r.lambda_ratio:.3f}", loc="left", fontsize=10)
    figure.legend(frameon=False, fontsize=8, loc="outside lower center", ncols=3)
    return figure


def _span(r: LimitsResult) -> tuple[float, float]:
    """Lowest and highest spark of the picture."""
    ends = [row[end]["spark_advance_deg"] for row in r.region for end in ("latest", "earliest") if row[end] is not None]
    ends += [row["strongest"]["spark_advance_deg"] for row in r.region]
    return min([*ends, r.spark_advance_deg]) - ROOM, max([*ends, r.spark_advance_deg]) + ROOM


def _spark(end: dict[str, Any] | None, otherwise: float) -> float:
    return otherwise if end is None else float(end["spark_advance_deg"])


def _border(
    axes: Any, rows: list[dict[str, Any]], end: str, factor: float, names: dict[str, tuple[float, ...]]
) -> None:
    """A border as one line for each run of the same limit, joined to the next run."""
    kept = [row for row in rows if row[end] is not None]
    start = 0
    for name, run in groupby(kept, key=lambda row: row[end]["limit"]):
        stop = start + len(list(run))
        part = kept[max(start - 1, 0) : stop]
        first = name not in names
        dash = names.setdefault(name, DASHES[len(names) % len(DASHES)])
        axes.plot(
            [row["boost_pa"] / factor for row in part],
            [row[end]["spark_advance_deg"] for row in part],
            color="0.1",
            linewidth=1.6,
            dashes=dash or (None, None),
            label=f"edge: {short(name)}" if first else None,
        )
        start = stop
