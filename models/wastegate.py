"""The wastegate: bypass area and flow, and the balance of spring, diaphragm and exhaust pressure on the valve."""

import math
from typing import NamedTuple

from .compiled import compiled
from .flow import nozzle_flow

DISCHARGE = 0.7  # of a poppet or flap bypass, on the smaller of curtain and port; from memory, confidence low, 0.6-0.8


class Gate(NamedTuple):
    """Spring, diaphragm and valve of a wastegate.

    preload : float, spring preload at the rod [N]
    stiffness : float, spring rate at the rod [N/m]
    diaphragm_area : float, effective diaphragm area [m2]
    lever_ratio : float, valve arm over rod arm; 1 for a direct valve [-]
    diameter : float, diameter of the seat [m]
    """

    preload: float
    stiffness: float
    diaphragm_area: float
    lever_ratio: float
    diameter: float


def gate_from_pump(
    crack_pressure: float, full_pressure: float, diaphragm_diameter: float, lever_ratio: float, diameter: float
) -> Gate:
    """Gate from what a hand pump shows with the engine off: first movement, and the open stop.

    crack_pressure : float, gauge pressure at first movement [Pa]
    full_pressure : float, gauge pressure at which the valve has lifted a quarter of its diameter [Pa]
    diaphragm_diameter : float, effective diaphragm diameter [m]
    lever_ratio : float, valve arm over rod arm; 1 for a direct valve [-]
    diameter : float, diameter of the seat [m]
    Returns Gate [-]. Raises ValueError for a full pressure that is not above the crack pressure.
    """
    if not full_pressure > crack_pressure:
        raise ValueError("the valve must need more pressure to open fully than to crack")
    area = 0.25 * math.pi * diaphragm_diameter * diaphragm_diameter
    travel = 0.25 * diameter / lever_ratio
    stiffness = (full_pressure - crack_pressure) * area / max(travel, 1e-9)
    return Gate(float(crack_pressure * area), float(stiffness), float(area), float(lever_ratio), float(diameter))


@compiled
def gate_opening(gate, signal, p_manifold, p_downstream):
    """Opening of the valve under its forces, 0 shut to 1 where curtain equals port.

    gate : Gate, spring, diaphragm and valve [-]
    signal : float, gauge pressure on the diaphragm [Pa]
    p_manifold : float, pressure before the turbine, cycle mean [Pa]
    p_downstream : float, pressure behind the valve [Pa]
    Returns opening [-].
    """
    most = 0.25 * gate.diameter
    if most <= 0.0:
        return 0.0
    head = head_force(gate.diameter, p_manifold, p_downstream)
    lift = valve_lift(signal, gate.preload, gate.stiffness, gate.diaphragm_area, head, gate.lever_ratio, most)
    return lift / most


@compiled
def valve_area(diameter, lift):
    """Geometric bypass area: the curtain under the valve until it exceeds the port (at a quarter of the diameter).

    diameter : float, port diameter [m]
    lift : float, valve lift, 0 or more [m]
    Returns area [m2].
    """
    return math.pi * diameter * min(max(lift, 0.0), 0.25 * diameter)


@compiled
def effective_area(diameter, opening, discharge):
    """Effective bypass area at an opening of 0 (shut) to 1 (curtain equals port).

    diameter : float, port diameter [m]
    opening : float, opening, 0 to 1 [-]
    discharge : float, discharge coefficient [-]
    Returns effective area [m2].
    """
    return discharge * valve_area(diameter, 0.25 * diameter * opening)


@compiled
def bypass_flow(area, p_up, T_up, r_up, gamma_up, p_down):
    """Flow past the turbine; nothing flows back.

    area : float, effective area [m2]
    p_up : float, pressure before the turbine [Pa]
    T_up : float, temperature before the turbine [K]
    r_up : float, specific gas constant [J/(kg K)]
    gamma_up : float, ratio of specific heats [-]
    p_down : float, pressure after the turbine [Pa]
    Returns mass flow [kg/s].
    """
    if p_up <= p_down or area <= 0.0:
        return 0.0
    return nozzle_flow(area, p_up, T_up, r_up, gamma_up, p_down)


@compiled
def head_force(valve_diameter, p_manifold, p_downstream):
    """Force of the exhaust on the shut valve head, in the opening direction where the manifold acts under it.

    valve_diameter : float, diameter of the seat [m]
    p_manifold : float, pressure before the turbine, cycle mean [Pa]
    p_downstream : float, pressure behind the valve [Pa]
    Returns force [N].
    """
    return 0.25 * math.pi * valve_diameter * valve_diameter * (p_manifold - p_downstream)


@compiled
def preload_from_crack(crack_pressure, diaphragm_area):
    """Spring preload from the gauge pressure at which a hand pump starts to move the rod, engine off.

    crack_pressure : float, gauge pressure at first movement [Pa]
    diaphragm_area : float, effective diaphragm area [m2]
    Returns preload [N].
    """
    return crack_pressure * diaphragm_area


@compiled
def crack_boost(preload, diaphragm_area, head, lever_ratio):
    """Gauge pressure on the diaphragm at which the running gate cracks: exhaust on the head helps it open.

    preload : float, spring preload at the rod [N]
    diaphragm_area : float, effective diaphragm area [m2]
    head : float, exhaust force on the valve head, opening positive [N]
    lever_ratio : float, valve arm over rod arm: force at the rod per force at the valve; 1 for a direct valve [-]
    Returns gauge pressure, 0 when the exhaust alone opens it [Pa].
    """
    return max((preload - lever_ratio * head) / diaphragm_area, 0.0)


@compiled
def valve_lift(signal, preload, stiffness, diaphragm_area, head, lever_ratio, lift_max):
    """Valve lift at which the spring balances diaphragm and exhaust, within the stops.

    The force on the head is taken as on the shut valve, the usual first estimate (common practice, no source).

    signal : float, gauge pressure on the diaphragm [Pa]
    preload : float, spring preload at the rod [N]
    stiffness : float, spring rate at the rod [N/m]
    diaphragm_area : float, effective diaphragm area [m2]
    head : float, exhaust force on the valve head, opening positive [N]
    lever_ratio : float, valve arm over rod arm [-]
    lift_max : float, lift at the open stop [m]
    Returns valve lift [m].
    """
    rod_travel = (signal * diaphragm_area + lever_ratio * head - preload) / stiffness
    return min(max(rod_travel * lever_ratio, 0.0), lift_max)


@compiled
def signal_for_lift(lift, preload, stiffness, diaphragm_area, head, lever_ratio):
    """Gauge pressure on the diaphragm that holds the valve at a lift (the inverse of valve_lift between the stops).

    lift : float, valve lift [m]
    preload : float, spring preload at the rod [N]
    stiffness : float, spring rate at the rod [N/m]
    diaphragm_area : float, effective diaphragm area [m2]
    head : float, exhaust force on the valve head, opening positive [N]
    lever_ratio : float, valve arm over rod arm [-]
    Returns gauge pressure [Pa].
    """
    return (preload + stiffness * lift / lever_ratio - lever_ratio * head) / diaphragm_area
