"""Gas exchange: cylinders, runners and collectors as volumes joined by valves, openings and the turbine.

One step is linearly implicit and of second order: the two-stage Rosenbrock W-method of Verwer, Spee, Blom & Hundsdorfer,
SIAM J. Sci. Comput. 20 (1999) 1456-1480 (from memory, confidence high). Only the stiff part of the Jacobian is used: how
pressures answer flows and flows answer pressures. The network is a tree, cylinder - runner - collector - outlet, so the
linear system is solved by elimination along its branches (chain.py: those of a collector in parts). Every flow leaves one volume and enters another with the same
mass, species and enthalpy, so nothing is lost whatever the step.
"""

import math

import numpy as np

from ..models import gas, turbine
from ..models.compiled import compiled, inlined
from ..models.flow import BAND, rooted_link_flow
from ..models.valves import TABLE_SIZE, TABLE_STEP
from .records import (
    C_ENERGY,
    C_T,
    IN_ENTRY,
    IN_PRESSURE,
    K,
)

GAMMA = 1.0 - 1.0 / math.sqrt(2.0)  # of the method, stiffly stable
STRONG = 1.0 + 1.0 / math.sqrt(2.0)  # its other stiffly stable choice, for stiff links

INTAKE, EXHAUST = np.int64(0), np.int64(1)  # rows of the area table; bare numbers would compile twice
COLDEST, HOTTEST = gas.COLDEST, gas.HOTTEST  # where temperatures are held [K]
NEAR = 16.0  # change of a temperature that one step of the parabola takes [K]
# Of a runner's mouth, an opening as large as the pipe: within this share of the pressure the flow goes with the difference. A
# parameter of the model, by judgement: with the nozzle's root law slow points did not repeat from cycle to cycle. What it
# does, halved or doubled, on the demo from 1000 to 6200 rev/min and the cases of examples/: gas leaving the cylinders 0.2 K,
# net imep 0.08 %, residual 0.02 points, backpressure 0.1 %, a probe in a runner 1 K; gas before the turbine, and a probe in it,
# 1.5 K, at 1000 rev/min 4 K. One slow point, short of its boost at 2000, moved by 6 K there and by 2 % of its boost when halved.
MOUTH_BAND = 0.02
# Columns of the volumes at a stage, float64[2, volumes, N_STATE]; composition from S_Y on.
S_P, S_T, S_R, S_G, S_H, S_V, S_RATE, S_HA, S_HAT, S_LAST, S_ROOT, S_Y = range(12)
N_STATE = S_Y + K
# Columns of the links, float64[links, N_LINK]: flows of both stages, conductance, correction, weight, right-hand side,
# and what the step carries with the states of either stage. Links: intake valves, exhaust valves, runner openings of all
# cylinders, then turbine and wastegate of each collector, then what joins the parts of a collector that is a chain.
L_F0, L_F1, L_G, L_PHI, L_W, L_RHS, L_MOVE0, L_MOVE1 = range(8)
N_LINK = 8
# Columns of the intake stream of each cylinder, float64[cylinders, N_STREAM]; composition first.
I_H, I_R, I_T, I_PORT, I_DEMAND, I_PIPE, I_STALE = range(K, K + 7)
N_STREAM = K + 7
# Per-cylinder accounts of one cycle.
(
    A_FRESH,
    A_OUT_MASS,
    A_OUT_ENTHALPY,
    A_WORK_OPEN,
    A_WORK_PUMP,
    A_WALL_HEAT,
    A_PORT_HEAT,
    A_RUNNER_HEAT,
    A_RUNNER_P,
    A_RUNNER_T,
    A_HA,
    A_HAT,
    A_BACKFLOW,
    A_INTAKE_BACK,
    A_BURNED_LATE,
    A_MOUTH_ENTHALPY,  # out of the runner into its collector
    A_SPECIES,  # first of the species that left through the exhaust valve
) = range(17)
N_ACCOUNT = A_SPECIES + K
# Per-collector accounts.
(
    B_TURBINE_MASS,
    B_TURBINE_ENTHALPY,
    B_TURBINE_WORK,
    B_TURBINE_IDEAL,
    B_WASTE_MASS,
    B_WASTE_ENTHALPY,
    B_P,
    B_T,
    B_HEAT,
    B_HA,
    B_HAT,
    B_CHOKED_MASS,
    B_SPECIES,  # first of the species that left through turbine and wastegate
) = range(13)
N_COLLECTOR = B_SPECIES + K


@inlined
def valve_area(areas, kind, angle):
    """Effective area from the valves' table (kind 0 intake, 1 exhaust), linear between tabulated angles [m2]."""
    place = angle / TABLE_STEP
    i = int(place)
    if i < 0 or i >= TABLE_SIZE - 1:
        return 0.0
    return areas[kind, i] + (place - i) * (areas[kind, i + 1] - areas[kind, i])


@inlined
def row_energy(energy, cv, content, v, T):
    """Internal energy of volume v at a temperature [J], its slope [J/K] and how that rises [J/K2]; a view costs more than an index."""
    i, (a0, a1, b0, b1, da0, da1, db0, db1) = gas._hermite(T, gas.FIRST, gas.STEP, energy.shape[0])
    u0 = u1 = c0 = c1 = 0.0
    for k in range(K):
        m = content[v, k]
        u0 += m * energy[i, k]
        u1 += m * energy[i + 1, k]
        c0 += m * cv[i, k]
        c1 += m * cv[i + 1, k]
    return a0 * u0 + a1 * u1 + b0 * c0 + b1 * c1, da0 * u0 + da1 * u1 + db0 * c0 + db1 * c1, (c1 - c0) / gas.STEP


@inlined
def fill_state(energy, cv, constants, S, stage, v, content):
    """Temperature, pressure, gas constant, gamma, enthalpy and composition of one volume from mass and energy."""
    total = 0.0
    mr = 0.0
    for k in range(K):
        m = content[v, k]
        total += m
        mr += m * constants[k]
    T = content[v, C_T]
    slope = 1.0
    for _ in range(20):
        u, slope, rise = row_energy(energy, cv, content, v, T)
        change = (content[v, C_ENERGY] - u) / slope
        bend = min(max(0.5 * rise / slope * change, -0.5), 0.5)  # far out a parabola turns back
        T = min(max(T + change * (1.0 - bend), COLDEST), HOTTEST)
        if abs(change) < NEAR:  # what the parabola leaves is a few mK
            slope += rise * change
            break
    S[stage, v, S_T] = T
    S[stage, v, S_P] = mr * T / S[stage, v, S_V]
    S[stage, v, S_R] = mr / total
    S[stage, v, S_G] = 1.0 + mr / slope
    S[stage, v, S_ROOT] = math.sqrt(total / (mr * T))
    S[stage, v, S_H] = (content[v, C_ENERGY] + mr * T) / total
    for k in range(K):
        S[stage, v, S_Y + k] = content[v, k] / total


@inlined
def sound_squared(S, stage, v):
    """gamma R T of a volume [m2/s2]: what entering mass adds to pressure times volume."""
    return S[stage, v, S_G] * S[stage, v, S_R] * S[stage, v, S_T]


@compiled
def valve_flow(area, p_a, root_a, gamma_a, p_b, root_b, gamma_b):
    """Flow through a throat from a to b [kg/s], and its conductance [kg/(s Pa)]; see flow.rooted_link_flow."""
    return rooted_link_flow(area, p_a, root_a, gamma_a, p_b, root_b, gamma_b, BAND)


@compiled
def mouth_flow(area, p_a, root_a, gamma_a, p_b, root_b, gamma_b):
    """The same through a runner's mouth. Two kernels, so that what depends on the band alone is worked out when they are compiled."""
    return rooted_link_flow(area, p_a, root_a, gamma_a, p_b, root_b, gamma_b, MOUTH_BAND)


@inlined
def through_mouth(area, S, i, a, b):
    """Flow through a mouth from volume a to volume b at stage i [kg/s], and its conductance [kg/(s Pa)]."""
    return mouth_flow(area, S[i, a, S_P], S[i, a, S_ROOT], S[i, a, S_G], S[i, b, S_P], S[i, b, S_ROOT], S[i, b, S_G])


@inlined
def chord(conductance, flow, drop):
    """The steeper of tangent and chord of flow against pressure drop [kg/(s Pa)].

    Flow is concave in the drop, so a long step on the tangent would overshoot equal pressures and ring; on the chord two
    volumes come to rest at any step. The method keeps its order with either.
    """
    if flow == 0.0 or drop == 0.0:
        return conductance
    return max(conductance, flow / drop)


@inlined
def upwind(p_a, p_b, a, b):
    """The upstream of two values, sliding from one to the other while the pressures are all but equal.

    A jump here would be a jump in the answer of the size of the step's error, enough to keep a cycle from repeating.
    """
    share = min(max(0.5 + 0.5 * (p_a - p_b) / (BAND * p_a), 0.0), 1.0)
    return share * a + (1.0 - share) * b


@inlined
def cylinder_flows(engine, inputs, areas, stream, S, L, i, j, angle, is_open):
    """Flows of the three links of cylinder j at stage i; at the first stage also conductances and weights."""
    n = engine.cylinders
    run, col = n + j, 2 * n + int(inputs[j, IN_ENTRY])
    f_in = f_ex = g_in = g_ex = 0.0
    if is_open:
        area = valve_area(areas, INTAKE, angle)
        if area > 0.0:
            root = 1.0 / math.sqrt(stream[j, I_R] * stream[j, I_T])
            f_in, g_in = valve_flow(
                area, inputs[j, IN_PRESSURE], root, 1.38, S[i, j, S_P], S[i, j, S_ROOT], S[i, j, S_G]
            )
        area = valve_area(areas, EXHAUST, angle)
        if area > 0.0:
            f_ex, g_ex = valve_flow(
                area, S[i, j, S_P], S[i, j, S_ROOT], S[i, j, S_G], S[i, run, S_P], S[i, run, S_ROOT], S[i, run, S_G]
            )
    f_out, g_out = through_mouth(engine.runner_opening, S, i, run, col)
    L[j, i], L[n + j, i], L[2 * n + j, i] = f_in, f_ex, f_out
    if i == 0:
        L[j, L_G] = chord(g_in, f_in, inputs[j, IN_PRESSURE] - S[0, j, S_P])
        L[n + j, L_G] = chord(g_ex, f_ex, S[0, j, S_P] - S[0, run, S_P])
        L[2 * n + j, L_G] = chord(g_out, f_out, S[0, run, S_P] - S[0, col, S_P])
        p_run, p_col = S[0, run, S_P], S[0, col, S_P]
        p = S[0, j, S_P] if is_open else p_run
        here, there = sound_squared(S, 0, j), sound_squared(S, 0, run)
        L[j, L_W] = upwind(inputs[j, IN_PRESSURE], p, 1.38 * stream[j, I_R] * stream[j, I_T], here)
        L[n + j, L_W] = upwind(p, p_run, here, there)
        L[2 * n + j, L_W] = upwind(p_run, p_col, there, sound_squared(S, 0, col))


@inlined
def collector_flows(engine, point, machine, S, L, i, c):
    """Flows of turbine and wastegate of collector c at stage i; at the first stage also conductances and weights."""
    n = engine.cylinders
    v, lt = 2 * n + c, 3 * n + 2 * c
    p, T, r, g = S[i, v, S_P], S[i, v, S_T], S[i, v, S_R], S[i, v, S_G]
    f = cond = fw = cw = 0.0
    if engine.has_turbine == 1:
        f, cond = turbine.turbine_flow(machine, p, T, r, point.outlet_pressure, point.tip_speed)
        size = turbine.beside_first(machine, c)
        f, cond = size * f, size * cond
    if point.wastegate_area > 0.0 and p > point.outlet_pressure:
        root = S[i, v, S_ROOT]
        fw, cw = valve_flow(point.wastegate_area, p, root, g, point.outlet_pressure, root, g)
    L[lt, i], L[lt + 1, i] = f, fw
    if i == 0:
        L[lt, L_G] = chord(cond, f, p - point.outlet_pressure)
        L[lt + 1, L_G] = chord(cw, fw, p - point.outlet_pressure)
        L[lt, L_W] = L[lt + 1, L_W] = sound_squared(S, 0, v)


@inlined
def damp(L, i, h, inverse_volume):
    """Strengthen the conductance of a stiff link.

    Two volumes joined by a conductance g come together at the rate g gamma R T (1/Va + 1/Vb). Where the step is long
    against that, the derivative of a flow that goes as the root of the pressure drop is off by up to a factor of 2 over
    the step, and the small constant of the method would then leave a ripple that changes sign from step to step. There
    the method's other stiffly stable constant, 1 + 1/sqrt(2), takes over: no ripple for any flow law between linear and
    root. Where the step is not ten times too long nothing changes. The method keeps its order with any conductance.
    """
    z = h * L[i, L_G] * L[i, L_W] * inverse_volume
    L[i, L_G] *= 1.0 + (STRONG / GAMMA - 1.0) * z * z / (z * z + 100.0)


@inlined
def damp_all(net, inputs, S, L, h):
    """The same for every link of the network, once a step."""
    n = net.cylinders
    for j in range(n):
        c = 2 * n + int(inputs[j, IN_ENTRY])
        run = 1.0 / S[0, n + j, S_V]
        damp(L, j, h, 1.0 / S[0, j, S_V])
        damp(L, n + j, h, 1.0 / S[0, j, S_V] + run)
        damp(L, 2 * n + j, h, run + 1.0 / S[0, c, S_V])
    for c in range(net.collectors):
        lt = 3 * n + 2 * c
        damp(L, lt, h, 1.0 / S[0, 2 * n + c, S_V])
        damp(L, lt + 1, h, 1.0 / S[0, 2 * n + c, S_V])


@inlined
def eliminate(net, inputs, S, L, branch, h, sign):
    """Solve (1 - gamma h A) k = right-hand side along the tree: cylinders into runners into collectors.

    S : states of the first stage; h : float, step [s]
    sign : float, +1 at the first stage, -1 at the second: the part that time itself plays [-]
    """
    n = net.cylinders
    gh = GAMMA * h
    for c in range(net.collectors):
        lt = 3 * n + 2 * c
        V, w = S[0, 2 * n + c, S_V], L[lt, L_W]
        branch[n + c, 0] = -w * (L[lt, L_RHS] + L[lt + 1, L_RHS]) / V
        branch[n + c, 1] = 1.0 + w * (L[lt, L_G] + L[lt + 1, L_G]) * gh / V
    for v in range(n + net.collectors, branch.shape[0]):  # other parts of a chain
        branch[v, 0], branch[v, 1] = 0.0, 1.0
    for j in range(n):
        v = n + int(inputs[j, IN_ENTRY])
        V, Vr, Vc = S[0, j, S_V], S[0, n + j, S_V], S[0, n + v, S_V]
        wi, we, wo = L[j, L_W], L[n + j, L_W], L[2 * n + j, L_W]
        Gi, Ge, Go = gh * L[j, L_G], gh * L[n + j, L_G], gh * L[2 * n + j, L_G]
        # the cylinder eliminated into its runner
        rate = -sign * S[0, j, S_G] * S[0, j, S_P] * S[0, j, S_RATE] / V
        a0 = rate + (wi * L[j, L_RHS] - we * L[n + j, L_RHS]) / V
        ae = we * Ge / V
        da = 1.0 + wi * Gi / V + ae
        # the runner eliminated into its collector
        be, bo, ko = we * Ge / Vr, wo * Go / Vr, wo * Go / Vc
        b1 = (we * L[n + j, L_RHS] - wo * L[2 * n + j, L_RHS]) / Vr + be * a0 / da
        db = 1.0 + be * (1.0 - ae / da) + bo
        branch[v, 0] += wo * L[2 * n + j, L_RHS] / Vc + ko * b1 / db
        branch[v, 1] += ko * (1.0 - bo / db)
        branch[j, 0], branch[j, 1], branch[j, 2], branch[j, 3] = b1 / db, bo / db, a0 / da, ae / da


@inlined
def substitute(net, inputs, L, branch, h):
    """The way back along the tree; leaves the flow corrections in column L_PHI."""
    n = net.cylinders
    gh = GAMMA * h
    for j in range(n):
        v = n + int(inputs[j, IN_ENTRY])
        pc = branch[v, 0] / branch[v, 1]
        pb = branch[j, 0] + branch[j, 1] * pc
        pa = branch[j, 2] + branch[j, 3] * pb
        L[j, L_PHI] = -gh * L[j, L_G] * pa
        L[n + j, L_PHI] = gh * L[n + j, L_G] * (pa - pb)
        L[2 * n + j, L_PHI] = gh * L[2 * n + j, L_G] * (pb - pc)
    for c in range(net.collectors):
        pc = branch[n + c, 0] / branch[n + c, 1]
        for i in range(3 * n + 2 * c, 3 * n + 2 * c + 2):
            L[i, L_PHI] = gh * L[i, L_G] * pc


@inlined
def add(content, v, S, i, up, amount):
    """Add to volume v `amount` [kg] of gas in the state of volume `up` at stage i (take it, if negative)."""
    for k in range(K):
        content[v, k] += amount * S[i, up, S_Y + k]
    content[v, C_ENERGY] += amount * S[i, up, S_H]


@inlined
def carry(content, a, b, S, i, amount):
    """Carry `amount` [kg] from volume a to volume b (back, if negative) with the upstream state at stage i."""
    up = a if amount > 0.0 else b
    for k in range(K):
        moved = amount * S[i, up, S_Y + k]
        content[a, k] -= moved
        content[b, k] += moved
    moved = amount * S[i, up, S_H]
    content[a, C_ENERGY] -= moved
    content[b, C_ENERGY] += moved


@compiled
def move_all(net, inputs, stream, S, L, i, column, content):
    """Apply the transfers [kg] of one column, each with the upstream state at stage i."""
    n = net.cylinders
    for j in range(n):
        amount = L[j, column]
        if amount > 0.0:
            for k in range(K):
                content[j, k] += amount * stream[j, k]
            content[j, C_ENERGY] += amount * stream[j, I_H]
        elif amount < 0.0:
            add(content, j, S, i, j, amount)
        if L[n + j, column] != 0.0:
            carry(content, j, n + j, S, i, L[n + j, column])
        if L[2 * n + j, column] != 0.0:
            carry(content, n + j, 2 * n + int(inputs[j, IN_ENTRY]), S, i, L[2 * n + j, column])
    for c in range(net.collectors):
        lt = 3 * n + 2 * c
        add(content, 2 * n + c, S, i, 2 * n + c, -L[lt, column] - L[lt + 1, column])
