"""`limits`: how far boost, spark and mixture can go, and which limit binds first.

The module does not bear the verb's name: `from hotside.sim import limits` must go on giving the function.
"""

from collections.abc import Callable
from typing import Any

from ...case import Case
from ...errors import CaseError
from ...knock_words import about_knock
from ...prediction import Prediction
from .allowance import allowance
from .edge import Bound, Ray, bound
from .knock_band import said
from .points import Point, Points, none, scale
from .region import Window, appearing, completed, levels, region, summit
from .result import LimitsResult
from .settings import AXES, Setting, setting_of

MIXTURES = (0.0, -0.04, 0.04)  # lambda against the case's, for boost and spark together


def limits(case: Case, *, progress: Callable[[str], None] | None = None) -> LimitsResult:
    """Every limit as a margin; how far boost, spark and mixture go one at a time and together; the region of boost and spark.

    case : Case; a bench case has no boost to turn, so that spark and mixture are turned alone
    progress : called with a sentence as points are solved
    Raises CaseError for an imposed burn, or where the point itself has no answer.
    """
    start = setting_of(case)
    points = Points(case, progress)
    here = points.at(start)
    if here.prediction is None:
        raise CaseError("the point of the case itself has no answer; hotside predict says why.")
    alone = [_alone(points, start, axis, way) for axis, way in _ways(start)]
    tops: list[tuple[float, Window | None, Window | None]] = []
    outer: list[Window] = []
    inner: list[Window] = []
    if start.boost is not None:
        tops = _tops(points, start)
        outer, inner = _regions(points, *tops[0][1:])
    return LimitsResult(
        title=case.title,
        speed_rpm=case.run.speed_rpm,
        **start.to_dict(),  # type: ignore[arg-type]
        power_w=here.prediction.power_w,
        inside=here.least(none).share >= 0.0,
        margins=[_margin(row) for row in here.rows.values()],
        alone=alone,
        together=[_together(*top) for top in tops],
        region=[_window(w) for w in outer],
        region_backed_off=[_window(w) for w in inner],
        points_solved=len(points.known),
        knock=[
            *about_knock([vars(here.prediction)]),
            *(said(case, [here.guarded]) or said(case, [p.guarded for p in points.known.values()])),
        ],
        warnings=_warnings(here.prediction),
        points=points,
    )


def _ways(start: Setting) -> list[tuple[str, int]]:
    return [(axis, way) for axis in AXES if getattr(start, axis) is not None for way in (1, -1)]


def _tops(points: Points, start: Setting) -> list[tuple[float, Window | None, Window | None]]:
    """For each mixture the highest boost inside every limit, and backed off; each begins where the last one ended."""
    found = []
    edge = clear = start
    for step in MIXTURES:
        mixture = min(max(start.mixture + step, AXES["mixture"].low), AXES["mixture"].high)
        tops = [summit(points, s.moved("mixture", mixture), slack) for s, slack in ((edge, none), (clear, allowance))]
        if step == 0.0:
            edge, clear = (t.inside.setting if t else start for t in tops)
        found.append((mixture, tops[0], tops[1]))
    return found


def _regions(points: Points, top: Window | None, backed: Window | None) -> tuple[list[Window], list[Window]]:
    """The region at the same boosts, rising, inside every limit and backed off."""
    if top is None or top.boost is None:
        return [], []
    last = [] if backed is None or backed.boost is None else [backed.boost]
    boosts = sorted({*levels(top.boost), *last})
    low = [b for b in boosts if last and b <= last[0]]
    outer, inner = region(points, top, boosts), [] if backed is None else region(points, backed, low, allowance)
    ends = appearing(points, outer), appearing(points, inner, allowance)
    more = [w.boost for found in ends for w in found if w.boost is not None]
    return completed(points, [*outer, *ends[0]], more), completed(points, [*inner, *ends[1]], more, allowance)


def _warnings(p: Prediction) -> list[str]:
    return [w for w in p.warnings if not w.startswith("Past its limit")]


def _margin(row: dict[str, Any]) -> dict[str, Any]:
    room = allowance(row)
    return row | {"allowance": room, "clear": row["margin"] - room, "share": row["margin"] / scale(row)}


def _alone(points: Points, start: Setting, axis: str, way: int) -> dict[str, Any]:
    """One thing turned one way, the rest held: where the inside ends or begins, and the same backed off."""
    edge, backed = (bound(Ray(points, start, axis, way, slack)) for slack in (none, allowance))
    how = AXES[axis]
    found: dict[str, Any] = {
        "axis": axis,
        "direction": how.up if way > 0 else how.down,
        "way": "out" if points.at(start).least(none).share >= 0.0 else "back in",
        "searched_to": how.high if way > 0 else how.low,
    }
    return found | {
        "edge": None if edge is None else _bound(edge),
        "backed_off": None if backed is None else _bound(backed),
    }


def _bound(b: Bound) -> dict[str, Any]:
    return {
        **_point(b.point),
        "value": getattr(b.point.setting, b.axis),
        "limit": b.limit,
        "inward": b.inward,
        "beyond": [{"limit": name, "about": value} for name, value in b.beyond],
    }


def _point(p: Point) -> dict[str, Any]:
    """A point by the names of the results, and as options of the command line."""
    return p.setting.to_dict() | {"power_w": p.power, "set": p.setting.words()}


def _end(b: Bound | None) -> dict[str, Any] | None:
    return None if b is None else _point(b.point) | {"limit": b.limit}


def _window(w: Window) -> dict[str, Any]:
    return {
        "boost_pa": w.boost,
        "lambda_ratio": w.mixture,
        "latest": _end(w.late),
        "earliest": _end(w.early),
        "strongest": _point(w.strongest),
    }


def _together(mixture: float, top: Window | None, backed: Window | None) -> dict[str, Any]:
    return {
        "lambda_ratio": mixture,
        "highest": None if top is None else _window(top),
        "backed_off": None if backed is None else _window(backed),
    }
