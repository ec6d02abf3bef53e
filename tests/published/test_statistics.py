"""The sensitivity path on a function whose indices are known in closed form."""

import math

import numpy as np
from hotside.sim.verbs.uncertainty.indices import indices

A, B = 7.0, 0.1


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
