"""The card as text that fits one page of 80 columns."""

import re
from collections.abc import Iterator
from typing import Any

from rich.console import Console, Group, RenderableType
from rich.table import Table
from rich.text import Text

from ...knock_words import NOWHERE
from ...names import label_of
from ...showing import FAMILIES
from ...table_parts import _difference, _headed, _sentences, value_text
from ...table_print import margin_kind
from .result import PlanResult
from .words import cautions, notes

KINDS = {
    "boost_pa": "pressure",
    "probe_k": "temperature",
    "backpressure_pa": "pressure",
    "fuel_pressure_pa": "pressure",
}


def print_plan(result: PlanResult, family: str, console: Console | None = None) -> None:
    """Print the card in the unit family "metric" or "us"."""
    console = console or Console(highlight=False)
    console.print(Text(f"\n{result.title}: step-up card, {result.speed_rpm:.0f} rpm", style="bold"))
    for part in parts(result, family):
        console.print(part)


def parts(r: PlanResult, family: str) -> Iterator[RenderableType]:
    """The parts of the card, top to bottom."""
    yield from _sentences("where the card ends", [ends(r, family)])
    yield _pulls(r, family)
    yield _lifts(r, family)
    yield from _sentences("about knock", r.knock)
    yield from _probes(r, family)
    yield from _sentences("nearest limit of the card", [nearest(r, family)])
    yield from _sentences("how to use it", notes(r, family))
    yield from _sentences("warnings of the pulls", r.warnings)
    yield from _sentences("caution", cautions(r))
    yield from _commands(r)


def _grid(*headings: str) -> Table:
    table = Table(box=None, padding=(0, 2, 0, 0), header_style="dim")
    for number, heading in enumerate(headings):
        table.add_column(heading, justify="left" if number == 0 else "right", no_wrap=True)
    return table


def gauge(pull: dict[str, Any], name: str) -> dict[str, Any] | None:
    """The gauge of a pull by name; of several probes the one that reads highest."""
    return max((g for g in pull["gauges"] if g["gauge"] == name), key=lambda g: g["expected"], default=None)


def _band(row: dict[str, Any] | None, family: str) -> str:
    """What is expected and the half-width of its band, in one unit."""
    if row is None:
        return "-"
    how = FAMILIES[family][KINDS[row["gauge"]]]
    middle = (row["expected"] - how.offset) / how.factor
    half = 0.5 * (row["high"] - row["low"]) / how.factor
    return f"{middle:.{how.decimals}f} +-{half:.{how.decimals}f}"


def _lift(row: dict[str, Any] | None, family: str) -> str:
    return "-" if row is None else value_text(row["lift"], KINDS[row["gauge"]], family)


def _moving(row: dict[str, Any] | None, family: str) -> str:
    """Lift value of the needle in a pull."""
    return value_text(None if row is None else row["lift_in_pull"], "temperature", family)


def _units(family: str) -> str:
    return ", ".join(FAMILIES[family][kind].unit for kind in ("pressure", "temperature"))


def _pulls(r: PlanResult, family: str) -> RenderableType:
    table = _grid("pull", "boost", "lambda", "spark", "probe", "turbine", "next")
    table.columns[-1].justify, table.columns[-1].no_wrap = "left", False
    for pull in r.pulls:
        table.add_row(
            str(pull["pull"]),
            _band(gauge(pull, "boost_pa"), family),
            f"{pull['lambda_ratio']:.3f}",
            f"{pull['spark_advance_deg']:.1f}",
            _band(gauge(pull, "probe_k"), family),
            _band(gauge(pull, "backpressure_pa"), family),
            pull["next"],
        )
    return _headed(f"set this, and read this ({_units(family)}, deg; turbine: {_tapped(r)})", table)


def _tapped(r: PlanResult) -> str:
    """Which pressure the card's column of the turbine is."""
    place = str(gauge(r.pulls[0], "backpressure_pa")["place"])  # type: ignore[index]
    return f"pressure at the tap, {place}" if r.has_tap else "pressure before it"


def _lifts(r: PlanResult, family: str) -> RenderableType:
    table = _grid("pull", "boost", "lambda", "held", "in a pull", "turbine", "fuel", "knock room")
    for pull in r.pulls:
        lean = gauge(pull, "lambda_ratio")
        table.add_row(
            str(pull["pull"]),
            _lift(gauge(pull, "boost_pa"), family),
            "-" if lean is None else f"{lean['lift']:.3f}",
            _lift(gauge(pull, "probe_k"), family),
            _moving(gauge(pull, "probe_k"), family),
            _lift(gauge(pull, "backpressure_pa"), family),
            _lift(gauge(pull, "fuel_pressure_pa"), family),
            _room(pull),
        )
    return _headed("lift at, or above; probe held and in a pull; fuel pressure at, or below", table)


def _room(pull: dict[str, Any]) -> str:
    """Spark degrees to knock, of the bad cycle where it has any."""
    room = pull["knock_margin_bad_cycle_deg"]
    return NOWHERE if room is None else f"{room:.1f} deg"


def _probes(r: PlanResult, family: str) -> Iterator[RenderableType]:
    """Every probe by itself, where there is more than one."""
    places = [g["place"] for g in r.pulls[0]["gauges"] if g["gauge"] == "probe_k"]
    if len(places) < 2:
        return
    table = _grid("pull", *(x for place in places for x in (place, "lift", "moving")))
    for pull in r.pulls:
        rows = [g for g in pull["gauges"] if g["gauge"] == "probe_k"]
        table.add_row(str(pull["pull"]), *(x for row in rows for x in _probe_cells(row, family)))
    yield _headed(f"each probe {FAMILIES[family]['temperature'].unit}", table)


def ends(r: PlanResult, family: str) -> str:
    """The last pull, beside what the case asks for."""
    asked, goal = (
        f"{value_text(s['boost_pa'], 'pressure', family)}, {s['spark_advance_deg']:.1f} deg, lambda {s['lambda_ratio']:.3f}"
        for s in (r.asked, r.target)
    )
    if r.moved is None:
        return f"At the point of the case: {goal}. Every margin keeps its allowance there."
    return f"{r.moved} Asked: {asked}. The card ends at {goal}, where every margin keeps its allowance."


def _probe_cells(row: dict[str, Any], family: str) -> tuple[str, str, str]:
    """Expected, lift value held, and in a pull, bare: the heading names the unit."""
    how = FAMILIES[family]["temperature"]
    lifts = (row["lift"], row["lift_in_pull"])
    held, moving = ("-" if v is None else f"{(v - how.offset) / how.factor:.{how.decimals}f}" for v in lifts)
    return _band(row, family), held, moving


def nearest(r: PlanResult, family: str) -> str:
    """The limits that the card comes nearest to, and the pull in which it does."""
    said = []
    for row in r.limits[:3]:
        kind = margin_kind(str(row["name"]))
        room = _difference(row["margin"], kind, family).removeprefix("+")
        kept = _difference(row["allowance"], kind, family).removeprefix("+")
        said.append(f"{label_of(str(row['name']))}, {room} left in pull {row['pull']} where {kept} is kept")
    return "; ".join(said) + ". These are edges; no row of this card stands on one."


def _commands(r: PlanResult) -> Iterator[RenderableType]:
    lines = [Text(line) for pull in r.pulls for line in broken(pull["command"])]
    yield _headed("each pull again, with every reading and margin", Group(*lines))


def broken(command: str, width: int = 78) -> list[str]:
    """A command over lines that a shell joins again."""
    first, *options = re.split(r" (?=--set )", command)
    lines = [first]
    for option in options:
        if len(lines[-1]) + len(option) + 3 > width:
            lines[-1] += " \\"
            lines.append("  " + option)
        else:
            lines[-1] += " " + option
    return lines
