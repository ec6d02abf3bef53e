"""The path that fits a log, on nonlinear problems whose answers are certified: parameters, their deviations, what is left.

NIST Statistical Reference Datasets, nonlinear regression: one problem of the lower, two of the higher level of difficulty.
Data, starts and certified figures are those of the data files NIST publishes.
"""

from collections.abc import Callable
from typing import NamedTuple

import numpy as np
import pytest
from hotside.sim.verbs.diagnose.fit import differences, fit


class Problem(NamedTuple):
    """A data set, its model and what is certified about their fit."""

    name: str
    x: tuple[float, ...]
    y: tuple[float, ...]
    model: Callable
    starts: tuple[tuple[float, ...], ...]
    certified: tuple[float, ...]
    deviations: tuple[float, ...]
    sum_of_squares: float
    size: float  # relative error allowed: where parameters are nearly collinear the rounding of differences counts


# fmt: off
PROBLEMS = (
    Problem(
        "Misra1a",
        (77.6, 114.9, 141.1, 190.8, 239.9, 289.0, 332.8, 378.4, 434.8, 477.3, 536.8, 593.1, 689.1, 760.0),
        (10.07, 14.73, 17.94, 23.93, 29.61, 35.18, 40.02, 44.82, 50.76, 55.05, 61.01, 66.40, 75.47, 81.78),
        lambda x, b: b[0] * (1.0 - np.exp(-b[1] * x)),
        ((500.0, 0.0001), (250.0, 0.0005)),
        (2.3894212918e02, 5.5015643181e-04), (2.7070075241e00, 7.2668688436e-06), 1.2455138894e-01, 1e-9,
    ),
    Problem(
        "Thurber",
        (-3.067, -2.981, -2.921, -2.912, -2.84, -2.797, -2.702, -2.699, -2.633, -2.481, -2.363, -2.322, -1.501, -1.46,
         -1.274, -1.212, -1.1, -1.046, -0.915, -0.714, -0.566, -0.545, -0.4, -0.309, -0.109, -0.103, 0.01, 0.119, 0.377,
         0.79, 0.963, 1.006, 1.115, 1.572, 1.841, 2.047, 2.2),
        (80.574, 84.248, 87.264, 87.195, 89.076, 89.608, 89.868, 90.101, 92.405, 95.854, 100.696, 101.06, 401.672,
         390.724, 567.534, 635.316, 733.054, 759.087, 894.206, 990.785, 1090.109, 1080.914, 1122.643, 1178.351, 1260.531,
         1273.514, 1288.339, 1327.543, 1353.863, 1414.509, 1425.208, 1421.384, 1442.962, 1464.35, 1468.705, 1447.894,
         1457.628),
        lambda x, b: (b[0] + x * (b[1] + x * (b[2] + x * b[3]))) / (1.0 + x * (b[4] + x * (b[5] + x * b[6]))),
        ((1000.0, 1000.0, 400.0, 40.0, 0.7, 0.3, 0.03), (1300.0, 1500.0, 500.0, 75.0, 1.0, 0.4, 0.05)),
        (1.2881396800e03, 1.4910792535e03, 5.8323836877e02, 7.5416644291e01, 9.6629502864e-01, 3.9797285797e-01,
         4.9727297349e-02),
        (4.6647963344e00, 3.9571156086e01, 2.8698696102e01, 5.5675370270e00, 3.1333340687e-02, 1.4984928198e-02,
         6.5842344623e-03), 5.6427082397e03, 1e-7,
    ),
    Problem(
        "MGH09",
        (4.0, 2.0, 1.0, 0.5, 0.25, 0.167, 0.125, 0.1, 0.0833, 0.0714, 0.0625),
        (0.1957, 0.1947, 0.1735, 0.16, 0.0844, 0.0627, 0.0456, 0.0342, 0.0323, 0.0235, 0.0246),
        lambda x, b: b[0] * (x**2 + x * b[1]) / (x**2 + x * b[2] + b[3]),
        ((25.0, 39.0, 41.5, 39.0), (0.25, 0.39, 0.415, 0.39)),
        (1.9280693458e-01, 1.9128232873e-01, 1.2305650693e-01, 1.3606233068e-01),
        (1.1435312227e-02, 1.9633220911e-01, 8.0842031232e-02, 9.0025542308e-02), 3.0750560385e-04, 1e-7,
    ),
)  # fmt: skip
# fmt: on
CASES = [pytest.param(p, k, id=f"{p.name}, start {k + 1}") for p in PROBLEMS for k in range(2)]


def fitted(problem, unit):
    """Through `fit`, with the Jacobian by differences, in units of `unit` as a log is fitted in units of its priors."""
    x, y = np.array(problem.x), np.array(problem.y)

    def residuals(b):
        return y - problem.model(x, b * unit)

    n, far = unit.size, np.full(unit.size, 1e3)
    goal = 1e-8 * float(np.linalg.norm(y))
    return fit(
        residuals, differences(residuals, 3e-6), np.ones(n), -far, far, goal=goal, most=400, steps=40, renewals=400
    )


@pytest.mark.parametrize(("problem", "start"), CASES)
def test_certified_digits(problem, start, published):
    """Twice: from the certified start, then in units of what was found, since a start may be a thousand times too large."""
    first = np.array(problem.starts[start])
    unit = first * fitted(problem, first).x
    found = fitted(problem, unit)
    assert found.converged
    # residuals here are not over a known deviation: theirs is estimated from what is left over the degrees of freedom
    freedom = len(problem.x) - unit.size
    deviations = np.sqrt(np.diag(found.covariance) * found.sum_of_squares / freedom) * np.abs(unit)

    def check(name, value, certified, size):
        published(
            f"{problem.name}, {name}, start {start + 1}",
            found=float(value),
            value=certified,
            tol=("rel", size),
            unit="-",
            source=f"NIST StRD, nonlinear regression, {problem.name}",
            mark="R",
        )

    check("residual sum of squares", found.sum_of_squares, problem.sum_of_squares, 1e-10)
    for k in range(unit.size):
        check(f"b{k + 1}", found.x[k] * unit[k], problem.certified[k], problem.size)
        check(f"standard deviation of b{k + 1}", deviations[k], problem.deviations[k], 1e2 * problem.size)
