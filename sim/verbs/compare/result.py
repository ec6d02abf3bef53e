"""What a comparison gives."""

from dataclasses import asdict, dataclass
from typing import Any

from .admission import Admission
from .response import TipIn
from .runaway import Runaway
from .torque import EqualTorque

BETTER = {  # result -> which way is better; 0 where it depends
    "boost_pa": 1, "power_w": 1, "torque_nm": 1, "backpressure_ratio": -1, "pressure_ratio_exhaust_intake": -1,
    "exhaust_temperature_k": -1, "turbine_inlet_temperature_k": -1, "residual_fraction": -1, "knock_margin_deg": 1,
    "turbine_choked_share": -1, "wastegate_opening": 0, "turbine_efficiency": 1, "compressor_efficiency": 1,
    "surge_margin_fraction": 1, "choke_margin_fraction": 1, "shaft_speed_rad_s": -1, "time_to_90_s": -1,
    "threshold_rpm": -1,
}  # fmt: skip
ALONG = (
    "boost_pa", "power_w", "backpressure_ratio", "exhaust_temperature_k", "residual_fraction", "knock_margin_deg",
)  # fmt: skip


@dataclass(frozen=True)
class CompareResult:
    """Rivals at one point and along full-load speed, in SI."""

    title: str
    speed_rpm: float
    names: list[str]
    point: dict[str, list[float | None]]  # result -> its value for each rival
    better: dict[str, str | None]  # result -> name of the better; none where it is a draw or depends
    speeds_rpm: list[float]
    along: dict[str, list[list[float | None]]]  # result -> for each rival, its values along the speeds
    cylinders: list[list[float]]  # residual of each cylinder, for each rival
    collectors: list[int]  # of each rival: 2 in a divided manifold
    equal_torque: EqualTorque | None  # where each gives the torque of the first; none where that gives none
    runaway: list[Runaway] | None
    tip_in: TipIn | None  # what the tip-ins have in common; none where they were not marched
    admission: list[Admission]  # of rivals with two entries whose loss is a guess
    trade: str  # in metric units
    warnings: list[str]

    def to_dict(self) -> dict[str, Any]:
        """The same as a plain dict, equal to the JSON output."""
        plain = dict(self.__dict__)
        plain["equal_torque"] = None if self.equal_torque is None else self.equal_torque.to_dict()
        plain["tip_in"] = None if self.tip_in is None else asdict(self.tip_in)
        plain["admission"] = [a.to_dict() for a in self.admission]
        plain["runaway"] = None if self.runaway is None else [r.to_dict() for r in self.runaway]
        return plain
