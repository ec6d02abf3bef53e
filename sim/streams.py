"""What passes one place of the manifold over the last cycle: gas, flow, wall. Probes, pressure tap and parts read it."""

import math
from typing import NamedTuple

import numpy as np

from . import recording, surroundings
from .records import IN_COLLECTOR, Array, K
from .settle import March


class Stream(NamedTuple):
    """One place over one cycle; arrays of equal length, one entry for each step."""

    name: str  # "runner 2", "collector"
    row: int  # row of the manifold: runners, then collectors; of a stand-in, the row whose wall it takes
    dt: Array  # [s]
    temperature: Array  # gas [K]
    pressure: Array  # absolute [Pa]
    flow: Array  # past the place, towards the turbine [kg/s]
    velocity: Array  # [m/s]
    wall: float  # [K]
    bore: float  # [m]
    stands_in: bool  # a collector behind a pressure held by hand, put together from its runners

    @property
    def flow_weighted(self) -> float:
        """Mean temperature of the gas that passes, weighted with its flow whichever way it goes [K]."""
        weight = np.abs(self.flow)
        return float((weight * self.temperature).sum() / weight.sum()) if weight.sum() > 0.0 else self.time_mean

    @property
    def time_mean(self) -> float:
        """Mean temperature over time [K]."""
        return float(self.temperature.mean())


def has_manifold(march: March) -> bool:
    """Whether there are runners: a bench breathes into a plenum."""
    return march.setup.plant.kind != surroundings.BENCH


def row_of(cylinders: int, place: int | str) -> int:
    """Row of the manifold record for a cylinder's number or a collector's name."""
    if isinstance(place, int):
        return place - 1
    number = place.removeprefix("collector").strip()
    return cylinders + (int(number) - 1 if number else 0)


def stream(march: March, place: int | str) -> Stream:
    """What passes a place: the runner of a cylinder, or a collector."""
    n = march.setup.engine.cylinders
    index = row_of(n, place)
    name = f"runner {place}" if isinstance(place, int) else place
    if index < n:
        return _runner(march, index, name)
    return _collector(march, index, name) if march.setup.plant.kind == surroundings.TURBO else _held(march, index, name)


def _runner(march: March, index: int, name: str) -> Stream:
    """Half-way down the pipe: the mean of what enters by the valve and what leaves by the mouth."""
    record = march.desk.manifold_record[:, index]
    flow = 0.5 * (record[:, recording.M_IN_FLOW] + record[:, recording.M_OUT_FLOW])
    state = record[:, recording.M_T], record[:, recording.M_P]
    return _made(march, name, index, *state, flow, march.setup.engine.runner_diameter)


def _collector(march: March, index: int, name: str) -> Stream:
    """At its outlet, where all has met: what goes to the turbine and what goes by the wastegate."""
    record = march.desk.manifold_record[:, index]
    flow = record[:, recording.M_IN_FLOW] + record[:, recording.M_OUT_FLOW]
    state = record[:, recording.M_T], record[:, recording.M_P]
    return _made(march, name, index, *state, flow, march.setup.engine.collector_diameter)


def _held(march: March, index: int, name: str) -> Stream:
    """Behind a pressure held by hand no collector warms: its runners' gas as it comes, their hottest wall."""
    n = march.setup.engine.cylinders
    members = [j for j in range(n) if n + int(march.setup.inputs[j, IN_COLLECTOR]) == index]
    record = march.desk.manifold_record
    out = np.maximum(record[:, members, recording.M_OUT_FLOW], 0.0)
    total = out.sum(axis=1)
    weight = np.where(total[:, None] > 0.0, out, 1.0)
    mixed = (weight * record[:, members, recording.M_T]).sum(axis=1) / weight.sum(axis=1)
    hottest = max(members, key=lambda j: float(march.memory.wall[j]))
    pressure = record[:, index, recording.M_P]
    made = _made(march, name, hottest, mixed, pressure, total, march.setup.engine.collector_diameter)
    return made._replace(stands_in=True)


def _made(march: March, name: str, index: int, T: Array, pressure: Array, flow: Array, bore: float) -> Stream:
    mix = march.memory.content[march.setup.engine.cylinders + index, :K]
    r = float((mix * march.setup.table.gas_constant).sum() / mix.sum())
    velocity = flow * r * T / (pressure * math.pi / 4.0 * bore**2)
    T, pressure, flow, velocity = (np.ascontiguousarray(a) for a in (T, pressure, flow, velocity))
    dt = np.full(len(T), 120.0 / march.setup.plant.speed_rpm / len(T))
    return Stream(name, index, dt, T, pressure, flow, velocity, float(march.memory.wall[index]), float(bore), False)
