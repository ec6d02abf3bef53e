"""What the speed lines of measured maps have in common: when two speeds are one line, and what no line can look like."""

import numpy as np

SAME_SPEED = 5e-3  # speeds closer than this are one line: sheets round
SAME_EFFICIENCY = 2e-3  # of a point given twice
DIP, LEAP = 0.03, 0.20  # a single point that far below or above both of its neighbours is a slip of the pen


def odd_efficiency(values: np.ndarray) -> str:
    """A clause where one point of a line lies below or far above both of its neighbours: along a line efficiency has one hill.

    values : float array (n,), efficiency along a speed line [-]
    Returns clause, empty where nothing is odd [-].
    """
    for a, here, b in zip(values[:-2], values[1:-1], values[2:], strict=True):
        if here < min(a, b) - DIP or here > max(a, b) + LEAP:
            return f"goes from {100.0 * a:.3g} % to {100.0 * here:.3g} % and back to {100.0 * b:.3g} %"
    return ""
