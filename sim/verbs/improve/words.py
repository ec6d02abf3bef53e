"""A change in words."""

from typing import Any

from ... import angles
from ...names import kind_of, label_of
from ...table_parts import value_text
from ..limits.table import short
from .goal import KINDS, KNOCK, LABELS


def value(kind: str, x: float, family: str) -> str:
    """A value of a change as it is printed."""
    if kind == "event":
        centre = min((180.0, angles.GAS_EXCHANGE_TDC, 540.0), key=lambda c: abs(x - c))
        dead = "TDC" if centre == angles.GAS_EXCHANGE_TDC else "BDC"
        return f"{abs(x - centre):.1f} deg {'B' if x < centre else 'A'}{dead}"
    if kind == "length":
        return f"{x / 0.0254:.3f} in" if family == "us" else f"{1e3 * x:.1f} mm"
    return value_text(x, kind, family)


def change(row: dict[str, Any], family: str) -> list[str]:
    """Each part of a change: what, from where, to where."""
    rows = zip(row["names"], row["kinds"], row["from"], row["to"], strict=True)
    return [f"{name}: {value(kind, a, family)} to {value(kind, b, family)}" for name, kind, a, b in rows]


def option(name: str, value: Any) -> str:
    """An input as an option of the command line."""
    if isinstance(value, dict):
        inner = ", ".join(f"{k} = {v!r}" for k, v in value.items())
        return f"--set '{name}={{ {inner} }}'"
    return f'--set {name}="{value}"' if isinstance(value, str) else f"--set {name}={value!r}"


def reading(name: str, x: float | None, family: str) -> str:
    """A reading as it is printed."""
    if x is None and name in KNOCK:
        return "without end"
    return value_text(x, KINDS.get(name, kind_of(name)), family)


def limit(name: str) -> str:
    """A limit in few words, to stand in a list of them."""
    head, comma, tail = short(name).partition(", ")
    return f"{head} of the {tail}" if comma else head


def label(name: str) -> str:
    """What a reading is called."""
    return LABELS.get(name) or label_of(name)
