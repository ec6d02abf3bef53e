"""`hotside pull` on the command line."""

from functools import partial
from pathlib import Path
from typing import Annotated

import typer

from ...options import AsJson, CaseFile, Changes, Family, Force, Page, opened, picture, progress, trace_text


def pull(
    case_file: CaseFile = None,
    changes: Changes = None,
    as_json: AsJson = False,
    units: Family = None,
    csv: Annotated[
        Path | None, typer.Option("--csv", metavar="FILE.csv", help="write every speed as a table, SI")
    ] = None,
    plot: Annotated[Path | None, picture("needles against engine speed")] = None,
    report: Page = None,
    force: Force = False,
) -> None:
    """What each needle shows through a pull in a gear or a dyno ramp, lag included."""
    from ..output import Output

    case, family = opened(case_file, changes, units)
    output = Output("pull.png", plot, report, csv, as_json, force)
    from .plot import draw
    from .run import furnished
    from .run import pull as run
    from .table import print_pull

    case = furnished(case)
    result = run(case, progress=progress)
    output.give(
        case, result.to_dict, partial(print_pull, result, case, family), partial(draw, result, family),
        lambda: trace_text(result.columns()),
    )  # fmt: skip
