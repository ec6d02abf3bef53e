"""Tables of a page: figures as read, with the values of the JSON kept beside them."""

import json
from collections.abc import Sequence
from dataclasses import dataclass
from html import escape
from typing import Any


@dataclass(frozen=True)
class Cell:
    """One value of a table; `si` is what the JSON holds under `name`, kept beside the words a person reads.

    alarm : past a limit
    said : words, which begin at the left
    """

    text: str
    si: Any = None
    name: str = ""
    alarm: bool = False
    said: bool = False


@dataclass(frozen=True)
class Table:
    """Rows of cells under headings; the first cell of a row names it.

    look : "" for figures, "words" for sentences, "named" where a phone may leave the last column out
    """

    caption: str
    headings: Sequence[str]
    rows: Sequence[Sequence[Cell | str]]
    look: str = ""


def table_text(table: Table, heading: str = "") -> str:
    """A table that can be scrolled sideways by hand and by keyboard where the screen is narrow; its caption above it.

    The caption is no part of the table, which would be as wide as its caption on a phone; it is not said twice below a heading
    that says it.
    """
    said = (
        [isinstance(cell, Cell) and cell.said for cell in table.rows[0]]
        if table.rows
        else [False] * len(table.headings)
    )
    heads = "".join(
        f'<th scope="col"{_worn(said=left)}>{escape(h)}</th>' if h else "<td></td>"
        for h, left in zip(table.headings, said, strict=True)
    )
    rows = "\n".join("<tr>" + "".join(_cell(c, k == 0) for k, c in enumerate(row)) + "</tr>" for row in table.rows)
    head = f"<thead><tr>{heads}</tr></thead>" if any(table.headings) else ""
    name = escape(table.caption)
    above = "" if table.caption.lower() == heading.lower() else f'<p class="caption" aria-hidden="true">{name}</p>'
    return (
        f'{above}<div class="scroll" role="group" tabindex="0" aria-label="{name}"><table class="{table.look}" aria-label="{name}">'
        f"{head}<tbody>\n{rows}\n</tbody></table></div>"
    )


def _cell(cell: Cell | str, first: bool) -> str:
    cell = Cell(cell) if isinstance(cell, str) else cell
    kept = f" data-name=\"{escape(cell.name)}\" data-si='{escape(json.dumps(cell.si))}'" if cell.name else ""
    tag, scope = ("th", ' scope="row"') if first and cell.text else ("td", "")
    return f"<{tag}{scope}{kept}{_worn(alarm=cell.alarm, said=cell.said)}>{escape(cell.text)}</{tag}>"


def _worn(**looks: bool) -> str:
    """The class of a cell."""
    names = " ".join(name for name, worn in looks.items() if worn)
    return f' class="{names}"' if names else ""
