"""Two holes and one gauge: how many swapped pulls tell which runner is hotter.

The same probe goes from hole to hole, so the error of its class cancels; what is left is how far a reading strays from one
pull to the next. In a pull the needle shows only a share of a difference, since it has not settled.
"""

import math
from typing import Any

import numpy as np

from ...case import Case
from ...errors import CaseError
from ...records import Array
from .chances import Draws

SURE = 0.95  # chance of naming the hotter runner that counts as told
PULLS = (1, 2, 3, 4, 6, 8)  # in each hole
MOST = 99


def shown_share(case: Case) -> float | None:
    """Share of a difference that a needle has reached at the case's speed in its pull; None where no pull leads there."""
    from ..pull.run import furnished, pull

    try:
        found = pull(furnished(case).set("pull.points", 6))
    except CaseError:
        return None
    if not found.begins_rpm - 1.0 <= case.run.speed_rpm <= found.ends_rpm + 1.0:
        return None
    held, needle = (
        np.interp(case.run.speed_rpm, found.speed_rpm, found.probes[0][k]) for k in ("held_reading_k", "needle_k")
    )
    share = (needle - found.cruise_reading_k) / (held - found.cruise_reading_k)
    return float(share) if 0.05 < share <= 1.0 else None


def right(difference: Array, pulls: int, repeat: float) -> Array:
    """Chance that the mean of `pulls` in each hole names the hotter runner: Phi(d / (s sqrt(2 / n)))."""
    from scipy.special import ndtr

    return np.asarray(ndtr(np.abs(difference) / (repeat * math.sqrt(2.0 / pulls))))


def needed(difference: float, repeat: float) -> int | None:
    """Pulls in each hole to name the hotter with SURE where they differ by `difference`; None beyond MOST."""
    from scipy.special import ndtri

    if not difference > 0.0:
        return None
    count = math.ceil(2.0 * (float(ndtri(SURE)) * repeat / difference) ** 2 - 1e-9)
    return max(count, 1) if count <= MOST else None


def swaps(draws: Draws, pair: tuple[int, int], repeat: float, above: float, share: float | None) -> dict[str, Any]:
    """For two runners, counted from 0: what they differ by, and the chance to be right after each number of pulls."""
    difference = draws.reading[:, pair[0]] - draws.reading[:, pair[1]]
    seen = share or 1.0
    wide = np.abs(difference) > above
    rows = [
        {
            "pulls_in_each": n,
            "right": float(right(seen * difference, n, repeat).mean()),
            "right_where_far": float(right(seen * difference[wide], n, repeat).mean()) if wide.any() else None,
        }
        for n in PULLS
    ]
    typical = float(np.median(np.abs(difference)))
    return {
        "cylinders": [pair[0] + 1, pair[1] + 1],
        "mean_difference_k": float(difference.mean()),
        "typical_difference_k": typical,
        "shown_share": share,
        "repeat_k": repeat,
        "needed_at_typical": needed(seen * typical, repeat),
        "needed_at_above": needed(seen * above, repeat),
        "rows": rows,
    }
