"""Points begun where their neighbours ended: most of a cold start's marches are saved, the answer is the same.

What a neighbour hands over is its settled state, or what lies beyond it on the line or parabola through others, and what its
marches taught about how a change dies away. Where there is little power to spare only a cold start can tell how a point ends, since the
first balance met from below decides there; so it is where the neighbour's way does not lead to rest.
"""

from __future__ import annotations

import math
from itertools import accumulate
from typing import Any, NamedTuple

import numpy as np

from ..models.compiled import compiled, inlined
from . import closed, surroundings
from . import exchange as ex
from .balance import SETTLED, WASTEGATE
from .mixing import Mix, again
from .records import C_T, IN_H, IN_OFFSET, KEPT_ALIGHT, KEPT_LEFT, Array, K
from .settle import CONVERGED, Broken, March
from .setup import Setup
from .surroundings import (
    SET_BOOST,
    TURBO,
    Z_AIR,
    Z_CYCLES,
    Z_EXHAUST,
    Z_INTAKE,
    Z_OUTLET,
    Z_STATUS,
    Z_V4,
    Z_WASTE,
    Plant,
)  # fmt: skip

MARCHES = 24.0  # granted to a point begun near another, before it is begun from cold
COLDEST = 200.0  # of gas in a volume, for a beginning [K]
STRAIGHT = 0.05  # how far off the line through two points a third may lie, as a share of its way, to be put on it
FAR = 2.0  # the most it may lie beyond them, in ways from one to the other
# Points that one is begun from: in fine maps a line took three marches, the parabola takes two, a cubic more again, since what each
# neighbour's tolerance leaves is told more strongly.
MOST = 3
APART = 0.25  # how far each of them lies from the one before at least, in ways from the nearest to the new one
ENDLESS = 1e30  # stands for what is unknown or without a bound
MOVED = [Z_AIR, Z_EXHAUST, Z_OUTLET, Z_V4, Z_WASTE]  # what of z lies on the line too


class Footing(NamedTuple):
    """Where a settled point stood."""

    plant: Plant
    shapes: tuple[tuple[int, ...], ...]  # of the parts of its state
    state: Array  # what is handed from march to march, what the last cycle gave, and z, in one row
    mix: Mix
    working: tuple[Array, ...]  # what a march finds on its desk


class Near(NamedTuple):
    """Points solved before, near the one to be solved: the nearest, then others on its line; and what each counts for."""

    feet: tuple[Footing, ...]
    weights: tuple[float, ...] = (1.0,)


def _state(march: March) -> tuple[Array, ...]:
    return (*march.memory, march.desk.before, march.z)


def _working(march: March) -> tuple[Array, ...]:
    return (march.desk.stream, march.desk.states)


def _parts(row: Array, shapes: tuple[tuple[int, ...], ...]) -> tuple[Array, ...]:
    """The parts of a state in one row, as views of it."""
    ends = list(accumulate(map(math.prod, shapes)))
    return tuple(row[end - math.prod(s) : end].reshape(s) for end, s in zip(ends, shapes, strict=True))


def footing(march: March) -> Footing | None:
    """What a solved point can hand to its neighbours; None where it is no guide."""
    plant = march.setup.plant
    follows_boost = plant.kind != TURBO or plant.gate_model == SET_BOOST
    if march.ended != CONVERGED or not march.mixing or not follows_boost:
        return None
    state = _state(march)
    return Footing(
        plant,
        tuple(a.shape for a in state),
        np.concatenate([a.ravel() for a in state]),
        Mix(*(a.copy() for a in march.job.mix)),
        tuple(a.copy() for a in _working(march)),
    )


def settle_near(march: March, near: Near) -> bool:
    """Solve the point of a new march from its neighbours; False where that tells nothing."""
    if not all(_resembles(march, foot) for foot in near.feet):
        return False
    _take(march, near)
    plant, z = march.setup.plant, march.z
    try:
        end = march.run(WASTEGATE, cycles=MARCHES / plant.parts, fresh=False)
    except Broken:
        return False
    if end != SETTLED or march.scarce() or z[Z_STATUS] != closed.DONE or march.draws_nothing() or march.beyond_tables():
        return False
    march.ended = CONVERGED
    return True


def _resembles(march: March, last: Footing) -> bool:
    p, q = march.setup.plant, last.plant
    same_shape = last.shapes == tuple(a.shape for a in _state(march))
    return same_shape and (p.kind, p.parts, p.gate_model) == (q.kind, q.parts, q.gate_model)


def _take(march: March, near: Near) -> None:
    """Take over a neighbour's state, or what lies on the line through several, and what its marches taught."""
    last, plant, z = near.feet[0], march.setup.plant, march.z
    state = _parts(_gone_on(near, plant), last.shapes)
    for to, of in zip(
        (*_state(march), *march.job.mix, *_working(march)), (*state, *last.mix, *last.working), strict=True
    ):
        to[:] = of
    again(march.job.mix)
    march.desk.stream[:, ex.I_STALE] = 1.0
    z[Z_CYCLES] = 0.0
    z[Z_INTAKE] = plant.intake_pressure
    if plant.kind != TURBO:
        z[Z_OUTLET] = plant.exhaust_pressure if plant.kind == surroundings.BENCH else plant.ambient_pressure


def _gone_on(near: Near, plant: Plant) -> Array:
    """The nearest's state moved along the line, unless that leads out of the physical: with what the first change is held against."""
    last = near.feet[0]
    row = np.asarray(near.weights) @ np.array([foot.state for foot in near.feet])
    content, kept, _, _, z = _parts(row, last.shapes)
    was = _parts(last.state, last.shapes)
    if content[:, :K].min() < 0.0 or content[:, C_T].min() < COLDEST or z[Z_AIR] <= 0.0:
        return last.state
    if kept[:, :K].min() < 0.0 or kept[:, KEPT_LEFT].min() < 0.0:
        kept[:] = was[1]
    kept[:, KEPT_ALIGHT] = was[1][:, KEPT_ALIGHT]
    moved = z[MOVED]
    z[:] = was[-1]
    z[MOVED] = moved
    z[Z_WASTE] = min(max(z[Z_WASTE], 0.0), plant.wastegate_area)
    return row


def numbers(setup: Setup) -> Array:
    """Everything that can tell two set-ups of an engine apart, as one row of numbers."""
    found: list[float] = []
    _flatten((setup.engine, setup.plant, setup.machine), found)
    given = setup.inputs[:, IN_OFFSET:IN_H]
    row = np.concatenate((found, given.ravel(), setup.areas.sum(axis=1), setup.chart.ravel()[:1]))
    row[~(np.abs(row) < ENDLESS)] = ENDLESS  # one with itself
    return row


def _flatten(values: Any, found: list[float]) -> None:
    for value in values:
        if type(value) is float:
            found.append(value)
        elif isinstance(value, tuple):
            _flatten(value, found)
        elif isinstance(value, np.ndarray):
            found.append(float(value.sum()))  # of a map, what tells it from another
        else:
            found.append(float(value))


@inlined
def product(a, b, c, d, scale):
    """Of the way from a to b and the way from c to d, each in shares of a scale."""
    total = 0.0
    for i in range(scale.size):
        unit = abs(scale[i]) + 1e-30
        total += (b[i] - a[i]) / unit * ((d[i] - c[i]) / unit)
    return total


@compiled
def on_line(places, count, place, chosen, at, weights):
    """Which of the first points a new one is begun from, the nearest and others on the line from it; returns how many.

    places : float64[n, m], of points solved before, the oldest first; count : int, how many of them
    place : float64[m], of the new point
    chosen : int64[MOST], written: their rows
    at : float64[MOST], written: where on the line they lie, the nearest at 0 and the new point at 1
    weights : float64[MOST], written: what each counts for at the new point, by the polynomial through them all (Lagrange)
    Ways are measured in shares of the new point's numbers.
    """
    nearest, least = 0, math.inf
    for i in range(count):
        far = product(places[i], place, places[i], place, place)
        if far <= least:
            nearest, least = i, far
    chosen[0], at[0], found = nearest, 0.0, 1
    for i in range(count - 1, -1, -1):
        if i == nearest or found == MOST:
            continue
        size = product(places[i], places[nearest], places[i], places[nearest], place)
        along = product(places[i], places[nearest], places[nearest], place, place)
        stride = along / size if size > 0.0 else 0.0
        off = least - stride * along  # square of the way off the line
        if 0.0 < stride <= FAR and off <= STRAIGHT * STRAIGHT * least and -1.0 / stride < at[found - 1] - APART:
            chosen[found], at[found] = i, -1.0 / stride
            found += 1
    for i in range(found):
        weights[i] = 1.0
        for j in range(found):
            if j != i:
                weights[i] *= (1.0 - at[j]) / (at[i] - at[j])
    return found


class Trail:
    """The last points solved, each to begin its neighbours from; what a point takes depends on these alone."""

    def __init__(self, length: int = 32) -> None:
        self.length = length
        self.places = np.empty((0, 0))
        self.feet: list[Footing] = []

    def near(self, place: Array) -> Near | None:
        """The neighbours of a new point, given its `numbers`; None where there are none yet."""
        if self.places.shape[1] != place.size:
            return None
        chosen, (at, weights) = np.zeros(MOST, np.int64), np.zeros((2, MOST))
        count = on_line(self.places, len(self.feet), place, chosen, at, weights)
        return Near(tuple(self.feet[i] for i in chosen[:count]), tuple(weights[:count].tolist()))

    def add(self, place: Array, march: March) -> None:
        """Keep a solved point, unless it is no guide."""
        foot = footing(march)
        if foot is None:
            return
        if self.places.shape[1] != place.size:  # another engine
            self.places, self.feet = np.empty((self.length, place.size)), []
        if len(self.feet) == self.length:
            self.places[:-1] = self.places[1:]
            self.feet.pop(0)
        self.places[len(self.feet)] = place
        self.feet.append(foot)
