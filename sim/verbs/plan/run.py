"""`plan`: the step-up card for the first pulls.

The module does not bear the verb's name: `from hotside.sim import plan` must go on giving the function.
"""

import re
from collections.abc import Callable
from typing import Any

from ...case import Case
from ...errors import CaseError
from ...knock_words import about_knock
from ..limits.allowance import allowance
from ..limits.knock_band import said
from ..limits.points import Point, Points
from ..limits.settings import Setting, setting_of
from .gauges import readings
from .ladder import change, ladder
from .lag import lag
from .result import PlanResult
from .target import target, why


def plan(case: Case, *, source: str = "CASE.toml", progress: Callable[[str], None] | None = None) -> PlanResult:
    """Pulls from mild to the case's own point, or to the nearest that keeps every allowance.

    case : Case with a turbo and a burn driven by spark
    source : how the case is named on the command line, other changes included, for the lines that repeat each pull
    progress : called with a sentence as points are solved
    Raises CaseError for a bench, an imposed burn, or where no boost leaves room.
    """
    asked = setting_of(case)
    if asked.boost is None:
        raise CaseError(
            'a case without run.boost has no boost to step up; plan needs a turbo, and wastegate.model = "boost".'
        )
    points = Points(case, progress)
    goal = target(points, asked)
    steps = ladder(points, goal, case.report.units)
    pulls = [points.at(s) for s in steps]
    return PlanResult(
        title=case.title,
        speed_rpm=case.run.speed_rpm,
        asked=asked.to_dict(),
        target=goal.to_dict(),
        moved=why(points, asked, goal),
        pulls=[_pull(case, k, points, steps, source) for k in range(len(steps))],
        limits=_limits(pulls),
        fuel_pressure_guessed="rail_pressure" not in case.fuel.model_fields_set,
        has_tap=case.pressure_tap is not None,
        guesses=len(case.guesses),
        knock=[
            *about_knock([vars(p.prediction) for p in pulls if p.prediction is not None]),
            *said(case, [p.guarded for p in pulls]),
        ],
        warnings=_warnings(pulls),
        points_solved=len(points.known),
    )


def _pull(case: Case, k: int, points: Points, steps: list[Setting], source: str) -> dict[str, Any]:
    here = steps[k]
    p, moving = points.at(here).prediction, lag(points.variants.make(here.inputs()))
    assert p is not None  # a pull keeps its allowances, so it has an answer
    after = steps[k + 1] if k + 1 < len(steps) else None
    return {
        "pull": k + 1,
        **here.to_dict(),
        "command": " ".join(["hotside predict", *([source] if source else []), here.words()]),
        "gauges": readings(case, p, moving.behind if moving else None),
        "duration_s": moving.duration if moving else None,
        "by": moving.by if moving else None,
        "power_w": p.power_w,
        "backpressure_ratio": p.backpressure_ratio,
        "knock_margin_deg": p.knock_margin_deg,
        "knock_margin_bad_cycle_deg": p.knock_margin_bad_cycle_deg,
        "margins": p.margins,
        "next": change(here, after),
    }


def _limits(pulls: list[Point]) -> list[dict[str, Any]]:
    """For each limit the pull that comes nearest to it."""
    found: dict[str, dict[str, Any]] = {}
    for number, point in enumerate(pulls, 1):
        for name, row in point.rows.items():
            if name not in found or row["margin"] < found[name]["margin"]:
                found[name] = row | {"allowance": allowance(row), "pull": number}
    return sorted(found.values(), key=lambda r: r["margin"] / r["allowance"])


def _warnings(pulls: list[Point]) -> list[str]:
    """Each warning of the pulls once; of those that differ in a figure alone the highest pull's."""
    every = [w for point in pulls if point.prediction is not None for w in point.prediction.warnings]
    return list({re.sub(r"[-+]?\d+(\.\d+)?", "#", w): w for w in every}.values())
