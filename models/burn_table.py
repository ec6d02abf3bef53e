"""A measured burn as the march reads it: places along Wiebe's curve against crank angle, packed beside the records.

Any burned fraction x has its place y on Wiebe's curve; a table of x against crank angle is a table of y, and a flame's y is the
smoother of the two. The march then burns what is left at the rate of the table, so that gas lost past the rings does not burn.
"""

import numpy as np
from numpy.typing import NDArray

from .compiled import compiled

NONE = np.zeros(0)  # where no table is given
SPACING = 0.5  # between nodes [deg]
LONGEST = 10.0  # way up to the first node, in which the burn comes up to it evenly, at its rate there [deg]
FIRST, STEP, AHEAD, NODES = range(4)  # of a packed table; from NODES on place and slope in turn


def packed(
    angle: NDArray[np.float64], place: NDArray[np.float64], begins: float, half: float
) -> tuple[NDArray[np.float64], float]:
    """A table on even nodes, its angles counted from where half is burned; curves between points are Fritsch & Carlson's (1980).

    angle : float64[n], crank angle, rising [deg]
    place : float64[n], place along Wiebe's curve, from 0 up, never falling [-]
    begins : float, place at which the second zone opens, the table's first node [-]
    half : float, place of half burned [-]
    Returns (table, crank angle of half burned [deg]), the table float64[3 + 2 m]: first node [deg], spacing [deg], approach to
    the first node [deg], then place [-] and slope [1/deg] of each node.
    Raises ValueError where the places do not go from 0 past the half.
    """
    from scipy.interpolate import PchipInterpolator  # takes longer to import than a curve takes to solve

    if place[0] > begins or place[-1] <= half:
        raise ValueError("does not go from nothing burned past half burned")
    curve = PchipInterpolator(angle, place)
    fine = np.linspace(angle[0], angle[-1], max(2, int(np.ceil((angle[-1] - angle[0]) / 0.01))))
    along = curve(fine)
    first, middle = (float(np.interp(goal, along, fine)) for goal in (begins, half))
    count = max(2, int(np.ceil((angle[-1] - first) / SPACING)) + 1)
    nodes = np.linspace(first, angle[-1], count)
    along, rise = curve(nodes), np.diff(curve(nodes)) / (nodes[1] - nodes[0])
    # beyond three times the lesser rise beside a node a cubic turns back, as Fritsch & Carlson show
    steepest = 3.0 * np.minimum(np.append(rise[0], rise), np.append(rise, rise[-1]))
    rows = np.column_stack((along, np.clip(curve.derivative()(nodes), 0.0, steepest)))
    ahead = begins / max(rows[0, 1], begins / LONGEST)
    rows[0] = begins, begins / ahead
    return np.concatenate(([first - middle, nodes[1] - nodes[0], ahead], rows.ravel())), middle


@compiled
def rate(table, angle):
    """Progress along Wiebe's curve at a crank angle.

    table : array (3 + 2 m,), as `packed` gives it [deg, -, 1/deg]
    angle : float, crank angle from where the table has half burned [deg]
    Returns the progress; none after the last node [1/deg].
    """
    along = (angle - table[FIRST]) / table[STEP]
    if along < 0.0:
        return table[NODES + 1]
    k = int(along)
    if NODES + 2 * k + 3 >= table.shape[0]:
        return 0.0
    t = along - k
    y0, d0, y1, d1 = table[NODES + 2 * k], table[NODES + 2 * k + 1], table[NODES + 2 * k + 2], table[NODES + 2 * k + 3]
    return 6.0 * t * (1.0 - t) * (y1 - y0) / table[STEP] + (1.0 - t) * (1.0 - 3.0 * t) * d0 + t * (3.0 * t - 2.0) * d1
