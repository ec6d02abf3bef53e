"""Knock-limited spark and the bad cycle: the closed cycle run again at other timings with the trapped charge held."""

import math
from collections.abc import Callable
from typing import Any

import numpy as np

from ..models import combustion, knock, limits
from . import closed, surroundings
from .records import IN_CA50, IN_SPARK, Array, Point
from .settle import March

EARLIEST, LATEST = 60.0, -30.0  # spark advance searched [deg]
USUAL_SLOPE = 0.9  # octane for each degree of spark, where the search begins
WIDEST = 10.0  # step of the search [deg]
NEAR = 1e-3  # octane within which the limit is found


def closed_at(march: March, j: int, shift: float) -> Array:
    """What the closed cycle of cylinder j reports with its burn `shift` degrees earlier, trapped charge held."""
    s, d, z = march.setup, march.desk, march.z
    row = s.inputs[j].copy()
    row[IN_SPARK] += shift
    row[IN_CA50] -= shift
    content = d.trapped[j].copy()
    point = Point(s.plant.speed_rpm, s.plant.octane, float(z[surroundings.Z_OUTLET]), 0.0, 0.0)
    width = 720.0 / len(d.manifold_record)
    start = float(np.ceil(s.engine.intake_closes / width - 1e-9) * width)
    out = np.zeros(closed.N_OUT)
    closed.closed_cycle(
        s.engine, point, s.table, row, content, start, 720.0 + s.engine.exhaust_opens, s.plant.closed_width, d.blend,
        d.plane[j], d.blended[j], d.frozen, d.work, out, d.record[:0], np.int64(-1),
    )  # fmt: skip
    return out


def octane_at(march: March, j: int, shift: float) -> float:
    """Octane that cylinder j would require with its burn `shift` degrees earlier, trapped charge held [-]."""
    return float(knock.octane_required(closed_at(march, j, shift)[closed.O_KNOCK]))


def bad_cycle(march: March, margin: float | None) -> dict[str, Any]:
    """Octane, peak pressure and margin in spark degrees of the cycle that only a stated share of cycles beats.

    margin : the mean cycle's, in spark degrees; None where it has none

    Cycles are taken to differ in when their burn begins to tell, normally distributed about the mean one in CA50: the bad
    cycle burns like one sparked earlier by what moves CA50 by so many standard deviations. The cylinder whose mean cycle
    requires most octane stands for all.
    """
    s, desk = march.setup, march.desk
    j = int(desk.outs[: 1 if s.engine.alike else s.engine.cylinders, closed.O_KNOCK].argmax())
    here = desk.outs[j]
    names = ("knock_margin_bad_cycle_deg", "octane_required_bad_cycle", "peak_pressure_bad_cycle_pa")
    if here[closed.O_CA50] >= closed.NEVER:
        return dict.fromkeys(names)
    wanted = limits.deviations(s.case.knock.bad_cycle) * s.case.burn.cyclic_spread
    shift, out = _earlier(march, j, float(here[closed.O_CA50]), wanted)
    return {
        "knock_margin_bad_cycle_deg": None if margin is None else margin - shift,
        "octane_required_bad_cycle": float(knock.octane_required(out[closed.O_KNOCK])),
        "peak_pressure_bad_cycle_pa": float(out[closed.O_PEAK_P]),
    }


def _earlier(march: March, j: int, ca50: float, wanted: float) -> tuple[float, Array]:
    """Spark degrees that bring CA50 forward by `wanted` degrees, and the closed cycle there: one secant step is enough."""
    if wanted <= 0.0:
        return 0.0, closed_at(march, j, 0.0)
    out = closed_at(march, j, wanted)
    moved = ca50 - float(out[closed.O_CA50])
    if not 0.2 * wanted < moved < 5.0 * wanted:  # a burn that hardly burns: its phase is that of the spark
        return wanted, out
    shift = wanted * wanted / moved
    return shift, closed_at(march, j, shift)


def knock_limit(march: March) -> dict[str, Any]:
    """Margin in spark degrees to the knock limit of the mean cycle, and the spark there.

    The trapped charge is held: retarding would also change residual and boost a little, which a new `predict` shows.
    The cylinder that requires most octane decides.
    """
    s, desk = march.setup, march.desk
    nothing = {"knock_margin_deg": None, "knock_limited_spark_deg": None}
    rows = 1 if s.engine.alike else s.engine.cylinders
    j = int(desk.outs[:rows, closed.O_KNOCK].argmax())
    if desk.outs[j, closed.O_CA50] >= closed.NEVER:
        return nothing
    spark = float(s.inputs[j, IN_SPARK])
    here = float(knock.octane_required(desk.outs[j, closed.O_KNOCK]))
    shift = _search(lambda d: octane_at(march, j, d) - s.octane, here - s.octane, LATEST - spark, EARLIEST - spark)
    if shift is None:
        return nothing
    limited = spark + shift if s.engine.burn.model == combustion.SPARK else None
    return {"knock_margin_deg": shift, "knock_limited_spark_deg": limited}


def _search(excess: Callable[[float], float], here: float, low: float, high: float) -> float | None:
    """Shift at which the excess octane is zero, nearest to the present one; None where it is nowhere.

    Secant steps from the usual slope, never wide and never out of the bracket once there is one: three or four closed
    cycles find it.
    """
    before, f_before = 0.0, here
    inside, past = -math.inf, math.inf  # shifts known to have octane to spare, and to lack it
    shift, slope = 0.0, USUAL_SLOPE
    f = here
    for _ in range(30):
        if f < 0.0:
            inside = max(inside, shift)
        else:
            past = min(past, shift)
        wanted = min(max(shift + min(max(-f / slope, -WIDEST), WIDEST), low), high)
        if not inside < wanted < past:
            wanted = 0.5 * (inside + past)
        if wanted == shift or not low <= wanted <= high:
            return None
        before, f_before, shift = shift, f, wanted
        f = excess(shift)
        if abs(f) < NEAR:
            return float(shift)
        steepness = (f - f_before) / (shift - before)
        slope = steepness if 0.2 < steepness < 5.0 else USUAL_SLOPE
    return float(shift) if math.isfinite(past - inside) else None
