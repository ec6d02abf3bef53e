"""The fitting path and the sensitivity path on problems whose answers are certified or known in closed form."""

import math

import numpy as np
import pytest
from hotside.sim.verbs.diagnose.fit import differences, fit
from hotside.sim.verbs.uncertainty.indices import indices

# NIST StRD, nonlinear regression, Misra1a (lower difficulty): dental research, 14 observations, y = b1 (1 - exp(-b2 x)).
# Data and certified values from memory, confidence high; the residual sum of squares proves the two together.
X = np.array([77.6, 114.9, 141.1, 190.8, 239.9, 289.0, 332.8, 378.4, 434.8, 477.3, 536.8, 593.1, 689.1, 760.0])
Y = np.array([10.07, 14.73, 17.94, 23.93, 29.61, 35.18, 40.02, 44.82, 50.76, 55.05, 61.01, 66.40, 75.47, 81.78])
CERTIFIED = {"b1": 2.3894212918e02, "b2": 5.5015643181e-04}
DEVIATIONS = {"b1": 2.7070075241e00, "b2": 7.2668688436e-06}
SUM_OF_SQUARES = 1.2455138894e-01
SOURCE = "NIST StRD, nonlinear regression, Misra1a"
A, B = 7.0, 0.1


@pytest.mark.parametrize("start", [(500.0, 0.0001), (250.0, 0.0005)], ids=["start 1", "start 2"])
def test_misra1a_to_its_certified_digits(start, published):
    """Through `fit`, with the Jacobian by differences, in units of the start as a log is fitted in units of its priors."""
    unit = np.array(start)

    def residuals(x):
        b1, b2 = x * unit
        return Y - b1 * (1.0 - np.exp(-b2 * X))

    far = np.array([1e3, 1e3])
    found = fit(
        residuals, differences(residuals, 1e-5), np.ones(2), -far, far, goal=1e-9, most=200, steps=20, renewals=100
    )
    assert found.converged
    # residuals here are not over a known deviation: theirs is estimated from what is left over 12 degrees of freedom
    deviations = np.sqrt(np.diag(found.covariance) * found.sum_of_squares / 12.0) * unit

    def check(name, value, certified, size):
        published(
            f"{name}, from start {start}",
            found=float(value),
            value=certified,
            tol=("rel", size),
            unit="-",
            source=SOURCE,
            mark="M-high",
        )

    check("Misra1a, residual sum of squares", found.sum_of_squares, SUM_OF_SQUARES, 1e-10)
    for k, name in enumerate(("b1", "b2")):
        check(f"Misra1a, {name}", found.x[k] * unit[k], CERTIFIED[name], 1e-9)
        check(f"Misra1a, standard deviation of {name}", deviations[k], DEVIATIONS[name], 1e-7)


def ishigami(x):
    """Sin x1 + a sin^2 x2 + b x3^4 sin x1 on (-pi, pi)^3."""
    return np.sin(x[0]) + A * np.sin(x[1]) ** 2 + B * x[2] ** 4 * np.sin(x[0])


def test_indices_of_ishigamis_function(published):
    """First-order and total indices from the function's own integrals; found within their own sampling error."""
    from scipy.stats import uniform

    found = indices(ishigami, [uniform(loc=-math.pi, scale=2.0 * math.pi)] * 3, 4096)
    v1, v2, v13 = 0.5 * (1.0 + B * math.pi**4 / 5.0) ** 2, A**2 / 8.0, B**2 * math.pi**8 * (1.0 / 18.0 - 1.0 / 50.0)
    first, total = np.array([v1, v2, 0.0]) / (v1 + v2 + v13), np.array([v1 + v13, v2, v13]) / (v1 + v2 + v13)
    for k in range(3):
        for name, estimate, value, low, high in (
            ("first", found.first[0, k], first[k], found.first_low[0, k], found.first_high[0, k]),
            ("total", found.total[0, k], total[k], found.total_low[0, k], found.total_high[0, k]),
        ):
            published(
                f"Ishigami's function, {name}-order index of x{k + 1}, 4096 base points",
                found=float(estimate),
                value=float(value),
                tol=("abs", 0.01),
                unit="-",
                source="T. Ishigami & T. Homma, Proc. ISUMA '90 (1990) 398, a = 7, b = 0.1; integrals in closed form",
                mark="C",
            )
            assert abs(estimate - value) <= 1.5 * (high - low) + 1e-3
