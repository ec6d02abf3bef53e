"""Conical washers (disc springs) alone and stacked, EN 16984."""

import math
from typing import NamedTuple


class Disc(NamedTuple):
    """A conical disc spring without ground faces, EN 16984."""

    outer: float  # [m]
    inner: float  # [m]
    thickness: float  # [m]
    cone: float  # free height of the cone, h0 [m]
    modulus: float = 206e9  # [Pa]
    poisson: float = 0.3  # [-]


class Stack(NamedTuple):
    """Discs nested (parallel) in packets, packets opposed (series); none when `opposed` is 0."""

    disc: Disc
    nested: int
    opposed: int
    friction: float = 0.0  # of each inner face of a packet, w_M of EN 16984: 0.01-0.03 [-]


NO_STACK = Stack(Disc(1.0, 0.5, 1.0, 1.0), 0, 0)


def _disc_factor(disc: Disc) -> float:
    """4 E / (1 - nu^2) t^4 / (K1 De^2), the force scale of EN 16984 [N]."""
    d = disc.outer / disc.inner
    k1 = ((d - 1.0) / d) ** 2 / ((d + 1.0) / (d - 1.0) - 2.0 / math.log(d)) / math.pi
    return 4.0 * disc.modulus / (1.0 - disc.poisson**2) * disc.thickness**4 / (k1 * disc.outer**2)


def _within(disc: Disc, deflection: float) -> float:
    """Deflection over thickness [-]; ValueError past flat."""
    if not 0.0 <= deflection <= disc.cone * (1.0 + 1e-12):
        raise ValueError(f"deflection {1e3 * deflection:.4f} mm: the disc is flat at {1e3 * disc.cone:.4f} mm")
    return deflection / disc.thickness


def disc_force(disc: Disc, deflection: float) -> float:
    """Force of one disc, EN 16984 (J. O. Almen and A. Laszlo, Trans. ASME 58 (1936) 305).

    disc : Disc, the spring [-]
    deflection : float, from free, up to flat [m]
    Returns the force [N]
    Raises ValueError past flat.
    """
    x, h = _within(disc, deflection), disc.cone / disc.thickness
    return _disc_factor(disc) * x * ((h - x) * (h - 0.5 * x) + 1.0)


def disc_rate(disc: Disc, deflection: float) -> float:
    """Spring rate of one disc, EN 16984: it falls on the way to flat, and below zero where h0/t > sqrt(2).

    disc : Disc, the spring [-]
    deflection : float, from free, up to flat [m]
    Returns the rate dF/ds [N/m]
    Raises ValueError past flat.
    """
    x, h = _within(disc, deflection), disc.cone / disc.thickness
    return _disc_factor(disc) / disc.thickness * (h * h - 3.0 * h * x + 1.5 * x * x + 1.0)


def disc_stress(disc: Disc, deflection: float) -> float:
    """Reference stress at the middle of the upper face, sigma_OM of EN 16984; flat it must stay under 1600 MPa.

    Formula and limit (for the usual chromium-vanadium steel) from memory, confidence med.

    disc : Disc, the spring [-]
    deflection : float, from free, up to flat [m]
    Returns the stress, compression negative [Pa]
    Raises ValueError past flat.
    """
    return -_disc_factor(disc) * _within(disc, deflection) / disc.thickness**2 * 3.0 / math.pi


def stack_force(stack: Stack, deflection: float) -> float:
    """Force of a loaded stack: packets share the travel, the discs of a packet add force, friction helps them.

    stack : Stack, the arrangement [-]
    deflection : float, of the whole stack [m]
    Returns the force [N]
    Raises ValueError past flat.
    """
    one = disc_force(stack.disc, deflection / stack.opposed)
    return stack.nested * one / (1.0 - stack.friction * (stack.nested - 1))


def stack_deflection(stack: Stack, force: float) -> tuple[float, bool]:
    """Travel of a stack under a force, and whether it is flat: past its flat load it is solid.

    stack : Stack, the arrangement; of falling rate (h0/t > sqrt(2)) is refused [-]
    force : float, axial force [N]
    Returns (deflection [m], flat [-])
    Raises ValueError for a disc that can snap through.
    """
    if stack.opposed == 0 or stack.nested == 0:
        return 0.0, False
    disc = stack.disc
    if disc.cone > math.sqrt(2.0) * disc.thickness:
        raise ValueError(f"disc with h0/t = {disc.cone / disc.thickness:.3f} can snap through; 1.414 at most")
    if force >= stack_force(stack, stack.opposed * disc.cone):
        return stack.opposed * disc.cone, True
    low, high = 0.0, disc.cone
    for _ in range(60):
        middle = 0.5 * (low + high)
        low, high = (middle, high) if stack_force(stack, stack.opposed * middle) < force else (low, middle)
    return stack.opposed * 0.5 * (low + high), False
