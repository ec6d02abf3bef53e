"""Compressible flow through a restriction, choked and not: a base room like gas, shared by valves and turbines.

Isentropic nozzle of a perfect gas (Saint-Venant & Wantzel 1839; NACA Report 1135, 1953). With x = downstream/upstream
pressure, k = (gamma-1)/gamma and y = x^k the flow function is psi = (x/y) sqrt(q), q = (2/k)(1-y), and
d ln psi / d ln x = 1 - k - y/q, so the derivative comes with the flow: one exponential, one logarithm, one root.
"""

import math

from .compiled import compiled, inlined

# Half-width (p_up - p_down)/p_up of the band in which link_flow replaces the root; small against any pressure drop
# that matters (0.2 % of the pressure), wide enough to keep the slope finite for an implicit step. Numerical choice.
BAND = 0.002

# Every gas chokes below this pressure ratio (the critical ratio falls with gamma, and is 0.487 at gamma = 5/3): a short cut.
SURELY_CHOKED = 0.48


@compiled
def critical_ratio(gamma):
    """Downstream to upstream pressure at which an isentropic nozzle chokes (NACA Report 1135, eq. 44).

    gamma : float, ratio of specific heats [-]
    Returns critical pressure ratio [-].
    """
    return (2.0 / (gamma + 1.0)) ** (gamma / (gamma - 1.0))


@compiled
def choked_flow_function(gamma):
    """Flow function mdot sqrt(r T0) / (A p0) of a choked nozzle, its maximum.

    gamma : float, ratio of specific heats [-]
    Returns flow function [-].
    """
    return math.sqrt(gamma) * math.exp(0.5 * (gamma + 1.0) / (gamma - 1.0) * math.log(2.0 / (gamma + 1.0)))


@compiled
def flow_function(x, gamma):
    """Flow function mdot sqrt(r T0) / (A p0) of an isentropic nozzle, and its elasticity.

    x : float, downstream to upstream pressure, 0 to below 1 [-]
    gamma : float, ratio of specific heats [-]
    Returns flow function [-]; d ln(flow) / d ln(upstream pressure), infinite at x = 1, 1 when choked [-].
    """
    if x < SURELY_CHOKED:
        return choked_flow_function(gamma), 1.0
    k = (gamma - 1.0) / gamma
    y = math.exp(k * math.log(x))
    if y * (gamma + 1.0) <= 2.0:
        return choked_flow_function(gamma), 1.0
    q = 2.0 * (1.0 - y) / k
    return x / y * math.sqrt(q), k + y / q


@compiled
def nozzle_flow(area, p_up, T_up, r_up, gamma_up, p_down):
    """Mass flow through an isentropic nozzle, choked and not (p_up >= p_down).

    area : float, effective area [m2]
    p_up : float, upstream stagnation pressure [Pa]
    T_up : float, upstream stagnation temperature [K]
    r_up : float, specific gas constant [J/(kg K)]
    gamma_up : float, ratio of specific heats [-]
    p_down : float, downstream static pressure [Pa]
    Returns mass flow [kg/s].
    """
    psi, _ = flow_function(min(p_down / p_up, 1.0), gamma_up)
    return area * p_up * psi / math.sqrt(r_up * T_up)


@compiled
def orifice_flow(discharge, area, p_up, T_up, r_up, gamma_up, p_down):
    """Mass flow through a nozzle of given geometric area and discharge coefficient (p_up >= p_down).

    discharge : float, discharge coefficient, real to isentropic flow [-]
    area : float, geometric throat area [m2]
    p_up : float, upstream stagnation pressure [Pa]
    T_up : float, upstream stagnation temperature [K]
    r_up : float, specific gas constant [J/(kg K)]
    gamma_up : float, ratio of specific heats [-]
    p_down : float, downstream static pressure [Pa]
    Returns mass flow [kg/s].
    """
    return nozzle_flow(discharge * area, p_up, T_up, r_up, gamma_up, p_down)


@inlined
def band_edge(gamma, band):
    """Flow function and its elasticity at the edge of the band, x = 1 - band, by series: no power, one root.

    With z = k ln x small, y = x^k, s = (y - 1)/z, the root of s and 1/y follow from their series in z, to 1e-9.

    gamma : float, ratio of specific heats [-]
    band : float, half-width of the band, at most 0.03 [-]
    Returns flow function [-]; d ln(flow) / d ln(upstream pressure) [-].
    """
    k = (gamma - 1.0) / gamma
    log_x = -band * (1.0 + band * (0.5 + band * (1.0 / 3.0 + band * (0.25 + band * 0.2))))
    z = k * log_x
    w = z * (0.5 + z * (1.0 / 6.0 + z * (1.0 / 24.0 + z / 120.0)))  # s - 1
    y = 1.0 + z * (1.0 + w)
    inverse_y = 1.0 - z * (1.0 - z * (0.5 - z * (1.0 / 6.0 - z * (1.0 / 24.0 - z / 120.0))))
    root = math.sqrt(-2.0 * log_x) * (1.0 + w * (0.5 - w * (0.125 - w * (0.0625 - w * 0.0390625))))
    return (1.0 - band) * inverse_y * root, k - y / (2.0 * log_x * (1.0 + w))


@inlined
def banded_flow(area, p_up, root_up, gamma_up, p_down, root_down, gamma_down, band):
    """Flow and conductance inside the band: a cubic in z = (p_up - p_down)/(band p_up), from 0 to the edge.

    Value and slope at the edge are the nozzle's. The slope at rest is shared by both directions: 1.25 times the
    harmonic mean of the two edge values (1.25 makes the cubic odd when both gases are alike; the harmonic mean keeps
    it rising whatever the two temperatures), so the flow is continuously differentiable through reversal.

    area : float, effective area [m2]
    p_up : float, upstream stagnation pressure [Pa]
    root_up : float, upstream 1/sqrt(r T) [s/m]
    gamma_up : float, upstream ratio of specific heats [-]
    p_down : float, downstream pressure, at least (1 - band) p_up [Pa]
    root_down : float, downstream 1/sqrt(r T) [s/m]
    gamma_down : float, downstream ratio of specific heats [-]
    band : float, half-width of the band [-]
    Returns mass flow [kg/s]; d(flow)/d(upstream pressure) [kg/(s Pa)].
    """
    edge, elasticity = band_edge(gamma_up, band)
    other, _ = band_edge(gamma_down, band)
    edge *= root_up
    other *= root_down
    start = 2.5 * edge * other / (edge + other)
    # flow/p_up = f(x), elasticity = 1 - x f'/f, so the slope in z = (1-x)/band at z = 1 follows from it
    end = edge * (elasticity - 1.0) * band / (1.0 - band)
    x = p_down / p_up
    z = (1.0 - x) / band
    c2 = 3.0 * edge - 2.0 * start - end
    c3 = start + end - 2.0 * edge
    value = z * (start + z * (c2 + z * c3))
    slope = start + z * (2.0 * c2 + z * 3.0 * c3)
    return area * p_up * value, area * (value + slope * x / band)


@inlined
def directed_flow(area, p_up, root_up, gamma_up, p_down, root_down, gamma_down, band):
    """Flow and conductance of a link whose upstream end is known (p_up >= p_down); see link_flow.

    area : float, effective area [m2]
    p_up : float, upstream stagnation pressure [Pa]
    root_up : float, upstream 1/sqrt(r T) [s/m]
    gamma_up : float, upstream ratio of specific heats [-]
    p_down : float, downstream pressure [Pa]
    root_down : float, downstream 1/sqrt(r T) [s/m]
    gamma_down : float, downstream ratio of specific heats [-]
    band : float, half-width of the band [-]
    Returns mass flow [kg/s]; d(flow)/d(upstream pressure) [kg/(s Pa)].
    """
    x = p_down / p_up
    if x > 1.0 - band:
        return banded_flow(area, p_up, root_up, gamma_up, p_down, root_down, gamma_down, band)
    psi, elasticity = flow_function(x, gamma_up)
    per_pressure = area * psi * root_up
    return per_pressure * p_up, per_pressure * elasticity


@inlined
def rooted_link_flow(area, p_a, root_a, gamma_a, p_b, root_b, gamma_b, band):
    """link_flow for callers that keep 1/sqrt(r T) of each volume: a volume has several links.

    The band may be wide where two volumes meet through an opening as large as a pipe. Such an opening has no throat; what
    really limits the flow at small pressure differences is the gas's inertia, which a volume model leaves out. A wide band
    makes the flow there proportional to the difference.

    area : float, effective area, 0 or more [m2]
    p_a : float, pressure at a [Pa]
    root_a : float, 1/sqrt(r T) at a [s/m]
    gamma_a : float, ratio of specific heats at a [-]
    p_b : float, pressure at b [Pa]
    root_b : float, 1/sqrt(r T) at b [s/m]
    gamma_b : float, ratio of specific heats at b [-]
    band : float, half-width of the band, as a share of the higher pressure [-]
    Returns mass flow from a to b, signed [kg/s]; conductance, 0 or more and finite [kg/(s Pa)].
    """
    if area <= 0.0:
        return 0.0, 0.0
    if p_a >= p_b:
        return directed_flow(area, p_a, root_a, gamma_a, p_b, root_b, gamma_b, band)
    flow, conductance = directed_flow(area, p_b, root_b, gamma_b, p_a, root_a, gamma_a, band)
    return -flow, conductance


@compiled
def link_flow(area, p_a, T_a, r_a, gamma_a, p_b, T_b, r_b, gamma_b):
    """Mass flow between two gas volumes in either direction, with the conductance an implicit step needs.

    Isentropic nozzle from whichever end is higher. Within |p_a - p_b| <= BAND x the higher pressure the root is
    replaced by a cubic (banded_flow): continuously differentiable through zero, exactly the nozzle outside.
    The conductance is d(flow)/d(upstream pressure), because it is continuous through choking, where it is
    flow/pressure. Near equal pressures it equals the derivative to the other pressure to within the relative pressure
    difference; further out it is the larger of the two. Flow is concave in the pressure difference, so a linearly
    implicit step much longer than volume/(conductance r T) overshoots on this tangent; the larger of conductance and
    |flow|/|p_a - p_b| (the chord) equalises two volumes without ringing at any step.

    area : float, effective area, 0 or more [m2]
    p_a : float, pressure at a [Pa]
    T_a : float, temperature at a [K]
    r_a : float, specific gas constant at a [J/(kg K)]
    gamma_a : float, ratio of specific heats at a [-]
    p_b : float, pressure at b [Pa]
    T_b : float, temperature at b [K]
    r_b : float, specific gas constant at b [J/(kg K)]
    gamma_b : float, ratio of specific heats at b [-]
    Returns mass flow from a to b, signed [kg/s]; conductance, 0 or more and finite [kg/(s Pa)].
    """
    root_a, root_b = 1.0 / math.sqrt(r_a * T_a), 1.0 / math.sqrt(r_b * T_b)
    return rooted_link_flow(area, p_a, root_a, gamma_a, p_b, root_b, gamma_b, BAND)
