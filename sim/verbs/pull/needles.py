"""Each needle through the pull: what it would settle at, and how far behind that its lag keeps it."""

from typing import NamedTuple

import numpy as np

from ...case import Case
from ...probes import settled, thermocouple
from ...records import Array
from .grid import Point
from .motion import Motion
from .walls import Warmth


class Needle(NamedTuple):
    """One needle at the speeds that are reported; SI."""

    held: Array  # what it would show were the speed held until probe and walls have settled
    now: Array  # what it would settle at with the gas and walls of this moment
    shown: Array
    lag: Array  # its time constant [s]


def probe_needles(case: Case, points: list[Point], motion: Motion, warmth: Warmth, times: Array) -> list[Needle]:
    """The needle of every probe at some times of the pull."""
    assert case.pull is not None
    return [_probe(case, k, points, motion, warmth, times) for k in range(len(case.probe))]


def _probe(case: Case, k: int, points: list[Point], motion: Motion, warmth: Warmth, times: Array) -> Needle:
    """Settled readings recomputed beside the walls of the pull; then a first-order lag, the junction's own."""
    assert case.pull is not None
    thermo = thermocouple(case.probe[k])
    shown, lag = [], []
    for point, wall, lacking in zip(points, warmth.wall, warmth.gas_deficit, strict=True):
        place = point.streams[k]
        cooler = place._replace(temperature=place.temperature - lacking[place.row], wall=float(wall[place.row]))
        found, ripple = settled(thermo, cooler)
        shown.append(float(ripple.mean()))
        lag.append(float(found.time_constant))
    held = [point.prediction.probes[k]["reading_k"] for point in points]
    return _followed(points, motion, times, held, shown, lag, case.pull.cruise_reading)


def tap_needle(points: list[Point], motion: Motion, times: Array) -> Needle:
    """The pressure gauge behind its tube; it starts where the first speed settles."""
    rows = [point.prediction.pressure_tap for point in points]
    level = [row["reading_pa"] for row in rows if row is not None]
    lag = [row["lag_s"] for row in rows if row is not None]
    return _followed(points, motion, times, level, level, lag, level[0])


def _followed(
    points: list[Point],
    motion: Motion,
    times: Array,
    held: list[float],
    now: list[float],
    lag: list[float],
    start: float,
) -> Needle:
    """First-order lag behind a level that moves with speed, integrated in time."""
    from scipy.integrate import solve_ivp
    from scipy.interpolate import PchipInterpolator

    speeds = np.array([point.speed for point in points])
    level, slow, settled_at = (PchipInterpolator(speeds, values) for values in (now, lag, held))

    def rate(time: float, shown: Array) -> Array:
        speed = motion.speed_at(time)
        return (level(speed) - shown) / slow(speed)

    found = solve_ivp(rate, (0.0, motion.duration), [start], t_eval=times, method="LSODA", rtol=1e-6, atol=1e-3)
    at = np.interp(times, motion.time, motion.speed)
    return Needle(settled_at(at), level(at), found.y[0], slow(at))
