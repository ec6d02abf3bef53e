"""Thermodynamics of the working gas, under one name: look-ups in tables that `sim` builds once per fuel.

Unburned, exhaust and intake gas is a frozen mixture of seven species (`mixture`, `composition`); burned gas is in chemical
equilibrium above the freezing temperature and keeps the composition it has there below it (`burned`). Energies are
absolute (enthalpy of formation included), so that heat release needs no heating value.
"""

# ruff: noqa: F401  (this room only gathers)
from .burned import blend_plane, burned_gas, burned_state, frozen_composition
from .composition import charge_state, close_atoms, fresh_charge, fresh_enthalpy
from .gas_table import (
    ANYWHERE,
    BURNED_FIRST,
    BURNED_STEP,
    CO,
    CO2,
    COLD,
    COLDEST,
    FREEZE,
    FUEL,
    H2,
    H2O,
    HOT,
    HOTTEST,
    MAX_WATER,
    N2,
    N_BURNED_P,
    N_BURNED_T,
    N_SLOTS,
    N_SPECIES,
    O2,
    REFERENCE_TEMPERATURE,
    SPECIES,
    GasTable,
    hermite,
)
from .mixture import (
    FIRST,
    STEP,
    blend_mixture,
    blended_energy,
    enthalpy_temperature,
    mixture_energy,
    mixture_enthalpy,
    mixture_gas_constant,
    mixture_temperature,
    species_energy,
    species_temperature,
)

# Names from before these were public.
_hermite, _species_energy, _species_temperature = hermite, species_energy, species_temperature
