"""The closed part of one cylinder's cycle, from inlet closing to exhaust opening, and what it reports."""

import math
from typing import NamedTuple

from ..models import burn_table, combustion, gas, geometry, knock
from ..models.compiled import compiled, inlined
from .records import C_ENERGY, C_T, IN_CA50, IN_SPARK, N_INPUT, K
from .zones import (
    BURNED_OUT,
    HEAT,
    KERNEL_SHARE,
    LEAK,
    MB,
    MU,
    TB,
    TU,
    WORK,
    Charge,
    P,
    Y,
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
MOST_STEPS = 20000
# Before the spark and after the burn all is smooth: steps there are wider by this factor. At top dead centre they are not.
CALM = 4.0
NEAR_TOP = 20.0  # [deg]
SAME = 1e-8  # change of equivalence ratio or water below which a plane of burned gas serves on
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


@inlined
def log_mean(a, b):
    """Mean of a quantity that grows exponentially from a to b."""
    if a <= 0.0 or b <= 0.0:
        return 0.5 * (a + b)
    r = math.log(b / a)
    if abs(r) < 1e-3:
        return 0.5 * (a + b)
    return (b - a) / r


@compiled
def prepare(engine, point, table, inputs, content, start, blend, plane, blended, frozen, out):
    """Constants of the closed cycle from the trapped charge; returns (charge, temperature, pressure)."""
    geo, heat, burn = engine.geo, engine.heat, engine.burn
    masses = content[:K]
    total = masses.sum()
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
        burn.completeness * total * (1.0 if masses[gas.FUEL] > 0.0 else 0.0),
        1.0 - burn.completeness, y10, combustion.wiebe_place(burn.wiebe_a, burn.wiebe_m, BURNED_OUT),
        burn.model, rate, 720.0 + inputs[IN_CA50], (d[0], d[1], d[2], d[3]), (d[4], d[5], d[6], d[7]), y10, y90 - y10,
    )  # fmt: skip
    out[O_RESIDUAL] = residual
    out[O_PHI] = phi
    out[O_WATER] = water
    out[O_MASS] = total
    out[O_BURNABLE] = charge.burnable
    return charge, T, p


class Places(NamedTuple):
    """Places along Wiebe's curve that mean something."""

    light: float  # the second zone opens
    ca10: float
    ca50: float
    ca90: float
    ca99: float  # past it there is hardly an end gas left


@compiled
def places_of(burn):
    """The places for a burn's shape."""
    a, m = burn.wiebe_a, burn.wiebe_m
    return Places(
        combustion.wiebe_place(a, m, KERNEL_SHARE),
        combustion.wiebe_place(a, m, 0.1),
        combustion.wiebe_place(a, m, 0.5),
        combustion.wiebe_place(a, m, 0.9),
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
def crossing(goal, angle, width, before, now):
    """Crank angle after top dead centre at which a place was passed within the step."""
    return angle + width * (goal - before) / (now - before) - 720.0


@inlined
def note_progress(places, state, angle, width, y_before, out):
    """Note what the step passed: CA10, CA50, CA90, the highest pressure and temperatures."""
    y = state[Y]
    if out[O_CA10] == NEVER and y >= places.ca10 * (1.0 - 1e-4):
        out[O_CA10] = min(angle + width - 720.0, crossing(places.ca10, angle, width, y_before, y))
    if out[O_CA50] == NEVER and y >= places.ca50:
        out[O_CA50] = crossing(places.ca50, angle, width, y_before, y)
    if out[O_CA90] == NEVER and y >= places.ca90:
        out[O_CA90] = crossing(places.ca90, angle, width, y_before, y)
    if state[P] > out[O_PEAK_P]:
        out[O_PEAK_P] = state[P]
        out[O_PEAK_ANGLE] = angle + width - 720.0
    if state[TU] > out[O_TU_MAX] and y < places.ca99:
        out[O_TU_MAX] = state[TU]
        out[O_PU_MAX] = state[P]
    out[O_TB_MAX] = max(out[O_TB_MAX], state[TB])


@inlined
def note_knock(engine, charge, places, state, angle, width, y_before, rate_before, threshold, out):
    """Add the step to the knock integral while its window is open; returns the integrand at the end of the step.

    The integrand grows like an exponential, so its logarithmic mean integrates it well.
    """
    y, to_opening = state[Y], engine.knock_to_exhaust_opening == 1
    rate = knock.rate(state[P], state[TU])
    if out[O_CA90] != NEVER and not to_opening:
        return rate
    share = 1.0
    if y >= places.ca90 and not to_opening:
        share = (places.ca90 - y_before) / (y - y_before)
    gained = share * width * charge.seconds * log_mean(rate_before, rate)
    if out[O_ONSET] == NEVER and out[O_KNOCK] + gained >= threshold:
        out[O_ONSET] = angle + width * share * (threshold - out[O_KNOCK]) / gained - 720.0
    out[O_KNOCK] += gained
    return rate


@compiled
def closed_cycle(
    engine, point, table, inputs, content, start, end, width, blend, plane, blended, frozen, work, out, record, row
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
    Returns (status, next row).
    """
    charge, T, p = prepare(engine, point, table, inputs, content, start, blend, plane, blended, frozen, out)
    curve = inputs[N_INPUT:]
    places = places_of(engine.burn)
    state = work[5]
    state[:] = 0.0
    total = content[:K].sum()
    state[P], state[TU], state[MU] = p, T, total
    first = first_angle(charge, places, inputs, start)
    out[O_CA10] = out[O_CA50] = out[O_CA90] = out[O_ONSET] = NEVER
    out[O_PEAK_P] = out[O_TU_MAX] = out[O_TB_MAX] = out[O_KNOCK] = out[O_PU_MAX] = 0.0
    threshold = (point.octane / 100.0) ** knock.EXPONENT
    angle, steps = start, 0
    lit = sparked = total < 0.0  # a bare False would be compiled as a type of its own
    rate = knock.rate(p, T)
    before_energy = zone_energy(engine, charge, blend, plane, state)
    while angle < end - 1e-9 and steps < MOST_STEPS:
        steps += 1
        calm = abs(angle - 720.0) > NEAR_TOP and (not sparked or state[Y] > charge.y_out)
        w = min(CALM * width if calm else width, end - angle)
        if not sparked and angle >= first - 1e-9:
            sparked = True
        if angle < 720.0 - NEAR_TOP:
            w = min(w, 720.0 - NEAR_TOP - angle)
        if not sparked:
            w = min(w, first - angle)
        elif state[Y] < places.ca10:
            # land on the size of the kernel and on 10 %, where the law of progress changes
            goal = places.ca10 if lit else places.light
            dy = slopes(engine, charge, blend, plane, curve, angle, state, lit, sparked, work[0])
            if state[Y] + 1.02 * dy * w > goal:
                w = min(w, max((goal - state[Y]) / dy, 1e-6))
        y_before = state[Y]
        step(engine, charge, blend, plane, curve, angle, w, state, lit, sparked, work)
        if sparked and not lit and state[Y] >= places.light * (1.0 - 1e-4):
            light(engine, charge, blend, plane, state)
            lit = True
        if not (state[P] > 0.0 and state[P] < 1e9 and state[TU] > 0.0):
            return LOST, row
        rate = note_knock(engine, charge, places, state, angle, w, y_before, rate, threshold, out)
        note_progress(places, state, angle, w, y_before, out)
        angle += w
        if row >= 0 and row < record.shape[0]:
            x, _ = combustion.wiebe(engine.burn.wiebe_a, engine.burn.wiebe_m, state[Y])
            write_row(charge, engine.geo, angle, state, x if lit else 0.0, record, row)
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
        lit,
        sparked,
        angle,
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
    lit,
    sparked,
    angle,
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
    x, _ = combustion.wiebe(burn.wiebe_a, burn.wiebe_m, state[Y])
    out[O_BURNED_AT_END] = x if lit else 0.0
    out[O_Y_END] = state[Y]
    out[O_LEFT] = max(state[MU] - charge.inert_share * (state[MU] + state[MB]), 0.0) if lit else 0.0
    out[O_Y_RATE] = slopes(engine, charge, blend, plane, curve, angle, state, lit, sparked, work[0]) if lit else 0.0
    gas.frozen_composition(table, out[O_PHI], out[O_WATER], math.log(state[P]), frozen)
    for k in range(K):
        content[k] = content[k] / out[O_MASS] * state[MU] + frozen[k] * state[MB]
    content[C_ENERGY], content[C_T] = after, 1500.0
    status = DONE if lit or charge.burnable <= 0.0 else MISFIRE
    return status, row
