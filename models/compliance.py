"""Compliance of a bolted joint: how far the stud stretches, how far the parts give, and how they share an outside force."""

import math

import numpy as np
from numpy.typing import ArrayLike

from .threads import root_diameter

TAN_CONE = math.tan(math.radians(30.0))  # pressure cone, J. E. Shigley, Mechanical Engineering Design, sec. 8-5 [-]
THROUGH, TAPPED = 0, 1  # a nut behind the joint, or a thread in the housing


def stud_compliance(
    diameter: float,
    pitch: float,
    lengths: ArrayLike,
    sections: ArrayLike,
    modulus: float,
    holding: int = THROUGH,
    headed: bool = False,
) -> float:
    """Stretch of a stud or bolt per force: its free lengths, then what gives way inside nut, thread and head.

    VDI 2230 substitute lengths: engaged thread 0.5 d on the root section; nut 0.4 d, tapped hole 0.33 d and hexagon
    head 0.5 d on the nominal section; from memory, confidence high.

    diameter : float, nominal diameter [m]
    pitch : float, thread pitch [m]
    lengths : array, free lengths between the holding ends [m]
    sections : array, cross section of each [m2]
    modulus : float, of the stud at its temperature [Pa]
    holding : int, THROUGH (nut) or TAPPED for the far end [-]
    headed : bool, a bolt with a head; else a stud with a nut at the near end [-]
    Returns the compliance [m/N]
    """
    thread = 0.5 * diameter / (0.25 * math.pi * root_diameter(diameter, pitch) ** 2)
    nominal = diameter / (0.25 * math.pi * diameter**2)
    near = 0.5 * nominal if headed else thread + 0.4 * nominal
    far = thread + (0.4 if holding == THROUGH else 0.33) * nominal
    free = float(np.sum(np.asarray(lengths, float) / np.asarray(sections, float)))
    return (free + near + far) / modulus


def parts_compliance(
    thickness: ArrayLike, modulus: ArrayLike, face: float, hole: float, edge: float, holding: int = THROUGH
) -> float:
    """Squeeze of the clamped layers per force: a hollow cone of 30 degrees from each face, cut off by the part's edge.

    Shigley, sec. 8-5 (after J. Wileman et al., 1991): one pair of cones meeting half-way under a nut; from a single face
    where the far layer holds the thread. Integrated along the grip, layer by layer.

    thickness : array, layers in order from the nut's face [m]
    modulus : array, of each layer at its temperature [Pa]
    face : float, outer diameter of the nut's or washer's face [m]
    hole : float, clearance hole [m]
    edge : float, diameter of metal there is around the stud [m]
    holding : int, THROUGH or TAPPED [-]
    Returns the compliance [m/N]
    """
    bounds = np.concatenate(([0.0], np.cumsum(np.asarray(thickness, float))))
    grip, total = bounds[-1], 0.0
    for start, end, e in zip(bounds[:-1], bounds[1:], np.asarray(modulus, float), strict=True):
        z = np.linspace(start, end, 801)
        depth = np.minimum(z, grip - z) if holding == THROUGH else z
        cone = np.minimum(face + 2.0 * TAN_CONE * depth, edge)
        total += float(np.trapezoid(1.0 / (0.25 * math.pi * (cone**2 - hole**2) * e), z))
    return total


def load_factor(stud: float, parts: float) -> float:
    """Share of an outside force that a preloaded stud takes, force entering at the faces (VDI 2230).

    stud : float, stud compliance, conical washers included [m/N]
    parts : float, clamped parts' compliance, gasket included [m/N]
    Returns the share [-]
    """
    return parts / (stud + parts)
