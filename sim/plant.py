"""The surroundings of the engine as the loops see them: plenums of a bench, or turbo, cooler and pipes."""

import math
from typing import Any

from ..models import air
from ..models.compressor import Compressor
from . import collector_parts, surroundings
from .case import Case
from .machines import gate_of
from .spray import entering
from .surroundings import Plant
from .water import water_of

# Final steps by speed: volumes joined by large openings are stiffest, in degrees, at low speed [rpm, deg]. No step is longer
# than 0.12 ms: from 0.12 to 0.15 ms on, by pressure and the length of the runners, collector and runners ripple from step to
# step, gas goes to and fro through the mouths and gives its heat to the walls twice; the gas before the turbine was up to 10 K
# too cold, unevenly from point to point, and some points did not come to repeat themselves.
WIDTHS = ((5000.0, 3.6), (2800.0, 2.0), (1400.0, 1.0), (800.0, 0.5), (0.0, 0.25))
# On a bench no wider: at 2 deg from 2800 rpm exhaust temperature, imep and residual err by 0.4 K, 0.04 % and 0.06 points at most, with
# 70 deg of overlap, a throttle or twice the pressure in the exhaust. Where the last meets the overlap, and a fifth of the charge is
# residual, imep errs by 1.1 % at 2800 rpm (0.2 % at 1 deg), which is no point to run an engine at.
WIDEST_ON_BENCH = 2.0  # [deg]
# Of the closed part; against steps of 0.1 deg work, peak pressure, octane and exhaust temperature then err by 0.005 %, 0.02 %,
# 0.01 and 0.2 K, smoothly with whatever moves the burn.
CLOSED_WIDTH = 1.5
MOST_CYCLES, TOLERANCE = 40, 1e-6


def steps_of(cylinders: int, width: float) -> int:
    """Steps in a cycle of about this width [deg]: a multiple of the cylinders, so that all see the same steps."""
    return cylinders * max(1, math.ceil(720.0 / width / cylinders - 1e-9))


def step_width(speed_rpm: float, bench: bool) -> float:
    """Step of gas exchange by speed, unless a case is solved with another [deg]."""
    width = next(step for speed, step in WIDTHS if speed_rpm >= speed)
    return min(width, WIDEST_ON_BENCH) if bench else width


def plant(
    case: Case, ambient: air.Ambient, octane: float, wheel: Compressor, swallowed: float, width: float | None
) -> Plant:
    """The record for a case; `swallowed` is the turbine's greatest flow parameter [m2], `width` a step or None [deg]."""
    if width is None:
        width = min(step_width(case.run.speed_rpm, case.is_bench), collector_parts.widest(case))
    steps = steps_of(case.engine.cylinders, width)
    common = {
        "ambient_pressure": ambient.pressure,
        "ambient_temperature": ambient.temperature,
        "humidity": ambient.humidity,
        "speed_rpm": float(case.run.speed_rpm),
        "octane": octane,
        **entering(case),
        **water_of(case.injection),
        "compressor": wheel,
        "swallowing": swallowed,
        "steps": steps,
        "parts": 1,
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
        wastegate_leak=0.0,
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
        intake_pressure=ambient_pressure + (float(run.boost or 0.0) if asked else surroundings.MOST_BOOST),
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
        wastegate_leak=float(case.wastegate.leak_area) / x.collectors,
        **gate_of(case.wastegate),
        **common,
    )


def _per_flow2(loss: tuple[float, float]) -> float:
    """Pressure loss over flow squared, from a stated point [Pa s2/kg2]."""
    return loss[0] / loss[1] ** 2
