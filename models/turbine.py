"""The turbine as a restriction: swallowing characteristic, efficiency, isentropic work; builders from what is known.

A `Turbine` holds one interpolated characteristic, so that the kernel pays the same whatever it was built from: an
effective area, hardware (two nozzles in series, after F. Payri, J. Benajes, M. Reyes, Int. J. Mech. Sci. 38 (1996)
853-869) or a measured curve. Only stagnation-inlet to static-outlet states are used.
"""

import math
from typing import NamedTuple

import numpy as np
from scipy.interpolate import PchipInterpolator

from .compiled import compiled
from .flow import flow_function

PARABOLA, TABLE = 0, 1  # Turbine.efficiency_model

PRESSURE_RATIO_END = 8.0  # the characteristic is constant beyond this expansion ratio
TIP_SPEED_END = 2.5  # last node of the tip-speed parameter U^2/(r T0): 790 m/s at 870 K
N_PRESSURE, N_SPEED = 97, 26

# Below this ln(p0/p4) the root s = sqrt(ln(p0/p4)) is replaced by a cubic with the same value and slope at the edge,
# so that the conductance stays finite at rest; the same 0.2 % of the pressure as flow.BAND.
LOG_BAND = 0.002

# Stand-ins, from memory, confidence medium, for small radial exhaust-gas turbines; each an argument of the builders.
EFFICIENCY_PEAK = 0.70  # total to static, shaft bearing loss not included; 0.65-0.75
BLADE_SPEED_RATIO_PEAK = 0.70  # Int. J. Rotating Machinery 2012, art. 589720: "peak efficiency at speed ratios of 0.7"
NOZZLE_ANGLE = 72.5  # flow angle at the rotor inlet, from radial [deg]: optimum_inlet_angle of 11 blades; 65-75
DISCHARGE_STATOR = 0.95  # volute or vane throat
DISCHARGE_ROTOR = 0.90  # rotor throat, relative to annulus x cos(exit angle)
INCIDENCE_LOSS = 1.0  # all of the tangential relative velocity at the rotor inlet, beyond the wheel's own


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
    share : float, fraction of the machine this entry feeds; flow is multiplied by it [-]
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


@compiled
def swallowing_from_corrected(corrected_flow, T_ref, p_ref, r):
    """Swallowing mdot sqrt(r T0)/p0 from a corrected flow mdot sqrt(T0/T_ref)/(p0/p_ref).

    corrected_flow : float or array, corrected mass flow [kg/s]
    T_ref : float, reference temperature the flow was corrected to [K]
    p_ref : float, reference pressure the flow was corrected to [Pa]
    r : float, specific gas constant of the test gas [J/(kg K)]
    Returns swallowing [m2].
    """
    return corrected_flow * math.sqrt(r * T_ref) / p_ref


@compiled
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


_DS = math.sqrt(math.log(PRESSURE_RATIO_END)) / (N_PRESSURE - 1)
_DM = TIP_SPEED_END / (N_SPEED - 1)
_S = _DS * np.arange(N_PRESSURE)


def _record(
    flow: np.ndarray, efficiency: np.ndarray | None, peak: float, ratio_peak: float, wheel: float, share: float
) -> Turbine:
    return Turbine(
        ds=_DS,
        dm=_DM,
        flow=np.ascontiguousarray(flow, dtype=float),
        efficiency=np.zeros((2, N_PRESSURE)) if efficiency is None else np.ascontiguousarray(efficiency, dtype=float),
        efficiency_model=PARABOLA if efficiency is None else TABLE,
        efficiency_peak=float(peak),
        blade_speed_ratio_peak=float(ratio_peak),
        wheel_diameter=float(wheel),
        share=float(share),
    )


def from_area(
    area: float,
    gamma: float,
    wheel_diameter: float,
    efficiency_peak: float = EFFICIENCY_PEAK,
    blade_speed_ratio_peak: float = BLADE_SPEED_RATIO_PEAK,
    share: float = 1.0,
) -> Turbine:
    """Turbine as one isentropic nozzle of given effective area, the same at every shaft speed.

    area : float, effective area of the whole machine [m2]
    gamma : float, ratio of specific heats of the exhaust gas [-]
    wheel_diameter : float, wheel inlet diameter [m]
    efficiency_peak : float, peak total-to-static efficiency [-]
    blade_speed_ratio_peak : float, blade-speed ratio of the peak [-]
    share : float, fraction of the machine this entry feeds [-]
    Returns Turbine [-]. Raises ValueError for an area that is not positive.
    """
    if not area > 0.0:
        raise ValueError("area must be positive")
    row = np.array([0.0] + [area * flow_function(math.exp(-s * s), gamma)[0] for s in _S[1:]])
    return _record(np.vstack((row, row)), None, efficiency_peak, blade_speed_ratio_peak, wheel_diameter, share)


def from_hardware(
    throat_area: float,
    wheel_inlet_diameter: float,
    wheel_outlet_diameter: float,
    hub_diameter: float,
    exit_angle: float,
    gamma: float,
    nozzle_angle: float = NOZZLE_ANGLE,
    discharge_stator: float = DISCHARGE_STATOR,
    discharge_rotor: float = DISCHARGE_ROTOR,
    incidence_loss: float = INCIDENCE_LOSS,
    efficiency_peak: float = EFFICIENCY_PEAK,
    blade_speed_ratio_peak: float = BLADE_SPEED_RATIO_PEAK,
    share: float = 1.0,
) -> Turbine:
    """Turbine from its hardware as two nozzles in series: housing throat and rotor (Payri, Benajes, Reyes 1996).

    The throat area of a housing marked by A/R is (A/R) x R, R from the shaft axis to the centroid of the throat (SAE
    J922). The rotor throat is the exit annulus times the cosine of the blade angle. A sound first answer where there
    is no map; the swallowing of a real wheel departs from it by the discharge coefficients, which are arguments.

    throat_area : float, housing throat area, all entries together [m2]
    wheel_inlet_diameter : float, rotor inlet (tip) diameter [m]
    wheel_outlet_diameter : float, rotor outlet (exducer) diameter [m]
    hub_diameter : float, hub diameter at the rotor outlet [m]
    exit_angle : float, rotor exit blade angle from axial, at the mean radius [deg]
    gamma : float, ratio of specific heats of the exhaust gas [-]
    nozzle_angle : float, flow angle at the rotor inlet, from radial [deg]
    discharge_stator : float, discharge coefficient of the housing throat [-]
    discharge_rotor : float, discharge coefficient of the rotor [-]
    incidence_loss : float, share of the tangential incidence energy lost, 0 to 1 [-]
    efficiency_peak : float, peak total-to-static efficiency [-]
    blade_speed_ratio_peak : float, blade-speed ratio of the peak [-]
    share : float, fraction of the machine this entry feeds [-]
    Returns Turbine [-]. Raises ValueError for hardware that leaves no passage.
    """
    annulus = 0.25 * math.pi * (wheel_outlet_diameter**2 - hub_diameter**2)
    rotor_area = annulus * math.cos(math.radians(exit_angle))
    if not (throat_area > 0.0 and rotor_area > 0.0 and wheel_inlet_diameter > 0.0 and hub_diameter >= 0.0):
        raise ValueError("throat area and rotor exit area must be positive")
    mean_exit_diameter = math.sqrt(0.5 * (wheel_outlet_diameter**2 + hub_diameter**2))
    passages = Passages(
        stator=float(discharge_stator * throat_area),
        rotor=float(discharge_rotor * rotor_area),
        radius_ratio=float(mean_exit_diameter / wheel_inlet_diameter),
        swirl=math.sin(math.radians(nozzle_angle)),
        incidence_loss=float(incidence_loss),
        gamma=float(gamma),
    )
    flow = np.zeros((N_SPEED, N_PRESSURE))
    fill_series(passages, _DS, _DM, flow)
    return _record(flow, None, efficiency_peak, blade_speed_ratio_peak, wheel_inlet_diameter, share)


def from_curve(
    pressure_ratio: np.ndarray,
    swallowing: np.ndarray,
    wheel_diameter: float,
    efficiency: np.ndarray | None = None,
    efficiency_peak: float = EFFICIENCY_PEAK,
    blade_speed_ratio_peak: float = BLADE_SPEED_RATIO_PEAK,
    share: float = 1.0,
) -> Turbine:
    """Turbine from a measured swallowing curve, the same at every shaft speed.

    Shape-preserving cubic (F. N. Fritsch & R. E. Carlson, SIAM J. Numer. Anal. 17 (1980) 238-246) in
    sqrt(ln(pressure ratio)), in which a nozzle starts as a straight line from zero; constant beyond the last point.

    pressure_ratio : float array (n,), inlet stagnation to outlet static, rising, all above 1 [-]
    swallowing : float array (n,), mdot sqrt(r T0)/p0, not falling (swallowing_from_corrected converts) [m2]
    wheel_diameter : float, wheel inlet diameter [m]
    efficiency : float array (n,) or None, total-to-static efficiency at the points, constant beyond both ends [-]
    efficiency_peak : float, peak efficiency where no efficiency is given [-]
    blade_speed_ratio_peak : float, blade-speed ratio of the peak where no efficiency is given [-]
    share : float, fraction of the machine this entry feeds [-]
    Returns Turbine [-]. Raises ValueError for a curve that is not as said above.
    """
    ratio, flow = np.asarray(pressure_ratio, dtype=float), np.asarray(swallowing, dtype=float)
    if ratio.ndim != 1 or ratio.shape != flow.shape or ratio.size < 1:
        raise ValueError("pressure ratio and flow must be lists of the same length")
    if not (ratio[0] > 1.0 and np.all(np.diff(ratio) > 0.0)):
        raise ValueError("pressure ratios must rise and exceed 1")
    if not (flow[0] > 0.0 and np.all(np.diff(flow) >= 0.0)):
        raise ValueError("flow must be positive and must not fall with pressure ratio")
    s = np.sqrt(np.log(ratio))
    inside = np.clip(_S, 0.0, s[-1])
    row = PchipInterpolator(np.append(0.0, s), np.append(0.0, flow))(inside)
    table = None
    if efficiency is not None:
        values = np.asarray(efficiency, dtype=float)
        if values.shape != ratio.shape or not np.all((values >= 0.0) & (values <= 1.0)):
            raise ValueError("efficiency must give one value between 0 and 1 for each pressure ratio")
        read = PchipInterpolator(s, values) if s.size > 1 else (lambda x: np.full_like(x, values[0]))
        line = read(np.clip(_S, s[0], s[-1]))
        table = np.vstack((line, line))
    return _record(np.vstack((row, row)), table, efficiency_peak, blade_speed_ratio_peak, wheel_diameter, share)
