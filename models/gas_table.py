"""Species of the working gas, the record of its tables, and the interpolation that reads them.

Sources of the numbers: see `sim/tables.py`, which builds the tables.
"""

from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from .compiled import compiled

O2, N2, CO2, H2O, CO, H2, FUEL = range(7)  # N2: the nitrogen and argon of air as one; FUEL: the vapour of any blend
N_SPECIES = 7
SPECIES = ("O2", "N2", "CO2", "H2O", "CO", "H2", "FUEL")
COLDEST, HOTTEST = 100.0, 4500.0  # within which a march holds temperatures; the tables go from 200 to 3500 [K]
REFERENCE_TEMPERATURE = 298.15  # of heating values and of the liquid fuel's enthalpy [K]
MAX_WATER = 0.12  # added water / (dry air + fuel + added water) up to which the burned gas is extrapolated [-]
N_BURNED_T, N_BURNED_P, N_SLOTS = 65, 13, 12  # a plane of burned gas: temperatures, pressures, numbers at each node
BURNED_FIRST, BURNED_STEP = 300.0, 50.0  # its temperatures [K]
FREEZE = 1700.0  # one of them, below which burned gas keeps its composition: its heat capacity jumps there [K]
ANYWHERE, HOT, COLD = 0, 1, -1  # where burned gas may be: at its temperature's own place, or held to one side of FREEZE


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
def hermite(x, x0, dx, n):
    """Cell and weights of cubic Hermite interpolation on a uniform grid; linear beyond its ends.

    x : float, where to look up [as the grid]
    x0 : float, first node [as the grid]
    dx : float, step of the grid [as the grid]
    n : int, number of nodes [-]
    Returns the cell, and a tuple of eight: the weights of (value, value, slope, slope) at its two nodes, then their
    derivatives by x [-, as the grid, 1 / as the grid].
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
