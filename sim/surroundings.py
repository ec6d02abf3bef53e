"""What stands around the engine, compiled: compressor, cooler, fresh charge, walls, the state after the turbine."""

import math
from typing import NamedTuple

import numpy as np

from ..models import compressor, gas, manifold, wastegate
from ..models.compiled import allocating, compiled, inlined
from . import closed, cycle, firing
from . import exchange as ex
from .records import (
    C_ENERGY,
    C_T,
    IN_AIR,
    IN_H,
    IN_PHI,
    IN_PRESSURE,
    IN_R,
    IN_RUNNER_SURFACE,
    IN_RUNNER_VOLUME,
    IN_T,
    IN_Y,
    K,
    Point,
)

BENCH, TURBO, HELD = 0, 1, 2  # what stands behind the runners
SET_BOOST, SET_OPENING, SPRING = 0, 1, 2  # what moves the wastegate
CP_AIR, GAMMA_AIR = 1005.0, 1.4  # of the air a compressor handles [J/(kg K), -]
R_AIR = CP_AIR * (GAMMA_AIR - 1.0) / GAMMA_AIR  # [J/(kg K)]
MOST_WATER = 0.1  # injected over dry air, beyond it burned gas is not tabulated [kg/kg]
GAMMA_EXHAUST = 1.3
MEAN_GUESS = 1100.0  # where the temperature of exhaust that was mixed is looked for [K]
COLDEST = 200.0  # of a fresh charge; its gas is tabulated from there on, and no fuel evaporates so cold [K]
MOST_BOOST = 6e5  # a boost that nothing holds is followed no further: no single wheel makes more [Pa]
LEAST_DROP = 0.01  # of a turbine through which hardly anything passes, over ambient pressure [-]
GATE_SHARE = 0.5  # of the way a spring-loaded wastegate goes to its balance in a cycle


class Plant(NamedTuple):
    """Everything around the engine, and how well it is to be solved."""

    kind: int  # BENCH, TURBO or HELD
    ambient_pressure: float  # [Pa]
    ambient_temperature: float  # [K]
    humidity: float  # [kg/kg]
    speed_rpm: float
    octane: float
    intake_pressure: float  # asked for, absolute [Pa]
    intake_temperature: float  # bench [K]
    exhaust_pressure: float  # bench, or held [Pa]
    fuel_temperature: float  # [K]
    evaporation_share: float
    water_per_fuel: float  # injected water over fuel [kg/kg]
    water_flow: float  # or injected water [kg/s]
    water_enthalpy: float  # of the liquid, absolute [J/kg]
    inlet_loss: float  # pressure loss over flow squared [Pa s2/kg2]
    cooler_loss: float  # [Pa s2/kg2]
    cooler_effectiveness: float
    coolant_temperature: float  # [K]
    compressor: compressor.Compressor
    turbine_diameter: float  # [m]
    mechanical_efficiency: float
    outlet_loss: float  # pressure loss over flow squared per specific volume, or plain where measured
    outlet_by_density: int  # 1: outlet_loss times the specific volume
    wastegate_area: float  # effective, fully open, per collector [m2]
    wastegate_leak: float  # effective, what it passes at least, per collector [m2]
    gate_model: int  # SET_BOOST, SET_OPENING or SPRING
    gate_opening: float  # of SET_OPENING [-]
    gate: wastegate.Gate  # of SPRING
    gate_at_compressor: int  # 1: the diaphragm's hose is at the compressor's outlet, 0: in the intake manifold
    swallowing: float  # greatest flow parameter of the turbine, as an area [m2]
    steps: int  # of gas exchange in a cycle
    closed_width: float  # step of the closed part [deg]
    parts: int  # marches in a cycle: 1, or one for each cylinder where all are alike and fire evenly
    most_cycles: int
    tolerance: float  # largest relative change from cycle to cycle


# Slots of the loop's own state, float64[N_LOOP], kept between calls.
(
    Z_INTAKE,  # intake pressure [Pa]
    Z_WASTE,  # wastegate area, effective, per collector [m2]
    Z_AIR,  # moist air flow [kg/s]
    Z_EXHAUST,  # exhaust flow [kg/s]
    Z_T4,  # after the turbine [K]
    Z_V4,  # specific volume there [m3/kg]
    Z_OUTLET,  # pressure after the turbine [Pa]
    Z_T_INTAKE,
    Z_POWER_C,  # compressor power [W]
    Z_POWER_T,  # turbine power after bearing loss [W]
    Z_SHAFT,  # [rad/s]
    Z_RATIO_C,  # compressor pressure ratio [-]
    Z_T2,  # after the compressor [K]
    Z_SURPLUS,  # (turbine - compressor power) / scale
    Z_CHANGE,  # relative change over the last cycle
    Z_MASS,  # relative difference of mass in and out
    Z_CYCLES,
    Z_SLOPE,  # d surplus / d ln(intake pressure), at a balance without boost control
    Z_STATUS,  # of the closed part
    Z_LAST,  # the change of the march before
) = range(20)
N_LOOP = 20
NOTHING_KEPT, CYCLE_KEPT, MARCH_KEPT = 0, 1, 2  # records of a march


@compiled
def charge_side(plant, chart, z):
    """Compressor, cooler, shaft speed from the present flow and intake pressure: once a cycle, at its mean flow."""
    if plant.kind == BENCH:
        z[Z_T_INTAKE] = plant.intake_temperature
        z[Z_RATIO_C] = 1.0
        return
    flow2 = z[Z_AIR] * z[Z_AIR]
    p1 = plant.ambient_pressure - plant.inlet_loss * flow2
    T1 = plant.ambient_temperature
    z[Z_RATIO_C] = max((z[Z_INTAKE] + plant.cooler_loss * flow2) / p1, 1.0)
    work, z[Z_SHAFT] = compressor.state(plant.compressor, chart, z[Z_AIR], z[Z_RATIO_C], T1, p1, R_AIR, GAMMA_AIR)
    z[Z_T2] = T1 + work / CP_AIR
    z[Z_T_INTAKE] = z[Z_T2] - plant.cooler_effectiveness * (z[Z_T2] - plant.coolant_temperature)
    z[Z_POWER_C] = z[Z_AIR] * work


@compiled
def injected(plant, table, phi, z):
    """Injected water over dry air in the fresh charge [kg/kg]; held where the burned gas is tabulated."""
    water = plant.water_per_fuel * phi / table.afr_stoich
    if plant.water_flow > 0.0:
        water = plant.water_flow * (1.0 + plant.humidity) / max(z[Z_AIR], 1e-6)
    return min(water, MOST_WATER)


@compiled
def moist_share(plant, table, row):
    """Share of moist air in a fresh charge, fuel and injected water left out [-]."""
    if plant.water_per_fuel == 0.0 and plant.water_flow == 0.0:
        return 1.0 - row[IN_Y + gas.FUEL]
    return (1.0 + plant.humidity) * row[IN_Y + gas.O2] / table.dry_air[gas.O2]


@compiled
def feed(plant, table, inputs, z):
    """Fresh charge of every cylinder at the present intake state."""
    for j in range(inputs.shape[0]):
        row = inputs[j]
        phi, share = row[IN_PHI], plant.evaporation_share
        water = injected(plant, table, phi, z)
        gas.fresh_charge(table, phi, plant.humidity + water, row[IN_Y:])
        h = gas.fresh_enthalpy(table, phi, plant.humidity, z[Z_T_INTAKE], plant.fuel_temperature, share)
        if water > 0.0:  # it comes in as liquid: all its heat of vaporisation is taken from the charge
            before = 1.0 + plant.humidity + phi / table.afr_stoich
            h = (before * h + water * plant.water_enthalpy) / (before + water)
        r = gas.mixture_gas_constant(table, row[IN_Y:])
        guess = row[IN_T] if row[IN_T] > 0.0 else z[Z_T_INTAKE]
        row[IN_T] = gas.enthalpy_temperature(table.energy, table.cv, table.gas_constant, row[IN_Y:], h, guess)
        if row[IN_T] < COLDEST:
            row[IN_T] = COLDEST
            h = gas.mixture_energy(table, row[IN_Y : IN_Y + K], COLDEST)[0] + r * COLDEST
        row[IN_H], row[IN_R] = h, r
        row[IN_PRESSURE] = z[Z_INTAKE] * row[IN_AIR]


@compiled
def put(table, content, composition, pressure, volume, T):
    """Fill a volume with gas of a composition at a pressure and temperature."""
    r = gas.mixture_gas_constant(table, composition)
    mass = pressure * volume / (r * T)
    for k in range(K):
        content[k] = composition[k] * mass
    content[C_ENERGY] = gas.mixture_energy(table, content[:K], T)[0]
    content[C_T] = T


@allocating
def refill(engine, plant, table, inputs, content, account, volume):
    """Give plenums of fixed pressure the mean gas that flowed into them."""
    n = engine.cylinders
    if plant.kind == BENCH:
        for j in range(n):
            out = account[j, ex.A_OUT_MASS]
            if out > 0.5 * account[j, ex.A_BACKFLOW] and out > 0.0:  # else the mean gas is no gas; keep the last
                T = mean_temperature(table, account[j, ex.A_SPECIES :], account[j, ex.A_OUT_ENTHALPY])
                put(
                    table,
                    content[n + j],
                    account[j, ex.A_SPECIES :] / out,
                    plant.exhaust_pressure,
                    inputs[j, IN_RUNNER_VOLUME],
                    T,
                )
    elif plant.kind == HELD:
        for c in range(engine.collectors):
            T = content[2 * n + c, C_T]
            r = gas.mixture_gas_constant(table, content[2 * n + c, :K])
            scale = plant.exhaust_pressure * volume / (r * T)
            for k in range(K + 1):
                content[2 * n + c, k] *= scale


@compiled
def mean_temperature(table, masses, enthalpy):
    """Temperature at which gas of these masses has this enthalpy [K]."""
    return gas.enthalpy_temperature(table.energy, table.cv, table.gas_constant, masses, enthalpy, MEAN_GUESS)


@compiled
def cool_walls(engine, inputs, desk, wall, seconds):
    """Wall temperatures at which the heat of the last cycle would leave again."""
    n = engine.cylinders
    for i in range(wall.size):
        if i < n:
            ha, hat = desk.account[i, ex.A_HA], desk.account[i, ex.A_HAT]
            surface = inputs[i, IN_RUNNER_SURFACE]
        else:
            ha, hat = desk.collector[i - n, ex.B_HA], desk.collector[i - n, ex.B_HAT]
            surface = engine.collector_surface
        if ha > 0.0:
            wall[i] = manifold.wall_temperature(
                ha / seconds, hat / seconds, surface * engine.outer_area_ratio, engine.bay_temperature,
                engine.outer_emissivity, engine.outer_coefficient, wall[i],
            )  # fmt: skip


@allocating
def exhaust_side(engine, plant, table, desk, memory, z):
    """Flows, turbine power and the state after the turbine, from the accounts of the last cycle."""
    n = engine.cylinders
    per_second = plant.speed_rpm / 120.0
    fresh = out = leak = 0.0
    for j in range(n):
        drawn = desk.account[j, ex.A_FRESH]
        if engine.alike == 1:
            drawn = desk.account[0, ex.A_FRESH]
        fresh += drawn
        out += desk.account[j, ex.A_OUT_MASS]
        leak += desk.outs[0 if engine.alike == 1 else j, closed.O_LEAK_MASS]
    work = mass = enthalpy = 0.0
    left = np.zeros(K)  # the mixture of a whole cycle: what stands there at its end is the last cylinder's
    for c in range(engine.collectors):
        b = desk.collector[c]
        for k in range(K):
            left[k] += b[ex.B_SPECIES + k]
        mass += b[ex.B_TURBINE_MASS] + b[ex.B_WASTE_MASS]
        enthalpy += b[ex.B_TURBINE_ENTHALPY] + b[ex.B_WASTE_ENTHALPY]
        work += b[ex.B_TURBINE_WORK]
    if plant.kind != TURBO:
        mass = out
    z[Z_MASS] = (fresh - leak - mass) / fresh if fresh > 0.0 else 1.0
    z[Z_EXHAUST] = mass * per_second
    z[Z_POWER_T] = plant.mechanical_efficiency * work * per_second
    if plant.kind == TURBO and mass > 0.0:
        z[Z_T4] = mean_temperature(table, left, enthalpy - work)
        r = gas.mixture_gas_constant(table, left) / mass
        z[Z_V4] = r * z[Z_T4] / z[Z_OUTLET]
    if plant.kind == TURBO:
        loss = plant.outlet_loss * z[Z_EXHAUST] ** 2
        z[Z_OUTLET] = outlet(engine, plant, desk, z, loss * z[Z_V4] if plant.outlet_by_density == 1 else loss)
    return fresh


@compiled
def before_turbine(engine, desk):
    """Mean pressure of the collectors over the last cycle [Pa]."""
    total = 0.0
    for c in range(engine.collectors):
        total += desk.collector[c, ex.B_P]
    return total / (720.0 * engine.collectors)


@compiled
def outlet(engine, plant, desk, z, loss):
    """Pressure after the turbine for the next march, from the loss that the last flow makes in the pipe [Pa].

    Too low a pressure there lets too much through, which makes too high a one: an error comes back `ratio` times as large. Where a
    pipe takes as much as the turbine the ratio is 1, and marches swing until no gas passes in every other. There the way is gone
    in part. A nozzle's flow goes as the root of its pressure drop, and what does not pass in one march waits in the manifold for
    the next, unless it is emptied at once.
    """
    if loss <= 0.0 or z[Z_EXHAUST] <= 0.0:
        return plant.ambient_pressure
    volume = 0.0
    for v in range(engine.cylinders, desk.states.shape[1]):
        volume += desk.states[0, v, ex.S_V]
    drop = max(before_turbine(engine, desk) - z[Z_OUTLET], LEAST_DROP * plant.ambient_pressure)
    passed = z[Z_EXHAUST] * 120.0 / (plant.speed_rpm * plant.parts)
    emptied = 0.25 * GAMMA_EXHAUST * passed * z[Z_V4] * z[Z_OUTLET] / (volume * drop)
    ratio = loss * (math.tanh(emptied) / (emptied * drop) + plant.outlet_by_density / z[Z_OUTLET])
    return z[Z_OUTLET] + min(1.5 / (1.0 + ratio), 1.0) * (plant.ambient_pressure + loss - z[Z_OUTLET])


@compiled
def gate_side(engine, plant, desk, z):
    """Move a wastegate that follows a law towards what the last cycle makes of it; returns the change in turbine areas."""
    if plant.kind != TURBO or plant.gate_model == SET_BOOST:
        return 0.0
    opening = plant.gate_opening
    if plant.gate_model == SPRING:
        before = before_turbine(engine, desk)
        signal = z[Z_INTAKE] - plant.ambient_pressure
        if plant.gate_at_compressor == 1:
            signal += plant.cooler_loss * z[Z_AIR] * z[Z_AIR]
        opening = wastegate.gate_opening(plant.gate, signal, before, z[Z_OUTLET])
    # half of the way: the pressure that opens the valve falls when it opens
    step = GATE_SHARE * (opening * plant.wastegate_area - z[Z_WASTE])
    if plant.gate_model == SET_OPENING:
        step /= GATE_SHARE
    z[Z_WASTE] += step
    return abs(step) / plant.swallowing


@compiled
def air_share(plant, table, inputs, engine, desk):
    """Moist air in the fresh charge of a cycle [kg]."""
    air = 0.0
    for j in range(engine.cylinders):
        drawn = desk.account[0 if engine.alike == 1 else j, ex.A_FRESH]
        air += drawn * moist_share(plant, table, inputs[j])
    return air


@inlined
def point_of(plant, z):
    """What a cycle knows of the turbo."""
    area = max(z[Z_WASTE], plant.wastegate_leak)
    return Point(plant.speed_rpm, plant.octane, z[Z_OUTLET], 0.5 * z[Z_SHAFT] * plant.turbine_diameter, area)


@compiled
def one_cycle(engine, plant, table, machine, chart, areas, inputs, memory, desk, z, keep):
    """A march, from firing to firing or of a cycle, and everything around it brought up to date; returns the kernel's status."""
    charge_side(plant, chart, z)
    feed(plant, table, inputs, z)
    point = point_of(plant, z)
    parts = 1 if keep == CYCLE_KEPT else plant.parts
    status = cycle.run_cycle(
        engine, point, table, machine, areas, inputs, memory, desk, 720.0 / plant.steps, plant.closed_width, keep,
        np.int64(0), np.int64(plant.steps // parts),
    )  # fmt: skip
    if status == closed.LOST:
        return status
    if parts > 1:
        firing.fold(engine, desk)
        firing.rotate(engine, inputs, memory, desk)
    fresh = exhaust_side(engine, plant, table, desk, memory, z)
    seconds = 120.0 / plant.speed_rpm
    cool_walls(engine, inputs, desk, memory.wall, seconds)
    refill(engine, plant, table, inputs, memory.content, desk.account, engine.collector_volume)
    asked = z[Z_AIR]  # the flow at which compressor and cooler stood
    z[Z_AIR] = air_share(plant, table, inputs, engine, desk) / seconds
    z[Z_CYCLES] += 1.0 / parts
    z[Z_LAST] = z[Z_CHANGE]
    z[Z_CHANGE] = change(engine, desk, desk.before, fresh)
    if plant.kind != BENCH:
        z[Z_CHANGE] = max(z[Z_CHANGE], gate_side(engine, plant, desk, z))
        z[Z_CHANGE] = max(z[Z_CHANGE], abs(z[Z_AIR] - asked) / max(abs(z[Z_AIR]), 1e-12))
    return status


@compiled
def part_of_cycle(engine, plant, table, machine, areas, inputs, memory, desk, z, begin, end):
    """Steps `begin` to `end` of a cycle at the intake state and shaft speed that stand in z; returns the kernel's status.

    For a march in time: compressor, cooler, walls and what lies after the turbine are the caller's, between the parts.
    """
    feed(plant, table, inputs, z)
    point = point_of(plant, z)
    status = cycle.run_cycle(
        engine, point, table, machine, areas, inputs, memory, desk, 720.0 / plant.steps, plant.closed_width, np.int64(NOTHING_KEPT), begin, end
    )  # fmt: skip
    return status


@compiled
def change(engine, desk, before, fresh):
    """Largest relative change of trapped mass, temperature, runner pressure and charge since the last cycle."""
    worst = 0.0
    for j in range(1 if engine.alike == 1 else engine.cylinders):
        out = desk.outs[j]
        now = (
            out[closed.O_MASS],
            out[closed.O_PEAK_P],
            desk.account[j, ex.A_RUNNER_P],
            desk.account[j, ex.A_OUT_ENTHALPY],
        )
        for i in range(4):
            worst = max(worst, abs(now[i] - before[j, i]) / max(abs(now[i]), 1e-12))
            before[j, i] = now[i]
    worst = max(worst, abs(fresh - before[0, 4]) / max(fresh, 1e-12))
    before[0, 4] = fresh
    return worst
