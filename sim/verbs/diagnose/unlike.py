"""Which of several cylinders departs from the others: each is as they are, or departs; every way is weighed.

Selection by evidence with a narrow and a wide prior for each (E. I. George & R. E. McCulloch, J. Am. Stat. Assoc. 88 (1993)
881, from memory). Where one departs, the others stay where a healthy engine's are and are what it is counted from; a mean or a
median of all would be drawn along with it.
"""

import math
from typing import NamedTuple

import numpy as np

from ...records import Array
from .unknowns import NORMAL_90

ALIKE = 0.005  # spread of fuel among cylinders that are called alike; common practice, no source
ODDS = 3.0  # to one, from which one explanation is named before another
SURE = ODDS / (1.0 + ODDS)  # the same as a chance
MOST = 10.0  # times its usual size, up to which a departure is asked whether it would be named


class Unlike(NamedTuple):
    """For each cylinder the chance that it departs, and by how much if it does; and whether any does."""

    chance: Array
    departure: Array  # share of fuel [-]
    spread: Array  # standard deviation of it [-]
    odds: float  # to one that none departs, of one that does whichever it is


def weighed(information: Array, push: Array, wide: Array) -> Unlike:
    """All ways in which some cylinders depart and the others do not, each by its evidence; all are as likely before.

    information : (n, n), of the departures, prior left out; push : (n,), information times what the data alone would say
    wide : (n,), standard deviations of cylinders that depart [-]
    """
    n = push.size
    ways = (np.arange(2**n)[:, None] >> np.arange(n)) & 1 == 1
    variance = np.where(ways, wide**2, ALIKE**2)
    precision = information + variance[:, :, None] ** -1 * np.eye(n)
    covariance = np.linalg.inv(precision)
    mean = covariance @ push
    evidence = 0.5 * mean @ push - 0.5 * np.linalg.slogdet(precision)[1] - 0.5 * np.log(variance).sum(axis=1)
    weight = np.exp(evidence - evidence.max())
    odds = float(weight[ways.sum(axis=1) == 1].mean() / max(weight[0], 1e-300))
    weight /= weight.sum()
    chance = weight @ ways
    share = weight[:, None] * ways / np.maximum(chance, 1e-300)
    departure = (share * mean).sum(axis=0)
    square = (share * (np.diagonal(covariance, axis1=1, axis2=2) + mean**2)).sum(axis=0)
    return Unlike(chance, departure, np.sqrt(np.maximum(square - departure**2, 0.0)), odds)


def named_from(information: Array, k: int, wide: Array) -> float:
    """Departure of cylinder k alone that would be named in 95 of 100 logs, in 93 where few others stand beside it [-]."""
    from scipy.optimize import brentq

    def short(departure: float) -> float:
        chance = weighed(information, information[:, k] * departure, wide).chance[k]
        return SURE - float(chance)

    most = MOST * float(wide[k])
    if short(most) > 0.0:
        return most
    return float(brentq(short, 0.0, most, xtol=1e-5)) + NORMAL_90 * _error(information, k)


def _error(information: Array, k: int) -> float:
    """Standard deviation with which cylinder k is known against the others, these being alike."""
    others = np.arange(len(information)) != k
    across = information[k, others]
    rest = information[np.ix_(others, others)] + np.eye(others.sum()) / ALIKE**2
    return 1.0 / math.sqrt(float(information[k, k] - across @ np.linalg.solve(rest, across)))
