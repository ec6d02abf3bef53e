"""`hotside pull` on the command line."""

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
    trace_text,
    unit_family,
)


def pull(
    case_file: CaseFile = None,
    changes: Changes = None,
    as_json: AsJson = False,
    units: Family = None,
    csv: Annotated[
        Path | None, typer.Option("--csv", metavar="FILE.csv", help="write every speed as a table, SI")
    ] = None,
    plot: Annotated[
        Path | None, typer.Option("--plot", metavar="FILE.png", help="needles against engine speed")
    ] = None,
    report: Page = None,
    force: Force = False,
) -> None:
    """What each needle shows through a pull in a gear or a dyno ramp, lag included."""
    from ...case import load

    case = changed(load(case_file), changes or [])
    family = unit_family(units, case.report.units)
    check_page(report, force)
    if plot is not None:
        from ...pictures import check_picture

        check_picture(plot, force, "pull.png")
    if csv is not None:
        from ...files import check_new

        check_new(csv, force)
    from .run import furnished
    from .run import pull as run

    case = furnished(case)
    result = run(case, progress=progress)
    if csv is not None:
        from ...files import write_whole

        write_whole(csv, trace_text(result.columns()), force)
    if plot is not None:
        from ...pictures import save_picture
        from .plot import draw

        save_picture(draw(result, family), plot)
    if report is not None:
        from ..page import save_page
        from .plot import draw
        from .table import print_pull

        save_page(report, lambda console: print_pull(result, case, family, console), case, draw(result, family), force)
    if as_json:
        print(json_text(result.to_dict()))
        return
    from .table import print_pull

    print_pull(result, case, family)
