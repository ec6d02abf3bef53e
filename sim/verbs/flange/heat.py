"""What the joint meets: wall temperature and gas pressure at the flange, predicted from the case or given in it."""

from collections.abc import Callable
from typing import Any, NamedTuple

import numpy as np

from ... import balance, recording, steady, surroundings
from ...case import Case
from ...errors import CaseError
from ...settle import March
from ...setup import prepare

Progress = Callable[[str], None]


class Heat(NamedTuple):
    """Wall and gas at one place of the manifold; the pressure is above the air outside."""

    wall: float  # [K]
    peak: float  # over the cycle [Pa]
    mean: float | None  # over the cycle, unknown where the pressure is given [Pa]
    wall_source: str
    pressure_source: str
    warnings: list[str]


class Walls(NamedTuple):
    """Wall temperatures and pressures of the whole manifold at one operating point."""

    runners: list[float]  # of each runner [K]
    collectors: list[float]  # of each collector; empty where none is heated [K]
    runner_pressure: np.ndarray  # (steps, runners), above the air outside [Pa]
    collector_pressure: np.ndarray  # (steps, collectors), likewise [Pa]
    warnings: list[str]


def walls(case: Case, progress: Progress | None = None) -> Walls:
    """Solve the point and read the manifold's walls and pressures; raises CaseError where it has no answer."""
    if case.is_bench:
        raise CaseError(
            "flange.wall_temperature and flange.gas_pressure are missing: a bench case has no manifold to predict them for; "
            'write for example "650 degC" and "1.5 bar".'
        )
    report = None if progress is None else (lambda text, share: progress(f"{text} {share:.0%}"))
    setup = prepare(case, report)
    if progress is not None and not balance.kept():
        progress("solving; the first run ever compiles the kernels, about a minute")
    try:
        prediction, march = steady.answer(setup)
    except steady.SolveError as error:
        raise CaseError(str(error)) from None
    return _read(march, prediction)


def _read(march: March, prediction: Any) -> Walls:
    n, kind = march.setup.engine.cylinders, march.setup.plant.kind
    above = march.desk.manifold_record[:, :, recording.M_P] - march.setup.ambient.pressure
    wall = [float(t) for t in march.memory.wall]
    heated = kind == surroundings.TURBO  # behind a pressure held by hand stands no collector that could warm
    said = (
        []
        if prediction.status == "converged"
        else [w for w in prediction.warnings if not w.endswith("past its limit.")]
    )
    return Walls(wall[:n], wall[n:] if heated else [], above[:, :n].copy(), above[:, n:].copy(), said)


def at(found: Walls, place: int | str) -> tuple[float, np.ndarray, str]:
    """Wall temperature [K], pressure over the cycle above the air outside [Pa] and the name of a place.

    A flange on two collectors takes the hotter wall and the mean of both pressures, as each has half of the opening.
    """
    if isinstance(place, int):
        return found.runners[place - 1], found.runner_pressure[:, place - 1], f"runner {place}"
    number = place.removeprefix("collector").strip()
    if not found.collectors:
        hottest = int(np.argmax(found.runners))
        return found.runners[hottest], found.collector_pressure.mean(axis=1), f"hottest runner, {hottest + 1}"
    if number:
        k = int(number) - 1
        return found.collectors[k], found.collector_pressure[:, k], place
    hotter = max(found.collectors)
    return (
        hotter,
        found.collector_pressure.mean(axis=1),
        "collector" if len(found.collectors) == 1 else "hotter collector",
    )


def heat(place: int | str, wall: float | None, pressure: float | None, found: Walls | None) -> Heat:
    """Heat and pressure at a place, what is given before what is predicted; `found` may be None where both are given."""
    predicted = at(found, place) if found is not None else None
    how_wall = how_pressure = "given"
    mean, warnings = None, []
    if predicted is not None:
        if wall is None:
            wall, how_wall = predicted[0], f"predicted, {predicted[2]}"
        if pressure is None:
            pressure, mean, how_pressure = (
                float(predicted[1].max()),
                float(predicted[1].mean()),
                f"predicted, {predicted[2]}",
            )
    assert wall is not None
    assert pressure is not None
    if predicted is not None and found is not None:
        warnings = list(found.warnings)
        if not found.collectors and isinstance(place, str):
            warnings.append(
                "The backpressure is held by hand, so no collector warms; its hottest runner stands in for it."
            )
    return Heat(wall, max(pressure, 0.0), mean, how_wall, how_pressure, warnings)
