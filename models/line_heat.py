"""How cool a small tube is along its way from a hot boss: conduction in its wall, natural convection and radiation outside.

The wall is fed along the metal alone; the end is taken as insulated, which is the warm side.
"""

import math
from typing import NamedTuple

import numpy as np

from .compiled import allocating, compiled
from .transport import PRANDTL, STEFAN_BOLTZMANN, air_conductivity, air_viscosity

POINTS = 73  # of the quadrature along the wall [-]
FARTHEST = 40.0 + math.log(2.0)  # spread at which the end's rise, exp(-40) of the boss's, is called none [-]
FEW = 19  # of them, by which the search comes near [-]
NEAR, CLOSE = 1e-5, 1e-7  # shares of its length to which a line is found by few points, and by all [-]
GRAVITY = 9.80665  # [m/s2]
GAS_CONSTANT = 287.05  # air; burned gas is 2 to 6 % higher [J/kgK]
AIR_PRESSURE = 101325.0  # outside the tube [Pa]

# Conductivity along the wall [W/mK] and emissivity of the outside [-]; from memory, confidence med.
TUBE_METALS = {
    "stainless steel": (16.0, 0.6),
    "steel": (48.0, 0.8),
    "copper": (380.0, 0.6),
    "nickel alloy": (14.0, 0.7),
}


class Tube(NamedTuple):
    """The line from the boss to the gauge."""

    bore: float  # [m]
    wall: float  # thickness [m]
    length: float  # [m]
    conductivity: float  # along the wall [W/mK]
    emissivity: float  # of the outside [-]


@compiled
def natural_nusselt(rayleigh, prandtl):
    """Natural convection around a horizontal cylinder, S. W. Churchill and H. H. S. Chu, IJHMT 18 (1975) 1049.

    rayleigh : float, Rayleigh number on the outer diameter, up to 1e12 [-]
    prandtl : float, at film temperature [-]
    Returns the Nusselt number [-]
    """
    group = rayleigh / (1.0 + (0.559 / prandtl) ** (9.0 / 16.0)) ** (16.0 / 9.0)
    return (0.60 + 0.387 * np.cbrt(math.sqrt(group))) ** 2


@compiled
def outside_coefficient(tube, t_wall, t_air):
    """Heat loss of the outside per area and degree, natural convection and radiation, standing air.

    tube : Tube, the line [-]
    t_wall : float, wall temperature [K]
    t_air : float, air and surroundings under the bonnet [K]
    Returns the coefficient [W/m2K]
    """
    diameter, film = tube.bore + 2.0 * tube.wall, 0.5 * (t_wall + t_air)
    kinematic = air_viscosity(film) * GAS_CONSTANT * film / AIR_PRESSURE
    rayleigh = GRAVITY / film * abs(t_wall - t_air) * diameter**3 / kinematic**2 * PRANDTL
    radiation = tube.emissivity * STEFAN_BOLTZMANN * (t_wall * t_wall + t_air * t_air) * (t_wall + t_air)
    return natural_nusselt(rayleigh, PRANDTL) * air_conductivity(film) / diameter + radiation


@compiled
def loss_per_feed(tube, t_wall, t_air):
    """Square of a fin's m: loss of the outside per length over what the wall conducts.

    tube : Tube, the line [-]
    t_wall : float, wall temperature [K]
    t_air : float, air and surroundings [K]
    Returns m2 of T'' = m2 (T - Ta) [1/m2]
    """
    section = math.pi * (tube.bore + tube.wall) * tube.wall
    return (
        math.pi
        * (tube.bore + 2.0 * tube.wall)
        * outside_coefficient(tube, t_wall, t_air)
        / (tube.conductivity * section)
    )


@compiled
def fin(tube, spread, t_hot, t_air, x, t):
    """The line whose end's rise above the air is the boss's over cosh(spread): how far each temperature is from that end.

    T'' = m2(T) (T - Ta) integrates once: T'^2 = 2 integral of m2 (T - Ta) dT, so distance is a quadrature. With the rise
    written as that of the end times cosh(v), v is the distance itself where m2 is constant, and smooth where it is not.
    `tap.wall_profile` reaches the same by finite volumes.

    tube : Tube, the line; its own length is not used [-]
    spread : float, as above, more than 0 [-]
    t_hot : float, boss temperature [K]
    t_air : float, air and surroundings [K]
    x : array (n), written: distance from the insulated end [m]
    t : array (n), written: wall temperature [K]
    Returns the length of the line [m]
    """
    rise, width = (t_hot - t_air) / math.cosh(spread), spread / (x.size - 1)
    x[0], t[0] = 0.0, t_air + rise
    before = loss_per_feed(tube, t[0], t_air)
    pace = 1.0 / math.sqrt(before)  # dx/dv
    s_before = half_square = 0.0  # of the slope over the rise of the end
    for i in range(1, x.size):
        s = math.sinh(width * i)
        t[i] = t_air + rise * math.sqrt(1.0 + s * s)
        m2 = loss_per_feed(tube, t[i], t_air)
        half_square += 0.25 * (m2 + before) * (s * s - s_before * s_before)
        pace_before, pace = pace, s / math.sqrt(2.0 * half_square)
        x[i] = x[i - 1] + 0.5 * (pace + pace_before) * width
        before, s_before = m2, s
    return x[-1]


@allocating
def cooled(tube, t_hot, t_air):
    """Wall temperature along a line of given length by `fin`, its spread found by `spread_for`, to which length is nearly linear.

    tube : Tube, the line [-]
    t_hot : float, boss temperature [K]
    t_air : float, air and surroundings [K]
    Returns (distance from the boss [m], wall temperature [K]), the boss first
    """
    found, wall = np.empty(POINTS + 1), np.empty(POINTS + 1)
    count = 1
    found[0], wall[0] = 0.0, t_hot
    if t_hot - t_air >= 1e-3:  # else no hotter than the air: nothing to lose
        x, t = np.empty(POINTS), np.empty(POINTS)
        spread = min(tube.length * math.sqrt(loss_per_feed(tube, 0.5 * (t_hot + t_air), t_air)), FARTHEST)
        spread, slope = spread_for(tube, t_hot, t_air, spread, spread / tube.length, NEAR, x[:FEW], t[:FEW])
        spread_for(tube, t_hot, t_air, spread, slope, CLOSE, x, t)
        count = POINTS
        for k in range(POINTS):
            found[k], wall[k] = x[POINTS - 1] - x[POINTS - 1 - k], t[POINTS - 1 - k]
    if found[count - 1] < (1.0 - 1e-6) * tube.length:  # the rest of the line is as cool as what is before it
        found[count], wall[count] = tube.length, t_air if count > 1 else t_hot
        count += 1
    return found[:count], wall[:count]


@compiled
def spread_for(tube, t_hot, t_air, spread, slope, close, x, t):
    """Secant search for the spread of a line of given length, FARTHEST where all of it would be longer yet.

    tube : Tube, the line [-]
    t_hot : float, boss temperature [K]
    t_air : float, air and surroundings [K]
    spread, slope : float, where to begin, and how it is taken to rise with length [-, 1/m]
    close : float, share of the length to which it is found [-]
    x, t : arrays (n), written as by `fin` [m, K]
    Returns the spread, and how it rises with length there [-, 1/m]
    """
    spread_before = length_before = 0.0
    for trial in range(30):
        length = fin(tube, spread, t_hot, t_air, x, t)
        missing = tube.length - length
        if abs(missing) < close * tube.length or (spread == FARTHEST and missing > 0.0):
            break
        if trial > 0:
            slope = (spread - spread_before) / (length - length_before)
        spread_before, length_before = spread, length
        spread = min(max(spread + slope * missing, 0.1 * spread), FARTHEST)
    return spread, slope


@allocating
def length_for(tube, t_hot, t_air, limit):
    """Shortest line of this tube that keeps its gauge end at a limit.

    tube : Tube, the line; its own length is not used [-]
    t_hot : float, boss temperature [K]
    t_air : float, air and surroundings [K]
    limit : float, highest temperature of the gauge [K]
    Returns the length; 0 if the boss itself is cool enough, inf if the air is too hot for any length [m]
    """
    if t_hot <= limit:
        return 0.0
    if limit <= t_air:
        return np.inf
    return fin(tube, math.acosh((t_hot - t_air) / (limit - t_air)), t_hot, t_air, np.empty(POINTS), np.empty(POINTS))


@allocating
def cut(x, t, count):
    """A profile cut into pieces of one temperature, finer towards its beginning.

    x : array (n), distance from the boss [m]
    t : array (n), temperature there [K]
    count : int, number of pieces [-]
    Returns (length of each piece [m], mean gas temperature of each piece [K])
    """
    lengths, temperatures = np.empty(count), np.empty(count)
    start = heat = heat_start = 0.0  # heat : integral of t from the boss to x[k]
    k = 0
    for i in range(count):
        end = x[-1] * ((i + 1) / count) ** 2
        while k < x.size - 2 and x[k + 1] < end:
            heat += 0.5 * (t[k] + t[k + 1]) * (x[k + 1] - x[k])
            k += 1
        heat_end = heat + 0.5 * (t[k] + t[k + 1]) * (end - x[k])
        lengths[i], temperatures[i] = end - start, (heat_end - heat_start) / (end - start)
        start, heat_start = end, heat_end
    return lengths, temperatures
