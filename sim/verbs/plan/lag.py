"""How far each probe's needle is behind when a pull in a gear or on a dyno passes the speed of the card, from `pull`."""

from typing import NamedTuple

import numpy as np

from ...case import Case
from ...errors import CaseError


class Lag(NamedTuple):
    """One pull through the speed of the card."""

    behind: list[float]  # held reading less needle at that speed, for each probe [K]
    duration: float  # [s]
    by: str  # gear or ramp


def lag(case: Case) -> Lag | None:
    """The pull of a case as `hotside pull` gives it; None where it has none, or does not pass the speed of the card."""
    from ..pull.run import pull

    try:
        found = pull(case)
    except CaseError:
        return None
    if not found.begins_rpm - 1.0 <= case.run.speed_rpm <= found.ends_rpm + 1.0:
        return None
    behind = [
        float(np.interp(case.run.speed_rpm, found.speed_rpm, np.subtract(p["held_reading_k"], p["needle_k"])))
        for p in found.probes
    ]
    return Lag(behind, found.duration_s, found.by)
