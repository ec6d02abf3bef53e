"""`diagnose`: the model fitted to a log, what the log says and how sure it is."""

import time
from collections.abc import Callable, Iterable
from pathlib import Path
from typing import Any

import numpy as np

from ...case import Case
from ...errors import CaseError
from ...setup import prepare
from . import cylinders, examine
from .columns import figures
from .fit import Array, Fitted, fit
from .points import Points, points
from .problem import Problem, points_of
from .result import Diagnosis
from .text import read_sheet
from .unknowns import Unknown, unknowns
from .words import sentences

Progress = Callable[[str], None]
CLOSED_SHARE = (
    0.8  # of the crack pressure, up to which the exhaust's push does not open it either; common practice, no source
)
STARTS = (1.5, -1.5)  # along the direction the log knows least, in standard deviations, where one start may not do


def diagnose(
    case: Case, log: str | Path, *, wanted: Iterable[str] | None = None, progress: Progress | None = None
) -> Diagnosis:
    """Fit the case to a log and say what the log means.

    case : Case of a turbo engine; [log] says how columns are read
    log : CSV file with a heading
    wanted : dotted names to fit, instead of those the log's channels call for
    progress : called with a sentence while something takes long
    Raises CaseError in one sentence for a log or a name that cannot be used.
    """
    if case.is_bench or case.run.held_backpressure is not None:
        raise CaseError(
            "diagnose needs a turbo case with its loop closed; a bench case or run.held_backpressure has none."
        )
    began = time.perf_counter()
    say = progress or (lambda _: None)
    ambient = prepare(
        case, None if progress is None else lambda text, share: say(f"{text} {share:.0%}")
    ).ambient.pressure
    sheet = read_sheet(Path(log))
    read = figures(sheet, case, ambient)
    found = points(read, case, sheet.ragged, ambient)
    if len(found.values) == 0:
        why = " ".join(found.said) or "every row lacks a condition."
        raise CaseError(f"{Path(log).name} leaves no point to compare out of {found.total} rows: {why}")
    shut_below = _shut_below(case)
    logged = [r.channel for r in read.read]
    chosen = unknowns(case, [c for c in logged if c in found.values], wanted)
    say(f"{len(found.values)} points, {len(chosen)} unknowns; the first run ever compiles the kernels")
    problem, fitted, before, freed, left = fitted_to(
        case, points_of(found, case, shut_below), chosen, say, free=not wanted
    )
    return _diagnosis(case, Path(log), found, problem, fitted, before, freed, left, read, time.perf_counter() - began)


def _shut_below(case: Case) -> float | None:
    """Boost below which the wastegate is known to be shut [Pa]: stated, or well below where its rod first moves."""
    if case.log is not None and case.log.wastegate_shut_below is not None:
        return case.log.wastegate_shut_below
    crack = case.wastegate.crack_pressure if case.wastegate is not None else None
    return None if crack is None else CLOSED_SHARE * crack


def fitted_to(
    case: Case, lot: list[Any], chosen: list[Unknown], say: Progress = lambda _: None, free: bool = True
) -> tuple[Problem, Fitted, list[Any], list[examine.Suspect], list[examine.Suspect]]:
    """The problem of these points, solved; the one gauge or prior that cannot be is let go, and named.

    free : False lets go of nothing but what is among the chosen
    """
    names = {u.name for u in chosen}

    def worst() -> list[examine.Suspect]:
        return [s for s in examine.suspects(problem, fitted) if (free or s.name in names) and s.name not in gone]

    gone: set[str] = set()
    problem, fitted, before = _fitted(case, lot, chosen, None)
    left = worst()
    if not left or left[0].fall < examine.CANNOT_BE:
        return problem, fitted, before, [], left
    freed = left[:1]
    gone.add(freed[0].name)
    say(f"{freed[0].name} does not fit the rest; it is let go and the fit made again")
    start = {u.name: u.at(x) for u, x in zip(problem.unknowns, fitted.x, strict=True)}
    problem, fitted, _ = _fitted(case, lot, examine.let_go(chosen, freed[0].name), start)
    return problem, fitted, before, freed, worst()


def _fitted(
    case: Case, lot: list[Any], chosen: list[Unknown], start: dict[str, float] | None
) -> tuple[Problem, Fitted, list[Any]]:
    problem = Problem(case, lot, chosen)
    if not problem.points:
        raise CaseError(
            "The model has no answer at any point of the log; check its columns, units and the case's boost and turbine."
        )
    low, high = bounds(chosen)
    x = np.array([((start or {}).get(u.name, u.middle) - u.middle) / u.sigma for u in chosen])
    problem.solve(x)
    problem.weigh()
    before = [s.channels for s in problem.solved]
    fitted = fit(problem.residuals, problem.jacobian, x, low, high)
    if start is None and (fitted.at_bound.any() or not fitted.converged):
        fitted = _other_starts(problem, fitted, low, high)
    return problem, fitted, before


def _other_starts(problem: Problem, fitted: Fitted, low: Array, high: Array) -> Fitted:
    """The best of a few starts along the direction the log knows least: the surface may hold another valley."""
    spread, directions = np.linalg.eigh(fitted.covariance)
    far = directions[:, -1] * np.sqrt(spread[-1])
    for factor in STARTS:
        other = fit(
            problem.residuals, problem.jacobian, np.clip(fitted.x + factor * far, low, high), low, high, finish=2
        )
        if other.sum_of_squares < fitted.sum_of_squares - 0.1:
            fitted = other
    problem.solve(fitted.x)
    return fitted


def bounds(chosen: list[Unknown]) -> tuple[Array, Array]:
    """Bounds in units of x."""
    low = np.array([(u.low - u.middle) / u.sigma for u in chosen])
    high = np.array([(u.high - u.middle) / u.sigma for u in chosen])
    return low, high


def _diagnosis(
    case: Case, log: Path, found: Points, problem: Problem, fitted: Fitted, before: list[Any],
    freed: list[examine.Suspect], left: list[examine.Suspect], read: Any, seconds: float,
) -> Diagnosis:  # fmt: skip
    wrong = examine.misfit(problem, fitted, left, freed)
    known = sum(p.opening is not None and "balance" in p.readings for p in problem.points)
    rows = examine.estimates(problem, fitted, wrong, claimed=known >= 2)
    help_ = {}
    for row in rows:
        if row["decided_by"] != "data" and not row["name"].startswith("sensor."):
            best = examine.helpful(problem, fitted, row["name"])
            help_[row["name"]] = None if best is None else {"channel": best[0], "left_of_prior": best[1]}
    told = cylinders.told(problem, fitted, wrong)
    result = Diagnosis(
        title=case.title,
        log=log.name,
        rows=found.total,
        rows_used=found.used,
        points=len(problem.points),
        points_wastegate_known=known,
        points_without_answer=[p.label for p in problem.dropped],
        columns=[{"channel": r.channel, "column": r.column, "unit": r.unit} for r in read.read],
        columns_ignored=read.ignored,
        reading_notes=found.said,
        estimates=rows,
        correlations=examine.correlations(problem, fitted),
        extra_readings=help_,
        channels=examine.channel_rows(problem, before, fitted),
        cylinders=told,
        let_go=[{"name": s.name, "fall": s.fall} for s in freed],
        suspects=[{"name": s.name, "fall": s.fall} for s in left if s.fall >= examine.CANNOT_BE],
        doubted=wrong.doubted,
        sum_of_squares=wrong.sum_of_squares,
        freedom=wrong.freedom,
        misfit_probability=wrong.probability,
        interval_widening=wrong.widening,
        converged=fitted.converged,
        evaluations=problem.evaluations,
        seconds=seconds,
        comparison=comparison(problem, fitted),
        sentences=[],
        case=case,
    )
    return result.saying(sentences(result))


def comparison(problem: Problem, fitted: Fitted) -> list[dict[str, Any]]:
    """Measured against predicted, a row for each point and channel."""
    predicted = problem.predict(fitted.x)
    return [
        {
            "point": problem.points[i].label,
            "speed_rpm": problem.points[i].conditions["speed"] * 30.0 / np.pi,
            "channel": c,
            "measured": problem.points[i].readings[c],
            "predicted": predicted[i][c],  # type: ignore[index]
            "error": examine.whole_error(problem, i, c),
        }
        for i, c in problem.rows()
        if predicted[i] is not None and c != "balance"
    ]
