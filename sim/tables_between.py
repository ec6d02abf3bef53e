"""Property tables of a charge with alcohol sprayed in: between those of a few shares of it, built once each.

A charge of two fuels at one equivalence ratio is a charge of the one and a charge of the other put together. So what the tables
hold for a kilogram of charge lies between those of two neighbouring shares by the masses of these charges, with every atom in its
place; only the shift of equilibrium with composition is taken as straight. For a kilogram of fuel all is straight.
"""

from functools import lru_cache

from ..models import fuels
from ..models.fuels import Fuel
from ..models.gas import GasTable
from .sections_injection import Injection
from .spray import tank_share
from .tables import Array, Progress, gas_table

NODES = 10  # of alcohol in all fuel by mass: every 10 %; halfway 250 J/kg at the worst place of the table, 0.003 % of its gas constant
CHARGE = ("burned_energy", "burned_r", "frozen")  # fields of a kilogram of charge, by equivalence ratio first


def charge_table(tank: Fuel, injection: Injection | None, progress: Progress | None = None) -> GasTable:
    """Property tables of the fuel that the charge holds.

    tank : Fuel, without what is sprayed in beside it [-]
    injection : what is sprayed in, if anything is
    progress : called with a sentence and the share done while tables are built [-]
    Returns the GasTable [-].
    """
    share = 1.0 - tank_share(injection)
    if injection is None or share == 0.0:
        return gas_table(tank, progress)
    for node in _around(share):
        gas_table(_fuel(tank, injection.alcohol, node), progress)
    return _between(tank, injection.alcohol, share)


def _around(share: float) -> tuple[int, int]:
    """The nodes at and above a share."""
    low = min(int(share * NODES), NODES - 1)
    return low, low + 1


def _fuel(tank: Fuel, alcohol: str, node: int) -> Fuel:
    """The fuel of a node; the last is the alcohol alone."""
    if node in (0, NODES):
        return fuels.named(alcohol) if node else tank
    return fuels.joined(tank, fuels.named(alcohol), node / (NODES - node))


@lru_cache(maxsize=4)
def _between(tank: Fuel, alcohol: str, share: float) -> GasTable:
    """The table of a share between two nodes."""
    low, high = _around(share)
    a, b = (gas_table(_fuel(tank, alcohol, node)) for node in (low, high))
    part = share * NODES - low
    masses = (1.0 - part) * (a.afr_stoich + a.phi), part * (b.afr_stoich + b.phi)  # of charge, by equivalence ratio
    by_phi = masses[1] / sum(masses)

    def mixed(name: str) -> Array | float:
        x, y = getattr(a, name), getattr(b, name)
        weight = by_phi.reshape((-1,) + (1,) * (x.ndim - 1)) if name in CHARGE else part
        return x + weight * (y - x)

    return GasTable(**{name: mixed(name) for name in GasTable._fields})  # type: ignore[arg-type]
