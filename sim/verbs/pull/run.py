"""`pull`: what each needle shows through a pull, and the value at which to lift.

The module does not bear the verb's name: `from hotside.sim import pull` must go on giving the function.
"""

from dataclasses import replace
from typing import Any

import numpy as np

from ....models import gauges
from ...case import Case, load
from ...errors import CaseError
from ...probes import CLASSES
from ...records import Array
from ...units import RPM
from . import grid, lift, motion, needles, words
from . import walls as warming
from .grid import Point, Progress
from .motion import Motion
from .needles import Needle
from .result import PullResult
from .walls import Warmth

REPORTED = 49  # speeds in the result [-]


def pull(case: Case, *, progress: Progress | None = None) -> PullResult:
    """Speed rising through a gear or on a dyno's ramp: every needle with its lag, and the probes' lift values.

    case : Case with a turbo; without [vehicle] or [pull] stand-ins are taken, and the result says so
    progress : called with a sentence for each speed that is solved
    Raises CaseError in one sentence for a bench or a held backpressure, a speed that has no answer, or a vehicle that does
    not get to the end of the pull.
    """
    case = furnished(case)
    points, lost = grid.solve(case, progress)
    moved = motion.motion_of(case, points)
    warmth = warming.warm(case, points, moved)
    speeds = np.linspace(points[0].speed, points[-1].speed, REPORTED)
    times = moved.time_of(speeds)
    shown = needles.probe_needles(case, points, moved, warmth, times)
    tapped = case.pressure_tap is not None
    tap = needles.tap_needle(points, moved, times) if tapped else None
    probes = [_probe(case, k, points, warmth, needle, times, speeds) for k, needle in enumerate(shown)]
    result = _result(case, points, moved, warmth, speeds, times, probes, tap)
    return replace(result, warnings=[*words.lost(lost), *result.warnings])


def furnished(case: Case) -> Case:
    """The case with [vehicle] and [pull]; raises CaseError where there is no turbo to pull with."""
    if case.is_bench:
        raise CaseError(
            "pull: a bench case has no turbo and no manifold; write a [turbine] instead of run.intake_pressure."
        )
    if case.run.held_backpressure is not None:
        raise CaseError("run.held_backpressure opens the loop that a pull runs through; leave it out.")
    if case.vehicle is not None and case.pull is not None:
        return case
    return load({"vehicle": {}, "pull": {}} | case.to_dict())


def _floats(values: Any) -> list[float]:
    return [float(value) for value in values]


def _probe(
    case: Case, k: int, points: list[Point], warmth: Warmth, needle: Needle, times: Array, speeds: Array
) -> dict[str, Any]:
    """Everything about one probe: gas, readings, needle, lift."""
    wanted, place = case.probe[k], points[0].streams[k]
    ceiling = float(case.limits.probe_temperature)
    tolerance = gauges.class_tolerance(ceiling, CLASSES[wanted.tolerance])
    found = lift.lift(needle, times, speeds, ceiling, tolerance)
    lacking = warmth.gas_deficit[:, place.row]
    gas = [p.prediction.probes[k]["gas_temperature_k"] - float(lack) for p, lack in zip(points, lacking, strict=True)]
    return {
        "cylinder": wanted.cylinder,
        "location": place.name,
        "kind": wanted.kind,
        "ceiling_k": ceiling,
        "lift_k": found.value,
        "lift_backed_off_k": found.backed_off,
        "lift_at_rpm": found.speed / RPM,
        "ceiling_reached": found.reached,
        "behind_at_end_k": float(needle.held[-1] - needle.shown[-1]),
        "time_constant_s": _floats(needle.lag),
        "gas_temperature_k": _floats(_smooth(points, gas)(speeds)),
        "held_reading_k": _floats(needle.held),
        "settling_reading_k": _floats(needle.now),
        "needle_k": _floats(needle.shown),
        "lift_by_speed_k": _floats(found.by_speed),
    }


def _smooth(points: list[Point], values: list[float]) -> Any:
    from scipy.interpolate import PchipInterpolator

    return PchipInterpolator([point.speed for point in points], values)


def _result(
    case: Case, points: list[Point], moved: Motion, warmth: Warmth, speeds: Array, times: Array, probes: list[dict[str, Any]],
    tap: Needle | None,
) -> PullResult:  # fmt: skip
    assert case.pull is not None

    def course(name: str) -> list[float]:
        return _floats(grid.along(points, lambda p: getattr(p.prediction, name))(speeds))

    unknown: list[float | None] = [None] * len(speeds)
    known = all(p.prediction.knock_margin_deg is not None for p in points)
    return PullResult(
        title=case.title,
        by=case.pull.by,
        wall=case.pull.wall,
        begins_rpm=points[0].speed / RPM,
        ends_rpm=points[-1].speed / RPM,
        duration_s=moved.duration,
        cruise_reading_k=float(case.pull.cruise_reading),
        time_s=_floats(times),
        speed_rpm=_floats(speeds / RPM),
        road_speed_m_s=None if case.pull.by == "dyno" else _floats(np.interp(speeds, moved.speed, moved.road)),
        boost_pa=course("boost_pa"),
        backpressure_pa=course("backpressure_pa"),
        tap_settled_pa=None if tap is None else _floats(tap.held),
        tap_needle_pa=None if tap is None else _floats(tap.shown),
        torque_nm=course("torque_nm"),
        power_w=course("power_w"),
        knock_margin_deg=[*course("knock_margin_deg")] if known else unknown,
        probes=probes,
        walls=_walls(points, warmth),
        points=[_point(point) for point in points],
        guesses=[name for name in case.guesses if name.startswith(("vehicle.", "pull."))],
        warnings=words.warnings_of(case, points, probes, moved.duration),
        models=words.models_used(case, points[-1].prediction.models),
    )


def _walls(points: list[Point], warmth: Warmth) -> list[dict[str, Any]]:
    """Start and end of every wall, and what it would settle at, in the order of the parts of a prediction."""
    names = [row["part"] for row in points[0].prediction.parts if row["part"].startswith(("runner", "collector"))]
    last = points[-1].walls.settled
    return [
        {
            "part": name,
            "start_k": float(warmth.start[i]),
            "end_k": float(warmth.wall[-1, i]),
            "settled_k": float(last[i]),
        }
        for i, name in enumerate(names)
    ]


def _point(point: Point) -> dict[str, Any]:
    p = point.prediction
    return {
        "speed_rpm": p.speed_rpm,
        "status": p.status,
        "boost_pa": p.boost_pa,
        "backpressure_pa": p.backpressure_pa,
        "torque_nm": p.torque_nm,
        "turbine_inlet_temperature_k": p.turbine_inlet_temperature_k,
        "knock_margin_deg": p.knock_margin_deg,
        "readings_k": [probe["reading_k"] for probe in p.probes],
    }
