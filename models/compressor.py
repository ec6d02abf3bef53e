"""The compressor: temperature rise, power and shaft speed; a parametric machine where there is no map.

Stagnation states throughout; inlet 1, outlet 2. A perfect gas with constant specific heat, or a table of air properties.
"""

import math
from typing import NamedTuple

import numpy as np

from .compiled import compiled
from .flow import choked_flow_function

# Stand-ins from memory for small automotive machines; confidence and band beside each.
WORK_COEFFICIENT = 0.68  # rise of enthalpy over squared tip speed, back-swept wheel; medium, 0.65-0.70
HUB_RATIO = 0.30  # hub over inducer diameter at the inlet; medium, 0.25-0.35
THROAT_RATIO = 0.60  # inducer throat over inlet annulus: cosine of the mean blade angle less thickness; low, 0.55-0.65
EFFICIENCY_SMALL, EFFICIENCY_LARGE = 0.70, 0.78  # peak, at the two wheel diameters below; medium, +-0.03
WHEEL_SMALL, WHEEL_LARGE = 0.040, 0.080  # wheel outlet diameter [m]
SURGE_AT_REST, SURGE_PER_RATIO = 0.25, 0.15  # surge over choke flow = first + second (pressure ratio - 1); low, +-0.10
PEAK_POSITION = 0.45  # place of peak efficiency between surge (0) and choke (1) at a pressure ratio; low, 0.35-0.55
LOSS_AT_SURGE, LOSS_AT_CHOKE = 0.10, 0.30  # relative loss of efficiency there; low, +-0.05 and +-0.10
EFFICIENCY_FLOOR = 0.30  # keeps the shaft balance defined far past choke; such a point is outside the model


class WheelCompressor(NamedTuple):
    """Parametric compressor known by its wheel.

    inducer_diameter : float, wheel inlet (inducer tip) diameter [m]
    wheel_diameter : float, wheel outlet diameter [m]
    hub_ratio : float, hub over inducer diameter at the inlet [-]
    throat_ratio : float, inducer throat area over inlet annulus [-]
    work_coefficient : float, stagnation enthalpy rise over squared tip speed [-]
    efficiency_peak : float, peak isentropic efficiency [-]
    """

    inducer_diameter: float
    wheel_diameter: float
    hub_ratio: float
    throat_ratio: float
    work_coefficient: float
    efficiency_peak: float


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


@compiled
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
    work_coefficient : float, WORK_COEFFICIENT for a back-swept wheel [-]
    Returns tip speed [m/s].
    """
    return math.sqrt(max(work, 0.0) / work_coefficient)


@compiled
def shaft_speed(work, wheel_diameter, work_coefficient):
    """Shaft speed from the specific work and the wheel outlet diameter (see tip_speed).

    work : float, rise of stagnation enthalpy, real and not isentropic [J/kg]
    wheel_diameter : float, wheel outlet diameter [m]
    work_coefficient : float, WORK_COEFFICIENT for a back-swept wheel [-]
    Returns shaft speed [rad/s].
    """
    return 2.0 * tip_speed(work, work_coefficient) / wheel_diameter


def from_wheel(
    inducer_diameter: float,
    wheel_diameter: float,
    hub_ratio: float = HUB_RATIO,
    throat_ratio: float = THROAT_RATIO,
    work_coefficient: float = WORK_COEFFICIENT,
    efficiency_peak: float | None = None,
) -> WheelCompressor:
    """Parametric compressor from its wheel; the peak efficiency scales with size where it is not given.

    inducer_diameter : float, wheel inlet (inducer tip) diameter [m]
    wheel_diameter : float, wheel outlet diameter [m]
    hub_ratio : float, hub over inducer diameter at the inlet [-]
    throat_ratio : float, inducer throat area over inlet annulus [-]
    work_coefficient : float, stagnation enthalpy rise over squared tip speed [-]
    efficiency_peak : float or None, peak isentropic efficiency [-]
    Returns WheelCompressor [-]. Raises ValueError for diameters out of order.
    """
    if not 0.0 < inducer_diameter < wheel_diameter:
        raise ValueError("the inducer must be smaller than the wheel outlet, both positive")
    size = min(max((wheel_diameter - WHEEL_SMALL) / (WHEEL_LARGE - WHEEL_SMALL), 0.0), 1.0)
    by_size = EFFICIENCY_SMALL + size * (EFFICIENCY_LARGE - EFFICIENCY_SMALL)
    return WheelCompressor(
        float(inducer_diameter),
        float(wheel_diameter),
        float(hub_ratio),
        float(throat_ratio),
        float(work_coefficient),
        float(by_size if efficiency_peak is None else efficiency_peak),
    )


@compiled
def choke_flow(machine, pressure_ratio, T1, p1, r, gamma):
    """Flow at which the inducer throat chokes, at the speed that gives the pressure ratio at peak efficiency.

    Rotating throat: mdot = A rho01 a01 [(2 + (gamma-1) U^2/a01^2)/(gamma+1)]^((gamma+1)/(2(gamma-1))), S. L. Dixon,
    Thermodynamics of Turbomachinery, ch. 7 (from memory, confidence high); U at the mean inducer radius.

    machine : WheelCompressor, the machine [-]
    pressure_ratio : float, outlet over inlet pressure [-]
    T1 : float, inlet temperature [K]
    p1 : float, inlet pressure [Pa]
    r : float, specific gas constant [J/(kg K)]
    gamma : float, ratio of specific heats [-]
    Returns mass flow [kg/s].
    """
    cp = r * gamma / (gamma - 1.0)
    work = isentropic_work(T1, pressure_ratio, cp, gamma) / machine.efficiency_peak
    inducer = machine.inducer_diameter
    mean_diameter = inducer * math.sqrt(0.5 * (1.0 + machine.hub_ratio * machine.hub_ratio))
    u = tip_speed(work, machine.work_coefficient) * mean_diameter / machine.wheel_diameter
    annulus = 0.25 * math.pi * inducer * inducer * (1.0 - machine.hub_ratio * machine.hub_ratio)
    spin = 1.0 + 0.5 * (gamma - 1.0) * u * u / (gamma * r * T1)  # relative over absolute stagnation temperature
    at_rest = choked_flow_function(gamma) * machine.throat_ratio * annulus * p1 / math.sqrt(r * T1)
    return at_rest * spin ** (0.5 * (gamma + 1.0) / (gamma - 1.0))


@compiled
def surge_flow(machine, pressure_ratio, T1, p1, r, gamma):
    """Flow below which the machine is expected to surge: a share of the choke flow that grows with pressure ratio.

    From memory, confidence low (+-0.10 of the choke flow): replace by a map wherever there is one.

    machine : WheelCompressor, the machine [-]
    pressure_ratio : float, outlet over inlet pressure [-]
    T1 : float, inlet temperature [K]
    p1 : float, inlet pressure [Pa]
    r : float, specific gas constant [J/(kg K)]
    gamma : float, ratio of specific heats [-]
    Returns mass flow [kg/s].
    """
    share = min(SURGE_AT_REST + SURGE_PER_RATIO * max(pressure_ratio - 1.0, 0.0), 0.9)
    return share * choke_flow(machine, pressure_ratio, T1, p1, r, gamma)


@compiled
def wheel_efficiency(machine, mass_flow, pressure_ratio, T1, p1, r, gamma):
    """Isentropic efficiency of the parametric machine: a parabola on either side of its peak, between surge and choke.

    Shape from memory, confidence low; floored at EFFICIENCY_FLOOR far past choke.

    machine : WheelCompressor, the machine [-]
    mass_flow : float, mass flow [kg/s]
    pressure_ratio : float, outlet over inlet pressure [-]
    T1 : float, inlet temperature [K]
    p1 : float, inlet pressure [Pa]
    r : float, specific gas constant [J/(kg K)]
    gamma : float, ratio of specific heats [-]
    Returns isentropic efficiency [-].
    """
    choke = choke_flow(machine, pressure_ratio, T1, p1, r, gamma)
    surge = surge_flow(machine, pressure_ratio, T1, p1, r, gamma)
    position = (mass_flow - surge) / (choke - surge)
    if position < PEAK_POSITION:
        loss = LOSS_AT_SURGE * ((PEAK_POSITION - position) / PEAK_POSITION) ** 2
    else:
        loss = LOSS_AT_CHOKE * ((position - PEAK_POSITION) / (1.0 - PEAK_POSITION)) ** 2
    return max(machine.efficiency_peak * (1.0 - loss), EFFICIENCY_FLOOR)
