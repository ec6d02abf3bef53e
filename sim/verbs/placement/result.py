"""What `placement` gives."""

from dataclasses import dataclass, fields
from typing import Any


@dataclass(frozen=True)
class PlacementResult:
    """Placements ranked, and what goes with them; in SI, the ending of a name is its unit.

    `ranking` runs from the least chance of a miss: places, chance and its error (sampling and surface), the same for the gas
    without probe errors, mean and 95 % quantile of what is missed, `ties` with the first, and `left`: the share of each
    cylinder's uncertainty that stays after one steady row of a log. `by_geometry` is what the engine does to alike-fed
    cylinders; `check` compares the surface with predictions of all cylinders drawn at once.
    """

    title: str
    speed_rpm: float
    boost_pa: float | None
    probes: int
    above_k: float
    spreads: dict[str, float]
    seed: int
    samples: int
    places: list[dict[str, Any]]
    by_geometry: dict[str, Any]
    ranking: list[dict[str, Any]]
    recommended: int  # row of the ranking
    taps: list[dict[str, Any]]
    shared: dict[str, Any]
    pressure_gauge: dict[str, Any]
    display: dict[str, Any]
    swaps: dict[str, Any] | None
    check: dict[str, float]
    points_solved: int
    guesses: list[str]
    sentences: list[str]

    def to_dict(self) -> dict[str, Any]:
        """The same as a plain dict, equal to the JSON output."""
        return {f.name: getattr(self, f.name) for f in fields(self)}
