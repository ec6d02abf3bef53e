"""`hotside flange` on the command line."""

from functools import partial
from pathlib import Path
from typing import Annotated

import typer

from ...options import AsJson, CaseFile, Changes, Family, Force, Page, opened, picture, progress


def flange(
    case_file: CaseFile = None,
    changes: Changes = None,
    wall: Annotated[str | None, typer.Option("--wall", metavar="TEMPERATURE", help="wall, not predicted")] = None,
    as_json: AsJson = False,
    units: Family = None,
    plot: Annotated[Path | None, picture("clamp against temperature")] = None,
    report: Page = None,
    force: Force = False,
) -> None:
    """Does the turbine flange stay clamped when hot: torque, preload, conical washers."""
    from ..output import Output

    wishes = [*(changes or []), *([f"flange.wall_temperature={wall}"] if wall is not None else [])]
    case, family = opened(case_file, wishes, units)
    if family != case.report.units:
        case = case.set("report.units", family)  # sentences are written where the joint is checked
    output = Output("clamp.png", plot, report, None, as_json, force)
    from .plot import draw
    from .run import flange as check
    from .table import print_flange

    result = check(case, progress=progress)
    output.give(case, result.to_dict, partial(print_flange, result, family), partial(draw, result, family))
