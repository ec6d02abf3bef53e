"""The surroundings of the engine as the loops see them: plenums of a bench, or turbo, cooler and pipes."""

import math
from typing import Any

from ..models import air
from ..models.compressor import Compressor
from . import surroundings
from .case import Case
from .machines import gate_of
from .surroundings import Plant

COARSE = 4.0  # step of gas exchange while the answer is still far off [deg]
# Final steps by speed: volumes joined by large openings are stiffest, in degrees, at low speed [rpm, deg].
WIDTHS = ((3000.0, 2.0), (1200.0, 1.0), (0.0, 0.5))
WIDEST_ON_BENCH = 1.0  # on a bench, whose plenums do not give way, no wider [deg]
CLOSED_WIDTH = 1.0  # final step of the closed part [deg]
MOST_BOOST = 6e5  # a wastegate of its own mind is followed no further [Pa]
MOST_CYCLES, TOLERANCE = 60, 1e-6


def coarse_steps(cylinders: int, speed_rpm: float) -> int:
    """Steps of a coarse cycle: a multiple of the cylinders, so that all see the same steps.

    The slower the engine, the more gas passes a volume in a degree: a step must not carry more than a volume holds.
    """
    width = COARSE if speed_rpm >= 2500.0 else (0.5 * COARSE if speed_rpm >= 1200.0 else 0.25 * COARSE)
    return cylinders * max(1, round(720.0 / width / cylinders))


def plant(
    case: Case, ambient: air.Ambient, octane: float, wheel: Compressor, swallowed: float, width: float | None
) -> Plant:
    """The record for a case; `swallowed` is the turbine's greatest flow parameter [m2], `width` a step or None [deg]."""
    if width is None:
        width = next(step for speed, step in WIDTHS if case.run.speed_rpm >= speed)
        width = min(width, WIDEST_ON_BENCH) if case.is_bench else width
    coarse = coarse_steps(case.engine.cylinders, case.run.speed_rpm)
    common = {
        "ambient_pressure": ambient.pressure,
        "ambient_temperature": ambient.temperature,
        "humidity": ambient.humidity,
        "speed_rpm": float(case.run.speed_rpm),
        "octane": octane,
        "fuel_temperature": float(case.fuel.temperature),
        "evaporation_share": float(case.fuel.evaporation_share),
        "compressor": wheel,
        "swallowing": swallowed,
        "coarse_steps": coarse,
        "fine_steps": coarse * max(1, round(720.0 / coarse / width)),
        "closed_width": min(CLOSED_WIDTH, float(width)),
        "most_cycles": MOST_CYCLES,
        "tolerance": TOLERANCE,
    }
    return _bench(case, common) if case.is_bench else _turbo(case, ambient.pressure, common)


def _bench(case: Case, common: dict[str, Any]) -> Plant:
    run = case.run
    assert run.intake_pressure is not None
    assert run.intake_temperature is not None
    assert run.exhaust_pressure is not None
    return Plant(
        kind=surroundings.BENCH,
        intake_pressure=float(run.intake_pressure),
        intake_temperature=float(run.intake_temperature),
        exhaust_pressure=float(run.exhaust_pressure),
        inlet_loss=0.0,
        cooler_loss=0.0,
        cooler_effectiveness=0.0,
        coolant_temperature=300.0,
        turbine_diameter=0.0,
        mechanical_efficiency=1.0,
        outlet_loss=0.0,
        outlet_by_density=0,
        wastegate_area=0.0,
        **gate_of(None),
        **common,
    )


def _turbo(case: Case, ambient_pressure: float, common: dict[str, Any]) -> Plant:
    run, x = case.run, case.exhaust
    assert case.turbine is not None
    assert case.compressor is not None
    assert case.cooler is not None
    assert case.wastegate is not None
    held = run.held_backpressure
    asked = case.wastegate.model == "boost" or held is not None
    area = math.pi / 4.0 * x.downpipe_diameter**2
    by_density = x.restriction is None
    outlet = _per_flow2(x.restriction) if x.restriction else x.loss_coefficient / (2.0 * area**2)
    return Plant(
        kind=surroundings.TURBO if held is None else surroundings.HELD,
        intake_pressure=ambient_pressure + (float(run.boost or 0.0) if asked else MOST_BOOST),
        intake_temperature=300.0,
        exhaust_pressure=ambient_pressure + float(held or 0.0),
        inlet_loss=_per_flow2(case.ambient.inlet_pressure_loss),
        cooler_loss=_per_flow2(case.cooler.pressure_loss),
        cooler_effectiveness=float(case.cooler.effectiveness),
        coolant_temperature=float(case.cooler.coolant_temperature),
        turbine_diameter=float(case.turbine.wheel_inlet_diameter),
        mechanical_efficiency=float(case.turbine.mechanical_efficiency),
        outlet_loss=float(outlet),
        outlet_by_density=int(by_density),
        wastegate_area=float(case.wastegate.area * case.wastegate.discharge) / x.collectors,
        **gate_of(case.wastegate),
        **common,
    )


def _per_flow2(loss: tuple[float, float]) -> float:
    """Pressure loss over flow squared, from a stated point [Pa s2/kg2]."""
    return loss[0] / loss[1] ** 2
