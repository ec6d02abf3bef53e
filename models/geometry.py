"""Slider-crank: cylinder volume, its rate and the surfaces that see the gas. The only room with crank trigonometry."""

import math
from typing import NamedTuple

from .compiled import compiled

DEG = math.pi / 180.0


class Geometry(NamedTuple):
    """One cylinder."""

    bore: float  # diameter [m]
    stroke: float  # [m]
    rod_length: float  # between centres [m]
    compression_ratio: float  # [-]
    swept: float  # volume the piston sweeps [m3]
    clearance: float  # volume left at top dead centre [m3]
    head_area: float  # chamber roof [m2]
    piston_area: float  # flat crown, the area of the bore [m2]


def geometry(
    bore: float, stroke: float, rod_length: float, compression_ratio: float, head_area_ratio: float = 1.2
) -> Geometry:
    """Geometry of a cylinder from what a tape measure and a data sheet give.

    bore : float, cylinder diameter [m]
    stroke : float, piston travel [m]
    rod_length : float, connecting rod between centres [m]
    compression_ratio : float, largest over smallest volume [-]
    head_area_ratio : float, chamber roof area over bore area, 1.2 for a pent roof (common practice, no source) [-]
    Returns a Geometry [m, m2, m3].
    """
    area = math.pi / 4.0 * bore**2
    swept = area * stroke
    return Geometry(
        float(bore),
        float(stroke),
        float(rod_length),
        float(compression_ratio),
        swept,
        swept / (compression_ratio - 1.0),
        head_area_ratio * area,
        area,
    )


@compiled
def volume(geo, angle):
    """Cylinder volume and its rate with crank angle, slider-crank without pin offset.

    geo : Geometry, the cylinder [m, m2, m3]
    angle : float, crank angle, 0 at top dead centre [deg]
    Returns (volume, d volume / d angle) [m3, m3/deg].
    """
    a = angle * DEG
    crank = 0.5 * geo.stroke
    s, c = math.sin(a), math.cos(a)
    root = math.sqrt(geo.rod_length**2 - (crank * s) ** 2)
    travel = crank * (1.0 - c) + geo.rod_length - root
    rate = crank * s * (1.0 + crank * c / root)
    return geo.clearance + geo.piston_area * travel, geo.piston_area * rate * DEG


@compiled
def liner_area(geo, cylinder_volume):
    """Liner surface uncovered by the piston.

    geo : Geometry, the cylinder [m, m2, m3]
    cylinder_volume : float, present volume [m3]
    Returns the liner below the crown's highest position [m2]: none at top dead centre, whose walls are roof and crown.
    """
    return 4.0 * (cylinder_volume - geo.clearance) / geo.bore


@compiled
def mean_piston_speed(geo, speed_rpm):
    """Mean piston speed, two strokes a revolution.

    geo : Geometry, the cylinder [m, m2, m3]
    speed_rpm : float, crank speed [rev/min]
    Returns the mean piston speed [m/s].
    """
    return geo.stroke * speed_rpm / 30.0
