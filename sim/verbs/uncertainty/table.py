"""Bands and sensitivities as tables a person reads."""

from collections.abc import Iterator
from typing import Any

from rich.console import Console, RenderableType
from rich.table import Table
from rich.text import Text

from ...cautions import GENERAL
from ...names import kind_of, label_of
from ...table_print import _headed, _sentences, _table, margin_kind, value_text
from .result import UncertaintyResult

SHOWN = (
    "boost_pa", "backpressure_pa", "backpressure_ratio", "turbine_inlet_temperature_k", "exhaust_temperature_k", "shaft_speed_rad_s",
    "wastegate_opening", "air_flow_kg_s", "power_w", "bsfc_kg_j", "peak_pressure_pa", "residual_fraction", "ca50_deg", "octane_required",
    "knock_margin_deg",
)  # fmt: skip
DRIVERS = 3
FELT = 0.05


def print_uncertainty(r: UncertaintyResult, family: str, console: Console | None = None) -> None:
    """Print a result in the unit family "metric" or "us"."""
    console = console or Console(highlight=False)
    console.print(Text(f"\n{r.title}: how sure the readings are", style="bold"))
    for part in parts(r, family):
        console.print(part)


def parts(r: UncertaintyResult, family: str) -> Iterator[RenderableType]:
    """The parts of the print, top to bottom."""
    shown = [row for row in r.readings if row["name"] in SHOWN or row["name"].startswith("probe.")]
    yield _headed("readings: nine in ten lie between", _bands(shown, family))
    yield _headed("what drives them (share of the variance that stays when all else is known)", _drivers(r, shown))
    yield _headed("inputs that drive any reading", _inputs(r, family))
    past = [
        f"{label_of(row['name'])}: past its limit in {100.0 * row['share']:.0f} % of the sample."
        for row in r.limits_exceeded
        if row["share"] > 0.0
    ]
    yield from _sentences("limits", past)
    yield from _sentences("the sample", [counted(r)])
    yield from _sentences("caution", [GENERAL])


def counted(r: UncertaintyResult) -> str:
    """How many points stand behind the figures."""
    text = f"{r.samples} points of a Latin hypercube over {sum(i['felt'] for i in r.inputs)} inputs"
    text += f"; sensitivities from a base sample of {r.base_sample} over {sum(i['in_sensitivities'] for i in r.inputs)} of them, the rest held"
    if r.points_without_answer:
        text += f"; {r.points_without_answer} points had no answer and are left out"
    return text + "."


def reading_label(name: str) -> str:
    """What the trade calls a reading, a probe's with its number."""
    return (
        f"exhaust probe {name.split('.')[1]} reads"
        if name.startswith("probe.")
        else label_of(name.removeprefix("margin."))
    )


def reading_kind(name: str) -> str:
    """Kind of unit of a reading."""
    if name.startswith("probe."):
        return "temperature"
    return margin_kind(name.removeprefix("margin.")) if name.startswith("margin.") else kind_of(name)


def _bands(rows: list[dict[str, Any]], family: str) -> RenderableType:
    table = _table("", "case", "from", "to")
    for row in rows:
        kind = reading_kind(row["name"])
        table.add_row(reading_label(row["name"]), *(value_text(row[k], kind, family) for k in ("value", "low", "high")))
    return table


def _drivers(r: UncertaintyResult, rows: list[dict[str, Any]]) -> RenderableType:
    table = Table.grid(padding=(0, 3))
    for row in rows:
        best = [s for s in r.drivers(row["name"]) if s["total"] >= FELT][:DRIVERS]
        if best:
            cells = (f"{s['input']} {100.0 * min(s['total'], 1.0):.0f} %" for s in best)
            table.add_row(reading_label(row["name"]), ", ".join(cells))
    return table


def _inputs(r: UncertaintyResult, family: str) -> RenderableType:
    table = _table("", "value, SI", "90 % within", "")
    for row in r.inputs:
        if row["in_sensitivities"]:
            table.add_row(
                row["name"],
                f"{row['value']:.4g}",
                f"{row['half_width']:.2g}",
                "stand-in" if row["stand_in"] else "given",
            )
    return table
