"""Screw threads: sizes, diameters, stress area, and the force that strips them."""

import math

_IN = 0.0254
# fmt: off
_COARSE = ((5, 0.8), (6, 1.0), (8, 1.25), (10, 1.5), (12, 1.75), (14, 2.0), (16, 2.0), (18, 2.5), (20, 2.5))
_FINE = ((8, 1.0), (10, 1.0), (10, 1.25), (12, 1.25), (12, 1.5), (14, 1.5), (16, 1.5), (18, 1.5), (20, 1.5))
_UNIFIED = (  # name, diameter [in], turns an inch coarse and fine
    ("1/4", 0.25, 20, 28), ("5/16", 0.3125, 18, 24), ("3/8", 0.375, 16, 24), ("7/16", 0.4375, 14, 20),
    ("1/2", 0.5, 13, 20), ("9/16", 0.5625, 12, 18), ("5/8", 0.625, 11, 18), ("3/4", 0.75, 10, 16),
)
# fmt: on
# Nominal diameter and pitch [m]: ISO 261 coarse and common fine; ASME B1.1 unified coarse (UNC) and fine (UNF).
THREADS = {f"M{d:g}": (1e-3 * d, 1e-3 * p) for d, p in _COARSE}
THREADS |= {f"M{d:g}x{p:g}": (1e-3 * d, 1e-3 * p) for d, p in _FINE}
for _name, _inch, _unc, _unf in _UNIFIED:
    THREADS[f"{_name}-{_unc} UNC"] = (_IN * _inch, _IN / _unc)
    THREADS[f"{_name}-{_unf} UNF"] = (_IN * _inch, _IN / _unf)
# Washer-face diameter of a hexagon (ISO 4014) and medium clearance hole (ISO 273) [m]; from memory, confidence high.
HEXAGON = {
    nominal * 1e-3: (face * 1e-3, hole * 1e-3)
    for nominal, face, hole in (
        (5, 6.88, 5.5),
        (6, 8.88, 6.6),
        (8, 11.63, 9.0),
        (10, 14.63, 11.0),
        (12, 16.63, 13.5),
        (14, 19.64, 15.5),
        (16, 22.49, 17.5),
        (18, 25.34, 20.0),
        (20, 28.19, 22.0),
    )
}


def pitch_diameter(diameter: float, pitch: float) -> float:
    """Basic pitch diameter of the 60-degree profile, ISO 724: d2 = d - 3 sqrt(3)/8 P.

    diameter : float, nominal diameter [m]
    pitch : float, thread pitch [m]
    Returns the pitch diameter [m]
    """
    return diameter - 0.375 * math.sqrt(3.0) * pitch


def root_diameter(diameter: float, pitch: float) -> float:
    """Minor diameter of the external thread with its rounded root, ISO 68-1: d3 = d - 17 sqrt(3)/24 P.

    diameter : float, nominal diameter [m]
    pitch : float, thread pitch [m]
    Returns the root diameter [m]
    """
    return diameter - 17.0 / 24.0 * math.sqrt(3.0) * pitch


def nut_minor_diameter(diameter: float, pitch: float) -> float:
    """Basic minor diameter of the internal thread, ISO 724: D1 = d - 5 sqrt(3)/8 P.

    diameter : float, nominal diameter [m]
    pitch : float, thread pitch [m]
    Returns the minor diameter [m]
    """
    return diameter - 0.625 * math.sqrt(3.0) * pitch


def stress_area(diameter: float, pitch: float, unified: bool = False) -> float:
    """Tensile stress area, on the mean of pitch and root diameter.

    Metric: ISO 898-1, pi/4 ((d2 + d3)/2)^2. Unified: ASME B1.1, pi/4 (d - 0.9743 P)^2, whose root is a little deeper.

    diameter : float, nominal diameter [m]
    pitch : float, thread pitch [m]
    unified : bool, inch thread of ASME B1.1 [-]
    Returns the stress area [m2]
    """
    metric = 0.5 * (pitch_diameter(diameter, pitch) + root_diameter(diameter, pitch))
    return 0.25 * math.pi * (diameter - 0.9743 * pitch if unified else metric) ** 2


def strip_force(
    diameter: float, pitch: float, engagement: float, shear_strength: float, internal: bool = True
) -> float:
    """Axial force that shears the engaged threads, every turn sharing alike.

    Basic profile, shear areas as in FED-STD-H28/2B: internal thread at the stud's crests, pi d L (7/8); external at the
    housing's crests, pi D1 L (3/4). From memory, confidence high; tolerances cost a few per cent.

    diameter : float, nominal diameter [m]
    pitch : float, thread pitch [m]
    engagement : float, length of full threads engaged [m]
    shear_strength : float, of the thread that is asked about, near 0.58 x tensile strength [Pa]
    internal : bool, the housing's thread; else the stud's [-]
    Returns the stripping force [N]
    """
    area = 0.875 * diameter if internal else 0.75 * nut_minor_diameter(diameter, pitch)
    return math.pi * area * engagement * shear_strength
