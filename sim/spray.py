"""Alcohol in the water that is sprayed into the charge.

It is fuel: the charge holds one fuel, that of the tank and the alcohol in the proportion in which they are fed, and lambda is that of
both. Its heat of vaporisation is taken from the charge as injection.evaporation_share says, that of the tank's fuel as
fuel.evaporation_share does. The heat of mixing of water and alcohol, some 2 % of their heats of vaporisation (from memory), is left out.
"""

from typing import TYPE_CHECKING, Any

from ..models import fuels
from ..models.gas_table import REFERENCE_TEMPERATURE
from .sections_injection import Injection
from .stopping import at_once

if TYPE_CHECKING:
    from .case import Case

WATER_DENSITY = 998.2  # at 20 degC [kg/m3]
COLDEST = 274.0  # below it no spray is reckoned with [K]
HOTTEST_AIR = 620.0  # humid air is tabulated so far [K]
HOTTEST_DROPS = 505.0  # methanol and ethanol are liquids up to 512 and 514 K [K]
FLUIDS = {"methanol": "Methanol", "ethanol": "Ethanol"}  # as CoolProp names them
MOLAR = {"water": 18.01528, "air": 28.96}  # [kg/kmol]


def coolprop() -> tuple[Any, Any]:
    """CoolProp's HAPropsSI and PropsSI; loading it takes some 2 s, in which it lets nothing else run."""
    with at_once():
        from CoolProp.CoolProp import HAPropsSI, PropsSI
    return HAPropsSI, PropsSI


def alcohol_by_mass(injection: Injection | None) -> float:
    """Mass of alcohol in what is sprayed [-]."""
    if injection is None or injection.alcohol == "none":
        return 0.0
    if injection.alcohol_by_mass is not None:
        return float(injection.alcohol_by_mass)
    volume = float(injection.alcohol_by_volume or 0.0)
    alcohol = volume * fuels.named(injection.alcohol).density
    return alcohol / (alcohol + (1.0 - volume) * WATER_DENSITY)


def alcohol_per_fuel(injection: Injection | None) -> float:
    """Alcohol sprayed in over fuel from the tank, by mass [-]."""
    return 0.0 if injection is None else float(injection.share or 0.0) * alcohol_by_mass(injection)


def water_per_fuel(injection: Injection) -> float:
    """Water sprayed in over all fuel, by mass [-]."""
    share = float(injection.share or 0.0)
    return share * (1.0 - alcohol_by_mass(injection)) / (1.0 + alcohol_per_fuel(injection))


def tank_share(injection: Injection | None) -> float:
    """Fuel from the tank over all fuel, by mass [-]."""
    return 1.0 / (1.0 + alcohol_per_fuel(injection))


def whole_fuel(tank: fuels.Fuel, injection: Injection | None) -> fuels.Fuel:
    """The fuel that the charge holds."""
    ratio = alcohol_per_fuel(injection)
    return tank if injection is None or ratio == 0.0 else fuels.joined(tank, fuels.named(injection.alcohol), ratio)


def lambda_of_tank(case: "Case", tank: fuels.Fuel, whole: fuels.Fuel) -> float:
    """Lambda that the fuel from the tank leaves by itself, should the spray fail [-]."""
    more = 1.0 + alcohol_per_fuel(case.injection)
    return float(case.run.lambda_ratio * more * fuels.stoichiometric_afr(whole) / fuels.stoichiometric_afr(tank))


def entering(case: "Case") -> dict[str, float]:
    """How the whole fuel comes in, for a plant's record: the one temperature and the one share that bring the heat of both."""
    f, injection = case.fuel, case.injection
    ratio = alcohol_per_fuel(injection)
    if injection is None or ratio == 0.0:
        return {"fuel_temperature": float(f.temperature), "evaporation_share": float(f.evaporation_share)}
    tank, alcohol = fuels.blend(dict(f.blend)), fuels.named(injection.alcohol)
    heats = tank.heat_of_vaporisation, ratio * alcohol.heat_of_vaporisation
    taken = f.evaporation_share * heats[0] + injection.evaporation_share * heats[1]
    warmth = tank.liquid_cp * (f.temperature - REFERENCE_TEMPERATURE)
    warmth += ratio * alcohol.liquid_cp * (injection.temperature - REFERENCE_TEMPERATURE)
    return {
        "fuel_temperature": float(REFERENCE_TEMPERATURE + warmth / (tank.liquid_cp + ratio * alcohol.liquid_cp)),
        "evaporation_share": float(taken / sum(heats)),
    }


def held_as_vapour(
    pressure: float, temperature: float, humidity: float, water: float, alcohol: float, name: str, liquid: float
) -> tuple[float, float | None]:
    """What an adiabatic spray of water and alcohol into moist air comes to: (share of it evaporated [-], temperature [K]).

    Saturation and heats by CoolProp, the drops an ideal liquid (Raoult); real ones are the more volatile.
    pressure, temperature, humidity : air in the manifold [Pa, K, kg/kg]; water, alcohol : sprayed over dry air [kg/kg];
    liquid : their temperature [K]. All evaporates, and no temperature is given, where the air stays hotter than any drop can be.
    """
    HAPropsSI, PropsSI = coolprop()
    from scipy.optimize import brentq

    fluid = FLUIDS[name]

    def excess(T: float) -> float:
        wet, gone = vapours(pressure, T, humidity + water, alcohol, fluid)
        h = HAPropsSI("H", "T", T, "P", pressure, "W", wet) + gone * PropsSI("H", "T", T, "Q", 1, fluid)
        h += (humidity + water - wet) * PropsSI("H", "T", T, "Q", 0, "Water")
        h += (alcohol - gone) * PropsSI("H", "T", T, "Q", 0, fluid)
        return float(h - start)

    if temperature <= COLDEST:
        return 0.0, temperature
    if temperature > HOTTEST_AIR:
        return 1.0, None
    start = HAPropsSI("H", "T", temperature, "P", pressure, "W", humidity)
    start += water * PropsSI("H", "T", liquid, "Q", 0, "Water") + alcohol * PropsSI("H", "T", liquid, "Q", 0, fluid)
    highest = min(temperature + 40.0, HOTTEST_DROPS)
    if excess(highest) < 0.0:
        return 1.0, None
    found = COLDEST if excess(COLDEST) >= 0.0 else float(brentq(excess, COLDEST, highest))
    wet, gone = vapours(pressure, found, humidity + water, alcohol, fluid)
    left = humidity + water - wet + alcohol - gone
    return min(max(1.0 - left / (water + alcohol), 0.0), 1.0), found


def vapours(pressure: float, T: float, water: float, alcohol: float, fluid: str) -> tuple[float, float]:
    """Vapour of water and of alcohol over dry air [kg/kg] at equilibrium with drops that are an ideal liquid, if any are left.

    Of all there is of both (water, alcohol, over dry air [kg/kg]); pressure, T : of the mixture [Pa, K]
    """
    _, PropsSI = coolprop()
    from scipy.optimize import brentq

    molar: Any = (MOLAR["water"], 1e3 * PropsSI("M", fluid))
    air, kmol = 1.0 / MOLAR["air"], (water / molar[0], alcohol / molar[1])
    ratio = [PropsSI("P", "T", T, "Q", 0, f) / pressure for f in ("Water", fluid)]
    total = air + sum(kmol)

    def over(drops: float) -> float:
        return sum(n / (drops + k * (total - drops)) for n, k in zip(kmol, ratio, strict=True)) - 1.0

    if over(0.0) <= 0.0:
        return water, alcohol
    drops = float(brentq(over, 0.0, sum(kmol), xtol=1e-15))
    left = [n * drops / (drops + k * (total - drops)) for n, k in zip(kmol, ratio, strict=True)]
    wet, gone = (m * (n - x) for m, n, x in zip(molar, kmol, left, strict=True))
    return wet, gone
