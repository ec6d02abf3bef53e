"""`hotside burn` on the command line."""

from pathlib import Path
from typing import Annotated

import typer

from ...options import AsJson, Changes, Family, Force, changed, json_text, progress, trace_text, unit_family
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
    plot: Annotated[Path | None, typer.Option("--plot", metavar="FILE.png", help="pressure, burn and heat")] = None,
    force: Force = False,
) -> None:
    """The burn rate of a measured cylinder pressure, and a table of it that a case can burn by."""
    from ...case import load

    case = changed(load(case_file), changes or [])
    family = unit_family(units, case.report.units)
    if plot is not None:
        from ...pictures import check_picture

        check_picture(plot, force, "burn.png")
    if write is not None:
        from ...files import check_new

        check_new(write, force)
    from .run import burn as run

    result = run(case, trace, cylinder=cylinder, peg=peg, phase=phase, smooth=smooth, begins=begins, progress=progress)
    if write is not None:
        from ...files import write_whole

        write_whole(write, trace_text(result.columns()), force)
    if plot is not None:
        from ...pictures import save_picture
        from .plot import draw

        save_picture(draw(result, family), plot)
    if as_json:
        print(json_text(result.to_dict()))
        return
    from .table import print_burn

    print_burn(result, family)
