"""How soon each rival has boost: a tip-in at part of the case's speed, all timed to one boost, and the threshold.

Each timed to a share of its own, a rival that makes less would look the quicker one.
"""

from dataclasses import dataclass

from ...case import Case
from ...steady import SolveError
from ...units import RPM
from ..spool.result import SpoolResult
from ..spool.run import LITTLE, spool
from ..spool.threshold import threshold

SPOOL_AT = 0.6  # share of the case's speed at which the tip-in is made
NINETY = 0.9


@dataclass(frozen=True)
class TipIn:
    """What the tip-ins have in common."""

    speed_rpm: float
    boost_pa: float | None  # to which they are timed, 90 % of what the first rival comes to; none where that is nothing


def marched(case: Case, rpm: float) -> SpoolResult | None:
    """A tip-in at a speed; None where it has no answer."""
    try:
        return spool(case.set_si({"run.speed": rpm * RPM}), threshold_too=False)
    except SolveError:
        return None


def tip_in(first: Case) -> TipIn:
    """Speed and boost of the tip-ins: 90 % of what the first rival comes to, in its time or settled."""
    rpm = SPOOL_AT * first.run.speed_rpm
    found = marched(first, rpm)
    if found is None:
        return TipIn(rpm, None)
    boost = found.boost_timed() or NINETY * found.steady_boost_pa
    return TipIn(rpm, boost if boost >= NINETY * LITTLE else None)


def response(case: Case, common: TipIn, highest: float) -> tuple[float | None, float | None]:
    """Time to the common boost [s], and the boost threshold up to a speed [rev/min]; None where there is none."""
    found = marched(case, common.speed_rpm) if common.boost_pa is not None else None
    time = None if found is None or common.boost_pa is None else found.time_to(common.boost_pa)
    edge = threshold(case, float(case.run.boost), highest) if case.run.boost else None
    return time, edge
