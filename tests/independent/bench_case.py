"""The bench case of the independent march, and its inputs taken from a checked case."""

import copy

import numpy as np
from bench_engine import Bench, Steps
from hotside.models import air, fuels, valves
from hotside.sim import load

BENCH = {
    "title": "bench of the independent march (invented)",
    "engine": {
        "cylinders": 1,
        "bore": "86 mm",
        "stroke": "86 mm",
        "rod_length": "142 mm",
        "compression_ratio": 9.5,
        "intake_valve": {
            "count": 2,
            "diameter": "33 mm",
            "lift": "9 mm",
            "opens": "10 deg BTDC",
            "closes": "50 deg ABDC",
        },
        "exhaust_valve": {
            "count": 2,
            "diameter": "28 mm",
            "lift": "9 mm",
            "opens": "48 deg BBDC",
            "closes": "10 deg ATDC",
        },
    },
    "fuel": {"name": "isooctane"},
    "burn": {"model": "imposed", "ca50": "10 deg ATDC", "duration_10_90": "24 deg"},
    "wall_heat": {"model": "hohenberg", "scale": 1.0},
    "run": {
        "speed": "3000 rpm",
        "lambda": 0.95,
        "intake_pressure": "100 kPa",
        "intake_temperature": "310 K",
        "exhaust_pressure": "110 kPa",
    },
}


def bench(changes=None):
    """The bench case with changes."""
    return load(copy.deepcopy(BENCH)).set_all(changes or {})


def from_case(case):
    """A Bench from a bench case with an imposed burn."""
    engine, run, burn, ambient = case.engine, case.run, case.burn, case.ambient
    fuel = fuels.blend(dict(case.fuel.blend))
    outside = air.ambient(
        pressure=ambient.pressure, temperature=ambient.temperature, relative_humidity=ambient.relative_humidity
    )
    species = [component.species for component in fuels.COMPONENTS.values()]
    return Bench(
        bore=engine.bore,
        stroke=engine.stroke,
        rod=engine.rod_length,
        compression_ratio=engine.compression_ratio,
        speed_rpm=run.speed_rpm,
        intake=_valve(engine.intake_valve),
        exhaust=_valve(engine.exhaust_valve),
        intake_pressure=run.intake_pressure,
        intake_temperature=run.intake_temperature,
        exhaust_pressure=run.exhaust_pressure,
        lambda_ratio=run.lambda_ratio,
        humidity=outside.humidity,
        fuel={name: y for name, y in zip(species, fuel.mass_fractions, strict=True) if y > 0.0},
        heat_of_vaporisation=fuel.heat_of_vaporisation,
        liquid_cp=fuel.liquid_cp,
        fuel_temperature=case.fuel.temperature,
        evaporation_share=case.fuel.evaporation_share,
        ca50=burn.ca50,
        duration=burn.duration_10_90,
        completeness=burn.completeness,
        walls=(engine.head_temperature, engine.piston_temperature, engine.liner_temperature),
        model=case.wall_heat.model,
        scale=case.wall_heat.scale,
        wiebe=(5.0, burn.wiebe_m),
        steps=Steps(exchange=min(0.5, run.speed_rpm / 8000.0)),  # explicit steps: as short in time at low speed
    )


def _valve(section):
    valve = valves.valve(
        section.count,
        section.diameter,
        section.lift,
        section.opens,
        section.closes,
        section.at_lift,
        scale=section.discharge,
    )
    return valve.opens, valve.closes, np.arange(len(valve.area)) * valves.TABLE_STEP, valve.area
