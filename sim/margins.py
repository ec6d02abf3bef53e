"""Every limit of a case as a margin at the point; a limit is an edge, and a margin is never a clip."""

import math
from typing import Any

from .case import Case
from .setup import Setup

INJECTOR_DUTY_LIMIT = 0.85  # share of the cycle an injector may stay open; common practice, no source


def margins(case: Case, setup: Setup, values: dict[str, Any]) -> list[dict[str, Any]]:
    """Rows of name, value, limit, margin and exceeded; the margin is positive on the near side of the limit."""
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
    highest = max(c["peak_pressure_pa"] for c in values["cylinders"])
    add("peak_pressure_pa", highest, lim.peak_pressure)
    add("turbine_inlet_temperature_k", values["turbine_inlet_temperature_k"], lim.turbine_inlet_temperature)
    add("backpressure_ratio", values["backpressure_ratio"], lim.backpressure_ratio)
    if values["shaft_speed_rad_s"] is not None:
        add("shaft_speed_rad_s", values["shaft_speed_rad_s"], lim.shaft_speed)
        add("tip_speed_m_s", 0.5 * values["shaft_speed_rad_s"] * setup.plant.compressor_diameter, lim.tip_speed)
    if case.fuel.injector_flow:
        add("injector_duty_fraction", injector_duty(case, setup, values["fuel_flow_kg_s"]), INJECTOR_DUTY_LIMIT)
    if case.fuel.pump_flow:
        add("pump_flow_m3_s", values["fuel_flow_kg_s"] / setup.fuel.density, case.fuel.pump_flow)
    return rows


def injector_duty(case: Case, setup: Setup, fuel_flow: float) -> float:
    """Share of time the injectors must be open [-]: rated flow scaled with the root of the pressure drop.

    The rail is taken to follow the intake manifold, so that the drop stays the rail pressure over the manifold.
    """
    f = case.fuel
    assert f.injector_flow is not None
    rated = f.injector_flow * math.sqrt(f.rail_pressure / f.injector_rated_pressure)
    return fuel_flow / setup.fuel.density / (rated * f.injector_count)
