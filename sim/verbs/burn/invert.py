"""One pressure turned into a burn: mass burned, made to rise from nothing, and its marks."""

from typing import NamedTuple

import numpy as np
from scipy.optimize import isotonic_regression

from .charge import Trapped
from .kernel import ROW_BURNED, ROW_HEAT, ROW_P, ROW_TB, ROW_TU
from .signal import at, smoothed
from .trace import Array

STEP = 1.0  # the march's own in the burn [deg]


class Burned(NamedTuple):
    """The burn of one pressure, at even crank angles from its begin."""

    angle: Array  # [deg]
    pressure: Array  # smoothed [Pa]
    raw: Array  # burned share of what can burn, as the pressure asks for it [-]
    fraction: Array  # the same, rising from 0 to 1 at most [-]
    rows: Array  # of the kernel

    def mark(self, share: float) -> float:
        """Crank angle at which a share of what burns in the end is burned [deg]."""
        goal = share * self.fraction[-1]
        k = int(np.argmax(self.fraction >= goal))
        low, high = self.fraction[k - 1], self.fraction[k]
        return float(self.angle[k] - STEP * (high - goal) / (high - low)) if high > low else float(self.angle[k])

    @property
    def unmatched(self) -> float:
        """Share of the steps whose pressure no burning rate gives [-]."""
        return float(np.mean(np.abs(self.rows[1:, ROW_P] / self.pressure[1:] - 1.0) > 1e-4))

    @property
    def temperatures(self) -> tuple[Array, Array]:
        """Of the unburned and the burned gas [K]."""
        return self.rows[:, ROW_TU], self.rows[:, ROW_TB]

    def per_degree(self, scale: float) -> tuple[Array, Array, Array]:
        """Burn rate [1/deg], its heat at `scale` J for all of the burn, and wall heat [J/deg], in the middle of each step before."""
        rate, walls = (np.diff(x, prepend=x[0]) / STEP for x in (self.fraction, self.rows[:, ROW_HEAT]))
        return rate, scale * rate, walls


def burned_of(charge: Trapped, angle: Array, pressure: Array, begins: float, window: float) -> Burned:
    """The burn of a pressure [Pa] on even crank angles, smoothed over a window [deg]; raises CaseError."""
    geo = charge.engine.geo
    count = int((angle[-1] - begins) / STEP + 1e-9) + 1
    nodes: Array = begins + STEP * np.arange(float(count))
    wanted = at(angle, smoothed(angle, pressure, window, geo), nodes, geo)
    rows = charge.burn(begins, STEP, wanted)
    raw = rows[:, ROW_BURNED] / charge.charge.burnable
    rising = np.clip(isotonic_regression(raw).x, 0.0, 1.0)
    rising[0] = 0.0
    return Burned(nodes, wanted, raw, rising, rows)
