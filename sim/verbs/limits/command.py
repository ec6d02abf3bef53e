"""`hotside limits` on the command line."""

from functools import partial
from pathlib import Path
from typing import Annotated

import typer

from ...options import AsJson, CaseFile, Changes, Family, Force, Page, opened, picture, progress


def limits(
    case_file: CaseFile = None,
    changes: Changes = None,
    as_json: AsJson = False,
    units: Family = None,
    plot: Annotated[Path | None, picture("the region, boost and spark")] = None,
    csv: Annotated[Path | None, typer.Option("--csv", metavar="FILE.csv", help="every point solved, in SI")] = None,
    report: Page = None,
    force: Force = False,
) -> None:
    """How far boost, spark and mixture can go, and which limit binds first."""
    from ..output import Output

    case, family = opened(case_file, changes, units)
    output = Output("region.png", plot, report, csv, as_json, force)
    from .plot import draw
    from .run import limits as find
    from .table import csv_text, print_limits

    result = find(case, progress=progress)
    output.give(
        case,
        result.to_dict,
        partial(print_limits, result, family),
        partial(draw, result, family),
        partial(csv_text, result),
    )
