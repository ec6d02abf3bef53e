"""`hotside compare` on the command line."""

from functools import partial
from pathlib import Path
from typing import Annotated

import typer

from ...options import AsJson, CaseFile, Changes, Family, Force, Page, opened, picture, progress


def compare(
    case_file: CaseFile = None,
    choices: Annotated[
        list[str] | None,
        typer.Option("--with", metavar="FILE.toml|NAME=VALUE", help="what changes; repeat for more rivals"),
    ] = None,
    changes: Changes = None,
    runaway: Annotated[bool, typer.Option("--runaway", help="raise the boost until it runs away")] = False,
    spool: Annotated[bool, typer.Option("--spool/--no-spool", help="march the tip-in and find the threshold")] = True,
    as_json: AsJson = False,
    units: Family = None,
    plot: Annotated[Path | None, picture("along full load; with --runaway against boost too")] = None,
    report: Page = None,
    force: Force = False,
) -> None:
    """Two or more turbines, or any other choice, side by side."""
    from ..output import Output

    case, family = opened(case_file, changes, units)
    output = Output("rivals.png", plot, report, None, as_json, force)
    from .plot import draw
    from .rivals import rivals
    from .run import compare as run
    from .table import print_compare

    result = run(rivals(case, choices or []), runaway=runaway, spool_too=spool, progress=progress)
    output.give(case, result.to_dict, partial(print_compare, result, family), partial(draw, result, family))
