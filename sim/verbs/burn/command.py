"""`hotside burn` on the command line."""

from functools import partial
from pathlib import Path
from typing import Annotated

import typer

from ...options import AsJson, Changes, Family, Force, Page, opened, picture, progress, trace_text
from .words import SMOOTH


def burn(
    case_file: Annotated[Path, typer.Argument(metavar="CASE.toml", help="the engine at the point of the trace")],
    trace: Annotated[
        Path, typer.Argument(metavar="TRACE.csv", help="crank angle and cylinder pressure, each with its unit")
    ],
    changes: Changes = None,
    peg: Annotated[
        str, typer.Option("--peg", metavar="none|compression|PRESSURE", help="what makes the pressure absolute")
    ] = "none",
    phase: Annotated[str, typer.Option("--phase", metavar="ANGLE", help="added to the crank angles")] = "0 deg",
    smooth: Annotated[
        str, typer.Option("--smooth", metavar="ANGLE", help="window of the smoothing, 0 deg for none")
    ] = SMOOTH,
    begins: Annotated[
        str | None,
        typer.Option("--begins", metavar="ANGLE", help="where the burn begins; the case's own where left out"),
    ] = None,
    cylinder: Annotated[int, typer.Option("--cylinder", metavar="N", help="the cylinder the trace is of")] = 1,
    write: Annotated[
        Path | None, typer.Option("--write", metavar="FILE.csv", help="the burn against crank angle, for burn.table")
    ] = None,
    as_json: AsJson = False,
    units: Family = None,
    plot: Annotated[Path | None, picture("pressure, burn and heat")] = None,
    report: Page = None,
    force: Force = False,
) -> None:
    """The burn rate of a measured cylinder pressure, and a table of it that a case can burn by."""
    from ..output import Output

    case, family = opened(case_file, changes, units)
    output = Output("burn.png", plot, report, write, as_json, force)
    from .plot import draw
    from .run import burn as run
    from .table import print_burn

    result = run(case, trace, cylinder=cylinder, peg=peg, phase=phase, smooth=smooth, begins=begins, progress=progress)
    output.give(
        case, result.to_dict, partial(print_burn, result, family), partial(draw, result, family),
        lambda: trace_text(result.columns()),
    )  # fmt: skip
