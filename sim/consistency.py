"""What no single input can tell: inputs that contradict each other, exclude each other or lack a partner."""

import math
from collections.abc import Iterator
from typing import TYPE_CHECKING

from ..models import fuels
from . import collector_parts, gauge_checks, map_checks

if TYPE_CHECKING:
    from .sections import Sections
    from .sections_turbo import Wastegate

BENCH = ("intake_pressure", "intake_temperature", "exhaust_pressure")
TURBO = ("turbine", "wastegate", "compressor", "cooler")


def problems(case: "Sections") -> list[str]:
    """One sentence for each contradiction, before stand-ins are filled in."""
    found: list[str] = []
    for check in (
        _firing,
        _valves,
        _fuel,
        _mixture,
        _burn,
        _operating,
        _injection,
        _turbine,
        _compressor,
        _exhaust,
        _places,
    ):
        found.extend(check(case))
    return [*found, *map_checks.problems(case), *gauge_checks.problems(case)]


def _firing(case: "Sections") -> Iterator[str]:
    engine, n = case.engine, case.engine.cylinders
    order, intervals = engine.firing_order, engine.firing_intervals
    if order and sorted(order) != list(range(1, n + 1)):
        missing = sorted(set(range(1, n + 1)) - set(order))
        what = f"skips cylinder {missing[0]}" if missing else f"does not name {n} cylinders once each"
        yield f"engine.firing_order = {list(order)} {what}; name each of 1 to {n} once, in the order they fire."
    if intervals and (len(intervals) != n or abs(sum(intervals) - 720.0) > 0.01):
        yield (
            f"engine.firing_intervals = {list(intervals)} holds {len(intervals)} values that sum to {sum(intervals):g} deg; "
            f"write {n} values that sum to 720 deg."
        )
    if not 0.4 <= engine.bore / engine.stroke <= 2.5:
        yield (
            f"engine.stroke = {1e3 * engine.stroke:g} mm does not go with a bore of {1e3 * engine.bore:g} mm; bore over "
            "stroke must lie between 0.4 and 2.5."
        )
    if engine.rod_length == engine.rod_length and engine.rod_length < 1.05 * engine.stroke:
        yield (
            f"engine.rod_length = {1e3 * engine.rod_length:g} mm is too short for a stroke of {1e3 * engine.stroke:g} mm; "
            "measure it between bearing centres, usually 1.4 to 2.2 strokes."
        )


def _valves(case: "Sections") -> Iterator[str]:
    for side in ("intake", "exhaust"):
        name, valve = f"engine.{side}_valve", getattr(case.engine, f"{side}_valve")
        if not 140.0 <= valve.closes - valve.opens <= 400.0:
            yield (
                f"{name} stays open for {valve.closes - valve.opens:g} deg; allowed are 140 to 400 deg, so look at "
                f"{name}.opens and {name}.closes on the cam card."
            )
        if valve.at_lift >= 0.6 * valve.lift:
            yield (
                f"{name}.at_lift = {1e3 * valve.at_lift:g} mm is never reached or nearly so with a lift of "
                f"{1e3 * valve.lift:g} mm: the valve never opens; write the checking lift of the cam card."
            )
        if valve.lift > 0.5 * valve.diameter:
            yield (
                f"{name}.lift = {1e3 * valve.lift:g} mm is more than half the head diameter of {1e3 * valve.diameter:g} mm; "
                "measure the lift at the valve."
            )
        if valve.diameter * math.sqrt(valve.count) > 0.9 * case.engine.bore:
            yield (
                f"{name}.diameter = {1e3 * valve.diameter:g} mm, {valve.count} of them, does not fit a bore of "
                f"{1e3 * case.engine.bore:g} mm; measure the head diameter."
            )
    if "volumetric_efficiency_measured" in case.engine.model_fields_set and "breathing" in case.engine.model_fields_set:
        yield (
            "engine.breathing and engine.volumetric_efficiency_measured exclude each other; write the measured value alone."
        )


def _fuel(case: "Sections") -> Iterator[str]:
    fuel = case.fuel
    if (fuel.name is None) == (not fuel.blend):
        yield 'fuel.name and fuel.blend: exactly one is needed; write for example name = "gasoline_98" under [fuel].'
    for part in [fuel.name] if fuel.name is not None else [name for name, _ in fuel.blend]:
        if part not in fuels.FUELS:
            place = "fuel.name" if fuel.name is not None else "fuel.blend"
            yield f'{place} = "{part}" is no known fuel; known are {", ".join(fuels.FUELS)}.'
    if fuel.pump_flow is not None and fuel.pump_curve is not None:
        yield "fuel.pump_flow and fuel.pump_curve exclude each other; the curve says more."


def _mixture(case: "Sections") -> Iterator[str]:
    run = case.run
    has_lambda = "lambda_ratio" in run.model_fields_set
    if has_lambda == (run.afr is not None):
        both = "exclude each other" if has_lambda else "are both missing"
        yield f"run.lambda and run.afr {both}; write exactly one, for example lambda = 0.82 under [run]."
    if run.afr is not None and run.afr_scale is None:
        yield (
            f'run.afr = {run.afr:g} does not say which scale; write afr_scale = "petrol" where the gauge shows 14.7 at '
            'lambda 1 on any fuel, "fuel" for the fuel\'s own ratio.'
        )
    if run.afr is None and run.afr_scale is not None:
        yield "run.afr_scale is of no use without run.afr; leave it out or write afr."


def _burn(case: "Sections") -> Iterator[str]:
    burn = case.burn
    imposed = {"ca50": burn.ca50, "duration_10_90": burn.duration_10_90}
    for name, value in imposed.items():
        if burn.model == "imposed" and value is None:
            yield f"burn.{name} is missing: an imposed burn needs it; write for example {name} = {_like(name)} under [burn]."
    if burn.model == "table" and burn.table is None:
        yield 'burn.table is missing: it names the file with what is burned; write for example table = "burned.csv" under [burn].'
    if burn.model == "spark" and case.run.spark_advance is None:
        yield 'run.spark_advance is missing: ignition before top dead centre; write for example "18 deg".'


def _like(name: str) -> str:
    return '"8 deg ATDC"' if name == "ca50" else '"25 deg"'


def _operating(case: "Sections") -> Iterator[str]:
    run = case.run
    given = [name for name in BENCH if getattr(run, name) is not None]
    if given and any(getattr(case, name) is not None for name in TURBO):
        section = next(name for name in TURBO if getattr(case, name) is not None)
        yield f"run.{given[0]} makes this a bench case, which has no [{section}]; leave out one or the other."
    elif given:
        for name in BENCH:
            if name not in given:
                yield f"run.{name} is missing: a bench case gives intake_pressure, intake_temperature and exhaust_pressure."
        for name in ("boost", "held_backpressure"):
            if getattr(run, name) is not None:
                yield f"run.{name} belongs to a turbo case; a bench case gives intake_pressure and exhaust_pressure instead."
    else:
        free = case.wastegate is not None and case.wastegate.model != "boost" and run.held_backpressure is None
        if run.boost is None and not free:
            yield 'run.boost is missing: boost after the cooler, above ambient; write for example boost = "1.2 bar" under [run].'
        for name in ("turbine", "wastegate"):
            if getattr(case, name) is None:
                yield (
                    f"{name} is missing: write a table [{name}], or for an engine without turbo intake_pressure, "
                    "intake_temperature and exhaust_pressure under [run]."
                )


def _gate(wastegate: "Wastegate") -> Iterator[str]:
    for model, name, like in (("opening", "opening", '"30 %"'), ("spring", "crack_pressure", '"0.6 bar"')):
        if wastegate.model == model and getattr(wastegate, name) is None:
            yield f'wastegate.{name} is missing: wastegate.model = "{model}" needs it; write for example {name} = {like}.'
    crack = wastegate.crack_pressure
    if crack is not None and "full_pressure" in wastegate.model_fields_set and wastegate.full_pressure <= crack:
        yield (
            f"wastegate.full_pressure = {wastegate.full_pressure / 1e5:g} bar is not above wastegate.crack_pressure; the rod first "
            "moves at the one and has gone its way at the other."
        )


def _injection(case: "Sections") -> Iterator[str]:
    injection = case.injection
    if injection is not None and injection.share is not None and injection.flow is not None:
        yield 'injection.share and injection.flow exclude each other; write for example share = "15 %" alone under [injection].'
    if injection is None or injection.alcohol == "none":
        return
    if (injection.alcohol_by_volume is None) == (injection.alcohol_by_mass is None):
        both = "are both missing" if injection.alcohol_by_mass is None else "exclude each other"
        yield f'injection.alcohol_by_volume and injection.alcohol_by_mass {both}; write for example alcohol_by_volume = "50 %".'
    if injection.flow is not None:
        yield (
            "injection.flow is read for water alone; with alcohol write injection.share, the mass sprayed over that of the fuel from "
            'the tank, for example share = "20 %".'
        )


def _turbine(case: "Sections") -> Iterator[str]:
    turbine, wastegate, compressor = case.turbine, case.wastegate, case.compressor
    if wastegate is not None:
        both = [wastegate.diameter is not None, "area" in wastegate.model_fields_set]
        if sum(both) != 1:
            yield 'wastegate.diameter and wastegate.area: exactly one is needed; write "0 mm" where there is no wastegate.'
        yield from _gate(wastegate)
    if turbine is None:
        return
    given = turbine.model_fields_set
    if "wheel_inlet_diameter" not in given and (
        compressor is None or "wheel_diameter" not in compressor.model_fields_set
    ):
        yield (
            "turbine.wheel_inlet_diameter is missing: without one wheel diameter the shaft speed is unknown; write for "
            'example wheel_inlet_diameter = "54 mm" under [turbine].'
        )
    needs = {
        "area": ("area",),
        "curve": ("curve", "reference_pressure", "reference_temperature"),
        "hardware": (),
        "map": ("map",),
    }
    for name in needs[turbine.model]:
        if getattr(turbine, name) is None:
            yield f'turbine.{name} is missing: turbine.model = "{turbine.model}" needs it.'
    if turbine.model == "hardware" and turbine.a_over_r is None and "throat_area" not in given:
        yield (
            'turbine.a_over_r is missing: turbine.model = "hardware" needs it or throat_area; a casting marked .63 is '
            'written a_over_r = "0.63 in".'
        )
    if turbine.a_over_r is not None and "throat_area" in given:
        yield "turbine.a_over_r and turbine.throat_area exclude each other; write the one that is cast on the housing."
    wheel = turbine.wheel_inlet_diameter
    for name, most in (("wheel_outlet_diameter", 1.2), ("hub_diameter", 0.6)):
        if name in given and "wheel_inlet_diameter" in given and getattr(turbine, name) > most * wheel:
            yield f"turbine.{name} is more than {most:g} of wheel_inlet_diameter; measure both with a caliper."
    yield from _passage(case)


def _passage(case: "Sections") -> Iterator[str]:
    """Whether hub and wheel, given or by their stand-ins, leave a passage at the outlet."""
    turbine, compressor = case.turbine, case.compressor
    if turbine is None or turbine.model != "hardware":
        return
    given = turbine.model_fields_set
    driven = compressor.wheel_diameter / 1.05 if compressor is not None else math.nan
    inlet = turbine.wheel_inlet_diameter if "wheel_inlet_diameter" in given else driven
    outlet = turbine.wheel_outlet_diameter if "wheel_outlet_diameter" in given else 0.85 * inlet
    hub = turbine.hub_diameter if "hub_diameter" in given else 0.28 * inlet
    if hub >= outlet:
        yield (
            f"turbine.wheel_outlet_diameter = {1e3 * outlet:g} mm leaves no passage around a hub of {1e3 * hub:g} mm; measure both "
            "with a caliper."
        )


def _compressor(case: "Sections") -> Iterator[str]:
    compressor = case.compressor
    if compressor is None:
        return
    if compressor.model == "map" and compressor.map is None:
        yield (
            'compressor.map is missing: compressor.model = "map" needs it; write for example map = "my_compressor_map.csv" '
            "under [compressor]."
        )
    given = compressor.model_fields_set
    if "inducer_diameter" in given:
        known = compressor.wheel_diameter if "wheel_diameter" in given else None
        if known is None and case.turbine is not None and "wheel_inlet_diameter" in case.turbine.model_fields_set:
            known = 1.05 * case.turbine.wheel_inlet_diameter
        if known is not None and not 0.5 * known <= compressor.inducer_diameter <= 0.95 * known:
            yield (
                f"compressor.inducer_diameter = {1e3 * compressor.inducer_diameter:g} mm does not go with a wheel of "
                f"{1e3 * known:.4g} mm; it lies between 0.5 and 0.95 of compressor.wheel_diameter: measure both with a caliper."
            )


def _exhaust(case: "Sections") -> Iterator[str]:
    exhaust, n = case.exhaust, case.engine.cylinders
    named = exhaust.cylinders_to
    if exhaust.collectors > n:
        yield f"exhaust.collectors = {exhaust.collectors} is more than the engine's {n} cylinder; write 1."
    if named and (
        len(named) != exhaust.collectors or sorted(c for group in named for c in group) != list(range(1, n + 1))
    ):
        yield (
            f"exhaust.cylinders_to = {[list(g) for g in named]} does not deal cylinders 1 to {n} out to {exhaust.collectors} "
            "collectors once each; write for example [[1, 4], [2, 3]] with collectors = 2."
        )
    if named and not all(named):
        yield "exhaust.cylinders_to holds a collector without cylinders; give each at least one."
    yield from collector_parts.problems(case)
    given = exhaust.model_fields_set
    if exhaust.restriction is not None and given & {"downpipe_diameter", "loss_coefficient"}:
        yield "exhaust.restriction excludes downpipe_diameter and loss_coefficient; write the measured one alone."
    if {"runner_volume", "runner_length", "runner_diameter"} <= given:
        area = math.pi / 4.0 * exhaust.runner_diameter**2
        if not 0.5 <= exhaust.runner_volume / (area * exhaust.runner_length) <= 2.0:
            yield "exhaust.runner_volume does not go with runner_length and runner_diameter; measure again or leave one out."
    if case.ambient.altitude is not None and "pressure" in case.ambient.model_fields_set:
        yield "ambient.altitude and ambient.pressure exclude each other; altitude is the safer one."


def _places(case: "Sections") -> Iterator[str]:
    n = case.engine.cylinders
    numbers = [c.number for c in case.cylinder]
    for number in numbers:
        if number > n:
            yield f"cylinder.number = {number} is not in this engine; write 1 to {n}."
    for number in sorted({k for k in numbers if numbers.count(k) > 1}):
        yield f"cylinder.number = {number} is written {numbers.count(number)} times; put its departures into one [[cylinder]]."
    taps = [("pressure_tap", case.pressure_tap)] if case.pressure_tap else []
    for name, item in [(f"probe.{k}", p) for k, p in enumerate(case.probe, 1)] + taps:
        if isinstance(item.cylinder, int) and not 1 <= item.cylinder <= n:
            yield f'{name}.cylinder = {item.cylinder} is not in this engine; write 1 to {n}, or "collector".'
        if item.cylinder == "collector 2" and case.exhaust.collectors < 2:
            yield f'{name}.cylinder = "collector 2" is not in this engine, which has one collector; write "collector".'
