"""What `plan` gives: the pulls, their gauges, and the lines that repeat each of them with `predict`."""

from dataclasses import dataclass, fields
from typing import Any


@dataclass(frozen=True)
class PlanResult:
    """The step-up card of one case; in SI, the ending of a name is its unit."""

    title: str
    speed_rpm: float
    asked: dict[str, Any]
    target: dict[str, Any]
    moved: str | None  # why the card does not end where the case asks
    pulls: list[dict[str, Any]]
    limits: list[dict[str, Any]]  # every limit with its least room over the pulls
    fuel_pressure_guessed: bool
    has_tap: bool
    guesses: int
    knock: list[str]  # a sentence where pulls have no knock limit
    warnings: list[str]
    points_solved: int

    def to_dict(self) -> dict[str, Any]:
        """The same as a plain dict, equal to the JSON output."""
        return {f.name: getattr(self, f.name) for f in fields(self)}
