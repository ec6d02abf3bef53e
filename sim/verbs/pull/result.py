"""What `pull` gives."""

from dataclasses import dataclass, fields
from typing import Any


@dataclass(frozen=True)
class PullResult:
    """Every needle through a pull; in SI, the ending of a name is its unit. Lists run over the reported speeds.

    `probes` holds a dict for each probe of the case: where it stands, its ceiling, the value at which to lift and the
    same backed off, and lists of gas, settled and shown temperatures. `walls` holds each wall's start, end and what it
    would settle at. `points` are the speeds at which the engine was solved.
    """

    title: str
    by: str
    wall: str
    begins_rpm: float
    ends_rpm: float
    duration_s: float
    cruise_reading_k: float
    time_s: list[float]
    speed_rpm: list[float]
    road_speed_m_s: list[float] | None
    boost_pa: list[float]
    backpressure_pa: list[float]
    tap_settled_pa: list[float] | None
    tap_needle_pa: list[float] | None
    torque_nm: list[float]
    power_w: list[float]
    knock_margin_deg: list[float | None]
    probes: list[dict[str, Any]]
    walls: list[dict[str, Any]]
    points: list[dict[str, Any]]
    guesses: list[str]
    warnings: list[str]
    models: dict[str, str]

    def to_dict(self) -> dict[str, Any]:
        """The same as a plain dict, equal to the JSON output."""
        return {f.name: getattr(self, f.name) for f in fields(self)}

    def columns(self) -> dict[str, list[float]]:
        """The lists as columns of a table, those of the probes under probe_1_..., for a CSV file; what is unknown is left out."""
        names = (
            "time_s", "speed_rpm", "road_speed_m_s", "boost_pa", "backpressure_pa", "tap_settled_pa", "tap_needle_pa", "torque_nm",
            "power_w", "knock_margin_deg",
        )  # fmt: skip
        found = {name: getattr(self, name) for name in names if getattr(self, name) is not None}
        for number, probe in enumerate(self.probes, 1):
            found |= {f"probe_{number}_{name}": column for name, column in probe.items() if isinstance(column, list)}
        return {name: column for name, column in found.items() if None not in column}
