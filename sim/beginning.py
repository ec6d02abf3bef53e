"""Where a march begins: every volume filled with a first guess, the turbine's from a balance of its power by hand."""

import math

from ..models import gas, geometry, turbine
from ..models.compiled import allocating, compiled, inlined
from ..models.flow import link_flow
from . import cycle
from . import exchange as ex
from .records import (
    IN_OFFSET,
    IN_PRESSURE,
    IN_R,
    IN_RUNNER_VOLUME,
    IN_T,
    IN_Y,
    K,
)
from .surroundings import (
    BENCH,
    SET_BOOST,
    TURBO,
    Z_AIR,
    Z_EXHAUST,
    Z_INTAKE,
    Z_OUTLET,
    Z_POWER_C,
    Z_SHAFT,
    Z_T4,
    Z_WASTE,
    charge_side,
    feed,
    put,
)

GUESS_T, GUESS_R, GUESS_GAMMA = 1150.0, 290.0, 1.31  # of exhaust before the turbine [K, J/(kg K), -]
# Charge in the cylinder above that in the intake; gas when the exhaust opens; pipes [K].
WARMED, OPENING_T, GUESS_WALL = 60.0, 1500.0, 950.0
RESIDUAL = 0.04  # share of the trapped gas that stayed from the cycle before
HIGHEST_RATIO = 8.0  # of the expansions looked at [-]


@inlined
def turbine_powers(plant, machine, collectors, z, pressure):
    """Flow [kg/s] and power [W] of a turbine before which exhaust of a guessed temperature stands at one pressure."""
    outlet, tip = z[Z_OUTLET], 0.5 * z[Z_SHAFT] * plant.turbine_diameter
    flow = turbine.turbine_flow(machine, pressure, GUESS_T, GUESS_R, outlet, tip)[0]
    if collectors == 2:
        flow *= 1.0 + turbine.beside_first(machine, 1)
    work = turbine.turbine_work(pressure, GUESS_T, GUESS_R, GUESS_GAMMA, outlet)
    efficiency = turbine.turbine_efficiency(machine, pressure, GUESS_T, GUESS_R, GUESS_GAMMA, outlet, tip)
    return flow, plant.mechanical_efficiency * flow * work * efficiency


@compiled
def first_balance(engine, plant, machine, z):
    """Pressure before the turbine at which it gives what the compressor takes [Pa]; what it leaves over opens the wastegate.

    In a steady stream of guessed temperature: a place to begin, which the march then forgets.
    """
    low, high = z[Z_OUTLET], HIGHEST_RATIO * z[Z_OUTLET]
    for _ in range(24):
        middle = 0.5 * (low + high)
        flow, power = turbine_powers(plant, machine, engine.collectors, z, middle)
        if flow < z[Z_EXHAUST] and power < z[Z_POWER_C]:
            low = middle
        else:
            high = middle
    flow = turbine_powers(plant, machine, engine.collectors, z, high)[0]
    one = link_flow(1.0, high, GUESS_T, GUESS_R, GUESS_GAMMA, z[Z_OUTLET], GUESS_T, GUESS_R, GUESS_GAMMA)[0]
    z[Z_WASTE] = min(max(z[Z_EXHAUST] - flow, 0.0) / (one * engine.collectors), plant.wastegate_area)
    return high


@compiled
def even_pressure(plant, z):
    """Pressure before a turbine that expands as far as the compressor compresses [Pa]."""
    return z[Z_OUTLET] * (z[Z_INTAKE] / plant.ambient_pressure)


@compiled
def trapped_in(engine, plant, z):
    """Gas in a closed cylinder, as the flow through the engine tells [kg]."""
    return (1.0 + RESIDUAL) * z[Z_EXHAUST] * 120.0 / (plant.speed_rpm * engine.cylinders)


@allocating
def fill_all(engine, table, inputs, memory, back, trapped):
    """First guess of every volume: intake gas where the intake is open, burnt gas elsewhere.

    back : float, pressure in the exhaust [Pa]
    trapped : float, gas in a closed cylinder [kg]
    """
    n = engine.cylinders
    burned = memory.content[0, :K].copy()
    phi, water = gas.charge_state(table, inputs[0, IN_Y : IN_Y + K])
    gas.frozen_composition(table, phi, water, math.log(5e5), burned)
    content = memory.content
    start, opens = engine.intake_closes, geometry.volume(engine.geo, engine.exhaust_opens)[0]
    for j in range(n):
        local = cycle.local_angle(inputs[j, IN_OFFSET], start)
        V = geometry.volume(engine.geo, local)[0]
        fresh, warm = inputs[j, IN_Y:], inputs[j, IN_T] + WARMED
        if local == start:  # all that was drawn is in
            put(table, content[j], fresh, trapped * inputs[j, IN_R] * warm / V, V, warm)
        elif 360.0 < local < start:
            put(table, content[j], fresh, inputs[j, IN_PRESSURE], V, warm)
        elif engine.exhaust_opens < local <= 360.0:
            put(table, content[j], burned, back, V, GUESS_T)
        else:  # closed, with the state in which its exhaust valve will open
            put(table, content[j], burned, trapped * GUESS_R * OPENING_T / opens, opens, OPENING_T)
        put(table, content[n + j], burned, back, inputs[j, IN_RUNNER_VOLUME], GUESS_T)
    for v in range(2 * n, content.shape[0]):
        put(table, content[v], burned, back, engine.section_volume, GUESS_T)
    memory.wall[:] = GUESS_WALL


@compiled
def begin(engine, plant, machine, chart, table, inputs, memory, desk, z):
    """Cold start: flows from displacement, wastegate a little open, every volume filled."""
    z[:] = 0.0
    z[Z_INTAKE] = plant.intake_pressure if plant.gate_model == SET_BOOST else 1.3 * plant.ambient_pressure
    z[Z_OUTLET] = plant.exhaust_pressure if plant.kind == BENCH else plant.ambient_pressure
    density = z[Z_INTAKE] / (287.0 * 320.0)
    z[Z_AIR] = 0.85 * density * engine.cylinders * engine.geo.swept * plant.speed_rpm / 120.0
    z[Z_T4] = 1000.0
    if plant.kind == TURBO:
        z[Z_WASTE] = min(0.2 * plant.swallowing / 0.67, plant.wastegate_area)
        loss = plant.outlet_loss * z[Z_AIR] ** 2
        z[Z_OUTLET] += loss * 2.8 if plant.outlet_by_density == 1 else loss
    memory.kept[:] = 0.0
    charge_side(plant, chart, z)
    desk.stream[:] = 0.0
    desk.stream[:, ex.I_STALE] = 1.0
    desk.states[:] = 0.0
    desk.blended[:] = -1.0
    feed(plant, table, inputs, z)
    z[Z_EXHAUST] = z[Z_AIR] / (1.0 - inputs[0, IN_Y + gas.FUEL])
    back = plant.exhaust_pressure
    if plant.kind == TURBO:
        back = even_pressure(plant, z)
        if plant.gate_model == SET_BOOST:
            back = first_balance(engine, plant, machine, z)
    fill_all(engine, table, inputs, memory, back, trapped_in(engine, plant, z))
