"""The fuel-air cycle in closed form: no heat to the walls, valves without loss, all burned at top dead centre.

The textbook's ideal constant-volume cycle (Heywood, Internal Combustion Engine Fundamentals, 1988, sec. 5.5) with real gas
data: frozen charge, equilibrium products that freeze at 1700 K. Entropies come from Cantera.
"""

from dataclasses import dataclass

import numpy as np
from bench_gas import CO, CO2, T_FREEZE, BurnedGas
from numpy.typing import NDArray
from scipy.optimize import brentq


@dataclass(frozen=True)
class Corners:
    """(pressure [Pa], temperature [K]) of the corners of the closed cycle, 1 before compression, and its work [J/kg]."""

    one: tuple[float, float]
    two: tuple[float, float]
    three: tuple[float, float]
    four: tuple[float, float]
    work: float
    energy: float  # absolute internal energy at corner 4 [J/kg]
    products: NDArray[np.float64]  # mass fractions of the lumps at corner 4


@dataclass(frozen=True)
class Ideal:
    """What the ideal cycle gives, in the names of a prediction where there is one."""

    exhaust_temperature_k: float
    imep_gross_pa: float
    residual_fraction: float
    peak_pressure_pa: float
    fresh_mass_kg: float
    residual: NDArray[np.float64]  # mass fractions of the lumps


def entropy(gas, y, T, p):
    """Entropy of a frozen mixture of lumps [J/(kg K)]."""
    gas.cantera.TPY = T, p, y @ gas.share
    return gas.cantera.entropy_mass


def energy(gas, y, T):
    """Internal energy of a frozen mixture of lumps [J/kg]."""
    return y @ (gas.enthalpies(T)[0] - gas.r * T)


def isentrope(gas, y, T, p, ratio):
    """(p, T) of a frozen mixture after an isentropic change of its volume to volume/ratio."""
    s = entropy(gas, y, T, p)
    end = brentq(lambda t: entropy(gas, y, t, p * ratio * t / T) - s, 0.2 * T, 5.0 * T, xtol=1e-9)
    return p * ratio * end / T, end


def corners(gas, y, T, p, ratio):
    """The closed cycle from T and p: isentropic compression, burning at constant volume, isentropic expansion."""
    two = isentrope(gas, y, T, p, ratio)
    burned = BurnedGas(gas, y)
    hot = burned.cantera
    burned.react(2800.0, two[0])
    hot.UV = energy(gas, y, two[1]), (y @ gas.r) * two[1] / two[0]
    hot.equilibrate("UV", rtol=1e-10)
    three, s, v = (hot.P, hot.T), hot.entropy_mass, hot.volume_mass
    for step in np.geomspace(v, v * ratio, 400)[1:]:
        hot.SV = s, step
        if hot.T > T_FREEZE:
            hot.equilibrate("SV", rtol=1e-10)
    four, u = (hot.P, hot.T), hot.int_energy_mass
    return Corners((p, T), two, three, four, energy(gas, y, T) - u, u, burned.lumps(four[0]))


def induced(engine, residual, T_residual, p):
    """Masses and temperature at bottom dead centre, and fresh mass: residual fills the clearance, fresh comes in at p."""
    gas, fresh = engine.gas, engine.fresh
    volume = engine.clearance + engine.swept
    left = p * engine.clearance / ((residual @ gas.r) * T_residual)

    def missing(m_fresh):
        masses = left * residual + m_fresh * fresh.y
        T = p * volume / (masses @ gas.r)
        had = left * energy(gas, residual, T_residual) + m_fresh * fresh.h - p * engine.swept
        return masses @ (gas.enthalpies(T)[0] - gas.r * T) - had

    most = p * volume / (fresh.r * fresh.T)
    m_fresh = brentq(missing, 0.3 * most, 1.2 * most, xtol=1e-14)
    masses = left * residual + m_fresh * fresh.y
    return masses, p * volume / (masses @ gas.r), m_fresh


def ideal(engine, p):
    """The whole cycle between plenums of the same pressure p [Pa], its residual that of the cycle before."""
    gas, ratio = engine.gas, engine.bench.compression_ratio
    residual, T_residual, before = BurnedGas(gas, engine.fresh.y).lumps(3e5), 1200.0, 0.0
    while abs(T_residual - before) > 1e-7:
        masses, T1, m_fresh = induced(engine, residual, T_residual, p)
        found = corners(gas, masses / masses.sum(), T1, p, ratio)
        residual, before = found.products, T_residual
        T4 = gas.temperature(residual, energy=found.energy)
        s4 = entropy(gas, residual, T4, found.four[0])
        T_residual = brentq(lambda T, y=residual, s=s4, top=T4: entropy(gas, y, T, p) - s, 0.3 * T4, T4, xtol=1e-9)
    work = masses.sum() * found.work
    T_exhaust = gas.temperature(residual, enthalpy=engine.fresh.h - work / m_fresh)
    carbon = masses * gas.atoms[:, 0]
    share = (carbon[CO2] + carbon[CO]) / carbon.sum()
    return Ideal(T_exhaust, work / engine.swept, share, found.three[0], m_fresh, residual)
