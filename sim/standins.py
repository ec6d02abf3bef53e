"""Stand-ins for what a person cannot know: every default that follows from the size or type of something else.

Each rule is stated in words beside its input (sections_engine.py, sections_turbo.py). All are from memory, confidence
medium: proportions usual in small turbocharged engines.
"""

import math
from collections.abc import Sequence
from typing import TYPE_CHECKING, Any, TypeVar

from ..models import air, fuels, wall_heat
from ..models.wheel import peak_by_size
from .readers import PETROL_AFR
from .schema import Section

if TYPE_CHECKING:
    from .sections import Sections
    from .sections_turbo import Run

S = TypeVar("S", bound=Section)
OPEN_SHARE = 270.0 / 720.0  # of the cycle that an exhaust valve is open; common practice, no source [-]
BAY_RISE = 40.0  # engine bay above the air outside, as around the manifold (setup.py) [K]
FIRING_ORDERS: dict[int, tuple[int, ...]] = {  # the usual ones; common practice
    3: (1, 3, 2), 4: (1, 3, 4, 2), 5: (1, 2, 4, 5, 3), 6: (1, 5, 3, 6, 2, 4), 8: (1, 8, 4, 3, 6, 5, 7, 2),
    12: (1, 12, 5, 8, 3, 10, 6, 7, 2, 11, 4, 9),
}  # fmt: skip


RUNNING = frozenset(("title", "run", "pull", "report"))  # tables no stand-in of the hardware depends on


def fill(case: "Sections", hardware: "Sections | None" = None) -> "Sections":
    """The case with every stand-in filled in; what was given stays.

    hardware : another case filled in, the same as this one but for RUNNING, so that its hardware's stand-ins are this one's too
    """
    if hardware is None:
        filled_in = _hardware(case)
    else:
        filled_in = hardware.model_copy(update={name: getattr(case, name) for name in RUNNING})
    run = _run(filled_in)
    pull = case.pull and filled(case.pull, begins=0.45 * run.speed, ends=run.speed)
    return filled_in.model_copy(update={"run": run, "pull": pull})


def _hardware(case: "Sections") -> "Sections":
    """The case with every stand-in but those of RUNNING."""
    ambient = filled(case.ambient, pressure=air.standard_atmosphere(case.ambient.altitude or 0.0)[0])
    case = case.model_copy(update={"ambient": ambient})
    engine = filled(case.engine, **_engine(case))
    case = case.model_copy(update={"engine": engine})
    case = case.model_copy(update={"exhaust": _exhaust(case), "fuel": _fuel(case)})
    ambient = filled(ambient, inlet_pressure_loss=(2e3, flow_scale(case)))
    probes = case.probe or (() if case.turbine is None else (_default_probe(),))
    heat = filled(case.wall_heat, scale=wall_heat.DEFAULT_SCALE[case.wall_heat.model])
    update = {"wall_heat": heat, "ambient": ambient, "probe": tuple(_probe(p, case) for p in probes)}
    update["pressure_tap"] = _tap(case)
    if case.injection is not None:
        update["injection"] = filled(case.injection, temperature=case.ambient.temperature)
    return case.model_copy(update=update | _turbo(case))


def filled(section: S, **stand_ins: Any) -> S:
    """The section with stand-ins where nothing was given."""
    return section.model_copy(update={k: v for k, v in stand_ins.items() if k not in section.model_fields_set})


def displacement(case: "Sections") -> float:
    """Displacement of the engine [m3]."""
    return case.engine.cylinders * math.pi / 4.0 * case.engine.bore**2 * case.engine.stroke


def flow_scale(case: "Sections") -> float:
    """A usual full-load air flow, 0.1 kg/s for each litre [kg/s]."""
    return 100.0 * displacement(case)


def _engine(case: "Sections") -> dict[str, Any]:
    n = case.engine.cylinders
    return {
        "firing_order": FIRING_ORDERS.get(n, tuple(range(1, n + 1))),
        "firing_intervals": (720.0 / n,) * n,
        "rod_length": 1.65 * case.engine.stroke,
    }


def _exhaust(case: "Sections") -> Section:
    exhaust, given = case.exhaust, case.exhaust.model_fields_set
    exhaust = filled(exhaust, runner_diameter=runner_diameter(case))
    bore = exhaust.runner_diameter
    area = math.pi / 4.0 * bore**2
    swept = displacement(case) / case.engine.cylinders
    exhaust = filled(exhaust, runner_volume=exhaust.runner_length * area if "runner_length" in given else 0.55 * swept)
    exhaust = filled(exhaust, runner_length=exhaust.runner_volume / area)
    exhaust = filled(exhaust, collector_volume=collector_volume(case))
    bore_of_two = (2.0 * exhaust.collector_volume / math.pi) ** (1.0 / 3.0)
    return filled(
        exhaust,
        runner_surface=math.pi * bore * exhaust.runner_length,
        port_volume=2.0 * bore * area,
        port_surface=2.0 * math.pi * bore**2,
        cylinders_to=dealt(case.engine.firing_order, exhaust.collectors),
        collector_diameter=collector_diameter(case, bore),
        collector_surface=2.0 * math.pi * bore_of_two**2,
        downpipe_diameter=1.6 * bore,
    )


def runner_diameter(case: "Sections") -> float:
    """Bore of a runner before it is measured [m]."""
    valve = case.engine.exhaust_valve
    return 1.05 * valve.diameter * math.sqrt(valve.count)


def collector_volume(case: "Sections") -> float:
    """Volume of a collector before it is measured [m3]."""
    return 0.25 * displacement(case) / case.exhaust.collectors


def collector_diameter(case: "Sections", runner_diameter: float) -> float:
    """Bore of a collector [m]: as wide as the runners together that blow into it at once.

    An exhaust valve stands open for about 270 of 720 deg, so 3/8 of the cylinders of a collector are open at any moment.
    """
    exhaust = case.exhaust
    gathered = max(map(len, exhaust.cylinders_to), default=math.ceil(case.engine.cylinders / exhaust.collectors))
    return runner_diameter * math.sqrt(max(OPEN_SHARE * gathered, 1.0))


def dealt(firing_order: Sequence[int], collectors: int) -> tuple[tuple[int, ...], ...]:
    """Cylinders dealt out to the collectors in firing order, so that pulses in one are farthest apart."""
    return tuple(tuple(sorted(firing_order[k::collectors])) for k in range(collectors))


def _fuel(case: "Sections") -> Section:
    fuel = case.fuel
    blend = fuel.blend or ((str(fuel.name), 1.0),)
    update: dict[str, Any] = {"blend": blend, "temperature": case.ambient.temperature}
    return filled(fuel, injector_count=case.engine.cylinders, **update)


def stoichiometric_afr(blend: Sequence[tuple[str, float]]) -> float:
    """Air-fuel ratio by mass at lambda 1 of a blend by volume [kg/kg]."""
    return fuels.stoichiometric_afr(fuels.blend(dict(blend)))


def _run(case: "Sections") -> "Run":
    run = case.run
    if run.afr is None:
        return run
    blend = case.fuel.blend or ((str(case.fuel.name), 1.0),)
    return filled(run, lambda_ratio=run.afr / (PETROL_AFR if run.afr_scale == "petrol" else stoichiometric_afr(blend)))


def _default_probe() -> Any:
    from .sections_gauges import Probe

    return Probe(cylinder="collector")


def _probe(probe: Any, case: "Sections") -> Any:
    size, exhaust = 1.6e-3 if probe.kind == "bare" else 3.2e-3, case.exhaust  # whose own stand-ins are in
    bore = exhaust.runner_diameter if isinstance(probe.cylinder, int) else exhaust.collector_diameter
    return filled(probe, junction_diameter=size, immersion=0.5 * bore)


def _tap(case: "Sections") -> Any:
    from .sections_gauges import CAVITY

    tap = case.pressure_tap
    air = case.ambient.temperature + BAY_RISE
    return None if tap is None else filled(tap, air_temperature=air, cavity=CAVITY[tap.gauge])


def _wastegate(wastegate: Any) -> Any:
    wastegate = filled(wastegate, area=math.pi / 4.0 * (wastegate.diameter or 0.0) ** 2)
    return filled(
        wastegate,
        full_pressure=(wastegate.crack_pressure or 0.6e5) + 0.4e5,
        diaphragm_diameter=max(1.7 * 2.0 * math.sqrt(wastegate.area / math.pi), 0.02),
    )


def _compressor(compressor: Any, turbine_wheel: float) -> Any:
    compressor = filled(compressor, wheel_diameter=1.05 * turbine_wheel)
    wheel = compressor.wheel_diameter
    return filled(compressor, inducer_diameter=0.75 * wheel, efficiency_peak=peak_by_size(wheel))


def _turbo(case: "Sections") -> dict[str, Any]:
    turbine, wastegate, compressor, cooler = case.turbine, case.wastegate, case.compressor, case.cooler
    if turbine is None or wastegate is None or compressor is None or cooler is None:
        return {}
    turbine = filled(turbine, wheel_inlet_diameter=compressor.wheel_diameter / 1.05)
    wheel = turbine.wheel_inlet_diameter
    turbine = filled(turbine, inertia=3e-5 * (wheel / 0.055) ** 5)
    turbine = filled(turbine, throat_radius=0.8 * wheel, wheel_outlet_diameter=0.85 * wheel, hub_diameter=0.28 * wheel)
    turbine = filled(
        turbine,
        throat_area=turbine.a_over_r * turbine.throat_radius if turbine.a_over_r else None,
        efficiency_peak=min(0.64 + 2.2 * max(wheel - 0.04, 0.0), 0.75),
    )
    return {
        "turbine": turbine,
        "wastegate": _wastegate(wastegate),
        "compressor": _compressor(compressor, wheel),
        "cooler": filled(
            cooler,
            coolant_temperature=case.ambient.temperature,
            pressure_loss=(6e3, flow_scale(case)),
            volume=4.0 * displacement(case),
        ),
    }
