"""A comparison as tables a person reads, the better of each row marked."""

from collections.abc import Iterator

from rich.console import Console, RenderableType
from rich.table import Table
from rich.text import Text

from ...cautions import GENERAL, PULLS
from ...knock_words import NEUTRAL, NONE
from ...names import RESULTS, kind_of, label_of
from ...table_parts import _headed, _sentences, _table, value_text
from . import words
from .admission import admission_words
from .result import CompareResult
from .words import choke_words, runaway_words

MARK = " *"
KNOCK = "knock_margin_deg"


def print_compare(result: CompareResult, family: str, console: Console | None = None) -> None:
    """Print a comparison in the unit family "metric" or "us"."""
    console = console or Console(highlight=False)
    console.print(Text(f"\n{result.title}, {result.speed_rpm:.0f} rpm", style="bold"))
    for part in parts(result, family):
        console.print(part)


def parts(result: CompareResult, family: str) -> Iterator[RenderableType]:
    """The parts of the print, top to bottom."""
    letters = [chr(ord("A") + i) for i in range(len(result.names))]
    legend = Table.grid(padding=(0, 2))
    for letter, name in zip(letters, result.names, strict=True):
        legend.add_row(letter, name)
    yield _headed("rivals", legend)
    yield _headed(
        "at the point (* the better)",
        _rows(result.point, result.better, result.names, letters, family, quick(result, family)),
    )
    if result.equal_torque is not None:
        same = result.equal_torque
        at = value_text(same.torque_nm, "torque", family)
        yield _headed(
            f"at equal torque, {at}: the boost that gives it",
            _rows(same.point, same.better, result.names, letters, family, {}),
        )
        yield from _sentences("not at that torque", same.missing(family))
    for key, rows in result.along.items():
        if all(v is None for row in rows for v in row) and key != KNOCK:
            continue
        table = _table("engine speed", *letters)
        for i, rpm in enumerate(result.speeds_rpm):
            run = [row[i] is not None for row in result.along["power_w"]]
            cells = (_cell(key, row[i], yes, kind_of(key), family) for row, yes in zip(rows, run, strict=True))
            table.add_row(f"{rpm:.0f} rpm", *cells)
        yield _headed(f"along full load: {label_of(key)}", table)
    if None in [*result.point[KNOCK], *(v for row in result.along[KNOCK] for v in row)]:
        yield from _sentences("about knock", [NEUTRAL])
    if any(max(row) - min(row) > 1e-4 for row in result.cylinders) or len(set(result.collectors)) > 1:
        yield _headed("residual gas of each cylinder", _cylinders(result, letters, family))
    trades = words.trade(result.names, result.point, result.tip_in is not None, family)
    yield from _sentences("what the choice trades", [trades])
    yield from _sentences("about two entries", admission_words(result.admission, family))
    if result.runaway is not None:
        found = zip(result.names, result.runaway, strict=True)
        sentences = [runaway_words(name, one, family) for name, one in found]
        yield from _sentences("where it runs away", sentences + choke_words(result.runaway))
    yield from _sentences("warnings", result.warnings)
    yield from _sentences("caution", [GENERAL, PULLS])


def quick(result: CompareResult, family: str) -> dict[str, str]:
    """What the rows of the tip-in are called: at what speed, and to which boost all are timed."""
    labels = {"threshold_rpm": "boost threshold (90 % of it)", "time_to_90_s": ""}
    if result.tip_in is not None and result.tip_in.boost_pa is not None:
        boost = value_text(result.tip_in.boost_pa, "pressure", family)
        labels["time_to_90_s"] = f"{boost} at {result.tip_in.speed_rpm:.0f} rpm after"
    return labels


def _rows(
    point: dict[str, list[float | None]],
    better: dict[str, str | None],
    names: list[str],
    letters: list[str],
    family: str,
    labels: dict[str, str],
) -> Table:
    """A row for each result, the better rival of it marked."""
    table = _table("", *letters)
    for key, values in point.items():
        if all(v is None for v in values) and key != KNOCK:
            continue
        kind = "time" if key == "time_to_90_s" else "rpm" if key == "threshold_rpm" else kind_of(key)
        cells = []
        for name, value, boost in zip(names, values, point["boost_pa"], strict=True):
            best = better[key] == name
            text = _cell(key, value, boost is not None, kind, family)
            cells.append(Text(text + (MARK if best else "  "), style="bold" if best else ""))
        table.add_row(labels.get(key) or RESULTS[key].label, *cells)
    return table


def _cell(key: str, value: float | None, answered: bool, kind: str, family: str) -> str:
    """A value; a point with an answer but no knock limit has a margin of none."""
    return NONE if value is None and answered and key == KNOCK else value_text(value, kind, family)


def _cylinders(result: CompareResult, letters: list[str], family: str) -> Table:
    table = _table("cylinder", *letters)
    for j in range(max(len(row) for row in result.cylinders)):
        cells = (value_text(row[j] if j < len(row) else None, "fraction", family) for row in result.cylinders)
        table.add_row(str(j + 1), *cells)
    return table
