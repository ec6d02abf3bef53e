"""`hotside lookalikes` on the command line."""

from functools import partial
from pathlib import Path
from typing import Annotated

import typer

from ...options import AsJson, CaseFile, Changes, Family, Force, Page, opened, picture, progress


def lookalikes(
    case_file: CaseFile = None,
    changes: Changes = None,
    probe: Annotated[int | None, typer.Option("--probe", metavar="N", help="number of the [[probe]]")] = None,
    as_json: AsJson = False,
    units: Family = None,
    plot: Annotated[Path | None, picture("readings over mixture and spark")] = None,
    report: Page = None,
    force: Force = False,
) -> None:
    """What one exhaust reading cannot tell: the mixtures and timings that give the same."""
    from ..output import Output

    case, family = opened(case_file, changes, units)
    output = Output("alike.png", plot, report, None, as_json, force)
    from .plot import draw
    from .run import lookalikes as find
    from .table import print_lookalikes

    result = find(case, probe=probe, progress=progress)
    output.give(case, result.to_dict, partial(print_lookalikes, result, family), partial(draw, result, family))
