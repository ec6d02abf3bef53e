"""A result of `improve` as tables a person reads."""

from collections.abc import Iterator
from typing import Any

from rich.console import Console, Group, RenderableType
from rich.text import Text

from ...cautions import GENERAL, PULLS
from ...knock_words import in_place
from ...names import kind_of
from ...sections import SPECS
from ...table_parts import _difference, _headed, _sentences, _table, value_text
from . import limits, words
from .goal import KINDS, PROBE, SPOOL, SPOOL_AT
from .result import ImproveResult

UNITS = {"angle": "deg", "spark": "deg", "event": "deg", "after_tdc": "deg", "temperature": "K"}  # of a step
FELT = 12  # sensitivities printed
HARMLESS = "without passing a limit, going farther past one or letting the boost creep"
NO_HARM = "passes no limit, goes no farther past one and keeps the boost in hand"
RANKING = (
    "Ranked: what meets the target without passing a limit, going farther past one or letting the boost creep, then what meets it, each "
    "by how far it must go of what is taken to be its way (judgement, no source); then the best of the others. A change is turned alone; what a "
    "builder would retune with it is not in it. Every figure is that of the changed case solved; type the options into hotside "
    "predict."
)
SPOOL_NOTE = f"The tip-in is made at {SPOOL_AT:g} of the case's speed, each to the same boost: 90 % of what the case as it is comes to there."
NO_TARGET = "A limit is an edge, no target: stay off it by what gauges and stand-ins may be wrong by (hotside limits prints both)."


def print_improve(result: ImproveResult, family: str, console: Console | None = None) -> None:
    """Print a result in the unit family "metric" or "us"."""
    console = console or Console(highlight=False)
    console.print(Text(f"\n{result.title}: toward {result.target}", style="bold"))
    for part in parts(result, family):
        console.print(part)


def parts(r: ImproveResult, family: str) -> Iterator[RenderableType]:
    """The parts of the print, top to bottom."""
    yield from _sentences("the target", [verdict(r, family)])
    if r.changes:
        yield _ranked("each change by itself", r, r.changes, family)
        yield from _sentences("limits on the way", bound(r.changes))
        yield from _sentences("said of them besides, by number", besides(r.changes, 1))
    if r.pairs:
        yield _ranked("the best pairs", r, r.pairs, family)
        yield from _sentences("limits on the way of the pairs", bound(r.pairs))
        yield from _sentences("said of the pairs besides", besides(r.pairs, len(r.changes) + 1))
    if r.changes:
        yield _headed(
            "to be typed again", Group(*(Text(f"{i}  {row['set']}") for i, row in enumerate([*r.changes, *r.pairs], 1)))
        )
        spool = any("time_to_90_s" in row["costs"] for row in r.changes)
        yield from _sentences("how to read it", [RANKING, *([SPOOL_NOTE] if spool or r.reading == SPOOL else [])])
    if r.sensitivities:
        yield _felt(r, family)
    yield from _sentences("caution", [NO_TARGET, GENERAL, PULLS])


def verdict(r: ImproveResult, family: str) -> str:
    """Whether the target is met, and by what."""
    now, wanted = (words.reading(r.reading, x, family) for x in (r.now, r.wanted))
    head = f"{words.label(r.reading)}: now {now}, wanted {wanted}. "
    if r.met_already:
        return head + "It is met already; nothing has to be changed."
    if not r.changes:
        return head + "No single change moves it that way."
    if r.met_by_single:
        inside = sum(row["meets"] and not limits.hurt(row) for row in r.changes)
        count = sum(row["meets"] for row in r.changes)
        if count == 1:
            text = "One single change meets it, "
            return head + text + (f"and {NO_HARM}." if inside else f"but not {HARMLESS}.")
        return head + f"{count} single changes meet it, {inside or 'none'} of them {HARMLESS}."
    row = r.changes[0]
    text = head + f"No single change meets it. The best found is {words.reading(r.reading, row['value'], family)}: "
    text += words.change(row, family)[0] + "."
    return text + (
        " A pair does, below."
        if any(p["meets"] for p in r.pairs)
        else " Nor does a pair of the best."
        if r.pairs
        else ""
    )


def _ranked(title: str, r: ImproveResult, rows: list[dict[str, Any]], family: str) -> RenderableType:
    spool = any("time_to_90_s" in row["costs"] for row in rows)
    own = r.reading in ("power_w", PROBE, "knock_margin_deg", "backpressure_ratio")
    table = _table(
        "", "change", *([] if own else ["reading"]), "power", "probe", "knock", "ratio", *(["spool"] if spool else [])
    )
    table.columns[1].justify = "left"
    first = 1 if rows is r.changes else len(r.changes) + 1
    if rows is r.changes:
        table.add_row(
            "", "as it is", *([] if own else [words.reading(r.reading, r.now, family)]), *_costs(r.here, family, spool)
        )
    for number, row in enumerate(rows, first):
        mark = Text("\n".join(words.change(row, family)), style="" if row["meets"] else "dim")
        if not row["meets"]:
            mark.append(" (short of it)")
        cells = [] if own else [words.reading(r.reading, row["value"], family)]
        table.add_row(str(number), mark, *cells, *_costs(row["costs"], family, spool))
    return _headed(title, table)


def _costs(c: dict[str, Any], family: str, spool: bool) -> list[str]:
    probe = c[PROBE] if c[PROBE] is not None else c["exhaust_temperature_k"]
    ratio = "-" if c["backpressure_ratio"] is None else f"{c['backpressure_ratio']:.2f}"
    cells = [value_text(c["power_w"], "power", family), value_text(probe, "temperature", family)]
    cells += [
        in_place(c) if c["knock_margin_deg"] is None else value_text(c["knock_margin_deg"], "angle", family),
        ratio,
    ]
    return cells + ([value_text(c.get("time_to_90_s"), "time", family)] if spool else [])


def bound(rows: list[dict[str, Any]]) -> list[str]:
    """What binds before the target, and what gets better or worse of the limits passed already."""
    lines = []
    for row in rows:
        said = []
        if row["binds_first"]:
            share = round(100.0 * row["binds_at_share"])
            said.append(
                f"{words.limit(row['binds_first'])} binds first, {f'about {share} % of the way' if share else 'at once'}"
            )
        others = [n for n in row["passed"] if n != row["binds_first"]]
        for text, names in (
            ("past then also", others),
            ("farther past", row["worse"]),
            ("inside again", row["cleared"]),
        ):
            said += [f"{text} {' and '.join(words.limit(n) for n in names)}"] if names else []
        if said:
            lines.append(f"{' with '.join(row['names'])}: {'; '.join(said)}")
    return lines


def besides(rows: list[dict[str, Any]], first: int) -> list[str]:
    """Each warning that only changed cases give, once, with the numbers of those that give it."""
    told: dict[str, tuple[str, list[str]]] = {}
    for number, row in enumerate(rows, first):
        for text in row["warnings"]:
            told.setdefault(limits.masked(text), (text, []))[1].append(str(number))
    return [
        f"{numbers[0]}: {text}" + (f" Likewise {', '.join(numbers[1:])}." if numbers[1:] else "")
        for text, numbers in told.values()
    ]


def _felt(r: ImproveResult, family: str) -> RenderableType:
    table = _table("input", "step", f"{words.label(r.reading)} moves by", "")
    kind = KINDS.get(r.reading, kind_of(r.reading))
    for row in r.sensitivities[:FELT]:
        share = row["step"] / row["value"] if row["value"] else 0.0
        step = (
            f"{100.0 * share:+.0f} %"
            if abs(abs(share) - 0.01) < 1e-9
            else f"{row['step']:+g} {UNITS.get(SPECS[row['input']].kind, '')}".strip()
        )
        way = f"{100.0 * row['toward'] / abs(r.wanted - r.now):+.1f} % of the way" if r.now is not None else ""
        table.add_row(row["input"], step, _difference(row["change"], kind, family), way)
    return _headed(f"what moves it most, of {len(r.sensitivities)} inputs (steps of 1 %, 1 deg or 5 K)", table)
