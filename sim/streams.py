"""What passes one place of the manifold over the last cycle: gas, flow, wall. Probes, pressure tap and parts read it."""

import math
from typing import NamedTuple

import numpy as np

from ..models.compiled import compiled
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
    flow_weighted: float  # mean temperature of the gas that passes, whichever way it goes [K]
    time_mean: float  # of the temperature [K]
    speed: float  # mean of the velocity, whichever way [m/s]
    fastest: float  # greatest of it [m/s]
    pressure_mean: float  # [Pa]
    pressure_low: float  # [Pa]
    pressure_high: float  # [Pa]


@compiled
def means(T, pressure, flow, velocity):
    """What a `Stream` says of the whole cycle, its last fields; in one pass, where numpy makes ten."""
    hot = weighed = weight = speed = fastest = total = 0.0
    low, high = pressure[0], pressure[0]
    n = T.size
    for i in range(n):
        hot += T[i]
        weighed += abs(flow[i]) * T[i]
        weight += abs(flow[i])
        speed += abs(velocity[i])
        fastest = max(fastest, abs(velocity[i]))
        total += pressure[i]
        low, high = min(low, pressure[i]), max(high, pressure[i])
    mean = hot / n
    return weighed / weight if weight > 0.0 else mean, mean, speed / n, fastest, total / n, low, high


@compiled
def mean_and_swing(x):
    """Mean of a row, and how far its greatest lies above its least."""
    total = 0.0
    low, high = x[0], x[0]
    for i in range(x.size):
        total += x[i]
        low, high = min(low, x[i]), max(high, x[i])
    return total / x.size, high - low


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
    return _recorded(march, name, index, 0.5, march.setup.engine.runner_diameter)


def _collector(march: March, index: int, name: str) -> Stream:
    """At its outlet, where all has met: what goes to the turbine and what goes by the wastegate."""
    return _recorded(march, name, index, 1.0, march.setup.engine.collector_diameter)


def _recorded(march: March, name: str, index: int, share: float, bore: float) -> Stream:
    """From a volume's record, of both whose flows the share passes."""
    record = march.desk.manifold_record
    rows = np.empty((3, len(record)))
    drawn(record, index, share, rows)
    return _made(march, name, index, rows[0], rows[1], rows[2], bore)


@compiled
def drawn(record, index, share, rows):
    """Temperature, pressure and a share of both flows of one volume, out of the record of them all, each in a row."""
    for i in range(record.shape[0]):
        rows[0, i], rows[1, i] = record[i, index, recording.M_T], record[i, index, recording.M_P]
        rows[2, i] = share * (record[i, index, recording.M_IN_FLOW] + record[i, index, recording.M_OUT_FLOW])


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
    pressure = np.ascontiguousarray(record[:, index, recording.M_P])
    made = _made(march, name, hottest, mixed, pressure, total, march.setup.engine.collector_diameter)
    return made._replace(stands_in=True)


def _made(march: March, name: str, index: int, T: Array, pressure: Array, flow: Array, bore: float) -> Stream:
    mix = march.memory.content[march.setup.engine.cylinders + index, :K]
    r = float(mix @ march.setup.table.gas_constant) / float(mix.sum())
    velocity = flow * T / pressure * (r / (math.pi / 4.0 * bore**2))
    dt = np.full(len(T), 120.0 / march.setup.plant.speed_rpm / len(T))
    wall = float(march.memory.wall[index])
    return Stream(
        name, index, dt, T, pressure, flow, velocity, wall, float(bore), False, *means(T, pressure, flow, velocity)
    )
