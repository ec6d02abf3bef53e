"""`hotside lookalikes` on the command line."""

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


def lookalikes(
    case_file: CaseFile = None,
    changes: Changes = None,
    probe: Annotated[int | None, typer.Option("--probe", metavar="N", help="number of the [[probe]]")] = None,
    as_json: AsJson = False,
    units: Family = None,
    plot: Annotated[
        Path | None, typer.Option("--plot", metavar="FILE.png", help="readings over mixture and spark")
    ] = None,
    report: Page = None,
    force: Force = False,
) -> None:
    """What one exhaust reading cannot tell: the mixtures and timings that give the same."""
    from ...case import load

    case = changed(load(case_file), changes or [])
    family = unit_family(units, case.report.units)
    check_page(report, force)
    if plot is not None:
        from .plot import check_plot

        check_plot(plot, force)
    from .run import lookalikes as find

    result = find(case, probe=probe, progress=progress)
    if plot is not None:
        from .plot import write_plot

        write_plot(result, plot, family, force)
    if report is not None:
        from ..page import save_page
        from .plot import draw
        from .table import print_lookalikes

        save_page(report, lambda console: print_lookalikes(result, family, console), case, draw(result, family), force)
    if as_json:
        print(json_text(result.to_dict()))
        return
    from .table import print_lookalikes

    print_lookalikes(result, family)
