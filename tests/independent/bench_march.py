"""An independent march of a bench case: one cylinder between two fixed plenums, imposed burn, to periodicity.

Written from the documented equations alone, in plain Python with Cantera, so that a mistake in the compiled cycle shows.
Nothing is tabulated, no zone is lumped in another way than the documentation says, nozzles are the bare isentropic ones.
"""

import math
from dataclasses import dataclass
from itertools import pairwise

import numpy as np
from bench_closed import Closed
from bench_engine import Engine
from bench_gas import CO, CO2, FUEL, BurnedGas
from bench_open import HEAT, IN, OUT, OUT_H, PORT, PORT_H, SIZE, WORK, M, Open, Stream, T


@dataclass(frozen=True)
class Found:
    """What the march found, in the names of a prediction where there is one."""

    exhaust_temperature_k: float
    imep_net_pa: float
    imep_gross_pa: float
    residual_fraction: float
    exhaust_flow_kg_s: float
    peak_pressure_pa: float
    unburned_temperature_max_k: float
    trapped_mass_kg: float
    wall_heat_j: float
    energy_error: float  # what the cycle's balance misses, over the fuel's energy
    cycles: int
    change_k: float  # of the exhaust temperature over the last cycle
    trace: tuple  # (angle [deg], pressure [Pa]) of the last cycle, from inlet closing on


def march(bench, tolerance_k=0.02, min_cycles=4, max_cycles=60):
    """March cycle after cycle until the exhaust temperature changes by less than the tolerance [K]."""
    engine = Engine(bench)
    state = first_guess(engine)
    before = math.inf
    for number in range(1, max_cycles + 1):
        state, found = cycle(engine, state)
        change = found["exhaust_temperature_k"] - before
        if abs(change) < tolerance_k and number >= min_cycles:
            return Found(**found, cycles=number, change_k=change)
        before = found["exhaust_temperature_k"]
    raise ArithmeticError(f"the march is not periodic after {max_cycles} cycles")


def first_guess(engine):
    """Trapped masses and temperature, gas stored in the port, gas behind the exhaust valve."""
    fresh, gas = engine.fresh, engine.gas
    burned = BurnedGas(gas, fresh.y).lumps(3e5)
    y, T_closing = 0.95 * fresh.y + 0.05 * burned, fresh.T + 50.0
    mass = engine.bench.intake_pressure * engine.volume(engine.bench.intake[1])[0] / (T_closing * (y @ gas.r))
    behind = Stream(gas, burned, burned @ gas.enthalpies(1100.0)[0], 1100.0)
    return y * mass, T_closing, np.zeros(7), 0.0, behind


def cycle(engine, state):
    """One cycle from inlet closing to inlet closing; returns the state there and what the cycle found."""
    bench, gas = engine.bench, engine.gas
    masses, T_closing, port, port_H, behind = state
    opens, closes = bench.exhaust[0], bench.intake[1]
    assert opens <= 180.0 <= 540.0 <= closes, "pumping work is summed over the open part of the cycle"
    trace = []
    closed = Closed(engine, masses, T_closing, closes - 720.0)
    end, hottest = closed.march(T_closing, closes - 720.0, opens, trace)

    y = np.zeros(SIZE)
    y[M], y[T] = closed.mixed(opens, end)
    y[PORT], y[PORT_H] = port, port_H
    work = {opens: 0.0}
    marks = sorted({opens, 180.0, bench.intake[0] % 720.0, 360.0, bench.exhaust[1], 540.0, closes})
    step = Open(engine, behind)
    for a, b in pairwise(marks):
        y = step.march(y, a, b, trace)
        work[b] = y[WORK]
    if y[OUT].sum() > 0.3 * closed.m:  # a first cycle that fills the port may give out next to nothing
        behind = Stream(gas, y[OUT], y[OUT_H], behind.T)

    net = end[3] + y[WORK]
    pumping = work[540.0] - work[180.0]
    heat, carbon = end[4] + y[HEAT], masses * gas.atoms[:, 0]
    missed = y[IN] * engine.fresh.h - y[OUT_H] - net - heat
    found = {
        "exhaust_temperature_k": behind.T,
        "imep_net_pa": net / engine.swept,
        "imep_gross_pa": (net - pumping) / engine.swept,
        "residual_fraction": (carbon[CO2] + carbon[CO]) / carbon.sum(),
        "exhaust_flow_kg_s": y[OUT].sum() * bench.speed_rpm / 120.0,
        "peak_pressure_pa": max(p for _, p in trace),
        "unburned_temperature_max_k": hottest,
        "trapped_mass_kg": closed.m,
        "wall_heat_j": heat,
        "energy_error": missed / (y[IN] * engine.fresh.y[FUEL] * 44e6),
        "trace": tuple(trace),
    }
    return (y[M], y[T], y[PORT], y[PORT_H], behind), found
