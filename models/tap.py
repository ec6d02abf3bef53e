"""Pressure tap line: how cool its gas is at the gauge end, how late the gauge is, and what pulsation it still sees.

A small tube from the hot boss to the gauge. Its gas stands still and follows the wall; the wall loses heat to the air by
natural convection and radiation and is fed along the metal alone. Sound in the line is damped by friction and by heat
exchange at the wall. The end at the gauge is taken as insulated, which is the warm side. The names of the parts are gathered
here: the tube's heat, the gas column's sound.
"""

# ruff: noqa: F401  (names that callers read here)
import numpy as np
from numpy.typing import ArrayLike, NDArray

from . import line_heat
from .line_heat import GRAVITY, TUBE_METALS, Tube, cut, length_for, natural_nusselt, outside_coefficient
from .line_sound import GAMMA, GAS_CONSTANT, line_constants, spectrum_passed, time_constant, wall_layer
from .transport import air_conductivity as conductivity
from .transport import air_viscosity as viscosity

Row = NDArray[np.float64]


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
    from scipy.linalg import solve_banded

    x = tube.length * np.linspace(0.0, 1.0, nodes) ** 2
    step = np.diff(x)
    diameter = tube.bore + 2.0 * tube.wall
    links = tube.conductivity * np.pi * (tube.bore + tube.wall) * tube.wall / step  # [W/K]
    surface = np.pi * diameter * 0.5 * (np.append(step, 0.0) + np.insert(step, 0, 0.0))
    t = t_air + (t_hot - t_air) * np.exp(-x / 0.02)
    for _ in range(100):
        loss = surface * np.array([outside_coefficient(tube, one, t_air) for one in t])
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


def cooled(tube: Tube, t_hot: float, t_air: float) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Wall temperature along the line, by quadrature of the energy integral of a fin (`line_heat.fin`).

    tube : Tube, the line [-]
    t_hot : float, boss temperature [K]
    t_air : float, air and surroundings [K]
    Returns (distance from the boss [m], wall temperature [K]), the boss first
    Raises ValueError for a tube without size.
    """
    if min(tube.bore, tube.wall, tube.length) <= 0.0:
        raise ValueError(f"tube of bore {tube.bore:g} m, wall {tube.wall:g} m, length {tube.length:g} m")
    x, t = line_heat.cooled(tube, t_hot, t_air)
    return x, t


def gauge_temperature(tube: Tube, t_hot: float, t_air: float) -> float:
    """Gas and wall temperature at the gauge end.

    tube : Tube, the line [-]
    t_hot : float, boss temperature [K]
    t_air : float, air and surroundings [K]
    Returns the temperature [K]
    Raises ValueError for a tube without size.
    """
    return float(cooled(tube, t_hot, t_air)[1][-1])


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
    return float(time_constant(*_pieces(bores, lengths, temperatures), pressure, volume, displacement))


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
    asked = np.asarray(frequency, float)
    line = _pieces(bores, lengths, temperatures)
    return spectrum_passed(asked.ravel(), *line, pressure, volume, displacement).reshape(asked.shape)


def _pieces(bores: ArrayLike, lengths: ArrayLike, temperatures: ArrayLike) -> tuple[Row, Row, Row]:
    """Three rows as the kernels take them: writable arrays of one length."""
    d, dx, t = np.broadcast_arrays(*(np.asarray(row, float) for row in (bores, lengths, temperatures)))
    return d.copy(), dx.copy(), t.copy()


def pieces(tube: Tube, t_hot: float, t_air: float, count: int = 24) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """The line cut into pieces of one temperature, finer where it is hot, for `lag` and `transmission`.

    tube : Tube, the line [-]
    t_hot : float, boss temperature [K]
    t_air : float, air and surroundings [K]
    count : int, number of pieces [-]
    Returns (length of each piece [m], mean gas temperature of each piece [K])
    """
    return cut(*cooled(tube, t_hot, t_air), count)
