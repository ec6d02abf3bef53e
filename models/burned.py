"""Burned gas: in chemical equilibrium above the freezing temperature, the composition it has there below it.

The table of a fuel is blended once a cycle to one plane of temperature and pressure, which the kernel then reads.
"""

import numpy as np

from .compiled import allocating, compiled
from .composition import close_atoms
from .gas_table import CO, H2, MAX_WATER, N_BURNED_P, N_BURNED_T, hermite

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


@allocating
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
    """Value and slopes by T and ln p of one quantity, from the weights t and y that `hermite` gave."""
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
def burned_state(plane, bt0, bdt, count, row, blp0, dblp, T, y):
    """Burned gas from bare numbers: inside a kernel a whole record is slower to pass than to read; see `burned_gas`.

    plane : array (65, 13, 12), from `blend_plane` [-]
    bt0 : float, first node of the burned temperatures that are used [K]
    bdt : float, their step [K]
    count : int, number of those [-]
    row : int, row of the first [-]
    blp0 : float, first node of ln(pressure/Pa) [-]
    dblp : float, its step [-]
    T : float, temperature [K]
    y : float, ln(pressure/Pa) [-]
    Returns u [J/kg], u_T [J/(kg K)], u_y [J/kg], R [J/(kg K)], R_T [J/(kg K2)], R_y [J/(kg K)].
    """
    i, t = hermite(T, bt0, bdt, count)
    i += row
    held = min(max(y, blp0), blp0 + (N_BURNED_P - 1) * dblp)
    j, w = hermite(held, blp0, dblp, N_BURNED_P)
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
    return burned_state(plane, table.bt0, table.bdt, N_BURNED_T, 0, table.blp0, table.dblp, T, y)


@allocating
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
