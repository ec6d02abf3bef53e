"""Tightening: torque to preload and back, what friction's scatter makes of it, and what the stud bears."""

import math

from .threads import pitch_diameter, root_diameter

# Nut factor, and the share by which it may lie either way under a torque wrench. Factors: Shigley, Table 8-15, from
# memory, confidence high; "pasted" is his anti-seize row. Scatter: common practice, no source (+-25 % and more).
NUT_FACTOR = {
    "dry": (0.30, 0.30),
    "zinc plated": (0.20, 0.25),
    "oiled": (0.18, 0.25),
    "cadmium plated": (0.16, 0.25),
    "pasted": (0.12, 0.25),
}
# Friction coefficient of thread and head (low, usual, high): VDI 2230 friction classes, from memory, confidence med.
FRICTION = {"dry": (0.14, 0.20, 0.30), "oiled": (0.08, 0.12, 0.16), "pasted": (0.06, 0.09, 0.12)}


def torque_short(preload: float, nut_factor: float, diameter: float) -> float:
    """Tightening torque, T = K F d.

    preload : float, stud force [N]
    nut_factor : float, K, NUT_FACTOR holds usual ones [-]
    diameter : float, nominal diameter [m]
    Returns the torque [Nm]
    """
    return nut_factor * preload * diameter


def preload_band(torque: float, nut_factor: float, scatter: float, diameter: float) -> tuple[float, float, float]:
    """Preload a torque leaves, and what scatter of the friction makes of it: F = T / (K d).

    torque : float, tightening torque [Nm]
    nut_factor : float, K [-]
    scatter : float, share by which K may lie either way, 0 to below 1 [-]
    diameter : float, nominal diameter [m]
    Returns (lowest, nominal, highest) preload [N]
    """
    nominal = torque / (nut_factor * diameter)
    return nominal / (1.0 + scatter), nominal, nominal / (1.0 - scatter)


def torque_long(
    preload: float, diameter: float, pitch: float, bearing_diameter: float, mu_thread: float, mu_head: float
) -> float:
    """Tightening torque from its three parts, VDI 2230: pitch, thread friction, head friction.

    M = F [0.16 P + 0.58 d2 mu_G + (D_Km / 2) mu_K]; from memory, confidence high.

    preload : float, stud force [N]
    diameter : float, nominal diameter [m]
    pitch : float, thread pitch [m]
    bearing_diameter : float, mean diameter of the nut's or head's face, (outer + hole)/2 [m]
    mu_thread : float, friction coefficient of the thread [-]
    mu_head : float, friction coefficient under the turning face [-]
    Returns the torque [Nm]
    """
    d2 = pitch_diameter(diameter, pitch)
    return preload * (0.16 * pitch + 0.58 * d2 * mu_thread + 0.5 * bearing_diameter * mu_head)


def yield_preload(
    diameter: float, pitch: float, yield_stress: float, mu_thread: float, utilisation: float = 0.9, waist: float = 0.0
) -> float:
    """Assembly preload that takes a share of yield in tension and torsion together, VDI 2230.

    F = nu Rp02 A0 / sqrt(1 + 3 [1.5 (d2/d0)(P/(pi d2) + 1.155 mu_G)]^2), from memory, confidence high.

    diameter : float, nominal diameter [m]
    pitch : float, thread pitch [m]
    yield_stress : float, Rp0.2 [Pa]
    mu_thread : float, friction coefficient of the thread [-]
    utilisation : float, share of yield [-]
    waist : float, diameter of a waisted shank thinner than the thread; 0 if none [m]
    Returns the preload [N]
    """
    d2 = pitch_diameter(diameter, pitch)
    d0 = waist or 0.5 * (d2 + root_diameter(diameter, pitch))
    torsion = 1.5 * d2 / d0 * (pitch / (math.pi * d2) + 1.155 * mu_thread)
    return utilisation * yield_stress * 0.25 * math.pi * d0**2 / math.sqrt(1.0 + 3.0 * torsion**2)


def turn_angle(preload: float, compliance: float, pitch: float) -> float:
    """Turn of the nut past snug that gives a preload: elongation over pitch.

    preload : float, stud force [N]
    compliance : float, of everything that the turn stretches or squeezes [m/N]
    pitch : float, thread pitch [m]
    Returns the angle [rad]
    """
    return 2.0 * math.pi * preload * compliance / pitch


def wrench_setting(torque: float, length: float, extension: float, angle: float) -> float:
    """Torque wrench setting with a crowfoot adapter: set = target L / (L + E cos(angle)); from memory, confidence high.

    torque : float, torque wanted at the nut [Nm]
    length : float, middle of the grip to the wrench's own square [m]
    extension : float, square to the nut [m]
    angle : float, of the adapter from straight ahead; a right angle needs no correction [rad]
    Returns the setting [Nm]
    Raises ValueError where the adapter reaches back to the hand.
    """
    reach = length + extension * math.cos(angle)
    if reach <= 0.0:
        raise ValueError(f"the adapter reaches back past the grip: effective length {reach:.4f} m")
    return torque * length / reach
