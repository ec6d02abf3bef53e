"""Small words that sentences of a diagnosis share."""

import math
from collections.abc import Iterator, Mapping
from typing import Any

Row = Mapping[str, Any]
SURE = 0.95  # chance from which a departure is said to be one
Said = Iterator[tuple[str, str, float | None]]


def percent(value: float) -> str:
    """A share as a person reads it."""
    return f"{100.0 * value:.1f} %" if abs(value) < 0.0995 else f"{100.0 * value:.0f} %"


def chance(row: Row, about: float) -> float:
    """Chance that an unknown lies on the side of `about` on which it was found; never above that of its prior's middle."""
    return min(float(row["chance"]), _side(row, about))


def _side(row: Row, about: float) -> float:
    """The same with every gauge sound."""
    distance = abs(row["value"] - about) / max(row["standard_deviation"], 1e-30)
    return 0.5 * (1.0 + math.erf(distance / math.sqrt(2.0)))


def departs(row: Row) -> bool:
    """Whether an unknown is said to be off what was assumed, every gauge taken to be sound."""
    return row["decided_by"] != "prior" and _side(row, row["prior"]) >= SURE


def band(row: Row, about: float = 1.0) -> str:
    """The 90 % interval of a factor as per cent of departure."""
    return f"90 %: {100.0 * (row['low'] - about):+.1f} to {100.0 * (row['high'] - about):+.1f} %"


def listed(words: list[str], last: str = "and") -> str:
    """Words one after the other."""
    return words[0] if len(words) == 1 else ", ".join(words[:-1]) + f" {last} " + words[-1]
