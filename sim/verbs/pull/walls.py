"""The manifold's walls through the pull, from where the cruise left them, and what the gas lacks beside them."""

from typing import Any, NamedTuple

import numpy as np

from ....models import manifold, warming
from ...case import Case
from ...records import Array
from .grid import Point, Walls, along
from .motion import Motion


class Warmth(NamedTuple):
    """Every wall at the solved speeds: (points, runners then collectors)."""

    start: Array  # when the throttle opens, one row [K]
    wall: Array  # as the pull finds it [K]
    gas_deficit: Array  # what the gas there is cooler by than beside settled walls [K]


def warm(case: Case, points: list[Point], motion: Motion) -> Warmth:
    """Walls and gas at the time each solved speed is passed."""
    assert case.pull is not None
    start = begin(case, points[0])
    passed = motion.time_of(np.array([point.speed for point in points]))
    held = case.pull.wall == "held"
    wall = np.tile(start, (len(points), 1)) if held else _warmed(case, points, motion, start, passed)
    lacking = [deficits(point.walls, now)[1] for point, now in zip(points, wall, strict=True)]
    return Warmth(start, wall, np.array(lacking))


def begin(case: Case, first: Point) -> Array:
    """Walls at the cruise [K]: given, or as far between bay air and probe as at the pull's first speed."""
    assert case.pull is not None
    settled = first.walls.settled
    if case.pull.cruise_wall is not None:
        return np.full_like(settled, case.pull.cruise_wall)
    bay = bay_of(case)
    reading = max((p["reading_k"] for p in first.prediction.probes), default=float(settled.max()))
    share = (settled - bay) / (reading - bay)
    return np.minimum(bay + share * (case.pull.cruise_reading - bay), settled)


def bay_of(case: Case) -> float:
    """Air around the manifold [K]."""
    from ...standins import BAY_RISE

    return case.ambient.temperature + BAY_RISE


def deficits(walls: Walls, now: Array) -> tuple[Array, Array]:
    """What gas that comes in, and the gas of each volume, lacks beside walls at these temperatures [K].

    A runner is fed by its cylinder, whose gas lacks nothing; a collector by the mean of its runners.
    """
    lacks = walls.settled - now
    own = warming.deficit(walls.share, np.zeros_like(now), lacks)
    inlet = np.zeros_like(now)
    for c in np.flatnonzero(walls.feeds < 0):
        inlet[c] = own[walls.feeds == c].mean()
    return inlet, warming.deficit(walls.share, inlet, lacks)


def _smooth(points: list[Point], name: str) -> Any:
    """A column of the walls as a function of speed [rad/s]."""
    return along(points, lambda point: getattr(point.walls, name))


def _warmed(case: Case, points: list[Point], motion: Motion, start: Array, passed: Array) -> Array:
    """March the walls in time: heat from the gas, loss to the bay, heat capacity of their metal."""
    from scipy.integrate import solve_ivp

    assert case.pull is not None
    exhaust, bay = case.exhaust, bay_of(case)
    fixed = points[0].walls
    capacity = warming.HEAT_CAPACITY * case.pull.wall_thickness * fixed.outside / exhaust.outer_area_ratio
    smooth = {name: _smooth(points, name) for name in ("h_area", "gas", "settled", "share")}

    def rate(time: float, now: Array) -> Array:
        speed = motion.speed_at(time)
        walls = fixed._replace(**{name: f(speed) for name, f in smooth.items()})
        inlet, _ = deficits(walls, now)
        gain = warming.heat_in(walls.h_area, walls.gas, walls.settled, now, walls.share, inlet)
        flux = [
            manifold.outside_loss(float(t), bay, exhaust.outer_emissivity, exhaust.outer_coefficient)[0] for t in now
        ]
        return (gain - fixed.outside * np.array(flux)) / capacity

    found = solve_ivp(rate, (0.0, motion.duration), start, t_eval=passed, rtol=1e-5, atol=1e-2)
    return np.asarray(found.y.T)
