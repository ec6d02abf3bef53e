"""`hotside limits` on the command line."""

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


def limits(
    case_file: CaseFile = None,
    changes: Changes = None,
    as_json: AsJson = False,
    units: Family = None,
    plot: Annotated[Path | None, typer.Option("--plot", metavar="FILE.png", help="the region, boost and spark")] = None,
    csv: Annotated[Path | None, typer.Option("--csv", metavar="FILE.csv", help="every point solved, in SI")] = None,
    report: Page = None,
    force: Force = False,
) -> None:
    """How far boost, spark and mixture can go, and which limit binds first."""
    from ...case import load

    case = changed(load(case_file), changes or [])
    family = unit_family(units, case.report.units)
    check_page(report, force)
    if plot is not None:
        from .plot import check_plot

        check_plot(plot, force)
    if csv is not None:
        from ...files import check_new

        check_new(csv, force)
    from .run import limits as find

    result = find(case, progress=progress)
    if csv is not None:
        from ...files import write_whole
        from .table import csv_text

        write_whole(csv, csv_text(result), force)
    if plot is not None:
        from .plot import write_plot

        write_plot(result, plot, family, force)
    if report is not None:
        from ..page import save_page
        from .plot import draw
        from .table import print_limits

        save_page(report, lambda console: print_limits(result, family, console), case, draw(result, family), force)
    if as_json:
        print(json_text(result.to_dict()))
        return
    from .table import print_limits

    print_limits(result, family)
