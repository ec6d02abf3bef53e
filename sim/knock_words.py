"""What is said where a knock margin has no number: there is no spark at which the mean cycle just knocks."""

from collections.abc import Iterable, Mapping
from typing import Any

NOWHERE, EVERYWHERE = "no limit", "all knock"  # in a table, in place of a margin: "none" would read as no room left
NONE = "none"  # where it is not told which
NEUTRAL = "none: no spark from 60 deg before to 30 deg after top dead centre is an edge of knock there; predict says on which side."


def knocks_nowhere(found: Mapping[str, Any]) -> bool:
    """Whether a burn knocks at no spark at all, so that there is no limit from which to count a margin."""
    return found["knock_margin_deg"] is None and found["ca50_deg"] is not None and found["knock_integral"] < 1.0


def in_place(found: Mapping[str, Any]) -> str:
    """What a table says where a prediction has no knock margin."""
    return EVERYWHERE if found["knock_integral"] >= 1.0 else NOWHERE


def about_knock(points: Iterable[Mapping[str, Any] | None]) -> list[str]:
    """A sentence where points have no knock limit, in predictions as dicts; none where all have one.

    An earlier spark needs more octane only as long as it burns more gas at higher pressure in time; begun ever earlier, the burn is
    over before the end gas is, so that the octane required has a peak.
    """
    known = [p for p in points if p is not None]
    nowhere = [p for p in known if knocks_nowhere(p)]
    always = [p for p in known if p["knock_margin_deg"] is None and p["knock_integral"] >= 1.0]
    where = "" if len(known) == 1 else ', where the margin is "{}"'
    lines = []
    if nowhere:
        soonest = [s for p in nowhere if (s := p["knock_limited_spark_short_delay_deg"]) is not None]
        text = f"No spark makes this fuel knock here{where.format(NOWHERE)}: octane required stays below the fuel's however early the spark"
        sooner = f"; igniting in 20 % less time it would knock from {min(soonest):.0f} deg on." if soonest else "."
        lines.append(text + sooner)
    if always:
        lines.append(
            f"Every spark tried knocks here{where.format(EVERYWHERE)}: no retard to 30 deg after top dead centre takes it away."
        )
    return lines
