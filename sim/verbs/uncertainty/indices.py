"""Which input drives which output: variance-based sensitivities, for a model or for any function of independent inputs.

First-order index: the share of an output's variance that goes when an input is known; total index: the share that stays
when all others are (I. M. Sobol, Math. Comput. Simul. 55 (2001) 271; A. Saltelli et al., Comput. Phys. Commun. 181 (2010)
259). scipy makes the points, from a Sobol sequence, and the estimates.
"""

import warnings
from collections.abc import Callable, Sequence
from typing import Any, NamedTuple

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]
RESAMPLES = 100
CONFIDENCE = 0.90


class Indices(NamedTuple):
    """Sensitivities (outputs, inputs), each with the ends of its 90 % interval from resampling."""

    first: Array
    first_low: Array
    first_high: Array
    total: Array
    total_low: Array
    total_high: Array
    filled: int  # points without an answer, for which the mean of the others stood


def indices(function: Callable[[Array], Array], distributions: Sequence[Any], n: int, seed: int = 1) -> Indices:
    """Sensitivities of a function of independent inputs.

    function : (inputs, points) -> (outputs, points); NaN where there is no answer
    distributions : frozen distributions of scipy.stats, one for each input
    n : points of the base sample, a power of 2; the function is asked n (inputs + 2) times
    """
    from scipy.stats import sobol_indices

    missing = 0

    def whole(x: Array) -> Array:
        nonlocal missing
        y = np.atleast_2d(function(x))
        gone = ~np.isfinite(y)
        missing += int(gone.any(axis=0).sum())
        known = np.maximum((~gone).sum(axis=1, keepdims=True), 1)
        y = np.where(gone, np.where(gone, 0.0, y).sum(axis=1, keepdims=True) / known, y)
        return y - y.mean(axis=1, keepdims=True)  # a large mean would drown the variance

    found = sobol_indices(func=whole, n=n, dists=list(distributions), rng=np.random.default_rng(seed))
    with warnings.catch_warnings():  # an output that does not vary has no interval, and needs no warning
        warnings.simplefilter("ignore")
        spread = found.bootstrap(confidence_level=CONFIDENCE, n_resamples=RESAMPLES)
    first, total = spread.first_order.confidence_interval, spread.total_order.confidence_interval

    def table(values: Any) -> Array:
        return np.atleast_2d(np.asarray(values, dtype=float))

    return Indices(
        table(found.first_order), table(first.low), table(first.high),
        table(found.total_order), table(total.low), table(total.high), missing,
    )  # fmt: skip


def sample(distributions: Sequence[Any], n: int, seed: int = 1) -> Array:
    """A Latin hypercube of independent inputs, (inputs, n)."""
    from scipy.stats import qmc

    cube = qmc.LatinHypercube(len(distributions), rng=np.random.default_rng(seed)).random(n)
    return np.stack([d.ppf(u) for d, u in zip(distributions, cube.T, strict=True)])
