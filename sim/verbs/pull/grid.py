"""The engine along the speeds of the pull, each a settled point of its own: no lag of the turbo is in it."""

from collections.abc import Callable
from typing import Any, NamedTuple

import numpy as np

from ....models import gauges, warming
from ... import exchange as ex
from ... import steady, units
from ...case import Case, load
from ...errors import CaseError
from ...prediction import Prediction
from ...records import IN_COLLECTOR, IN_RUNNER_SURFACE, Array
from ...settle import March
from ...setup import prepare
from ...streams import Stream, stream
from ...variants import Variants

Progress = Callable[[str], None]


class Walls(NamedTuple):
    """Heat at every wall of the manifold, runners before collectors; arrays of equal length."""

    h_area: Array  # film coefficient times inside area, mean over the cycle [W/K]
    gas: Array  # mean of the gas weighted with the film [K]
    settled: Array  # wall that settles at this point [K]
    share: Array  # how far the gas follows its wall [-]
    outside: Array  # outside surface [m2]
    feeds: Array  # collector into which a runner opens, as a row of these arrays; -1 for collectors


class Point(NamedTuple):
    """One speed of the pull."""

    speed: float  # [rad/s]
    prediction: Prediction
    streams: list[Stream]  # where the probes stand
    walls: Walls


FEWEST = 4  # settled points that a pull is drawn through [-]


def solve(case: Case, progress: Progress | None = None) -> tuple[list[Point], list[tuple[float, str]]]:
    """The settled points along the pull, speed rising, and those without an answer as (speed [rpm], why).

    Raises CaseError where fewer than FEWEST settle.
    """
    assert case.pull is not None
    # without [pull], whose stand-ins follow from the speed of the case
    variants = Variants(load({key: table for key, table in case.to_dict().items() if key not in ("pull", "vehicle")}))
    speeds = np.linspace(case.pull.begins, case.pull.ends, case.pull.points)
    points: list[Point] = []
    lost: list[tuple[float, str]] = []
    for number, speed in enumerate(speeds, 1):
        if progress is not None:
            progress(f"speed {number} of {len(speeds)}: {speed / units.RPM:.0f} rpm")
        found = _point(variants.make({"run.speed": units.exact(float(speed), "rotation")}), float(speed))
        if isinstance(found, Point):
            points.append(found)
        else:
            lost.append((float(speed) / units.RPM, found))
    if len(points) < FEWEST:
        where = "; ".join(f"{speed:.0f} rpm: {why}" for speed, why in lost[:3])
        raise CaseError(
            f"pull: only {len(points)} of {len(speeds)} speeds have a settled answer ({where}); move pull.begins or ends."
        )
    return points, lost


def _point(case: Case, speed: float) -> Point | str:
    """One speed solved, or why it has no answer."""
    try:
        prediction, march = steady.answer(prepare(case))
    except steady.SolveError:
        return "no physical answer"
    if not prediction.converged:
        return prediction.status
    if prediction.torque_nm <= 0.0:
        return "no torque"
    return Point(speed, prediction, [stream(march, probe.cylinder) for probe in case.probe], _walls(march))


def _walls(march: March) -> Walls:
    engine, desk, inputs = march.setup.engine, march.desk, march.setup.inputs
    n, seconds = engine.cylinders, 120.0 / march.setup.plant.speed_rpm
    h_area = np.concatenate((desk.account[:n, ex.A_HA], desk.collector[:, ex.B_HA])) / seconds
    h_area_gas = np.concatenate((desk.account[:n, ex.A_HAT], desk.collector[:, ex.B_HAT])) / seconds
    collector = inputs[:, IN_COLLECTOR].astype(int)
    leaves = desk.account[:n, ex.A_OUT_MASS]
    flow = np.concatenate((leaves, [leaves[collector == c].sum() for c in range(engine.collectors)])) / seconds
    surface = np.concatenate((inputs[:, IN_RUNNER_SURFACE], np.full(engine.collectors, engine.collector_surface)))
    return Walls(
        h_area=h_area,
        gas=h_area_gas / h_area,
        settled=march.memory.wall.copy(),
        share=np.array([warming.wall_share(h, m, gauges.SPECIFIC_HEAT) for h, m in zip(h_area, flow, strict=True)]),
        outside=surface * engine.outer_area_ratio,
        feeds=np.concatenate((n + collector, np.full(engine.collectors, -1))),
    )


def along(points: list[Point], value: Callable[[Point], Any]) -> Any:
    """A quantity of the points as a smooth function of speed [rad/s] that makes no new humps; arrays along its last axis."""
    from scipy.interpolate import PchipInterpolator

    speeds = [point.speed for point in points]
    return PchipInterpolator(speeds, np.array([value(point) for point in points]), axis=0, extrapolate=True)
