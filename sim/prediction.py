"""What one operating point gives: every result name, as an attribute and as a dict."""

from dataclasses import dataclass, field, fields
from typing import Any


@dataclass(frozen=True)
class Prediction:
    """Results of one operating point in SI; names, units and meanings stand in `names.RESULTS`."""

    speed_rpm: float
    boost_pa: float | None
    intake_pressure_pa: float
    intake_temperature_k: float
    pre_turbine_pressure_pa: float
    backpressure_pa: float
    backpressure_ratio: float | None
    backpressure_turbine_pa: float | None
    backpressure_wastegate_pa: float | None
    backpressure_pipe_pa: float | None
    pressure_ratio_exhaust_intake: float
    pressure_ratio_turbine: float | None
    lambda_ratio: float
    afr: float | None
    spark_advance_deg: float | None
    ca10_deg: float | None
    ca50_deg: float | None
    ca90_deg: float | None
    air_flow_kg_s: float
    fuel_flow_kg_s: float
    exhaust_flow_kg_s: float
    volumetric_efficiency: float
    residual_fraction: float
    exhaust_temperature_k: float
    exhaust_temperature_time_mean_k: float
    turbine_inlet_temperature_k: float | None
    turbine_outlet_temperature_k: float | None
    probes: list[dict[str, Any]]
    pressure_tap: dict[str, Any] | None
    parts: list[dict[str, Any]]
    imep_gross_pa: float
    imep_net_pa: float
    pmep_pa: float
    fmep_pa: float
    bmep_pa: float
    torque_nm: float
    power_w: float
    bsfc_kg_j: float | None
    peak_pressure_pa: float
    peak_pressure_deg: float
    unburned_temperature_max_k: float
    knock_integral: float
    knock_onset_deg: float | None
    octane_required: float
    knock_margin_deg: float | None
    knock_limited_spark_deg: float | None
    knock_limited_spark_short_delay_deg: float | None
    knock_margin_bad_cycle_deg: float | None
    octane_required_bad_cycle: float | None
    peak_pressure_bad_cycle_pa: float | None
    exhaust_valve_lifting_force_n: float
    intake_valve_lifting_force_n: float
    turbine_efficiency: float | None
    compressor_efficiency: float | None
    compressor_pressure_ratio: float | None
    surge_margin_fraction: float | None
    choke_margin_fraction: float | None
    shaft_speed_rad_s: float | None
    wastegate_opening: float | None
    boost_reached: bool | None
    turbine_choked: bool | None
    turbine_choked_share: float | None
    margins: list[dict[str, Any]]
    cylinders: list[dict[str, Any]]
    mass_closure: float
    energy_closure: float
    energy_unburned: float
    wall_heat_fraction: float
    exhaust_heat_fraction: float
    cycles: int
    converged: bool
    status: str
    warnings: list[str]
    models: dict[str, str]
    water_flow_kg_s: float | None = None
    alcohol_flow_kg_s: float | None = None
    water_evaporated_fraction: float | None = None
    wet_intake_temperature_k: float | None = None
    lambda_of_tank: float | None = None
    spray_band: list[dict[str, Any]] | None = None  # by `hotside predict` alone: two more points
    nitric_oxide_ppm: float | None = None
    nitric_oxide_kg_j: float | None = None
    trace: dict[str, list[float]] | None = field(default=None, repr=False)

    def to_dict(self) -> dict[str, Any]:
        """The same as a plain dict, equal to the JSON output; the crank record is left out."""
        return {f.name: getattr(self, f.name) for f in fields(self) if f.name != "trace"}

    def _repr_html_(self) -> str:
        """The readings as tables, for a notebook."""
        from .notebook import prediction_html

        return prediction_html(self.to_dict())
