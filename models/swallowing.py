"""Swallowing of a turbine, mdot sqrt(r T0)/p0: from corrected flow, and from its hardware as two nozzles in series.

After F. Payri, J. Benajes, M. Reyes, Int. J. Mech. Sci. 38 (1996) 853-869, with the state between the nozzles from
continuity.
"""

import math
from typing import NamedTuple

from .compiled import allocating, compiled


class Passages(NamedTuple):
    """The two nozzles in series of a radial turbine.

    stator : float, effective area of the volute or vane throat [m2]
    rotor : float, effective area of the rotor throat [m2]
    radius_ratio : float, mean exit radius over wheel inlet radius [-]
    swirl : float, sine of the flow angle at the rotor inlet, from radial [-]
    incidence_loss : float, share of the tangential incidence energy lost, 0 to 1 [-]
    gamma : float, ratio of specific heats [-]
    """

    stator: float
    rotor: float
    radius_ratio: float
    swirl: float
    incidence_loss: float
    gamma: float


@allocating
def swallowing_from_corrected(corrected_flow, T_ref, p_ref, r):
    """Swallowing mdot sqrt(r T0)/p0 from a corrected flow mdot sqrt(T0/T_ref)/(p0/p_ref).

    corrected_flow : float or array, corrected mass flow [kg/s]
    T_ref : float, reference temperature the flow was corrected to [K]
    p_ref : float, reference pressure the flow was corrected to [Pa]
    r : float, specific gas constant of the test gas [J/(kg K)]
    Returns swallowing [m2].
    """
    return corrected_flow * math.sqrt(r * T_ref) / p_ref


@allocating
def corrected_from_swallowing(swallowing, T_ref, p_ref, r):
    """Corrected flow mdot sqrt(T0/T_ref)/(p0/p_ref) from the swallowing mdot sqrt(r T0)/p0.

    swallowing : float or array, mdot sqrt(r T0)/p0 [m2]
    T_ref : float, reference temperature to correct to [K]
    p_ref : float, reference pressure to correct to [Pa]
    r : float, specific gas constant of the reference gas [J/(kg K)]
    Returns corrected mass flow [kg/s].
    """
    return swallowing * p_ref / math.sqrt(r * T_ref)


@compiled
def optimum_inlet_angle(blades):
    """Absolute flow angle at the rotor inlet, from radial, for least incidence loss: cos^2(angle) = 1/blades.

    A. Whitfield (1990), as given in S. L. Dixon, Thermodynamics of Turbomachinery, ch. 8 (from memory, confidence high).

    blades : float, number of rotor blades [-]
    Returns angle from radial [deg].
    """
    return math.degrees(math.acos(math.sqrt(1.0 / blades)))


@compiled
def series_flows(passages, t1, y4, speed):
    """Squared swallowing of stator and rotor at a guessed state between them.

    The stator expands isentropically to the rotor inlet, which the flow enters at the swirl angle. Rothalpy is
    conserved through the rotor; of the tangential relative velocity the share incidence_loss is dissipated at constant
    pressure (S. L. Dixon, Thermodynamics of Turbomachinery, ch. 8, from memory). The rotor is a nozzle fed by the
    relative stagnation state at its exit radius. Velocities are in units of sqrt(r T0).

    passages : Passages, the two nozzles [-]
    t1 : float, temperature ratio T1/T0 at the rotor inlet, 0 to 1 [-]
    y4 : float, (p4/p0)^((gamma-1)/gamma) [-]
    speed : float, tip-speed parameter U^2/(r T0) [-]
    Returns squared stator swallowing [m4]; squared rotor swallowing [m4].
    """
    gamma, swirl = passages.gamma, passages.swirl
    k = (gamma - 1.0) / gamma
    y_choked = 2.0 / (gamma + 1.0)

    y = max(t1, y_choked)
    stator = passages.stator * math.exp((1.0 / k - 1.0) * math.log(y))
    stator2 = stator * stator * 2.0 / k * (1.0 - y)

    c2 = 2.0 / k * (1.0 - t1)
    u, tangential = math.sqrt(speed), math.sqrt(c2) * swirl
    slip = tangential - u
    spin = passages.radius_ratio * passages.radius_ratio * speed
    recovered = c2 * (1.0 - swirl * swirl) + (1.0 - passages.incidence_loss) * slip * slip
    t_ideal = t1 + 0.5 * k * (recovered - speed + spin)  # carries the relative stagnation pressure
    t_relative = 1.0 + k * (0.5 * spin - u * tangential)  # rothalpy
    if t_ideal <= y4 or t_relative <= 0.0:
        return stator2, 0.0
    y = max(y4 / t_ideal, y_choked)
    rotor = passages.rotor * math.exp(math.log(t_ideal) / k + (1.0 / k - 1.0) * math.log(y))
    return stator2, rotor * rotor * 2.0 / k * (1.0 - y) / t_relative


@compiled
def series_flow(passages, y4, speed, t_high):
    """Swallowing of two nozzles in series, the state between them from continuity (bracketed secant, Illinois form).

    With the stator choked the flow is its plateau; with the rotor choked the state between, and so the flow, no
    longer depends on the outlet pressure.

    passages : Passages, the two nozzles [-]
    y4 : float, (p4/p0)^((gamma-1)/gamma) [-]
    speed : float, tip-speed parameter U^2/(r T0) [-]
    t_high : float, upper bracket of T1/T0: 1, or the solution at a smaller expansion [-]
    Returns swallowing mdot sqrt(r T0)/p0 [m2]; temperature ratio T1/T0 at the rotor inlet [-].
    """
    low, t1 = 0.0, t_high
    stator2, rotor2 = series_flows(passages, low, y4, speed)
    f_low = stator2 - rotor2
    if f_low <= 0.0:  # the rotor takes all a choked stator gives
        return math.sqrt(stator2), low
    stator2, rotor2 = series_flows(passages, t1, y4, speed)
    f = stator2 - rotor2
    if f >= 0.0:  # no flow, or nothing changed since the smaller expansion
        return math.sqrt(stator2), t1
    high, f_high = t1, f
    side = 0
    for _ in range(60):
        t1 = high - f_high * (high - low) / (f_high - f_low)
        stator2, rotor2 = series_flows(passages, t1, y4, speed)
        f = stator2 - rotor2
        if abs(f) <= 1e-12 * stator2 or high - low < 1e-14:
            break
        if f > 0.0:
            low, f_low = t1, f
            f_high *= 0.5 if side == 1 else 1.0
            side = 1
        else:
            high, f_high = t1, f
            f_low *= 0.5 if side == -1 else 1.0
            side = -1
    return math.sqrt(stator2), t1


@compiled
def fill_series(passages, ds, dm, flow):
    """Fill a swallowing table from two nozzles in series.

    passages : Passages, the two nozzles [-]
    ds : float, spacing of sqrt(ln(p0/p4)) [-]
    dm : float, spacing of U^2/(r T0) [-]
    flow : float64 array (n_m, n_s), filled with mdot sqrt(r T0)/p0 [m2]
    Returns nothing [-].
    """
    k = (passages.gamma - 1.0) / passages.gamma
    for i in range(flow.shape[0]):
        t1 = 1.0
        for j in range(flow.shape[1]):
            y4 = math.exp(-k * (j * ds) ** 2)
            flow[i, j], t1 = series_flow(passages, y4, i * dm, t1)
