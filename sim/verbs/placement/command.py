"""`hotside placement` on the command line."""

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


def placement(
    case_file: CaseFile = None,
    changes: Changes = None,
    probes: Annotated[
        int, typer.Option("--probes", metavar="N", help="how many exhaust probes there are to place")
    ] = 1,
    above: Annotated[
        str | None, typer.Option("--above", metavar="K", help='a hotter cylinder counts from here, "20 K"')
    ] = None,
    seed: Annotated[int, typer.Option("--seed", metavar="N", help="of the draws")] = 1,
    samples: Annotated[int, typer.Option("--samples", metavar="N", help="draws of all cylinders")] = 20_000,
    as_json: AsJson = False,
    units: Family = None,
    plot: Annotated[
        Path | None, typer.Option("--plot", metavar="FILE.png", help="the ranking, and how runners stray")
    ] = None,
    csv: Annotated[Path | None, typer.Option("--csv", metavar="FILE.csv", help="the whole ranking, in SI")] = None,
    report: Page = None,
    force: Force = False,
) -> None:
    """Which runners the probes and the tap belong in, and what each placement would miss."""
    from ...case import load

    case = changed(load(case_file), [*(changes or []), *([] if above is None else [f"spreads.above={above}"])])
    family = unit_family(units, case.report.units)
    check_page(report, force)
    if plot is not None:
        from ...pictures import check_picture

        check_picture(plot, force, "placement.png")
    if csv is not None:
        from ...files import check_new

        check_new(csv, force)
    from .run import placement as run

    result = run(case, probes=probes, seed=seed, samples=samples, progress=progress)
    if csv is not None:
        from ...files import write_whole
        from .table import csv_text

        write_whole(csv, csv_text(result), force)
    if plot is not None:
        from ...pictures import save_picture
        from .plot import draw

        save_picture(draw(result, family), plot)
    if report is not None:
        from ..page import save_page
        from .plot import draw
        from .table import print_placement

        save_page(report, lambda console: print_placement(result, family, console), case, draw(result, family), force)
    if as_json:
        print(json_text(result.to_dict()))
        return
    from .table import print_placement

    print_placement(result, family)
