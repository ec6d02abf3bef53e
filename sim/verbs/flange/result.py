"""What `flange` gives, and the joint behind it that tables and the picture are drawn from."""

from dataclasses import dataclass, field, fields
from typing import Any

from ...case import Case
from ...sections_flange import Flange, Washers
from . import joint as jointing
from .heat import Heat
from .joint import Built, Path, Temperatures
from .torque import Tightening

PLAIN, SPRUNG = "plain", "conical washers"  # arrangements
FRICTIONS = ("lowest", "usual", "highest")  # preloads that one torque may leave, by the friction's scatter


@dataclass(frozen=True)
class Check:
    """A joint at its temperatures, both ways: without and with conical washers."""

    case: Case
    flange: Flange
    heat: Heat
    cold: Temperatures
    hot: Temperatures
    state: Tightening
    washers: dict[str, Washers | None]  # by arrangement
    built: dict[str, Built]  # by arrangement
    fitted: str  # the arrangement of the case
    torque: float  # [Nm]
    preload: dict[str, float]  # of one stud, by friction [N]
    gas: float  # parting force of the gas [N]
    wanted: float  # clamp wanted on the whole flange [N]

    def path(self, arrangement: str, friction: str = "usual", points: int = 25) -> Path:
        """Stud force against wall temperature, warming and cooling."""
        washers, preload = self.washers[arrangement], self.preload[friction]
        return jointing.path(self.flange, self.cold, self.hot, washers, preload, points)


@dataclass(frozen=True)
class FlangeResult:
    """What becomes of the clamp; in SI, the ending of a name is its unit. Torques and preloads are of one stud."""

    title: str
    place: int | str
    cold_temperature_k: float
    wall_temperature_k: float
    wall_source: str
    flange_temperature_k: float
    stud_temperature_k: float
    gas_pressure_peak_pa: float
    gas_pressure_mean_pa: float | None
    pressure_source: str
    gas_force_n: float
    clamp_wanted_n: float
    lubrication: str
    nut_factor: float
    scatter: float
    tightening_torque_nm: float
    tightening_torque_lowest_nm: float | None
    tightening_torque_proposed_nm: float
    tightening_torque_highest_nm: float
    tightening_torque_elastic_hot_nm: float | None
    tightening_torque_formula_nm: list[float]
    wrench_setting_nm: float | None
    turn_deg: float
    preload_lowest_n: float
    preload_usual_n: float
    preload_highest_n: float
    stud_yield_tightening_n: float
    stud_yield_hot_n: float
    fitted: str
    joints: list[dict[str, Any]]
    clamps: list[dict[str, Any]]
    clamp_left_hot_n: float
    clamp_left_cold_again_n: float
    surfaces: list[dict[str, Any]]
    margins: list[dict[str, Any]]
    least_margin: str
    boss: dict[str, Any] | None
    guesses: list[str]
    warnings: list[str]
    models: dict[str, str]
    check: Check = field(repr=False, compare=False)

    def to_dict(self) -> dict[str, Any]:
        """The same as a plain dict, equal to the JSON output."""
        return {f.name: getattr(self, f.name) for f in fields(self) if f.name != "check"}
