"""Heat from the cylinder gas to its walls: three published correlations, chosen by an integer switch."""

import math
from typing import NamedTuple

from .compiled import compiled

WOSCHNI, HOHENBERG, ANNAND = 0, 1, 2
MODELS = {"woschni": WOSCHNI, "hohenberg": HOHENBERG, "annand": ANNAND}
SOURCES = {
    "woschni": "Woschni, SAE 670931 (1967), as in Heywood (1988) eq. 12.18-12.19; constants from memory, confidence high",
    "hohenberg": "Hohenberg, SAE 790825 (1979); constants from memory, confidence high",
    "annand": "Annand, Proc. IMechE 177 (1963) 973-996; constants from memory, confidence high",
}


# Factor on each correlation that stands in where no measurement says better: a judgement, not a fit, and a heat balance or an
# indicated best-torque timing of the engine at hand should replace it. What was looked at, with Hohenberg's and Woschni's
# constants (tests/published/test_engine_levels.py; handbook figures from memory, confidence medium, Heywood 1988):
#   exhaust at high power, up to about 900 degC: factor 1 leaves 1001 and 1009 (6000 rev/min, lambda 0.9), 1.4 935 and 945
#   best torque, half burned 7 to 10 deg after top centre, 2500 rev/min: 3.8 and 5.6 with 1, 4.9 and 7.3 with 1.4
#   heat balance near greatest power, 20 to 36 % of the fuel's energy into coolant and oil, ports and friction counted: 22 and 21 %
#   with 1, 26 and 25 with 1.4; it does not decide
# Annand's constant a = 0.5 may range from 0.35 to 0.8 and needs no factor: 898 degC, 4.3 deg, 28 %.
DEFAULT_SCALE = {"woschni": 1.4, "hohenberg": 1.4, "annand": 1.0}


class WallHeat(NamedTuple):
    """The chosen correlation and the three walls."""

    model: int  # WOSCHNI, HOHENBERG or ANNAND
    scale: float  # factor on the whole coefficient [-]
    head_temperature: float  # [K]
    piston_temperature: float  # [K]
    liner_temperature: float  # [K]


@compiled
def woschni(bore, p, T, w):
    """Heat transfer coefficient, Woschni (SAE 670931, 1967), Heywood (1988) eq. 12.18.

    bore : float, cylinder diameter [m]
    p : float, cylinder pressure [Pa]
    T : float, mean gas temperature [K]
    w : float, local mean gas velocity, see `woschni_velocity` [m/s]
    Returns the coefficient [W/(m2 K)].
    """
    return 3.26 * math.exp(0.8 * math.log(p * 1e-3 * w) - 0.2 * math.log(bore) - 0.55 * math.log(T))


@compiled
def woschni_velocity(piston_speed, closed, swept, p, p_motored, T_ref, p_ref, v_ref):
    """Gas velocity of Woschni's correlation, Heywood (1988) eq. 12.19.

    piston_speed : float, mean piston speed [m/s]
    closed : bool, valves shut (C1 = 2.28) or gas exchange (C1 = 6.18) [-]
    swept : float, displacement of the cylinder [m3]
    p : float, cylinder pressure [Pa]
    p_motored : float, pressure the cylinder would have without combustion; p itself where nothing has burnt [Pa]
    T_ref : float, temperature at the reference state, inlet closing [K]
    p_ref : float, pressure at the reference state [Pa]
    v_ref : float, volume at the reference state [m3]
    Returns the velocity [m/s].
    """
    if not closed:
        return 6.18 * piston_speed
    rise = max(p - p_motored, 0.0)
    return 2.28 * piston_speed + 3.24e-3 * swept * T_ref / (p_ref * v_ref) * rise


@compiled
def hohenberg(volume, p, T, piston_speed):
    """Heat transfer coefficient, Hohenberg (SAE 790825, 1979).

    volume : float, present cylinder volume [m3]
    p : float, cylinder pressure [Pa]
    T : float, mean gas temperature [K]
    piston_speed : float, mean piston speed [m/s]
    Returns the coefficient [W/(m2 K)].
    """
    logs = 0.8 * math.log(p * 1e-5 * (piston_speed + 1.4)) - 0.06 * math.log(volume) - 0.4 * math.log(T)
    return 130.0 * math.exp(logs)


@compiled
def annand(bore, p, T, r, piston_speed, T_wall):
    """Heat transfer coefficient, Annand (1963), convection a = 0.5 and b = 0.7 with the radiation term linearised.

    bore : float, cylinder diameter [m]
    p : float, cylinder pressure [Pa]
    T : float, mean gas temperature [K]
    r : float, specific gas constant [J/(kg K)]
    piston_speed : float, mean piston speed [m/s]
    T_wall : float, mean wall temperature [K]
    Returns the coefficient [W/(m2 K)], radiation c (T^4 - Tw^4) / (T - Tw) included with c = 4.3e-9 W/(m2 K4).
    """
    viscosity = 4.702e-7 * T**0.645  # Heywood (1988) eq. 4.52 form mu ~ T^0.645..0.7; from memory, confidence med
    cp = r * 1.33 / 0.33
    conductivity = viscosity * cp / 0.7
    reynolds = p / (r * T) * piston_speed * bore / viscosity
    radiation = 4.3e-9 * (T * T + T_wall * T_wall) * (T + T_wall)
    return 0.5 * conductivity / bore * reynolds**0.7 + radiation


@compiled
def fixed_part(heat, bore, piston_speed):
    """What stays the same all cycle long in the logarithm of the chosen coefficient, `scale` and radiation left out.

    heat : WallHeat, the choice [K, -]
    bore : float, cylinder diameter [m]
    piston_speed : float, mean piston speed [m/s]
    Returns a logarithm [-].
    """
    if heat.model == HOHENBERG:
        return math.log(130.0) + 0.8 * math.log(1e-5 * (piston_speed + 1.4))
    if heat.model == WOSCHNI:
        return math.log(3.26) + 0.8 * math.log(1e-3) - 0.2 * math.log(bore)
    return math.log(0.5 * 1.33 / 0.33 / 0.7 / bore) + 0.3 * math.log(4.702e-7) + 0.7 * math.log(piston_speed * bore)


@compiled
def coefficient(heat, fixed, log_p, log_V, T, r, w):
    """Heat transfer coefficient of the chosen correlation, scaled: all are power laws, so one exponential of logarithms at hand.

    heat : WallHeat, the choice [K, -]
    fixed : float, from `fixed_part` [-]
    log_p : float, ln(pressure/Pa) [-]
    log_V : float, ln(present volume/m3), read by `hohenberg` only [-]
    T : float, gas temperature [K]
    r : float, specific gas constant, read by `annand` only [J/(kg K)]
    w : float, local mean gas velocity, read by `woschni` only [m/s]
    Returns the coefficient [W/(m2 K)].
    """
    log_T = math.log(T)
    if heat.model == HOHENBERG:
        return heat.scale * math.exp(fixed + 0.8 * log_p - 0.06 * log_V - 0.4 * log_T)
    if heat.model == WOSCHNI:
        return heat.scale * math.exp(fixed + 0.8 * (log_p + math.log(w)) - 0.55 * log_T)
    film = math.exp(fixed + 0.7 * log_p + 0.3 * math.log(r) + (0.3 * 0.645 - 0.7) * log_T)
    wall = heat.liner_temperature
    return heat.scale * (film + 4.3e-9 * (T * T + wall * wall) * (T + wall))


@compiled
def burned_area_share(burned_fraction):
    """Share of the wall that burned gas touches, x^(1/2): burned gas spreads thin along the walls.

    burned_fraction : float, mass fraction burned [-]
    Returns the share [-]. Ferguson, Internal Combustion Engines (1986), two-zone program; from memory, confidence med.
    """
    return math.sqrt(burned_fraction)
