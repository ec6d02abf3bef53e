"""Thermal nitric oxide in the burned zone: the extended Zeldovich mechanism along a recorded cycle.

Y. B. Zeldovich (1946), with N + OH after Lavoie, Heywood & Keck, Combust. Sci. Technol. 1 (1970) 313-326: nitrogen atoms in
steady state, all but NO in equilibrium (Heywood 1988, eq. 11.4-11.9, from memory, confidence high). The burned zone is
mixed throughout, or in layers that do not mix, as these authors compared. No prompt NO, no nitrogen in the fuel, no NO2. It
runs after the march and gives nothing back to it: NO is some tenths of a per cent of the gas.
"""

from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from .equilibrium import UNIVERSAL, Atoms, composition

Array = NDArray[np.float64]
MOLAR_MASS = 30.006  # [kg/kmol]
GRID = 0.25  # step of the integration [deg]
EXPANSION = 0.2  # d ln T / d ln p of burned gas along an isentrope, gamma 1.25 [-]
LAYERS = 12
ZONES = ("layered", "mixed")


class Rate(NamedTuple):
    """A rate constant A T^n exp(-theta/T)."""

    A: float  # [m3/(kmol s) over K^n]
    n: float  # [-]
    theta: float  # [K]


# N + NO = N2 + O; N + O2 = NO + O; N + OH = NO + H, in this direction: the ways back follow from equilibrium.
RATES = {
    "gri": (Rate(2.7e10, 0.0, 178.6), Rate(9.0e6, 1.0, 3270.9), Rate(3.36e10, 0.0, 193.7)),
    "heywood": (Rate(1.6e10, 0.0, 0.0), Rate(6.4e6, 1.0, 3150.0), Rate(4.1e10, 0.0, 0.0)),
    "hanson_salimian": (Rate(3.8e10, 0.0, 425.0), Rate(1.8e7, 1.0, 4680.0), Rate(7.1e10, 0.0, 450.0)),
}
SOURCES = {
    "gri": "Smith et al., GRI-Mech 3.0 (1999), reactions 178-180, as Cantera's gri30.yaml carries them",
    "heywood": "J. B. Heywood, Internal Combustion Engine Fundamentals (1988), Table 11.1; from memory, confidence high",
    "hanson_salimian": "R. K. Hanson & S. Salimian (1984), in Combustion Chemistry; from memory, confidence medium",
}


class Formation(NamedTuple):
    """How fast NO forms in a burned gas, and what it tends to."""

    rate: Array  # of its mass fraction where there is none [1/s]
    equilibrium: Array  # its mass fraction [-]
    ratio: Array  # R1/(R2 + R3) of Heywood (1988) eq. 11.9 [-]


def formation(rates: str, T: Array, p: Array, atoms: Atoms) -> Formation:
    """Formation of NO in burned gas otherwise in equilibrium, Heywood (1988) eq. 11.8-11.9.

    rates : str, a key of RATES [-]
    T : array, temperature [K]
    p : array, pressure [Pa]
    atoms : Atoms, of the gas [kmol/kg]
    Returns Formation [1/s, -].
    """
    x = composition(T, p, atoms)
    kmol = p / (UNIVERSAL * T)  # of gas in a cubic metre
    one, two, three = (k.A * T**k.n * np.exp(-k.theta / T) for k in RATES[rates])
    first, rest = one * x["NO"], two * x["O2"] + three * x["OH"]  # each times [N] and the kmol
    inventory = atoms.N / (2.0 * x["N2"] + x["NO"] + x["N"])  # of gas in a kilogram [kmol/kg]
    share = inventory * MOLAR_MASS  # mass of NO for each mole fraction
    return Formation(2.0 * first * x["N"] * kmol * share, x["NO"] * share, first / rest)


def along(
    angle: Array,
    formed: Formation,
    burned: Array,
    seconds: float,
    inlet: float,
    grid: float = GRID,
) -> float:
    """NO at the end of a recorded burned zone; freshly burned gas brings what the charge held.

    Implicit steps, d(a)/dt = (1 - a^2) / (1 + ratio a) times rate / equilibrium, where a = NO over its equilibrium.

    angle : array, crank angle, rising [deg]
    formed : Formation, at each angle; rate 0 where the chemistry is frozen [1/s, -]
    burned : array, burned mass, in any unit, never falling [-]
    seconds : float, per degree [s/deg]
    inlet : float, mass fraction of NO in gas as it burns [-]
    grid : float, longest step [deg]
    Returns the mass fraction of NO in the burned zone at the last angle [-].
    """
    steps = int(np.ceil((angle[-1] - angle[0]) / grid))
    fine = np.linspace(angle[0], angle[-1], steps + 1)
    rate, equilibrium, ratio, mass = (np.interp(fine, angle, v) for v in (*formed, burned))
    gain = (fine[1] - fine[0]) * seconds * rate / equilibrium
    kept = mass[:-1] / mass[1:]
    y = inlet
    for g, e, r, k in zip(gain[1:].tolist(), equilibrium[1:].tolist(), ratio[1:].tolist(), kept.tolist(), strict=True):
        a = (inlet + (y - inlet) * k) / e
        linear = 1.0 - r * a
        y = e * 2.0 * (a + g) / (linear + (linear * linear + 4.0 * (g + r) * (a + g)) ** 0.5)
    return float(y)


def layers(p: Array, T_burned: Array, burns: Array, flame: Array) -> tuple[Array, NDArray[np.bool_]]:
    """Temperatures of burned gas that does not mix, after Lavoie, Heywood & Keck (1970).

    Each layer starts at its flame temperature and follows the pressure; what burned first is squeezed most and stays the
    hottest. All are then scaled so that their mean is the burned zone's, so heat lost to the walls is shared in proportion.

    p : array (n,), pressure at each angle [Pa]
    T_burned : array (n,), mean temperature of the burned zone there [K]
    burns : array (layers,), place among the angles at which each layer of equal mass burns, rising [-]
    flame : array (layers,), temperature of each right after [K]
    Returns temperatures (layers, n) [K] and whether each has burned by then (layers, n) [-].
    """
    places = np.arange(len(p))
    there = places >= burns[:, None]
    start = np.exp(np.interp(burns, places, np.log(p)))
    T = flame[:, None] * (p / start[:, None]) ** EXPANSION
    number = there.sum(axis=0)
    mean = np.where(number > 0, (T * there).sum(axis=0) / np.maximum(number, 1), T_burned)
    return T * (T_burned / mean), there


def in_exhaust(
    angle: Array, formed: list[Formation], burned: list[Array], seconds: float, residual: float
) -> tuple[float, float]:
    """NO of burned gas in a cycle that repeats itself: the residual gas brings its own.

    angle : array, crank angle, rising [deg]
    formed : list of Formation, of zones of equal mass, at each angle [1/s, -]
    burned : list of array, burned mass of each zone, in any unit [-]
    seconds : float, per degree [s/deg]
    residual : float, burned gas in the charge by mass [-]
    Returns the mass fraction of NO in burned gas at the end, and in the charge before it burns [-].
    """
    y, inlet = 0.0, 0.0
    for _ in range(20):
        y = float(np.mean([along(angle, f, m, seconds, inlet) for f, m in zip(formed, burned, strict=True)]))
        before, inlet = inlet, residual * y
        if abs(inlet - before) <= 1e-3 * inlet:
            break
    return y, inlet
