"""One stud's joint from the case: temperatures, compliances, growth, settling, strengths, with or without conical washers."""

import math
from typing import NamedTuple

import numpy as np

from ....models import flange as bolting
from ....models import materials
from ....models.materials import CASTINGS, STUDS, Metal
from ...errors import CaseError
from ...flange_inputs import filled_washers, thread_area
from ...sections_flange import Flange, Washers

GASKET_METAL = "304"  # whose growth a gasket is given; it is thin
WASHER_METAL = {
    "51CrV4": "10.9",
    "X10CrNi18-8": "A2-70",
    "660": "660",
    "718": "718",
}  # whose modulus and growth they have


class Temperatures(NamedTuple):
    """Metal temperatures of one state [K]."""

    wall: float
    flange: float
    stud: float


class Built(NamedTuple):
    """A joint of the physics room with the parts it was made from."""

    joint: bolting.Joint
    hot_stack: bolting.Stack  # the washers with their hot modulus
    stud: float  # compliance cold [m/N]
    parts: float  # compliance of layers and gasket cold [m/N]
    area: float  # of the stud, the lesser of thread and shank [m2]


def temperatures(flange: Flange, cold: float, wall: float) -> tuple[Temperatures, Temperatures]:
    """Cold and hot state; flange and stud follow the wall by their share of its rise unless they are given."""

    def share(given: float | None, part: float) -> float:
        return given if given is not None else cold + part * (wall - cold)

    hot = Temperatures(
        wall, share(flange.flange_temperature, flange.flange_rise), share(flange.stud_temperature, flange.stud_rise)
    )
    return Temperatures(cold, cold, cold), hot


def between(cold: Temperatures, hot: Temperatures, share: float) -> Temperatures:
    """A state on the way from cold (0) to hot (1), or past it."""
    return Temperatures(*(a + share * (b - a) for a, b in zip(cold, hot, strict=True)))


def check_data(flange: Flange, washers: Washers | None, state: Temperatures) -> None:
    """Raise CaseError where a part is outside what its material's data hold."""
    low, high = materials.GRID[0] - 100.0, materials.GRID[-1]
    parts = [("studs", flange.stud_metal, state.stud)]
    parts += [("flanges", f"{flange.near_metal} and {flange.far_metal}", state.flange)]
    if washers is not None:
        parts.append(("conical washers", washers.metal, state.stud))
    for part, metal, temperature in parts:
        if not low <= temperature <= high:
            raise CaseError(
                f"flange: the {part} at {temperature - 273.15:.0f} degC (wall {state.wall - 273.15:.0f} degC) are outside the "
                f"data of {metal}, which hold from {low - 273.15:.0f} to {high - 273.15:.0f} degC; take another material or "
                "give flange_temperature and stud_temperature as measured."
            )


def layers(flange: Flange) -> list[tuple[float, Metal, float | None]]:
    """What nut or head clamps, from its face on: thickness [m], metal, and a gasket's own modulus [Pa]."""
    found: list[tuple[float, Metal, float | None]] = [(flange.near_thickness, CASTINGS[flange.near_metal], None)]
    if flange.gasket is not None:
        found.append((flange.gasket.thickness, CASTINGS[GASKET_METAL], flange.gasket.modulus))
    if flange.holding == "nut":
        found.append((flange.far_thickness, CASTINGS[flange.far_metal], None))
    return found


def build(flange: Flange, cold: Temperatures, hot: Temperatures, washers: Washers | None) -> Built:
    """The joint of one stud between two states."""
    size, pitch = bolting.THREADS[flange.thread]
    clamped, stud = layers(flange), STUDS[flange.stud_metal]
    area = min(thread_area(flange.thread), 0.25 * math.pi * flange.shank_diameter**2)
    solid = washers.nested * washers.opposed * washers.thickness if washers else 0.0
    free = sum(thickness for thickness, _, _ in clamped) + solid
    holding = bolting.THROUGH if flange.holding == "nut" else bolting.TAPPED

    def compliances(state: Temperatures) -> tuple[float, float]:
        shank = 0.25 * math.pi * flange.shank_diameter**2
        modulus = materials.modulus(stud, state.stud)
        stretch = bolting.stud_compliance(size, pitch, [free], [shank], modulus, holding, flange.headed)
        moduli = [own if own is not None else materials.modulus(metal, state.flange) for _, metal, own in clamped]
        thickness = [t for t, _, _ in clamped]
        squeeze = bolting.parts_compliance(
            thickness, moduli, flange.face_diameter, flange.hole_diameter, flange.edge_diameter, holding
        )
        return stretch, squeeze

    before, after = compliances(cold), compliances(hot)
    stack, ratio = _stack(washers, cold, hot)
    joint = bolting.Joint(
        sum(before), sum(after), _growth(clamped, stud, washers, solid, cold, hot), settling(flange, washers),
        area * materials.yield_stress(stud, cold.stud), area * materials.yield_stress(stud, hot.stud), stack, ratio,
    )  # fmt: skip
    warm = stack._replace(disc=stack.disc._replace(modulus=stack.disc.modulus * ratio))
    return Built(joint, warm, *before, area)


def _growth(
    clamped: list[tuple[float, Metal, float | None]], stud: Metal, washers: Washers | None, solid: float,
    cold: Temperatures, hot: Temperatures,
) -> float:  # fmt: skip
    """Growth of what is clamped less that of the stud; conical washers are as warm as the stud [m]."""
    lengths = [thickness for thickness, _, _ in clamped]
    strains = [materials.thermal_strain(metal, hot.flange, cold.flange) for _, metal, _ in clamped]
    if washers is not None:
        lengths.append(solid)
        strains.append(materials.thermal_strain(STUDS[WASHER_METAL[washers.metal]], hot.stud, cold.stud))
    return bolting.growth_difference(lengths, strains, materials.thermal_strain(stud, hot.stud, cold.stud))


def _stack(washers: Washers | None, cold: Temperatures, hot: Temperatures) -> tuple[bolting.Stack, float]:
    """The washers as a spring, cold, and their hot modulus over the cold one."""
    if washers is None:
        return bolting.NO_STACK, 1.0
    metal = STUDS[WASHER_METAL[washers.metal]]
    modulus = materials.modulus(metal, cold.stud)
    disc = bolting.Disc(
        washers.outer_diameter, washers.inner_diameter, washers.thickness, washers.cone, modulus=modulus
    )
    stack = bolting.Stack(disc, washers.nested, washers.opposed, washers.friction)
    return stack, materials.modulus(metal, hot.stud) / modulus


def settling(flange: Flange, washers: Washers | None) -> float:
    """Flattening of threads, faces and interfaces, and of the gasket [m].

    Each packet of conical washers is one interface more; the faces inside a packet were pressed by the maker, who
    prestresses disc springs (EN 16983, from memory).
    """
    faces = 2 if flange.holding == "nut" else 1
    threads = 1 if flange.headed else 2
    interfaces = len(layers(flange)) - (1 if flange.holding == "nut" else 0)
    interfaces += washers.opposed if washers else 0
    gasket = flange.gasket.settling if flange.gasket else 0.0
    return bolting.roughness_settling(flange.roughness, threads, faces, interfaces) + gasket


def flat_force(stack: bolting.Stack) -> float:
    """Force that lays a stack flat [N]."""
    return bolting.stack_force(stack, stack.opposed * stack.disc.cone)


def stress_limit(metal: str) -> float:
    """Reference stress past which a conical washer sets: 1600 MPa for spring steels, else yield; DIN 2092, memory, med [Pa]."""
    return materials.yield_stress(STUDS[metal], materials.ROOM) if metal in STUDS else 1600e6


def washer_stress(stack: bolting.Stack, force: float) -> float:
    """Greatest reference stress of a stack under a force, as a positive number [Pa]."""
    travel, _ = bolting.stack_deflection(stack, force)
    return -bolting.disc_stress(stack.disc, min(travel / stack.opposed, stack.disc.cone))


def proposed_washers(flange: Flange, most: float, cold: Temperatures, hot: Temperatures) -> Washers:
    """Conical washers by the thread's size, of the first metal that stands the studs' heat, nested for a preload [N].

    As many are nested as keep nine tenths of their travel and the stress at which they set: twelve at most.
    """
    stands = (m for m in WASHER_METAL if materials.LIMITS[f"{m} conical washer"].continuous >= hot.stud)
    size = bolting.THREADS[flange.thread][0]
    one = filled_washers(Washers(), size).model_copy(update={"metal": next(stands, "718")})
    for nested in range(1, 13):
        washers = one.model_copy(update={"nested": nested})
        stack, _ = _stack(washers, cold, hot)
        travel = 0.9 * stack.opposed * stack.disc.cone
        if bolting.stack_force(stack, travel) >= most and washer_stress(stack, most) <= stress_limit(washers.metal):
            break
    return washers


class Path(NamedTuple):
    """Stud force against wall temperature, warming and cooling."""

    wall: np.ndarray  # [K]
    warming: np.ndarray  # [N]
    cooling: np.ndarray  # [N]
    bearable: np.ndarray  # force at which the stud yields [N]


def path(
    flange: Flange, cold: Temperatures, hot: Temperatures, washers: Washers | None, preload: float, points: int = 25
) -> Path:
    """The stud's force on the way to the hot state and back; what yielded on the way stays yielded."""
    rows, plastic = [], 0.0
    states = [between(cold, hot, x) for x in np.linspace(0.0, 1.0, points)]
    steps = [build(flange, cold, state, washers) for state in states]
    first = steps[0]
    taken = bolting.interference(
        min(preload, first.joint.cold_yield_force), first.joint.cold_compliance, first.joint.stack
    )
    taken -= first.joint.settling
    for built in steps:
        amount = taken - plastic + built.joint.growth
        force = bolting.force_of(amount, built.joint.hot_compliance, built.hot_stack)
        if force > built.joint.hot_yield_force:
            force = built.joint.hot_yield_force
            plastic += amount - bolting.interference(force, built.joint.hot_compliance, built.hot_stack)
        rows.append(force)
    back = [bolting.force_of(taken - plastic + b.joint.growth, b.joint.hot_compliance, b.hot_stack) for b in steps]
    yields = np.array([b.joint.hot_yield_force for b in steps])
    return Path(np.array([s.wall for s in states]), np.array(rows), np.minimum(back, yields), yields)
