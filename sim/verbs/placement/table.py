"""A result of `placement` as tables, sentences and CSV."""

import csv
import io

from rich.console import Console, Group, RenderableType
from rich.text import Text

from ...cautions import GENERAL, HOT_SIDE, PRESSURE_TAP
from ...table_parts import NONE, _difference, _headed, _sentences, _table, value_text
from .result import PlacementResult
from .words import Row, percent, place, placed

SHOWN = 12  # placements printed; --csv and --json hold all


def print_placement(r: PlacementResult, family: str, console: Console | None = None) -> None:
    """Print a result in the unit family "metric" or "us"."""
    console = console or Console(highlight=False)
    console.print(Text(f"\n{r.title}: where to drill, {r.speed_rpm:.0f} rpm", style="bold"))
    for part in (_ranking(r, family), _left(r), _places(r, family), _taps(r, family), _swaps(r)):
        if part is not None:
            console.print(part)
    for part in (
        *_sentences("in words", r.sentences),
        *_sentences("caution", [GENERAL, HOT_SIDE, PRESSURE_TAP]),
    ):
        console.print(part)


def _ranking(r: PlacementResult, family: str) -> RenderableType:
    above = _difference(r.above_k, "temperature", family).lstrip("+")
    table = _table(
        f"{r.probes} probe{'s' if r.probes > 1 else ''} in", "misses, %", "by gas", "mean", "95 % of", "left", ""
    )
    table.columns[0].no_wrap = True
    for k, row in enumerate(r.ranking[:SHOWN]):
        mark = "best" if k == r.recommended else "equal" if row["ties"] else ""
        table.add_row(
            short(row), f"{100.0 * row['chance']:.1f} +-{100.0 * row['chance_error']:.1f}", percent(row["chance_gas"]),
            _difference(row["miss_mean_k"], "temperature", family), _difference(row["miss_95_k"], "temperature", family),
            percent(row["left_mean"]), mark,
        )  # fmt: skip
    more = f", {len(r.ranking) - SHOWN} more in --csv" if len(r.ranking) > SHOWN else ""
    key = (
        f"misses: how often another cylinder is {above} hotter than the probes show, by reading and by gas; mean and 95 %: what is "
        "missed; left: uncertainty of the cylinders' readings after a steady row of a log"
    )
    return _headed(f"placements, {len(r.ranking)} of them{more}", Group(table, Text(key, style="dim")))


def short(row: Row) -> str:
    """A placement for a column: numbers of runners, names of collectors."""
    places = row["places"]
    return place(places[0]) if len(places) == 1 else ", ".join(map(str, places))


def _left(r: PlacementResult) -> RenderableType:
    best = r.ranking[r.recommended]
    names = ("air", "fuel", "spark", "mixture", "reading")
    table = _table("cylinder", *names)
    for row in best["left"]:
        table.add_row(str(row["cylinder"]), *(NONE if row[k] is None else percent(row[k]) for k in names))
    return _headed(f"uncertainty left after a steady row of the log, {placed(best)}", table)


def _places(r: PlacementResult, family: str) -> RenderableType:
    table = _table("place", "reads", "gas", "strays (sd)", "class", "hottest in", "fed alike")
    own = [*r.by_geometry["departures_k"], *r.by_geometry["collector_k"]]
    for row, alike in zip(r.places, own, strict=True):
        table.add_row(
            place(row["place"]), value_text(row["reading_k"], "temperature", family),
            value_text(row["gas_temperature_k"], "temperature", family),
            _difference(row["spread_k"], "temperature", family).lstrip("+"),
            "+-" + _difference(row["tolerance_k"], "temperature", family).lstrip("+"),
            NONE if row["hottest_share"] is None else percent(row["hottest_share"]),
            _difference(alike + 0.0, "temperature", family),
        )  # fmt: skip
    return _headed("the places, as the case has them", table)


def _taps(r: PlacementResult, family: str) -> RenderableType:
    table = _table("pressure tap in", "reads", "off", "needle swings", "gauge end", "")
    for row in r.taps:
        swing = row["pulsation_at_gauge_pa"]
        table.add_row(
            str(row["place"]), value_text(row["reading_pa"], "pressure", family), _difference(row["off_pa"], "pressure", family),
            NONE if swing is None else "+-" + value_text(0.5 * swing, "pressure", family),
            value_text(row["gauge_end_k"], "temperature", family), "" if row["gauge_survives"] else "gauge too hot",
        )  # fmt: skip
    return _headed("places for the tap", table)


def _swaps(r: PlacementResult) -> RenderableType | None:
    if r.swaps is None:
        return None
    table = _table("pulls in each", "hotter one named", "where far apart")
    for row in r.swaps["rows"]:
        far = row["right_where_far"]
        table.add_row(str(row["pulls_in_each"]), percent(row["right"]), NONE if far is None else percent(far))
    a, b = r.swaps["cylinders"]
    return _headed(f"one gauge swapped between runners {a} and {b}", table)


def csv_text(r: PlacementResult) -> str:
    """The whole ranking, one row for each placement; shares as fractions, the rest in SI."""
    out = io.StringIO()
    writer = csv.writer(out, lineterminator="\n")
    names = (
        "chance",
        "chance_error",
        "chance_gas",
        "miss_mean_k",
        "miss_95_k",
        "worse_by",
        "worse_by_error",
        "left_mean",
    )
    cylinders = [row["cylinder"] for row in r.ranking[0]["left"]]
    writer.writerow(["places", *names, "ties", *(f"left_reading_{c}" for c in cylinders)])
    for row in r.ranking:
        left = ["" if c["reading"] is None else f"{c['reading']:.6g}" for c in row["left"]]
        writer.writerow([" ".join(map(str, row["places"])), *(f"{row[n]:.6g}" for n in names), int(row["ties"]), *left])
    return out.getvalue()
