"""`lookalikes`: the mixtures and timings that give the same probe reading at this point, boost and speed held.

The module does not bear the verb's name: `from hotside.sim import lookalikes` must go on giving the function.
"""

from collections.abc import Callable
from itertools import pairwise
from typing import Any

from ....models import combustion
from ...case import Case
from ...errors import CaseError
from ..limits.points import Point, Points
from ..limits.settings import Setting, setting_of
from .result import LookalikesResult
from .words import sentences

LAMBDA_STEP, LAMBDA_STEPS = 0.04, 9  # of the map, to either side
SPARKS = (-16.0, -10.0, -5.0, 0.0, 5.0, 10.0, 16.0)  # of the map, about the point's [deg]
NEAR = 0.002  # lambda within which a row is the point itself
SLOPE = (0.01, 1.0)  # lambda and spark over which a reading's slopes are taken, to either side
EXACT = 1e-3  # of the lambda and the spark found


def lookalikes(
    case: Case, *, probe: int | None = None, progress: Callable[[str], None] | None = None
) -> LookalikesResult:
    """What one exhaust probe cannot tell apart.

    case : Case with an exhaust probe and a burn driven by spark
    probe : number of the [[probe]], counted from 1; the one that reads highest where None
    progress : called with a sentence as points are solved
    Raises CaseError for an imposed burn, a bench, a probe that is not there, or a point without an answer.
    """
    start = setting_of(case)
    points = Points(case, progress)
    here = points.at(start)
    if here.prediction is None or not here.prediction.converged:
        raise CaseError("the point of the case itself has no answer; hotside predict says why.")
    number = _chosen(here.prediction.probes, probe)
    search = Search(points, start, number - 1)
    mapped = search.map()
    alike, same_spark = search.alike(mapped), search.same_spark(mapped)
    row = here.prediction.probes[number - 1]
    slopes = search.slopes()
    values: dict[str, Any] = {
        "title": case.title,
        "speed_rpm": case.run.speed_rpm,
        **start.to_dict(),
        "probe": number,
        "place": str(row["location"]),
        "reading_k": float(row["reading_k"]),
        "tolerance_k": float(row["reading_high_k"] - row["reading_k"]),
        "kelvin_per_lambda": slopes[0],
        "kelvin_per_degree": slopes[1],
        "alike": alike,
        "same_spark": same_spark,
        "map": mapped,
    }
    return LookalikesResult(**values, sentences=sentences(values, case.report.units), points_solved=len(points.known))


def _chosen(probes: list[dict[str, Any]], wanted: int | None) -> int:
    """Number of the probe that is asked about."""
    if not probes:
        raise CaseError("this case has no exhaust probe to ask about; write a table [[probe]].")
    if wanted is None:
        return max(range(len(probes)), key=lambda k: probes[k]["reading_k"]) + 1
    if not 1 <= wanted <= len(probes):
        raise CaseError(f"--probe {wanted}: this case has {len(probes)} [[probe]], numbered from 1.")
    return wanted


class Search:
    """Readings of one probe about a setting."""

    def __init__(self, points: Points, start: Setting, index: int) -> None:
        self.points, self.start, self.index = points, start, index
        self.wanted = self.reading(points.at(start))
        lowest, highest = (1.0 / phi for phi in combustion.VALID["phi"][::-1])  # leave out flames nobody has measured
        steps = [start.mixture + LAMBDA_STEP * k for k in range(-LAMBDA_STEPS, LAMBDA_STEPS + 1)]
        self.mixtures = [round(m, 6) for m in steps if lowest <= m <= highest]
        self.sparks = [round(start.spark + d, 4) for d in SPARKS]

    def point(self, mixture: float, spark: float) -> Point:
        """The point at a mixture and a spark."""
        return self.points.at(self.start.moved("mixture", mixture).moved("spark", spark))

    def reading(self, point: Point) -> float | None:
        """What the probe reads there; None without an answer, or where the boost is not held."""
        p = point.prediction
        if p is None or p.status != "converged":
            return None
        return float(p.probes[self.index]["reading_k"])

    def map(self) -> dict[str, Any]:
        """Readings and knock margins on a grid of mixture and spark."""
        rows = [[self.point(m, s) for s in self.sparks] for m in self.mixtures]
        return {
            "lambda_ratio": self.mixtures,
            "spark_advance_deg": self.sparks,
            "reading_k": [[self.reading(p) for p in row] for row in rows],
            "knock_margin_deg": [
                [None if p.prediction is None else p.prediction.knock_margin_deg for p in row] for row in rows
            ],
        }

    def alike(self, mapped: dict[str, Any]) -> list[dict[str, Any]]:
        """Settings at which the probe reads the same, by rising lambda: on each line of the map, across and along."""
        rows = mapped["reading_k"]
        found = {self.start.moved("spark", self.start.spark)}
        for mixture, readings in zip(self.mixtures, rows, strict=True):
            for spark in self._roots(self.sparks, readings, lambda s, m=mixture: self.point(m, s)):  # type: ignore[misc]
                found.add(self.start.moved("mixture", mixture).moved("spark", spark))
        for spark, readings in zip(self.sparks, zip(*rows, strict=True), strict=True):
            for mixture in self._roots(self.mixtures, list(readings), lambda m, s=spark: self.point(m, s)):  # type: ignore[misc]
                found.add(self.start.moved("mixture", mixture).moved("spark", spark))
        others = [s for s in found if s == self.start or abs(s.mixture - self.start.mixture) > NEAR]
        return [self.row(self.points.at(s)) for s in sorted(others, key=lambda s: (s.mixture, s.spark))]

    def same_spark(self, mapped: dict[str, Any]) -> list[dict[str, Any]]:
        """Other mixtures at which the probe reads the same with the spark unchanged."""
        middle = SPARKS.index(0.0)
        readings = [row[middle] for row in mapped["reading_k"]]
        roots = self._roots(self.mixtures, readings, lambda m: self.point(m, self.start.spark))
        return [self.row(self.point(m, self.start.spark)) for m in roots if abs(m - self.start.mixture) > NEAR]

    def slopes(self) -> tuple[float, float]:
        """Kelvin for each unit of lambda and for each degree of spark, about the point."""
        found = []
        for axis, step in zip(("mixture", "spark"), SLOPE, strict=True):
            middle = getattr(self.start, axis)
            ends = [self.reading(self.points.at(self.start.moved(axis, middle + d))) for d in (-step, step)]
            known = all(e is not None for e in ends)
            found.append((ends[1] - ends[0]) / (2.0 * step) if known else float("nan"))  # type: ignore[operator]
        return found[0], found[1]

    def row(self, point: Point) -> dict[str, Any]:
        """One lookalike."""
        p = point.prediction
        assert p is not None
        return {
            **point.setting.to_dict(),
            "reading_k": self.reading(point),
            "power_w": p.power_w,
            "turbine_inlet_temperature_k": p.turbine_inlet_temperature_k,
            "knock_margin_deg": p.knock_margin_deg,
            "knock_margin_bad_cycle_deg": p.knock_margin_bad_cycle_deg,
            "set": point.setting.words(),
        }

    def _roots(self, at: list[float], readings: list[float | None], point: Callable[[float], Point]) -> list[float]:
        """Where the reading is the wanted one, between neighbours of the map that lie on either side of it."""
        from scipy.optimize import brentq

        assert self.wanted is not None
        wanted = self.wanted

        def off(x: float) -> float:
            found = self.reading(point(x))
            return 1e3 if found is None else found - wanted

        pairs = pairwise(zip(at, readings, strict=True))
        return [
            float(brentq(off, a, b, xtol=EXACT * abs(b - a), rtol=1e-9))
            for (a, ra), (b, rb) in pairs
            if ra is not None and rb is not None and (ra - wanted) * (rb - wanted) < 0.0
        ]
