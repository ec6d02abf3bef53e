"""Compositions: what a gas is made of, from its mixture or from its atoms."""

import numpy as np

from .compiled import allocating, compiled
from .gas_table import CO, CO2, FUEL, H2, H2O, MAX_WATER, N2, N_SPECIES, O2, REFERENCE_TEMPERATURE
from .mixture import mixture_enthalpy


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


@allocating
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
