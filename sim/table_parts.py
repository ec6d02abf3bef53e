"""Small parts that every printed table is made of."""

from collections.abc import Iterator
from typing import Any

from rich.console import Group, RenderableType
from rich.padding import Padding
from rich.table import Table
from rich.text import Text

from .showing import FAMILIES, shown

NONE = "-"


def value_text(value: Any, kind: str, family: str) -> str:
    """One value as it is printed."""
    if value is None or value != value:
        return NONE
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, str):
        return value
    if kind == "small":
        return f"{value:.1e}"
    if kind == "list":
        return ", ".join(str(item) for item in value)
    return shown(float(value), kind if kind in FAMILIES[family] else "number", family)


def _headed(title: str, body: RenderableType) -> RenderableType:
    return Group(Text(f"\n{title}", style="bold"), Padding(body, (0, 0, 0, 2), expand=False))


def _table(*headings: str) -> Table:
    table = Table(box=None, padding=(0, 2, 0, 0), header_style="dim")
    for number, heading in enumerate(headings):
        table.add_column(heading, justify="left" if number == 0 else "right")
    return table


def _difference(value: Any, kind: str, family: str) -> str:
    """A difference of two values: a temperature difference carries no offset."""
    how = FAMILIES[family].get(kind)
    if value is None or how is None:
        return value_text(value, kind, family)
    return f"{value / how.factor:+.{how.decimals}f} {how.unit}".strip()


def _sentences(title: str, sentences: list[str]) -> Iterator[RenderableType]:
    if sentences:
        yield _headed(title, Group(*(Text(sentence) for sentence in sentences)))
