"""Ambient air: standard atmosphere, moisture, density.

Moisture displaces oxygen: humid air carries 1 / (1 + humidity) of its mass as dry air.
"""

import math
from typing import NamedTuple

R_DRY = 287.05287
R_VAPOUR = 461.52
MASS_RATIO = R_DRY / R_VAPOUR
FREEZING = 273.16

STANDARD_PRESSURE = 101325.0
STANDARD_TEMPERATURE = 288.15
LAPSE = 0.0065
GRAVITY = 9.80665

ALTITUDE_RANGE = (-500.0, 11000.0)
TEMPERATURE_RANGE = (200.0, 373.15)

# Coefficients of ln(p/Pa) = c0/T + c1 + c2 T + c3 T^2 + c4 T^3 + c5 T^4 + c6 ln T.
_OVER_ICE = (-5.6745359e3, 6.3925247, -9.677843e-3, 6.2215701e-7, 2.0747825e-9, -9.484024e-13, 4.1635019)
_OVER_WATER = (-5.8002206e3, 1.3914993, -4.8640239e-2, 4.1764768e-5, -1.4452093e-8, 0.0, 6.5459673)


class Ambient(NamedTuple):
    """Air outside.

    pressure : float, absolute [Pa]
    temperature : float, dry bulb [K]
    humidity : float, water vapour per dry air [kg/kg]
    density : float, of the moist air [kg/m3]
    dry_share : float, mass of dry air in the moist air [-]
    """

    pressure: float
    temperature: float
    humidity: float
    density: float
    dry_share: float


def standard_atmosphere(altitude: float) -> tuple[float, float]:
    """Pressure and temperature of the standard atmosphere, ISO 2533 / ICAO, below the tropopause.

    altitude : float, geopotential height above sea level [m]
    Returns absolute pressure [Pa] and temperature [K].
    Raises ValueError outside -500 to 11000 m.
    """
    low, high = ALTITUDE_RANGE
    if not low <= altitude <= high:
        raise ValueError(f"altitude is {altitude:g} m; the standard atmosphere is used from {low:g} to {high:g} m")
    temperature = STANDARD_TEMPERATURE - LAPSE * altitude
    pressure = STANDARD_PRESSURE * (temperature / STANDARD_TEMPERATURE) ** (GRAVITY / (R_DRY * LAPSE))
    return pressure, temperature


def saturation_pressure(temperature: float) -> float:
    """Vapour pressure of water, or of ice below the triple point.

    Hyland & Wexler (1983) as printed in the ASHRAE Handbook - Fundamentals, ch. 1, eq. 5 and 6; coefficients from
    memory, confidence high; the tests hold them against the handbook's table. Valid 173-473 K.

    temperature : float, of the surface [K]
    Returns saturation pressure [Pa].
    """
    T = temperature
    c = _OVER_ICE if T < FREEZING else _OVER_WATER
    return math.exp(c[0] / T + c[1] + T * (c[2] + T * (c[3] + T * (c[4] + T * c[5]))) + c[6] * math.log(T))


def enhancement(pressure: float) -> float:
    """How much more vapour air holds at saturation than a vacuum does, A. L. Buck (1981), from memory, confidence med.

    pressure : float, total, absolute [Pa]
    Returns the enhancement factor [-].
    """
    return 1.0016 + 3.15e-8 * pressure - 7.4 / pressure


def humidity_ratio(pressure: float, temperature: float, relative_humidity: float) -> float:
    """Water vapour carried by dry air.

    pressure : float, total, absolute [Pa]
    temperature : float, dry bulb [K]
    relative_humidity : float, 0 to 1 [-]
    Returns humidity ratio [kg/kg].
    Raises ValueError if the relative humidity is not within 0 to 1, or if water would boil.
    """
    if not 0.0 <= relative_humidity <= 1.0:
        raise ValueError(
            f"relative humidity is {relative_humidity:g}; it must be within 0 and 1 (write 60 % as 0.6): above 1 the "
            "water is dew, not vapour"
        )
    vapour = relative_humidity * enhancement(pressure) * saturation_pressure(temperature)
    if vapour >= pressure:
        raise ValueError(f"water boils at {temperature:g} K and {pressure:g} Pa: no air can be that hot and that moist")
    return MASS_RATIO * vapour / (pressure - vapour)


def relative_humidity(pressure: float, temperature: float, humidity: float) -> float:
    """Relative humidity of air of known humidity ratio; above 1 the surplus is dew (after a charge cooler, say).

    pressure : float, total, absolute [Pa]
    temperature : float, dry bulb [K]
    humidity : float, water vapour per dry air [kg/kg]
    Returns relative humidity [-].
    """
    vapour = pressure * humidity / (MASS_RATIO + humidity)
    return vapour / (enhancement(pressure) * saturation_pressure(temperature))


def dew_point(pressure: float, humidity: float) -> float:
    """Temperature at which air of known humidity ratio becomes saturated, by bisection within 173-473 K.

    pressure : float, total, absolute [Pa]
    humidity : float, water vapour per dry air, above 0 [kg/kg]
    Returns dew point, or frost point below freezing [K].
    Raises ValueError for air without moisture.
    """
    if not humidity > 0.0:
        raise ValueError(f"humidity ratio is {humidity:g}; dry air has no dew point")
    low, high = 173.15, 473.15
    while high - low > 1e-6:
        middle = 0.5 * (low + high)
        if relative_humidity(pressure, middle, humidity) > 1.0:
            low = middle
        else:
            high = middle
    return 0.5 * (low + high)


def density(pressure: float, temperature: float, humidity: float) -> float:
    """Density of moist air as a mixture of ideal gases.

    pressure : float, total, absolute [Pa]
    temperature : float, dry bulb [K]
    humidity : float, water vapour per dry air [kg/kg]
    Returns density [kg/m3].
    """
    return pressure * (1.0 + humidity) / ((R_DRY + humidity * R_VAPOUR) * temperature)


def ambient(
    *,
    altitude: float | None = None,
    pressure: float | None = None,
    temperature: float | None = None,
    relative_humidity: float = 0.0,
) -> Ambient:
    """Air outside, from altitude or station pressure (not the weather report's, which is corrected to sea level).

    altitude : float, above sea level, if no pressure is given [m]
    pressure : float, absolute, if no altitude is given [Pa]
    temperature : float, dry bulb; that of the standard atmosphere at the altitude if not given [K]
    relative_humidity : float, 0 to 1 [-]
    Returns the Ambient [-].
    Raises ValueError unless exactly one of altitude and pressure is given, and for values outside their range.
    """
    if (altitude is None) == (pressure is None):
        raise ValueError("ambient air needs either the altitude or the absolute pressure, and not both")
    if altitude is not None:
        pressure, standard_temperature = standard_atmosphere(altitude)
        temperature = standard_temperature if temperature is None else temperature
    if temperature is None:
        raise ValueError("ambient air given by its pressure needs a temperature too")
    assert pressure is not None
    if not 10e3 <= pressure <= 120e3:
        raise ValueError(f"ambient pressure is {pressure:g} Pa; 10000 to 120000 Pa absolute is allowed")
    low, high = TEMPERATURE_RANGE
    if not low <= temperature <= high:
        raise ValueError(f"ambient temperature is {temperature:g} K; {low:g} to {high:g} K is allowed")
    humidity = humidity_ratio(pressure, temperature, relative_humidity)
    return Ambient(pressure, temperature, humidity, density(pressure, temperature, humidity), 1.0 / (1.0 + humidity))


REFERENCE_DRY, REFERENCE_AIR = 99e3, 298.0  # reference atmosphere of ISO 1585 [Pa, K]
CORRECTION_VALID = (0.93, 1.07)  # factors outside are no correction by that standard [-]


def power_correction(dry_pressure, temperature):
    """Atmospheric factor on the power of a spark-ignition engine, ISO 1585: (99 kPa / ps)^1.2 (T / 298 K)^0.6.

    dry_pressure : float, pressure of the dry air at the inlet: barometer less the vapour in it [Pa]
    temperature : float, air at the inlet [K]
    Returns the factor [-]. Formula and range from memory, confidence high; within 0.2 % of SAE J1349 (1990).
    """
    return (REFERENCE_DRY / dry_pressure) ** 1.2 * (temperature / REFERENCE_AIR) ** 0.6
