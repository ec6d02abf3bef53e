"""Points begun where their neighbours ended: most of a cold start's marches are saved, the answer is the same.

What a neighbour hands over is its settled state, or what lies beyond it on the line or parabola through others, and what its
marches taught about how a change dies away. Where there is little power to spare only a cold start can tell how a point ends, since the
first balance met from below decides there; so it is where the neighbour's way does not lead to rest.
"""

from __future__ import annotations

import math
from collections.abc import Iterable
from typing import Any, NamedTuple

import numpy as np

from . import closed, surroundings
from . import exchange as ex
from .balance import SETTLED, WASTEGATE
from .mixing import Mix, again
from .records import C_T, IN_H, IN_OFFSET, KEPT_ALIGHT, KEPT_LEFT, Array, K, Memory
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
MOST = (
    3  # points that one is begun from: a parabola leaves less than a march that is read may change; a cubic adds noise
)
APART = 0.25  # how far each of them lies from the one before at least, in ways from the nearest to the new one
FAR = 2.0  # the most it may lie beyond them, in ways from one to the other


class Footing(NamedTuple):
    """Where a settled point stood."""

    plant: Plant
    memory: Memory
    mix: Mix
    working: tuple[Array, ...]  # what a march finds on its desk
    before: Array  # what its last cycle gave
    z: Array


class Near(NamedTuple):
    """Points solved before, near the one to be solved: the nearest, then others on its line; and what each counts for."""

    feet: tuple[Footing, ...]
    weights: tuple[float, ...] = (1.0,)


def _working(march: March) -> tuple[Array, ...]:
    desk = march.desk
    return (desk.stream, desk.states)


def footing(march: March) -> Footing | None:
    """What a solved point can hand to its neighbours; None where it is no guide."""
    plant = march.setup.plant
    follows_boost = plant.kind != TURBO or plant.gate_model == SET_BOOST
    if march.ended != CONVERGED or not march.mixing or not follows_boost:
        return None
    return Footing(
        plant,
        Memory(*(a.copy() for a in march.memory)),
        Mix(*(a.copy() for a in march.job.mix)),
        tuple(a.copy() for a in _working(march)),
        march.desk.before.copy(),
        march.z.copy(),
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
    same_shape = all(a.shape == b.shape for a, b in zip(march.memory, last.memory, strict=True))
    return same_shape and (p.kind, p.parts, p.gate_model) == (q.kind, q.parts, q.gate_model)


def _take(march: March, near: Near) -> None:
    """Take over a neighbour's state, or what lies on the line through several, and what its marches taught."""
    last, plant, z = near.feet[0], march.setup.plant, march.z
    mine = (*march.memory, *march.job.mix, *_working(march), march.desk.before, z)
    for to, of in zip(mine, (*last.memory, *last.mix, *last.working, last.before, last.z), strict=True):
        to[:] = of
    if len(near.feet) > 1:
        _go_on(march, near)
    again(march.job.mix)
    march.desk.stream[:, ex.I_STALE] = 1.0
    z[Z_CYCLES] = 0.0
    z[Z_INTAKE] = plant.intake_pressure
    if plant.kind != TURBO:
        z[Z_OUTLET] = plant.exhaust_pressure if plant.kind == surroundings.BENCH else plant.ambient_pressure


def _go_on(march: March, near: Near) -> None:
    """Move the state along the line, unless that leads out of the physical; and what its first cycle's change is held against."""

    def there(arrays: Iterable[Array]) -> Array:
        return np.asarray(sum(weight * array for weight, array in zip(near.weights, arrays, strict=True)))

    content, z = there(foot.memory.content for foot in near.feet), there(foot.z for foot in near.feet)
    if content[:, :K].min() < 0.0 or content[:, C_T].min() < COLDEST or z[Z_AIR] <= 0.0:
        return
    march.memory.content[:] = content
    march.memory.wall[:] = there(foot.memory.wall for foot in near.feet)
    kept = there(foot.memory.kept for foot in near.feet)
    if kept[:, :K].min() >= 0.0 and kept[:, KEPT_LEFT].min() >= 0.0:
        kept[:, KEPT_ALIGHT] = near.feet[0].memory.kept[:, KEPT_ALIGHT]
        march.memory.kept[:] = kept
    march.desk.before[:] = there(foot.before for foot in near.feet)
    for i in (Z_AIR, Z_EXHAUST, Z_OUTLET, Z_V4):
        march.z[i] = z[i]
    march.z[Z_WASTE] = min(max(z[Z_WASTE], 0.0), march.setup.plant.wastegate_area)


def numbers(setup: Setup) -> Array:
    """Everything that can tell two set-ups of an engine apart, as one row of numbers."""
    found: list[float] = []
    _flatten((setup.engine, setup.plant, setup.machine), found)
    given = setup.inputs[:, IN_OFFSET:IN_H]
    return np.nan_to_num(np.concatenate((found, given.ravel(), setup.areas.sum(axis=1), setup.chart.ravel()[:1])))


def _flatten(values: Any, found: list[float]) -> None:
    for value in values:
        if isinstance(value, tuple):
            _flatten(value, found)
        elif isinstance(value, np.ndarray):
            found.append(float(value.sum()))  # of a map, what tells it from another
        else:
            found.append(float(value))


def _weights(places: list[float]) -> tuple[float, ...]:
    """What points at places along a line count for at another, by the polynomial through them all (Lagrange)."""
    return tuple(
        math.prod((1.0 - other) / (place - other) for j, other in enumerate(places) if j != i)
        for i, place in enumerate(places)
    )


def _line(ways: Array, far: list[float], nearest: int) -> tuple[list[int], list[float]]:
    """Spots on the line from one of them to the new point, that one first, and where on it they lie: it at 0, the new point at 1."""
    way, feet, places = ways[nearest], [nearest], [0.0]
    before = ways - way
    along, sizes = (before @ way).tolist(), np.einsum("ij,ij->i", before, before).tolist()
    for i in range(len(far) - 1, -1, -1):
        if len(feet) == MOST:
            break
        if i == nearest or sizes[i] == 0.0:
            continue
        stride = along[i] / sizes[i]
        off = far[nearest] - stride * along[i]  # square of the way off the line
        if 0.0 < stride <= FAR and off <= STRAIGHT**2 * far[nearest] and -1.0 / stride < places[-1] - APART:
            feet.append(i)
            places.append(-1.0 / stride)
    return feet, places


class Trail:
    """The last points solved, each to begin its neighbours from; what a point takes depends on these alone."""

    def __init__(self, length: int = 32) -> None:
        self.length = length
        self.spots: list[tuple[Array, Footing]] = []

    def near(self, place: Array) -> Near | None:
        """The neighbours of a new point, given its `numbers`; None where there are none yet."""
        spots = [(at, foot) for at, foot in self.spots if at.shape == place.shape]
        if not spots:
            return None
        ways = (place - np.array([at for at, _ in spots])) / (np.abs(place) + 1e-30)
        far = np.einsum("ij,ij->i", ways, ways).tolist()
        nearest = min(range(len(spots)), key=lambda i: (far[i], -i))
        chosen, places = _line(ways, far, nearest)
        return Near(tuple(spots[i][1] for i in chosen), _weights(places))

    def add(self, place: Array, march: March) -> None:
        """Keep a solved point, unless it is no guide."""
        foot = footing(march)
        if foot is not None:
            self.spots = [*self.spots[-self.length + 1 :], (place, foot)]
