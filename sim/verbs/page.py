"""What any verb prints, as a page to keep, print and show: its tables and sentences, its picture, the case, the versions.

A verb's print function is handed a console that keeps what it is given; so the page says what the print says, in its words.
"""

import shlex
import sys
from collections.abc import Callable, Iterator, Sequence
from itertools import groupby
from pathlib import Path
from typing import Any

from rich.console import Group
from rich.padding import Padding
from rich.table import Table as Printed
from rich.text import Text

from ..case import Case
from ..notebook import flat, stand_ins
from ..options import json_text
from ..report.page import Listing, Section, write_report
from ..report.tables import Cell, Table
from .sweep.origin import versions

LONGEST = 500_000  # letters of JSON in a page, which stays below 6 MB with its pictures


class Kept:
    """A console that keeps what is printed to it."""

    def __init__(self) -> None:
        self.parts: list[Any] = []

    def print(self, part: Any) -> None:
        """Keep a part of a print."""
        self.parts.append(part)


def save_page(
    path: Path,
    printed: Callable[[Any], None],
    case: Case,
    values: dict[str, Any],
    figures: Sequence[Any] = (),
    force: bool = False,
) -> None:
    """Write the page of a verb; raises CaseError.

    printed : prints the result to the console it is given
    values : the result as JSON holds it
    figures : the verb's pictures
    """
    console = Kept()
    printed(console)
    title, *parts = console.parts
    said = str(title).strip()
    sections = [section(part) for part in parts]
    if figures:
        from ..report.living import living  # matplotlib takes half a second: only for a page

        sections.insert(min(1, len(sections)), Section("Picture", [living(one) for one in figures], kind="shown"))
    sections += [
        Section("The case", list(case_tables(case)), folded=True),
        Section("Every value in SI", [listing(values)], folded=True, kind="data"),
        Section("How it was made", [shlex.join(["hotside", *sys.argv[1:]]), made_with()]),
    ]
    write_report(path, said, "Every figure stands as printed; at the end, folded, all values in SI.", sections, force)


def listing(values: dict[str, Any]) -> Listing | str:
    """The result as JSON, or where it is too long for a page how to get it."""
    text = json_text(values)
    if len(text) > LONGEST:
        return f"{len(text) / 1e6:.1f} MB, too long for a page; the same command with --json prints them."
    return Listing("what --json prints", text)


def section(part: Any) -> Section:
    """A printed part, a heading over its body, as a section."""
    heading, body = part.renderables
    title = str(heading).strip()
    return Section(
        title[:1].upper() + title[1:], list(blocks(body, title)), kind="caution" if title == "caution" else ""
    )


def blocks(body: Any, title: str) -> Iterator[Any]:
    """Tables and sentences below a heading; sentences that follow each other become one list, commands one listing."""
    for tables, run in groupby(_leaves(body), lambda one: isinstance(one, Printed)):
        if tables:
            yield from (_table(one, title) for one in run)
            continue
        sentences = [str(one).rstrip() for one in run]
        if sentences[0].startswith("hotside "):
            yield Listing(title, "\n".join(sentences))
        else:
            yield [line.strip().removeprefix("- ") for line in sentences]


def _leaves(body: Any) -> Iterator[Any]:
    if isinstance(body, Padding):
        yield from _leaves(body.renderable)
    elif isinstance(body, Group):
        for one in body.renderables:
            yield from _leaves(one)
    else:
        yield body


def _table(printed: Printed, title: str) -> Table:
    columns = [
        [_cell(cell, k > 0 and column.justify == "left") for cell in column.cells]
        for k, column in enumerate(printed.columns)
    ]
    heads = [str(column.header).replace("\n", " ") if printed.show_header else "" for column in printed.columns]
    return Table(title, heads, list(zip(*columns, strict=True)), "" if printed.show_header else "words")


def _cell(cell: Any, said: bool) -> Cell:
    return Cell(str(cell).strip(), alarm=isinstance(cell, Text) and "red" in str(cell.style), said=said)


def case_tables(case: Case) -> Iterator[Any]:
    """What was written, and which inputs are stand-ins with the tip how to measure each."""
    yield Table("as written", ("input", "value"), list(flat(case.to_dict())), "words")
    if case.guesses:
        said = f"{len(case.guesses)} inputs are stand-ins, the widest first; how to measure each"
        yield Table(said, ("input", "stands in", "how to measure"), list(stand_ins(case)), "words")
    if case.unread:
        yield [f"Given and not read by the chosen submodels: {', '.join(case.unread)}."]


def made_with() -> Table:
    """Versions of what calculated a page."""
    return Table("what calculated this", ("", ""), list(versions().items()), "words")
