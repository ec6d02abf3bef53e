"""What is done to a pressure before its burn is asked: cycles brought to one grid, averaged, smoothed.

Smoothed is not the pressure but p V^1.3, which compression and expansion leave nearly constant and the burn lifts from one
level to another: a polynomial in a window of some degrees (Savitzky & Golay 1964) bends it least there.
"""

from collections.abc import Sequence

import numpy as np
from scipy.interpolate import PchipInterpolator
from scipy.signal import savgol_filter

from ....models import geometry
from ...errors import CaseError
from .trace import Array, Cycle

EXPONENT = 1.3  # of the volume [-]
FINEST, COARSEST = 0.1, 1.0  # spacing of the grid [deg]
ORDER = 3  # of the polynomial


def volumes(geo: geometry.Geometry, angle: Array) -> Array:
    """Cylinder volume at crank angles [m3]."""
    return np.array([geometry.volume(geo, float(a))[0] for a in angle])


def grid(cycles: Sequence[Cycle], low: float, high: float) -> Array:
    """Even crank angles that all cycles cover, as fine as they are, within low and high; raises CaseError."""
    low = max(low, *(float(c.angle[0]) for c in cycles), -360.0)
    high = min(high, *(float(c.angle[-1]) for c in cycles), 360.0)
    spacing = min(max(float(np.median(np.diff(cycles[0].angle))), FINEST), COARSEST)
    if high - low < 60.0:
        raise CaseError(
            f"the trace covers {low:.0f} to {high:.0f} deg only; it has to go from before the spark to past the burn."
        )
    return low + spacing * np.arange(float(int((high - low) / spacing + 1e-9) + 1))


def on_grid(cycle: Cycle, angle: Array, geo: geometry.Geometry) -> Array:
    """Pressure of one cycle at the grid's angles [Pa]."""
    lifted = cycle.pressure * volumes(geo, cycle.angle) ** EXPONENT
    return np.asarray(PchipInterpolator(cycle.angle, lifted)(angle)) / volumes(geo, angle) ** EXPONENT


def smoothed(angle: Array, pressure: Array, window: float, geo: geometry.Geometry) -> Array:
    """Pressure smoothed over a window [deg]; as it is where the window holds no more points than the polynomial."""
    count = round(window / float(angle[1] - angle[0]))
    count += 1 - count % 2
    if count <= ORDER + 1 or count > len(angle):
        return pressure
    scale = volumes(geo, angle) ** EXPONENT
    return np.asarray(savgol_filter(pressure * scale, count, ORDER)) / scale


def at(angle: Array, pressure: Array, wanted: Array, geo: geometry.Geometry) -> Array:
    """Pressure between the grid's points [Pa]."""
    return on_grid(Cycle(angle, pressure), wanted, geo)
