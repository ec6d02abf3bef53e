"""A fuel's property tables: built once with Cantera, kept on disk, handed to the kernel as a GasTable.

Data: NASA polynomials of `nasa_gas.yaml`. Burned gas: equilibrium of 12 species at and above the freezing temperature.
"""

import hashlib
import importlib.metadata
import os
import tempfile
import warnings
import zipfile
from collections.abc import Callable
from functools import lru_cache
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

from ..models import composition, gas
from ..models import gas_table as gas_records
from ..models.fuels import COMPONENTS, NITROGEN_PARTS, O2_IN_AIR_BY_MOLE, Fuel
from ..models.gas import GasTable
from ..models.kept import NotKept, cache_folder, not_kept

Progress = Callable[[str, float], None]
Array = NDArray[np.float64]

SPECIES_T = np.arange(200.0, 3501.0, 25.0)
PHI = np.concatenate(
    [
        np.arange(0, 5) * 0.1,
        np.arange(10, 18) * 0.05,
        0.9 + np.arange(0, 4) * 0.02,
        0.98 + np.arange(0, 8) * 0.005,
        1.02 + np.arange(0, 4) * 0.02,
        1.1 + np.arange(0, 19) * 0.05,
    ]
)
WATER = np.array([0.0, 0.04, 0.08])
BURNED_T = gas.BURNED_FIRST + gas.BURNED_STEP * np.arange(gas.N_BURNED_T)
LOG_P = np.linspace(np.log(0.2e5), np.log(250e5), gas.N_BURNED_P)
BURNED_SPECIES = ("CO2", "CO", "H2O", "H2", "O2", "N2", "NO", "OH", "O", "H", "N", "Ar")

_memo: dict[str, GasTable] = {}


def gas_table(fuel: Fuel, progress: Progress | None = None) -> GasTable:
    """Property tables of a fuel: from memory, else from disk, else built with Cantera and kept.

    A file that is cut short or damaged is built again; a folder that cannot be written costs a warning, no more.

    fuel : Fuel, any composition [-]
    progress : called with a sentence and the share done while tables are built [-]
    Returns the GasTable [-].
    """
    key = _key(fuel)
    if key not in _memo:
        path = cache_folder() / "tables" / f"{key}.npz"
        table = _read(path)
        if table is None:
            table = build(fuel, progress or (lambda _text, _share: None))
            _write(path, table)
        _memo[key] = table
    return _memo[key]


@lru_cache(maxsize=256)
def _key(fuel: Fuel) -> str:
    """Digest of all that the tables depend on: composition, Cantera's version, and the sources that build them."""
    parts = (fuel.mass_fractions, fuel.heat_of_vaporisation, fuel.liquid_cp, importlib.metadata.version("cantera"))
    digest = hashlib.sha256(repr(parts).encode())
    for source in (Path(__file__), Path(composition.__file__), Path(gas_records.__file__)):
        digest.update(source.read_bytes())
    return digest.hexdigest()[:24]


# ------------------------------------------------------------------------------------------------------- on disk


def _read(path: Path) -> GasTable | None:
    """The table in a file, or None if there is none that is whole (zip carries a checksum of every member)."""
    try:
        with np.load(path, allow_pickle=False) as file:
            values = {name: file[name] for name in GasTable._fields}
    except (OSError, ValueError, KeyError, EOFError, zipfile.BadZipFile):
        return None
    return GasTable(**{name: v if v.ndim else float(v) for name, v in values.items()})  # type: ignore[arg-type]


def _write(path: Path, table: GasTable) -> None:
    """Write whole or not at all, so that a second process never reads half a file."""
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
        handle, name = tempfile.mkstemp(dir=path.parent, suffix=".part")
        try:
            with os.fdopen(handle, "wb") as file:
                np.savez(file, **table._asdict())
            os.replace(name, path)
        except BaseException:
            os.unlink(name)
            raise
    except OSError as error:
        text = not_kept("property tables", path.parent, error, "every run builds them again, some seconds")
        warnings.warn(NotKept(text), stacklevel=3)


# ------------------------------------------------------------------------------------------------------ building


def build(fuel: Fuel, progress: Progress) -> GasTable:
    """Build the tables of a fuel with Cantera.

    fuel : Fuel, any composition [-]
    progress : called with a sentence and the share done [-]
    Returns the GasTable [-].
    """
    import cantera as ct

    progress(f"property tables of {fuel.name}", 0.0)
    species = {s.name: s for s in ct.Species.list_from_file("nasa_gas.yaml")}
    table = _fresh_part(fuel, species, ct.gas_constant)
    solution = ct.Solution(thermo="ideal-gas", species=[species[name] for name in BURNED_SPECIES])
    kmol = _equilibria(table, solution, lambda share: progress(f"property tables of {fuel.name}", share))
    table = _burned_part(table, kmol, [species[name].thermo for name in BURNED_SPECIES], ct.gas_constant)
    progress(f"property tables of {fuel.name}", 1.0)
    return table


def _fresh_part(fuel: Fuel, species: dict[str, Any], r_universal: float) -> GasTable:
    """The table with everything but the burned gas."""
    lumps = {name: {name: 1.0} for name in gas.SPECIES}
    lumps["N2"] = dict(NITROGEN_PARTS)
    lumps["FUEL"] = {
        c.species: y / species[c.species].molecular_weight
        for c, y in zip(COMPONENTS.values(), fuel.mass_fractions, strict=True)
        if y > 0.0
    }
    n_t = len(SPECIES_T)
    mass, energy, cv = np.empty(gas.N_SPECIES), np.empty((n_t, gas.N_SPECIES)), np.empty((n_t, gas.N_SPECIES))
    enthalpy, elements = np.empty(gas.N_SPECIES), np.zeros((gas.N_SPECIES, 3))
    for k, name in enumerate(gas.SPECIES):
        total = sum(lumps[name].values())
        parts = [(x / total, species[s]) for s, x in lumps[name].items()]
        mass[k] = sum(x * s.molecular_weight for x, s in parts)
        enthalpy[k] = sum(x * s.thermo.h(gas.REFERENCE_TEMPERATURE) for x, s in parts) / mass[k]
        for i, T in enumerate(SPECIES_T):
            energy[i, k] = (sum(x * s.thermo.h(T) for x, s in parts) - r_universal * T) / mass[k]
            cv[i, k] = (sum(x * s.thermo.cp(T) for x, s in parts) - r_universal) / mass[k]
        for e, atom in enumerate("CHO"):
            elements[k, e] = sum(x * s.composition.get(atom, 0.0) for x, s in parts) / mass[k]
    dry_air = np.zeros(gas.N_SPECIES)
    dry_air[gas.O2] = O2_IN_AIR_BY_MOLE * mass[gas.O2]
    dry_air[gas.N2] = (1.0 - O2_IN_AIR_BY_MOLE) * mass[gas.N2]
    dry_air /= dry_air.sum()
    c, h, o = elements[gas.FUEL]
    o2, co2, h2o = (c + 0.25 * h - 0.5 * o) * mass[gas.O2], c * mass[gas.CO2], 0.5 * h * mass[gas.H2O]
    liquid = enthalpy[gas.FUEL] - fuel.heat_of_vaporisation
    burned_shape = (len(PHI), len(WATER), gas.N_BURNED_T, gas.N_BURNED_P)
    return GasTable(
        gas_constant=r_universal / mass,
        t0=float(SPECIES_T[0]),
        dt=float(SPECIES_T[1] - SPECIES_T[0]),
        energy=energy,
        cv=cv,
        elements=elements,
        dry_air=dry_air,
        fuel_chon=elements[gas.FUEL].copy(),
        afr_stoich=float(o2 / dry_air[gas.O2]),
        lhv_liquid=float(liquid + o2 * enthalpy[gas.O2] - co2 * enthalpy[gas.CO2] - h2o * enthalpy[gas.H2O]),
        heat_of_vaporisation=float(fuel.heat_of_vaporisation),
        fuel_liquid_enthalpy=float(liquid),
        liquid_cp=float(fuel.liquid_cp),
        phi=PHI.copy(),
        water=WATER.copy(),
        bt0=float(BURNED_T[0]),
        bdt=float(BURNED_T[1] - BURNED_T[0]),
        t_freeze=gas.FREEZE,
        blp0=float(LOG_P[0]),
        dblp=float(LOG_P[1] - LOG_P[0]),
        burned_energy=np.empty(burned_shape),
        burned_r=np.empty(burned_shape),
        frozen=np.empty((len(PHI), len(WATER), gas.N_BURNED_P, gas.N_SPECIES)),
    )


def _start(table: GasTable, r_universal: float, phi: float, water: float) -> dict[str, float]:
    """Gas of the right atoms to start equilibrium from [kmol/kg]."""
    fuel = (1.0 - water) * phi / (table.afr_stoich + phi)
    air = 1.0 - water - fuel
    c, h, o = fuel * table.fuel_chon
    kmol_water = water * table.elements[gas.H2O, 2]
    o += kmol_water + air * table.dry_air[gas.O2] * table.elements[gas.O2, 2]
    nitrogen = air * table.dry_air[gas.N2] * table.gas_constant[gas.N2] / r_universal
    parts = sum(NITROGEN_PARTS.values())
    start = {name: nitrogen * part / parts for name, part in NITROGEN_PARTS.items()}
    return start | {"CO": c, "H2": 0.5 * h + kmol_water, "O2": 0.5 * (o - c)}


def _equilibria(table: GasTable, solution: Any, report: Callable[[float], None]) -> Array:
    """Equilibrium compositions from the hottest node down to freezing, (nphi, 3, nT hot, 13, 12) [kmol/kg]."""
    hot = BURNED_T[BURNED_T >= gas.FREEZE]
    pressures = np.exp(LOG_P)
    kmol = np.empty((len(PHI), len(WATER), len(hot), len(pressures), len(BURNED_SPECIES)))
    r_universal = float(table.gas_constant[gas.H2O] / table.elements[gas.H2O, 2])
    for a, phi in enumerate(PHI):
        report(a / len(PHI))
        for b, water in enumerate(WATER):
            start = _start(table, r_universal, phi, water)
            for i in range(len(hot) - 1, -1, -1):
                for j, pressure in enumerate(pressures):
                    solution.TPX = hot[i], pressure, start
                    solution.equilibrate("TP")
                    kmol[a, b, i, j] = solution.X / solution.mean_molecular_weight
    return kmol


def _burned_part(table: GasTable, kmol: Array, thermo: list[Any], r_universal: float) -> GasTable:
    """The table completed: energy and gas constant of the burned gas, and its frozen compositions."""
    energy = np.array([[s.h(T) - r_universal * T for s in thermo] for T in BURNED_T])  # [J/kmol]
    n_cold = len(BURNED_T) - kmol.shape[2]
    frozen = kmol[:, :, 0]
    table.burned_energy[:, :, :n_cold] = np.einsum("abjs,is->abij", frozen, energy[:n_cold])
    table.burned_energy[:, :, n_cold:] = np.einsum("abijs,is->abij", kmol, energy[n_cold:])
    table.burned_r[:, :, :n_cold] = r_universal * frozen.sum(axis=-1)[:, :, None, :]
    table.burned_r[:, :, n_cold:] = r_universal * kmol.sum(axis=-1)
    co, h2 = BURNED_SPECIES.index("CO"), BURNED_SPECIES.index("H2")
    for a, b, j in np.ndindex(frozen.shape[:3]):
        gas.close_atoms(table, PHI[a], WATER[b], frozen[a, b, j, co], frozen[a, b, j, h2], table.frozen[a, b, j])
    return table
