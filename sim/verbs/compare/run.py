"""`compare`: two or more turbines, or any other choice, on the same engine.

The module does not bear the verb's name: `from hotside.sim import compare` must go on giving the function.
"""

from collections.abc import Callable, Mapping

import numpy as np

from ...case import Case
from ...prediction import Prediction
from ...steady import SolveError, predict
from ...units import RPM
from . import words
from .admission import admission
from .response import response, tip_in
from .result import ALONG, BETTER, CompareResult
from .runaway import runaway as sweep_boost
from .torque import equal_torque

Progress = Callable[[str], None]
SPEEDS, LOWEST = 7, 0.35  # along full load, from this share of the case's speed


def compare(
    rivals: Mapping[str, Case], *, runaway: bool = False, spool_too: bool = True, progress: Progress | None = None
) -> CompareResult:
    """The rivals at their point, at the torque of the first, along full-load speed, and in a tip-in at 0.6 of the speed.

    rivals : name -> Case; the first is the one the others are measured against
    runaway : whether the boost is also raised until the turbine chokes
    spool_too : whether the tip-in and the boost threshold are marched
    Raises SolveError where a rival's own point has no answer.
    """
    say = progress or (lambda text: None)
    names, cases = list(rivals), list(rivals.values())
    speed = cases[0].run.speed_rpm
    speeds = [float(n) for n in np.linspace(LOWEST * speed, speed, SPEEDS)]
    point: dict[str, list[float | None]] = {name: [] for name in BETTER}
    along: dict[str, list[list[float | None]]] = {name: [] for name in ALONG}
    cylinders, sweeps, warnings, unsure = [], [], [], []
    common = tip_in(cases[0]) if spool_too else None
    for name, case in rivals.items():
        idle = [n for n in case.unread if n not in cases[0].unread and case.get(n) != cases[0].get(n)]
        if idle:
            warnings.append(f"{name}: the submodels of this case do not read {', '.join(idle)}; it changes nothing.")
        say(f"{name}: the point")
        found = predict(case, progress=progress)
        _note(point, found)
        cylinders.append([float(c["residual_fraction"]) for c in found.cylinders])
        warnings += [f"{name}: {text}" for text in found.warnings[:1] if not found.boost_reached]
        say(f"{name}: along full load")
        rows = [_at(case, n) for n in speeds]
        for key in ALONG:
            along[key].append([None if row is None else getattr(row, key) for row in rows])
        say(f"{name}: tip-in and threshold")
        time, edge = (None, None) if common is None else response(case, common, speed)
        point["time_to_90_s"].append(time)
        point["threshold_rpm"].append(edge)
        unsure += [a for a in [admission(name, case, common)] if a is not None]
        if runaway:
            say(f"{name}: boost raised")
            sweeps.append(sweep_boost(case))
    say("equal torque")
    at_equal = equal_torque(rivals, point["torque_nm"][0] or 0.0, _better)
    return CompareResult(
        title=cases[0].title,
        speed_rpm=speed,
        names=names,
        point=point,
        better={key: _better(key, values, names, BETTER[key]) for key, values in point.items()},
        speeds_rpm=speeds,
        along=along,
        cylinders=cylinders,
        collectors=[case.exhaust.collectors for case in cases],
        equal_torque=at_equal,
        runaway=sweeps if runaway else None,
        tip_in=common,
        admission=unsure,
        trade=words.trade(names, point, spool_too),
        warnings=warnings,
    )


def _note(point: dict[str, list[float | None]], found: Prediction) -> None:
    for key, values in point.items():
        if hasattr(found, key):
            values.append(getattr(found, key))


def _at(case: Case, rpm: float) -> Prediction | None:
    try:
        return predict(case.set_si({"run.speed": rpm * RPM}))
    except SolveError:
        return None


def _better(key: str, values: list[float | None], names: list[str], way: int) -> str | None:
    """The better rival for one result, `way` 1 where more is better; None where they are alike or where it depends."""
    known = [(way * v, n) for v, n in zip(values, names, strict=True) if v is not None]
    if not way or len(known) < 2:
        return None
    known.sort(reverse=True)
    near = words.DRAW.get(key, 0.0)
    alike = known[0][0] - known[1][0] <= max(near if near > 0.006 else near * abs(known[0][0]), 1e-9)
    return None if alike else known[0][1]
