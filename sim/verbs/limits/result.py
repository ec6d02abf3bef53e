"""What `limits` gives: margins at the point, how far each thing goes alone and together, the region over boost and spark."""

from dataclasses import dataclass, field, fields
from typing import Any

from .points import Points


@dataclass(frozen=True)
class LimitsResult:
    """Limits about one case; in SI, the ending of a name is its unit. An edge is no target: backed-off values stand beside it."""

    title: str
    speed_rpm: float
    boost_pa: float | None
    spark_advance_deg: float
    lambda_ratio: float
    power_w: float
    inside: bool
    margins: list[dict[str, Any]]  # as in a prediction, with allowance, clear (margin less allowance) and share
    alone: list[dict[str, Any]]  # a row for each thing turned and each way
    together: list[dict[str, Any]]  # a row for each mixture: the highest boost inside every limit, and backed off
    region: list[dict[str, Any]]  # a row for each boost: latest and earliest spark inside every limit
    region_backed_off: list[dict[str, Any]]
    points_solved: int
    knock: list[str]  # a sentence where the point has no knock limit
    warnings: list[str]
    points: Points = field(repr=False, compare=False)

    def to_dict(self) -> dict[str, Any]:
        """The same as a plain dict, equal to the JSON output."""
        return {f.name: getattr(self, f.name) for f in fields(self) if f.name != "points"}
