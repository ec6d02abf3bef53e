"""Water sprayed into the charge: what it brings with it, and what the intake manifold can hold of it as vapour.

Alcohol in it is spray.py's.
"""

import math
from functools import cache
from typing import TYPE_CHECKING

from ..models import fuels
from . import spray, surroundings
from .case import Case
from .records import IN_PHI
from .sections_injection import Injection
from .spray import COLDEST, HOTTEST_AIR, coolprop

if TYPE_CHECKING:
    from .settle import March

REFERENCE = 298.15  # at which liquid and vapour are joined [K]
VAPOUR_ENTHALPY = -241.826e6 / 18.01528  # of formation of water vapour at 298.15 K [J/kg], as the gas tables have it
NONE = {"water_per_fuel": 0.0, "water_flow": 0.0, "water_enthalpy": 0.0}


def liquid_enthalpy(temperature: float) -> float:
    """Absolute enthalpy of liquid water [J/kg]: vapour's at 298.15 K less CoolProp's heat of vaporisation, and its warmth."""
    _, PropsSI = coolprop()

    warmth = PropsSI("H", "T", temperature, "Q", 0, "Water") - PropsSI("H", "T", REFERENCE, "Q", 0, "Water")
    return float(VAPOUR_ENTHALPY - latent_heat() + warmth)


@cache
def latent_heat() -> float:
    """Heat of vaporisation of water at 298.15 K, by CoolProp [J/kg]."""
    _, PropsSI = coolprop()

    return float(PropsSI("H", "T", REFERENCE, "Q", 1, "Water") - PropsSI("H", "T", REFERENCE, "Q", 0, "Water"))


def water_of(injection: Injection | None) -> dict[str, float]:
    """The fields of a plant's record."""
    if injection is None or not (injection.share or injection.flow):
        return dict(NONE)
    walls = (1.0 - injection.evaporation_share) * latent_heat()
    return {
        "water_per_fuel": spray.water_per_fuel(injection),
        "water_flow": float(injection.flow or 0.0),
        "water_enthalpy": liquid_enthalpy(injection.temperature) + walls,
    }


def water_from(case: Case, fuel: fuels.Fuel, humidity: float) -> float:
    """Water share of a charge without injection, above which water counts as diluent of the flame; 1 without injection [-]."""
    if case.injection is None or not (case.injection.share or case.injection.flow):
        return 1.0
    return float(humidity / (1.0 + humidity + 1.0 / (case.run.lambda_ratio * fuels.stoichiometric_afr(fuel))))


def held_as_vapour(
    pressure: float, temperature: float, humidity: float, water: float, liquid: float
) -> tuple[float, float | None]:
    """What an adiabatic spray into moist air comes to, by CoolProp's humid air: (share evaporated [-], temperature [K]).

    pressure, temperature, humidity : air in the manifold [Pa, K, kg/kg]; water : sprayed over dry air [kg/kg]; liquid : its
    temperature [K]. Where all would evaporate, the air stays below saturation; else it is saturated and drops are left.
    Past HOTTEST_AIR all evaporates, and no temperature is given.
    """
    HAPropsSI, PropsSI = coolprop()
    from scipy.optimize import brentq

    def most(T: float) -> float:
        """Vapour that saturated air holds; without end where water nearly boils."""
        if PropsSI("P", "T", T, "Q", 0, "Water") > 0.5 * pressure:
            return math.inf
        return float(HAPropsSI("W", "T", T, "P", pressure, "R", 1.0))

    def excess(T: float) -> float:
        wet = min(humidity + water, most(T))
        drops = humidity + water - wet
        h = HAPropsSI("H", "T", T, "P", pressure, "W", wet) + drops * PropsSI("H", "T", T, "Q", 0, "Water")
        return float(h - start - water * h_liquid)

    if temperature <= COLDEST:  # near freezing next to nothing evaporates
        return 0.0, temperature
    if temperature > HOTTEST_AIR:
        return 1.0, None
    start = HAPropsSI("H", "T", temperature, "P", pressure, "W", min(humidity, most(temperature)))
    h_liquid = PropsSI("H", "T", liquid, "Q", 0, "Water")
    found = COLDEST if excess(COLDEST) >= 0.0 else float(brentq(excess, COLDEST, min(temperature + 40.0, HOTTEST_AIR)))
    return min(max((most(found) - humidity) / water, 0.0), 1.0), found


def water_readings(march: "March", fuel: float) -> dict[str, float | None]:
    """What is sprayed in, what of it is vapour in the manifold and the air's temperature then; nothing without injection or without air.

    fuel : flow of all fuel [kg/s]
    """
    s, z = march.setup, march.z
    injection = s.case.injection
    if injection is None or s.plant.water_enthalpy == 0.0 or z[surroundings.Z_AIR] <= 0.0:
        return {}
    per_air = [float(surroundings.injected(s.plant, s.table, row[IN_PHI], z)) for row in s.inputs]
    air = float(z[surroundings.Z_AIR]) / (1.0 + s.ambient.humidity)
    water = sum(per_air) / len(per_air)
    state = (float(z[surroundings.Z_INTAKE]), float(z[surroundings.Z_T_INTAKE]), s.ambient.humidity)
    ratio = spray.alcohol_per_fuel(injection)
    if ratio == 0.0:
        share, temperature = held_as_vapour(*state, water, injection.temperature)
        more = {}
    else:
        flow = fuel * ratio / (1.0 + ratio)
        share, temperature = spray.held_as_vapour(*state, water, flow / air, injection.alcohol, injection.temperature)
        more = {"alcohol_flow_kg_s": flow, "lambda_of_tank": spray.lambda_of_tank(s.case, s.tank, s.fuel)}
    return more | {
        "water_flow_kg_s": water * air,
        "water_evaporated_fraction": share,
        "wet_intake_temperature_k": temperature,
    }
