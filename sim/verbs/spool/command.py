"""`hotside spool` on the command line."""

from functools import partial
from pathlib import Path
from typing import Annotated

import typer

from ...options import AsJson, CaseFile, Changes, Family, Force, Page, opened, picture, progress


def spool(
    case_file: CaseFile = None,
    changes: Changes = None,
    gear: Annotated[bool, typer.Option("--gear", help="bring the vehicle of [vehicle] along")] = False,
    as_json: AsJson = False,
    units: Family = None,
    plot: Annotated[Path | None, picture("boost against time")] = None,
    report: Page = None,
    force: Force = False,
) -> None:
    """Boost against time after a tip-in, at a held speed or in a gear; boost threshold."""
    from ..output import Output

    case, family = opened(case_file, [*(changes or []), *(["spool.in_gear=true"] if gear else [])], units)
    output = Output("spool.png", plot, report, None, as_json, force)
    from .entries import banded
    from .plot import draw
    from .run import spool as run
    from .table import print_spool

    result = banded(case, run(case, progress=progress))
    output.give(case, result.to_dict, partial(print_spool, result, family), partial(draw, result, family))
