"""What `burn` gives."""

from dataclasses import dataclass, fields
from typing import Any


@dataclass(frozen=True)
class BurnResult:
    """The burn of a measured cylinder pressure; in SI, the ending of a name is its unit, angles after firing top dead centre.

    Lists are equally long, one entry for each crank angle from where the burn begins: pressure_pa is the mean cycle, pegged and
    smoothed; burned_fraction_raw is what the pressure asks for as a share of what can burn, burned_fraction the same made to rise
    from 0; burn_rate_per_deg is its slope; heat_release_j_per_deg the heat of that burn at 300 K and constant volume;
    wall_heat_j_per_deg what the walls take. ca10_deg, ca50_deg and ca90_deg are of what burns in the end.
    """

    title: str
    speed_rpm: float
    cylinder: int
    cycles: int
    rows_left_out: int
    begins_deg: float
    smooth_deg: float
    phase_deg: float
    peg_applied_pa: float
    peg_asked_pa: float | None
    pressure_over_case: float | None  # before the burn, mean [-]
    trapped_mass_kg: float
    heat_in_charge_j: float
    crank_angle_deg: list[float]
    pressure_pa: list[float]
    burned_fraction: list[float]
    burned_fraction_raw: list[float]
    burn_rate_per_deg: list[float]
    heat_release_j_per_deg: list[float]
    wall_heat_j_per_deg: list[float]
    unburned_temperature_k: list[float]
    burned_temperature_k: list[float]
    ca10_deg: float
    ca50_deg: float
    ca90_deg: float
    burned_at_end: float  # raw [-]
    work_j: float  # of the trace, from inlet closing or its first angle to exhaust opening or its last
    back_pressure_rms_pa: float  # of the table fed back, against the trace
    back_work_ratio: float  # work of the table fed back over that of the trace, from the burn's begin on [-]
    back_peak_pressure_pa: float
    peak_pressure_pa: float
    ca50_spread_deg: float | None  # standard deviation from cycle to cycle
    peak_pressure_spread_pa: float | None
    passes: int  # inversions until the trapped charge stood still
    warnings: list[str]

    def to_dict(self) -> dict[str, Any]:
        """The same as a plain dict, equal to the JSON output."""
        return {f.name: getattr(self, f.name) for f in fields(self)}

    def columns(self) -> dict[str, list[float]]:
        """The equally long lists, as `--write` writes them; a case reads crank angle and burned fraction back."""
        return {k: v for k, v in self.to_dict().items() if isinstance(v, list) and k != "warnings"}

    def table(self) -> list[list[Any]]:
        """Crank angle and burned fraction as a case writes them under burn.table."""
        return [[f"{a!r} deg", x] for a, x in zip(self.crank_angle_deg, self.burned_fraction, strict=True)]
