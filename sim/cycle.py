"""One engine cycle: all cylinders marched together through gas exchange, each closed part solved where it begins."""

import math

import numpy as np

from ..models import geometry, wall_heat
from ..models.compiled import compiled, inlined
from . import books, chain, closed, films, late_burn, port, recording
from . import exchange as ex
from .records import (
    C_ENERGY,
    C_T,
    IN_ENTRY,
    IN_OFFSET,
    IN_RUNNER_VOLUME,
    KEPT_ALIGHT,
    KEPT_LEFT,
    KEPT_MIX,
    KEPT_RATE,
    KEPT_Y,
    N_CONTENT,
    K,
    Network,
)


@inlined
def local_angle(offset, angle):
    """Crank angle of a cylinder, 0 to 720 from its own firing top dead centre [deg]; both given are within 0 to 720 too."""
    a = angle - offset
    if a < 0.0:
        a += 720.0
    return 0.0 if a > 720.0 - 1e-7 else a


@inlined
def breathes(engine, local, width):
    """Whether a step that begins at this local angle belongs to gas exchange."""
    return local + width > engine.exhaust_opens + 1e-9 and local < engine.intake_closes - 1e-9


@inlined
def all_shut(open_):
    """Whether no cylinder takes part in gas exchange."""
    count = 0
    for j in range(open_.size):
        count += open_[j]
    return count == 0


@inlined
def drain(S, i, v, content, h):
    """Energy that leaves volume v by piston work and wall heat over h seconds; returns the heat [J]."""
    heat = h * (S[i, v, ex.S_HA] * S[i, v, ex.S_T] - S[i, v, ex.S_HAT])
    content[v, C_ENERGY] -= h * S[i, v, ex.S_P] * S[i, v, ex.S_RATE] + heat
    return heat


@inlined
def evaluate(engine, point, machine, energy, cv, constants, areas, inputs, stream, S, L, stage, content, local, open_):
    """States of all volumes and flows of all links at one stage."""
    n = engine.cylinders
    for v in range(content.shape[0]):
        if v >= n or open_[v]:
            ex.fill_state(energy, cv, constants, S, stage, v, content)
    for j in range(n):
        ex.cylinder_flows(engine, inputs, areas, stream, S, L, stage, j, local[j], open_[j])
    for c in range(engine.collectors):
        ex.collector_flows(engine, point, machine, S, L, stage, c)
    if engine.sections > 1:
        chain.flows(engine, S, L, stage)


@compiled
def correct(net, inputs, S, L, branch, h, sign):
    """The implicit part of both stages' flows, along the tree and back; left in column L_PHI."""
    ex.eliminate(net, inputs, S, L, branch, h, sign)
    if net.sections > 1:
        chain.eliminate(net, S, L, branch, h)
        chain.substitute(net, L, branch, h)
    ex.substitute(net, inputs, L, branch, h)


@inlined
def step(
    engine, net, point, machine, energy, cv, constants, areas, inputs, content, kept, wall, stream, S, L, branch, predicted,
    account, collector, width, local, later, open_, goes_on, film_fixed, velocity, elements,
):  # fmt: skip
    """One step of gas exchange, `width` degrees, in place in content, kept and the accounts; it may go on from the last one."""
    n, nv, nl = engine.cylinders, content.shape[0], L.shape[0]
    seconds = 1.0 / (6.0 * point.speed_rpm)
    one, two = np.int64(0), np.int64(1)  # stages; a bare 0 and 1 would compile everything twice
    move_one, move_two = np.int64(ex.L_MOVE0), np.int64(ex.L_MOVE1)
    h = width * seconds
    if goes_on and engine.runner_opening == 0.0 and all_shut(open_):  # of a bench with its valves shut nothing moves
        books.book_pipes(n, S, account, width)
        for j in range(n):
            S[0, j, ex.S_LAST] = 0.0
        return
    for j in range(n):
        later[j] = local[j] + width
        S[0, j, ex.S_V], S[0, j, ex.S_RATE] = 1.0, 0.0  # shut off: any volume serves the elimination
        if not open_[j]:
            S[0, j, ex.S_LAST] = 0.0
        if open_[j]:
            if goes_on and S[0, j, ex.S_LAST] > 0.0:  # open before: this step begins where the last one ended
                S[0, j, ex.S_V], S[0, j, ex.S_RATE] = S[1, j, ex.S_V], S[1, j, ex.S_RATE]
            else:
                S[0, j, ex.S_V], rate = geometry.volume(engine.geo, local[j])
                S[0, j, ex.S_RATE] = rate / seconds
            S[1, j, ex.S_V], rate = geometry.volume(engine.geo, later[j])
            S[1, j, ex.S_RATE] = rate / seconds
            if ex.valve_area(areas, ex.INTAKE, later[j]) > 0.0:
                port.intake_stream(energy, cv, constants, inputs, kept, stream, j)
    evaluate(engine, point, machine, energy, cv, constants, areas, inputs, stream, S, L, one, content, local, open_)
    for j in range(n):
        if open_[j]:
            films.cylinder_heat(engine, film_fixed, velocity, S, j)
    films.pipe_heat(engine, inputs, wall, stream, S, L)
    ex.damp_all(net, inputs, S, L, h)
    if engine.sections > 1:
        chain.heat(engine, wall, S, L)
        chain.damp(net, S, L, h)
    for i in range(nl):
        L[i, ex.L_RHS] = L[i, ex.L_F0]
    correct(net, inputs, S, L, branch, h, 1.0)
    for i in range(nl):
        L[i, ex.L_F0] += L[i, ex.L_PHI]  # from here on the implicit flow of the first stage
        L[i, ex.L_MOVE0] = h * L[i, ex.L_F0]
    # predicted state and second stage
    for v in range(nv):
        if v >= n or open_[v]:
            for k in range(N_CONTENT):
                predicted[v, k] = content[v, k]
            drain(S, one, v, predicted, h)
            predicted[v, C_T] = S[0, v, ex.S_T]
            S[1, v, ex.S_HA], S[1, v, ex.S_HAT] = S[0, v, ex.S_HA], S[0, v, ex.S_HAT]
    ex.move_all(net, inputs, stream, S, L, one, move_one, predicted)
    if engine.sections > 1:
        chain.move(net, S, L, one, move_one, predicted)
    evaluate(engine, point, machine, energy, cv, constants, areas, inputs, stream, S, L, two, predicted, later, open_)
    for i in range(nl):
        L[i, ex.L_RHS] = L[i, ex.L_F1] - 2.0 * L[i, ex.L_F0]
    correct(net, inputs, S, L, branch, h, -1.0)
    for i in range(nl):
        L[i, ex.L_MOVE0] = 0.5 * h * (L[i, ex.L_F0] + L[i, ex.L_PHI])
        L[i, ex.L_MOVE1] = 0.5 * h * L[i, ex.L_F1]
    for j in range(n):
        if open_[j]:
            port.ration(constants, inputs, kept, stream, L, j)
    ex.move_all(net, inputs, stream, S, L, one, move_one, content)
    ex.move_all(net, inputs, stream, S, L, two, move_two, content)
    if engine.sections > 1:
        chain.move(net, S, L, one, move_one, content)
        chain.move(net, S, L, two, move_two, content)
    for v in range(nv):
        if v >= n or open_[v]:
            heat = drain(S, one, v, content, 0.5 * h) + drain(S, two, v, content, 0.5 * h)
            content[v, C_T] = S[1, v, ex.S_T]
            books.book_heat(engine, wall, stream, S, account, collector, v, h, heat)
    books.book_pipes(n, S, account, width)
    for j in range(n):
        for i in range(2):
            amount = L[2 * n + j, ex.L_MOVE0 + i]
            up = n + j if amount >= 0.0 else 2 * n + int(inputs[j, IN_ENTRY])
            account[j, ex.A_MOUTH_ENTHALPY] += amount * S[i, up, ex.S_H]
        if open_[j]:
            books.book_cylinder(engine, S, L, stream, kept, account, j, local[j], width, h)
            if kept[j, KEPT_ALIGHT] > 0.0:
                late_burn.burn_on(
                    engine, kept[j], content[j], account[j], width, L[n + j, ex.L_MOVE0] + L[n + j, ex.L_MOVE1]
                )
    for c in range(engine.collectors):
        books.book_collector(engine, point, machine, S, L, collector, c, width)
    if engine.afterburning == 1:
        for v in range(n, nv):
            late_burn.burn_out(content, v, elements)


@compiled
def close(
    engine, point, table, inputs, content, kept, trapped, local, width, closed_width, blend, plane, blended, frozen,
    work, out, record, row, asked,
):  # fmt: skip
    """Solve the closed part of a cylinder, which begins now; content then holds its state at exhaust opening."""
    count = math.floor((720.0 + engine.exhaust_opens - local) / width + 1e-9)
    end = local + count * width
    total = 0.0
    for k in range(K):
        total += content[k]
    for k in range(K):
        kept[KEPT_MIX + k] = -content[k] / total
    for k in range(N_CONTENT):
        trapped[k] = content[k]
    status, row = closed.closed_cycle(
        engine,
        point,
        table,
        inputs,
        content,
        local,
        end,
        closed_width,
        blend,
        plane,
        blended,
        frozen,
        work,
        out,
        record,
        row,
        asked,
    )
    left = out[closed.O_LEFT]
    kept[KEPT_LEFT], kept[KEPT_Y], kept[KEPT_RATE] = left, out[closed.O_Y_END], out[closed.O_Y_RATE]
    kept[KEPT_ALIGHT] = 1.0 if left > 1e-4 * total and out[closed.O_Y_RATE] > 0.0 else 0.0
    for k in range(K):
        kept[KEPT_MIX + k] += frozen[k]
    return status, row


@compiled
def save(content, kept, saved):
    """Keep the state of cylinder 0 at exhaust opening for its likes."""
    for k in range(N_CONTENT):
        saved[k] = content[k]
    for k in range(4 + K):
        saved[N_CONTENT + k] = kept[KEPT_LEFT + k]


@compiled
def reuse(content, kept, saved):
    """Give a cylinder the state at exhaust opening that cylinder 0 reached, its like."""
    for k in range(N_CONTENT):
        content[k] = saved[k]
    for k in range(4 + K):
        kept[KEPT_LEFT + k] = saved[N_CONTENT + k]


@compiled
def run_cycle(engine, point, table, machine, areas, inputs, memory, desk, width, closed_width, keep, begin, end):
    """March the engine from inlet closing of cylinder 0 through a cycle, or a part of it.

    engine, point, table, machine : Engine, Point, GasTable, Turbine
    areas : float64[2, TABLE_SIZE], effective areas of intake and exhaust valves [m2]
    inputs : float64[cylinders, N_INPUT]
    memory, desk : Memory and Desk, changed in place
    width : float, step of gas exchange, a whole part of 720 [deg]
    closed_width : float, greatest step of the closed part [deg]
    keep : int, more than 0 to write the records [-]
    begin, end : int, first step of the cycle and the one after the last: 0 and all of them, or a part of it [-]
    Returns the status of the closed parts.
    """
    n = engine.cylinders
    start = engine.intake_closes
    content, kept, wall = memory.content, memory.kept, memory.wall
    energy, cv, constants = table.energy, table.cv, table.gas_constant
    S, L, branch, stream, predicted = desk.states, desk.links, desk.branch, desk.stream, desk.predicted
    account, collector, outs, record = desk.account, desk.collector, desk.outs, desk.record
    blend, plane, blended, frozen, work = desk.blend, desk.plane, desk.blended, desk.frozen, desk.work
    net = Network(n, engine.collectors, engine.sections, engine.outlet)
    piston_speed = geometry.mean_piston_speed(engine.geo, point.speed_rpm)
    film_fixed = wall_heat.fixed_part(engine.heat, engine.geo.bore, piston_speed)
    velocity = films.open_velocity(engine, piston_speed)
    account[:] = 0.0
    collector[:] = 0.0
    for stage in range(2):
        for j in range(n):
            S[stage, n + j, ex.S_V] = inputs[j, IN_RUNNER_VOLUME]
        for v in range(2 * n, content.shape[0]):
            S[stage, v, ex.S_V] = engine.section_volume
    open_, local, later = desk.open, desk.local, desk.later
    row = np.int64(-1)
    unkept = np.int64(-1)
    asked = closed.WORK_ONLY
    if keep > 0:
        row = np.int64(0)
        asked = closed.ALL
    status = closed.DONE
    if begin == 0:
        status, row = close(
            engine, point, table, inputs[0], content[0], kept[0], desk.trapped[0], start, width, closed_width, blend,
            plane[0], blended[0], frozen, work, outs[0], record, row, asked,
        )  # fmt: skip
        if engine.alike == 1:
            save(content[0], kept[0], desk.saved)
    for j in range(n):
        before = local_angle(inputs[j, IN_OFFSET], (start + (begin - 1) * width) % 720.0)
        open_[j] = breathes(engine, before, width) and (j > 0 or begin > 0)
    for i in range(begin, end):
        angle = (start + i * width) % 720.0
        for j in range(n):
            local[j] = local_angle(inputs[j, IN_OFFSET], angle)
            was = open_[j]
            open_[j] = breathes(engine, local[j], width)
            if was and not open_[j]:
                if engine.alike == 1:
                    reuse(content[j], kept[j], desk.saved)
                else:
                    st, _ = close(
                        engine, point, table, inputs[j], content[j], kept[j], desk.trapped[j], local[j], width, closed_width, blend,
                        plane[j], blended[j], frozen, work, outs[j], record, unkept, asked,
                    )  # fmt: skip
                    status = max(status, st)
        step(
            engine, net, point, machine, energy, cv, constants, areas, inputs, content, kept, wall, stream, S, L, branch,
            predicted, account, collector, width, local, later, open_, i > begin, film_fixed, velocity, table.elements,
        )  # fmt: skip
        if keep > 0:
            recording.keep_step(engine, S, L, local, open_, desk.manifold_record[i], desk.breathing[i])
    if keep > 0:
        recording.whole(engine, inputs, desk, end, row)
    return status
