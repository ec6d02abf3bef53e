"""From a case to the records the kernels read."""

import math
from functools import lru_cache
from itertools import pairwise
from operator import itemgetter
from typing import Any, NamedTuple

import numpy as np

from ..models import air, burn_table, combustion, friction, gas, geometry, knock, valves, wall_heat
from ..models.fuels import Fuel, blend, flame_family
from ..models.turbine import Turbine
from . import collector_parts
from .case import Case
from .machines import compressor_of, turbine_of
from .plant import plant as build_plant
from .records import (
    IN_AIR,
    IN_CA50,
    IN_COLLECTOR,
    IN_ENTRY,
    IN_NEXT,
    IN_OFFSET,
    IN_PHI,
    IN_RUNNER_SURFACE,
    IN_RUNNER_VOLUME,
    IN_SPARK,
    N_INPUT,
    Array,
    Engine,
)
from .sections_engine import Burn, IntakeValve
from .spray import whole_fuel
from .surroundings import Plant
from .tables import Progress
from .tables_between import charge_table
from .water import water_from
from .zones import KERNEL_SHARE

LEAST_OCTANE = 10.0  # n-heptane's 0 would make the delay vanish; far outside the correlation either way [-]
INFINITE = 1e5  # volume that stands for a plenum of fixed pressure [m3]
RUNNER_DISCHARGE = 0.9  # of a runner's mouth into the collector; from memory, confidence medium
WIEBE_A = 5.0  # efficiency constant of the burn curve, Heywood (1988) sec. 9.2 [-]
MOST_BURNED = 0.9999  # of a table: further out a place on Wiebe's curve says more about noise than about the burn [-]
FRICTION = {"chen_flynn": friction.CHEN_FLYNN, "patton": friction.PATTON, "sandoval": friction.SANDOVAL}


# What alike cylinders have in common: all but when they fire, after which, and into what; a table of the burn is every one's.
SHARED = itemgetter(*(i for i in range(N_INPUT) if i not in (IN_OFFSET, IN_COLLECTOR, IN_ENTRY, IN_NEXT)))


class Setup(NamedTuple):
    """Everything a march needs, from one case."""

    case: Case
    fuel: Fuel
    octane: float
    ambient: air.Ambient
    engine: Engine
    plant: Plant
    table: gas.GasTable
    machine: Turbine
    chart: Array  # the compressor's map, packed
    areas: Array
    inputs: Array
    friction: friction.Friction
    tank: Fuel  # without what is sprayed in beside it


def prepare(
    case: Case, progress: Progress | None = None, width: float | None = None, alike: bool | None = None
) -> Setup:
    """Records for one case.

    width : step of gas exchange [deg]; the default keeps the errors stated in benchmarks/
    alike : False marches every cylinder even where all are alike
    """
    tank = _fuel(case.fuel.blend)
    fuel = whole_fuel(tank, case.injection)
    table = charge_table(tank, case.injection, progress)
    ambient = air.ambient(
        pressure=case.ambient.pressure,
        temperature=case.ambient.temperature,
        relative_humidity=case.ambient.relative_humidity,
    )
    machine, swallowed = turbine_of(case.turbine, case.exhaust.collectors)
    wheel, chart = compressor_of(case.compressor)
    inputs = _inputs(case, fuel)
    intake, exhaust = _valve(case.engine.intake_valve), _valve(case.engine.exhaust_valve)
    number = octane(case, tank)
    felt = knock.equal_octane(number, case.knock.delay_scale)  # where the end gas ignites
    plant = build_plant(case, ambient, felt, wheel, swallowed, width)
    even = case.exhaust.collectors == 1 or machine.share == 0.5
    one = collector_parts.volumes(case) == 1  # in a chain a neighbour's pulse comes from one side
    same = (one and even and _all_alike(inputs, plant.steps)) if alike is None else alike
    plant = plant._replace(parts=_parts(case, inputs, same))
    engine = _engine(case, fuel, intake, exhaust, ambient, same, plant.steps)
    areas = np.array((intake.area, exhaust.area))
    return Setup(
        case, fuel, number, ambient, engine, plant, table, machine, chart, areas, inputs, _friction(case), tank
    )


def octane(case: Case, fuel: Fuel) -> float:
    """Octane number the knock delay is given: RON; a pump number plus half the fuel's sensitivity [-].

    fuel : that from the tank; alcohol sprayed in beside it counts by mole, as in a blend
    """
    if case.fuel.octane is None:
        number = float(fuel.ron)
    else:
        stated, scale = case.fuel.octane
        number = float(stated + {"RON": 0.0, "pump": 0.5, "MON": 1.0}[scale] * (fuel.ron - fuel.mon))
    return max(float(whole_fuel(fuel._replace(ron=number), case.injection).ron), LEAST_OCTANE)


# Neighbouring points of a sweep share most of their hardware: what a section alone decides is made once for it. The records
# are only read.


@lru_cache(maxsize=64)
def _fuel(shares: tuple[tuple[str, float], ...]) -> Fuel:
    return blend(dict(shares))


@lru_cache(maxsize=64)
def _valve(v: IntakeValve) -> valves.Valve:
    table = valves.DEFAULT_DISCHARGE if v.discharge_table is None else v.discharge_table
    return valves.valve(
        v.count,
        v.diameter,
        v.lift,
        v.opens,
        v.closes,
        v.at_lift,
        tuple((float(a), float(b)) for a, b in table),
        v.discharge,
    )


def _inputs(case: Case, fuel: Fuel) -> Array:
    """Per-cylinder inputs, in the order of cylinder numbers; the fresh charge is filled in later."""
    e, n = case.engine, case.engine.cylinders
    curve, half = burned_curve(case.burn)
    rows = np.zeros((n, N_INPUT + curve.size))
    rows[:, N_INPUT:] = curve
    angle = 0.0
    for number, interval in zip(e.firing_order, e.firing_intervals, strict=True):
        rows[number - 1, IN_OFFSET] = angle
        angle += interval
    for number, following in zip(e.firing_order, [*e.firing_order[1:], e.firing_order[0]], strict=True):
        rows[number - 1, IN_NEXT] = following - 1
    first = rows[0, IN_OFFSET]
    rows[:, IN_OFFSET] = (rows[:, IN_OFFSET] - first) % 720.0  # the march counts from cylinder 1
    rows[:, IN_PHI] = 1.0 / case.run.lambda_ratio
    rows[:, IN_AIR] = case.engine.breathing
    rows[:, IN_SPARK] = (case.run.spark_advance or 0.0) + case.engine.spark_offset
    rows[:, IN_CA50] = half if case.burn.ca50 is None else case.burn.ca50
    rows[:, IN_RUNNER_VOLUME] = INFINITE if case.is_bench else case.exhaust.runner_volume + case.exhaust.port_volume
    rows[:, IN_RUNNER_SURFACE] = 0.0 if case.is_bench else case.exhaust.runner_surface
    for one in case.cylinder:
        row = rows[one.number - 1]
        row[IN_AIR] *= 1.0 + one.air
        row[IN_PHI] *= (1.0 + one.fuel) / (1.0 + one.air)
        row[IN_SPARK] += one.spark
        row[IN_CA50] -= one.spark
        if one.runner_length is not None and not case.is_bench:
            share = one.runner_length / case.exhaust.runner_length
            row[IN_RUNNER_VOLUME] += (share - 1.0) * case.exhaust.runner_volume
            row[IN_RUNNER_SURFACE] *= share
    if case.exhaust.collectors > 1 and not case.is_bench:
        for c, members in enumerate(case.exhaust.cylinders_to):
            for number in members:
                rows[number - 1, IN_COLLECTOR] = c
    rows[:, IN_ENTRY] = collector_parts.entries(case, rows[:, IN_COLLECTOR])
    return rows


@lru_cache(maxsize=64)
def burned_curve(burn: Burn) -> tuple[Array, float]:
    """The packed table of a burn that has one, and the crank angle of half burned [deg]; nothing and 0 for other burns."""
    if burn.model != "table" or burn.table is None:
        return burn_table.NONE, 0.0
    a, m = WIEBE_A, float(burn.wiebe_m)
    angle, x = np.array(burn.table, dtype=float).T
    place = np.array([combustion.wiebe_place(a, m, v) for v in np.minimum(x, MOST_BURNED)])
    begins, half = (float(combustion.wiebe_place(a, m, v)) for v in (KERNEL_SHARE, 0.5))
    return burn_table.packed(angle, place, begins, half)


def _all_alike(rows: Array, steps: int) -> bool:
    """Whether one cylinder stands for all: equal inputs, equal intervals within each collector, the same steps of the march.

    A cylinder that fires between two steps meets its valve events elsewhere in a step: what it draws then differs from the
    first one's by some hundred-thousandths, and mass that goes in twice as cylinder 1's comes out as both's.
    """
    cylinders, width = rows.tolist(), 720.0 / steps
    if any(1e-6 < row[IN_OFFSET] % width < width - 1e-6 for row in cylinders):
        return False
    if len(set(map(SHARED, cylinders))) > 1:
        return False
    patterns = set()
    for c in {row[IN_COLLECTOR] for row in cylinders}:
        angles = sorted(row[IN_OFFSET] for row in cylinders if row[IN_COLLECTOR] == c)
        gaps = [b - a for a, b in pairwise([*angles, angles[0] + 720.0])]
        patterns.add((len(angles), round(max(gaps) - min(gaps), 6), round(gaps[0], 6)))
    return len(patterns) == 1 and next(iter(patterns))[1] == 0.0


def _parts(case: Case, rows: Array, alike: bool) -> int:
    """In how many equal parts a cycle can be marched: from one firing to the next, where all of them are alike.

    Each cylinder then takes the place of the one that fired before it, and each collector that of the one before.
    """
    intervals = case.engine.firing_intervals
    if not alike or max(intervals) - min(intervals) > 1e-9:
        return 1
    cylinders = rows[:, [IN_COLLECTOR, IN_NEXT]].tolist()
    following = {(own, cylinders[int(after)][0]) for own, after in cylinders}
    return case.engine.cylinders if len(following) == len({own for own, _ in cylinders}) else 1


def _engine(
    case: Case,
    fuel: Fuel,
    intake: valves.Valve,
    exhaust: valves.Valve,
    ambient: air.Ambient,
    alike: bool,
    steps: int,
) -> Engine:
    e, x, b = case.engine, case.exhaust, case.burn
    plenum = case.is_bench or case.run.held_backpressure is not None
    heat = wall_heat.WallHeat(
        wall_heat.MODELS[case.wall_heat.model], float(case.wall_heat.scale), e.head_temperature, e.piston_temperature,
        e.liner_temperature,
    )  # fmt: skip
    burn = combustion.Burn(
        combustion.MODELS[b.model], float(b.duration_10_90 or 25.0), WIEBE_A, float(b.wiebe_m), float(b.completeness),
        float(b.reference_delay or combustion.REFERENCE_DELAY), float(b.reference_duration or combustion.REFERENCE_DURATION),
        float(b.duration_scale), int(flame_family(fuel.mass_fractions)), float(b.density_power),
        water_from(case, fuel, ambient.humidity),
    )  # fmt: skip
    bore_area = math.pi / 4.0 * x.runner_diameter**2
    grid = 720.0 / steps
    volumes = collector_parts.volumes(case)
    return Engine(
        geo=geometry.geometry(e.bore, e.stroke, e.rod_length, e.compression_ratio),
        heat=heat,
        burn=burn,
        cylinders=int(e.cylinders),
        collectors=1 if case.is_bench else int(x.collectors),
        alike=int(alike),
        has_turbine=0 if plenum else 1,
        # gas exchange begins and ends on the grid of its steps
        intake_closes=math.ceil(intake.closes / grid - 1e-9) * grid,
        exhaust_opens=math.floor(exhaust.opens / grid + 1e-9) * grid,
        blow_by_area=float(e.blow_by_area),
        crankcase_pressure=float(ambient.pressure),
        knock_to_exhaust_opening=int(case.knock.window_end == "evo"),
        runner_diameter=float(x.runner_diameter),
        runner_opening=0.0 if case.is_bench else RUNNER_DISCHARGE * bore_area,
        port_surface=0.0 if case.is_bench else float(x.port_surface),
        port_temperature=float(e.exhaust_port_temperature),
        pipe_heat_scale=1.0,
        afterburning=int(x.afterburning and not case.is_bench),
        collector_volume=INFINITE if plenum else float(x.collector_volume),
        collector_surface=0.0 if plenum else float(x.collector_surface),
        collector_diameter=float(x.collector_diameter),
        sections=volumes,
        outlet=collector_parts.outlet(volumes, x.turbine_at),
        section_volume=INFINITE if plenum else float(x.collector_volume) / volumes,
        section_surface=0.0 if plenum else float(x.collector_surface) / volumes,
        chain_area=math.pi / 4.0 * x.collector_diameter**2,
        outer_emissivity=float(x.outer_emissivity),
        outer_coefficient=float(x.outer_coefficient),
        outer_area_ratio=float(x.outer_area_ratio),
        bay_temperature=float(case.ambient.temperature) + 40.0,
    )


def _friction(case: Case) -> friction.Friction:
    e, f = case.engine, case.friction
    record = friction.for_engine(
        FRICTION[f.model], e.cylinders, e.bore, e.stroke, e.compression_ratio,
        e.intake_valve.count + e.exhaust_valve.count, max(e.intake_valve.lift, e.exhaust_valve.lift),
    )  # fmt: skip
    given = {
        "chen_flynn_constant": f.chen_flynn_constant,
        "chen_flynn_pressure": f.chen_flynn_pressure,
        "chen_flynn_speed": f.chen_flynn_speed,
        "chen_flynn_speed_2": f.chen_flynn_speed2,
    }
    known: dict[str, Any] = {k: float(v) for k, v in given.items() if v is not None}
    return record._replace(**known)
