"""What any verb prints, as a page to keep, print and show: its tables and sentences, its picture, the case, the versions.

A verb's print function is handed a console that keeps what it is given; so the page says what the print says, in its words.
"""

import base64
import io
import shlex
import sys
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

from rich.console import Group
from rich.padding import Padding
from rich.table import Table as Printed
from rich.text import Text

from ..case import Case
from ..notebook import flat, stand_ins
from ..report.page import Cell, Drawing, Section, Table, write_report
from ..style import styled
from .sweep.origin import versions


class Kept:
    """A console that keeps what is printed to it."""

    def __init__(self) -> None:
        self.parts: list[Any] = []

    def print(self, part: Any) -> None:
        """Keep a part of a print."""
        self.parts.append(part)


def save_page(path: Path, printed: Callable[[Any], None], case: Case, figure: Any = None, force: bool = False) -> None:
    """Write the page of a verb; raises CaseError.

    printed : prints the result to the console it is given
    figure : the verb's picture, None where it has none
    """
    console = Kept()
    printed(console)
    title, *parts = console.parts
    said = str(title).strip()
    sections = [Section("Result", [f"Made by: {shlex.join(['hotside', *sys.argv[1:]])}"])]
    if figure is not None:
        sections.append(Section("Picture", [drawing(figure, said)]))
    sections += [section(part) for part in parts]
    sections += [Section("The case", list(case_tables(case)), folded=True), Section("Versions", [made_with()])]
    write_report(path, said, "Every figure stands as printed; --json gives the same in SI.", sections, force)


def section(part: Any) -> Section:
    """A printed part, a heading over its body, as a section."""
    heading, body = part.renderables
    title = str(heading).strip()
    return Section(
        title[:1].upper() + title[1:], list(blocks(body, title)), kind="caution" if title == "caution" else ""
    )


def blocks(body: Any, title: str) -> Iterator[Any]:
    """Tables and sentences below a heading; sentences that follow each other become one list."""
    sentences: list[str] = []
    for one in _leaves(body):
        if not isinstance(one, Printed):
            sentences.append(str(one).strip())
            continue
        if sentences:
            yield sentences
            sentences = []
        yield _table(one, title)
    if sentences:
        yield sentences


def _leaves(body: Any) -> Iterator[Any]:
    if isinstance(body, Padding):
        yield from _leaves(body.renderable)
    elif isinstance(body, Group):
        for one in body.renderables:
            yield from _leaves(one)
    else:
        yield body


def _table(printed: Printed, title: str) -> Table:
    columns = [[_cell(cell) for cell in column.cells] for column in printed.columns]
    heads = [str(column.header).replace("\n", " ") if printed.show_header else "" for column in printed.columns]
    return Table(title, heads, list(zip(*columns, strict=True)), "" if printed.show_header else "words")


def _cell(cell: Any) -> Cell:
    alarm = isinstance(cell, Text) and "red" in str(cell.style)
    return Cell(str(cell).strip(), alarm=alarm)


def drawing(figure: Any, words: str) -> Drawing:
    """A figure as a picture that lies in the page."""
    kept = io.BytesIO()
    with styled():
        figure.savefig(kept, format="svg", facecolor="1.0")
    return Drawing(words, base64.b64encode(kept.getvalue()).decode())


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
