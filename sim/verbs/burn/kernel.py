"""The inverse of the closed part, compiled: the burning rate with which the march's own step ends at a measured pressure.

It calls `zones.step`, so that wall heat, zones, equilibrium and leak are the march's; nothing of the physics stands here again.
"""

import numpy as np

from ....models import gas, geometry
from ....models.compiled import allocating, compiled
from ...zones import HEAT, MB, MU, N_STATE, RAPID, TB, TU, WAITING, P, crank, light, step

ROW_BURNED, ROW_TU, ROW_TB, ROW_HEAT, ROW_P = range(5)  # columns of what is written
N_ROW = 5
CLOSE = 1e-10  # of the pressure, to which a step is matched [-]
MOST = 12  # trials of a step
GROWTH = (
    2.0  # most that may burn in a step, in masses of burned gas: a zone that noise keeps tiny would leave the physical
)
LEAST_LEFT = 1e-4  # of the charge that stays unburned, so that the zone does not vanish [-]


@allocating
def compression(engine, charge, blend, plane, start, width, p, mass, line):
    """Pressure of the charge compressed without burning, from p at `start` on; fills `line`, float64[n] [Pa]."""
    work, given = np.zeros((5, N_STATE)), np.zeros(1)
    state = np.zeros(N_STATE)
    state[P], state[MU] = p, mass
    state[TU] = p * geometry.volume(engine.geo, start)[0] / (mass * charge.r_u)
    line[0] = p
    at = crank(engine, charge, start)
    for k in range(line.size - 1):
        at = one_step(engine, charge, blend, plane, given, start + k * width, at, width, state, np.int64(WAITING), work)
        line[k + 1] = state[P]


@allocating
def burned(engine, charge, blend, plane, start, width, pressure, mass, rows):
    """Mass burned at each angle, from a measured pressure.

    engine, charge : Engine, Charge with its model GIVEN
    blend, plane : unburned and burned gas of the charge
    start, width : float, local crank angle of the first pressure, and between two [deg]
    pressure : float64[n], measured [Pa]
    mass : float, trapped [kg]
    rows : float64[n, N_ROW], written: mass burned [kg], zone temperatures [K], heat to the walls since the start [J],
        pressure that was reached [Pa]: another than the measured where nothing could burn so fast, or unburn
    Returns whether every state was physical.
    """
    work, given = np.zeros((5, N_STATE)), np.zeros(1)
    state, trial = np.zeros(N_STATE), np.zeros(N_STATE)
    state[P], state[MU] = pressure[0], mass
    state[TU] = pressure[0] * geometry.volume(engine.geo, start)[0] / (mass * charge.r_u)
    light(engine, charge, blend, plane, state)
    least = 0.5 * state[MB]
    write(rows, 0, state)
    at = crank(engine, charge, start)
    for k in range(pressure.size - 1):
        angle = start + k * width
        low = (least - state[MB]) / width
        high = max(min(state[MU] - LEAST_LEFT * mass, GROWTH * state[MB]) / width, low)
        given[0] = matched(
            engine, charge, blend, plane, angle, at, width, state, pressure[k + 1], low, high, mass, given, trial, work
        )
        at = one_step(engine, charge, blend, plane, given, angle, at, width, state, np.int64(RAPID), work)
        if not (state[P] > 0.0 and state[TU] > 0.0 and state[TB] > 0.0):
            return False
        write(rows, k + 1, state)
    return True


@compiled
def one_step(engine, charge, blend, plane, given, angle, at, width, state, phase, work):
    """The march's step, compiled once for all that take it here."""
    return step(engine, charge, blend, plane, given, angle, at, width, state, phase, np.int64(gas.ANYWHERE), work)


@compiled
def write(rows, k, state):
    """Keep what a step came to."""
    rows[k, ROW_BURNED], rows[k, ROW_TU], rows[k, ROW_TB] = state[MB], state[TU], state[TB]
    rows[k, ROW_HEAT], rows[k, ROW_P] = state[HEAT], state[P]


@compiled
def miss(engine, charge, blend, plane, angle, at, width, state, target, rate, given, trial, work):
    """Pressure over the target after a step at a burning rate [Pa]; the state is left as it is."""
    for i in range(N_STATE):
        trial[i] = state[i]
    given[0] = rate
    one_step(engine, charge, blend, plane, given, angle, at, width, trial, np.int64(RAPID), work)
    return trial[P] - target


@compiled
def matched(engine, charge, blend, plane, angle, at, width, state, target, low, high, mass, given, trial, work):
    """Burning rate [kg/deg] with which a step ends at the target, within low and high: pressure is all but linear in it."""
    a = min(max(given[0], low), high)
    at_a = miss(engine, charge, blend, plane, angle, at, width, state, target, a, given, trial, work)
    b = min(a + 1e-3 * mass, high) if a < high else a - 1e-3 * mass
    for _ in range(MOST):
        b = min(max(b, low), high)
        at_b = miss(engine, charge, blend, plane, angle, at, width, state, target, b, given, trial, work)
        if not abs(at_b) > CLOSE * target or at_b == at_a:
            break
        a, at_a, b = b, at_b, b - at_b * (b - a) / (at_b - at_a)
    return min(max(b, low), high)
