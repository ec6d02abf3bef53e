"""Closure: what went in, what came out, what stayed, over the last cycle of a settled march."""

from typing import NamedTuple

from ..models import gas
from ..models.compiled import compiled
from . import closed, surroundings
from . import exchange as ex
from .records import C_ENERGY, IN_H, IN_Y, KEPT_PORT_H, Array, K
from .settle import March

LHV_CO, LHV_H2 = 10.103e6, 119.96e6  # lower heating values at 25 degC, from standard enthalpies of formation [J/kg]


class Stored(NamedTuple):
    """Energy in every volume and in the ports [J], at one moment."""

    energy: float


def stored(march: March) -> Stored:
    """What the volumes hold now.

    In a march of a whole cycle the first of alike cylinders stands for all; in one from a firing to the next each has its own
    part of it, and what they gain in that they gain as often as they fire.
    """
    m, n = march.memory, march.setup.engine.cylinders
    first_only = march.setup.engine.alike and march.told == 1
    last = {surroundings.BENCH: n, surroundings.TURBO: m.content.shape[0]}.get(march.setup.plant.kind, 2 * n)
    cylinders, pipes = energies(m.content, m.kept, 1 if first_only else n, n, last)
    return Stored(march.told * (cylinders * (n if first_only else 1) + pipes))


@compiled
def energies(content, kept, own, n, last):
    """Energy of the first cylinders, `own` of n, with what waits in their ports, and of the volumes from n to the last [J]."""
    cylinders = pipes = 0.0
    for j in range(own):
        cylinders += content[j, C_ENERGY] + kept[j, KEPT_PORT_H]
    for v in range(n, last):
        pipes += content[v, C_ENERGY]
    return cylinders, pipes


class Closure(NamedTuple):
    """Errors and shares of the fuel's energy over one cycle."""

    mass: float
    energy: float
    unburned: float
    walls: float
    exhaust: float
    fuel_energy: float  # per cycle [J]


def closure(march: March, before: Stored) -> Closure:
    """Mass by element and energy in absolute enthalpies, over the cycle since `before` was taken."""
    s, desk, z = march.setup, march.desk, march.z
    n, t = s.engine.cylinders, s.table
    times = n if s.engine.alike else 1  # the first of alike cylinders stands for all
    own = slice(1) if s.engine.alike else slice(n)
    account, outs = desk.account[own], desk.outs[own]
    fresh, bills = account[:, ex.A_FRESH], times * account.sum(axis=0)
    gas_in = times * (fresh @ s.inputs[own, IN_Y : IN_Y + K])
    out, closed_bills = bills[ex.A_SPECIES : ex.A_SPECIES + K], (times * outs.sum(axis=0)).tolist()
    own_bills, sums = bills.tolist(), desk.account.sum(axis=0).tolist()
    fuel_energy = max(float(gas_in[gas.FUEL] * t.lhv_liquid), 1.0)
    work = closed_bills[closed.O_WORK] + own_bills[ex.A_WORK_OPEN] + own_bills[ex.A_WORK_PUMP]
    walls = closed_bills[closed.O_HEAT] + own_bills[ex.A_WALL_HEAT]
    pipes, enthalpy_out = sums[ex.A_PORT_HEAT] + sums[ex.A_RUNNER_HEAT], sums[ex.A_MOUTH_ENTHALPY]
    if s.plant.kind == surroundings.TURBO:
        collector = desk.collector.sum(axis=0).tolist()
        pipes += collector[ex.B_HEAT]
        enthalpy_out = collector[ex.B_TURBINE_ENTHALPY] + collector[ex.B_WASTE_ENTHALPY]
    elif s.plant.kind == surroundings.BENCH:
        pipes, enthalpy_out = 0.0, sums[ex.A_OUT_ENTHALPY]
    enthalpy_in = times * float(fresh @ s.inputs[own, IN_H])
    gain = stored(march).energy - before.energy
    error = enthalpy_in - work - walls - pipes - enthalpy_out - closed_bills[closed.O_LEAK_ENERGY] - gain
    chemical = out[gas.CO] * LHV_CO + out[gas.H2] * LHV_H2 + out[gas.FUEL] * (t.lhv_liquid + t.heat_of_vaporisation)
    return Closure(
        max(abs(float(z[surroundings.Z_MASS])), _atoms(t, gas_in, out, closed_bills[closed.O_LEAK_MASS])),
        abs(error) / fuel_energy,
        float(chemical / fuel_energy),
        walls / fuel_energy,
        (fuel_energy - work - walls) / fuel_energy,
        fuel_energy,
    )


def _atoms(table: gas.GasTable, gas_in: Array, out: Array, leak: float) -> float:
    """Largest relative error of an element; what blows by leaves with the zones' own mixture, whose atoms are not booked [-]."""
    if leak != 0.0 or not gas_in.sum() > 1e-9:
        return 0.0
    went_in, came_out = (gas_in @ table.elements).tolist(), (out @ table.elements).tolist()
    return max(abs(b / a - 1.0) for a, b in zip(went_in, came_out, strict=True) if a > 0.0)
