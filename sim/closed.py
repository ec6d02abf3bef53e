"""The closed part of one cylinder's cycle: compression, two-zone burning, expansion, the knock integral."""

import math
from typing import NamedTuple

from ..models import combustion, gas, geometry, knock, wall_heat
from ..models.compiled import compiled, inlined
from ..models.flow import nozzle_flow
from .records import C_ENERGY, C_T, IN_CA50, IN_SPARK, K

# State of the march.
P, TU, TB, MU, MB, Y, WORK, HEAT, LEAK = range(9)
N_STATE = 9
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
KERNEL_SHARE = 5e-4  # burned at once to open the second zone; its pressure effect is below 0.1 %
LOG_P0 = math.log(0.2e5)  # first node of the burned-gas table
LOG_DP = math.log(250e5 / 0.2e5) / (gas.N_BURNED_P - 1)
NEVER = 1e9  # stands for an event that does not happen [deg]


class Charge(NamedTuple):
    """Constants of one closed cycle."""

    r_u: float  # [J/(kg K)]
    seconds: float  # per degree [s/deg]
    piston_speed: float  # [m/s]
    T_ref: float  # at inlet closing [K]
    p_ref: float  # [Pa]
    v_ref: float  # [m3]
    wall_sum_fixed: float  # sum of area x temperature of head and piston [m2 K]
    burnable: float  # mass that burns at x = 1 [kg]
    inert_share: float  # share of the charge that never burns [-]
    y10: float
    y_rate: float  # of an imposed burn, 0 when spark-driven [1/deg]
    early: tuple[float, float, float, float]  # logarithmic duration spark to 10 %
    late: tuple[float, float, float, float]  # and 10 to 90 %
    span_early: float
    span_late: float


@inlined
def unburned_energy(blend, T):
    """Energy [J/kg] and heat capacity [J/(kg K)] of the unburned gas."""
    i, (a0, a1, b0, b1, da0, da1, db0, db1) = gas._hermite(T, 200.0, 25.0, blend.shape[0])
    u0, c0, u1, c1 = blend[i, 0], blend[i, 1], blend[i + 1, 0], blend[i + 1, 1]
    return a0 * u0 + a1 * u1 + b0 * c0 + b1 * c1, da0 * u0 + da1 * u1 + db0 * c0 + db1 * c1


@inlined
def burned_gas(plane, T, log_p):
    """Energy and gas constant of the burned gas and their slopes, see gas.burned_gas."""
    return gas._burned(plane, 300.0, 50.0, LOG_P0, LOG_DP, T, log_p)


@inlined
def burn_rate(charge, log_T, log_p, log_V, y):
    """Progress along Wiebe's curve per degree, from the present state of the unburned gas."""
    if charge.y_rate > 0.0:
        return charge.y_rate
    if y < charge.y10:
        c = charge.early
        span = charge.span_early
    else:
        c = charge.late
        span = charge.span_late
    return span * math.exp(-(c[0] + c[1] * log_T + c[2] * log_p + c[3] * log_V))


@inlined
def slopes(engine, charge, blend, plane, angle, state, lit, sparked, out):
    """Right-hand side of the closed cycle, per degree. Two zones at one pressure; volume closes the system."""
    geo, heat, burn = engine.geo, engine.heat, engine.burn
    p, tu, tb, mu, mb = state[P], state[TU], state[TB], state[MU], state[MB]
    V, dV = geometry.volume(geo, angle)
    log_p = math.log(p)
    u_u, cv_u = unburned_energy(blend, tu)
    cp_u = cv_u + charge.r_u
    v_u = charge.r_u * tu / p
    V_u = mu * v_u
    # walls
    area = geo.head_area + geo.piston_area
    liner = geometry.liner_area(geo, V)
    total, weighted = area + liner, charge.wall_sum_fixed + liner * heat.liner_temperature
    T_mean, r_mean = tu, charge.r_u
    share = 0.0
    if lit:
        r_mean = p * V / ((mu + mb) * (mu * tu + mb * tb) / (mu + mb))
        T_mean = (mu * tu + mb * tb) / (mu + mb)
        share = wall_heat.burned_area_share(mb / (mu + mb))
    p_motored = p
    if heat.model == wall_heat.WOSCHNI and sparked:
        p_motored = charge.p_ref * (charge.v_ref / V) ** 1.33
    h = wall_heat.coefficient(
        heat, geo.bore, geo.swept, V, p, T_mean, r_mean, charge.piston_speed, True, p_motored,
        charge.T_ref, charge.p_ref, charge.v_ref,
    )  # fmt: skip
    flux = h * charge.seconds
    q_u = -flux * (1.0 - share) * (total * tu - weighted)
    q_b = -flux * share * (total * tb - weighted) if lit else 0.0
    leak = 0.0
    if engine.blow_by_area > 0.0 and p > engine.crankcase_pressure:
        r = r_mean
        leak = charge.seconds * nozzle_flow(engine.blow_by_area, p, T_mean, r, 1.33, engine.crankcase_pressure)
    leak_u = leak * mu / (mu + mb)
    leak_b = leak - leak_u
    # burning
    dy = 0.0
    dm = 0.0
    if sparked:
        dy = burn_rate(charge, math.log(tu), log_p, math.log(V), state[Y])
        if lit:
            # what is left to burn goes at Wiebe's rate for what is left, so that gas lost past the rings does not burn
            hazard = burn.wiebe_a * (burn.wiebe_m + 1.0) * math.exp(burn.wiebe_m * math.log(state[Y]))
            dm = max(mu - charge.inert_share * (mu + mb), 0.0) * hazard * dy
    h_u = u_u + charge.r_u * tu
    h_b = 0.0
    # pressure from the volume balance
    A = V_u * (v_u / (cp_u * tu) - 1.0 / p)
    B = -v_u * (dm + leak_u) + v_u * q_u / (cp_u * tu)
    c_b = 1.0
    d_b = 0.0
    k_b = 0.0
    if lit:
        u_b, u_T, u_y, r_b, r_T, r_y = burned_gas(plane, tb, log_p)
        h_b = u_b + r_b * tb
        v_b = r_b * tb / p
        c_b = u_T + r_b + tb * r_T
        d_b = (1.0 + tb * r_T / r_b) / tb
        k_b = v_b - (u_y + tb * r_y) / p
        A += mb * v_b * (d_b * k_b / c_b + (r_y / r_b - 1.0) / p)
        B += v_b * (dm - leak_b) + v_b * d_b / c_b * (q_b + (h_u - h_b) * dm)
    dp = (dV - B) / A
    out[P] = dp
    out[TU] = (v_u * dp + q_u / mu) / cp_u
    out[TB] = (k_b * dp + (q_b + (h_u - h_b) * dm) / mb) / c_b if lit else 0.0
    out[MU] = -dm - leak_u
    out[MB] = dm - leak_b
    out[Y] = dy
    out[WORK] = p * dV
    out[HEAT] = -(q_u + q_b)
    out[LEAK] = leak_u * h_u + leak_b * h_b
    return dy


@compiled
def step(engine, charge, blend, plane, angle, width, state, lit, sparked, work):
    """One step of the classical fourth-order Runge-Kutta method, in place. `work` is float64[5, N_STATE]."""
    trial = work[4]
    for stage in range(4):
        reach = 0.0 if stage == 0 else (width if stage == 3 else 0.5 * width)
        for i in range(N_STATE):
            trial[i] = state[i] + (reach * work[stage - 1, i] if stage > 0 else 0.0)
        slopes(engine, charge, blend, plane, angle + reach, trial, lit, sparked, work[stage])
    for i in range(N_STATE):
        state[i] += width / 6.0 * (work[0, i] + 2.0 * (work[1, i] + work[2, i]) + work[3, i])


@compiled
def light(engine, charge, blend, plane, state):
    """Open the burned zone: a small mass burns at constant pressure, then all is squeezed back to the old volume."""
    p, tu = state[P], state[TU]
    log_p = math.log(p)
    u_u, cv_u = unburned_energy(blend, tu)
    target = u_u + charge.r_u * tu
    tb = 2400.0
    r_b = charge.r_u
    for _ in range(40):
        u, u_T, _, r_b, r_T, _ = burned_gas(plane, tb, log_p)
        change = (target - u - r_b * tb) / (u_T + r_b + tb * r_T)
        tb = min(max(tb + change, 500.0), 3600.0)
        if abs(change) < 1e-6:
            break
    mass = KERNEL_SHARE * charge.burnable
    gamma = 1.0 + charge.r_u / cv_u
    V = state[MU] * charge.r_u * tu / p
    grown = mass * (r_b * tb - charge.r_u * tu) / p
    squeeze = math.exp(gamma * math.log(1.0 + grown / V))
    state[P] = p * squeeze
    state[TU] = tu * math.exp((gamma - 1.0) / gamma * math.log(squeeze))
    state[TB] = tb * math.exp(0.2 * math.log(squeeze))
    state[MU] -= mass
    state[MB] = mass


@compiled
def zone_energy(engine, charge, blend, plane, state):
    """Absolute internal energy of both zones [J]."""
    u_u, _ = unburned_energy(blend, state[TU])
    total = state[MU] * u_u
    if state[MB] > 0.0:
        u_b = burned_gas(plane, state[TB], math.log(state[P]))[0]
        total += state[MB] * u_b
    return total


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
def prepare(engine, point, table, inputs, content, start, blend, plane, frozen, out):
    """Constants of the closed cycle from the trapped charge; returns (charge, temperature, pressure)."""
    geo, heat, burn = engine.geo, engine.heat, engine.burn
    masses = content[:K]
    total = masses.sum()
    r_u = gas.blend_mixture(table, masses, blend)
    T = gas.mixture_temperature(table, masses, content[C_ENERGY], 380.0)
    V, _ = geometry.volume(geo, start)
    p = total * r_u * T / V
    phi, water = gas.charge_state(table, masses)
    gas.blend_plane(table, phi, water, plane)
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
    d = combustion.log_durations(
        burn, max(phi, 0.1), residual * r_b / r_u, residual, speed, geo.piston_area, density, r_u
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
        1.0 - burn.completeness, y10, rate,
        (d[0], d[1], d[2], d[3]), (d[4], d[5], d[6], d[7]), y10, y90 - y10,
    )  # fmt: skip
    out[O_RESIDUAL] = residual
    out[O_PHI] = phi
    out[O_WATER] = water
    out[O_MASS] = total
    out[O_BURNABLE] = charge.burnable
    return charge, T, p


@compiled
def closed_cycle(
    engine, point, table, inputs, content, start, end, width, blend, plane, frozen, work, out, record, row
):  # fmt: skip
    """March one cylinder from inlet closing to exhaust opening.

    engine, point, table : Engine, Point, GasTable
    inputs : float64[N_INPUT], of this cylinder
    content : float64[N_CONTENT], trapped species and energy; on return, what there is at the end, frozen
    start, end : float, local crank angles, end after firing top dead centre at 720 [deg]
    width : float, greatest step [deg]
    blend, plane, frozen, work : scratch arrays
    out : float64[N_OUT], results
    record : float64[n, N_RECORD]; row : int, first row to write, or -1 for none
    Returns (status, next row).
    """
    burn = engine.burn
    charge, T, p = prepare(engine, point, table, inputs, content, start, blend, plane, frozen, out)
    masses = content[:K]
    state = work[5]
    state[:] = 0.0
    total = masses.sum()
    state[P], state[TU], state[MU] = p, T, total
    y_light = combustion.wiebe_place(burn.wiebe_a, burn.wiebe_m, KERNEL_SHARE)
    y50 = combustion.wiebe_place(burn.wiebe_a, burn.wiebe_m, 0.5)
    y90 = charge.y10 + charge.span_late
    y99 = combustion.wiebe_place(burn.wiebe_a, burn.wiebe_m, 0.99)  # past it there is hardly an end gas left
    first = 720.0 - inputs[IN_SPARK]
    if charge.y_rate > 0.0:
        first = 720.0 + inputs[IN_CA50] - y50 / charge.y_rate
    first = max(first, start)
    if charge.burnable <= 0.0:
        first = NEVER
    out[O_CA10] = out[O_CA50] = out[O_CA90] = out[O_ONSET] = NEVER
    out[O_PEAK_P] = out[O_TU_MAX] = out[O_TB_MAX] = out[O_KNOCK] = out[O_PU_MAX] = 0.0
    threshold = (point.octane / 100.0) ** knock.EXPONENT
    angle, steps = start, 0
    lit = sparked = total < 0.0  # a bare False would be compiled as a type of its own
    rate_before = knock.rate(p, T)
    before_energy = zone_energy(engine, charge, blend, plane, state)
    while angle < end - 1e-9 and steps < 20000:
        steps += 1
        w = min(width, end - angle)
        if not sparked and angle >= first - 1e-9:
            sparked = True
        if not sparked:
            w = min(w, first - angle)
        elif not lit or state[Y] < charge.y10:
            # land on the kernel's size and on 10 %, where the progress law changes
            goal = y_light if not lit else charge.y10
            dy = slopes(engine, charge, blend, plane, angle, state, lit, sparked, work[0])
            if state[Y] + 1.02 * dy * w > goal:
                w = min(w, max((goal - state[Y]) / dy, 1e-6))
        y_before, angle_before = state[Y], angle
        step(engine, charge, blend, plane, angle, w, state, lit, sparked, work)
        angle += w
        if sparked and not lit and state[Y] >= y_light * (1.0 - 1e-4):
            light(engine, charge, blend, plane, state)
            lit = True
        if not (state[P] > 0.0 and state[P] < 1e9 and state[TU] > 0.0):
            return LOST, row
        y = state[Y]
        if out[O_CA10] == NEVER and y >= charge.y10 * (1.0 - 1e-4):
            out[O_CA10] = angle - 720.0
        if out[O_CA50] == NEVER and y >= y50:
            out[O_CA50] = angle_before + w * (y50 - y_before) / (y - y_before) - 720.0
        if state[P] > out[O_PEAK_P]:
            out[O_PEAK_P] = state[P]
            out[O_PEAK_ANGLE] = angle - 720.0
        # knock: integrand grows like an exponential, so the logarithmic mean integrates it well
        window_open = out[O_CA90] == NEVER or engine.knock_to_exhaust_opening == 1
        rate_now = knock.rate(state[P], state[TU])
        if window_open:
            share = 1.0
            if y >= y90 and engine.knock_to_exhaust_opening == 0:
                share = (y90 - y_before) / (y - y_before)
            gained = share * w * charge.seconds * log_mean(rate_before, rate_now)
            if out[O_ONSET] == NEVER and out[O_KNOCK] + gained >= threshold:
                out[O_ONSET] = angle_before + w * share * (threshold - out[O_KNOCK]) / gained - 720.0
            out[O_KNOCK] += gained
        rate_before = rate_now
        if state[TU] > out[O_TU_MAX] and y < y99:
            out[O_TU_MAX] = state[TU]
            out[O_PU_MAX] = state[P]
        if out[O_CA90] == NEVER and y >= y90:
            out[O_CA90] = angle_before + w * (y90 - y_before) / (y - y_before) - 720.0
        out[O_TB_MAX] = max(out[O_TB_MAX], state[TB])
        if row >= 0 and row < record.shape[0]:
            x, _ = combustion.wiebe(burn.wiebe_a, burn.wiebe_m, y)
            write_row(charge, engine.geo, angle, state, x if lit else 0.0, record, row)
            row += 1
    return finish(
        engine,
        charge,
        blend,
        plane,
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
    out[O_Y_RATE] = slopes(engine, charge, blend, plane, angle, state, lit, sparked, work[0]) if lit else 0.0
    gas.frozen_composition(table, out[O_PHI], out[O_WATER], math.log(state[P]), frozen)
    for k in range(K):
        content[k] = content[k] / out[O_MASS] * state[MU] + frozen[k] * state[MB]
    content[C_ENERGY], content[C_T] = after, 1500.0
    status = DONE if lit or charge.burnable <= 0.0 else MISFIRE
    return status, row
