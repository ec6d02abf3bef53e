"""How much nearer the knock limit may lie than the model says, written beside the margins of a point.

An octane number does not tell all of a fuel: knock.delay_scale carries a band, and `predict` gives the limit at its short end. The
way from one limit to the other is part of the allowance (`allowance.py`) as long as the factor is a stand-in; a case that
states it has heard its engine knock.
"""

import math
from collections.abc import Iterable
from typing import Any

from ....models import limits
from ...case import Case
from ...knock_limit import EARLIEST, USUAL_LEAD
from ...prediction import Prediction
from .allowance import OCTANE, TIMING

STATED = "knock.delay_scale"
BAD = "knock_margin_bad_cycle_deg"
KNOCK = ("knock_margin_deg", BAD)
Rows = dict[str, dict[str, Any]]


def with_band(case: Case, p: Prediction) -> Rows:
    """Margins of a prediction by name, those of knock with `band_deg` where the delay is a stand-in [deg]."""
    rows = {str(row["name"]): row for row in p.margins}
    limit, short = p.knock_limited_spark_deg, p.knock_limited_spark_short_delay_deg
    if STATED not in case.guesses or limit is None or short is None:
        return rows
    return {name: row | {"band_deg": limit - short} if name in KNOCK else row for name, row in rows.items()}


def unseen(case: Case, p: Prediction) -> Rows:
    """A margin that counts only where it is backed off: no spark knocks, but at the short delay one would.

    Its limit lies where the search for one ends; the bad cycle's lead is the usual one, which a spark before 25 deg exceeds by a degree.
    """
    short, spark = p.knock_limited_spark_short_delay_deg, p.spark_advance_deg
    if STATED not in case.guesses or p.knock_limited_spark_deg is not None or short is None or spark is None:
        return {}
    lead = USUAL_LEAD * limits.deviations(case.knock.bad_cycle) * case.burn.cyclic_spread
    limit = case.limits.knock_margin_bad_cycle
    value = EARLIEST - lead - spark
    row = {"name": BAD, "value": value, "limit": limit, "margin": value - limit, "exceeded": False}
    return {BAD: row | {"band_deg": EARLIEST - short, "no_limit": True}}


def said(case: Case, points: Iterable[Rows]) -> list[str]:
    """What the band does to backed-off sparks, in a sentence; none where the case states the delay or nothing knocks either way.

    points : the guarded margins of each
    """
    known = [row for rows in points for row in rows.values() if "band_deg" in row]
    if not known:
        return []
    seen = {round(row["band_deg"], 1) for row in known if not row.get("no_limit")}
    most = f"{max(seen):.1f} deg less spark" if seen else ""
    needs = f" needs {most} at this point" if len(seen) == 1 else f" needs up to {most}" if seen else " does knock"
    return [
        f"Octane does not tell all of a fuel: one that ignites in 20 % less time{needs}, and what is backed off keeps clear of that "
        "too, by what it is at each setting. Beyond it, add spark a degree at a time with knock listened for. Once it is heard at a known spark and boost, set "
        f"{STATED} so that predict puts the limit there; {math.hypot(TIMING, OCTANE):.1f} deg of allowance are then left."
    ]
