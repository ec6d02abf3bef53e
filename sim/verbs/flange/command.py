"""`hotside flange` on the command line."""

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


def flange(
    case_file: CaseFile = None,
    changes: Changes = None,
    wall: Annotated[str | None, typer.Option("--wall", metavar="TEMPERATURE", help="wall, not predicted")] = None,
    as_json: AsJson = False,
    units: Family = None,
    plot: Annotated[Path | None, typer.Option("--plot", metavar="FILE.png", help="clamp against temperature")] = None,
    report: Page = None,
    force: Force = False,
) -> None:
    """Does the turbine flange stay clamped when hot: torque, preload, conical washers."""
    from ...case import load

    wishes = [*(changes or []), *([f"flange.wall_temperature={wall}"] if wall is not None else [])]
    case = changed(load(case_file), wishes)
    family = unit_family(units, case.report.units)
    check_page(report, force)
    if family != case.report.units:
        case = case.set("report.units", family)  # sentences are written where the joint is checked
    if plot is not None:
        from .plot import check_plot

        check_plot(plot, force)
    from .run import flange as check

    result = check(case, progress=progress)
    if plot is not None:
        from .plot import write_plot

        write_plot(result, plot, family, force)
    if report is not None:
        from ..page import save_page
        from .plot import draw
        from .table import print_flange

        save_page(report, lambda console: print_flange(result, family, console), case, draw(result, family), force)
    if as_json:
        print(json_text(result.to_dict()))
        return
    from .table import print_flange

    print_flange(result, family)
