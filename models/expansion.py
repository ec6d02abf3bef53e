"""Expansion through the turbine: what flows and what work it gives at a state, read from the characteristic.

A `Turbine` holds one interpolated characteristic, so that the kernel pays the same whatever it was built from (`turbine`).
Only stagnation-inlet to static-outlet states are used.
"""

import math
from typing import NamedTuple

import numpy as np

from .compiled import compiled

PARABOLA, TABLE = 0, 1  # Turbine.efficiency_model

# Below this ln(p0/p4) the root s = sqrt(ln(p0/p4)) is replaced by a cubic with the same value and slope at the edge,
# so that the conductance stays finite at rest; the same 0.2 % of the pressure as flow.BAND.
LOG_BAND = 0.002


class Turbine(NamedTuple):
    """Interpolated characteristic of one turbine entry, on s = sqrt(ln(p0/p4)) and M = U^2/(r T0).

    ds : float, spacing of s, nodes from 0 [-]
    dm : float, spacing of M, nodes from 0 [-]
    flow : float64 array (n_m, n_s), swallowing mdot sqrt(r T0)/p0 of the whole machine [m2]
    efficiency : float64 array (n_m, n_s), isentropic efficiency, read when efficiency_model is TABLE [-]
    efficiency_model : int, PARABOLA (0) in blade-speed ratio or TABLE (1) [-]
    efficiency_peak : float, peak total-to-static efficiency of the parabola [-]
    blade_speed_ratio_peak : float, blade-speed ratio of the peak [-]
    wheel_diameter : float, wheel inlet (tip) diameter [m]
    share : float, fraction of the machine the first entry feeds; flow is multiplied by it [-]
    unequal_loss : float, relative loss of efficiency while the other entry passes nothing [-]
    """

    ds: float
    dm: float
    flow: np.ndarray
    efficiency: np.ndarray
    efficiency_model: int
    efficiency_peak: float
    blade_speed_ratio_peak: float
    wheel_diameter: float
    share: float
    unequal_loss: float = 0.0


@compiled
def interpolate(table, u, v):
    """Bilinear value of a table on unit-spaced nodes, constant beyond its ends, and its slope along the second axis.

    table : float64 array (n_u, n_v), values on nodes 0, 1, 2, ... [as the table]
    u : float, position along the first axis, 0 or more [-]
    v : float, position along the second axis, 0 or more [-]
    Returns value [as the table]; slope along v, 0 beyond the last node [as the table].
    """
    n_u, n_v = table.shape
    i = min(int(min(u, 1.0e6)), n_u - 2)
    j = min(int(min(v, 1.0e6)), n_v - 2)
    a = min(u - i, 1.0)
    b = v - j
    left = table[i, j] + a * (table[i + 1, j] - table[i, j])
    right = table[i, j + 1] + a * (table[i + 1, j + 1] - table[i, j + 1])
    if b >= 1.0:
        return right, 0.0
    return left + b * (right - left), right - left


@compiled
def expansion_coordinate(p0, p4):
    """Coordinate s = sqrt(ln(p0/p4)) of the characteristic, smooth at rest, and its slope.

    p0 : float, inlet stagnation pressure [Pa]
    p4 : float, outlet static pressure, below p0 [Pa]
    Returns s [-]; ds / d ln(p0), finite [-].
    """
    log_ratio = math.log(p0 / p4)
    if log_ratio >= LOG_BAND:
        s = math.sqrt(log_ratio)
        return s, 0.5 / s
    edge = math.sqrt(LOG_BAND)
    z = log_ratio / LOG_BAND
    return edge * z * (1.25 - 0.25 * z * z), edge / LOG_BAND * (1.25 - 0.75 * z * z)


@compiled
def turbine_flow(turbine, p0, T0, r, p4, tip_speed):
    """Mass flow through the turbine entry, with its conductance; zero for p0 <= p4.

    turbine : Turbine, the characteristic [-]
    p0 : float, inlet stagnation pressure [Pa]
    T0 : float, inlet stagnation temperature [K]
    r : float, specific gas constant [J/(kg K)]
    p4 : float, outlet static pressure [Pa]
    tip_speed : float, wheel tip speed [m/s]
    Returns mass flow, 0 or more [kg/s]; conductance d(flow)/d(p0), finite [kg/(s Pa)].
    """
    if p0 <= p4:
        return 0.0, 0.0
    s, slope = expansion_coordinate(p0, p4)
    speed = tip_speed * tip_speed / (r * T0 * turbine.dm)
    value, rise = interpolate(turbine.flow, speed, s / turbine.ds)
    scale = turbine.share / math.sqrt(r * T0)
    return scale * p0 * value, scale * (value + rise / turbine.ds * slope)


@compiled
def beside_first(turbine, entry):
    """What an entry swallows over what the first one does, at one state: the second has what the first leaves of the machine.

    Throat and wheel are taken to be divided in the same proportion, so that an entry is a sector of the whole machine.

    turbine : Turbine, the characteristic [-]
    entry : int, 0 or 1 [-]
    Returns ratio, 1 for the first entry and for halves [-].
    """
    if entry == 0:
        return 1.0
    return (1.0 - turbine.share) / turbine.share


@compiled
def turbine_work(p0, T0, r, gamma, p4):
    """Isentropic specific work, inlet stagnation to outlet static state; zero for p0 <= p4.

    p0 : float, inlet stagnation pressure [Pa]
    T0 : float, inlet stagnation temperature [K]
    r : float, specific gas constant [J/(kg K)]
    gamma : float, ratio of specific heats [-]
    p4 : float, outlet static pressure [Pa]
    Returns specific work [J/kg].
    """
    if p0 <= p4:
        return 0.0
    k = (gamma - 1.0) / gamma
    return r * T0 / k * (1.0 - math.exp(k * math.log(p4 / p0)))


@compiled
def blade_speed_ratio(tip_speed, work):
    """Blade-speed ratio U/c0, c0 the spouting velocity of the isentropic work.

    tip_speed : float, wheel tip speed [m/s]
    work : float, isentropic specific work, more than 0 [J/kg]
    Returns blade-speed ratio [-].
    """
    return tip_speed / math.sqrt(2.0 * work)


@compiled
def efficiency_parabola(ratio, peak, ratio_peak):
    """Efficiency as a parabola in blade-speed ratio, floored at 0 (form: Guzzella & Onder; Eriksson & Nielsen).

    ratio : float, blade-speed ratio U/c0 [-]
    peak : float, peak efficiency [-]
    ratio_peak : float, blade-speed ratio of the peak [-]
    Returns efficiency [-].
    """
    off = (ratio - ratio_peak) / ratio_peak
    return max(peak * (1.0 - off * off), 0.0)


@compiled
def turbine_efficiency(turbine, p0, T0, r, gamma, p4, tip_speed):
    """Total-to-static isentropic efficiency of the entry; zero for p0 <= p4.

    turbine : Turbine, the characteristic [-]
    p0 : float, inlet stagnation pressure [Pa]
    T0 : float, inlet stagnation temperature [K]
    r : float, specific gas constant [J/(kg K)]
    gamma : float, ratio of specific heats [-]
    p4 : float, outlet static pressure [Pa]
    tip_speed : float, wheel tip speed [m/s]
    Returns efficiency [-].
    """
    work = turbine_work(p0, T0, r, gamma, p4)
    if work <= 0.0:
        return 0.0
    if turbine.efficiency_model == TABLE:
        s, _ = expansion_coordinate(p0, p4)
        speed = tip_speed * tip_speed / (r * T0 * turbine.dm)
        return interpolate(turbine.efficiency, speed, s / turbine.ds)[0]
    ratio = blade_speed_ratio(tip_speed, work)
    return efficiency_parabola(ratio, turbine.efficiency_peak, turbine.blade_speed_ratio_peak)


@compiled
def admission(turbine, flow, other):
    """Share of the efficiency left where two entries pass unequal flows: one alone fills half of the wheel.

    Form and size by judgement: the loss grows with the square of the imbalance; from memory, confidence low, 0.05-0.25 for one
    entry alone. No published figure was at hand. Entries of unequal size are alike where their flows over their sizes are.

    turbine : Turbine, the characteristic [-]
    flow : float, flow of this entry over its size, 0 or more [kg/s]
    other : float, flow of the other entry over its size, 0 or more [kg/s]
    Returns share, 1 where both pass alike [-].
    """
    both = flow + other
    if both <= 0.0:
        return 1.0
    off = (flow - other) / both
    return 1.0 - turbine.unequal_loss * off * off


@compiled
def maximum_flow(turbine, p0, T0, r, tip_speed):
    """Mass flow at the end of the characteristic: the plateau a choked turbine cannot pass.

    For a curve that ends before it is flat this is the end of the data, not yet the choked flow.

    turbine : Turbine, the characteristic [-]
    p0 : float, inlet stagnation pressure [Pa]
    T0 : float, inlet stagnation temperature [K]
    r : float, specific gas constant [J/(kg K)]
    tip_speed : float, wheel tip speed [m/s]
    Returns mass flow [kg/s].
    """
    speed = tip_speed * tip_speed / (r * T0 * turbine.dm)
    value, _ = interpolate(turbine.flow, speed, float(turbine.flow.shape[1]))
    return turbine.share * p0 * value / math.sqrt(r * T0)
