"""The closed part of one cylinder's cycle, from inlet closing to exhaust opening, and what it reports."""

import math
from typing import NamedTuple

import numpy as np

from ..models import burn_table, combustion, gas, geometry, knock, wall_heat
from ..models.compiled import compiled, inlined
from .records import C_ENERGY, C_T, IN_CA50, IN_SPARK, N_INPUT, K, copy_row, sum_of
from .zones import (
    BURNED_OUT,
    DEVELOPING,
    GROWING,
    HEAT,
    KERNEL_SHARE,
    LATE,
    LEAK,
    MB,
    MU,
    OVER,
    RAPID,
    TB,
    TU,
    WAITING,
    WORK,
    Charge,
    P,
    Y,
    crank,
    light,
    slopes,
    step,
    zone_energy,
)

# What a closed cycle reports.
(
    O_WORK,
    O_HEAT,
    O_LEAK_MASS,
    O_LEAK_ENERGY,
    O_CA10,
    O_CA50,
    O_CA90,
    O_PEAK_P,
    O_PEAK_ANGLE,
    O_TU_MAX,
    O_KNOCK,
    O_ONSET,
    O_BURNED_AT_END,
    O_Y_END,
    O_Y_RATE,
    O_RESIDUAL,
    O_PHI,
    O_MASS,
    O_TB_MAX,
    O_PU_MAX,
    O_ENERGY_DRIFT,
    O_STEPS,
    O_BURNABLE,
    O_WATER,
    O_LEFT,  # still to burn at exhaust opening [kg]
) = range(25)
N_OUT = 25
# Columns of the crank record.
R_ANGLE, R_P, R_T, R_TU, R_TB, R_X, R_V, R_M = range(8)
N_RECORD = 8
DONE, MISFIRE, LOST = 0, 1, 2
ALL, WORK_ONLY, KNOCK_ONLY = range(3)  # what is asked of a closed cycle
MOST_STEPS = 20000
# Before the spark and after the burn all is smooth: steps there are wider by this factor. At top dead centre they are not.
CALM = 4.0
NEAR_TOP = 20.0  # [deg]
# No step burns so many times what is left, or what the burned zone holds, unless it is little of the charge: from 2.8 on the
# method is unstable. None is narrower [-, -, deg].
AT_ONCE, LITTLE, NARROWEST = 2.0, 0.01, 0.02
NOTHING = 1e-6  # of the charge: burned beyond what is there [-]
LEAST = 1e-3  # share of a step, taken where burned gas has crossed its freezing temperature in the step before
SAME = 1e-8  # change of equivalence ratio or water below which a plane of burned gas serves on
OF_P, OF_TU = np.int64(P), np.int64(TU)  # bare numbers would compile twice
NEVER = 1e9  # stands for an event that does not happen [deg]


@compiled
def write_row(charge, geo, angle, state, x, record, row):
    """Put the present state into the crank record."""
    m = state[MU] + state[MB]
    record[row, R_ANGLE] = angle
    record[row, R_P] = state[P]
    record[row, R_T] = (state[MU] * state[TU] + state[MB] * state[TB]) / m
    record[row, R_TU] = state[TU]
    record[row, R_TB] = state[TB]
    record[row, R_X] = x
    record[row, R_V] = geometry.volume(geo, angle)[0]
    record[row, R_M] = m


@compiled
def prepare(engine, point, table, inputs, content, start, blend, plane, blended, frozen, out):
    """Constants of the closed cycle from the trapped charge; returns (charge, temperature, pressure)."""
    geo, heat, burn = engine.geo, engine.heat, engine.burn
    masses = content[:K]
    total = sum_of(masses, K)
    r_u = gas.blend_mixture(table, masses, blend)
    T = gas.mixture_temperature(table, masses, content[C_ENERGY], 380.0)
    V, _ = geometry.volume(geo, start)
    p = total * r_u * T / V
    phi, water = gas.charge_state(table, masses)
    if abs(phi - blended[0]) > SAME or abs(water - blended[1]) > SAME:
        gas.blend_plane(table, phi, water, plane)
        blended[0], blended[1] = phi, water
    gas.frozen_composition(table, phi, water, math.log(5e5), frozen)
    r_b = 0.0
    for k in range(gas.N_SPECIES):
        r_b += frozen[k] * table.gas_constant[k]
    carbon_burned = masses[gas.CO2] * table.elements[gas.CO2, 0] + masses[gas.CO] * table.elements[gas.CO, 0]
    carbon = carbon_burned + masses[gas.FUEL] * table.elements[gas.FUEL, 0]
    residual = carbon_burned / carbon if carbon > 0.0 else 0.0
    speed = geometry.mean_piston_speed(geo, point.speed_rpm)
    # density at the spark, from an adiabatic rise to the volume there: it only scales the burn
    angle_spark = max(720.0 - inputs[IN_SPARK], start)
    density = total / geometry.volume(geo, angle_spark)[0]
    wet = max(water - burn.water_from, 0.0)  # injected, beside the air's own moisture
    d = combustion.log_durations(
        burn,
        max(phi, 0.1),
        residual * r_b / r_u + wet * table.gas_constant[gas.H2O] / r_u,
        residual + wet,
        speed,
        geo.piston_area,
        density,
        r_u,
    )
    y10 = combustion.wiebe_place(burn.wiebe_a, burn.wiebe_m, 0.1)
    y90 = combustion.wiebe_place(burn.wiebe_a, burn.wiebe_m, 0.9)
    rate = 0.0
    if burn.model == combustion.IMPOSED:
        rate = (y90 - y10) / burn.duration
    charge = Charge(
        r_u, 1.0 / (6.0 * point.speed_rpm), speed, T, p, V,
        geo.head_area * heat.head_temperature + geo.piston_area * heat.piston_temperature,
        wall_heat.fixed_part(heat, geo.bore, speed),
        burn.completeness * total * (1.0 if masses[gas.FUEL] > 0.0 else 0.0),
        1.0 - burn.completeness, burn.model, rate, 720.0 + inputs[IN_CA50], (d[0], d[1], d[2], d[3]), (d[4], d[5], d[6], d[7]), y10, y90 - y10,
    )  # fmt: skip
    out[O_RESIDUAL] = residual
    out[O_PHI] = phi
    out[O_WATER] = water
    out[O_MASS] = total
    out[O_BURNABLE] = charge.burnable
    return charge, T, p


class Places(NamedTuple):
    """Places along Wiebe's curve that mean something; the first four end the phases of the burn, in their order."""

    light: float  # the second zone opens
    ca10: float
    ca90: float
    over: float
    ca50: float
    ca99: float  # past it there is hardly an end gas left


@compiled
def places_of(burn):
    """The places for a burn's shape."""
    a, m = burn.wiebe_a, burn.wiebe_m
    return Places(
        combustion.wiebe_place(a, m, KERNEL_SHARE),
        combustion.wiebe_place(a, m, 0.1),
        combustion.wiebe_place(a, m, 0.9),
        combustion.wiebe_place(a, m, BURNED_OUT),
        combustion.wiebe_place(a, m, 0.5),
        combustion.wiebe_place(a, m, 0.99),
    )


@inlined
def first_angle(charge, places, inputs, start):
    """Where the burn begins: at the spark, or so that an imposed burn or a table meets its CA50; NEVER without fuel."""
    if charge.burnable <= 0.0:
        return NEVER
    if charge.model == combustion.TABLE:
        return max(charge.half + inputs[N_INPUT + burn_table.FIRST] - inputs[N_INPUT + burn_table.AHEAD], start)
    if charge.model == combustion.IMPOSED:
        return max(720.0 + inputs[IN_CA50] - places.ca50 / charge.y_rate, start)
    return max(720.0 - inputs[IN_SPARK], start)


@inlined
def reach(goal, before, slope, after, width):
    """How far into a step a quantity comes to a goal between its ends: on the parabola through both, with its first slope."""
    wanted = goal - before
    bend = after - before - slope * width
    root = slope * slope * width * width + 4.0 * bend * wanted
    return width * min(max(2.0 * wanted / (slope * width + math.sqrt(max(root, 0.0))), 0.0), 1.0)


@inlined
def crest(before, slope, after, width):
    """Greatest value within a step and how far into it, on the same parabola; at the end where it only rises."""
    bend = (after - before) / width - slope
    if slope <= 0.0 or bend >= -0.5 * slope:
        return after, width
    into = -0.5 * slope / bend * width
    return before + 0.5 * slope * into, into


@inlined
def stride(width, phase, angle, first, end):
    """The next step: never past the spark or the marks where the width of the steps changes.

    Steps are laid out from marks and from events, and what is left before the next is one short step: so a result moves smoothly
    with whatever moves an event.
    """
    w = width
    if abs(angle - 720.0) >= NEAR_TOP and phase in (WAITING, OVER):
        w = CALM * width
    w = min(w, end - angle)
    if angle < 720.0 - NEAR_TOP:
        w = min(w, 720.0 - NEAR_TOP - angle)
    elif angle < 720.0 + NEAR_TOP:
        w = min(w, 720.0 + NEAR_TOP - angle)
    return min(w, first - angle) if phase == WAITING else w


@inlined
def hasty(charge, before, work, state, width):
    """Whether a step burned more than is there, or so much beside what is left or was burned before that its method is unstable.

    A measured burn may jump: at its end the fuel would go negative, at its begin the small burned zone be heated by guesswork.
    """
    total = before[MU] + before[MB]
    left = before[MU] - charge.inert_share * total
    if width < NARROWEST or left <= 0.0:
        return False
    if state[MU] - charge.inert_share * (state[MU] + state[MB]) < -NOTHING * total:
        return True
    burned = width * max(max(-work[0, MU], -work[1, MU]), max(-work[2, MU], -work[3, MU]))
    return burned > LITTLE * total and burned > AT_ONCE * min(left, before[MB])


@inlined
def note_burn(places, phase, angle, width, out):
    """Note the place that ended a phase."""
    if phase == GROWING:
        out[O_CA10] = angle + width - 720.0
    if phase == RAPID:
        out[O_CA90] = angle + width - 720.0


@inlined
def note_progress(places, before, slope, state, angle, width, out):
    """Note what the step passed: CA50, the highest pressure and temperatures."""
    y = state[Y]
    if out[O_CA50] == NEVER and y >= places.ca50:
        out[O_CA50] = angle - 720.0 + reach(places.ca50, before[Y], slope[Y], y, width)
    high, into = crest(before[P], slope[P], state[P], width)
    if high > out[O_PEAK_P]:
        out[O_PEAK_P] = high
        out[O_PEAK_ANGLE] = angle + into - 720.0
    if y < places.ca99:
        hot, _ = crest(before[TU], slope[TU], state[TU], width)
        if hot > out[O_TU_MAX]:
            out[O_TU_MAX] = hot
            out[O_PU_MAX] = state[P]
    out[O_TB_MAX] = max(out[O_TB_MAX], state[TB])


@inlined
def half_way(i, before, work, width):
    """Quantity i of the state half-way through a step, by the cubic that the four slopes of the method give."""
    return before[i] + width / 24.0 * (5.0 * work[0, i] + 4.0 * (work[1, i] + work[2, i]) - work[3, i])


@inlined
def note_knock(charge, state, before, work, angle, width, rate_before, threshold, out):
    """Add the step to the knock integral by Simpson's rule; returns the integrand at the end of the step."""
    rate = knock.rate(state[P], state[TU])
    middle = knock.rate(half_way(OF_P, before, work, width), half_way(OF_TU, before, work, width))
    gained = width * charge.seconds / 6.0 * (rate_before + 4.0 * middle + rate)
    if out[O_ONSET] == NEVER and out[O_KNOCK] + gained >= threshold:
        into = reach(threshold, out[O_KNOCK], rate_before * charge.seconds, out[O_KNOCK] + gained, width)
        out[O_ONSET] = angle + into - 720.0
    out[O_KNOCK] += gained
    return rate


@compiled
def closed_cycle(
    engine, point, table, inputs, content, start, end, width, blend, plane, blended, frozen, work, out, record, row, asked
):  # fmt: skip
    """March one cylinder from inlet closing to exhaust opening.

    engine, point, table : Engine, Point, GasTable
    inputs : float64[N_INPUT + n], of this cylinder, and its packed table of the burn
    content : float64[N_CONTENT], trapped species and energy; on return, what there is at the end, frozen
    start, end : float, local crank angles, end after firing top dead centre at 720 [deg]
    width : float, greatest step [deg]
    blend, frozen, work : scratch arrays
    plane, blended : burned gas for one charge, and the equivalence ratio and water it was blended for; kept between calls
    out : float64[N_OUT], results
    record : float64[n, N_RECORD]; row : int, first row to write, or -1 for none
    asked : int, ALL; WORK_ONLY leaves the knock integral out; KNOCK_ONLY breaks off where its window is closed and pressure falls
    Returns (status, next row).
    """
    charge, T, p = prepare(engine, point, table, inputs, content, start, blend, plane, blended, frozen, out)
    curve = inputs[N_INPUT:]
    places = places_of(engine.burn)
    state, before = work[5], work[6]
    state[:] = 0.0
    total = sum_of(content, K)
    state[P], state[TU], state[MU] = p, T, total
    first = first_angle(charge, places, inputs, start)
    out[O_CA10] = out[O_CA50] = out[O_CA90] = out[O_ONSET] = NEVER
    out[O_PEAK_P] = out[O_TU_MAX] = out[O_TB_MAX] = out[O_KNOCK] = out[O_PU_MAX] = 0.0
    threshold = (point.octane / 100.0) ** knock.EXPONENT
    angle, steps = start, 0
    phase, side, freeze = WAITING, np.int64(gas.ANYWHERE), gas.FREEZE
    rate = knock.rate(p, T)
    at = crank(engine, charge, angle)
    before_energy = zone_energy(engine, charge, blend, plane, state)
    while angle < end - 1e-9 and steps < MOST_STEPS:
        steps += 1
        if phase == WAITING and angle >= first - 1e-9:
            phase = DEVELOPING
        w = stride(width, phase, angle, first, end)
        copy_row(before, state)
        arrived = turns = False
        while True:  # one place to step from, see `zones.step`
            then = step(engine, charge, blend, plane, curve, angle, at, w, state, phase, side, work)
            free = not (arrived or turns)
            if free and hasty(charge, before, work, state, w):
                w *= 0.5
            elif free and WAITING < phase < OVER and state[Y] >= places[phase - 1]:
                # the step again, to the place where the phase ends
                w = reach(places[phase - 1], before[Y], work[0, Y], state[Y], w)
                arrived = True
            elif not turns and side * (state[TB] - freeze) < 0.0:  # the same to where composition freezes, or thaws
                w = max(reach(-side * freeze, -side * before[TB], -side * work[0, TB], -side * state[TB], w), LEAST * w)
                turns, arrived = True, False
            else:
                break
            copy_row(state, before)
        if not (state[P] > 0.0 and state[P] < 1e9 and state[TU] > 0.0):
            return LOST, row
        if asked != WORK_ONLY and (phase < LATE or engine.knock_to_exhaust_opening == 1):
            rate = note_knock(charge, state, before, work, angle, w, rate, threshold, out)
        note_progress(places, before, work[0], state, angle, w, out)
        if arrived:
            note_burn(places, phase, angle, w, out)
            if phase == DEVELOPING:
                light(engine, charge, blend, plane, state)
                side = np.int64(gas.HOT if state[TB] > freeze else gas.COLD)
                rate = knock.rate(state[P], state[TU])
            phase += 1
        if turns:
            side = -side
        angle, at = angle + w, then
        if asked == KNOCK_ONLY and phase >= LATE and state[P] < before[P] and engine.knock_to_exhaust_opening == 0:
            break
        if row >= 0 and row < record.shape[0]:
            x, _ = combustion.wiebe(engine.burn.wiebe_a, engine.burn.wiebe_m, state[Y])
            write_row(charge, engine.geo, angle, state, x if phase >= GROWING else 0.0, record, row)
            row += 1
    return finish(
        engine,
        charge,
        blend,
        plane,
        curve,
        table,
        state,
        content,
        frozen,
        before_energy,
        phase,
        angle,
        at,
        steps,
        out,
        row,
        work,
    )


@compiled
def finish(
    engine,
    charge,
    blend,
    plane,
    curve,
    table,
    state,
    content,
    frozen,
    before_energy,
    phase,
    angle,
    at,
    steps,
    out,
    row,
    work,
):
    """Mix both zones into one at exhaust opening, energy kept, and close the accounts."""
    burn = engine.burn
    after = zone_energy(engine, charge, blend, plane, state)
    out[O_WORK], out[O_HEAT], out[O_LEAK_ENERGY] = state[WORK], state[HEAT], state[LEAK]
    out[O_LEAK_MASS] = out[O_MASS] - state[MU] - state[MB]
    out[O_ENERGY_DRIFT] = before_energy - after - state[WORK] - state[HEAT] - state[LEAK]
    out[O_STEPS] = float(steps)
    lit = phase >= GROWING
    x, _ = combustion.wiebe(burn.wiebe_a, burn.wiebe_m, state[Y])
    out[O_BURNED_AT_END] = x if lit else 0.0
    out[O_Y_END] = state[Y]
    out[O_LEFT] = max(state[MU] - charge.inert_share * (state[MU] + state[MB]), 0.0) if lit else 0.0
    out[O_Y_RATE] = (
        slopes(engine, charge, blend, plane, curve, angle, at, state, phase, np.int64(gas.ANYWHERE), work[0])
        if lit
        else 0.0
    )
    gas.frozen_composition(table, out[O_PHI], out[O_WATER], math.log(state[P]), frozen)
    for k in range(K):
        content[k] = content[k] / out[O_MASS] * state[MU] + frozen[k] * state[MB]
    content[C_ENERGY], content[C_T] = after, 1500.0
    status = DONE if lit or charge.burnable <= 0.0 else MISFIRE
    return status, row
