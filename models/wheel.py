"""The parametric compressor: surge, choke, efficiency and shaft speed from the size of its wheel.

For people without a map. Proportions of small automotive machines; each constant says how well it is known.
"""

import math
from typing import NamedTuple

from .compiled import compiled
from .flow import choked_flow_function

# Stand-ins from memory for small automotive machines; confidence and band beside each.
WORK_COEFFICIENT = 0.68  # rise of enthalpy over squared tip speed at peak efficiency, back-swept; medium, 0.65-0.70
WORK_SLOPE = (
    0.30  # its relative fall from surge to choke: a back-swept wheel gives less work to more flow; low, 0.2-0.4
)
HUB_RATIO = 0.30  # hub over inducer diameter at the inlet; medium, 0.25-0.35
# Inducer throat over inlet annulus. Small machines pass some 190 kg/s for each square metre of inducer circle at a pressure
# ratio of 3 (from memory, confidence medium, 175-205); 0.645 gives that through `choke_flow`. Its band, 8 %, is theirs. Blades
# at 55 to 60 deg from the axis at the tip leave 0.71 to 0.64 of the annulus (`blade_passage`) before their own thickness.
THROAT_RATIO = 0.645
EFFICIENCY_SMALL, EFFICIENCY_LARGE = 0.70, 0.78  # peak, at the two wheel diameters below; medium, +-0.03
WHEEL_SMALL, WHEEL_LARGE = 0.040, 0.080  # wheel outlet diameter [m]
SURGE_AT_REST, SURGE_PER_RATIO = 0.25, 0.15  # surge over choke flow = first + second (pressure ratio - 1); low, +-0.10
SURGE_MOST = 0.9  # of the choke flow, at any pressure ratio
PEAK_POSITION = 0.45  # place of peak efficiency between surge (0) and choke (1) at a pressure ratio; low, 0.35-0.55
LOSS_AT_SURGE, LOSS_AT_CHOKE = 0.10, 0.30  # relative loss of efficiency there; low, +-0.05 and +-0.10
LOSS_MOST = 0.6  # far on the near side of surge, where the flow turns back in the wheel; low


class WheelCompressor(NamedTuple):
    """Parametric compressor known by its wheel.

    inducer_diameter : float, wheel inlet (inducer tip) diameter [m]
    wheel_diameter : float, wheel outlet diameter [m]
    hub_ratio : float, hub over inducer diameter at the inlet [-]
    throat_ratio : float, inducer throat area over inlet annulus [-]
    work_coefficient : float, stagnation enthalpy rise over squared tip speed at peak efficiency [-]
    efficiency_peak : float, peak isentropic efficiency [-]
    """

    inducer_diameter: float
    wheel_diameter: float
    hub_ratio: float
    throat_ratio: float
    work_coefficient: float
    efficiency_peak: float


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
    work_coefficient : float, stagnation enthalpy rise over squared tip speed at peak efficiency [-]
    efficiency_peak : float or None, peak isentropic efficiency [-]
    Returns WheelCompressor [-]. Raises ValueError for diameters out of order.
    """
    if not 0.0 < inducer_diameter < wheel_diameter:
        raise ValueError("the inducer must be smaller than the wheel outlet, both positive")
    return WheelCompressor(
        float(inducer_diameter),
        float(wheel_diameter),
        float(hub_ratio),
        float(throat_ratio),
        float(work_coefficient),
        float(peak_by_size(wheel_diameter) if efficiency_peak is None else efficiency_peak),
    )


def peak_by_size(wheel_diameter: float) -> float:
    """Peak efficiency usual for a wheel of this size: clearances weigh more on a small one.

    wheel_diameter : float, wheel outlet diameter [m]
    Returns isentropic efficiency [-].
    """
    size = min(max((wheel_diameter - WHEEL_SMALL) / (WHEEL_LARGE - WHEEL_SMALL), 0.0), 1.0)
    return EFFICIENCY_SMALL + size * (EFFICIENCY_LARGE - EFFICIENCY_SMALL)


def blade_passage(tip_angle: float, hub_ratio: float = HUB_RATIO) -> float:
    """Passage between thin blades over the inlet annulus: the mean cosine of the blade angle, its tangent going with radius.

    The blades of an inducer lie along the relative flow of one axial velocity, so that tan(angle) grows as the radius.

    tip_angle : float, blade angle at the tip, from axial [deg]
    hub_ratio : float, hub over inducer diameter at the inlet [-]
    Returns share of the annulus [-].
    """
    slope = math.tan(math.radians(tip_angle)) ** 2
    inner = hub_ratio * hub_ratio
    return 2.0 / slope * (math.sqrt(1.0 + slope) - math.sqrt(1.0 + slope * inner)) / (1.0 - inner)


@compiled
def head_ratio(pressure_ratio, gamma):
    """Isentropic rise of temperature over inlet temperature; 0 for a ratio of 1 or less.

    pressure_ratio : float, outlet over inlet pressure [-]
    gamma : float, ratio of specific heats [-]
    Returns head ratio [-].
    """
    return max(pressure_ratio, 1.0) ** ((gamma - 1.0) / gamma) - 1.0


@compiled
def throat(machine, T1, p1, r, gamma):
    """What chokes the inducer: flow at rest, and how speed raises it with the head ratio.

    Rotating throat: mdot = A rho01 a01 [(2 + (gamma-1) U^2/a01^2)/(gamma+1)]^((gamma+1)/(2(gamma-1))), S. L. Dixon,
    Thermodynamics of Turbomachinery, ch. 7 (from memory, confidence high); U at the mean inducer radius. With the speed
    that gives the head at peak efficiency this is at_rest (1 + spin head)^((gamma+1)/(2(gamma-1))).

    machine : WheelCompressor, the machine [-]
    T1 : float, inlet temperature [K]
    p1 : float, inlet pressure [Pa]
    r : float, specific gas constant [J/(kg K)]
    gamma : float, ratio of specific heats [-]
    Returns flow that chokes the wheel at rest [kg/s]; spin [-].
    """
    inducer, hub2 = machine.inducer_diameter, machine.hub_ratio * machine.hub_ratio
    annulus = 0.25 * math.pi * inducer * inducer * (1.0 - hub2)
    at_rest = choked_flow_function(gamma) * machine.throat_ratio * annulus * p1 / math.sqrt(r * T1)
    mean = inducer * inducer * 0.5 * (1.0 + hub2) / (machine.wheel_diameter * machine.wheel_diameter)
    return at_rest, 0.5 * mean / (machine.efficiency_peak * machine.work_coefficient)


@compiled
def choke_flow(machine, pressure_ratio, T1, p1, r, gamma):
    """Flow at which the inducer throat chokes, at the speed that gives the pressure ratio at peak efficiency.

    machine : WheelCompressor, the machine [-]
    pressure_ratio : float, outlet over inlet pressure [-]
    T1 : float, inlet temperature [K]
    p1 : float, inlet pressure [Pa]
    r : float, specific gas constant [J/(kg K)]
    gamma : float, ratio of specific heats [-]
    Returns mass flow [kg/s].
    """
    at_rest, spin = throat(machine, T1, p1, r, gamma)
    return at_rest * (1.0 + spin * head_ratio(pressure_ratio, gamma)) ** (0.5 * (gamma + 1.0) / (gamma - 1.0))


@compiled
def surge_share(pressure_ratio):
    """Surge over choke flow, growing with pressure ratio. From memory, confidence low: replace by a map where there is one.

    pressure_ratio : float, outlet over inlet pressure [-]
    Returns share [-].
    """
    return min(SURGE_AT_REST + SURGE_PER_RATIO * max(pressure_ratio - 1.0, 0.0), SURGE_MOST)


@compiled
def surge_flow(machine, pressure_ratio, T1, p1, r, gamma):
    """Flow below which the machine is expected to surge: a share of the choke flow that grows with pressure ratio.

    machine : WheelCompressor, the machine [-]
    pressure_ratio : float, outlet over inlet pressure [-]
    T1 : float, inlet temperature [K]
    p1 : float, inlet pressure [Pa]
    r : float, specific gas constant [J/(kg K)]
    gamma : float, ratio of specific heats [-]
    Returns mass flow [kg/s].
    """
    return surge_share(pressure_ratio) * choke_flow(machine, pressure_ratio, T1, p1, r, gamma)


@compiled
def efficiency_at(machine, position):
    """Isentropic efficiency: a parabola on either side of its peak, between surge and choke. Shape from memory, low.

    machine : WheelCompressor, the machine [-]
    position : float, place between surge (0) and choke (1) at the pressure ratio [-]
    Returns isentropic efficiency [-].
    """
    if position < PEAK_POSITION:
        loss = LOSS_AT_SURGE * ((PEAK_POSITION - position) / PEAK_POSITION) ** 2
    else:
        loss = LOSS_AT_CHOKE * ((position - PEAK_POSITION) / (1.0 - PEAK_POSITION)) ** 2
    return machine.efficiency_peak * (1.0 - min(loss, LOSS_MOST))


@compiled
def wheel_state(machine, mass_flow, pressure_ratio, T1, p1, r, gamma):
    """Work and shaft speed at a flow and pressure ratio.

    Between surge and choke: efficiency and work coefficient by the place. Short of surge the head of a shaft speed stays as
    it is at surge while the efficiency falls on. Past choke a wheel passes no more at its speed, so it turns as fast as makes
    its throat pass the flow, and what pressure it makes beyond the asked is lost.

    machine : WheelCompressor, the machine [-]
    mass_flow : float, mass flow [kg/s]
    pressure_ratio : float, outlet over inlet pressure [-]
    T1 : float, inlet temperature [K]
    p1 : float, inlet pressure [Pa]
    r : float, specific gas constant [J/(kg K)]
    gamma : float, ratio of specific heats [-]
    Returns rise of stagnation enthalpy [J/kg]; shaft speed [rad/s].
    """
    at_rest, spin = throat(machine, T1, p1, r, gamma)
    head = head_ratio(pressure_ratio, gamma)
    power = 0.5 * (gamma + 1.0) / (gamma - 1.0)
    choke = at_rest * (1.0 + spin * head) ** power
    if mass_flow >= choke:
        head = ((mass_flow / at_rest) ** (1.0 / power) - 1.0) / spin
        position = 1.0
    else:
        surge = surge_share(pressure_ratio) * choke
        position = (mass_flow - surge) / (choke - surge)
    efficiency = efficiency_at(machine, position)
    place = max(position, 0.0)
    # the head a speed makes, over the squared tip speed
    made = efficiency_at(machine, place) * machine.work_coefficient * (1.0 + WORK_SLOPE * (PEAK_POSITION - place))
    ideal = r * gamma / (gamma - 1.0) * T1 * head
    return ideal / efficiency, 2.0 * math.sqrt(ideal / made) / machine.wheel_diameter


@compiled
def wheel_efficiency(machine, mass_flow, pressure_ratio, T1, p1, r, gamma):
    """Isentropic efficiency of the parametric machine at a flow and pressure ratio (see wheel_state).

    machine : WheelCompressor, the machine [-]
    mass_flow : float, mass flow [kg/s]
    pressure_ratio : float, outlet over inlet pressure, above 1 [-]
    T1 : float, inlet temperature [K]
    p1 : float, inlet pressure [Pa]
    r : float, specific gas constant [J/(kg K)]
    gamma : float, ratio of specific heats [-]
    Returns isentropic efficiency [-].
    """
    work, _ = wheel_state(machine, mass_flow, pressure_ratio, T1, p1, r, gamma)
    return r * gamma / (gamma - 1.0) * T1 * head_ratio(pressure_ratio, gamma) / work
