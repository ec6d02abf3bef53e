"""A few readings: the explanations ranked by odds, and the cheapest next test that would split the first two."""

from dataclasses import asdict, dataclass
from typing import Any

import numpy as np

from ...case import Case
from ...errors import CaseError
from ...setup import prepare
from .causes import Setting, causes
from .evidence import Shown, covariance_of, gauges, ranked, shown
from .few_read import parse, point
from .few_words import sentences, tests
from .fit import Array
from .logged import Point
from .problem import Problem
from .unknowns import NORMAL_90, unknowns


@dataclass(frozen=True)
class Readings:
    """A few readings explained."""

    title: str
    units: str  # family
    readings: list[dict[str, Any]]
    assumed: list[str]
    causes: list[dict[str, Any]]
    tests: list[dict[str, Any]]
    sentences: list[str]

    def to_dict(self) -> dict[str, Any]:
        """The same as a plain dict, equal to the JSON output."""
        return asdict(self)


def diagnose_readings(case: Case, text: str, *, progress: Any = None) -> Readings:
    """Rank what may be behind a few readings.

    case : Case of a turbo engine
    text : readings, as parse takes them; speed and boost are needed, and one reading to compare
    Raises CaseError in one sentence.
    """
    if case.is_bench or case.run.held_backpressure is not None:
        raise CaseError(
            "diagnose needs a turbo case with its loop closed; a bench case or run.held_backpressure has none."
        )
    ambient = prepare(
        case, None if progress is None else lambda t, share: progress(f"{t} {share:.0%}")
    ).ambient.pressure
    read, assumed = point(case, parse(text, case, ambient))
    asked = Asked(case, read)
    found = ranked(asked.shown(), read, asked.names, asked.covariance())
    splits = tests(found, asked.problem, read, case)
    rows = _rows(asked)
    told = [r["told"] for r in found]
    return Readings(case.title, case.report.units, rows, assumed, told, splits, sentences(told, splits, rows))


class Asked:
    """The model where a few readings were taken, with what the case leaves open there; raises CaseError."""

    def __init__(self, case: Case, read: Point) -> None:
        open_ = [u for u in unknowns(case, read.readings) if not u.name.startswith(("cylinder.", "sensor."))]
        self.problem, zero = Problem(case, [read], open_), np.zeros(len(open_))
        if self.problem.spots:
            self.problem.weigh(zero)
        if not self.problem.spots:
            raise CaseError("The model has no answer at or near these readings; check speed, boost and their units.")
        self.spot = self.problem.spots[0]
        nominal = read.conditions.get("lambda", case.run.lambda_ratio)
        self.setting = Setting(self.spot.stand, self.spot.inputs(zero), read.opening, nominal)

    @property
    def names(self) -> list[str]:
        """The readings compared."""
        return self.spot.names

    def covariance(self) -> Array:
        """Of the readings about the model."""
        return covariance_of(self.problem, self.names)

    def shown(self) -> list[Shown]:
        """Every cause with what the gauges would show at each of its sizes."""
        return [shown(cause, self.setting) for cause in [*causes(), *gauges(self.spot.point, self.setting)]]


def _rows(asked: Asked) -> list[dict[str, Any]]:
    """Each reading beside what the case would show."""
    read, base, deviations = asked.spot.point.readings, asked.spot.channels, np.sqrt(np.diag(asked.covariance()))
    return [
        {
            "channel": c,
            "measured": read[c],
            "predicted": base[c],
            "band": NORMAL_90 * float(sd),
            "distance": float((read[c] - base[c]) / sd),
        }
        for c, sd in zip(asked.names, deviations, strict=True)
    ]
