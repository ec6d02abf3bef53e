"""How a section of a case is declared and read: one `Spec` for each input, strict reading, one sentence for each error.

A section is a frozen pydantic record in SI. Its fields are declared with `given` (required), `guess` (a stand-in when
absent) or `option` (None when absent); the spec travels in the field, so bounds, words and tips have one home.
"""

import difflib
import math
from collections.abc import Callable, Iterator
from functools import cache
from typing import Any, NamedTuple, get_args

from pydantic import BaseModel, ConfigDict, Field, ValidationInfo, field_validator

from . import units
from .errors import Refused

Reader = Callable[[Any], Any]
QUANTITIES = {*units.EXAMPLES, "pressure_absolute"}  # kinds that units.parse reads


class Spec(NamedTuple):
    """All that is known about one input before a value is."""

    kind: str  # of units.UNITS, or number, fraction, integer, text, flag, choice, or the name of a special reader
    meaning: str
    low: float | None = None  # [SI]
    high: float | None = None  # [SI]
    allowed: str = ""  # the bounds or choices in words
    like: str = ""  # how a valid value is written, in TOML
    hint: str = ""  # said instead of "write for example ..."
    need: str = "given"  # given, guess, setting or option
    rule: str = ""  # where the stand-in comes from
    tip: str = ""  # how to measure it
    band: float | str = 0.0  # half-width of the likely range: a share of the value, or a quantity
    choices: tuple[str, ...] = ()
    reader: Reader | None = None

    def read(self, value: Any) -> Any:
        """The value in SI, checked against the bounds; raises Refused."""
        if self.reader is not None:
            found = self.reader(value)
        elif self.kind in SIMPLE:
            found = SIMPLE[self.kind](self, value)
        else:
            found = read_quantity(self.kind, value)
        self.bound(found)
        return found

    def bound(self, found: Any) -> None:
        """Raise Refused where a number is outside the bounds."""
        if isinstance(found, float | int) and not isinstance(found, bool):
            if not math.isfinite(found):
                raise Refused("is not a finite number")
            if (self.low is not None and found < self.low) or (self.high is not None and found > self.high):
                raise Refused(f"is outside {self.allowed}")

    @property
    def advice(self) -> str:
        """What to write instead."""
        return self.hint or (f"write for example {self.like}" if self.like else "")

    def half_width(self, value: float) -> float:
        """Half-width of the likely range about `value`, both in SI; 0 where none is stated."""
        if isinstance(self.band, str):
            return units.parse(self.band, self.kind if self.kind in QUANTITIES else "angle")
        return abs(value) * self.band


def read_quantity(kind: str, value: Any) -> float:
    """SI value of a text with a unit, or of a plain number where the kind has no dimension; raises Refused."""
    dimensionless = kind in ("number", "fraction")
    if isinstance(value, bool) or not isinstance(value, str | int | float):
        raise Refused("is not a number" if dimensionless else "is not a quantity")
    if isinstance(value, str):
        if dimensionless and not value.rstrip().endswith("%"):
            meant = (
                'a share is meant, such as 0.5 or "50 %"'
                if kind == "fraction"
                else "a plain number without quotes is meant"
            )
            raise Refused(f"is a text where {meant}")
        try:
            return units.parse(value, kind)
        except units.UnitError as error:
            raise Refused(str(error)) from None
    if dimensionless:
        return float(value)
    raise Refused(f"has no unit ({units.allowed(kind)})")


def _integer(spec: Spec, value: Any) -> int:
    if isinstance(value, bool) or not isinstance(value, int):
        raise Refused("is not a whole number")
    return value


def _text(spec: Spec, value: Any) -> str:
    if not isinstance(value, str) or not value.strip():
        raise Refused("is not a text")
    return value


def _flag(spec: Spec, value: Any) -> bool:
    if not isinstance(value, bool):
        raise Refused("is neither true nor false")
    return value


def _choice(spec: Spec, value: Any) -> str:
    if value not in spec.choices:
        near = difflib.get_close_matches(str(value), spec.choices, 1)
        raise Refused(f"is not one of {', '.join(spec.choices)}" + (f' (did you mean "{near[0]}"?)' if near else ""))
    return str(value)


SIMPLE: dict[str, Callable[[Spec, Any], Any]] = {"integer": _integer, "text": _text, "flag": _flag, "choice": _choice}


def angle_reader(read: Callable[[str], float]) -> Reader:
    """A reader for angles written with their dead centre, from a function of units.py."""

    def reader(value: Any) -> float:
        if not isinstance(value, str):
            raise Refused("has no unit (deg)")
        try:
            return read(value)
        except units.UnitError as error:
            raise Refused(str(error)) from None

    return reader


# ------------------------------------------------------------------------------------------------ declaring fields


def _si(kind: str, reader: Reader | None, value: Any) -> Any:
    """A bound or default in SI, from a text or a plain number."""
    if not isinstance(value, str):
        return value
    return reader(value) if reader else units.parse(value, kind) if kind in QUANTITIES else value


def _field(
    default: Any, kind: str, meaning: str, low: Any, high: Any, *, alias: str | None = None, **words: Any
) -> Any:
    reader = words.get("reader")
    allowed = "" if low is None and high is None else f"{low} to {high}"
    if isinstance(low, float) and kind == "fraction" and "%" in words.get("like", ""):  # as its example is written
        allowed = f"{100.0 * low:g} % to {100.0 * high:g} %"
    low, high = _si(kind, reader, low), _si(kind, reader, high)
    spec = Spec(kind, meaning, low, high, allowed, **words)
    return Field(_si(kind, reader, default), alias=alias, json_schema_extra={"spec": spec})  # type: ignore[dict-item]


def given(kind: str, meaning: str, low: Any = None, high: Any = None, **words: Any) -> Any:
    """A required input."""
    return _field(..., kind, meaning, low, high, **words)


def filled(kind: str, meaning: str, low: Any = None, high: Any = None, **words: Any) -> Any:
    """A required input that another may stand in for; sim/standins.py fills it then."""
    return _field(math.nan, kind, meaning, low, high, **words)


def option(kind: str, meaning: str, low: Any = None, high: Any = None, **words: Any) -> Any:
    """An input that may be absent; then it is None."""
    return _field(None, kind, meaning, low, high, need="option", **words)


def guess(kind: str, meaning: str, low: Any = None, high: Any = None, *, to: Any = math.nan, **words: Any) -> Any:
    """An input with a stand-in: `to`, or where `to` is left out what sim/standins.py makes by the `rule`."""
    return _field(to, kind, meaning, low, high, need="guess", **_spelled(to, words))


def setting(kind: str, meaning: str, low: Any = None, high: Any = None, *, to: Any, **words: Any) -> Any:
    """A choice or switch whose default is no guess about the hardware."""
    return _field(to, kind, meaning, low, high, need="setting", **_spelled(to, words))


def _spelled(to: Any, words: dict[str, Any]) -> dict[str, Any]:
    """Example and rule of an input whose default is written out."""
    like = f'"{to}"' if isinstance(to, str) else str(to).lower()
    return {"like": like, "rule": str(to).lower() if isinstance(to, bool) else str(to)} | words


class Section(BaseModel):
    """A frozen table of the case, in SI."""

    model_config = ConfigDict(frozen=True, extra="forbid", strict=True)

    @field_validator("*", mode="before")
    @classmethod
    def _read(cls, value: Any, info: ValidationInfo) -> Any:
        spec = specs(cls).get(info.field_name or "")
        if spec is None:
            return tuple(value) if isinstance(value, list) else value
        return spec.read(value)


class Place(NamedTuple):
    """One field of a section: its attribute, its key in the case file, its spec (None where it is a section itself)."""

    attribute: str
    key: str
    spec: Spec | None


@cache
def places(section: type[Section]) -> tuple[Place, ...]:
    """The fields of a section."""
    found = []
    for name, info in section.model_fields.items():
        extra = info.json_schema_extra
        spec = extra["spec"] if isinstance(extra, dict) else None
        found.append(Place(name, info.alias or name, spec))  # type: ignore[arg-type]
    return tuple(found)


@cache
def specs(section: type[Section]) -> dict[str, Spec]:
    """The specs of a section's own inputs by attribute."""
    return {place.attribute: place.spec for place in places(section) if place.spec is not None}


def section_in(annotation: Any) -> tuple[type[Section], bool] | None:
    """The section class inside an annotation, and whether it is a list of them; None where there is none."""
    if isinstance(annotation, type) and issubclass(annotation, Section):
        return annotation, False
    for part in get_args(annotation):
        found = section_in(part)
        if found:
            return found[0], found[1] or getattr(annotation, "__origin__", None) is tuple
    return None


def walk(section: type[Section], prefix: str = "") -> Iterator[tuple[str, Spec]]:
    """Every dotted input name below a section, with its spec; N stands for the number of a table that repeats."""
    for place in places(section):
        name = prefix + place.key
        inner = section_in(section.model_fields[place.attribute].annotation)
        if inner:
            yield from walk(inner[0], f"{name}.N." if inner[1] else f"{name}.")
        elif place.spec is not None:
            yield name, place.spec
