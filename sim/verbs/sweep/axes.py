"""What a user varies: one input and its values, written as a range, a list, or numbers with a unit."""

import re
from collections.abc import Iterable
from decimal import Decimal
from typing import Any, NamedTuple

from ...dotted import name_spec
from ...errors import CaseError, Refused
from ...options import toml_value
from ...schema import Spec
from ...sentences import written

NUMBER = r"[+-]?(?:\d+(?:\.\d*)?|\.\d+)(?:[eE][+-]?\d+)?"
RANGE = re.compile(rf"\s*({NUMBER})\s*:\s*({NUMBER})\s*(?::\s*({NUMBER})\s*)?(.*?)\s*", re.DOTALL)
MOST = 100_000  # values of one input


class Axis(NamedTuple):
    """One varied input: its name and its values as a case file would write them, in order."""

    name: str
    values: tuple[Any, ...]

    @property
    def spec(self) -> Spec:
        """What is known about the input."""
        return name_spec(self.name)

    def in_si(self) -> list[float] | list[int] | list[str]:
        """The values in SI where they are numbers (true is 1), else as they were written."""
        read = [self.spec.read(value) for value in self.values]
        if all(isinstance(x, int) for x in read):
            return [int(x) for x in read]
        if all(isinstance(x, int | float) for x in read):
            return [float(x) for x in read]
        return [value if isinstance(value, str) else written(value) for value in self.values]


class Range(NamedTuple):
    """A stretch of values of one input, to be sampled."""

    name: str
    low: float
    high: float
    unit: str

    def at(self, share: float) -> Any:
        """The value at a share of the way, written as in a case file."""
        value = self.low + share * (self.high - self.low)
        if name_spec(self.name).kind == "integer":
            return round(value)
        return f"{value:.10g} {self.unit}" if self.unit else float(f"{value:.10g}")


def axis(name: str, given: Any) -> Axis:
    """The axis of one input; raises CaseError for an unknown name, a value that is refused, none, or one given twice.

    given : a range "0:30:1 deg" with both ends in it, a text of values parted by commas (a unit with each, or with the last for
        all), a list of values as in a case file, or (numbers, unit)
    """
    name_spec(name)
    values = tuple(_values(name, given))
    if not values:
        raise CaseError(f"{name} is varied over no value; write at least one.")
    return checked(Axis(name, values))


def checked(found: Axis) -> Axis:
    """The axis itself; raises CaseError for a value that is refused."""
    for value in found.values:
        check(found.name, value)
    return found


def check(name: str, value: Any) -> None:
    """Raise CaseError where the value by itself is no value of the input."""
    spec = name_spec(name)
    try:
        spec.read(value)
    except Refused as refused:
        advice = f"; {spec.advice}." if spec.advice else "."
        raise CaseError(f"{name} = {written(value)} {refused}{advice}") from None


def stretch(name: str, given: Any) -> Range | None:
    """The range of an input written "low:high unit", checked at both ends; None where it is written otherwise."""
    match = RANGE.fullmatch(given) if isinstance(given, str) else None
    if match is None or match[3] is not None:
        return None
    found = Range(name, float(match[1]), float(match[2]), match[4])
    for share in (0.0, 1.0):
        check(name, found.at(share))
    return found


def _values(name: str, given: Any) -> Iterable[Any]:
    if isinstance(given, str):
        match = RANGE.fullmatch(given)
        if match is not None:
            return _steps(name, match)
        found = toml_value(given)
        if isinstance(found, list):
            return found
        return _listed([part.strip() for part in given.split(",") if part.strip()])
    if isinstance(given, tuple) and len(given) == 2 and isinstance(given[1], str) and not isinstance(given[0], str):
        return [f"{float(x)!r} {given[1]}" for x in _plain(name, given[0])]
    return _plain(name, given)


def _listed(parts: list[str]) -> list[Any]:
    """The values of a list; where only the last bears a unit it is the unit of all, as in "0.5, 0.6 bar"."""
    bare = [re.fullmatch(NUMBER, part) is not None for part in parts]
    last = re.fullmatch(rf"{NUMBER}\s*(.+)", parts[-1]) if parts else None
    if last is not None and all(bare[:-1]) and not bare[-1]:
        parts = [*(f"{part} {last[1]}" for part in parts[:-1]), parts[-1]]
    return [toml_value(part) for part in parts]


def _plain(name: str, given: Any) -> list[Any]:
    """A list of Python's own values from any sequence or array."""
    if isinstance(given, dict) or not isinstance(given, Iterable):
        given = [given]
    found = [x.item() if hasattr(x, "item") else x for x in given]
    if len(found) > MOST:
        raise CaseError(f"{name} is varied over {len(found)} values; {MOST} are the most.")
    return found


def _steps(name: str, match: re.Match[str]) -> list[Any]:
    """The values of start:end:step, reckoned in decimals so that 0.1 stays 0.1."""
    start, end = Decimal(match[1]), Decimal(match[2])
    like = f"{match[1]}:{match[2]}:STEP {match[4]}".strip()
    if match[3] is None:
        raise CaseError(f'{name}: a range needs a step, or it is a stretch to be sampled; write "{like}".')
    step = Decimal(match[3])
    if step == 0 or (end - start) * step < 0:
        raise CaseError(f'{name}: a step of {match[3]} does not lead from {match[1]} to {match[2]}; write "{like}".')
    count = int((end - start) / step) + 1
    if count > MOST:
        raise CaseError(f"{name} is varied over {count} values; {MOST} are the most.")
    numbers = [start + i * step for i in range(count)]
    if match[4]:
        return [f"{x:f} {match[4]}" for x in numbers]
    whole = name_spec(name).kind == "integer"
    return [int(x) if whole and x == int(x) else float(x) for x in numbers]
