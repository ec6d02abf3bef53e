"""`curve`: one case along engine speed, each point a `predict` of its own, begun cold."""

from collections.abc import Callable, Sequence
from concurrent.futures import ThreadPoolExecutor
from typing import Any

from ...case import Case
from ...prediction import Prediction
from ...sections_pull import Vehicle
from ...steady import SolveError, predict
from ...units import RPM
from ...variants import Variants
from ..sweep.axes import axis
from ..sweep.hands import cores
from . import correction
from .margins import along
from .result import CurveResult

Progress = Callable[[str], None]
NO_LOSS = {"exhaust.loss_coefficient": 0.0}


def curve(
    case: Case, speed: Any = "2500:7000:250 rpm", *, freer_pipe: bool = False, progress: Progress | None = None
) -> CurveResult:
    """Full load along engine speed: power at crank and wheels, correction, every margin and where it binds first.

    case : Case; boost, lambda and spark stay as it gives them at every speed
    speed : a range "2500:7000:250 rpm", a list "3000 rpm, 5000 rpm", or a sequence as a case file would write them
    freer_pipe : whether the same speeds are also solved without loss after the turbine
    Raises CaseError for a speed that is refused.
    """
    values = axis("run.speed", speed).values
    found = solve(case, values, {}, progress)
    freer = None
    if freer_pipe and not case.is_bench:
        freer = [_short(p) for p in solve(case, values, NO_LOSS)]
    return gathered(case, values, found, freer)


def solve(
    case: Case, values: Sequence[Any], changes: dict[str, Any], progress: Progress | None = None
) -> list[Prediction | str]:
    """The prediction at each speed, or the sentence why there is none. Kernels let go of the interpreter: threads help."""
    variants = Variants(case)
    cases = [variants.make({"run.speed": value} | changes) for value in values]
    first = _one(cases[0], progress)  # loads tables and kernels once
    with ThreadPoolExecutor(max(min(cores(), len(cases)), 1)) as pool:
        found = [first]
        for prediction in pool.map(_one, cases[1:]):
            found.append(prediction)
            if progress is not None:
                progress(f"speed {len(found)} of {len(cases)}")
        return found


def _one(case: Case, progress: Progress | None = None) -> Prediction | str:
    try:
        return predict(case, progress=progress)
    except SolveError as error:
        return str(error)


def gathered(case: Case, values: Sequence[Any], found: list[Prediction | str], freer: Any) -> CurveResult:
    """The result of predictions along speeds."""
    rpm = [round(axis("run.speed", [v]).spec.read(v) / RPM, 9) for v in values]
    vehicle = case.vehicle or Vehicle()
    points = [p if isinstance(p, Prediction) else None for p in found]
    value = correction.factor(case)
    applied = [p is not None and correction.applies(case, p, value) for p in points]
    share = vehicle.driveline_efficiency
    return CurveResult(
        title=case.title,
        speeds_rpm=rpm,
        points=[None if p is None else p.to_dict() for p in points],
        wheel_power_w=[None if p is None else at_wheels(p.power_w, share) for p in points],
        wheel_torque_nm=[None if p is None else at_wheels(p.torque_nm, share) for p in points],
        driveline_efficiency=share,
        driveline_stated=case.vehicle is not None and "driveline_efficiency" in case.vehicle.model_fields_set,
        correction_factor=value,
        correction_applies=applied,
        corrected_power_w=[
            p.power_w * value if p is not None and yes else None for p, yes in zip(points, applied, strict=True)
        ],
        correction_note=correction.note(
            case, value, [a for a, p in zip(applied, points, strict=True) if p is not None]
        ),
        margins=along(rpm, points),
        lost=[{"speed_rpm": n, "reason": p} for n, p in zip(rpm, found, strict=True) if isinstance(p, str)],
        warnings=_warnings(rpm, points),
        freer_pipe=freer,
    )


def at_wheels(value: float, efficiency: float) -> float:
    """Power or torque at the wheels; a dragged engine is dragged through the same loss."""
    return value * efficiency if value >= 0.0 else value / efficiency


def _short(p: Prediction | str) -> dict[str, Any]:
    """What a freer pipe moves, at one speed."""
    names = ("power_w", "backpressure_pa", "knock_margin_deg", "exhaust_temperature_k", "boost_pa", "status")
    return {name: None if isinstance(p, str) else getattr(p, name) for name in names}


def _warnings(rpm: list[float], points: list[Prediction | None]) -> list[str]:
    """Each warning once, with the speeds it was given at."""
    where: dict[str, list[float]] = {}
    for n, p in zip(rpm, points, strict=True):
        for text in p.warnings if p is not None else ():
            if not text.startswith("Past its limit"):
                where.setdefault(text, []).append(n)
    return [f"{text} ({_span(speeds)})" for text, speeds in where.items()]


def _span(speeds: list[float]) -> str:
    low, high = min(speeds), max(speeds)
    return f"{low:.0f} rpm" if low == high else f"{low:.0f} to {high:.0f} rpm, at {len(speeds)} speeds"
