"""What the fitting path promises on its own; certified problems go through it in tests/published/test_regression.py."""

import numpy as np
import pytest
from hotside.sim.verbs.diagnose.fit import Remembered, Secant, covariance, differences, fit


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
