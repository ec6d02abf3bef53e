"""Knock-limited spark and the bad cycle: the closed cycle run again at other timings with the trapped charge held."""

import math
from collections.abc import Callable
from typing import Any

import numpy as np

from ..models import combustion, knock, limits
from . import closed, surroundings
from .records import IN_CA50, IN_SPARK, Array, Point
from .settle import March
from .setup import Setup

EARLIEST, LATEST = 60.0, -30.0  # spark advance searched [deg]
USUAL_SLOPE = 0.9  # octane for each degree of spark, where the search begins
LEAST_SLOPE, MOST_SLOPE = 0.02, 5.0  # of what trials may say of it
USUAL_LEAD = 1.35  # degrees of spark for each of CA50, where the search for the bad cycle begins
WIDEST = 10.0  # step of the search [deg]
SLIGHT = 0.2  # octane by which a parabola through wide trials may miss the peak
NEAR = 0.02  # step that is taken without another closed cycle: what it leaves is of higher order [deg]
# A longer one is taken to be as wrong as it is long beside what lies between the trials it rests on, which may leave so much; of trials
# farther apart than that nothing is taken to follow. Against 636 limits by bisection it left 1.8e-3 at most, 5e-4 in 99 of 100 [deg].
CLOSE, APART = 1e-3, 2.0
SHORT_DELAY = 1.0 - knock.DELAY_BAND  # of the delay: how much sooner this fuel may knock than the correlation says
NOTHING = (
    "knock_margin_deg", "knock_limited_spark_deg", "knock_limited_spark_short_delay_deg", "knock_margin_bad_cycle_deg",
    "octane_required_bad_cycle", "peak_pressure_bad_cycle_pa",
)  # fmt: skip
Trials = list[tuple[float, float]]  # shift of the burn [deg], octane required beyond the fuel's


def knock_readings(march: March) -> dict[str, Any]:
    """The mean cycle's margin in spark degrees to its knock limit, the spark there, and the same of the bad cycle.

    The trapped charge is held: retarding would also change residual and boost a little, which a new `predict` shows.
    The cylinder that requires most octane decides. The closed cycles run for the bad cycle show the search for the limit
    where to begin.
    """
    s, desk = march.setup, march.desk
    j = int(desk.outs[: 1 if s.engine.alike else s.engine.cylinders, closed.O_KNOCK].argmax())
    here = desk.outs[j]
    if here[closed.O_CA50] >= closed.NEVER:
        return dict.fromkeys(NOTHING)
    tried = [(0.0, required(s, here) - s.octane)]
    shift, out = bad_cycle(march, j, tried)
    spark = float(s.inputs[j, IN_SPARK])

    def limit(delay: float) -> float | None:
        """Shift to the limit where the delay is a share of the case's."""
        of = knock.equal_octane(s.octane, delay)
        seen = [(d, f + s.octane - of) for d, f in tried]

        def excess(d: float) -> float:
            found = required(s, closed_at(march, j, d))
            tried.append((d, found - s.octane))
            return found - of

        return _search(excess, seen, LATEST - spark, EARLIEST - spark)

    margin, short = limit(1.0), limit(SHORT_DELAY)
    sparked = s.engine.burn.model == combustion.SPARK
    sparks = (None if d is None or not sparked else spark + d for d in (margin, short))
    bad = None if margin is None else margin - shift
    return dict(zip(NOTHING, (margin, *sparks, bad, required(s, out), float(out[closed.O_PEAK_P])), strict=True))


def required(setup: Setup, out: Array) -> float:
    """Octane that a closed cycle requires of a fuel of the case's delay scale [-]."""
    return float(knock.octane_required(out[closed.O_KNOCK] / setup.case.knock.delay_scale))


def closed_at(march: March, j: int, shift: float, asked: int = closed.KNOCK_ONLY) -> Array:
    """What the closed cycle of cylinder j reports with its burn `shift` degrees earlier, trapped charge held.

    asked : what of it, see `closed_cycle`; it is broken off where knock counts no further and pressure falls: octane and peak
        pressure are then those of the whole, unless a burn given as a table rises once more past its 90 %
    """
    s, d, z = march.setup, march.desk, march.z
    row = s.inputs[j].copy()
    row[IN_SPARK] += shift
    row[IN_CA50] -= shift
    content = d.trapped[j].copy()
    point = Point(s.plant.speed_rpm, s.plant.octane, float(z[surroundings.Z_OUTLET]), 0.0, 0.0)
    width = 720.0 / len(d.manifold_record)
    start = math.ceil(s.engine.intake_closes / width - 1e-9) * width
    out = np.zeros(closed.N_OUT)
    closed.closed_cycle(
        s.engine, point, s.table, row, content, start, 720.0 + s.engine.exhaust_opens, s.plant.closed_width, d.blend, d.plane[j],
        d.blended[j], d.frozen, d.work, out, d.record[:0], np.int64(-1), asked,
    )  # fmt: skip
    return out


def bad_cycle(march: March, j: int, tried: Trials) -> tuple[float, Array]:
    """The cycle of cylinder j that only a stated share of cycles beats: how much earlier it is sparked, and what it reports.

    tried : its mean cycle; what is run here is added

    Cycles are taken to differ in when their burn begins to tell, normally distributed about the mean one in CA50: the bad
    cycle burns like one sparked earlier by what moves CA50 by so many standard deviations; one secant step finds it.
    """
    case, octane = march.setup.case, march.setup.octane

    def run(shift: float) -> tuple[float, Array]:
        out = closed_at(march, j, shift)
        tried.append((shift, required(march.setup, out) - octane))
        return shift, out

    wanted = limits.deviations(case.knock.bad_cycle) * case.burn.cyclic_spread
    if wanted <= 0.0:
        return 0.0, closed_at(march, j, 0.0)
    shift, out = run(USUAL_LEAD * wanted)
    moved = float(march.desk.outs[j, closed.O_CA50]) - float(out[closed.O_CA50])
    if not 0.2 * wanted < moved < 5.0 * wanted:  # a burn that hardly burns: its phase is that of the spark
        return shift, out
    return run(shift * wanted / moved)


def _search(excess: Callable[[float], float], tried: Trials, low: float, high: float) -> float | None:
    """Shift at which the excess octane is zero, nearest to the present one; None where it is nowhere.

    A shift tried twice counts once: the bad cycle's second trial may be its first again.
    Never wide and never out of the bracket once there is one: one or two closed cycles find it. A burn far too early requires
    less octane again, so trials earlier than one that knocks say nothing of where knock begins, and where octane falls again all
    that is left to look at is the summit between the trials.
    """
    knocks = tried[0][1] >= 0.0
    if knocks:  # the limit is later
        tried = [one for one in tried if one[1] >= 0.0]
    for _ in range(30):
        past = min((shift for shift, f in tried if f >= 0.0), default=math.inf)
        tried = [one for one in tried if one[1] >= 0.0 or one[0] < past]
        inside = max((shift for shift, f in tried if f < 0.0), default=-math.inf)
        bracketed = math.isfinite(past - inside)
        by = (lambda one: abs(one[1])) if bracketed else (lambda one: one[0]) if knocks else (lambda one: -one[0])
        near = sorted(dict(tried).items(), key=by)[:3]
        step = _step(near)
        wanted = near[0][0] + min(max(-near[0][1] / USUAL_SLOPE if step is None else step, -WIDEST), WIDEST)
        if step is not None and low <= wanted <= high and _last(near, step):
            return wanted
        wanted = min(max(wanted, low), high)
        if not inside < wanted < past:
            wanted = 0.5 * (inside + past)
        falls = not (bracketed or knocks) and len(near) > 1 and near[0][1] < near[1][1]
        if falls or not low <= wanted <= high or any(wanted == shift for shift, _ in tried):
            top = None if bracketed or knocks else _summit(tried)
            if top is None:
                return None
            wanted = top
        tried.append((wanted, excess(wanted)))
    return None


def _last(near: Trials, step: float) -> bool:
    """Whether a step from the first trial needs no other closed cycle."""
    return abs(step) < NEAR or step * step < CLOSE * min(abs(near[0][0] - near[1][0]), APART)


def _summit(tried: Trials) -> float | None:
    """Shift between trials that all stay below zero at which the octane required may pass it all the same, None where it does not."""
    rows = sorted(tried)
    k = max(range(len(rows)), key=lambda i: rows[i][1])
    if not 0 < k < len(rows) - 1:
        return None
    (a, fa), (b, fb), (c, fc) = rows[k - 1 : k + 2]
    bend = ((fc - fb) / (c - b) - (fb - fa) / (b - a)) / (c - a)
    if bend >= 0.0:
        return None
    slope = (fb - fa) / (b - a) + bend * (b - a)
    top = b - 0.5 * slope / bend
    return top if fb - 0.25 * slope * slope / bend > -SLIGHT and abs(top - b) > NEAR else None


def _step(near: Trials) -> float | None:
    """Way from the first trial to where the parabola through three rises through zero, or its tangent where it never does.

    Octane rises with the spark, ever more slowly. None where the trials say nothing of the kind.
    """
    (start, f), *others = near
    slopes = [(g - f) / (shift - start) for shift, g in others]
    if not slopes:
        return None
    bend = (slopes[1] - slopes[0]) / (others[1][0] - others[0][0]) if len(slopes) == 2 else 0.0
    slope = slopes[0] - bend * (others[0][0] - start)
    square = slope * slope - 4.0 * bend * f
    if not LEAST_SLOPE < slope < MOST_SLOPE:
        return None
    return -2.0 * f / (slope + math.sqrt(square)) if square > 0.0 else -f / slope
