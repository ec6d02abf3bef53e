"""The compressor, whichever way it is known: one efficiency, the size of its wheel, or a measured map.

This room gathers the names of its parts: `compression` (temperatures, work, speed), `wheel` (parametric) and `chart` (maps).
"""

# ruff: noqa: F401  (names that other rooms' callers read here)
import math
from typing import NamedTuple

import numpy as np

from .chart import Chart, Point, chart_limits, chart_state, from_points, leave_one_out
from .compiled import compiled
from .compression import (
    efficiency_from_temperatures,
    isentropic_work,
    outlet_temperature,
    power,
    shaft_speed,
    table_outlet,
    tip_speed,
)
from .wheel import (
    HUB_RATIO,
    PEAK_POSITION,
    THROAT_RATIO,
    WORK_COEFFICIENT,
    WheelCompressor,
    blade_passage,
    choke_flow,
    from_wheel,
    head_ratio,
    peak_by_size,
    surge_flow,
    wheel_efficiency,
    wheel_state,
)

CONSTANT, WHEEL, MAP = 0, 1, 2  # Compressor.model
MODELS = {"constant": CONSTANT, "wheel": WHEEL, "map": MAP}
SOURCES = {
    "constant": "one efficiency; shaft speed from Euler work with slip",
    "wheel": "surge, choke, efficiency and shaft speed from wheel size; proportions from memory, confidence low to medium, the inducer's throat within "
    "what blade angles of 55 to 60 deg leave; "
    "choking inducer: Dixon, Thermodynamics of Turbomachinery, ch. 7",
    "map": "measured map, shape-preserving cubics along throttle lines; carried on by held head short of surge, held flow past "
    "choke, similarity beyond the speed lines",
}
NO_CHART = Chart(1, 1, 288.15, 101325.0)  # stands where there is no map
NO_ARRAY = np.zeros((1, 1))


class Compressor(NamedTuple):
    """Numbers of a compressor of any model; the packed array of a map travels beside it.

    model : int, CONSTANT (0), WHEEL (1) or MAP (2) [-]
    efficiency : float, isentropic efficiency, read by CONSTANT [-]
    efficiency_scale : float, factor on the efficiency of any model [-]
    wheel : WheelCompressor, read by WHEEL; its diameter and work coefficient by CONSTANT too [-]
    chart : Chart, read by MAP [-]
    """

    model: int
    efficiency: float
    efficiency_scale: float
    wheel: WheelCompressor
    chart: Chart


@compiled
def state(machine, packed, mass_flow, pressure_ratio, T1, p1, r, gamma):
    """Work and shaft speed at a flow and pressure ratio.

    machine : Compressor, the machine [-]
    packed : float64 array, of its map [-]
    mass_flow : float, mass flow [kg/s]
    pressure_ratio : float, outlet over inlet pressure [-]
    T1 : float, inlet temperature [K]
    p1 : float, inlet pressure [Pa]
    r : float, specific gas constant [J/(kg K)]
    gamma : float, ratio of specific heats [-]
    Returns rise of stagnation enthalpy [J/kg]; shaft speed [rad/s].
    """
    if machine.model == WHEEL:
        work, speed = wheel_state(machine.wheel, mass_flow, pressure_ratio, T1, p1, r, gamma)
    elif machine.model == MAP:
        work, speed = chart_state(machine.chart, packed, mass_flow, pressure_ratio, T1, p1, r, gamma)
    else:
        work = r * gamma / (gamma - 1.0) * T1 * head_ratio(pressure_ratio, gamma) / machine.efficiency
        speed = shaft_speed(
            work / machine.efficiency_scale, machine.wheel.wheel_diameter, machine.wheel.work_coefficient
        )
    return work / machine.efficiency_scale, speed


@compiled
def limits(machine, packed, pressure_ratio, T1, p1, r, gamma):
    """Flows between which the compressor works at a pressure ratio; 0 and infinity where nothing is known of them.

    machine : Compressor, the machine [-]
    packed : float64 array, of its map [-]
    pressure_ratio : float, outlet over inlet pressure [-]
    T1 : float, inlet temperature [K]
    p1 : float, inlet pressure [Pa]
    r : float, specific gas constant [J/(kg K)]
    gamma : float, ratio of specific heats [-]
    Returns surge flow [kg/s]; choke flow [kg/s].
    """
    if machine.model == WHEEL:
        surge = surge_flow(machine.wheel, pressure_ratio, T1, p1, r, gamma)
        return surge, choke_flow(machine.wheel, pressure_ratio, T1, p1, r, gamma)
    if machine.model == MAP:
        return chart_limits(machine.chart, packed, pressure_ratio, T1, p1, gamma)
    return 0.0, math.inf
