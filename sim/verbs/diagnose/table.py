"""A diagnosis as tables a person reads."""

import math
from collections.abc import Iterator
from typing import Any

from rich.console import Console, RenderableType
from rich.text import Text

from ... import channels
from ...cautions import GENERAL, PULLS
from ...table_print import _headed, _sentences, _table
from .looks import channel_look, look
from .result import Diagnosis

WIDEST = 10


def print_diagnosis(d: Diagnosis, console: Console | None = None) -> None:
    """Print a diagnosis."""
    console = console or Console(highlight=False)
    console.print(Text(f"\n{d.title}: {d.log}", style="bold"))
    for part in parts(d):
        console.print(part)


def parts(d: Diagnosis) -> Iterator[RenderableType]:
    """The parts of the print, top to bottom."""
    used = f"{d.rows_used} of {d.rows} rows used, {d.points} points"
    yield from _sentences("the log", [f"{used}, the wastegate known at {d.points_wastegate_known}.", *d.reading_notes])
    yield from _sentences("what it means", [said(s) for s in d.sentences])
    yield _headed("unknowns, with 90 % intervals", _unknowns(d))
    yield _headed("readings: measured less predicted, root mean square", _channels(d))
    yield from _sentences(
        "the fit",
        [
            f"chi-square {d.sum_of_squares:.1f} over {d.freedom} readings, chance {d.misfit_probability:.2g}; "
            f"{d.evaluations} points solved in {d.seconds:.1f} s."
        ],
    )
    ignored = [", ".join(d.columns_ignored)] if d.columns_ignored else []
    yield from _sentences("columns not read", ignored)
    yield from _sentences("caution", [GENERAL, PULLS])


def said(sentence: dict[str, Any]) -> str:
    """A sentence with its confidence."""
    sure = sentence["confidence"]
    if sure is None:
        return f"- {sentence['text']}"
    told = (
        min(math.floor(1000.0 * sure) / 10.0, 99.9) if sure >= 0.99 else math.floor(100.0 * sure)
    )  # never more than it is
    return f"- {sentence['text']} [{told} % sure]"


def _unknowns(d: Diagnosis) -> RenderableType:
    table = _table("", "value", "from", "to", "before", "decided by")
    for row in d.estimates:
        scale, unit = look(row["name"], d.case.report.units)
        values = (f"{row[k] / scale:.{_places(row, scale)}f}" for k in ("value", "low", "high", "prior"))
        mark = ", at bound" if row["at_bound"] else ""
        words = row["words"] + (f" [{unit}]" if unit else "")
        table.add_row(words, *values, row["decided_by"] + mark)
    return table


def _places(row: dict[str, Any], scale: float) -> int:
    sd = row["standard_deviation"] / scale
    return 3 if sd < 0.05 else (2 if sd < 0.5 else 1)


def _channels(d: Diagnosis) -> RenderableType:
    table = _table("", "points", "before", "after", "own error", "after, over all errors")
    for row in d.channels:
        scale, unit = channel_look(row["channel"], d.case.report.units)
        words = "power balance" if row["channel"] == "balance" else channels.words(row["channel"])
        before, after, error = (f"{row[k] / scale:.3g} {unit}".strip() for k in ("rms_before", "rms", "error"))
        state = Text(f"{row['over_error']:.2f}", style="bold red" if row["over_error"] > 1.6 else "")
        table.add_row(words, str(row["points"]), before, after, error, state)
    return table
