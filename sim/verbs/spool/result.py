"""What a tip-in gives."""

from dataclasses import dataclass, fields
from typing import Any

import numpy as np


@dataclass(frozen=True)
class SpoolResult:
    """Boost against time after a tip-in, in SI; lists run along `time_s`."""

    title: str
    speed_rpm: float
    in_gear: bool
    target_boost_pa: float | None  # asked for; none where a wastegate of its own mind decides
    steady_boost_pa: float  # what the speed gives when all has settled
    time_to_90_s: float | None  # to 90 % of the steady boost; none where the march ended before it
    threshold_rpm: float | None  # lowest speed whose steady boost is 90 % of the target
    shaft_cruise_rad_s: float
    energy_error: float  # shaft energy gained less turbine, compressor and bearing work, over the gain
    surge_time_s: float  # time the compressor spent short of its surge line
    time_s: list[float]
    boost_pa: list[float]
    shaft_speed_rad_s: list[float]
    engine_speed_rpm: list[float]
    backpressure_pa: list[float]
    torque_nm: list[float]
    compressor_flow_kg_s: list[float]
    engine_flow_kg_s: list[float]
    notes: list[str]
    warnings: list[str]
    time_band_s: list[float | None] | None = (
        None  # by `hotside spool` alone, of a housing with two entries: two more tip-ins
    )

    def time_to(self, boost: float) -> float | None:
        """Time at which a boost is first there [s], linear between steps; None where it is not reached."""
        there = np.flatnonzero(np.array(self.boost_pa) >= boost * (1.0 - 1e-9))
        if not len(there):
            return None
        part = slice(max(int(there[0]) - 1, 0), int(there[0]) + 1)
        return float(np.interp(boost, self.boost_pa[part], self.time_s[part]))

    def boost_timed(self) -> float | None:
        """The boost at 90 % of what it comes to [Pa]; None where it does not get there."""
        return None if self.time_to_90_s is None else float(np.interp(self.time_to_90_s, self.time_s, self.boost_pa))

    def to_dict(self) -> dict[str, Any]:
        """The same as a plain dict, equal to the JSON output."""
        return {f.name: getattr(self, f.name) for f in fields(self)}
