"""Frozen mixtures: energy, enthalpy and temperature of a gas whose seven species keep their masses."""

import numpy as np

from .compiled import compiled
from .gas_table import COLDEST, HOTTEST, N_SPECIES, hermite

FIRST, STEP = 200.0, 25.0  # nodes of the species grid, as constants of the inner loops [K]


@compiled
def _weighted(masses, values):
    """Sum of masses times values over the species."""
    total = 0.0
    for k in range(N_SPECIES):
        total += masses[k] * values[k]
    return total


@compiled
def mixture_gas_constant(table, masses):
    """Gas constant of a mixture times its mass.

    table : GasTable, of the fuel [-]
    masses : array (7,), mass of each species [kg]
    Returns sum of m_k R_k [J/K].
    """
    return _weighted(masses, table.gas_constant)


@compiled
def species_energy(energy, cv, t0, dt, masses, T):
    """Energy of a frozen mixture from bare arrays: inside a kernel a whole record is slower to pass than to read.

    energy : array (nT, 7), GasTable.energy [J/kg]
    cv : array (nT, 7), GasTable.cv [J/(kg K)]
    t0 : float, first node of the species grid [K]
    dt : float, step of the species grid [K]
    masses : array (7,), mass of each species [kg]
    T : float, temperature [K]
    Returns the energy [J] and its derivative by temperature [J/K].
    """
    i, (a0, a1, b0, b1, da0, da1, db0, db1) = hermite(T, t0, dt, energy.shape[0])
    total = 0.0
    slope = 0.0
    for k in range(N_SPECIES):
        u0, u1, c0, c1 = energy[i, k], energy[i + 1, k], cv[i, k], cv[i + 1, k]
        total += masses[k] * (a0 * u0 + a1 * u1 + b0 * c0 + b1 * c1)
        slope += masses[k] * (da0 * u0 + da1 * u1 + db0 * c0 + db1 * c1)
    return total, slope


@compiled
def mixture_energy(table, masses, T):
    """Absolute internal energy of a frozen mixture; linear beyond 200-3500 K.

    table : GasTable, of the fuel [-]
    masses : array (7,), mass of each species [kg]
    T : float, temperature [K]
    Returns the energy [J] and its derivative by temperature [J/K].
    """
    return species_energy(table.energy, table.cv, table.t0, table.dt, masses, T)


@compiled
def _species_enthalpy(energy, cv, gas_constant, t0, dt, masses, T):
    """Enthalpy of a mixture [J]."""
    return species_energy(energy, cv, t0, dt, masses, T)[0] + _weighted(masses, gas_constant) * T


@compiled
def mixture_enthalpy(table, masses, T):
    """Absolute enthalpy of a frozen mixture.

    table : GasTable, of the fuel [-]
    masses : array (7,), mass of each species [kg]
    T : float, temperature [K]
    Returns U + m R T [J].
    """
    return _species_enthalpy(table.energy, table.cv, table.gas_constant, table.t0, table.dt, masses, T)


@compiled
def species_temperature(energy, cv, t0, dt, masses, target, guess):
    """Temperature of a frozen mixture from its energy, from bare arrays; see `mixture_temperature`.

    energy : array (nT, 7), GasTable.energy [J/kg]
    cv : array (nT, 7), GasTable.cv [J/(kg K)]
    t0 : float, first node of the species grid [K]
    dt : float, step of the species grid [K]
    masses : array (7,), mass of each species [kg]
    target : float, absolute internal energy [J]
    guess : float, where to start [K]
    Returns the temperature, to 1e-9 relative [K].
    """
    T = guess if 50.0 <= guess <= 6000.0 else 1000.0
    for _ in range(30):
        found, slope = species_energy(energy, cv, t0, dt, masses, T)
        step = (target - found) / slope
        if not abs(step) < np.inf:  # no mass, or no number to aim at
            return T
        before = T
        T = min(max(T + step, 50.0), 6000.0)
        if abs(T - before) <= 1e-9 * T:
            return T
    return T


@compiled
def mixture_temperature(table, masses, U, guess):
    """Temperature of a frozen mixture from its energy, by Newton's method; held within 50-6000 K, never NaN.

    table : GasTable, of the fuel [-]
    masses : array (7,), mass of each species [kg]
    U : float, absolute internal energy [J]
    guess : float, where to start [K]
    Returns the temperature, to 1e-9 relative [K].
    """
    return species_temperature(table.energy, table.cv, table.t0, table.dt, masses, U, guess)


@compiled
def enthalpy_temperature(energy, cv, gas_constant, masses, H, guess):
    """Temperature of a frozen mixture from its enthalpy, from bare arrays, by Newton's method; held within 100-4500 K.

    energy : array (nT, 7), GasTable.energy [J/kg]
    cv : array (nT, 7), GasTable.cv [J/(kg K)]
    gas_constant : array (7,), of each species [J/(kg K)]
    masses : array (7,), mass of each species [kg]
    H : float, absolute enthalpy [J]
    guess : float, where to start [K]
    Returns the temperature [K].
    """
    mr = _weighted(masses, gas_constant)
    T = guess
    for _ in range(30):
        u, slope = species_energy(energy, cv, FIRST, STEP, masses, T)
        change = (H - u - mr * T) / (slope + mr)
        T = min(max(T + change, COLDEST), HOTTEST)
        if abs(change) < 1e-3:  # quadratic: the next would be below 1e-9
            break
    return T


@compiled
def blend_mixture(table, masses, out):
    """Blend the species grid into one curve for a mixture whose composition stays (the unburned zone of one cycle).

    table : GasTable, of the fuel [-]
    masses : array (7,), mass of each species [kg]
    out : array (nT, 2), written: energy [J/kg] and heat capacity at constant volume at each node [J/(kg K)]
    Returns the gas constant of the mixture [J/(kg K)].
    """
    total = 0.0
    for k in range(N_SPECIES):
        total += masses[k]
    for i in range(table.energy.shape[0]):
        u = 0.0
        c = 0.0
        for k in range(N_SPECIES):
            u += masses[k] * table.energy[i, k]
            c += masses[k] * table.cv[i, k]
        out[i, 0] = u / total
        out[i, 1] = c / total
    return mixture_gas_constant(table, masses) / total


@compiled
def blended_energy(table, blend, T):
    """Energy of a mixture from the curve that `blend_mixture` wrote.

    table : GasTable, of the fuel [-]
    blend : array (nT, 2), energy [J/kg] and heat capacity at each node [J/(kg K)]
    T : float, temperature [K]
    Returns absolute internal energy [J/kg] and its derivative by temperature [J/(kg K)].
    """
    i, (a0, a1, b0, b1, da0, da1, db0, db1) = hermite(T, table.t0, table.dt, blend.shape[0])
    u0, c0, u1, c1 = blend[i, 0], blend[i, 1], blend[i + 1, 0], blend[i + 1, 1]
    return a0 * u0 + a1 * u1 + b0 * c0 + b1 * c1, da0 * u0 + da1 * u1 + db0 * c0 + db1 * c1
