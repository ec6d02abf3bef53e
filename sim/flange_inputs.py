"""Stand-ins of [flange] and [boss], which follow from the thread and the runner, and what in them contradicts itself."""

import math
from collections.abc import Iterator
from typing import TYPE_CHECKING

from ..models.boss import TAPERS
from ..models.threads import HEXAGON, THREADS, stress_area
from .schema import Section
from .sections_flange import Boss, Flange, Washers
from .standins import filled

if TYPE_CHECKING:
    from .sections import Sections


def is_unified(thread: str) -> bool:
    """Whether a thread is one of ASME B1.1, whose stress area is its own."""
    return thread.endswith(("UNC", "UNF"))


def thread_area(thread: str) -> float:
    """Tensile stress area of a named thread [m2]."""
    return stress_area(*THREADS[thread], unified=is_unified(thread))


def fill(case: "Sections") -> "Sections":
    """The case with the stand-ins of [flange] and [boss]; what was given stays. Runners and collectors are filled in before."""
    bore = case.exhaust.runner_diameter
    update: dict[str, Section] = {}
    if case.flange is not None:
        update["flange"] = filled_flange(case.flange, bore)
    if case.boss is not None:
        wide = isinstance(case.boss.place, str)
        update["boss"] = filled(case.boss, inner_diameter=case.exhaust.collector_diameter if wide else bore)
    return case.model_copy(update=update) if update else case


def filled_flange(flange: Flange, runner_bore: float) -> Flange:
    """[flange] with its stand-ins; washers only where there are some."""
    size = THREADS[flange.thread][0]
    face, hole = (
        HEXAGON.get(size, (1.5 * size, 1.1 * size)) if not is_unified(flange.thread) else (1.5 * size, 1.1 * size)
    )
    flange = filled(
        flange,
        shank_diameter=math.sqrt(4.0 / math.pi * thread_area(flange.thread)),
        engagement=1.5 * size,
        face_diameter=face,
        hole_diameter=hole,
        edge_diameter=2.5 * size,
        opening_area=2.0 * math.pi / 4.0 * runner_bore**2,
    )
    return flange.model_copy(update={"washers": filled_washers(flange.washers, size)}) if flange.washers else flange


def filled_washers(washers: Washers, size: float) -> Washers:
    """Conical washers with their stand-ins for a thread diameter [m]; proportions near DIN 6796, memory, confidence med."""
    return filled(
        washers, outer_diameter=2.3 * size, inner_diameter=1.05 * size, thickness=0.25 * size, cone=0.03 * size
    )


def problems(case: "Sections") -> list[str]:
    """One sentence for each contradiction in [flange] and [boss], as given."""
    found = list(_places(case))
    if case.flange is not None:
        flange = filled_flange(case.flange, 0.04)
        found += [*_flange(flange), *(_washers(flange, flange.washers) if flange.washers else ())]
    return found + (list(_boss(case.boss)) if case.boss is not None else [])


def _places(case: "Sections") -> Iterator[str]:
    n = case.engine.cylinders
    for name, item in (("flange", case.flange), ("boss", case.boss)):
        if item is not None and isinstance(item.place, int) and not 1 <= item.place <= n:
            yield f'{name}.place = {item.place} is not in this engine; write 1 to {n}, or "collector".'
        if item is not None and item.place == "collector 2" and case.exhaust.collectors < 2:
            yield f'{name}.place = "collector 2" is not in this engine, which has one collector; write "collector".'


def _mm(length: float) -> str:
    return f"{1e3 * length:.4g} mm"


def _flange(flange: Flange) -> Iterator[str]:
    size = THREADS[flange.thread][0]
    if flange.hole_diameter < size:
        yield f"flange.hole_diameter = {_mm(flange.hole_diameter)} does not let the {flange.thread} thread through; measure both."
    if flange.face_diameter <= flange.hole_diameter:
        yield (
            f"flange.face_diameter = {_mm(flange.face_diameter)} falls into the hole of {_mm(flange.hole_diameter)}; "
            "measure the face that bears on the flange."
        )
    if flange.edge_diameter < flange.face_diameter:
        yield (
            f"flange.edge_diameter = {_mm(flange.edge_diameter)} is less than the nut's face of "
            f"{_mm(flange.face_diameter)}; write twice the distance from the hole's centre to the nearest edge."
        )
    if flange.shank_diameter > 1.05 * size:
        yield f"flange.shank_diameter = {_mm(flange.shank_diameter)} is thicker than the {flange.thread} thread; measure again."
    if flange.paste is not None and flange.lubrication != "pasted":
        yield f'flange.paste = "{flange.paste}" does not go with lubrication = "{flange.lubrication}"; write "pasted".'


def _washers(flange: Flange, washers: Washers) -> Iterator[str]:
    size = THREADS[flange.thread][0]
    if washers.inner_diameter < size:
        yield (
            f"flange.washers.inner_diameter = {_mm(washers.inner_diameter)} does not go over the {flange.thread} thread; "
            "measure both."
        )
    if washers.outer_diameter < 1.3 * washers.inner_diameter:
        yield (
            f"flange.washers.outer_diameter = {_mm(washers.outer_diameter)} leaves no cone around a hole of "
            f"{_mm(washers.inner_diameter)}; it must be at least 1.3 times as wide."
        )
    if washers.cone > math.sqrt(2.0) * washers.thickness:
        yield (
            f"flange.washers.cone = {_mm(washers.cone)} is {washers.cone / washers.thickness:.2f} times the thickness: past "
            "1.41 the washer can snap through, so the formula names no one force; measure the height without the metal."
        )


def _boss(boss: Boss) -> Iterator[str]:
    hole = TAPERS[boss.thread][0] if boss.thread in TAPERS else THREADS[boss.thread][0]
    if boss.inner_diameter == boss.inner_diameter and boss.offset + 0.5 * hole >= 0.5 * boss.inner_diameter:
        yield (
            f'boss.thread = "{boss.thread}", {_mm(hole)} wide and {_mm(boss.offset)} beside the axis, does not enter a bore '
            f"of {_mm(boss.inner_diameter)} whole; take a smaller thread or bring it to the middle."
        )
