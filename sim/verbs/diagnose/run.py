"""`diagnose`: the model fitted to a log, what the log says and how sure it is."""

import time
from collections.abc import Iterable
from pathlib import Path
from typing import Any

import numpy as np

from ...case import Case
from ...errors import CaseError
from ...setup import prepare
from . import cylinders, examine, suspects
from .columns import figures
from .fit import Fitted
from .logged import points_of
from .phrases import departs
from .points import Points, points
from .problem import Problem
from .result import Diagnosis
from .solving import Progress, Solved, fitted_to
from .text import read_sheet
from .unknowns import unknowns
from .words import sentences


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
    logged = [r.channel for r in read.read]
    chosen = unknowns(case, [c for c in logged if c in found.values], wanted)
    say(f"{len(found.values)} points, {len(chosen)} unknowns; the first run ever compiles the kernels")
    solved = fitted_to(case, points_of(found, case), chosen, say, free=not wanted)
    return _diagnosis(case, Path(log), found, solved, read, time.perf_counter() - began)


def _diagnosis(case: Case, log: Path, found: Points, solved: Solved, read: Any, seconds: float) -> Diagnosis:
    problem, fitted, gone, left = solved.problem, solved.fitted, solved.gone, solved.left
    wrong = examine.misfit(problem, fitted, gone.names if gone else (), left)
    known = sum(s.point.opening is not None and "balance" in s.names for s in problem.spots)
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
        points=len(problem.spots),
        points_steady=sum(found.steady),
        points_wastegate_known=known,
        points_without_answer=[p.label for p in problem.dropped],
        columns=[{"channel": r.channel, "column": r.column, "unit": r.unit} for r in read.read],
        columns_ignored=read.ignored,
        reading_notes=found.said,
        estimates=rows,
        correlations=examine.correlations(problem, fitted),
        extra_readings=help_,
        channels=examine.channel_rows(problem, solved.before, fitted),
        cylinders=told.rows,
        cylinders_odds=told.odds,
        cylinders_named_from=told.named_from,
        let_go=[{"name": n, "fall": gone.fall} for n in gone.names] if gone else [],
        rivals=_rivals(solved, rows),
        suspects=[{"name": n, "fall": fall} for n, fall in left if fall >= suspects.CANNOT_BE],
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


def _rivals(solved: Solved, rows: list[dict[str, Any]]) -> list[dict[str, Any]]:
    """What explains the log as well as what is said: for what was let go, and for each unknown that departs."""
    gone = solved.gone
    found = []
    unseen = [r["name"] for r in rows if r["decided_by"] == "prior" and r["name"] != "turbine.flow_scale"]
    for names in gone.rivals if gone else []:
        values = solved.linear.least(names).values
        found.append({"of": list(gone.names), "names": list(names), "values": [values[n] for n in names]})  # type: ignore[union-attr]
    for row in rows:
        if departs(row) and not (gone and row["name"] in gone.names):
            for name, value in suspects.instead(solved.linear, row["name"], gone.names if gone else (), unseen):
                found.append({"of": [row["name"]], "names": [name], "values": [value]})
    return found


def comparison(problem: Problem, fitted: Fitted) -> list[dict[str, Any]]:
    """Measured against predicted, a row for each point and channel."""
    predicted = problem.predict(fitted.x)
    return [
        {
            "point": problem.spots[i].point.label,
            "speed_rpm": problem.spots[i].point.conditions["speed"] * 30.0 / np.pi,
            "channel": c,
            "measured": problem.spots[i].point.readings[c],
            "predicted": predicted[i][c],  # type: ignore[index]
            "error": problem.spots[i].whole_error(c),
        }
        for i, c in problem.rows()
        if predicted[i] is not None and c != "balance"
    ]
