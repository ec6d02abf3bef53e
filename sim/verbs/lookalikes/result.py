"""What `lookalikes` gives: the settings with the same probe reading, and the map they were found on."""

from dataclasses import dataclass, fields
from typing import Any


@dataclass(frozen=True)
class LookalikesResult:
    """Settings that one probe cannot tell apart, boost held; in SI, the ending of a name is its unit."""

    title: str
    speed_rpm: float
    boost_pa: float | None
    spark_advance_deg: float
    lambda_ratio: float
    probe: int  # number of the [[probe]]
    place: str
    reading_k: float
    tolerance_k: float  # of the thermocouple's class
    kelvin_per_lambda: float
    kelvin_per_degree: float
    alike: list[dict[str, Any]]  # by rising lambda: the spark that gives the same reading
    same_spark: list[dict[str, Any]]  # other mixtures that give it with the spark unchanged
    map: dict[str, Any]  # lambda_ratio, spark_advance_deg, and reading_k and knock_margin_deg as rows of equal lambda
    sentences: list[str]
    points_solved: int

    def to_dict(self) -> dict[str, Any]:
        """The same as a plain dict, equal to the JSON output."""
        return {f.name: getattr(self, f.name) for f in fields(self)}
