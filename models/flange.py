"""The turbine flange's bolted joint: torque to preload, conical washers, and the clamp left hot and after cooling.

A joint is a loop of springs. What tightening stretches and squeezes together is the interference; heat adds to it the
difference of the parts' growth over the stud's, settling and yielding take from it, and the force follows. Forces and
compliances are those of one stud. The names of the parts are gathered here: threads, tightening, compliance, washers.
"""

# ruff: noqa: F401  (names that callers read here)
from typing import NamedTuple

import numpy as np
from numpy.typing import ArrayLike

from .compliance import TAN_CONE, TAPPED, THROUGH, load_factor, parts_compliance, stud_compliance
from .discs import NO_STACK, Disc, Stack, disc_force, disc_rate, disc_stress, stack_deflection, stack_force
from .threads import HEXAGON, THREADS, nut_minor_diameter, pitch_diameter, root_diameter, stress_area, strip_force
from .tightening import (
    FRICTION,
    NUT_FACTOR,
    preload_band,
    torque_long,
    torque_short,
    turn_angle,
    wrench_setting,
    yield_preload,
)

# Settling of one surface by its roughness Rz (up to 10, 40, 160 um): thread, head or nut face, each inner interface [m].
# VDI 2230 Table 5, tension and compression, from memory, confidence med.
SETTLING = {10e-6: (3.0e-6, 2.5e-6, 1.5e-6), 40e-6: (3.0e-6, 3.0e-6, 2.0e-6), 160e-6: (3.0e-6, 4.0e-6, 3.0e-6)}


class Joint(NamedTuple):
    """One stud's joint, cold (as tightened) and hot; forces and travels of one stud."""

    cold_compliance: float  # stud, layers and gasket in series [m/N]
    hot_compliance: float  # the same with the hot moduli [m/N]
    growth: float  # growth of the clamped parts less that of the stud, from cold to hot [m]
    settling: float  # flattening of the surfaces, taken once [m]
    cold_yield_force: float  # stress area x yield of the stud cold [N]
    hot_yield_force: float  # the same hot [N]
    stack: Stack = NO_STACK  # conical washers
    stack_modulus_ratio: float = 1.0  # modulus of the washers hot over cold [-]


class Clamp(NamedTuple):
    """Stud force through one heat cycle."""

    tightened: float  # right after tightening [N]
    settled: float  # cold, surfaces settled [N]
    hot: float  # [N]
    cooled: float  # cold again [N]
    plastic: float  # lasting stretch of the stud from yielding [m]
    hot_gap: float  # opening when nothing is left to clamp [m]
    cold_gap: float  # the same after cooling [m]
    washers_flat: bool  # the washers went solid at some state [-]


def growth_difference(lengths: ArrayLike, strains: ArrayLike, stud_strain: float) -> float:
    """How much more the clamped parts grow than the stud over the same grip.

    lengths : array, thickness of each clamped layer [m]
    strains : array, thermal strain of each layer from cold to hot [-]
    stud_strain : float, thermal strain of the stud over the grip [-]
    Returns the difference, positive where heating tightens [m]
    """
    length = np.asarray(lengths, float)
    return float(np.sum(length * (np.asarray(strains, float) - stud_strain)))


def interference(force: float, compliance: float, stack: Stack = NO_STACK) -> float:
    """What tightening must take up to bring a joint to a force.

    force : float, stud force [N]
    compliance : float, stud, layers and gasket in series [m/N]
    stack : Stack, conical washers in the grip [-]
    Returns the interference [m]
    """
    return force * compliance + stack_deflection(stack, force)[0]


def force_of(amount: float, compliance: float, stack: Stack = NO_STACK) -> float:
    """Stud force of an interference: the inverse of `interference`, by bisection; zero where a gap is left.

    amount : float, interference, negative for a gap [m]
    compliance : float, stud, layers and gasket in series [m/N]
    stack : Stack, conical washers in the grip [-]
    Returns the stud force [N]
    """
    low, high = 0.0, max(amount, 0.0) / compliance
    for _ in range(80):
        middle = 0.5 * (low + high)
        low, high = (middle, high) if interference(middle, compliance, stack) < amount else (low, middle)
    return 0.5 * (low + high)


def _yielded(amount: float, compliance: float, stack: Stack, yield_force: float) -> tuple[float, float]:
    """Force [N] and lasting stretch [m] of an elastic, perfectly plastic stud; torsion left by tightening not counted."""
    force = force_of(amount, compliance, stack)
    if force <= yield_force:
        return force, 0.0
    return yield_force, amount - interference(yield_force, compliance, stack)


def clamp_cycle(joint: Joint, preload: float) -> Clamp:
    """Stud force tightened, settled, hot and cold again, with yielding of the stud where its hot strength asks for it.

    The interference of tightening loses the settling, gains the growth while hot, and loses for good what the stud
    stretched. Elastic, perfectly plastic stud, no creep: time at heat takes more (a hot yield margin is no promise).

    joint : Joint, compliances, growth, settling, strengths, washers [-]
    preload : float, stud force wanted by tightening; held at the cold yield force [N]
    Returns a Clamp, forces in N and travels in m [-]
    Raises ValueError for a preload that is not positive.
    """
    if not preload > 0.0:
        raise ValueError(f"preload {preload:g} N: a joint is tightened with a positive force")
    cold, hot = joint.cold_compliance, joint.hot_compliance
    warm_disc = joint.stack.disc._replace(modulus=joint.stack.disc.modulus * joint.stack_modulus_ratio)
    warm_stack = joint.stack._replace(disc=warm_disc)
    tightened = min(preload, joint.cold_yield_force)
    taken = interference(tightened, cold, joint.stack) - joint.settling
    settled = force_of(taken, cold, joint.stack)
    hot_force, plastic = _yielded(taken + joint.growth, hot, warm_stack, joint.hot_yield_force)
    cooled = force_of(taken - plastic, cold, joint.stack)
    flat = stack_deflection(joint.stack, max(tightened, cooled))[1] or stack_deflection(warm_stack, hot_force)[1]
    gaps = (max(0.0, -taken - joint.growth), max(0.0, plastic - taken))
    return Clamp(tightened, settled, hot_force, cooled, plastic, *gaps, flat)


def stud_margin(force: float, area: float, stress: float) -> float:
    """What is left of a stud to its yield or proof stress at its temperature; negative past it.

    force : float, stud force [N]
    area : float, stress area [m2]
    stress : float, yield or proof stress [Pa]
    Returns the margin as a share of what it bears [-]
    """
    return 1.0 - force / (area * stress)


def gas_force(gauge_pressure: float, area: float) -> float:
    """Force by which exhaust pressure parts the flange.

    gauge_pressure : float, peak exhaust pressure above the air outside [Pa]
    area : float, inside the sealing line [m2]
    Returns the parting force of the whole flange [N]
    """
    return gauge_pressure * area


def clamp_left(stud_force: float, studs: int, parting_force: float, stud_share: float = 0.0) -> float:
    """Clamp left on the sealing face; the parts give up what the studs do not take of the parting force.

    stud_force : float, of one stud [N]
    studs : int, how many [-]
    parting_force : float, of the whole flange [N]
    stud_share : float, share of the parting force that goes into the studs, see load_factor; 0 is the safe side [-]
    Returns the clamp of the whole flange, negative where it opens [N]
    """
    return studs * stud_force - (1.0 - stud_share) * parting_force


def roughness_settling(roughness: float, threads: int, faces: int, interfaces: int) -> float:
    """Settling of one stud's joint, VDI 2230 Table 5 for tension and compression (from memory, confidence med).

    roughness : float, Rz of the surfaces, up to 160e-6 [m]
    threads : int, engaged threads [-]
    faces : int, head and nut faces [-]
    interfaces : int, faces between layers, washers and gasket included [-]
    Returns the settling [m]
    Raises ValueError for rougher surfaces than the table holds.
    """
    for limit, (thread, face, interface) in SETTLING.items():
        if roughness <= limit:
            return threads * thread + faces * face + interfaces * interface
    raise ValueError(f"roughness Rz {1e6 * roughness:.0f} um: the table ends at 160 um")
