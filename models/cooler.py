"""The charge cooler: effectiveness, pressure loss, and how both move with flow."""

import math

from .compiled import compiled

COUNTERFLOW, CROSSFLOW = 0, 1  # arrangement of effectiveness_ntu


@compiled
def outlet_temperature(T_in, T_coolant, effectiveness):
    """Charge temperature after the cooler; effectiveness referred to the charge as the smaller heat-capacity flow.

    T_in : float, charge temperature before the cooler [K]
    T_coolant : float, temperature of the cooling air or water entering [K]
    effectiveness : float, share of the largest possible cooling, 0 to 1 [-]
    Returns temperature [K].
    """
    return T_in - effectiveness * (T_in - T_coolant)


@compiled
def heat_flow(mass_flow, cp, T_in, T_out):
    """Heat taken from the charge.

    mass_flow : float, charge flow [kg/s]
    cp : float, specific heat at constant pressure [J/(kg K)]
    T_in : float, charge temperature before the cooler [K]
    T_out : float, charge temperature after the cooler [K]
    Returns heat flow [W].
    """
    return mass_flow * cp * (T_in - T_out)


@compiled
def effectiveness_ntu(ntu, capacity_ratio, arrangement):
    """Effectiveness from the number of transfer units (F. P. Incropera et al., Heat and Mass Transfer, table 11.3).

    Cross-flow is for both streams unmixed, whose formula is an approximation (exact at capacity_ratio 1).

    ntu : float, number of transfer units UA/C_min, 0 or more [-]
    capacity_ratio : float, smaller over larger heat-capacity flow, 0 to 1 [-]
    arrangement : int, COUNTERFLOW (0) or CROSSFLOW (1) [-]
    Returns effectiveness [-].
    """
    if ntu <= 0.0:
        return 0.0
    if capacity_ratio < 1e-9:
        return 1.0 - math.exp(-ntu)
    if arrangement == CROSSFLOW:
        return 1.0 - math.exp(ntu**0.22 / capacity_ratio * (math.exp(-capacity_ratio * ntu**0.78) - 1.0))
    if capacity_ratio > 1.0 - 1e-9:
        return ntu / (1.0 + ntu)
    decay = math.exp(-ntu * (1.0 - capacity_ratio))
    return (1.0 - decay) / (1.0 - capacity_ratio * decay)


@compiled
def effectiveness_at(mass_flow, flow_point, effectiveness_point, exponent):
    """Effectiveness at another charge flow than the one it was measured at, coolant plentiful: 1 - exp(-NTU).

    NTU falls as flow^-exponent: 0.2 for turbulent passages whose conductance grows as flow^0.8 (common practice, no
    source), 1 for a conductance that the other side sets.

    mass_flow : float, charge flow, more than 0 [kg/s]
    flow_point : float, charge flow of the stated point [kg/s]
    effectiveness_point : float, effectiveness of the stated point, below 1 [-]
    exponent : float, exponent of the fall of NTU with flow [-]
    Returns effectiveness [-].
    """
    ntu = -math.log(1.0 - effectiveness_point) * (mass_flow / flow_point) ** -exponent
    return 1.0 - math.exp(-ntu)


@compiled
def loss_constant(loss, mass_flow, T, p):
    """Constant of a turbulent pressure loss from one stated point: loss p / (flow^2 T).

    loss : float, pressure loss of the point [Pa]
    mass_flow : float, charge flow of the point [kg/s]
    T : float, mean charge temperature of the point [K]
    p : float, pressure before the cooler at the point [Pa]
    Returns loss constant [Pa2 s2/(kg2 K)].
    """
    return loss * p / (mass_flow * mass_flow * T)


@compiled
def pressure_loss(constant, mass_flow, T, p):
    """Pressure loss, proportional to flow^2 T / p (turbulent: dynamic pressure at given geometry).

    constant : float, from loss_constant [Pa2 s2/(kg2 K)]
    mass_flow : float, charge flow [kg/s]
    T : float, mean charge temperature [K]
    p : float, pressure before the cooler [Pa]
    Returns pressure loss [Pa].
    """
    return constant * mass_flow * mass_flow * T / p


@compiled
def inlet_pressure(constant, mass_flow, T, p_out):
    """Pressure before the cooler that leaves p_out behind it: the positive root of p - loss(p) = p_out.

    constant : float, from loss_constant [Pa2 s2/(kg2 K)]
    mass_flow : float, charge flow [kg/s]
    T : float, mean charge temperature [K]
    p_out : float, pressure after the cooler [Pa]
    Returns pressure [Pa].
    """
    return 0.5 * (p_out + math.sqrt(p_out * p_out + 4.0 * constant * mass_flow * mass_flow * T))
