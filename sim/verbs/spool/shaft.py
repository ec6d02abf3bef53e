"""The shaft and the charge pipes between two parts of a cycle: what the compressor does while they change."""

import math
from typing import NamedTuple

from scipy.optimize import brentq

from ....models import compressor
from ...records import Array
from ...surroundings import GAMMA_AIR, R_AIR, Plant

LEAST_INLET = 0.3  # of ambient, before the compressor; a duct is choked there
LEAST_SPEED = 100.0  # [rad/s] a shaft at rest would give the turbine nothing to be measured by


class Charge(NamedTuple):
    """What the compressor gives over a step."""

    flow: float  # [kg/s]
    work: float  # rise of enthalpy [J/kg]
    ratio: float
    intake: float  # pressure in the manifold at the end [Pa]


def turned(speed: float, inertia: float, work: float) -> float:
    """Speed of a shaft [rad/s] of an inertia [kg m2] after work [J] has been done on it; it never runs backward."""
    return math.sqrt(max(speed * speed + 2.0 * work / inertia, LEAST_SPEED**2))


def fill(plant: Plant, chart: Array, speed: float, pressure: float, breathing: float, stiffness: float) -> Charge:
    """The compressor at a shaft speed filling the pipes while the engine draws from them, implicit in the pressure.

    speed : shaft [rad/s]; pressure : manifold at the start [Pa]; breathing : drawn for each pascal in the manifold [kg/(s Pa)]
    stiffness : rise of manifold pressure over the step for each unit of flow, R T dt / V [Pa s/kg]
    Mass that flows in less mass that flows out is what the pressure shows; pipes and cooler hold the temperature. The
    compressor never flows back: where it cannot hold the pressure the pipes empty into the engine.
    """
    low = pressure / (1.0 + breathing * stiffness)  # the compressor gives nothing
    high = low + min(4.0 * plant.ambient_pressure, most_flow(plant) * stiffness / (1.0 + breathing * stiffness))

    def flow_at(level: float) -> float:
        return breathing * level + (level - pressure) / stiffness

    def excess(level: float) -> float:
        return compressed(plant, chart, flow_at(level), level)[2] - speed

    if excess(low) >= 0.0:
        high = low
    elif excess(high) > 0.0:
        high = float(brentq(excess, low, high, xtol=1e-3))
    flow = max(flow_at(high), 0.0)
    work, ratio, _ = compressed(plant, chart, flow, high)
    return Charge(flow, work, ratio, high)


def compressed(plant: Plant, chart: Array, flow: float, level: float) -> tuple[float, float, float]:
    """Work [J/kg], pressure ratio and shaft speed [rad/s] of the compressor, at a flow, for a pressure in the manifold [Pa]."""
    flow = max(flow, 0.0)
    p1 = plant.ambient_pressure - plant.inlet_loss * flow * flow
    ratio = (level + plant.cooler_loss * flow * flow) / p1
    T1 = plant.ambient_temperature
    work, turns = compressor.state(plant.compressor, chart, flow, ratio, T1, p1, R_AIR, GAMMA_AIR)
    return float(work), ratio, float(turns)


def most_flow(plant: Plant) -> float:
    """What filter and duct let through at most [kg/s]."""
    if plant.inlet_loss <= 0.0:
        return math.inf
    return math.sqrt((1.0 - LEAST_INLET) * plant.ambient_pressure / plant.inlet_loss)


def unthrottled(plant: Plant, chart: Array, speed: float, flow: float) -> tuple[float, float]:
    """Pressure after the compressor [Pa] and its work [J/kg] at a shaft speed and flow, before a throttle that takes the rest."""
    p1 = plant.ambient_pressure - plant.inlet_loss * flow * flow
    T1 = plant.ambient_temperature

    def turns(ratio: float) -> float:
        return float(compressor.state(plant.compressor, chart, flow, ratio, T1, p1, R_AIR, GAMMA_AIR)[1])

    low, high = 1.0, 6.0
    for _ in range(50):
        middle = 0.5 * (low + high)
        low, high = (middle, high) if turns(middle) < speed else (low, middle)
    work = float(compressor.state(plant.compressor, chart, flow, high, T1, p1, R_AIR, GAMMA_AIR)[0])
    return high * p1, work if turns(1.0) < speed else 0.0
