"""Poppet valves: lift from a cam card's events, effective flow area from lift."""

import math
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from .compiled import compiled

# Discharge coefficient on the curtain area against lift/diameter: a typical head, both directions alike.
# Common practice after the trend of Heywood (1988) fig. 6-16; figures from memory, confidence med.
DEFAULT_DISCHARGE = ((0.0, 0.72), (0.05, 0.70), (0.10, 0.66), (0.15, 0.61), (0.20, 0.55), (0.25, 0.49), (0.30, 0.44))
TABLE_STEP = 0.5  # [deg]
TABLE_SIZE = 1441  # 0 to 720 deg


class Valve(NamedTuple):
    """Effective area of all valves of one kind on one cylinder, against crank angle."""

    opens: float  # [deg], seat to seat
    closes: float  # [deg]
    area: NDArray[np.float64]  # effective area at 0, 0.5 ... 720 deg [m2]


def lift_shape(share: NDArray[np.float64]) -> NDArray[np.float64]:
    """Lift over greatest lift against the share of the open duration: flat ends, full middle.

    share : float64[n], 0 at opening, 1 at closing [-]
    Returns lift ratio, float64[n] [-]: (1 - z^2)^2.4 with z from -1 to 1, which fills the event about as a road cam does
    (mean lift 0.50 of greatest, seat to seat; common practice, no source) and has no slope or step at the seat.
    """
    z = np.clip(2.0 * share - 1.0, -1.0, 1.0)
    return (1.0 - z * z) ** 2.4


def seat_events(opens: float, closes: float, lift: float, at_lift: float) -> tuple[float, float]:
    """Events at the seat from events taken at a checking lift.

    opens : float, opening event [deg]
    closes : float, closing event [deg]
    lift : float, greatest lift [m]
    at_lift : float, lift at which the events were taken, below `lift` [m]
    Returns (opens, closes) at the seat [deg].
    """
    half = 0.5 * (closes - opens)
    z = math.sqrt(1.0 - (at_lift / lift) ** (1.0 / 2.4)) if at_lift > 0.0 else 1.0
    middle = 0.5 * (opens + closes)
    return middle - half / z, middle + half / z


def valve(
    count: int,
    diameter: float,
    lift: float,
    opens: float,
    closes: float,
    at_lift: float,
    discharge: tuple[tuple[float, float], ...] = DEFAULT_DISCHARGE,
    scale: float = 1.0,
) -> Valve:
    """Tabulate the effective area of `count` equal valves.

    count : int, valves of this kind on the cylinder [-]
    diameter : float, head diameter at the seat [m]
    lift : float, greatest lift at the valve [m]
    opens : float, opening event, 0..720 [deg]
    closes : float, closing event, after `opens` [deg]
    at_lift : float, lift at which both events are taken [m]
    discharge : pairs of lift/diameter and coefficient on the curtain area pi d lift [-]
    scale : float, factor on the coefficient [-]
    Returns the Valve [deg, m2]. The flow never exceeds scale times the port's own opening, 0.8 of the seat area.
    """
    opens, closes = seat_events(opens, closes, lift, at_lift)
    angle = np.linspace(0.0, (TABLE_SIZE - 1) * TABLE_STEP, TABLE_SIZE)
    y = lift * lift_shape((angle - opens) / (closes - opens))
    ratio, coefficient = np.array(discharge, dtype=float).T
    effective = math.pi * diameter * y * np.interp(y / diameter, ratio, coefficient)
    port = 0.8 * math.pi / 4.0 * diameter**2
    area = count * scale * np.minimum(effective, port)
    return Valve(float(opens), float(closes), np.ascontiguousarray(area))


@compiled
def effective_area(record, angle):
    """Effective area at a crank angle, linear between tabulated angles.

    record : Valve, events and table [deg, m2]
    angle : float, crank angle from 0 to 720 [deg]
    Returns the effective area [m2].
    """
    place = angle / TABLE_STEP
    i = int(place)
    if i < 0 or i >= TABLE_SIZE - 1:
        return 0.0
    f = place - i
    return (1.0 - f) * record.area[i] + f * record.area[i + 1]
