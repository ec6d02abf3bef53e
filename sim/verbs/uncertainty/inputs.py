"""The uncertain inputs of a case: those with a stated band, and how they spread."""

from collections.abc import Mapping
from typing import Any, NamedTuple

from ...case import Case
from ...errors import CaseError, Refused
from ...schema import Spec
from ...sections import SPECS

NORMAL_90 = 1.6449  # a band is read as the middle 90 % of a normal distribution
CUT = 2.5  # standard deviations at which it is cut
ELSEWHERE = ("limits", "flange", "boss", "report", "log", "pull", "vehicle", "spool")  # sections no reading depends on


class Uncertain(NamedTuple):
    """One uncertain input."""

    name: str
    meaning: str
    value: float  # [SI]
    half_width: float  # of its likely range
    low: float
    high: float
    stand_in: bool  # whether the case leaves it to a stand-in

    def distribution(self) -> Any:
        """Normal, cut at its bounds and at some deviations."""
        from scipy.stats import truncnorm

        sigma = self.half_width / NORMAL_90
        low, high = (max((self.low - self.value) / sigma, -CUT), min((self.high - self.value) / sigma, CUT))
        return truncnorm(low, high, loc=self.value, scale=sigma)


def uncertain(case: Case, stated: Mapping[str, str]) -> list[Uncertain]:
    """Every number of the case with a band, `stated` half-widths first; raises CaseError for one that is no input."""
    wanted = {name: _stated(case, name, text) for name, text in stated.items()}
    found = []
    for name, spec, value in _numbers(case):
        half = wanted.pop(name, None)
        half = spec.half_width(value) if half is None else half
        if half > 0.0:
            low = spec.low if spec.low is not None else value - 1e3 * half
            high = spec.high if spec.high is not None else value + 1e3 * half
            found.append(Uncertain(name, spec.meaning, value, half, low, high, name in case.guesses))
    if wanted:
        name = next(iter(wanted))
        raise CaseError(
            f"--band {name} is no number of this case; write an input that the case gives or a stand-in holds."
        )
    return found


def _numbers(case: Case) -> Any:
    """Dotted name, spec and value of every number that the case gives or leaves to a stand-in; what follows is left out."""
    for name in SPECS:
        section = name.split(".")[0]
        if section in ELSEWHERE:
            continue
        names = [name]
        if ".N." in name:
            kept = getattr(case, section)
            names = [name.replace(".N.", f".{getattr(item, 'number', k)}.") for k, item in enumerate(kept, 1)]
        for one in names:
            value = _value(case, one)
            if value is not None and one not in case.unread and (one in case.guesses or _written(case.raw, one)):
                yield one, SPECS[name], value


def _written(raw: Any, name: str) -> bool:
    """Whether the case file holds a value under a dotted name."""
    for part in name.split("."):
        if isinstance(raw, list):
            found = [i for k, i in enumerate(raw, 1) if str(i.get("number", k)) == part]
            raw = found[0] if found else None
        elif isinstance(raw, Mapping):
            raw = raw.get(part)
        if raw is None:
            return False
    return True


def _value(case: Case, name: str) -> float | None:
    value = case.get(name)
    if isinstance(value, bool) or not isinstance(value, float | int) or value != value:
        return None
    return float(value)


def _stated(case: Case, name: str, text: str) -> float:
    general = ".".join("N" if part.isdigit() else part for part in name.split("."))
    spec: Spec | None = SPECS.get(general)
    if spec is None or name.split(".")[0] in ELSEWHERE:
        raise CaseError(f"--band {name} is no input a reading depends on; hotside explain lists the inputs.")
    from ...units import UnitError, parse, split

    try:
        if text.strip().endswith("%"):
            value = _value(case, name)
            number = parse(text, "fraction")
            half = number if spec.kind == "fraction" else abs(value or 0.0) * number
        elif spec.kind == "temperature":
            number, unit = split(text)
            half = number / 1.8 if unit in ("degF", "°F", "F") else number
        elif spec.kind in ("number", "fraction"):
            half = parse(text, "number")
        else:
            kind = {
                "pressure_gauge": "pressure",
                "pressure_absolute": "pressure",
                "event": "angle",
                "spark": "angle",
                "after_tdc": "angle",
            }
            half = parse(text, kind.get(spec.kind, spec.kind))
    except (UnitError, Refused, KeyError) as error:
        raise CaseError(
            f'--band {name}="{text}" {error}; write a half-width such as "5 %" or one with its unit.'
        ) from None
    if not half > 0.0:
        raise CaseError(f'--band {name}="{text}" is not above 0.')
    return half
