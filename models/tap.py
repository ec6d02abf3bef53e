"""Pressure tap line: how cool its gas is at the gauge end, how late the gauge is, and what pulsation it still sees.

A small tube from the hot boss to the gauge. Its gas stands still and follows the wall; the wall loses heat to the air by
natural convection and radiation and is fed along the metal alone. Sound in the line is damped by friction and by heat
exchange at the wall. The end at the gauge is taken as insulated, which is the warm side.
"""

from typing import NamedTuple

import numpy as np
from numpy.typing import ArrayLike, NDArray
from scipy.linalg import solve_banded
from scipy.special import jve

from .transport import PRANDTL, STEFAN_BOLTZMANN
from .transport import air_conductivity as conductivity
from .transport import air_viscosity as viscosity

FAINTEST = -40.0  # logarithm of a rise over the boss's that is called none [-]
GRAVITY = 9.80665  # [m/s2]
GAS_CONSTANT = 287.05  # air; burned gas is 2 to 6 % higher [J/kgK]
GAMMA = 1.38  # cool burned gas [-]

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


def natural_nusselt(rayleigh: ArrayLike, prandtl: float = PRANDTL) -> NDArray[np.float64]:
    """Natural convection around a horizontal cylinder, S. W. Churchill and H. H. S. Chu, IJHMT 18 (1975) 1049.

    rayleigh : array, Rayleigh number on the outer diameter, up to 1e12 [-]
    prandtl : float, at film temperature [-]
    Returns the Nusselt number [-]
    """
    group = np.asarray(rayleigh, float) / (1.0 + (0.559 / prandtl) ** (9.0 / 16.0)) ** (16.0 / 9.0)
    return (0.60 + 0.387 * group ** (1.0 / 6.0)) ** 2


def outside_coefficient(tube: Tube, t_wall: ArrayLike, t_air: float, pressure: float = 101325.0) -> NDArray[np.float64]:
    """Heat loss of the outside per area and degree, natural convection and radiation, standing air.

    tube : Tube, the line [-]
    t_wall : array, wall temperature [K]
    t_air : float, air and surroundings under the bonnet [K]
    pressure : float, of that air [Pa]
    Returns the coefficient [W/m2K]
    """
    t = np.asarray(t_wall, float)
    diameter, film = tube.bore + 2.0 * tube.wall, 0.5 * (t + t_air)
    kinematic = viscosity(film) * GAS_CONSTANT * film / pressure
    rayleigh = GRAVITY / film * np.abs(t - t_air) * diameter**3 / kinematic**2 * PRANDTL
    radiation = tube.emissivity * STEFAN_BOLTZMANN * (t * t + t_air * t_air) * (t + t_air)
    return natural_nusselt(rayleigh) * conductivity(film) / diameter + radiation


def wall_profile(
    tube: Tube, t_hot: float, t_air: float, nodes: int = 161
) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Wall temperature along the line, and so its gas temperature: a fin with a loss that depends on temperature.

    Finite volumes on a grid that is fine at the hot end; the loss coefficient is renewed until the profile rests.

    tube : Tube, the line [-]
    t_hot : float, boss temperature [K]
    t_air : float, air and surroundings [K]
    nodes : int, grid points [-]
    Returns (distance from the boss [m], wall temperature [K])
    Raises ValueError for a tube without size.
    """
    if min(tube.bore, tube.wall, tube.length) <= 0.0:
        raise ValueError(f"tube of bore {tube.bore:g} m, wall {tube.wall:g} m, length {tube.length:g} m")
    x = tube.length * np.linspace(0.0, 1.0, nodes) ** 2
    step = np.diff(x)
    diameter = tube.bore + 2.0 * tube.wall
    links = tube.conductivity * np.pi * (tube.bore + tube.wall) * tube.wall / step  # [W/K]
    surface = np.pi * diameter * 0.5 * (np.append(step, 0.0) + np.insert(step, 0, 0.0))
    t = t_air + (t_hot - t_air) * np.exp(-x / 0.02)
    for _ in range(100):
        loss = surface * outside_coefficient(tube, t, t_air)
        bands = np.zeros((3, nodes))
        bands[0, 2:], bands[2, :-1] = -links[1:], -links
        bands[1, 1:] = np.append(links[1:], 0.0) + links + loss[1:]
        bands[1, 0] = 1.0
        right = loss * t_air
        right[0] = t_hot
        before, t = t, solve_banded((1, 1), bands, right)
        if np.max(np.abs(t - before)) < 1e-6:
            break
    return x, t


def fin(
    tube: Tube, rise: float, t_hot: float, t_air: float, points: int = 73
) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """The line whose end is a given rise above the air: how far each temperature is from its insulated end, by quadrature.

    T'' = m2(T) (T - Ta) has the first integral T'^2 / 2 = int m2 (T - Ta) dT, so distance is a quadrature. With the rise
    written as that of the end times cosh(v), v is the distance itself where m2 is constant, and smooth where it is not.
    `wall_profile` reaches the same by finite volumes.

    tube : Tube, the line; its own length is not used [-]
    rise : float, of the gauge end above the air, more than 0 and less than the boss's [K]
    t_hot : float, boss temperature [K]
    t_air : float, air and surroundings [K]
    points : int, on the way [-]
    Returns (distance from the gauge end [m], wall temperature [K]), the end first
    """
    v = np.linspace(0.0, np.arccosh(max((t_hot - t_air) / rise, 1.0)), points)
    above = rise * np.cosh(v)
    t = t_air + above
    section = np.pi * (tube.bore + tube.wall) * tube.wall
    m2 = np.pi * (tube.bore + 2.0 * tube.wall) * outside_coefficient(tube, t, t_air) / (tube.conductivity * section)
    steps = 0.25 * (m2[1:] + m2[:-1]) * np.diff(above * above)
    slope = np.sqrt(2.0 * np.cumsum(steps))
    pace = np.empty(points)  # dx/dv
    pace[0] = 1.0 / np.sqrt(m2[0])
    pace[1:] = rise * np.sinh(v[1:]) / slope if v[-1] > 0.0 else pace[0]
    x = np.concatenate(([0.0], np.cumsum(0.5 * (pace[1:] + pace[:-1]) * np.diff(v))))
    return x, t


def cooled(tube: Tube, t_hot: float, t_air: float) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Wall temperature along the line by `fin`, its end temperature found by the secant rule in its logarithm.

    The first slope is that of a fin of constant loss.

    tube : Tube, the line [-]
    t_hot : float, boss temperature [K]
    t_air : float, air and surroundings [K]
    Returns (distance from the boss [m], wall temperature [K]), the boss first
    Raises ValueError for a tube without size.
    """
    if min(tube.bore, tube.wall, tube.length) <= 0.0:
        raise ValueError(f"tube of bore {tube.bore:g} m, wall {tube.wall:g} m, length {tube.length:g} m")
    most = t_hot - t_air
    if most < 1e-3:  # no hotter than the air: nothing to lose
        return np.array([0.0, tube.length]), np.array([t_hot, t_hot])

    def x_of(share: float) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
        return fin(tube, most * np.exp(share), t_hot, t_air)

    far = x_of(FAINTEST)
    if far[0][-1] < tube.length:  # the rest of the line is as cool as the air
        x, t = far
        return np.append(x[-1] - x[::-1], tube.length), np.append(t[::-1], t_air)
    share = FAINTEST * tube.length / far[0][-1]  # logarithm of the end's rise over the boss's
    last, slope = None, 0.0
    for _ in range(30):
        x, t = x_of(share)
        error = x[-1] - tube.length
        if abs(error) < 1e-6 * tube.length:
            break
        if last is None:
            m = np.arccosh(np.exp(-share)) / x[-1]  # of a fin of constant loss as long as this one
            slope = -1.0 / (m * np.tanh(m * tube.length))
        elif error != last[1]:
            slope = min((error - last[1]) / (share - last[0]), -1e-9)  # a fainter end is always farther away
        last = share, error
        share = min(share - error / slope, 0.1 * share)
    return x[-1] - x[::-1], t[::-1]


def gauge_temperature(tube: Tube, t_hot: float, t_air: float) -> float:
    """Gas and wall temperature at the gauge end.

    tube : Tube, the line [-]
    t_hot : float, boss temperature [K]
    t_air : float, air and surroundings [K]
    Returns the temperature [K]
    Raises ValueError for a tube without size.
    """
    return float(cooled(tube, t_hot, t_air)[1][-1])


def length_for(tube: Tube, t_hot: float, t_air: float, limit: float) -> float:
    """Shortest line of this tube that keeps its gauge end at a limit.

    tube : Tube, the line; its own length is not used [-]
    t_hot : float, boss temperature [K]
    t_air : float, air and surroundings [K]
    limit : float, highest temperature of the gauge [K]
    Returns the length; 0 if the boss itself is cool enough, inf if the air is too hot for any length [m]
    """
    if t_hot <= limit:
        return 0.0
    return float(fin(tube, limit - t_air, t_hot, t_air)[0][-1]) if limit > t_air else float("inf")


def quarter_wave(length: float, temperature: float) -> float:
    """Resonance of a lossless line shut at its end: a / (4 L).

    length : float, of the line [m]
    temperature : float, mean gas temperature [K]
    Returns the frequency [Hz]
    """
    return float(np.sqrt(GAMMA * GAS_CONSTANT * temperature)) / (4.0 * length)


def lag(
    bores: ArrayLike,
    lengths: ArrayLike,
    temperatures: ArrayLike,
    pressure: float,
    volume: float,
    displacement: float = 0.0,
) -> float:
    """Time constant of the line: laminar resistance of each piece times the gas capacity behind it.

    Isothermal gas; uniform line: 128 mu L / (pi d^4) (V + V_tube/2) / p. Small changes, laminar flow (Poiseuille).

    bores : array (n), inner diameter of each piece from the boss on; a restrictor is a short piece [m]
    lengths : array (n), of each piece [m]
    temperatures : array (n), gas temperature of each piece [K]
    pressure : float, mean, absolute [Pa]
    volume : float, of the gauge's cavity, at the last piece's temperature [m3]
    displacement : float, volume the gauge's element gives way per pressure [m3/Pa]
    Returns the time constant [s]
    """
    d, dx, t = (np.asarray(a, float) for a in np.broadcast_arrays(bores, lengths, temperatures))
    density = pressure / (GAS_CONSTANT * t)
    resistance = 128.0 * viscosity(t) * dx / (np.pi * d**4 * density)  # [Pa s/kg]
    own = 0.25 * np.pi * d**2 * dx / (GAS_CONSTANT * t)  # [kg/Pa]
    end = volume / (GAS_CONSTANT * t[-1]) + displacement * density[-1]
    behind = np.cumsum(own[::-1])[::-1] - 0.5 * own + end
    return float(np.sum(resistance * behind))


def _wall_layer(argument: NDArray[np.complex128]) -> NDArray[np.complex128]:
    """2 J1(z) / (z J0(z)): the share of a round bore that its wall layer takes [-]."""
    return 2.0 * jve(1, argument) / (argument * jve(0, argument))


def _line_constants(omega, bore, temperature, pressure):
    """Per length: series impedance [Pa s/m4], shunt admittance [m2/Pa s]; Rott's share of d ln U / d ln T [-]."""
    density, area = pressure / (GAS_CONSTANT * temperature), 0.25 * np.pi * bore**2
    z = np.sqrt(-1j) * 0.5 * bore * np.sqrt(density * omega / viscosity(temperature))
    viscous, thermal = _wall_layer(z), _wall_layer(z * np.sqrt(PRANDTL))
    series = 1j * omega * density / (area * (1.0 - viscous))
    shunt = 1j * omega * area / (GAMMA * pressure) * (1.0 + (GAMMA - 1.0) * thermal)
    return series, shunt, (thermal - viscous) / ((1.0 - viscous) * (1.0 - PRANDTL))


def transmission(
    frequency: ArrayLike,
    bores: ArrayLike,
    lengths: ArrayLike,
    temperatures: ArrayLike,
    pressure: float,
    volume: float,
    displacement: float = 0.0,
) -> NDArray[np.complex128]:
    """Pressure at the gauge over pressure at the boss, for small sinusoidal pulsation.

    Lossy line of pieces in series, viscous and thermal wall layers with Bessel functions: H. Bergh and H. Tijdeman,
    NLR-TR F.238 (1965); written as a transmission line after H. Tijdeman, J. Sound Vib. 39 (1975) 1. From a hot piece to
    a cold one the volume flow changes as N. Rott has it, ZAMP 20 (1969) 230: slow flow takes the wall's temperature and
    keeps its mass, fast flow keeps its volume. Isothermal gas in the gauge's cavity. From memory, confidence high.
    Exhaust pulses are large: harmonics come out as an order of magnitude.

    frequency : array, above zero [Hz]
    bores : array (n), inner diameter of each piece from the boss on [m]
    lengths : array (n), of each piece [m]
    temperatures : array (n), gas temperature of each piece [K]
    pressure : float, mean, absolute [Pa]
    volume : float, of the gauge's cavity [m3]
    displacement : float, volume the gauge's element gives way per pressure [m3/Pa]
    Returns array like frequency, complex ratio [-]
    """
    omega = 2.0 * np.pi * np.asarray(frequency, float)
    d, dx, t = (np.asarray(a, float) for a in np.broadcast_arrays(bores, lengths, temperatures))
    load = 1j * omega * (volume / pressure + displacement)
    ratio = np.ones_like(load)
    cooler, cooler_share = t[-1], np.zeros_like(load)
    along = (slice(None), *(None,) * omega.ndim)  # pieces, then frequencies
    constants = zip(*_line_constants(omega, d[along], t[along], pressure), strict=True)
    for (series, shunt, share), length, temperature in zip(list(constants)[::-1], dx[::-1], t[::-1], strict=True):
        load = load * np.exp(0.5 * (share + cooler_share) * np.log(temperature / cooler))
        impedance, phase = np.sqrt(series / shunt), np.sqrt(series * shunt) * length
        ratio = ratio / (np.cosh(phase) + impedance * load * np.sinh(phase))
        tangent = np.tanh(phase)
        load = (load + tangent / impedance) / (1.0 + impedance * load * tangent)
        cooler, cooler_share = temperature, share
    return ratio


def cut(x: NDArray[np.float64], t: NDArray[np.float64], count: int) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """A profile cut into pieces of one temperature, finer towards its beginning.

    x : array (n), distance from the boss [m]
    t : array (n), temperature there [K]
    count : int, number of pieces [-]
    Returns (length of each piece [m], mean gas temperature of each piece [K])
    """
    edges = x[-1] * np.linspace(0.0, 1.0, count + 1) ** 2
    heat = np.concatenate(([0.0], np.cumsum(0.5 * (t[1:] + t[:-1]) * np.diff(x))))
    lengths = np.diff(edges)
    return lengths, np.diff(np.interp(edges, x, heat)) / lengths


def pieces(tube: Tube, t_hot: float, t_air: float, count: int = 24) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """The line cut into pieces of one temperature, finer where it is hot, for `lag` and `transmission`.

    tube : Tube, the line [-]
    t_hot : float, boss temperature [K]
    t_air : float, air and surroundings [K]
    count : int, number of pieces [-]
    Returns (length of each piece [m], mean gas temperature of each piece [K])
    """
    return cut(*cooled(tube, t_hot, t_air), count)
