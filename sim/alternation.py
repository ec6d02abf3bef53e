"""Points whose cycles go to and fro between two answers: recognised, settled where that can be, else told as both.

Seen plainly, one cycle after another, such a point changes its sign with every cycle. Two kinds:

* The loop around the cycle overshoots: what the last cycle drew decides what the next one finds (a wheel past its choke line, whose
  efficiency falls steeply with flow), and the answer between the two is as good as any. Starting each cycle between the last start
  and its end, at the place the ratio of two changes points to, brings it to rest. A cycle is not changed by that, only its start.
* The engine itself alternates: a cycle that burns badly leaves fuel and fresh air for the next, which burns well. No start settles it.
  Both answers are then real, and the sentence the user reads gives both.
"""

from typing import TYPE_CHECKING, NamedTuple

import numpy as np

from .closed import O_PEAK_P
from .records import Array
from .surroundings import Z_AIR, Z_CHANGE, Z_MASS

if TYPE_CHECKING:
    from .settle import March

WATCHED = 8  # plain cycles looked at
CALMED = 80  # cycles granted to the way in between
DEEP = 0.1  # share of the tolerance to which a calmed point comes to rest
OPPOSITE = -0.9  # cosine of two changes from which on they count as to and fro
STRONG = -0.2  # ratio of two changes: weaker ones die away by themselves
APART = 1e-3  # change from cycle to cycle above which two answers are two [-]
SAME = 0.05  # states two cycles apart differ by less than this share of what one cycle changes: a true two-cycle


class Pair(NamedTuple):
    """What two cycles in turn gave, for the sentence the user reads."""

    air: tuple[float, float]  # [kg/s]
    peak: tuple[float, float]  # highest cylinder pressure [Pa]


def ratio(changes: list[Array]) -> float | None:
    """Ratio of the last change to the one before where they point to opposite sides, else None."""
    if len(changes) < 2:
        return None
    before, now = changes[-2], changes[-1]
    size = float(np.linalg.norm(before)) * float(np.linalg.norm(now))
    product = float(before @ now)
    if size <= 0.0 or product > OPPOSITE * size:
        return None
    found = product / float(before @ before)
    return found if found < STRONG else None


def calmed(march: "March", goal: float, slow: float, share: float = 1.0) -> float:
    """The share of the way at which cycles start in between when a point that alternates comes to rest, where the march then stands.

    share : with which to begin, where one is known; 1 lets it swing first
    Returns 0 where it finds no rest.
    """
    changes: list[Array] = []
    for i in range(WATCHED + CALMED):
        march.whole_cycle()
        deep = DEEP if share < 1.0 else 1.0  # left to itself it swings wider again in the cycle that is read
        if i > 0 and march.z[Z_CHANGE] < deep * goal and abs(march.z[Z_MASS]) < deep * slow:
            return share
        changes.append(march.moved())
        found = ratio(changes)
        if found is not None:
            share = min(share, 1.0 / (1.0 - found))
        if i >= WATCHED and share == 1.0:
            return 0.0  # it does not alternate: something else keeps it from rest
        if share < 1.0:
            march.back(share)
            changes.clear()  # taken from other starts, they say nothing about the next
    return 0.0


def pair(march: "March") -> Pair | None:
    """What two cycles in turn give where every second one repeats and neighbours do not, else None."""
    before, last = np.zeros(0), (0.0, 0.0)
    for i in range(CALMED):
        march.whole_cycle()
        moved, now = march.moved(), (float(march.z[Z_AIR]), float(march.desk.outs[:, O_PEAK_P].max()))
        apart = i > 0 and march.z[Z_CHANGE] > APART
        if apart and float(np.linalg.norm(moved + before)) < SAME * float(np.linalg.norm(moved)):
            return Pair(*zip(last, now, strict=True))
        before, last = moved, now
    return None
