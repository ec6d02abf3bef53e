"""The fitting path: a certified problem to its certified digits, and what the path promises on its own."""

import numpy as np
import pytest
from hotside.sim.verbs.diagnose.fit import Remembered, Secant, covariance, differences, fit

# NIST StRD, nonlinear regression, Misra1a (lower difficulty): dental research, 14 observations, y = b1 (1 - exp(-b2 x)).
# Data and certified values from memory, confidence high; the residual sum of squares proves them together.
X = np.array([77.6, 114.9, 141.1, 190.8, 239.9, 289.0, 332.8, 378.4, 434.8, 477.3, 536.8, 593.1, 689.1, 760.0])
Y = np.array([10.07, 14.73, 17.94, 23.93, 29.61, 35.18, 40.02, 44.82, 50.76, 55.05, 61.01, 66.40, 75.47, 81.78])
CERTIFIED = np.array([2.3894212918e02, 5.5015643181e-04])
SUM_OF_SQUARES = 1.2455138894e-01
DEVIATIONS = np.array([2.7070075241e00, 7.2668688436e-06])


@pytest.mark.parametrize("start", [(500.0, 0.0001), (250.0, 0.0005)], ids=["start 1", "start 2"])
def test_misra1a_to_its_certified_digits(start):
    """Through `fit`, with the Jacobian by differences, in units of the start as a log is fitted in units of its priors."""
    unit = np.array(start)

    def residuals(x):
        b1, b2 = x * unit
        return Y - b1 * (1.0 - np.exp(-b2 * X))

    far = np.array([1e3, 1e3])
    found = fit(
        residuals, differences(residuals, 1e-5), np.ones(2), -far, far, goal=1e-9, most=200, finish=20, renewals=100
    )
    assert found.converged
    assert found.x * unit == pytest.approx(CERTIFIED, rel=1e-9)
    assert found.sum_of_squares == pytest.approx(SUM_OF_SQUARES, rel=1e-10)
    # residuals here are not over a known deviation: theirs is estimated from what is left over 12 degrees of freedom
    deviation = np.sqrt(np.diag(found.covariance) * found.sum_of_squares / 12.0) * unit
    assert deviation == pytest.approx(DEVIATIONS, rel=1e-7)


def test_a_linear_problem_with_priors_is_the_textbook_one():
    """Posterior of a line with normal priors: (A'A/s^2 + 1)^-1, in one step whatever the start."""
    rng = np.random.default_rng(0)
    a, s = rng.normal(size=(20, 3)), 0.3
    y = a @ np.array([0.5, -1.0, 0.2]) + s * rng.normal(size=20)

    def residuals(x):
        return np.concatenate(((y - a @ x) / s, x))

    found = fit(residuals, differences(residuals, 0.1, central=False), np.zeros(3), np.full(3, -5.0), np.full(3, 5.0))
    exact = np.linalg.inv(a.T @ a / s**2 + np.eye(3))
    assert np.allclose(found.covariance, exact, rtol=1e-9)
    assert np.allclose(found.x, exact @ (a.T @ y) / s**2, atol=1e-7)
    assert found.jacobians <= 3


def test_a_bound_holds_and_is_told():
    def residuals(x):
        return np.array([x[0] + x[1] - 4.0, x[0] - x[1], 0.1 * x[0]])

    found = fit(
        residuals, differences(residuals, 1e-3), np.zeros(2), np.array([-1.0, -1.0]), np.array([1.5, 9.0]), goal=1e-6
    )
    assert found.x[0] == pytest.approx(1.5, abs=1e-6)
    assert found.x[1] == pytest.approx(2.0, abs=1e-4)  # the best with the first held
    assert list(found.at_bound) == [True, False]


def test_the_secant_jacobian_is_made_anew_when_it_no_longer_holds():
    def f(x):
        return np.array([np.exp(3.0 * x[0]), x[0]])

    calls = []

    def exact(x):
        calls.append(x.copy())
        return differences(f, 1e-6)(x)

    secant = Secant(f, exact)
    for place in (0.0, 0.01, 0.02):
        secant(np.array([place]))
    assert len(calls) == 1
    secant(np.array([1.5]))
    assert len(calls) == 2


def test_places_are_solved_once():
    calls = []
    f = Remembered(lambda x: calls.append(1) or x)
    for _ in range(3):
        f(np.array([1.0]))
    assert len(calls) == 1


def test_a_direction_without_data_has_no_covariance_to_speak_of():
    assert np.isfinite(covariance(np.array([[1.0, 1.0], [2.0, 2.0]]))).all()
