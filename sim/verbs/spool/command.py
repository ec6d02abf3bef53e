"""`hotside spool` on the command line."""

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


def spool(
    case_file: CaseFile = None,
    changes: Changes = None,
    gear: Annotated[bool, typer.Option("--gear", help="bring the vehicle of [vehicle] along")] = False,
    as_json: AsJson = False,
    units: Family = None,
    plot: Annotated[Path | None, typer.Option("--plot", metavar="FILE.png", help="boost against time")] = None,
    report: Page = None,
    force: Force = False,
) -> None:
    """Boost against time after a tip-in, at a held speed or in a gear; boost threshold."""
    from ...case import load

    case = changed(load(case_file), [*(changes or []), *(["spool.in_gear=true"] if gear else [])])
    family = unit_family(units, case.report.units)
    check_page(report, force)
    if plot is not None:
        from ...pictures import check_picture

        check_picture(plot, force, "spool.png")
    from .run import spool as run

    result = run(case, progress=progress)
    if plot is not None:
        from ...pictures import save_picture
        from .plot import draw

        save_picture(draw(result, family), plot)
    if report is not None:
        from ..page import save_page
        from .plot import draw
        from .table import print_spool

        save_page(report, lambda console: print_spool(result, family, console), case, draw(result, family), force)
    if as_json:
        print(json_text(result.to_dict()))
        return
    from .table import print_spool

    print_spool(result, family)
