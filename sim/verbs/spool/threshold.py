"""Boost threshold: the lowest speed whose steady boost is 90 % of the target."""

from ...case import Case
from ...steady import SolveError, predict
from ...units import RPM

SHARE = 0.9
LOWEST, NEAR = 800.0, 10.0  # speed from which it is looked for, and how near is near enough [rev/min]


def boost_at(case: Case, rpm: float) -> float:
    """Steady boost at a speed [Pa, gauge]; nothing where the point has no answer."""
    try:
        found = predict(case.set_si({"run.speed": rpm * RPM}))
    except SolveError:
        return 0.0
    return float(found.boost_pa or 0.0)


def threshold(case: Case, target: float, highest: float) -> float | None:
    """Lowest speed [rev/min] up to `highest` whose steady boost is 90 % of `target` [Pa]; None where none is.

    Boost grows with speed until it is reached, so halving the interval finds it.
    """
    wanted = SHARE * target
    low, high = LOWEST, highest
    if boost_at(case, high) < wanted:
        return None
    if boost_at(case, low) >= wanted:
        return low
    while high - low > NEAR:
        middle = 0.5 * (low + high)
        low, high = (low, middle) if boost_at(case, middle) >= wanted else (middle, high)
    return high
