"""What a step of gas exchange adds to the accounts of cylinders, pipes and collectors."""

from ..models import turbine
from ..models.compiled import inlined
from . import chain, port
from . import exchange as ex
from .records import K


@inlined
def book_pipes(n, S, account, width):
    """Mean pressure and temperature in the runners, over a step."""
    for j in range(n):
        account[j, ex.A_RUNNER_P] += 0.5 * width * (S[0, n + j, ex.S_P] + S[1, n + j, ex.S_P])
        account[j, ex.A_RUNNER_T] += 0.5 * width * (S[0, n + j, ex.S_T] + S[1, n + j, ex.S_T])


@inlined
def book_heat(engine, wall, stream, S, account, collector, v, h, heat):
    """Wall heat of volume v over a step, and the means that set wall temperatures."""
    n = engine.cylinders
    T = 0.5 * (S[0, v, ex.S_T] + S[1, v, ex.S_T])
    if v < n:
        account[v, ex.A_WALL_HEAT] += heat
    elif v < 2 * n:
        j = v - n
        ha = h * stream[j, ex.I_PIPE]
        account[j, ex.A_HA] += ha
        account[j, ex.A_HAT] += ha * T
        runner = ha * (T - wall[j])
        account[j, ex.A_RUNNER_HEAT] += runner
        account[j, ex.A_PORT_HEAT] += heat - runner
    else:
        c = chain.collector_of(engine, v)
        ha = h * S[0, v, ex.S_HA]
        collector[c, ex.B_HA] += ha
        collector[c, ex.B_HAT] += ha * T
        collector[c, ex.B_HEAT] += heat


@inlined
def book_cylinder(engine, S, L, stream, kept, account, j, local, width, h):
    """Piston work, charge drawn and gas let out by open cylinder j over a step."""
    n = engine.cylinders
    work = 0.5 * h * (S[0, j, ex.S_P] * S[0, j, ex.S_RATE] + S[1, j, ex.S_P] * S[1, j, ex.S_RATE])
    account[j, ex.A_WORK_PUMP if 180.0 < local + 0.5 * width < 540.0 else ex.A_WORK_OPEN] += work
    drawn = 0.0
    for i in range(2):
        amount = L[j, ex.L_MOVE0 + i]
        if amount != 0.0:
            account[j, ex.A_FRESH] += port.settle_port(kept, stream, S, i, j, amount)
            account[j, ex.A_INTAKE_BACK] += max(-amount, 0.0)
            drawn += amount
        amount = L[n + j, ex.L_MOVE0 + i]
        if amount != 0.0:
            up = j if amount > 0.0 else n + j
            account[j, ex.A_OUT_MASS] += amount
            account[j, ex.A_OUT_ENTHALPY] += amount * S[i, up, ex.S_H]
            account[j, ex.A_BACKFLOW] += max(-amount, 0.0)
            for k in range(K):
                account[j, ex.A_SPECIES + k] += amount * S[i, up, ex.S_Y + k]
    stream[j, ex.I_DEMAND] = drawn


@inlined
def book_collector(engine, point, machine, S, L, b, c, width):
    """Turbine and wastegate of collector c over one step."""
    n = engine.cylinders
    v, lt = 2 * n + c, 3 * n + 2 * c
    b[c, ex.B_P] += 0.5 * width * (S[0, v, ex.S_P] + S[1, v, ex.S_P])
    b[c, ex.B_T] += 0.5 * width * (S[0, v, ex.S_T] + S[1, v, ex.S_T])
    if engine.has_turbine == 0:
        return
    p4, tip = point.outlet_pressure, point.tip_speed
    size, beside = turbine.beside_first(machine, c), turbine.beside_first(machine, 1 - c)
    for i in range(2):
        p, T, r, g = S[i, v, ex.S_P], S[i, v, ex.S_T], S[i, v, ex.S_R], S[i, v, ex.S_G]
        m, waste = L[lt, ex.L_MOVE0 + i], L[lt + 1, ex.L_MOVE0 + i]
        ideal = m * turbine.turbine_work(p, T, r, g, p4)
        full = 1.0
        if engine.collectors == 2:
            full = turbine.admission(machine, m / size, L[3 * n + 2 * (1 - c), ex.L_MOVE0 + i] / beside)
        b[c, ex.B_TURBINE_MASS] += m
        b[c, ex.B_TURBINE_ENTHALPY] += m * S[i, v, ex.S_H]
        b[c, ex.B_TURBINE_IDEAL] += ideal
        b[c, ex.B_TURBINE_WORK] += full * ideal * turbine.turbine_efficiency(machine, p, T, r, g, p4, tip)
        b[c, ex.B_WASTE_MASS] += waste
        b[c, ex.B_WASTE_ENTHALPY] += waste * S[i, v, ex.S_H]
        for k in range(K):
            b[c, ex.B_SPECIES + k] += (m + waste) * S[i, v, ex.S_Y + k]
        if i == 0 and p > p4 and L[lt, ex.L_F1] >= 0.99 * size * turbine.maximum_flow(machine, p, T, r, tip):
            b[c, ex.B_CHOKED_MASS] += m + L[lt, ex.L_MOVE1]
