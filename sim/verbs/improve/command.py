"""`hotside improve` on the command line."""

from functools import partial
from pathlib import Path
from typing import Annotated

import typer

from ...options import AsJson, CaseFile, Changes, Family, Force, Page, opened, picture, progress


def improve(
    case_file: CaseFile = None,
    target: Annotated[
        str, typer.Option("--target", metavar="GOAL", help='what is wanted, "power = 300 kW" or "probe < 850 degC"')
    ] = "",
    changes: Changes = None,
    as_json: AsJson = False,
    units: Family = None,
    spool: Annotated[bool, typer.Option("--spool", help="also the tip-in of each change")] = False,
    blends: Annotated[
        bool, typer.Option("--blends", help="also ethanol in the fuel, alcohol in the charge; new blends take a while")
    ] = False,
    plot: Annotated[Path | None, picture("the changes side by side")] = None,
    report: Page = None,
    force: Force = False,
) -> None:
    """Which single change buys most toward a target, what it costs elsewhere, and the best pairs."""
    from ..output import Output

    case, family = opened(case_file, changes, units)
    output = Output("improve.png", plot, report, None, as_json, force)
    from .plot import draw
    from .run import improve as run
    from .table import print_improve

    result = run(case, target, spool=spool, blends=blends, progress=progress)
    output.give(case, result.to_dict, partial(print_improve, result, family), partial(draw, result, family))
