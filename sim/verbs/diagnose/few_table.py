"""A few readings and what may be behind them, as a person reads it."""

from collections.abc import Iterator

from rich.console import Console, RenderableType
from rich.text import Text

from ... import channels
from ...cautions import GENERAL, PULLS
from ...table_print import _headed, _sentences, _table
from .few import Readings
from .looks import channel_look, reading

LEAST = 0.01


def print_readings(r: Readings, console: Console | None = None) -> None:
    """Print a few readings explained."""
    console = console or Console(highlight=False)
    console.print(Text(f"\n{r.title}: a few readings", style="bold"))
    for part in parts(r):
        console.print(part)


def parts(r: Readings) -> Iterator[RenderableType]:
    """The parts of the print, top to bottom."""
    yield _headed("read, and what the case would show", _compared(r))
    yield from _sentences("taken as given", [f"- {line}." for line in r.assumed])
    yield from _sentences("what it means", r.sentences)
    yield _headed("explanations", _causes(r))
    yield from _sentences(
        "tests that split the first two", [f"- {t['test']}, about {t['minutes']:.0f} min" for t in r.tests[:4]]
    )
    yield from _sentences("caution", [GENERAL, PULLS])


def _compared(r: Readings) -> RenderableType:
    table = _table("", "read", "expected", "90 % within", "apart")
    for row in r.readings:
        name = row["channel"]
        read, expected = (reading(name, row[k], r.units) for k in ("measured", "predicted"))
        scale, unit = channel_look(name, r.units)
        apart = Text(f"{row['distance']:+.1f}", style="bold red" if abs(row["distance"]) > 2.0 else "")
        words = "power balance" if name == "balance" else channels.words(name)
        table.add_row(words, read, expected, f"{row['band'] / scale:.3g} {unit}", apart)
    return table


def _causes(r: Readings) -> RenderableType:
    table = _table("", "size", "before", "now")
    for row in r.causes:
        if row["chance"] >= LEAST:
            table.add_row(row["words"], row["size"], f"{100.0 * row['before']:.0f} %", f"{100.0 * row['chance']:.0f} %")
    return table
