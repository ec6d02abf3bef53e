"""What can be behind a few odd readings: each cause as a way to move the model, how usual it is, and the tests for it.

Chances before anything is read and sizes of departures are common practice, no source.
"""

import math
from collections.abc import Callable
from typing import NamedTuple

import numpy as np

from ...records import Array
from .forward import Stand

Inputs = dict[str, float]
Channels = dict[str, float]
LEAK_DISCHARGE = 0.6  # of a crack or a gasket's gap
WAVE = 0.3  # depth of the wave that comes back, over the pulse's height above the mean; from memory, confidence low
AIR_DENSITY = 1.15  # of the bay's air that a leak draws in [kg/m3]


class Cause(NamedTuple):
    """One cause: how large it may be, and what the gauges would show then."""

    name: str
    words: str
    before: float  # chance before anything is read, of all causes together
    sizes: Array  # at which the model is solved, rising
    density: Callable[[Array], Array]  # how usual each size is, not normalised
    size_words: Callable[[float], str]
    show: "Show"


class Setting(NamedTuple):
    """The point at which readings were taken."""

    stand: Stand
    inputs: Inputs  # nominal, by dotted name
    opening: float | None  # of the wastegate, None where it is free
    measured_lambda: float


Show = Callable[[Setting, float], Channels]


def bell(sigma: float, middle: float = 0.0) -> Callable[[Array], Array]:
    """A normal density."""
    return lambda x: np.exp(-0.5 * ((x - middle) / sigma) ** 2)


def _moved(name: str, factor: bool) -> Show:
    def show(s: Setting, size: float) -> Channels:
        base = s.inputs.get(name, float(s.stand.case.get(name) or 0.0))
        return s.stand.read(s.inputs | {name: base * math.exp(size) if factor else base + size}, s.opening)

    return show


def _pipe(s: Setting, size: float) -> Channels:
    """A loss after the turbine larger by a factor, however the case gives it."""
    case = s.stand.case
    if case.exhaust.restriction is None:
        return _moved("exhaust.loss_coefficient", True)(s, size)
    pressure, flow = case.exhaust.restriction
    return s.stand.read(
        s.inputs, s.opening, texts={"exhaust.restriction": f"{pressure * math.exp(size)!r} Pa at {flow!r} kg/s"}
    )


def _wastegate(s: Setting, size: float) -> Channels:
    """Open by a share where it is taken to be shut, or more than is logged; where it is free it cannot be told."""
    return s.stand.read(s.inputs, None if s.opening is None else min(s.opening + size, 1.0))


def _charge_leak(s: Setting, size: float) -> Channels:
    """The compressor delivers more than the engine draws: its power is missing, and an air meter before it counts the leak."""
    base = s.inputs.get("turbine.efficiency_scale", float(s.stand.case.get("turbine.efficiency_scale") or 1.0))
    found = s.stand.read(s.inputs | {"turbine.efficiency_scale": base / (1.0 + size)}, s.opening)
    return found | {"air_flow": found["air_flow"] * (1.0 + size)}


def _exhaust_leak(s: Setting, size: float) -> Channels:
    """A hole of `size` [m2] before the turbine: gas by-passes the wheel; below ambient, between pulses, air is drawn in.

    The air thins the gas at the lambda probe behind it: the engine runs richer than the probe says. The model's volumes
    know no waves, and without waves a manifold never falls below the outside: their depth is a judgement (WAVE).
    """
    opening, most = s.opening, s.stand.wastegate_area
    if opening is not None and most > 0.0:
        opening = min(opening + LEAK_DISCHARGE * size / most, 1.0)
    first = s.stand.read(s.inputs, opening)
    pressure = s.stand.runner_pressure
    wave = WAVE * (pressure.max(axis=0) - pressure.mean(axis=0))
    trough = np.maximum(s.stand.ambient_pressure - (pressure - wave), 0.0)
    drawn = LEAK_DISCHARGE * size * float(np.sqrt(2.0 * AIR_DENSITY * trough).mean())
    share = drawn / first["air_flow"]
    if share < 1e-4:
        return first
    true = max(s.measured_lambda / (1.0 + share), 0.55)
    return s.stand.read(s.inputs | {"run.lambda": true}, opening)


def causes() -> list[Cause]:
    """All causes; gauges that lie are added by what was read."""

    def percent(x: float) -> str:
        return f"{100.0 * (math.exp(x) - 1.0):+.0f} %"

    wide = np.array([-0.5, -0.3, -0.15, -0.05, 0.05, 0.15, 0.3, 0.5])
    return [
        Cause("nothing", "nothing is wrong: within what the model and gauges leave open", 0.30, np.zeros(1), np.ones_like, lambda x: "",
              _moved("engine.breathing", True)),
        Cause("turbine size", "the turbine is not the size it is taken for", 0.12, wide, bell(0.22),
              lambda x: f"swallows {percent(x)}", _moved("turbine.flow_scale", True)),
        Cause("pipe after the turbine", "the pipe after the turbine holds back (silencer, crushed or small pipe, catalyst)", 0.12,
              np.array([0.1, 0.4, 0.8, 1.3, 1.9, 2.5]), bell(1.0), lambda x: f"loss times {math.exp(x):.1f}", _pipe),
        Cause("wastegate", "the wastegate stands open where it should be shut, or wider than taken", 0.12,
              np.array([0.01, 0.05, 0.12, 0.25, 0.45, 0.7]), lambda x: np.exp(-x / 0.25), lambda x: f"{100 * x:.0f} % open", _wastegate),
        Cause("leak before the turbine", "exhaust leaks before the turbine; between pulses it draws air and falsifies lambda", 0.08,
              np.array([2e-6, 2e-5, 6e-5, 1.5e-4, 3e-4]), lambda x: np.exp(-x / 8e-5), lambda x: f"{1e6 * x:.0f} mm2", _exhaust_leak),
        Cause("charge leak", "charge leaks between compressor and engine", 0.10, np.array([0.005, 0.03, 0.08, 0.16, 0.3]),
              lambda x: np.exp(-x / 0.08), lambda x: f"{100 * x:.0f} % of the charge", _charge_leak),
        Cause("timing", "timing at the crank is not what the box says", 0.08, np.array([-10.0, -6.0, -3.0, -1.0, 1.0, 3.0, 6.0, 10.0]),
              bell(4.0), lambda x: f"{x:+.1f} deg", _moved("engine.spark_offset", False)),
        Cause("worn turbo", "the turbo is less efficient than assumed (worn, wrong wheel, damaged)", 0.08,
              np.array([-0.45, -0.3, -0.18, -0.08, -0.02]), bell(0.15), lambda x: f"efficiency {percent(x)}",
              _moved("turbine.efficiency_scale", True)),
    ]  # fmt: skip


class Test(NamedTuple):
    """A test: what is done, how long it takes, what it decides at once, or the channel it reads."""

    words: str
    minutes: float
    decides: tuple[str, ...] = ()
    channel: str = ""


TESTS = (
    Test("a second gauge on the same fitting", 10, ("gauge",)),
    Test("a timing light on a marked pulley", 10, ("timing",)),
    Test("cold start with a hand and a rag at the manifold's joints; look for soot", 10, ("leak before the turbine",)),
    Test("a hand pump on the wastegate's hose: where does its rod move, does it come back", 15, ("wastegate",)),
    Test("low-pressure air and soapy water on the charge pipes", 25, ("charge leak",)),
    Test("a gauge in the sensor bung after the turbine", 30, ("pipe after the turbine",), "outlet_pressure"),
    Test("a thermometer after the compressor", 30, (), "compressor_temperature"),
    Test("play of the shaft and the wheels' edges, by hand, cold", 30, ("worn turbo",)),
    Test("housing's mark and its throat with a paper template", 60, ("turbine size",)),
    Test("an air meter before the compressor", 90, (), "air_flow"),
    Test("a gauge before the turbine", 90, (), "backpressure"),
    Test("an exhaust probe", 90, (), "probe.1"),
)
