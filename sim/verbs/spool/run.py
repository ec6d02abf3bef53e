"""`spool`: boost against time after a tip-in, and the boost threshold.

The module does not bear the verb's name: `from hotside.sim import spool` must go on giving the function.
"""

import itertools
from collections.abc import Callable

import numpy as np

from ...case import Case, load
from ...errors import CaseError
from ...showing import shown
from ...steady import predict
from .march import Moment, tip_in
from .result import SpoolResult
from .threshold import threshold

Progress = Callable[[str], None]
NINETY = 0.9
LITTLE = 1e3  # boost below which there is none to be timed [Pa]
WALLS = "Metal is held as hot as the cruise left it: in seconds it hardly warms, so the exhaust is a little cooler than settled."
THROTTLE = "The throttle opens at once and the spark stays that of the case; "
GATES = {
    "boost": "the wastegate stays shut until the boost asked for is there.",
    "opening": "the wastegate stands at its opening throughout.",
    "spring": "the wastegate opens as its spring lets it.",
}


def spool(case: Case, *, progress: Progress | None = None, threshold_too: bool = True) -> SpoolResult:
    """Boost against time after a tip-in at run.speed, held or in a gear.

    case : Case with a turbo; without [spool] stand-ins are taken
    progress : called with a sentence for each stage
    threshold_too : whether the boost threshold is looked for, some ten steady points more
    Raises CaseError for a bench or a held backpressure, SolveError for a point without an answer.
    """
    case = furnished(case)
    assert case.spool is not None
    say = progress or (lambda text: None)
    say("steady boost at this speed")
    settled = predict(case, progress=progress)
    steady = float(settled.boost_pa or 0.0)
    asked = case.run.boost if case.wastegate is not None and case.wastegate.model == "boost" else None
    vehicle = None
    if case.spool.in_gear:
        from ..pull.motion import body_of

        vehicle = body_of(case)
    say("tip-in")
    goal = float(asked) if vehicle is not None and asked is not None else steady
    moments = tip_in(case, vehicle, 0.998 * goal)
    target = float(asked) if asked is not None else steady
    edge = None
    if threshold_too:
        say("boost threshold")
        edge = threshold(case, target, case.run.speed_rpm)
    return _result(case, moments, settled.boost_reached, asked, steady, goal, edge)


def furnished(case: Case) -> Case:
    """The case with [spool], and [vehicle] where it is brought along; raises CaseError where nothing spools."""
    if case.is_bench:
        raise CaseError("spool: a bench case has no turbo; write a [turbine] instead of run.intake_pressure.")
    if case.run.held_backpressure is not None:
        raise CaseError("run.held_backpressure opens the loop through which a turbo spools; leave it out.")
    if case.spool is None:
        case = load({"spool": {}} | case.to_dict())
    assert case.spool is not None
    if case.spool.in_gear and case.vehicle is None:
        case = load({"vehicle": {}} | case.to_dict())
    return case


def crossing(moments: list[Moment], level: float) -> float | None:
    """Time at which the boost passes a level, linear between steps [s]; None where it does not."""
    for a, b in itertools.pairwise(moments):
        if a.boost < level <= b.boost:
            return a.time + (level - a.boost) / (b.boost - a.boost) * (b.time - a.time)
    return 0.0 if moments[0].boost >= level else None


def energy_error(moments: list[Moment], inertia: float) -> float:
    """Shaft energy gained less turbine work, compressor and bearing work, as a share of the gain [-]."""
    gained = 0.5 * inertia * (moments[-1].shaft ** 2 - moments[0].shaft ** 2)
    done = sum(m.turbine_work - m.compressor_work - m.bearing_work for m in moments)
    return float((gained - done) / gained) if gained else 0.0


def _short(last: Moment, longest: float, boost: str, goal: str) -> str:
    """Why 90 % of the boost was not there: the march ended, or it stands."""
    if last.time >= longest:
        return f"The march ends after {last.time:.1f} s with the boost at {boost}, short of 90 % of {goal}, and still moving: raise spool.longest."
    return (
        f"After {last.time:.1f} s the boost stands at {boost}, short of 90 % of {goal}. Its metal is as cool as the cruise left it: as it "
        "warms, over tens of seconds, gas reaches the turbine hotter and the boost creeps on."
    )


def _result(
    case: Case,
    moments: list[Moment],
    reached: bool | None,
    asked: float | None,
    steady: float,
    goal: float,
    edge: float | None,
) -> SpoolResult:
    assert case.spool is not None
    assert case.turbine is not None
    assert case.wastegate is not None
    warnings = []

    def pressure(x: float) -> str:
        return shown(x, "pressure", case.report.units)

    if not reached:
        warnings.append(
            f"At {case.run.speed_rpm:.0f} rpm the turbine makes {pressure(steady)}, not the {pressure(asked or 0.0)} "
            "asked for: the time is to 90 % of what it makes."
        )
    time = crossing(moments, NINETY * goal) if goal >= LITTLE else None
    if goal < LITTLE:
        warnings.append(
            f"At {case.run.speed_rpm:.0f} rpm the turbine makes next to no boost: there is nothing to time."
        )
    elif time is None:
        warnings.append(_short(moments[-1], case.spool.longest, pressure(moments[-1].boost), pressure(goal)))
    steps = np.diff([m.time for m in moments])
    surge = float(sum(dt for dt, m in zip(steps, moments[1:], strict=True) if m.surge))
    if surge > 0.05:
        warnings.append(
            f"For {surge:.2f} s the compressor takes less than its surge flow on the way up: expect it to flutter there."
        )
    return SpoolResult(
        title=case.title,
        speed_rpm=float(case.run.speed_rpm),
        in_gear=bool(case.spool.in_gear),
        target_boost_pa=asked,
        steady_boost_pa=steady,
        time_to_90_s=time,
        threshold_rpm=edge,
        shaft_cruise_rad_s=moments[0].shaft,
        energy_error=energy_error(moments, case.turbine.inertia),
        surge_time_s=surge,
        time_s=[m.time for m in moments],
        boost_pa=[m.boost for m in moments],
        shaft_speed_rad_s=[m.shaft for m in moments],
        engine_speed_rpm=[m.rpm for m in moments],
        backpressure_pa=[m.backpressure for m in moments],
        torque_nm=[m.torque for m in moments],
        compressor_flow_kg_s=[m.compressor_flow for m in moments],
        engine_flow_kg_s=[m.engine_flow for m in moments],
        notes=[WALLS, THROTTLE + GATES[case.wastegate.model]],
        warnings=warnings,
    )
