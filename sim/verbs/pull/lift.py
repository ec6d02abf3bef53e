"""The needle's value at which to lift: what it shows when the settled reading is at its ceiling."""

from typing import NamedTuple

import numpy as np

from ...records import Array
from .needles import Needle

REACTION = 0.7  # from the needle's reaching a mark to the throttle's shutting; common practice, no source [s]


class Lift(NamedTuple):
    """Where the needle stands when the probe's settled reading meets its ceiling."""

    value: float  # [K]
    backed_off: float  # less tolerance class and what the needle climbs in the time of reaction [K]
    speed: float  # at which that is [rad/s]
    reached: bool  # whether the settled reading gets to the ceiling in this pull
    by_speed: Array  # the same value for every reported speed, were the ceiling met there [K]


def lift(needle: Needle, times: Array, speeds: Array, ceiling: float, tolerance: float) -> Lift:
    """Lift value of one probe.

    Where the settled reading passes the ceiling, the needle's value at that moment; else where it comes nearest, the
    ceiling less the lag of that moment.
    """
    behind = needle.held - needle.shown
    by_speed = ceiling - behind
    past = np.flatnonzero(needle.held >= ceiling)
    reached = len(past) > 0
    where = _crossing(needle.held, ceiling, int(past[0])) if reached else float(np.argmax(needle.held))
    steps = np.arange(len(times))
    value = float(np.interp(where, steps, by_speed))
    climb = max(float(np.interp(where, steps, np.gradient(needle.shown, times))), 0.0)
    return Lift(value, value - tolerance - REACTION * climb, float(np.interp(where, steps, speeds)), reached, by_speed)


def _crossing(held: Array, ceiling: float, first: int) -> float:
    """Step at which a level first meets the ceiling, with its fraction."""
    if first == 0:
        return 0.0
    before, after = float(held[first - 1]), float(held[first])
    return first - 1 + (ceiling - before) / (after - before)
