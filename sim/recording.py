"""The records of one cycle against crank angle: of the manifold, and of cylinder 1."""

import numpy as np

from ..models.compiled import allocating, compiled
from . import closed
from . import exchange as ex
from .records import IN_COLLECTOR, IN_NEXT

# Columns of the manifold record, per runner and per collector.
M_P, M_T, M_IN_FLOW, M_OUT_FLOW, M_INTAKE_FLOW = range(5)
N_MANIFOLD = 5
# Columns of the record of a cylinder that breathes; without a volume where it does not.
G_ANGLE, G_P, G_T, G_V, G_M = range(5)
N_BREATHING = 5


@compiled
def keep_step(engine, S, L, local, open_, manifold, breathing):
    """Write the state at the start of a step to its rows of the records."""
    n = engine.cylinders
    for v in range(n, 2 * n + engine.collectors):
        m = manifold[v - n]
        m[M_P], m[M_T] = S[0, v, ex.S_P], S[0, v, ex.S_T]
        if v < 2 * n:
            m[M_IN_FLOW], m[M_OUT_FLOW], m[M_INTAKE_FLOW] = L[v, ex.L_F0], L[n + v, ex.L_F0], L[v - n, ex.L_F0]
        else:
            lt = 3 * n + 2 * (v - 2 * n)
            m[M_IN_FLOW], m[M_OUT_FLOW] = L[lt, ex.L_F0], L[lt + 1, ex.L_F0]
    for j in range(n):
        b, state = breathing[j], S[0, j]
        b[G_V] = 0.0
        if open_[j]:
            b[G_ANGLE], b[G_P], b[G_T], b[G_V] = local[j], state[ex.S_P], state[ex.S_T], state[ex.S_V]
            b[G_M] = state[ex.S_P] * state[ex.S_V] / (state[ex.S_R] * state[ex.S_T])


@allocating
def whole(engine, inputs, desk, steps, row):
    """Make the records of the first `steps` those of a whole cycle, and put the crank record of cylinder 1 together.

    Where a march goes from one firing to the next, all cylinders alike, cylinder 1 does later what the one before it does now.

    row : first row of the crank record after those of the closed part
    """
    n, manifold, record = engine.cylinders, desk.manifold_record, desk.record
    before = np.empty(n, np.int64)
    for j in range(n):
        before[int(inputs[j, IN_NEXT])] = j
    does = np.arange(n)  # cylinder whose steps of this march are those of cylinder j in this part of the cycle
    for first in range(0, manifold.shape[0], steps):
        for i in range(steps):
            b = desk.breathing[i, does[0]]
            if b[G_V] > 0.0 and row < record.shape[0]:
                r = record[row]
                r[closed.R_ANGLE], r[closed.R_P], r[closed.R_T] = b[G_ANGLE], b[G_P], b[G_T]
                r[closed.R_TU], r[closed.R_TB], r[closed.R_X], r[closed.R_V] = b[G_T], 0.0, 0.0, b[G_V]
                r[closed.R_M] = b[G_M]
                row += 1
            if first > 0:
                _copy(engine, inputs, manifold[i], manifold[first + i], does)
        for j in range(n):
            does[j] = before[does[j]]
    while row < record.shape[0] and record[row, closed.R_P] != 0.0:  # what a longer one left
        record[row, closed.R_P] = 0.0
        row += 1


@compiled
def _copy(engine, inputs, now, later, does):
    """What passes in the manifold now, as what passes later, when each cylinder does what another did."""
    n = engine.cylinders
    for j in range(n):
        a, b = n + int(inputs[j, IN_COLLECTOR]), n + int(inputs[does[j], IN_COLLECTOR])
        for k in range(N_MANIFOLD):
            later[j, k] = now[does[j], k]
            later[a, k] = now[b, k]
