"""How sure a departure is when any gauge may lie: each lie is weighed by its evidence, linear about the solution.

A gauge's class says how far it strays when it is sound. A probe in the wrong place or an air meter in the wrong pipe is another
thing: as rare as `BEFORE`, as large as `usual` says, and a departure it would explain as well is less sure for it.
"""

import math

import numpy as np

from ... import channels
from ...records import Array
from .fit import Fitted
from .problem import Problem
from .suspects import gauges, offset_column

BEFORE = 0.05  # chance before anything is read that a given gauge lies; common practice, no source
SHARE = {
    "pressure_gauge": 0.10,
    "mass_flow": 0.10,
    "fuel_flow": 0.10,
    "torque": 0.08,
    "rotation": 0.05,
}  # of the reading
KELVIN, LAMBDA = 30.0, 0.04


def usual(name: str, size: float) -> float:
    """By how much a lying gauge of a channel is usually off, its readings being of this size [SI]."""
    kind = channels.channel(name).kind
    if kind == "mixture":
        return LAMBDA
    return KELVIN if kind == "temperature" else SHARE.get(kind, 0.1) * abs(size)


def sides(problem: Problem, fitted: Fitted, widening: float = 1.0) -> Array:
    """For each unknown the chance (n,) that it lies on the side of its prior's middle on which it was found.

    widening : of the intervals, where the model is doubted
    """
    n, known = fitted.x.size, {u.name for u in problem.unknowns if u.sigma > (u.usual or u.sigma)}
    weights, chances = [1.0], [above(fitted.x, fitted.covariance, fitted.x, widening)]
    _, plain = np.linalg.slogdet(fitted.jacobian.T @ fitted.jacobian)
    for name in gauges(problem):
        if f"sensor.{name}" in known:
            continue  # let go already
        size = usual(name, _size(problem, name))
        column = np.append(size * offset_column(problem, name), np.zeros(n))
        matrix = np.vstack([np.column_stack([fitted.jacobian, column]), np.eye(1, n + 1, n)])
        target = np.append(fitted.residuals, 0.0)
        step, *_ = np.linalg.lstsq(matrix, -target, rcond=None)
        left = target + matrix @ step
        normal = matrix.T @ matrix
        evidence = 0.5 * (fitted.sum_of_squares - float(left @ left) + plain - float(np.linalg.slogdet(normal)[1]))
        weights.append(BEFORE / (1.0 - BEFORE) * math.exp(min(evidence, 50.0)))
        chances.append(above(fitted.x + step[:n], np.linalg.inv(normal)[:n, :n], fitted.x, widening))
    return np.average(chances, axis=0, weights=weights)


def _size(problem: Problem, name: str) -> float:
    """Mean size of a gauge's readings in the log [SI]."""
    read = [s.point.readings.get(name, s.point.conditions.get(name)) for s in problem.spots]
    return float(np.mean([abs(v) for v in read if v is not None]))


def above(x: Array, covariance: Array, side: Array, widening: float) -> Array:
    """Chance (n,) of being on a side of the prior's middle, from place and covariance in units of x."""
    from scipy.special import ndtr

    spread = np.sqrt(np.diag(covariance)) * widening
    return np.asarray(ndtr(np.where(side >= 0.0, x, -x) / spread))
