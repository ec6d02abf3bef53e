"""Knock-limited spark: the closed cycle run again at other timings with the trapped charge held."""

from typing import Any

import numpy as np

from ..models import combustion, knock
from . import closed, surroundings
from .records import IN_CA50, IN_SPARK, Point
from .settle import March

EARLIEST, LATEST = 60.0, -30.0  # spark advance searched [deg]


def octane_at(march: March, j: int, shift: float) -> float:
    """Octane that cylinder j would require with its burn `shift` degrees earlier, trapped charge held [-]."""
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
        d.plane, d.frozen, d.work, out, d.record[:0], np.int64(-1),
    )  # fmt: skip
    return float(knock.octane_required(out[closed.O_KNOCK]))


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


def _search(excess: Any, here: float, low: float, high: float) -> float | None:
    """Shift at which the excess octane is zero, from the side of the present one; None where it is nowhere."""
    a, fa = 0.0, here
    step = 4.0 if here < 0.0 else -4.0
    for _ in range(24):
        b = min(max(a + step, low), high)
        if b == a:
            return None
        fb = excess(b)
        if fa * fb <= 0.0:
            break
        a, fa = b, fb
    else:
        return None
    for _ in range(12):  # regula falsi with the Illinois rule
        c = b - fb * (b - a) / (fb - fa)
        fc = excess(c)
        if abs(fc) < 1e-3:
            return float(c)
        if fc * fb < 0.0:
            a, fa = b, fb
        else:
            fa *= 0.5
        b, fb = c, fc
    return float(b)
