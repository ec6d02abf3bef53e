"""Limits that have a formula of their own: a valve held by its spring, the bad cycle among many."""

import math
from statistics import NormalDist


def seat_force(behind: float, before: float, diameter: float) -> float:
    """Force of the gas that lifts a shut poppet valve off its seat, a balance of pressures on the head.

    The stem is left out: it shields a few per cent of the head from the port, so that the force comes out a little high.

    behind : float, pressure in the port, on the back of the head [Pa]
    before : float, pressure in the cylinder, on its face [Pa]
    diameter : float, head diameter at the seat [m]
    Returns the force, negative where the gas holds the valve shut [N].
    """
    return (behind - before) * math.pi / 4.0 * diameter**2


def deviations(share: float) -> float:
    """How many standard deviations early a cycle is that only a share of all cycles beats, taken as normally distributed.

    share : float, share of cycles that are earlier still, above 0 and below 1 [-]
    Returns standard deviations, 2.33 for one in a hundred [-].
    """
    return -NormalDist().inv_cdf(share)
