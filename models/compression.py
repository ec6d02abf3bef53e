"""Compression: temperature rise, power, tip and shaft speed from states.

Stagnation states throughout; inlet 1, outlet 2. A perfect gas with constant specific heat, or a table of air properties.
"""

import math

import numpy as np

from .compiled import allocating, compiled


@compiled
def isentropic_work(T1, pressure_ratio, cp, gamma):
    """Isentropic specific work of compression, stagnation to stagnation.

    T1 : float, inlet temperature [K]
    pressure_ratio : float, outlet over inlet pressure [-]
    cp : float, specific heat at constant pressure [J/(kg K)]
    gamma : float, ratio of specific heats; sets the exponent, which some sources round apart from cp [-]
    Returns specific work [J/kg].
    """
    return cp * T1 * (pressure_ratio ** ((gamma - 1.0) / gamma) - 1.0)


@compiled
def outlet_temperature(T1, pressure_ratio, efficiency, gamma):
    """Outlet temperature of an adiabatic compressor.

    T1 : float, inlet temperature [K]
    pressure_ratio : float, outlet over inlet pressure [-]
    efficiency : float, isentropic efficiency [-]
    gamma : float, ratio of specific heats [-]
    Returns temperature [K].
    """
    return T1 * (1.0 + (pressure_ratio ** ((gamma - 1.0) / gamma) - 1.0) / efficiency)


@compiled
def efficiency_from_temperatures(T1, T2, pressure_ratio, gamma):
    """Isentropic efficiency from measured temperatures (adiabatic; heat from the turbine makes it read low).

    T1 : float, inlet temperature [K]
    T2 : float, outlet temperature, above T1 [K]
    pressure_ratio : float, outlet over inlet pressure [-]
    gamma : float, ratio of specific heats [-]
    Returns isentropic efficiency [-].
    """
    return T1 * (pressure_ratio ** ((gamma - 1.0) / gamma) - 1.0) / (T2 - T1)


@compiled
def power(mass_flow, T1, pressure_ratio, efficiency, cp, gamma):
    """Power the gas takes from the shaft, bearing loss not included.

    mass_flow : float, mass flow [kg/s]
    T1 : float, inlet temperature [K]
    pressure_ratio : float, outlet over inlet pressure [-]
    efficiency : float, isentropic efficiency [-]
    cp : float, specific heat at constant pressure [J/(kg K)]
    gamma : float, ratio of specific heats [-]
    Returns power [W].
    """
    return mass_flow * isentropic_work(T1, pressure_ratio, cp, gamma) / efficiency


@allocating
def table_outlet(T1, pressure_ratio, efficiency, T, h, s0, r):
    """Outlet of an adiabatic compressor (ratio above 1) or turbine (ratio below 1), specific heat varying.

    The isentropic end follows from s0(T2s) = s0(T1) + r ln(ratio); linear between the nodes of the table.

    T1 : float, inlet temperature, inside the table [K]
    pressure_ratio : float, outlet over inlet pressure [-]
    efficiency : float, isentropic efficiency [-]
    T : float64 array (n,), temperatures of the table, rising [K]
    h : float64 array (n,), specific enthalpy [J/kg]
    s0 : float64 array (n,), specific entropy at the reference pressure [J/(kg K)]
    r : float, specific gas constant [J/(kg K)]
    Returns outlet temperature [K]; rise of specific enthalpy, negative through a turbine [J/kg].
    """
    h1 = np.interp(T1, T, h)
    T_ideal = np.interp(np.interp(T1, T, s0) + r * math.log(pressure_ratio), s0, T)
    ideal = np.interp(T_ideal, T, h) - h1
    rise = ideal / efficiency if pressure_ratio > 1.0 else ideal * efficiency
    return np.interp(h1 + rise, h, T), rise


@compiled
def tip_speed(work, work_coefficient):
    """Wheel tip speed from the specific work: Euler's equation with slip, work = coefficient x U2^2.

    work : float, rise of stagnation enthalpy, real and not isentropic [J/kg]
    work_coefficient : float, about 0.68 for a back-swept wheel [-]
    Returns tip speed [m/s].
    """
    return math.sqrt(max(work, 0.0) / work_coefficient)


@compiled
def shaft_speed(work, wheel_diameter, work_coefficient):
    """Shaft speed from the specific work and the wheel outlet diameter (see tip_speed).

    work : float, rise of stagnation enthalpy, real and not isentropic [J/kg]
    wheel_diameter : float, wheel outlet diameter [m]
    work_coefficient : float, about 0.68 for a back-swept wheel [-]
    Returns shaft speed [rad/s].
    """
    return 2.0 * tip_speed(work, work_coefficient) / wheel_diameter
