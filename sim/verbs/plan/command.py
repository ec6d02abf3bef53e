"""`hotside plan` on the command line."""

import shlex
from pathlib import Path
from typing import Annotated

import typer

from ...options import (
    AsJson,
    CaseFile,
    Changes,
    Family,
    Force,
    Page,
    changed,
    check_page,
    json_text,
    progress,
    unit_family,
)


def plan(
    case_file: CaseFile = None,
    changes: Changes = None,
    as_json: AsJson = False,
    units: Family = None,
    plot: Annotated[Path | None, typer.Option("--plot", metavar="FILE.png", help="the way up and the probe")] = None,
    report: Page = None,
    force: Force = False,
) -> None:
    """The step-up card for the first pulls: what to set, what to read, when to lift."""
    from ...case import load

    case = changed(load(case_file), changes or [])
    family = unit_family(units, case.report.units)
    check_page(report, force)
    if plot is not None:
        from .plot import check_plot

        check_plot(plot, force)
    from .run import plan as make

    result = make(case, source=written(case_file, changes or []), progress=progress)
    if plot is not None:
        from .plot import write_plot

        write_plot(result, plot, family, force)
    if report is not None:
        from ..page import save_page
        from .plot import draw
        from .table import print_plan

        save_page(report, lambda console: print_plan(result, family, console), case, draw(result, family), force)
    if as_json:
        print(json_text(result.to_dict()))
        return
    from .table import print_plan

    print_plan(result, family)


def written(case_file: Path | None, changes: list[str]) -> str:
    """The case as it was named, and the changes a pull does not make itself."""
    moved = ("run.boost", "run.spark_advance", "run.lambda", "run.afr", "run.afr_scale")
    kept = [c for c in changes if c.partition("=")[0].strip() not in moved]
    words = [shlex.quote(str(case_file))] if case_file is not None else []
    return " ".join([*words, *(f"--set {shlex.quote(c)}" for c in kept)])
