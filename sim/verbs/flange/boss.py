"""The hole tapped for a probe or a pressure line: whole thread, wall left, what strips it, what the stem blocks."""

import math
from typing import Any

from ....models import boss as bossing
from ....models import materials
from ....models.boss import TAPERS
from ....models.threads import THREADS, strip_force
from ...case import Case
from ...errors import CaseError
from ...sections_flange import Boss
from .heat import Heat
from .margins import above, under

KIND = {
    "carbon steel": "steel",
    "304": "stainless steel",
    "321": "stainless steel",
    "cast 25-20 steel": "stainless steel",
}
TURNS = 2.0  # of a taper thread past hand-tight; common practice, no source


def check(case: Case, heat: Heat) -> dict[str, Any]:
    """The boss of a case at its place's heat and pressure; raises CaseError where the hole cannot be drilled so."""
    boss = case.boss
    assert boss is not None
    low, high = materials.GRID[0] - 100.0, materials.GRID[-1]
    if not low <= heat.wall <= high:
        raise CaseError(
            f"boss: the wall at {heat.wall - 273.15:.0f} degC is outside the data of {boss.metal}, which hold from "
            f"{low - 273.15:.0f} to {high - 273.15:.0f} degC."
        )
    try:
        return _checked(case, boss, heat)
    except ValueError as error:
        raise CaseError(f"boss: {error}.") from None


def thread_of(boss: Boss) -> tuple[float, float, float]:
    """Drilled width, pitch and the length of whole thread asked for [m]; a taper counts as wide as its drill."""
    if boss.thread in TAPERS:
        drill, pitch, hand, _ = TAPERS[boss.thread]
        return drill, pitch, hand + TURNS * pitch
    size, pitch = THREADS[boss.thread]
    return size, pitch, bossing.engagement_needed(size, bossing.ENGAGEMENT[KIND.get(boss.metal, "cast iron")])


def _checked(case: Case, boss: Boss, heat: Heat) -> dict[str, Any]:
    hole, pitch, needed = thread_of(boss)
    radius, metal = 0.5 * boss.inner_diameter + boss.wall, materials.CASTINGS[boss.metal]
    whole = bossing.full_thread(radius, boss.wall, hole, pitch, boss.height, boss.offset)
    strips = strip_force(hole, pitch, whole, materials.shear_strength(metal, heat.wall))
    push = heat.peak * math.pi / 4.0 * hole**2
    stress = bossing.hole_stress(heat.peak, radius, boss.wall)
    rows = [
        above("boss_whole_thread_m", whole, needed),
        under("boss_thread_strip_force_n", push, strips),
        under("boss_wall_stress_pa", stress, materials.yield_stress(metal, heat.wall)),
    ]
    if boss.edge is not None:
        rows.append(above("boss_edge_distance_m", boss.edge, bossing.EDGE_DISTANCE * hole))
    return {
        "place": boss.place,
        "thread": boss.thread,
        "wall_temperature_k": heat.wall,
        "whole_thread_m": whole,
        "whole_thread_needed_m": needed,
        "boss_height_needed_m": bossing.boss_height_for(radius, boss.wall, hole, pitch, needed),
        "wall_left_share": bossing.section_left(radius, boss.wall, hole),
        "wall_to_edge_m": None if boss.edge is None else bossing.ligament(boss.edge, hole),
        "gas_push_n": push,
        "probe_blockage_share": _blockage(case, boss),
        "margins": rows,
    }


def _blockage(case: Case, boss: Boss) -> float | None:
    """Share of the section that the case's probe at this place stands in; None without one."""
    probe = next((p for p in case.probe if p.cylinder == boss.place), None)
    if probe is None:
        return None
    return bossing.blockage(0.5 * boss.inner_diameter, probe.junction_diameter, probe.immersion)
