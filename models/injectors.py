"""Injectors and fuel pump: the share of the cycle an injector is open, what a pump still delivers at pressure."""

import math
from collections.abc import Sequence


def flow_at(rated: float, rated_drop: float, drop: float) -> float:
    """Flow of an open injector: an orifice passes liquid with the root of the pressure drop (Bernoulli).

    rated : float, flow at the rated pressure drop [m3/s]
    rated_drop : float, pressure drop of the rating [Pa]
    drop : float, rail pressure less that of the manifold it sprays into [Pa]
    Returns the flow, 0 where the manifold holds against the rail [m3/s].
    """
    return rated * math.sqrt(drop / rated_drop) if drop > 0.0 else 0.0


def duty(fuel: float, injector: float, count: int, speed_rpm: float, dead_time: float) -> float:
    """Share of the cycle for which each injector is energised, one injection in each engine cycle.

    fuel : float, fuel of the whole engine [m3/s]
    injector : float, flow of one injector while open [m3/s]
    count : int, injectors [-]
    speed_rpm : float, engine speed [rev/min]
    dead_time : float, time energised before it flows, less that after [s]
    Returns the share, past 1 where the injectors are too small, infinite where they do not flow [-].
    """
    if injector <= 0.0:
        return math.inf
    return fuel / (injector * count) + dead_time * speed_rpm / 120.0


def delivery(curve: Sequence[tuple[float, float]], pressure: float) -> float:
    """What a pump delivers at a pressure: straight lines between the points of its curve, the end lines carried on.

    curve : pairs of pressure, rising, and delivery, two or more [Pa, m3/s]
    pressure : float, pressure the pump works against, above ambient [Pa]
    Returns the delivery, never below 0 [m3/s].
    """
    k = sum(pressure > p for p, _ in curve[1:-1])
    (p0, q0), (p1, q1) = curve[k], curve[k + 1]
    return max(q0 + (q1 - q0) * (pressure - p0) / (p1 - p0), 0.0)
