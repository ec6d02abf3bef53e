"""Boost and spark together: at each boost the window of spark inside every limit, and the boost at which it closes."""

from collections.abc import Sequence
from contextlib import suppress
from itertools import pairwise
from typing import NamedTuple

from .edge import AIM, Bound, Ray, bound
from .points import Point, Points, Slack, none
from .settings import AXES, Setting

REACH = 14.0  # spark degrees to either side within which an open window is looked for [deg]
CLOSE = 1e3  # how exactly the boost is found at which the window closes [Pa]
STEP = 2e4  # boost steps of that search [Pa]
LEVELS = 7  # boosts of the region
HALVINGS = 4  # of the boost between two of them, to where one end of the window appears


class Window(NamedTuple):
    """At one boost and mixture, the sparks inside every limit."""

    boost: float | None
    mixture: float
    late: Bound | None  # None where no limit is met that way
    early: Bound | None
    inside: Point  # a point between the two
    strongest: Point  # of most power among them


def climbed(points: Points, start: Setting, slack: Slack) -> Point:
    """A point inside every limit at this boost and mixture, or where there is none the one nearest to inside.

    Late sparks are ended by heat, early ones by knock, so that the distance to the nearest limit has one summit over the
    spark: it is climbed until the distance is above zero.
    """
    from scipy.optimize import minimize_scalar

    tried: list[Point] = []

    def below(spark: float) -> float:
        tried.append(points.at(start.moved("spark", spark)))
        if is_inside(tried[-1], slack):
            raise StopIteration
        return -tried[-1].least(slack).share

    how = AXES["spark"]
    low, high = max(start.spark - REACH, how.low), min(start.spark + REACH, how.high)
    with suppress(StopIteration):
        below(start.spark)
        minimize_scalar(below, bounds=(low, high), method="bounded", options={"xatol": 0.05, "maxiter": 16})
    return max(tried, key=lambda p: p.least(slack).share)


def is_inside(point: Point, slack: Slack) -> bool:
    """Whether a point is on the near side of every limit."""
    return point.least(slack).share >= 0.0


def window(points: Points, start: Setting, slack: Slack = none, above: Sequence[Window] = ()) -> Window | None:
    """The sparks inside every limit at the boost and mixture of `start`, looked for about its spark.

    above : windows at higher boosts, the nearest last, which tell about where the ends are
    """
    inside = climbed(points, start, slack)
    if not is_inside(inside, slack):
        return None
    near = (
        _carried_on([w.late for w in above], AXES["spark"].low),
        _carried_on([w.early for w in above], AXES["spark"].high),
    )
    rays = (Ray(points, inside.setting, "spark", d, slack, end) for d, end in zip((-1, 1), near, strict=True))
    late, early = (bound(ray, further=False) for ray in rays)
    return Window(start.boost, start.mixture, late, early, inside, _strongest(points, inside, late, early))


def _carried_on(ends: Sequence[Bound | None], open_end: float) -> float | None:
    """About where the next end of a row of windows lies: as far from the last as that is from the one before [deg]."""
    if not ends:
        return None
    sparks = [open_end if end is None else end.point.setting.spark for end in ends[-2:]]
    return min(max(2.0 * sparks[-1] - sparks[0], AXES["spark"].low), AXES["spark"].high)


def _strongest(points: Points, inside: Point, late: Bound | None, early: Bound | None) -> Point:
    """The earliest spark where power still rises towards it, else the best timing, to half a degree."""
    from scipy.optimize import minimize_scalar

    first = inside.setting.spark if late is None else late.point.setting.spark
    last = first + 30.0 if early is None else early.point.setting.spark
    if early is not None:
        later = points.at(inside.setting.moved("spark", max(last - 1.0, first)))
        if (early.point.power or 0.0) >= (later.power or 0.0):
            return early.point
    if last - first < 1.0:
        return inside
    best = minimize_scalar(
        lambda s: -(points.at(inside.setting.moved("spark", s)).power or 0.0),
        bounds=(first, min(last, AXES["spark"].high)), method="bounded", options={"xatol": 0.5, "maxiter": 10},
    )  # fmt: skip
    return points.at(inside.setting.moved("spark", float(best.x)))


def summit(points: Points, start: Setting, slack: Slack = none) -> Window | None:
    """The window at the highest boost that has one; None where there is none.

    Looked for upwards from the boost of `start` where that is open, else downwards. Where two limits meet, one from the late
    and one from the early side, it is their corner; elsewhere it lies within 0.01 bar of where the window closes.
    """
    here = climbed(points, start, slack)
    up = is_inside(here, slack)
    opened, shut = (here, None) if up else (None, here)
    while opened is None or shut is None:
        last = (opened or shut).setting  # type: ignore[union-attr]
        boost = (last.boost or 0.0) + (STEP if up else -STEP)
        if not 0.0 < boost <= AXES["boost"].high:
            break
        here = climbed(points, last.moved("boost", boost), slack)
        if is_inside(here, slack):
            opened = here
        else:
            shut = here
    if opened is None:
        return None
    if shut is None:
        return window(points, opened.setting, slack)
    return window(points, corner(points, shut, slack) or _closed_in(points, opened, shut, slack), slack)


def corner(points: Points, shut: Point, slack: Slack) -> Setting | None:
    """Boost and spark at which the two limits nearest to a point are both met, None where that is not the summit."""
    from scipy.optimize import root

    names = [gap.name for gap in shut.gaps(slack)[:2]]
    if len(names) < 2 or not set(names) <= shut.rows.keys():
        return None

    def place(x: Sequence[float]) -> Setting:
        return shut.setting.moved("boost", 1e5 * x[0]).moved("spark", 10.0 * x[1])

    def short(x: Sequence[float]) -> list[float]:
        shares = {gap.name: gap.share for gap in points.at(place(x)).gaps(slack)}
        off = [shares.get(name, 1.0) - AIM for name in names]
        return [0.0, 0.0] if max(map(abs, off)) < AIM else off

    first = [(shut.setting.boost or 0.0) / 1e5, shut.setting.spark / 10.0]
    found = place(root(short, first, tol=1e-6, options={"eps": 1e-3, "maxfev": 25}).x)
    at = points.at(found)
    met = {gap.name: gap.share for gap in at.gaps(slack)}
    exact = is_inside(at, slack) and all(met.get(name, 1.0) < 5e-4 for name in names)
    return found if exact else None


def _closed_in(points: Points, inside: Point, shut: Point, slack: Slack) -> Setting:
    """Halve the boost between an open window and a shut one."""
    low, high = inside.setting, shut.setting
    while (high.boost or 0.0) - (low.boost or 0.0) > CLOSE:
        here = climbed(points, low.moved("boost", 0.5 * ((high.boost or 0.0) + (low.boost or 0.0))), slack)
        if is_inside(here, slack):
            low = here.setting
        else:
            high = here.setting
    return low


def levels(top: float) -> list[float]:
    """Boosts from a quarter of the highest to the highest, rising [Pa]."""
    return [round(top * (0.25 + 0.75 * k / (LEVELS - 1)), 0) for k in range(LEVELS)]


def region(points: Points, top: Window, boosts: Sequence[float], slack: Slack = none) -> list[Window]:
    """Windows at rising boosts up to that of the highest, each looked for from the one above it."""
    found = [top]
    for boost in sorted(boosts, reverse=True):
        if top.boost is not None and boost < top.boost:
            here = window(points, found[-1].inside.setting.moved("boost", boost), slack, found)
            found.extend([] if here is None else [here])
    return found[::-1]


def appearing(points: Points, windows: Sequence[Window], slack: Slack = none) -> list[Window]:
    """Windows on either side of where an end appears, between a boost that has it and one that has none.

    A knock limit ends so at some boost, at a spark well inside the picture: below it octane required peaks below the fuel's.
    """
    found: list[Window] = []
    for below, above in pairwise(windows):
        if _ends(below) == _ends(above):
            continue
        for _ in range(HALVINGS):
            here = _near(points, above, round(0.5 * ((below.boost or 0.0) + (above.boost or 0.0)), 0), slack)
            if here is None:
                break
            below, above = (here, above) if _ends(here) == _ends(below) else (below, here)
        found += [w for w in (below, above) if w not in windows]
    return found


def completed(points: Points, windows: Sequence[Window], boosts: Sequence[float], slack: Slack = none) -> list[Window]:
    """The same windows, rising, with those at further boosts up to the highest."""
    found = {w.boost: w for w in windows}
    for boost in boosts:
        above = min((w for w in windows if (w.boost or 0.0) >= boost), key=lambda w: w.boost or 0.0, default=None)
        if above is not None and boost not in found:
            here = _near(points, above, boost, slack)
            found |= {} if here is None else {boost: here}
    return [found[boost] for boost in sorted(found, key=lambda b: b or 0.0)]


def _near(points: Points, above: Window, boost: float, slack: Slack) -> Window | None:
    return window(points, above.inside.setting.moved("boost", boost), slack)


def _ends(w: Window) -> tuple[bool, bool]:
    return w.late is None, w.early is None
