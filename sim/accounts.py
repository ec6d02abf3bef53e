"""Closure: what went in, what came out, what stayed, over the last cycle of a settled march."""

from typing import NamedTuple

import numpy as np

from ..models import gas
from . import closed, surroundings
from . import exchange as ex
from .records import C_ENERGY, IN_H, IN_Y, KEPT_PORT_H, K
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
    own = slice(1) if first_only else slice(n)
    total = float(m.content[own, C_ENERGY].sum() + m.kept[own, KEPT_PORT_H].sum()) * (n if first_only else 1)
    if march.setup.plant.kind != surroundings.BENCH:
        last = m.content.shape[0] if march.setup.plant.kind == surroundings.TURBO else 2 * n
        total += float(m.content[n:last, C_ENERGY].sum())
    return Stored(march.told * total)


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
    rows = [0] * n if s.engine.alike else list(range(n))
    fresh = desk.account[rows, ex.A_FRESH]
    gas_in = (fresh[:, None] * s.inputs[:, IN_Y : IN_Y + K]).sum(axis=0)
    out = desk.account[rows][:, ex.A_SPECIES : ex.A_SPECIES + K].sum(axis=0)
    outs = desk.outs[rows]
    leak = outs[:, closed.O_LEAK_MASS].sum()
    fuel_energy = max(float(gas_in[gas.FUEL] * t.lhv_liquid), 1.0)
    work = outs[:, closed.O_WORK].sum() + desk.account[rows][:, [ex.A_WORK_OPEN, ex.A_WORK_PUMP]].sum()
    walls = outs[:, closed.O_HEAT].sum() + desk.account[rows, ex.A_WALL_HEAT].sum()
    pipes = desk.account[:, [ex.A_PORT_HEAT, ex.A_RUNNER_HEAT]].sum() + desk.collector[:, ex.B_HEAT].sum()
    enthalpy_in = float((fresh * s.inputs[:, IN_H]).sum())
    if s.plant.kind == surroundings.TURBO:
        enthalpy_out = desk.collector[:, [ex.B_TURBINE_ENTHALPY, ex.B_WASTE_ENTHALPY]].sum()
    elif s.plant.kind == surroundings.HELD:
        enthalpy_out = out_of_runners(march)
        pipes = desk.account[:, [ex.A_PORT_HEAT, ex.A_RUNNER_HEAT]].sum()
    else:
        enthalpy_out, pipes = desk.account[:, ex.A_OUT_ENTHALPY].sum(), 0.0
    gain = stored(march).energy - before.energy
    error = enthalpy_in - work - walls - pipes - enthalpy_out - outs[:, closed.O_LEAK_ENERGY].sum() - gain
    chemical = out[gas.CO] * LHV_CO + out[gas.H2] * LHV_H2 + out[gas.FUEL] * (t.lhv_liquid + t.heat_of_vaporisation)
    mass_error = float(abs(z[surroundings.Z_MASS]))
    known_in = gas_in.sum() > 1e-9
    if leak == 0.0 and known_in:  # what blew by leaves with the zones' own mixture, whose atoms are not booked
        elements_in, elements_out = gas_in @ t.elements, out @ t.elements
        known = elements_in > 0.0
        mass_error = max(mass_error, float(np.max(np.abs(elements_out[known] / elements_in[known] - 1.0))))
    return Closure(
        mass_error,
        float(abs(error) / fuel_energy),
        float(chemical / fuel_energy),
        float(walls / fuel_energy),
        float((fuel_energy - work - walls) / fuel_energy),
        fuel_energy,
    )


def out_of_runners(march: March) -> float:
    """Enthalpy that left the runners into a collector held at fixed pressure [J]."""
    desk, n = march.desk, march.setup.engine.cylinders
    return float(desk.account[:, ex.A_MOUTH_ENTHALPY].sum()) if n else 0.0
