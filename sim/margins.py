"""Every limit of a case as a margin at the point; a limit is an edge, and a margin is never a clip."""

from collections.abc import Sequence
from typing import Any

from ..models import injectors
from .case import Case
from .setup import Setup
from .spray import tank_share

INJECTOR_DUTY_LIMIT = 0.85  # share of the cycle an injector may stay open; common practice, no source
MOST_DUTY = 10.0  # shown of it: nothing is learnt from more, and where no fuel passes it has no end


def margins(
    case: Case, setup: Setup, values: dict[str, Any], held: Sequence[tuple[str, float, float]] = ()
) -> list[dict[str, Any]]:
    """Rows of name, value, limit, margin and exceeded; the margin is positive on the near side of the limit.

    held : what the case has in the heat, as (name, temperature, what it stands) [K]
    """
    lim = case.limits
    rows: list[dict[str, Any]] = []

    def add(name: str, value: float | None, limit: float | None, above: bool = False) -> None:
        if value is None or limit is None:
            return
        margin = value - limit if above else limit - value
        rows.append({"name": name, "value": value, "limit": limit, "margin": margin, "exceeded": margin < 0.0})

    if values["probes"]:
        add("probe_temperature_k", max(p["reading_k"] for p in values["probes"]), lim.probe_temperature)
    add("knock_margin_deg", values["knock_margin_deg"], lim.knock_margin, above=True)
    add("knock_margin_bad_cycle_deg", values["knock_margin_bad_cycle_deg"], lim.knock_margin_bad_cycle, above=True)
    highest = max(c["peak_pressure_pa"] for c in values["cylinders"])
    add("peak_pressure_pa", highest, lim.peak_pressure)
    add("peak_pressure_bad_cycle_pa", values["peak_pressure_bad_cycle_pa"], lim.peak_pressure)
    for side in ("exhaust", "intake"):
        name = f"{side}_valve_lifting_force_n"
        add(name, values[name], getattr(case.engine, f"{side}_valve").seat_load)
    add("turbine_inlet_temperature_k", values["turbine_inlet_temperature_k"], lim.turbine_inlet_temperature)
    add("backpressure_ratio", values["backpressure_ratio"], lim.backpressure_ratio)
    if values["shaft_speed_rad_s"] is not None:
        diameter = setup.plant.compressor.wheel.wheel_diameter
        add("shaft_speed_rad_s", values["shaft_speed_rad_s"], lim.shaft_speed)
        add("tip_speed_m_s", 0.5 * values["shaft_speed_rad_s"] * diameter, lim.tip_speed)
    add("surge_margin_fraction", values["surge_margin_fraction"], 0.0, above=True)
    add("choke_margin_fraction", values["choke_margin_fraction"], 0.0, above=True)
    gauge = values["intake_pressure_pa"] - setup.ambient.pressure
    tank = setup.tank  # what is sprayed in beside it has a pump and nozzles of its own
    fuel = values["fuel_flow_kg_s"] * tank_share(case.injection) / tank.density
    if case.fuel.injector_flow:
        add("injector_duty_fraction", injector_duty(case, fuel, gauge), INJECTOR_DUTY_LIMIT)
    add("pump_flow_m3_s", fuel, pump_delivery(case, gauge))
    for name, value, limit in held:
        add(name, value, limit)
    return rows


def injector_duty(case: Case, fuel: float, gauge: float) -> float:
    """Share of the cycle for which the injectors are energised, dead time included; MOST_DUTY also where nothing flows [-].

    fuel : float, fuel of the whole engine [m3/s]
    gauge : float, pressure in the intake manifold above ambient [Pa]
    """
    f = case.fuel
    assert f.injector_flow is not None
    drop = f.rail_pressure - (gauge if f.rail_follows == "ambient" else 0.0)
    flow = injectors.flow_at(f.injector_flow, f.injector_rated_pressure, drop)
    return min(injectors.duty(fuel, flow, f.injector_count, case.run.speed_rpm, f.injector_dead_time), MOST_DUTY)


def pump_delivery(case: Case, gauge: float) -> float | None:
    """What the pump delivers against the rail at this boost [m3/s]; the one figure of the case, or read off its curve."""
    f = case.fuel
    if f.pump_curve is None:
        return f.pump_flow
    return injectors.delivery(f.pump_curve, f.rail_pressure + (gauge if f.rail_follows == "manifold" else 0.0))
