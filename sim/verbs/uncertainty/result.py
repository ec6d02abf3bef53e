"""What `uncertainty` gives."""

from dataclasses import dataclass, field, fields
from typing import Any


@dataclass(frozen=True)
class UncertaintyResult:
    """Bands (5, 50, 95 %) of every reading and sensitivities to the inputs that matter; in SI.

    `data` holds the sample: name of each input and reading -> array over the points.
    """

    title: str
    inputs: list[dict[str, Any]]
    readings: list[dict[str, Any]]
    sensitivities: list[dict[str, Any]]
    limits_exceeded: list[dict[str, Any]]
    samples: int
    samples_solved: int
    base_sample: int
    points_without_answer: int
    data: dict[str, Any] = field(repr=False, compare=False)

    def to_dict(self) -> dict[str, Any]:
        """The same as a plain dict, equal to the JSON output; the sample is left out."""
        return {f.name: getattr(self, f.name) for f in fields(self) if f.name != "data"}

    def drivers(self, reading: str) -> list[dict[str, Any]]:
        """Sensitivities of one reading, the greatest total first."""
        return sorted((s for s in self.sensitivities if s["reading"] == reading), key=lambda s: -s["total"])
