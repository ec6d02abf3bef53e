"""Nitric oxide of cylinder 1, from the crank record of the last cycle."""

from typing import Any

import numpy as np
from numpy.typing import NDArray

from ..models import equilibrium, gas, nitric_oxide
from . import closed
from . import exchange as ex
from .records import Array
from .settle import March
from .tables import NITROGEN_PARTS

NAMES = ("nitric_oxide_ppm", "nitric_oxide_kg_j")


def readings(march: March) -> dict[str, Any]:
    """NO by mole in the exhaust, and over the net indicated work; None each where not asked for or nothing burns."""
    s, out, account = march.setup, march.desk.outs[0], march.desk.account[0]
    if s.case.report.nitric_oxide == "none":
        return dict.fromkeys(NAMES)
    record = march.desk.record
    lit = record[(record[:, closed.R_X] > 0.0) & (record[:, closed.R_TB] > 0.0)]
    if len(lit) < 2:
        return dict.fromkeys(NAMES)
    temperature, there, mass = zones(march, lit)
    hot = there & (s.table.t_freeze <= temperature)
    formed = nitric_oxide.formation(
        s.case.report.nitric_oxide,
        np.maximum(temperature, s.table.t_freeze),
        np.broadcast_to(lit[:, closed.R_P], temperature.shape),
        atoms_of(s.table, out[closed.O_PHI], out[closed.O_WATER]),
    )
    formed = formed._replace(rate=np.where(hot, formed.rate, 0.0))
    each = [nitric_oxide.Formation(*(v[k] for v in formed)) for k in range(len(temperature))]
    seconds, residual = 1.0 / (6.0 * s.plant.speed_rpm), float(out[closed.O_RESIDUAL])
    y, inlet = nitric_oxide.in_exhaust(lit[:, closed.R_ANGLE], each, list(mass), seconds, residual)
    burned = float(lit[-1, closed.R_X] * s.engine.burn.completeness * lit[-1, closed.R_M])
    made = burned * (y - inlet)  # in a cycle, and so leaving in one [kg]
    mix = account[ex.A_SPECIES : ex.A_SPECIES + gas.N_SPECIES]
    kmol = float((mix * s.table.gas_constant).sum()) / equilibrium.UNIVERSAL
    work = float(out[closed.O_WORK] + account[ex.A_WORK_OPEN] + account[ex.A_WORK_PUMP])
    ppm = 1e6 * made / nitric_oxide.MOLAR_MASS / kmol
    return dict(zip(NAMES, (ppm, made / work if work > 0.0 else None), strict=True))


def zones(march: March, lit: Array) -> tuple[Array, NDArray[np.bool_], Array]:
    """Temperatures [K] of burned zones of equal mass (zones, rows), whether each has burned, and its mass."""
    T, x = lit[:, closed.R_TB], lit[:, closed.R_X]
    if march.setup.case.report.nitric_oxide_zone == "mixed":
        return T[None, :], np.ones((1, len(T)), dtype=bool), x[None, :]
    n = nitric_oxide.LAYERS
    rising = np.concatenate(([True], np.diff(x) > 0.0))
    burns = np.interp((np.arange(n) + 0.5) / n * x[-1], x[rising], np.flatnonzero(rising))
    places = np.arange(len(T))
    before = (np.interp(burns, places, lit[:, column]) for column in (closed.R_P, closed.R_TU))
    temperature, there = nitric_oxide.layers(lit[:, closed.R_P], T, burns, flame_temperatures(march, *before))
    return temperature, there, np.ones_like(temperature)


def flame_temperatures(march: March, p: Array, T: Array) -> Array:
    """Adiabatic flame temperature [K] of the charge at pressures [Pa] and unburned temperatures [K]."""
    table, out = march.setup.table, march.desk.outs[0]
    phi, water, residual = (float(out[i]) for i in (closed.O_PHI, closed.O_WATER, closed.O_RESIDUAL))
    left = np.empty(gas.N_SPECIES)
    gas.frozen_composition(table, phi, water, float(np.log(p[0])), left)
    charge = (1.0 - residual) * fresh(table, phi, water) + residual * left
    plane = np.empty((gas.N_BURNED_T, gas.N_BURNED_P, gas.N_SLOTS))
    gas.blend_plane(table, phi, water, plane)
    found = np.full(len(p), 2400.0)
    for i, (pressure, unburned) in enumerate(zip(p, T, strict=True)):
        target = gas.mixture_enthalpy(table, charge, float(unburned))
        for _ in range(20):
            u, u_T, _, r, r_T, _ = gas.burned_gas(table, plane, found[i], float(np.log(pressure)))
            change = (target - u - r * found[i]) / (u_T + r + found[i] * r_T)
            found[i] = min(max(found[i] + change, 500.0), 3600.0)
            if abs(change) < 1e-3:
                break
    return found


def fresh(table: gas.GasTable, phi: float, water: float) -> Array:
    """Mass fractions of dry air + fuel + added water (its share of all three by mass)."""
    air = (1.0 - water) * table.afr_stoich / (table.afr_stoich + phi)
    masses = np.empty(gas.N_SPECIES)
    gas.fresh_charge(table, float(phi), float(water / air), masses)
    return masses


def atoms_of(table: gas.GasTable, phi: float, water: float) -> equilibrium.Atoms:
    """Atoms of the same [kmol/kg]."""
    masses = fresh(table, phi, water)
    carbon, hydrogen, oxygen = masses @ table.elements
    inert = float(masses[gas.N2] * table.gas_constant[gas.N2]) / equilibrium.UNIVERSAL
    parts = sum(NITROGEN_PARTS.values())
    nitrogen, argon = (inert * NITROGEN_PARTS[name] / parts for name in ("N2", "Ar"))
    return equilibrium.Atoms(carbon, hydrogen, oxygen, 2.0 * nitrogen, argon)
