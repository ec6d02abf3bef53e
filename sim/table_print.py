"""A prediction as tables a person reads: groups of readings, probes, margins, cylinders, warnings, submodels, caution."""

from collections.abc import Iterator, Mapping
from typing import Any

from rich.console import Console, Group, RenderableType
from rich.table import Table
from rich.text import Text

from .case import Case
from .cautions import cautions
from .gauge_tables import hot_side, materials_table, pressure_tap, probe_tables
from .guesses import worth_measuring
from .knock_words import about_knock, in_place
from .names import RESULTS, kind_of, label_of, unit_of
from .table_parts import NONE as NONE
from .table_parts import _difference, _headed, _sentences, _table, value_text
from .verdict import margin_kind as margin_kind
from .verdict import verdict

CYLINDER_COLUMNS = (
    "cylinder", "lambda_ratio", "spark_advance_deg", "exhaust_temperature_k", "residual_fraction", "imep_net_pa",
    "peak_pressure_pa", "ca50_deg", "octane_required", "knock_margin_deg",
)  # fmt: skip
SPRAY = (
    "Drops that evaporate before the inlet closes cool the charge and let more of it in; what wets a wall, or evaporates later, lets in "
    "none. How much does which is a judgement without source (injection.evaporation_share): compare the rows."
)
ABSENT = {"knock_onset_deg": "no knock", "knock_margin_deg": ""}  # what it means where there is none
FIRST = 8  # stand-ins named in the print
SHORT = {
    "lambda_ratio": "lambda", "spark_advance_deg": "spark", "exhaust_temperature_k": "gas out",
    "residual_fraction": "residual", "imep_net_pa": "imep", "peak_pressure_pa": "peak", "ca50_deg": "CA50",
    "octane_required": "octane", "knock_margin_deg": "to knock", "cylinder": "no.",
}  # fmt: skip


def print_prediction(
    result: Mapping[str, Any], case: Case, family: str, console: Console | None = None, materials: bool = False
) -> None:
    """Print a prediction (the dict of `Prediction.to_dict`) in the unit family "metric" or "us".

    materials : also what generic materials stand, against the parts of this engine
    """
    console = console or Console(highlight=False)
    console.print(Text(f"\n{case.title}", style="bold"))
    for part in parts(result, case, family):
        console.print(part)
    for part in materials_table(result.get("parts") or [], family) if materials else ():
        console.print(part)


def parts(result: Mapping[str, Any], case: Case, family: str) -> Iterator[RenderableType]:
    """The parts of the print, top to bottom."""
    yield from _sentences("in short", verdict(result, family))
    for group in ("operating point", "hot side"):
        yield from _readings(group, result, family)
    yield from probe_tables(result.get("probes") or [], family)
    yield from pressure_tap(result.get("pressure_tap"), family)
    yield from hot_side(result.get("parts") or [], family)
    for group in ("cylinder", "burn and knock"):
        yield from _readings(group, result, family)
    yield from _spray(result.get("spray_band") or [], family, in_place(result) if "knock_integral" in result else NONE)
    others = [name for name in result if name not in RESULTS and _scalar(result[name]) and result[name] != "converged"]
    yield from _rows("besides", [name for name in others if result[name] is not None], result, family)
    yield from _margins(result.get("margins") or [], family)
    yield from _sentences("about knock", about_knock([result]) if "knock_integral" in result else [])
    yield from _cylinders(result.get("cylinders") or [], family)
    yield from _readings("book-keeping", result, family)
    yield from _sentences("warnings", result.get("warnings") or [])
    yield from _models(result.get("models") or {})
    yield from _guesses(case)
    yield from _sentences("caution", cautions(turbo=not case.is_bench, tap=case.pressure_tap is not None))


def _scalar(value: Any) -> bool:
    return value is None or isinstance(value, bool | int | float | str)


def _readings(group: str, result: Mapping[str, Any], family: str) -> Iterator[RenderableType]:
    """The rows of a group; what a bench case or an imposed burn does not have is left out."""
    names = [name for name, row in RESULTS.items() if row.group == group and row.kind != "list" and name in result]
    kept = [name for name in names if result[name] is not None or (name in ABSENT and "knock_integral" in result)]
    yield from _rows(group, kept, result, family)


def _rows(title: str, names: list[str], result: Mapping[str, Any], family: str) -> Iterator[RenderableType]:
    if not names:
        return
    table = Table.grid(padding=(0, 3))
    for name in names:
        text = value_text(result[name], kind_of(name), family)
        table.add_row(label_of(name), (ABSENT.get(name, text) or in_place(result)) if result[name] is None else text)
    table.columns[1].justify = "right"
    yield _headed(title, table)


def _margins(margins: list[Mapping[str, Any]], family: str) -> Iterator[RenderableType]:
    if not margins:
        return
    table = _table("limit", "now", "limit at", "margin", "")
    for row in margins:
        kind = margin_kind(str(row["name"]))
        now, limit = (value_text(row.get(k), kind, family) for k in ("value", "limit"))
        state = Text("EXCEEDED", style="bold red") if row.get("exceeded") else Text("")
        table.add_row(label_of(str(row["name"])), now, limit, _difference(row.get("margin"), kind, family), state)
    yield _headed("margins", table)


def _spray(band: list[Mapping[str, Any]], family: str, none: str) -> Iterator[RenderableType]:
    """Readings at both ends of what is not known of a spray."""
    if not band:
        return
    table = _table("from the charge", "air", "power", "knock", "bad cycle", "probe")
    for row in band:
        table.add_row(*spray_cells(row, family, none))
    yield _headed("the spray's heat, as far as it is not known", Group(table, Text(SPRAY)))


def spray_cells(row: Mapping[str, Any], family: str, none: str) -> list[str]:
    """A row of the band of a spray; none : what stands for a knock margin that is not there."""
    kinds = ("fraction", "mass_flow", "power", "angle", "angle", "temperature")
    cells = [value_text(value, kind, family) for value, kind in zip(row.values(), kinds, strict=True)]
    return [none if c == NONE and k == "angle" else c for c, k in zip(cells, kinds, strict=True)]


def _cylinders(cylinders: list[Mapping[str, Any]], family: str) -> Iterator[RenderableType]:
    if len(cylinders) < 2:
        return
    names = [n for n in CYLINDER_COLUMNS if n in cylinders[0]]
    names = names if len(names) > 2 else [n for n, v in cylinders[0].items() if _scalar(v)][:8]
    kinds = {n: "count" if n == "cylinder" else kind_of(n) for n in names}
    table = _table(*(f"{SHORT.get(n, label_of(n))}\n{unit_of(kinds[n], family)}" for n in names))
    for column in table.columns:
        column.no_wrap = True
    for row in cylinders:
        cells = (value_text(row.get(n), kinds[n], family) for n in names)
        table.add_row(*(c.removesuffix(unit_of(kinds[n], family)).strip() for n, c in zip(names, cells, strict=True)))
    yield _headed("cylinders", table)


def _models(models: Mapping[str, Any]) -> Iterator[RenderableType]:
    if not models:
        return
    table = Table.grid(padding=(0, 3))
    for submodel, source in models.items():
        table.add_row(submodel.replace("_", " "), _source(source))
    yield _headed("submodels", table)


def _source(source: Any) -> str:
    """Name and source of a submodel, whichever way they are held."""
    if isinstance(source, Mapping):
        return ": ".join(str(v) for v in source.values())
    return ": ".join(str(v) for v in source) if isinstance(source, list | tuple) else str(source)


def _guesses(case: Case) -> Iterator[RenderableType]:
    ranked = worth_measuring(case)
    if ranked:
        first, rest = ranked[:FIRST], len(ranked) - FIRST
        more = f" and {rest} more, all in the page of --report" if rest > 0 else ""
        text = f"{len(case.guesses)} inputs are stand-ins. Widest first, worth measuring: {', '.join(first)}{more}."
        yield _headed("guesses", Text(text + ' "hotside explain NAME" says how; "hotside uncertainty" what each does.'))
    if case.unread:
        yield _headed("given and not read by the chosen submodels", Text(", ".join(case.unread)))
