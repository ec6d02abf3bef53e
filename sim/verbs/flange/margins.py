"""Margins of the joint, each also as a share of its limit so that unlike ones can be compared, and which is least."""

from typing import Any

from ....models import flange as bolting
from ....models import materials
from ....models.materials import CASTINGS, STUDS
from ...sections_flange import Flange
from .joint import Temperatures, flat_force, stress_limit, washer_stress
from .result import Check

Row = dict[str, Any]


def under(name: str, value: float, limit: float) -> Row:
    """A value that must stay below its limit."""
    share = 1.0 - value / limit if limit > 0.0 else -1.0
    return {
        "name": name,
        "value": value,
        "limit": limit,
        "margin": limit - value,
        "exceeded": value > limit,
        "share": share,
    }


def above(name: str, value: float, limit: float) -> Row:
    """A value that must stay above its limit; the share is of the greater of the two."""
    share = (value - limit) / max(value, limit) if max(value, limit) > 0.0 else 0.0
    return {
        "name": name,
        "value": value,
        "limit": limit,
        "margin": value - limit,
        "exceeded": value < limit,
        "share": share,
    }


def warmer(name: str, temperature: float, limit: float, cold: float) -> Row:
    """A temperature that must stay below its limit; the share is of the rise over the cold state."""
    return under(name, temperature, limit) | {"share": (limit - temperature) / max(limit - cold, 1.0)}


def margins(check: Check, clamps: dict[str, bolting.Clamp]) -> list[Row]:
    """Rows of name, value, limit, margin, exceeded and share of the joint as fitted, the least share first.

    clamps : clamp cycles at the lowest, usual and highest preload of the torque
    """
    f, cold, hot = check.flange, check.cold, check.hot
    least, most, built = clamps["lowest"], clamps["highest"], check.built[check.fitted]
    proof = built.area * materials.proof_stress(STUDS[f.stud_metal], hot.stud)
    rows = [
        under("stud_force_in_tightening_n", check.preload["highest"], check.state.yields),
        under("stud_force_hot_n", most.hot, proof),
        above("clamp_hot_n", f.studs * least.hot, check.wanted),
        above("clamp_cold_again_n", f.studs * least.cooled, check.wanted),
    ]
    if f.holding == "tapped":
        rows += strip_rows(f, most, cold, hot)
    if f.washers is not None:
        highest = max(most.tightened, most.hot, most.cooled)
        flat = min(flat_force(built.joint.stack), flat_force(built.hot_stack))
        rows.append(under("washer_force_to_flat_n", highest, flat))
        stress = washer_stress(built.joint.stack, most.tightened)
        rows.append(under("washer_stress_pa", stress, stress_limit(f.washers.metal)))
    return sorted(rows + temperature_rows(f, cold, hot), key=lambda row: row["share"])


def temperature_rows(f: Flange, cold: Temperatures, hot: Temperatures) -> list[Row]:
    """What each part stands for long, against what it gets."""
    parts = [("stud", hot.stud, STUDS[f.stud_metal].limit)]
    parts += [("near_flange", hot.flange, CASTINGS[f.near_metal].limit)]
    parts += [("far_flange", hot.flange, CASTINGS[f.far_metal].limit)]
    if f.washers is not None:
        parts.append(("washer", hot.stud, materials.LIMITS[f"{f.washers.metal} conical washer"].continuous))
    if f.paste is not None:
        parts.append(("paste", hot.stud, materials.LIMITS[f"{f.paste} anti-seize paste"].continuous))
    return [warmer(f"{name}_temperature_k", now, limit, cold.wall) for name, now, limit in parts]


def strip_rows(flange: Flange, most: bolting.Clamp, cold: Temperatures, hot: Temperatures) -> list[Row]:
    """Threads of a tapped far flange and of the stud in it, as tightened and hot."""
    size, pitch = bolting.THREADS[flange.thread]
    housing, stud = CASTINGS[flange.far_metal], STUDS[flange.stud_metal]
    rows = []
    for when, force, state in (("tightening", most.tightened, cold), ("hot", most.hot, hot)):
        sides = (
            ("flange", materials.shear_strength(housing, state.flange), True),
            ("stud", materials.shear_strength(stud, state.stud), False),
        )
        for side, strength, internal in sides:
            limit = bolting.strip_force(size, pitch, flange.engagement, strength, internal)
            rows.append(under(f"{side}_thread_strip_force_{when}_n", force, limit))
    return rows
