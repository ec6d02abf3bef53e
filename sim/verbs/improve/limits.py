"""Which limits a change passes that the case itself does not, and where along its way the first one binds."""

import itertools
import math
import re
from typing import Any

from ... import settle
from ...knock_words import knocks_nowhere
from ...prediction import Prediction
from ...steady import STATUS
from .goal import KNOCK
from .search import Path, Point

CREEPS = STATUS[settle.BOOST_OVER]
FARTHER = 0.05  # of what a limit is past by, from which a change counts as going farther past it [-]


def margins(found: Prediction | None) -> dict[str, float]:
    """Margins of a point by name; that to knock is infinite where no spark knocks."""
    if found is None:
        return {}
    return dict.fromkeys(KNOCK if knocks_nowhere(vars(found)) else (), math.inf) | {
        str(row["name"]): float(row["margin"]) for row in found.margins
    }


def passed(here: Prediction | None, there: Prediction | None) -> list[str]:
    """Limits past which only the changed case is."""
    before = margins(here)
    return [name for name, margin in margins(there).items() if margin < 0.0 <= before.get(name, 0.0)]


def worse(here: Prediction | None, there: Prediction | None) -> list[str]:
    """Limits past which the case is already, and the changed case farther by a twentieth."""
    before = margins(here)
    return [
        name
        for name, margin in margins(there).items()
        if before.get(name, 0.0) < 0.0 and margin < (1.0 + FARTHER) * before[name]
    ]


def hurt(row: dict[str, Any]) -> bool:
    """Whether a change passes a limit or goes farther past one."""
    return bool(row["passed"] or row["worse"] or row["creeps"])


def creeps(here: Prediction | None, there: Prediction | None) -> bool:
    """Whether the boost runs past what is set only after the change: what that gives is out of the driver's hand."""
    before = None if here is None else here.status
    return there is not None and there.status == CREEPS != before


def said_besides(here: Prediction | None, there: Prediction | None) -> list[str]:
    """Warnings, other than of limits, that only the changed case gives, whatever figures stand in them."""
    before = {masked(text) for text in (here.warnings if here else ())}
    found = there.warnings if there else ()
    return [text for text in found if masked(text) not in before and not text.startswith("Past its limit")]


def masked(text: str) -> str:
    """A warning without its figures."""
    return re.sub(r"[\d.]+", "", text)


def cleared(here: Prediction | None, there: Prediction | None) -> list[str]:
    """Limits past which the case is, and the changed case is not."""
    after = margins(there)
    return [name for name, margin in margins(here).items() if margin < 0.0 <= after.get(name, margin)]


def first(path: Path) -> tuple[str, float] | None:
    """The limit that binds first on the way, and about at which share, between two solved points; None where none does."""
    found: list[tuple[float, str]] = []
    for a, b in itertools.pairwise(path.points):
        found += _between(a, b)
    return (min(found)[1], min(found)[0]) if found else None


def _between(a: Point, b: Point) -> list[tuple[float, str]]:
    before, after = margins(a.prediction), margins(b.prediction)
    crossed: list[tuple[float, str]] = []
    for name, margin in after.items():
        start: Any = before.get(name)
        if start is not None and margin < 0.0 <= start:
            part = 1.0 if start == math.inf else start / (start - margin)
            crossed.append((a.share + (b.share - a.share) * part, name))
    return crossed
