"""Predictions at settings, each solved once, and how far each stands from the nearest limit."""

import math
from collections.abc import Callable, Mapping
from typing import Any, NamedTuple

from ...case import Case
from ...errors import CaseError
from ...prediction import Prediction
from ...steady import SolveError, predict
from ...variants import Variants
from .knock_band import Rows, unseen, with_band
from .settings import Setting

Slack = Callable[[Mapping[str, Any]], float]  # how far to stay from the limit of a margin, in the margin's unit
DEGREES, WHOLE = 10.0, 1.0  # what a gap is a share of where the limit is near 0: spark [deg], a fraction [-]
SHORT, OVER, DEAD = "boost the turbine can make", "boost with the wastegate fully open", "charge that burns"
UNREACHABLE = -1.0  # gap of a point without an answer


class Gap(NamedTuple):
    """Distance to a limit as a share of it, positive on the near side."""

    name: str
    share: float


def none(row: Mapping[str, Any]) -> float:
    """No slack: the limit itself."""
    return 0.0


class Point(NamedTuple):
    """A setting, what it predicts (None where it has no answer) and the margins of it by name.

    unseen : margins that count only where they are backed off
    """

    setting: Setting
    prediction: Prediction | None
    rows: Rows
    unseen: Rows

    @property
    def guarded(self) -> Rows:
        """Every margin that a backed-off point keeps its allowance to."""
        return self.rows | self.unseen

    def gaps(self, slack: Slack = none) -> list[Gap]:
        """Every distance to a limit, the least first."""
        rows = self.rows if slack is none else self.guarded
        found = [Gap(name, (row["margin"] - slack(row)) / scale(row)) for name, row in rows.items()]
        return sorted([*found, *self._ends()], key=lambda g: g.share)

    def _ends(self) -> list[Gap]:
        """What is no limit of the hardware and yet an end: a boost that cannot be made, a charge that does not burn."""
        p, asked = self.prediction, self.setting.boost
        if p is None or not p.converged:
            return [Gap(DEAD, UNREACHABLE)]
        if asked is not None and p.boost_pa is not None and p.status != "converged":
            name = SHORT if p.status == "boost short" else OVER
            return [Gap(name, -max(abs(p.boost_pa - asked), 1.0) / 1e5)]
        return []

    def least(self, slack: Slack = none) -> Gap:
        """The nearest limit."""
        return min(self.gaps(slack), key=lambda g: g.share, default=Gap("no limit", math.inf))

    @property
    def power(self) -> float | None:
        """Power at the flywheel [W]."""
        return None if self.prediction is None else self.prediction.power_w


def scale(row: Mapping[str, Any]) -> float:
    """What the margin of a row is a share of."""
    limit, degrees = abs(float(row["limit"])), str(row["name"]).endswith("_deg")
    return max(limit, DEGREES) if degrees else limit or WHOLE


class Points:
    """A case at other settings; what was solved is kept."""

    def __init__(self, case: Case, progress: Callable[[str], None] | None = None, every: int = 10) -> None:
        self.case, self.variants, self.progress, self.every = case, Variants(case), progress, every
        self.known: dict[Setting, Point] = {}

    def at(self, setting: Setting) -> Point:
        """The point at a setting."""
        if setting not in self.known:
            self.known[setting] = self._solved(setting)
            count = len(self.known)
            if self.progress is not None and count % self.every == 0:
                self.progress(f"{count} points solved")
        return self.known[setting]

    def _solved(self, setting: Setting) -> Point:
        first = self.progress if not self.known else None
        try:
            found = predict(self.variants.make(setting.inputs()), progress=first)
        except (SolveError, CaseError):
            return Point(setting, None, {}, {})
        return Point(setting, found, with_band(self.case, found), unseen(self.case, found))
