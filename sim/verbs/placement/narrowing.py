"""How much one steady row of a log from a placement narrows what is unknown of each cylinder.

Linear and Gaussian: departures as they are spread before, readings through their slopes at the point, errors of class and
repeat. What is given is the standard deviation left after the log over the one before, 1 where nothing was learned.
"""

from typing import Any

import numpy as np

from ...records import Array
from .chances import Placement
from .engine import FEED

RECTANGLE = 3.0**-0.5  # standard deviation over half-width of limits with nothing known between (JCGM 100:2008, 4.3.7)


def posterior(slopes: Array, prior: Array, noise: Array) -> Array:
    """Covariance of the unknowns after readings: P - P H' (H P H' + R)^-1 H P.

    slopes : change of each reading per unknown (readings, unknowns)
    prior : standard deviations before (unknowns)
    noise : standard deviations of the readings [K]
    """
    before = np.diag(prior**2)
    gain = before @ slopes.T
    return before - gain @ np.linalg.solve(slopes @ gain + np.diag(noise**2), gain.T)


def left(slopes: Array, prior: Array, noise: Array, placement: Placement, cylinders: int) -> list[dict[str, Any]]:
    """For each cylinder the share left of the uncertainty in air, fuel, spark, mixture and its own reading."""
    rows = list(placement)
    after = posterior(slopes[rows], prior, noise[rows])
    found = []
    for j in range(cylinders):
        own = {name: _unit(len(prior), 3 * j + k) for k, name in enumerate(FEED)}
        own |= {"mixture": own["fuel"] - own["air"], "reading": slopes[j]}
        shares = {name: _share(row, prior, after) for name, row in own.items()}
        found.append({"cylinder": j + 1, **shares})
    return found


def _unit(size: int, place: int) -> Array:
    row = np.zeros(size)
    row[place] = 1.0
    return row


def _share(row: Array, prior: Array, after: Array) -> float | None:
    """Standard deviation of a combination of the unknowns, after over before; None where it was known."""
    before = float(row @ (prior**2 * row))
    return float(np.sqrt(max(float(row @ after @ row), 0.0) / before)) if before > 0.0 else None


def mean_left(rows: list[dict[str, Any]]) -> float:
    """The readings' mean share over the cylinders; 1 where nothing was unknown."""
    known = [row["reading"] for row in rows if row["reading"] is not None]
    return float(np.mean(known)) if known else 1.0
