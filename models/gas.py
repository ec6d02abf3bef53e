"""Thermodynamics of the working gas: look-ups in tables that `sim` builds once per fuel.

Unburned, exhaust and intake gas is a frozen mixture of seven species; burned gas is in chemical equilibrium above the
freezing temperature and keeps the composition it has there below it. Energies are absolute (enthalpy of formation
included), so that heat release needs no heating value. Sources of the numbers: see `sim/tables.py`.
"""

from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from .compiled import compiled

O2, N2, CO2, H2O, CO, H2, FUEL = range(7)
N_SPECIES = 7
SPECIES = ("O2", "N2", "CO2", "H2O", "CO", "H2", "FUEL")
REFERENCE_TEMPERATURE = 298.15
MAX_WATER = 0.12
N_BURNED_T, N_BURNED_P, N_SLOTS = 65, 13, 12

# Five-point slopes of fourth order on a uniform grid: row = place of the point among its five neighbours.
_SLOPE = (
    np.array(
        [
            [-25.0, 48.0, -36.0, 16.0, -3.0],
            [-3.0, -10.0, 18.0, -6.0, 1.0],
            [1.0, -8.0, 0.0, 8.0, -1.0],
            [-1.0, 6.0, -18.0, 10.0, 3.0],
            [3.0, -16.0, 36.0, -48.0, 25.0],
        ]
    )
    / 12.0
)


class GasTable(NamedTuple):
    """Everything the kernel knows about one fuel and its burned gas; all arrays float64, C-contiguous.

    gas_constant : array (7,), of each species [J/(kg K)]
    t0, dt : float, first node and step of the species grid [K]
    energy : array (nT, 7), absolute internal energy of each species [J/kg]
    cv : array (nT, 7), heat capacity at constant volume of each species [J/(kg K)]
    elements : array (7, 3), C, H and O atoms of each species; the atmospheric nitrogen N2 + Ar has none [kmol/kg]
    dry_air : array (7,), mass fractions of dry air [-]
    fuel_chon : array (3,), C, H and O atoms of the fuel [kmol/kg]
    afr_stoich : float, dry air per fuel at stoichiometry [kg/kg]
    lhv_liquid : float, lower heating value of the liquid fuel at 298.15 K [J/kg]
    heat_of_vaporisation : float, of the fuel at 298.15 K [J/kg]
    fuel_liquid_enthalpy : float, absolute enthalpy of the liquid at 298.15 K [J/kg]
    liquid_cp : float, heat capacity of the liquid fuel [J/(kg K)]
    phi : array (nphi,), equivalence-ratio nodes of the burned gas, 1 among them [-]
    water : array (3,), nodes of added water / (dry air + fuel + added water), by mass [-]
    bt0, bdt, t_freeze : float, first node and step of the burned temperatures; freezing temperature, a node [K]
    blp0, dblp : float, first node and step of ln(pressure/Pa) [-]
    burned_energy : array (nphi, 3, 65, 13), absolute internal energy of burned gas [J/kg]
    burned_r : array (nphi, 3, 65, 13), gas constant of burned gas [J/(kg K)]
    frozen : array (nphi, 3, 13, 7), mass fractions of burned gas frozen at t_freeze [-]
    """

    gas_constant: NDArray[np.float64]
    t0: float
    dt: float
    energy: NDArray[np.float64]
    cv: NDArray[np.float64]
    elements: NDArray[np.float64]
    dry_air: NDArray[np.float64]
    fuel_chon: NDArray[np.float64]
    afr_stoich: float
    lhv_liquid: float
    heat_of_vaporisation: float
    fuel_liquid_enthalpy: float
    liquid_cp: float
    phi: NDArray[np.float64]
    water: NDArray[np.float64]
    bt0: float
    bdt: float
    t_freeze: float
    blp0: float
    dblp: float
    burned_energy: NDArray[np.float64]
    burned_r: NDArray[np.float64]
    frozen: NDArray[np.float64]


@compiled
def _hermite(x, x0, dx, n):
    """Cell and weights of cubic Hermite interpolation on a uniform grid; linear beyond its ends.

    Returns the cell, the weights of (value, value, slope, slope) at its two nodes, and their derivatives by x.
    """
    inverse = 1.0 / dx
    s = (x - x0) * inverse
    i = min(max(int(s), 0), n - 2)
    s -= i
    if s < 0.0:
        return i, (1.0, 0.0, s * dx, 0.0, 0.0, 0.0, 1.0, 0.0)
    if s > 1.0:
        return i, (0.0, 1.0, 0.0, (s - 1.0) * dx, 0.0, 0.0, 0.0, 1.0)
    r = 1.0 - s
    b = s * s * (3.0 - 2.0 * s)
    d = 6.0 * s * r * inverse
    return i, (1.0 - b, b, s * r * r * dx, -s * s * r * dx, -d, d, r * (1.0 - 3.0 * s), s * (3.0 * s - 2.0))


# ---------------------------------------------------------------------------------------------- frozen mixtures


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
def _species_energy(energy, cv, t0, dt, masses, T):
    """Energy of a mixture [J] and its slope by T [J/K]; takes bare arrays, since a whole record is slow to pass."""
    i, (a0, a1, b0, b1, da0, da1, db0, db1) = _hermite(T, t0, dt, energy.shape[0])
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
    return _species_energy(table.energy, table.cv, table.t0, table.dt, masses, T)


@compiled
def _species_enthalpy(energy, cv, gas_constant, t0, dt, masses, T):
    """Enthalpy of a mixture [J]."""
    return _species_energy(energy, cv, t0, dt, masses, T)[0] + _weighted(masses, gas_constant) * T


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
def _species_temperature(energy, cv, t0, dt, masses, target, guess):
    """Temperature at which the mixture has the target energy [K]."""
    T = guess if 50.0 <= guess <= 6000.0 else 1000.0
    for _ in range(30):
        found, slope = _species_energy(energy, cv, t0, dt, masses, T)
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
    return _species_temperature(table.energy, table.cv, table.t0, table.dt, masses, U, guess)


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
    i, (a0, a1, b0, b1, da0, da1, db0, db1) = _hermite(T, table.t0, table.dt, blend.shape[0])
    u0, c0, u1, c1 = blend[i, 0], blend[i, 1], blend[i + 1, 0], blend[i + 1, 1]
    return a0 * u0 + a1 * u1 + b0 * c0 + b1 * c1, da0 * u0 + da1 * u1 + db0 * c0 + db1 * c1


# ------------------------------------------------------------------------------------------------- compositions


@compiled
def charge_state(table, masses):
    """What a gas would be as dry air + fuel + added water, from its atoms: burned, unburned or mixed alike.

    table : GasTable, of the fuel [-]
    masses : array (7,), mass of each species [kg]
    Returns equivalence ratio [-] and added water / (dry air + fuel + added water), both held within the table [-].
    """
    carbon = 0.0
    hydrogen = 0.0
    oxygen = 0.0
    for k in range(N_SPECIES):
        carbon += masses[k] * table.elements[k, 0]
        hydrogen += masses[k] * table.elements[k, 1]
        oxygen += masses[k] * table.elements[k, 2]
    fuel = max(carbon, 0.0) / table.fuel_chon[0]
    kmol_water = max(0.5 * (hydrogen - fuel * table.fuel_chon[1]), 0.0)
    water = 2.0 * kmol_water / table.elements[H2O, 1]
    kmol_o2 = max(0.5 * (oxygen - fuel * table.fuel_chon[2] - kmol_water), 0.0)
    air = 2.0 * kmol_o2 / table.elements[O2, 2] / table.dry_air[O2]
    rich = table.phi[-1]
    phi = 0.0
    if fuel > 0.0:
        phi = min(fuel * table.afr_stoich / air, rich) if air > 0.0 else rich
    total = fuel + water + air
    share = water / total if total > 0.0 else 0.0
    return max(phi, table.phi[0]), min(share, MAX_WATER)


@compiled
def _elements_of(table, phi, water):
    """C, H and O atoms [kmol/kg] and mass of atmospheric nitrogen [kg/kg] in dry air + fuel + added water."""
    fuel = (1.0 - water) * phi / (table.afr_stoich + phi)
    air = 1.0 - water - fuel
    carbon = fuel * table.fuel_chon[0]
    hydrogen = fuel * table.fuel_chon[1] + water * table.elements[H2O, 1]
    oxygen = (
        fuel * table.fuel_chon[2] + water * table.elements[H2O, 2] + air * table.dry_air[O2] * table.elements[O2, 2]
    )
    return carbon, hydrogen, oxygen, air * table.dry_air[N2]


@compiled
def close_atoms(table, phi, water, co, h2, out):
    """Complete a frozen burned gas from its CO and H2 by the balance of atoms.

    Where oxygen does not reach (rich gas whose radicals are lumped), CO and H2 are scaled up until it does.

    table : GasTable, of the fuel [-]
    phi : float, equivalence ratio [-]
    water : float, added water / (dry air + fuel + added water) [-]
    co : float, carbon monoxide [kmol/kg]
    h2 : float, hydrogen [kmol/kg]
    out : array (7,), written: mass fractions, none negative, atoms conserved to rounding [-]
    """
    carbon, hydrogen, oxygen, nitrogen = _elements_of(table, phi, water)
    co = min(max(co, 0.0), carbon)
    h2 = min(max(h2, 0.0), 0.5 * hydrogen)
    missing = 2.0 * carbon + 0.5 * hydrogen - oxygen  # CO + H2 that the lack of oxygen leaves
    if co + h2 < missing:
        co = min(co * missing / (co + h2), carbon) if co + h2 > 0.0 else min(missing, carbon)
        h2 = min(missing - co, 0.5 * hydrogen)
        co = min(missing - h2, carbon)
    out[CO] = co / table.elements[CO, 0]
    out[CO2] = (carbon - co) / table.elements[CO2, 0]
    out[H2] = 2.0 * h2 / table.elements[H2, 1]
    out[H2O] = (hydrogen - 2.0 * h2) / table.elements[H2O, 1]
    out[O2] = max(oxygen - 2.0 * carbon + co - 0.5 * hydrogen + h2, 0.0) / table.elements[O2, 2]
    out[N2] = nitrogen
    out[FUEL] = 0.0


@compiled
def fresh_charge(table, phi, humidity, out):
    """Moist air and fuel vapour.

    table : GasTable, of the fuel [-]
    phi : float, equivalence ratio [-]
    humidity : float, water vapour per dry air [kg/kg]
    out : array (7,), written: mass fractions [-]
    """
    fuel = phi / table.afr_stoich
    total = 1.0 + humidity + fuel
    for k in range(N_SPECIES):
        out[k] = table.dry_air[k] / total
    out[H2O] += humidity / total
    out[FUEL] += fuel / total


@compiled
def fresh_enthalpy(table, phi, humidity, T_air, T_fuel, share):
    """Absolute enthalpy of a fresh charge whose fuel enters as liquid.

    table : GasTable, of the fuel [-]
    phi : float, equivalence ratio [-]
    humidity : float, water vapour per dry air [kg/kg]
    T_air : float, temperature of the moist air [K]
    T_fuel : float, temperature of the liquid fuel [K]
    share : float, part of the heat of vaporisation taken from the charge, the rest comes from the walls [-]
    Returns the enthalpy of the charge [J/kg].
    """
    charge = np.empty(N_SPECIES)
    fresh_charge(table, phi, humidity, charge)
    fuel = charge[FUEL]
    charge[FUEL] = 0.0
    liquid = table.fuel_liquid_enthalpy + table.liquid_cp * (T_fuel - REFERENCE_TEMPERATURE)
    walls = (1.0 - share) * table.heat_of_vaporisation
    return mixture_enthalpy(table, charge, T_air) + fuel * (liquid + walls)


# --------------------------------------------------------------------------------------------------- burned gas


@compiled
def _phi_weights(table, phi, w):
    """Cubic Lagrange weights w (4,) in equivalence ratio; the four nodes never reach across 1. Returns the first."""
    nodes = table.phi
    n = nodes.shape[0]
    unity = 0
    while nodes[unity] < 1.0:
        unity += 1
    x = min(max(phi, nodes[0]), nodes[n - 1])
    i = 0
    while i < n - 2 and nodes[i + 1] <= x:
        i += 1
    first = min(max(i - 1, 0), unity - 3) if x < 1.0 else min(max(i - 1, unity), n - 4)
    for a in range(4):
        w[a] = 1.0
        for b in range(4):
            if b != a:
                w[a] *= (x - nodes[first + b]) / (nodes[first + a] - nodes[first + b])
    return first


@compiled
def _water_weights(table, water, w):
    """Quadratic Lagrange weights w (3,) in added water, extrapolated to MAX_WATER."""
    x = min(max(water, 0.0), MAX_WATER)
    x0, x1, x2 = table.water[0], table.water[1], table.water[2]
    w[0] = (x - x1) * (x - x2) / ((x0 - x1) * (x0 - x2))
    w[1] = (x - x0) * (x - x2) / ((x1 - x0) * (x1 - x2))
    w[2] = (x - x0) * (x - x1) / ((x2 - x0) * (x2 - x1))


@compiled
def _blend(source, first, wp, ww, out):
    """out (65, 13) = the blend of planes of source (nphi, 3, 65, 13)."""
    out[:] = 0.0
    for a in range(4):
        for b in range(3):
            w = wp[a] * ww[b]
            if w != 0.0:
                for i in range(N_BURNED_T):
                    for j in range(N_BURNED_P):
                        out[i, j] += w * source[first + a, b, i, j]


@compiled
def _slope_rows(f, lo, hi, step, out):
    """Slopes down the rows lo..hi of f, by the five-point formulas."""
    for i in range(lo, hi + 1):
        s = min(max(i - 2, lo), hi - 4)
        c = _SLOPE[i - s]
        c0, c1, c2, c3, c4 = c[0] / step, c[1] / step, c[2] / step, c[3] / step, c[4] / step
        for j in range(N_BURNED_P):
            out[i, j] = c0 * f[s, j] + c1 * f[s + 1, j] + c2 * f[s + 2, j] + c3 * f[s + 3, j] + c4 * f[s + 4, j]


@compiled
def _slope_columns(f, i, step, plane, slot):
    """Slopes along row i of f, by the five-point formulas, into one slot of the plane."""
    for j in range(N_BURNED_P):
        s = min(max(j - 2, 0), N_BURNED_P - 5)
        c = _SLOPE[j - s]
        total = 0.0
        for k in range(5):
            total += c[k] * f[i, s + k]
        plane[i, j, slot] = total / step


@compiled
def _fill(table, f, left, right, plane, slot):
    """Write f and its slopes into six slots of the plane; left and right are work arrays (65, 13)."""
    freeze = round((table.t_freeze - table.bt0) / table.bdt)
    _slope_rows(f, freeze, N_BURNED_T - 1, table.bdt, right)
    _slope_rows(f, 0, freeze, table.bdt, left)
    for i in range(N_BURNED_T):
        for j in range(N_BURNED_P):
            if i < freeze:
                right[i, j] = left[i, j]
            elif i > freeze:
                left[i, j] = right[i, j]
            plane[i, j, slot] = f[i, j]
            plane[i, j, slot + 1] = right[i, j]
            plane[i, j, slot + 2] = left[i, j]
        _slope_columns(f, i, table.dblp, plane, slot + 3)
        _slope_columns(right, i, table.dblp, plane, slot + 4)
        _slope_columns(left, i, table.dblp, plane, slot + 5)


@compiled
def blend_plane(table, phi, water, plane):
    """Blend the burned-gas table to one plane of temperature and pressure, once a cycle.

    table : GasTable, of the fuel [-]
    phi : float, equivalence ratio, cubic and split at 1 [-]
    water : float, added water / (dry air + fuel + added water), quadratic [-]
    plane : array (65, 13, 12), written: energy, its slopes by T right and left of the node, and the slopes of these
        three by ln p; then the same six of the gas constant [-]
    """
    wp = np.empty(4)
    ww = np.empty(3)
    first = _phi_weights(table, phi, wp)
    _water_weights(table, water, ww)
    f = np.empty((N_BURNED_T, N_BURNED_P))
    left = np.empty((N_BURNED_T, N_BURNED_P))
    right = np.empty((N_BURNED_T, N_BURNED_P))
    _blend(table.burned_energy, first, wp, ww, f)
    _fill(table, f, left, right, plane, 0)
    _blend(table.burned_r, first, wp, ww, f)
    _fill(table, f, left, right, plane, 6)


@compiled
def _bicubic(plane, i, j, slot, t, y):
    """Value and slopes by T and ln p of one quantity, from the weights t and y that `_hermite` gave."""
    a0, a1, b0, b1, da0, da1, db0, db1 = t
    c0, c1, e0, e1, dc0, dc1, de0, de1 = y
    k = i + 1
    m = j + 1
    f0 = a0 * plane[i, j, slot] + a1 * plane[k, j, slot] + b0 * plane[i, j, slot + 1] + b1 * plane[k, j, slot + 2]
    f1 = a0 * plane[i, m, slot] + a1 * plane[k, m, slot] + b0 * plane[i, m, slot + 1] + b1 * plane[k, m, slot + 2]
    df0 = da0 * plane[i, j, slot] + da1 * plane[k, j, slot] + db0 * plane[i, j, slot + 1] + db1 * plane[k, j, slot + 2]
    df1 = da0 * plane[i, m, slot] + da1 * plane[k, m, slot] + db0 * plane[i, m, slot + 1] + db1 * plane[k, m, slot + 2]
    slot += 3
    g0 = a0 * plane[i, j, slot] + a1 * plane[k, j, slot] + b0 * plane[i, j, slot + 1] + b1 * plane[k, j, slot + 2]
    g1 = a0 * plane[i, m, slot] + a1 * plane[k, m, slot] + b0 * plane[i, m, slot + 1] + b1 * plane[k, m, slot + 2]
    dg0 = da0 * plane[i, j, slot] + da1 * plane[k, j, slot] + db0 * plane[i, j, slot + 1] + db1 * plane[k, j, slot + 2]
    dg1 = da0 * plane[i, m, slot] + da1 * plane[k, m, slot] + db0 * plane[i, m, slot + 1] + db1 * plane[k, m, slot + 2]
    return (
        c0 * f0 + c1 * f1 + e0 * g0 + e1 * g1,
        c0 * df0 + c1 * df1 + e0 * dg0 + e1 * dg1,
        dc0 * f0 + dc1 * f1 + de0 * g0 + de1 * g1,
    )


@compiled
def _burned(plane, bt0, bdt, blp0, dblp, T, y):
    """Body of `burned_gas`, without the record."""
    i, t = _hermite(T, bt0, bdt, N_BURNED_T)
    held = min(max(y, blp0), blp0 + (N_BURNED_P - 1) * dblp)
    j, w = _hermite(held, blp0, dblp, N_BURNED_P)
    if held != y:
        w = (w[0], w[1], w[2], w[3], 0.0, 0.0, 0.0, 0.0)
    u, u_T, u_y = _bicubic(plane, i, j, 0, t, w)
    R, R_T, R_y = _bicubic(plane, i, j, 6, t, w)
    return u, u_T, u_y, R, R_T, R_y


@compiled
def burned_gas(table, plane, T, y):
    """Burned gas at temperature and pressure, by bicubic Hermite interpolation.

    Beyond 300-3500 K linear in temperature; beyond 0.2-250 bar the pressure is held at the end.

    table : GasTable, of the fuel [-]
    plane : array (65, 13, 12), from `blend_plane` [-]
    T : float, temperature [K]
    y : float, ln(pressure/Pa) [-]
    Returns u [J/kg], u_T [J/(kg K)], u_y [J/kg], R [J/(kg K)], R_T [J/(kg K2)], R_y [J/(kg K)].
    """
    return _burned(plane, table.bt0, table.bdt, table.blp0, table.dblp, T, y)


@compiled
def frozen_composition(table, phi, water, y, out):
    """Composition of burned gas frozen at t_freeze, with the interpolation of `blend_plane`.

    table : GasTable, of the fuel [-]
    phi : float, equivalence ratio [-]
    water : float, added water / (dry air + fuel + added water) [-]
    y : float, ln(pressure/Pa) at freezing [-]
    out : array (7,), written: mass fractions, none negative, atoms conserved to rounding [-]
    """
    phi = min(max(phi, table.phi[0]), table.phi[-1])
    water = min(max(water, 0.0), MAX_WATER)
    wp = np.empty(4)
    ww = np.empty(3)
    first = _phi_weights(table, phi, wp)
    _water_weights(table, water, ww)
    place = min(max((y - table.blp0) / table.dblp, 0.0), N_BURNED_P - 1.0)
    j = min(max(int(place) - 1, 0), N_BURNED_P - 4)
    co = 0.0
    h2 = 0.0
    for k in range(4):
        wy = 1.0
        for m in range(4):
            if m != k:
                wy *= (place - j - m) / (k - m)
        for a in range(4):
            for b in range(3):
                w = wy * wp[a] * ww[b]
                co += w * table.frozen[first + a, b, j + k, CO]
                h2 += w * table.frozen[first + a, b, j + k, H2]
    close_atoms(table, phi, water, co * table.elements[CO, 0], 0.5 * h2 * table.elements[H2, 1], out)
