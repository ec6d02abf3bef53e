"""`hotside improve` on the command line."""

from pathlib import Path
from typing import Annotated

import typer

from ...options import (
    AsJson,
    CaseFile,
    Changes,
    Family,
    Force,
    Page,
    changed,
    check_page,
    json_text,
    progress,
    unit_family,
)


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
    plot: Annotated[Path | None, typer.Option("--plot", metavar="FILE.png", help="the changes side by side")] = None,
    report: Page = None,
    force: Force = False,
) -> None:
    """Which single change buys most toward a target, what it costs elsewhere, and the best pairs."""
    from ...case import load

    case = changed(load(case_file), changes or [])
    family = unit_family(units, case.report.units)
    check_page(report, force)
    if plot is not None:
        from ...pictures import check_picture

        check_picture(plot, force, "improve.png")
    from .run import improve as run

    result = run(case, target, spool=spool, blends=blends, progress=progress)
    if plot is not None:
        from ...pictures import save_picture
        from .plot import draw

        save_picture(draw(result, family), plot)
    if report is not None:
        from ..page import save_page
        from .plot import draw
        from .table import print_improve

        save_page(report, lambda console: print_improve(result, family, console), case, draw(result, family), force)
    if as_json:
        print(json_text(result.to_dict()))
        return
    from .table import print_improve

    print_improve(result, family)
