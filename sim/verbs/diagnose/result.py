"""What `diagnose` gives for a log."""

from dataclasses import dataclass, field, fields, replace
from typing import Any

from ...case import Case


@dataclass(frozen=True)
class Diagnosis:
    """A fit to a log: estimates with 90 % intervals, what they mean, what does not fit. In SI."""

    title: str
    log: str
    rows: int
    rows_used: int
    points: int
    points_steady: int
    points_wastegate_known: int
    points_without_answer: list[str]
    columns: list[dict[str, str]]
    columns_ignored: list[str]
    reading_notes: list[str]
    estimates: list[dict[str, Any]]
    correlations: list[dict[str, Any]]
    extra_readings: dict[str, dict[str, Any] | None]
    channels: list[dict[str, Any]]
    cylinders: list[dict[str, Any]]
    cylinders_odds: float | None
    cylinders_named_from: dict[str, float]
    let_go: list[dict[str, Any]]
    rivals: list[dict[str, Any]]
    suspects: list[dict[str, Any]]
    doubted: bool
    sum_of_squares: float
    freedom: int
    misfit_probability: float
    interval_widening: float
    converged: bool
    evaluations: int
    seconds: float
    comparison: list[dict[str, Any]]
    sentences: list[dict[str, str]]
    case: Case = field(repr=False, compare=False)

    def to_dict(self) -> dict[str, Any]:
        """The same as a plain dict, equal to the JSON output."""
        return {f.name: getattr(self, f.name) for f in fields(self) if f.name != "case"}

    def saying(self, sentences: list[dict[str, str]]) -> "Diagnosis":
        """The same with its sentences."""
        return replace(self, sentences=sentences)

    def estimate(self, name: str) -> dict[str, Any] | None:
        """The row of one unknown."""
        return next((row for row in self.estimates if row["name"] == name), None)
