"""What a curve over engine speed gives."""

from dataclasses import dataclass, fields
from typing import Any

# Results of a prediction that the CSV carries, a column each.
COLUMNS = (
    "power_w", "torque_nm", "boost_pa", "boost_reached", "air_flow_kg_s", "volumetric_efficiency", "backpressure_pa",
    "backpressure_ratio", "backpressure_turbine_pa", "backpressure_wastegate_pa", "backpressure_pipe_pa",
    "exhaust_temperature_k", "turbine_inlet_temperature_k", "residual_fraction", "bsfc_kg_j", "peak_pressure_pa", "ca50_deg",
    "octane_required", "knock_margin_deg", "knock_margin_bad_cycle_deg", "shaft_speed_rad_s", "wastegate_opening", "converged",
)  # fmt: skip


@dataclass(frozen=True)
class CurveResult:
    """One case at several engine speeds; in SI, the ending of a name is its unit. Lists run along the speeds.

    A speed without a physical answer has None in `points`, and its sentence in `lost`.
    """

    title: str
    speeds_rpm: list[float]
    points: list[dict[str, Any] | None]  # each the whole prediction at that speed, equal to its own `predict`
    wheel_power_w: list[float | None]
    wheel_torque_nm: list[float | None]  # at the crank's speed: power at the wheels over crank speed
    driveline_efficiency: float
    driveline_stated: bool  # False where the efficiency is a stand-in
    correction_factor: float  # of ISO 1585 for this air [-]
    correction_applies: list[bool]
    corrected_power_w: list[float | None]  # None where the standard does not apply
    correction_note: str
    margins: list[dict[str, Any]]  # a row for each limit: where it is nearest, and the first speed past it
    lost: list[dict[str, Any]]  # speed_rpm, reason
    warnings: list[str]
    freer_pipe: list[dict[str, Any]] | None = None  # the same speeds with no loss after the turbine, where asked for

    def to_dict(self) -> dict[str, Any]:
        """The same as a plain dict, equal to the JSON output."""
        return {f.name: getattr(self, f.name) for f in fields(self)}

    def columns(self) -> dict[str, list[Any]]:
        """Columns of the CSV, one row for each speed; NaN where there is no answer."""
        nan = float("nan")
        found: dict[str, list[Any]] = {"speed_rpm": list(self.speeds_rpm)}
        for name in COLUMNS:
            found[name] = [nan if p is None or p[name] is None else p[name] for p in self.points]
        for name in ("wheel_power_w", "wheel_torque_nm", "corrected_power_w"):
            found[name] = [nan if v is None else v for v in getattr(self, name)]
        for name in sorted({m["name"] for m in self.margins}):
            found[f"margin_{name}"] = [_margin(p, name) for p in self.points]
        return found


def _margin(point: dict[str, Any] | None, name: str) -> float:
    rows = [] if point is None else [m["margin"] for m in point["margins"] if m["name"] == name]
    return float(rows[0]) if rows else float("nan")
