"""Two zones of one pressure in a closed cylinder: unburned gas, burned gas, and the flame between them."""

import math
from typing import NamedTuple

from ..models import burn_table, combustion, gas, geometry, wall_heat
from ..models.compiled import compiled, inlined
from ..models.flow import nozzle_flow

# State of the march.
P, TU, TB, MU, MB, Y, WORK, HEAT, LEAK = range(9)
N_STATE = 9
# Phases of the burn: before the spark; until the second zone opens; until 10 % is burned, from where another law of progress
# holds; until 90 %; until all is over; and after.
WAITING, DEVELOPING, GROWING, RAPID, LATE, OVER = range(6)
BURNED_OUT = 1.0 - 1e-6  # here the burn is over: its rate would go on rising, and no step could follow it
KERNEL_SHARE = 5e-4  # burned at once to open the second zone; its pressure effect is below 0.1 %
# Row of the burned-gas table where composition freezes.
FREEZING = round((gas.FREEZE - gas.BURNED_FIRST) / gas.BURNED_STEP)
LOG_P0 = math.log(0.2e5)  # first node of the burned-gas table
LOG_DP = math.log(250e5 / 0.2e5) / (gas.N_BURNED_P - 1)


class Charge(NamedTuple):
    """Constants of one closed cycle."""

    r_u: float  # [J/(kg K)]
    seconds: float  # per degree [s/deg]
    piston_speed: float  # [m/s]
    T_ref: float  # at inlet closing [K]
    p_ref: float  # [Pa]
    v_ref: float  # [m3]
    wall_sum_fixed: float  # sum of area x temperature of head and piston [m2 K]
    film_fixed: float  # of the walls' correlation, see wall_heat.fixed_part [-]
    burnable: float  # mass that burns at x = 1 [kg]
    inert_share: float  # share of the charge that never burns [-]
    model: int  # of the burn
    y_rate: float  # of an imposed burn [1/deg]
    half: float  # where a table has half burned [deg]
    early: tuple[float, float, float, float]  # logarithmic duration spark to 10 %
    late: tuple[float, float, float, float]  # and 10 to 90 %
    span_early: float
    span_late: float


@inlined
def unburned_energy(blend, T):
    """Energy [J/kg] and heat capacity [J/(kg K)] of the unburned gas."""
    i, (a0, a1, b0, b1, da0, da1, db0, db1) = gas._hermite(T, gas.FIRST, gas.STEP, blend.shape[0])
    u0, c0, u1, c1 = blend[i, 0], blend[i, 1], blend[i + 1, 0], blend[i + 1, 1]
    return a0 * u0 + a1 * u1 + b0 * c0 + b1 * c1, da0 * u0 + da1 * u1 + db0 * c0 + db1 * c1


@inlined
def burned_gas(plane, T, log_p, side):
    """Energy and gas constant of the burned gas and their slopes, see gas.burned_gas.

    side : gas.ANYWHERE; HOT or COLD hold it to one side of the freezing temperature, so that no step meets both laws
    """
    t0, count, row = gas.BURNED_FIRST, gas.N_BURNED_T, 0
    if side == gas.HOT:
        t0, count, row = gas.FREEZE, gas.N_BURNED_T - FREEZING, FREEZING
    elif side == gas.COLD:
        count = FREEZING + 1
    return gas.burned_state(plane, t0, gas.BURNED_STEP, count, row, LOG_P0, LOG_DP, T, log_p)


@inlined
def burn_rate(charge, curve, angle, log_T, log_p, log_V, phase):
    """Progress along Wiebe's curve per degree: imposed, of a table, or from the present state of the unburned gas."""
    if charge.model == combustion.IMPOSED:
        return charge.y_rate
    if charge.model == combustion.TABLE:
        return burn_table.rate(curve, angle - charge.half)
    if phase < RAPID:
        c = charge.early
        span = charge.span_early
    else:
        c = charge.late
        span = charge.span_late
    return span * math.exp(-(c[0] + c[1] * log_T + c[2] * log_p + c[3] * log_V))


@inlined
def crank(engine, charge, angle):
    """What the crank alone decides: volume, its rate [m3, m3/deg], its logarithm, and the pressure without a burn [Pa].

    Two stages of a step share its middle, and a step begins where the last one ended.
    """
    V, dV = geometry.volume(engine.geo, angle)
    log_V = math.log(V)
    motored = 0.0
    if engine.heat.model == wall_heat.WOSCHNI:
        motored = charge.p_ref * math.exp(1.33 * (math.log(charge.v_ref) - log_V))
    return V, dV, log_V, motored


@inlined
def film(engine, charge, at, p, log_p, T, r, phase):
    """Heat transfer coefficient of the walls [W/(m2 K)]."""
    w = 0.0
    if engine.heat.model == wall_heat.WOSCHNI:
        motored = at[3] if phase > WAITING else p
        w = wall_heat.woschni_velocity(
            charge.piston_speed, True, engine.geo.swept, p, motored, charge.T_ref, charge.p_ref, charge.v_ref
        )
    return wall_heat.coefficient(engine.heat, charge.film_fixed, log_p, at[2], T, r, w)


@inlined
def raised(y, m):
    """y to the power m; the square, Wiebe's usual shape, without a logarithm."""
    return y * y if m == 2.0 else math.exp(m * math.log(y))


@inlined
def slopes(engine, charge, blend, plane, curve, angle, at, state, phase, side, out):
    """Right-hand side of the closed cycle, per degree. Two zones at one pressure; volume closes the system.

    curve : the packed table of a burn that has one; one number [kg/deg] where the rate is given
    at : what `crank` says of the angle
    phase, side : of the burn, and of the burned gas, see `burned_gas`; where the next begins is the march's to find
    """
    lit = phase >= GROWING
    geo, heat, burn = engine.geo, engine.heat, engine.burn
    p, tu, tb, mu, mb = state[P], state[TU], state[TB], state[MU], state[MB]
    V, dV, log_V, _ = at
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
    h = film(engine, charge, at, p, log_p, T_mean, r_mean, phase)
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
    if charge.model == combustion.GIVEN:
        dm = curve[0] if lit else 0.0
    elif WAITING < phase < OVER:
        dy = burn_rate(charge, curve, angle, math.log(tu), log_p, log_V, phase)
        if lit:
            # what is left to burn goes at Wiebe's rate for what is left, so that gas lost past the rings does not burn
            hazard = burn.wiebe_a * (burn.wiebe_m + 1.0) * raised(state[Y], burn.wiebe_m)
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
        u_b, u_T, u_y, r_b, r_T, r_y = burned_gas(plane, tb, log_p, side)
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


@inlined
def step(engine, charge, blend, plane, curve, angle, at, width, state, phase, side, work):
    """One step of the classical fourth-order Runge-Kutta method, in place; `work` is float64[5, N_STATE]. Inlined: see `compiled`.

    at : what `crank` says of the angle
    Returns what it says of the step's end.
    """
    trial = work[4]
    middle, then = crank(engine, charge, angle + 0.5 * width), crank(engine, charge, angle + width)
    for stage in range(4):
        reach, there = 0.0, at
        if stage > 0:
            reach, there = (width, then) if stage == 3 else (0.5 * width, middle)
        for i in range(N_STATE):
            trial[i] = state[i] + (reach * work[stage - 1, i] if stage > 0 else 0.0)
        slopes(engine, charge, blend, plane, curve, angle + reach, there, trial, phase, side, work[stage])
    for i in range(N_STATE):
        state[i] += width / 6.0 * (work[0, i] + 2.0 * (work[1, i] + work[2, i]) + work[3, i])
    return then


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
        u, u_T, _, r_b, r_T, _ = burned_gas(plane, tb, log_p, gas.ANYWHERE)
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
        u_b = burned_gas(plane, state[TB], math.log(state[P]), gas.ANYWHERE)[0]
        total += state[MB] * u_b
    return total
