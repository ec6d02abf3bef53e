"""`hotside plan` on the command line."""

import shlex
from functools import partial
from pathlib import Path
from typing import Annotated

from ...options import AsJson, CaseFile, Changes, Family, Force, Page, opened, picture, progress


def plan(
    case_file: CaseFile = None,
    changes: Changes = None,
    as_json: AsJson = False,
    units: Family = None,
    plot: Annotated[Path | None, picture("the way up and the probe")] = None,
    report: Page = None,
    force: Force = False,
) -> None:
    """The step-up card for the first pulls: what to set, what to read, when to lift."""
    from ..output import Output

    case, family = opened(case_file, changes, units)
    output = Output("card.png", plot, report, None, as_json, force)
    from .plot import draw
    from .run import plan as make
    from .table import print_plan

    result = make(case, source=written(case_file, changes or []), progress=progress)
    output.give(case, result.to_dict, partial(print_plan, result, family), partial(draw, result, family))


def written(case_file: Path | None, changes: list[str]) -> str:
    """The case as it was named, and the changes a pull does not make itself."""
    moved = ("run.boost", "run.spark_advance", "run.lambda", "run.afr", "run.afr_scale")
    kept = [c for c in changes if c.partition("=")[0].strip() not in moved]
    words = [shlex.quote(str(case_file))] if case_file is not None else []
    return " ".join([*words, *(f"--set {shlex.quote(c)}" for c in kept)])
