"""Exhaust runners and collectors: heat from pulsing gas to the wall, heat from the wall to the surroundings."""

import math

from .compiled import compiled

VISCOSITY = 3.3e-7  # of viscosity ~ T^0.7 [Pa s]
SIGMA = 5.670374419e-8  # Stefan-Boltzmann constant, CODATA 2018 [W/(m2 K4)]
SOURCES = {
    "runner_heat": "Meisner & Sorenson, SAE 860357 (1986), Nu = 0.0774 Re^0.769; from memory, confidence medium",
}


@compiled
def viscosity(T):
    """Dynamic viscosity of burned gas, about that of air.

    T : float, temperature [K]
    Returns the viscosity [Pa s]: 3.3e-7 T^0.7, Heywood (1988) eq. 4.52, from memory, confidence high.
    """
    return VISCOSITY * T**0.7


@compiled
def pipe_coefficient(flow, diameter, T, cp):
    """Heat transfer coefficient in an exhaust pipe with pulsing flow, Meisner & Sorenson, SAE 860357 (1986).

    flow : float, mass flow through the pipe, sign ignored [kg/s]
    diameter : float, inside diameter [m]
    T : float, gas temperature [K]
    cp : float, specific heat [J/(kg K)]
    Returns the coefficient [W/(m2 K)]: Nu = 0.0774 Re^0.769 at the flow of the moment, Prandtl number 0.7, constants from
    memory, confidence medium; at Re = 1e5 it is 2.6 times a steady pipe's by Dittus & Boelter and 3.0 times by
    Gnielinski. At standstill the laminar limit Nu = 3.66.
    """
    # viscosity is V T^0.7, so the coefficient is a power law of flow and temperature: one exponential
    least = 3.66 * VISCOSITY * cp / 0.7 / diameter
    if flow == 0.0:
        return least * T**0.7
    log_T = math.log(T)
    log_re = math.log(4.0 * abs(flow) / (math.pi * diameter * VISCOSITY)) - 0.7 * log_T
    if log_re < 5.0146:  # Re 150.6, where Nu meets the laminar limit
        return least * T**0.7
    return 0.0774 * math.exp(0.769 * log_re + 0.7 * log_T) * VISCOSITY * cp / 0.7 / diameter


@compiled
def outside_loss(T_wall, T_air, emissivity, air_coefficient):
    """Heat flux from a hot outside surface to the engine bay, and its slope.

    T_wall : float, surface temperature [K]
    T_air : float, air and surroundings [K]
    emissivity : float, of the surface [-]
    air_coefficient : float, convection to the air [W/(m2 K)]
    Returns (flux, d flux / d T_wall) [W/m2, W/(m2 K)].
    """
    flux = air_coefficient * (T_wall - T_air) + emissivity * SIGMA * (T_wall**4 - T_air**4)
    return flux, air_coefficient + 4.0 * emissivity * SIGMA * T_wall**3


@compiled
def wall_temperature(h_area, h_area_T, outside_area, T_air, emissivity, air_coefficient, guess):
    """Steady wall temperature where mean heat in equals heat out; a thin wall, one temperature.

    h_area : float, cycle mean of coefficient times inside area [W/K]
    h_area_T : float, cycle mean of the same times gas temperature [W]
    outside_area : float, outside surface [m2]
    T_air : float, surroundings [K]
    emissivity : float, of the outside [-]
    air_coefficient : float, outside convection [W/(m2 K)]
    guess : float, starting temperature [K]
    Returns the wall temperature [K].
    """
    T = guess
    for _ in range(20):
        flux, slope = outside_loss(T, T_air, emissivity, air_coefficient)
        step = (h_area_T - h_area * T - outside_area * flux) / (h_area + outside_area * slope)
        T = max(T + step, 200.0)
        if abs(step) < 1e-6:
            break
    return T
