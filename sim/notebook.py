"""A case and a prediction as a notebook shows them: small tables."""

from collections.abc import Iterator, Mapping
from html import escape
from typing import TYPE_CHECKING, Any

from .names import RESULTS, label_of
from .table_parts import _difference, value_text
from .table_print import margin_kind

if TYPE_CHECKING:
    from .case import Case


def prediction_html(result: Mapping[str, Any], family: str = "metric") -> str:
    """Margins and readings of a prediction (the dict of `Prediction.to_dict`)."""
    margins = [
        (
            label_of(str(m["name"])),
            *(value_text(m[k], margin_kind(str(m["name"])), family) for k in ("value", "limit")),
            _difference(m["margin"], margin_kind(str(m["name"])), family) + (" EXCEEDED" if m["exceeded"] else ""),
        )
        for m in result["margins"]
    ]
    readings = [
        (row.label, value_text(result[name], row.kind, family), name)
        for name, row in RESULTS.items()
        if row.kind != "list" and result.get(name) is not None
    ]
    words = "".join(f"<p>{escape(sentence)}</p>" for sentence in result["warnings"])
    return (
        _table("margins", ("limit", "now", "limit at", "margin"), margins)
        + words
        + _table("readings", ("reading", "value", "attribute"), readings)
    )


def case_html(case: "Case") -> str:
    """What a case was written with, and its stand-ins with the tip how to measure each."""
    given = list(flat(case.to_dict()))
    return (
        _table(case.title, ("input", "as written"), given)
        + f"<details><summary>{len(case.guesses)} inputs are stand-ins</summary>"
        + _table("stand-ins, the widest first", ("input", "stands in", "how to measure"), list(stand_ins(case)))
        + "</details>"
    )


def stand_ins(case: "Case") -> Iterator[tuple[str, str, str]]:
    """Each stand-in of a case with its value and the tip how to measure it, those worth measuring first."""
    from .guesses import worth_measuring

    first = worth_measuring(case)
    for name in [*first, *(n for n in case.guesses if n not in first)]:
        yield name, standing(case, name), case.guesses[name] or ""


def standing(case: "Case", name: str) -> str:
    """The value of a stand-in as it would be written; empty where it follows from something not given."""
    from .new import stand_in_text
    from .sections import SPECS

    general = ".".join("N" if part.isdigit() else part for part in name.split("."))
    return stand_in_text(case.get(name), SPECS[general]).strip('"')


def flat(value: Any, name: str = "") -> Iterator[tuple[str, str]]:
    """Nested tables of a case file as dotted names with their values as text."""
    if isinstance(value, Mapping):  # one that holds nothing says nothing
        for key, item in value.items():
            yield from flat(item, f"{name}.{key}" if name else str(key))
    elif isinstance(value, list | tuple) and value and all(isinstance(item, Mapping) for item in value):
        for k, item in enumerate(value, 1):
            yield from flat(item, f"{name}.{k}")
    else:
        yield name, ", ".join(map(str, value)) if isinstance(value, list | tuple) else str(value)


def _table(caption: str, headings: tuple[str, ...], rows: list[Any]) -> str:
    head = "".join(f"<th>{escape(h)}</th>" for h in headings)
    body = "".join("<tr>" + "".join(f"<td>{escape(str(c))}</td>" for c in row) + "</tr>" for row in rows)
    return f"<table><caption>{escape(caption)}</caption><thead><tr>{head}</tr></thead><tbody>{body}</tbody></table>"
