"""The torque for the studs: how far the slipperiest friction may take them, how much the joint needs, what lies between."""

import math
from typing import Any, NamedTuple

from ....models import flange as bolting
from ....models import materials
from ...errors import CaseError
from ...sections_flange import Flange
from .joint import Built

FRICTION_OF = {
    "zinc plated": "oiled",
    "cadmium plated": "oiled",
}  # friction class of a surface that has none of its own
WRENCH = 0.04  # tolerance of a setting torque wrench; ISO 6789, from memory, confidence high [-]


class Tightening(NamedTuple):
    """Torques [Nm] and stud forces [N] of one state of the threads."""

    surface: str
    nut_factor: float
    scatter: float
    yields: float  # force at which the stud yields in tension and torsion
    highest: float  # torque with which the slipperiest friction reaches the share of yield allowed
    proposed: float  # the highest less the wrench's tolerance


def tightening(flange: Flange, surface: str, cold: float) -> Tightening:
    """What the studs bear with threads and faces in one state, tightened at `cold` [K]."""
    size, pitch = bolting.THREADS[flange.thread]
    factor, scatter = bolting.NUT_FACTOR[surface]
    if surface == flange.lubrication:
        factor = flange.nut_factor if flange.nut_factor is not None else factor
        scatter = flange.scatter if flange.scatter is not None else scatter
    root = 0.5 * (bolting.pitch_diameter(size, pitch) + bolting.root_diameter(size, pitch))
    waist = flange.shank_diameter if flange.shank_diameter < root else 0.0
    strength = materials.yield_stress(materials.STUDS[flange.stud_metal], cold)
    yields = bolting.yield_preload(size, pitch, strength, friction_of(surface)[1], 1.0, waist)
    highest = bolting.torque_short(flange.utilisation * yields, factor * (1.0 - scatter), size)
    return Tightening(surface, factor, scatter, yields, highest, highest / (1.0 + WRENCH))


def formula_torque(flange: Flange, surface: str, preload: float) -> list[float]:
    """What the friction formula asks for a preload [N], with the low, usual and high friction of a surface [Nm]."""
    size, pitch = bolting.THREADS[flange.thread]
    bearing = 0.5 * (flange.face_diameter + flange.hole_diameter)
    return [bolting.torque_long(preload, size, pitch, bearing, mu, mu) for mu in friction_of(surface)]


def friction_of(surface: str) -> tuple[float, float, float]:
    """Low, usual and high friction coefficient of threads and faces [-]."""
    return bolting.FRICTION[FRICTION_OF.get(surface, surface)]


def lowest_torque(state: Tightening, built: Built, flange: Flange, wanted: float) -> float | None:
    """Torque with which even the stickiest friction keeps the clamp wanted on each stud [N] cold, hot and cold again.

    None where no torque does, because the studs yield hot.
    """
    joint = built.joint
    if wanted <= 0.0:
        return 0.0
    left = max(
        bolting.interference(wanted, joint.cold_compliance, joint.stack),
        bolting.interference(wanted, joint.hot_compliance, built.hot_stack) - joint.growth,
    )
    preload = bolting.force_of(left + joint.settling, joint.cold_compliance, joint.stack)
    clamp = bolting.clamp_cycle(joint, max(preload, 1.0))
    if min(clamp.settled, clamp.hot, clamp.cooled) < wanted * (1.0 - 1e-6):
        return None
    return bolting.torque_short(preload, state.nut_factor * (1.0 + state.scatter), bolting.THREADS[flange.thread][0])


def checked_torque(flange: Flange, state: Tightening) -> float:
    """The torque of the case, or the one proposed; CaseError where it takes the studs past yield at usual friction."""
    if flange.torque is None:
        return state.proposed
    preload = flange.torque / (state.nut_factor * bolting.THREADS[flange.thread][0])
    if preload > state.yields:
        raise CaseError(
            f"flange.torque = {flange.torque:.4g} Nm pulls {preload / 1e3:.3g} kN on {state.surface} threads, past the "
            f"{state.yields / 1e3:.3g} kN at which a stud {flange.thread} of {flange.stud_metal} yields in tightening; "
            f"write {state.highest:.3g} Nm at most, less where the maker's figure is less."
        )
    return flange.torque


def force_band(torque: float, state: Tightening, thread: str) -> tuple[float, float, float]:
    """Lowest, usual and highest preload that a torque leaves [N]."""
    return bolting.preload_band(torque, state.nut_factor, state.scatter, bolting.THREADS[thread][0])


def wrench_setting(flange: Flange, torque: float) -> float | None:
    """What the wrench is set to with the adapter stated [Nm]; None without one. Raises CaseError past the grip."""
    adapter = flange.adapter
    if adapter is None:
        return None
    try:
        return bolting.wrench_setting(torque, adapter.wrench_length, adapter.extension, math.radians(adapter.angle))
    except ValueError as error:
        raise CaseError(f"flange.adapter: {error}; turn it forward or take a longer wrench.") from None


def highest_without_yield_hot(state: Tightening, built: Built, flange: Flange, strength: float) -> float | None:
    """Torque up to which the hot studs stay under a force [N] even where friction is slippery; None where none does."""
    joint = built.joint
    taken = bolting.interference(strength, joint.hot_compliance, built.hot_stack) - joint.growth + joint.settling
    if taken <= 0.0:
        return None
    preload = bolting.force_of(taken, joint.cold_compliance, joint.stack)
    torque = bolting.torque_short(preload, state.nut_factor * (1.0 - state.scatter), bolting.THREADS[flange.thread][0])
    return min(torque, state.highest)


def surfaces(flange: Flange, here: Tightening, cold: float) -> list[dict[str, Any]]:
    """For every state of the threads: the torque it takes, and what that torque would do on the threads of the case."""
    rows = []
    for surface in bolting.NUT_FACTOR:
        state = tightening(flange, surface, cold)
        preload = force_band(state.proposed, here, flange.thread)[1]
        rows.append(
            {
                "surface": surface,
                "nut_factor": state.nut_factor,
                "scatter": state.scatter,
                "torque_proposed_nm": state.proposed,
                "torque_highest_nm": state.highest,
                "preload_here_n": preload,
                "yield_share_here": preload / here.yields,
            }
        )
    return rows
