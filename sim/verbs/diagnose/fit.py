"""Least squares with priors: one path for logs, for few readings and for the certified problems of the tests.

scipy's trust-region solver with bounds; the Jacobian by differences once, secant updates (C. G. Broyden, Math. Comp. 19
(1965) 577) while they hold, and by differences again at the solution, where Newton's steps finish and the covariance is
read.
"""

from collections.abc import Callable
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]
Function = Callable[[Array], Array]
HOLDS = 0.3  # share of a change of the residuals that a secant Jacobian may miss before it is made anew
ON_BOUND = 1e-3  # distance from a bound, in units of x, that counts as on it


class Fitted(NamedTuple):
    """A solution in units of x."""

    x: Array
    residuals: Array
    jacobian: Array
    covariance: Array
    sum_of_squares: float
    evaluations: int
    jacobians: int
    converged: bool
    at_bound: NDArray[np.bool_]


def differences(function: Function, step: float | Array, central: bool = True) -> Function:
    """The Jacobian of a function of n unknowns by differences, as a function of x -> (m, n)."""

    def jacobian(x: Array) -> Array:
        steps = np.broadcast_to(np.asarray(step, dtype=float), x.shape)
        here = function(x)
        columns = []
        for k, h in enumerate(steps):
            ahead, back = x.copy(), x.copy()
            ahead[k] += h
            back[k] -= h
            low, width = (function(back), 2.0 * h) if central else (here, h)
            columns.append((function(ahead) - low) / width)
        return np.stack(columns, axis=1)

    return jacobian


class Secant:
    """A Jacobian made by differences at first, then kept up by secant updates as long as they tell the truth."""

    def __init__(self, function: Function, exact: Function, renewals: int = 1000) -> None:
        self.function, self.exact, self.renewals = function, exact, renewals
        self.x: Array | None = None
        self.count = 0

    def __call__(self, x: Array) -> Array:
        f = self.function(x)
        if self.x is None or not self._update(x, f):
            self.matrix = self.exact(x)
            self.count += 1
        self.x, self.f = x.copy(), f
        return self.matrix

    def _update(self, x: Array, f: Array) -> bool:
        assert self.x is not None
        step, change = x - self.x, f - self.f
        missed = change - self.matrix @ step
        if not step.any():
            return True
        if self.count <= self.renewals and np.linalg.norm(missed) > HOLDS * np.linalg.norm(change):
            return False
        self.matrix = self.matrix + np.outer(missed, step) / float(step @ step)
        return True


class Remembered:
    """A function that remembers its last places: solver, Jacobian and reader ask for the same ones."""

    def __init__(self, function: Function, most: int = 4) -> None:
        self.function, self.most = function, most
        self.known: dict[bytes, Array] = {}
        self.count = 0

    def __call__(self, x: Array) -> Array:
        key = np.asarray(x, dtype=float).tobytes()
        if key not in self.known:
            self.known = dict(list(self.known.items())[-self.most + 1 :])
            self.known[key] = self.function(np.asarray(x, dtype=float))
            self.count += 1
        return self.known[key]


def fit(
    residuals: Function, jacobian: Function, start: Array, low: Array, high: Array, *, goal: float = 0.3, most: int = 12,
    steps: int = 4, renewals: int = 1, noise: float = 0.0,
) -> Fitted:  # fmt: skip
    """The least sum of squared residuals within bounds: `search`, then `finish`.

    residuals : x (n,) -> residuals (m,), each over its standard deviation; priors are residuals too
    jacobian : x -> (m, n), by differences
    start, low, high : (n,)
    """
    f = Remembered(residuals)
    x, made = search(f, jacobian, start, low, high, goal=goal, most=most, renewals=renewals)
    found = finish(f, jacobian, x, low, high, goal=goal, steps=steps, noise=noise)
    return found._replace(evaluations=f.count, jacobians=found.jacobians + made)


def search(
    residuals: Function, jacobian: Function, start: Array, low: Array, high: Array, *, goal: float = 0.3, most: int = 12,
    renewals: int = 1,
) -> tuple[Array, int]:  # fmt: skip
    """Near the least sum of squares, with few Jacobians: the place, and how many were made.

    goal : length of the last step, in standard deviations of the solution, at which it counts as found
    most : evaluations of the residuals
    renewals : how often the Jacobian may be made anew
    """
    from scipy.optimize import least_squares

    f = Remembered(residuals)
    secant = Secant(f, jacobian, renewals)
    inside = np.clip(start, low + 1e-9 * np.maximum(1.0, np.abs(low)), high - 1e-9 * np.maximum(1.0, np.abs(high)))
    found = least_squares(
        f, inside, jac=secant, bounds=(low, high), method="trf",
        ftol=0.015 * goal, xtol=5e-3 * goal, gtol=1e-12, max_nfev=most,
    )  # fmt: skip
    return found.x, secant.count


def finish(
    residuals: Function, jacobian: Function, x: Array, low: Array, high: Array, *, goal: float = 0.3, steps: int = 4,
    noise: float = 0.0,
) -> Fitted:  # fmt: skip
    """Newton steps with a fresh Jacobian each, and the covariance there.

    goal : as in `search`: the square root of what a last step takes off the sum of squares
    steps : the most of them
    noise : rise of the sum of squares that says nothing, since the residuals themselves are no smoother
    """
    f, converged, made = Remembered(residuals), False, 0
    for _ in range(max(steps, 1)):
        matrix, r = jacobian(x), f(x)
        made += 1
        step = _newton(matrix, r, x, low, high)
        converged = bool(np.linalg.norm(matrix @ step) <= goal)
        for share in (1.0, 0.5, 0.25):
            better = f(x + share * step)
            if float(better @ better) <= float(r @ r) + noise:
                x = x + share * step
                break
        if converged:
            break
    at_bound = (x - low < ON_BOUND) | (high - x < ON_BOUND)
    r = f(x)
    return Fitted(x, r, matrix, covariance(matrix), float(r @ r), f.count, made, converged, at_bound)


def _newton(matrix: Array, r: Array, x: Array, low: Array, high: Array) -> Array:
    """Gauss's step, with unknowns that would leave their bounds held there."""
    free = np.ones(x.size, dtype=bool)
    step = np.zeros_like(x)
    for _ in range(x.size):
        step[~free] = np.clip(step[~free], (low - x)[~free], (high - x)[~free])
        rest = r + matrix[:, ~free] @ step[~free]
        step[free] = np.linalg.lstsq(matrix[:, free], -rest, rcond=None)[0]
        out = free & ((x + step < low) | (x + step > high))
        if not out.any():
            break
        free &= ~out
    return np.clip(step, low - x, high - x)


def covariance(matrix: Array) -> Array:
    """Covariance of the unknowns from the Jacobian of residuals that stand over their standard deviation: (J'J)^-1."""
    _, s, vt = np.linalg.svd(matrix, full_matrices=False)
    kept = s > np.finfo(float).eps * max(matrix.shape) * s[0]
    inverse = vt[kept].T / s[kept]
    return inverse @ inverse.T
