"""A collector modelled as volumes in a row: which runner enters which, where the turbine stands, what cannot be."""

import math
from collections.abc import Iterator
from typing import TYPE_CHECKING

import numpy as np

from . import standins
from .records import Array

if TYPE_CHECKING:
    from .case import Case
    from .sections import Sections

# Of a part, over its bore: thinner slices have no volume to speak of beside what passes them in a step [-].
SHORTEST = 0.2
# No step is longer than two thirds of the time sound takes through a part, here at 670 m/s: between that and the whole of it
# gas begins to ripple between the parts, and gives its heat to the wall more than once.
CROSSED = 1000.0  # [m/s]


def volumes(case: "Case") -> int:
    """How many make up a collector: one where it stands for a plenum of fixed pressure."""
    plenum = case.is_bench or case.run.held_backpressure is not None
    return 1 if plenum else case.exhaust.collector_volumes


def outlet(volumes: int, turbine_at: str) -> int:
    """Which of the volumes in a row is the one before the turbine, counted from 0."""
    return {"first": 0, "middle": volumes // 2, "last": volumes - 1}[turbine_at]


def places(runners: int, volumes: int, turbine: int) -> list[int]:
    """Which of the volumes in a row each runner enters, evenly along it; on a border the one nearer the turbine."""
    found = []
    for k in range(runners):
        place, beyond = divmod((2 * k + 1) * volumes, 2 * runners)
        found.append(place - 1 if beyond == 0 and place > turbine else place)
    return found


def entry(collector: int, collectors: int, volumes: int, place: int, turbine: int) -> int:
    """Row of a place in a collector, counted behind the runners: the parts before the turbine come first."""
    if place == turbine:
        return collector
    return collectors + collector * (volumes - 1) + (place if place < turbine else place - 1)


def places_of(entries: Array, collectors: int, volumes: int, turbine: int) -> Array:
    """Places in their collectors of the rows that `entry` gave."""
    behind = (entries.astype(int) - collectors) % max(volumes - 1, 1)
    return np.where(entries < collectors, turbine, behind + (behind >= turbine))


def entries(case: "Case", collector: Array) -> list[int]:
    """Row of the volume each runner enters: cylinders stand along their collector in the order of their numbers."""
    count = volumes(case)
    if count == 1:
        return [int(c) for c in collector]
    turbine = outlet(count, case.exhaust.turbine_at)
    found = [0] * collector.size
    for c in range(int(collector.max()) + 1):
        members = np.flatnonzero(collector == c)
        for j, place in zip(members, places(members.size, count, turbine), strict=True):
            found[j] = entry(c, case.exhaust.collectors, count, place, turbine)
    return found


def widest(case: "Case") -> float:
    """Longest step of gas exchange that the parts of a collector bear [deg]."""
    count, x = volumes(case), case.exhaust
    if count == 1:
        return math.inf
    length = x.collector_volume / count / (math.pi / 4.0 * x.collector_diameter**2)
    return 6.0 * case.run.speed_rpm * length / CROSSED


def problems(case: "Sections") -> Iterator[str]:
    """A row without a middle, or whose parts are mere slices."""
    exhaust, given = case.exhaust, case.exhaust.model_fields_set
    count = exhaust.collector_volumes
    if count == 1:
        return
    if exhaust.turbine_at == "middle" and count % 2 == 0:
        yield (
            f'exhaust.collector_volumes = {count} has no volume in the middle for exhaust.turbine_at = "middle"; write {count + 1}.'
        )
    whole = exhaust.collector_volume if "collector_volume" in given else standins.collector_volume(case)
    runner = exhaust.runner_diameter if "runner_diameter" in given else standins.runner_diameter(case)
    stand_in = standins.collector_diameter(case, runner)
    bore = exhaust.collector_diameter if "collector_diameter" in given else stand_in
    most = max(1, int(whole / (math.pi / 4.0 * SHORTEST * bore**3)))
    if count > most:
        yield (
            f"exhaust.collector_volumes = {count} cuts a collector of {1e6 * whole:.0f} cc and {1e3 * bore:.0f} mm bore into parts "
            f"shorter than a fifth of the bore; write {most}, or check exhaust.collector_volume and exhaust.collector_diameter."
        )
