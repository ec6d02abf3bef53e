"""`hotside compare` on the command line."""

from pathlib import Path
from typing import Annotated

import typer

from ...options import AsJson, CaseFile, Changes, Family, Force, changed, json_text, progress, unit_family


def compare(
    case_file: CaseFile = None,
    choices: Annotated[
        list[str] | None,
        typer.Option("--with", metavar="FILE.toml|NAME=VALUE", help="what changes; repeat for more rivals"),
    ] = None,
    changes: Changes = None,
    runaway: Annotated[bool, typer.Option("--runaway", help="raise the boost until it runs away")] = False,
    spool: Annotated[bool, typer.Option("--spool/--no-spool", help="march the tip-in and find the threshold")] = True,
    as_json: AsJson = False,
    units: Family = None,
    plot: Annotated[
        Path | None,
        typer.Option("--plot", metavar="FILE.png", help="along full load; with --runaway against boost too"),
    ] = None,
    force: Force = False,
) -> None:
    """Two or more turbines, or any other choice, side by side."""
    if plot is not None:
        from ...pictures import check_picture

        check_picture(plot, force, "rivals.png")
    from ...case import load
    from .rivals import rivals

    case = changed(load(case_file), changes or [])
    family = unit_family(units, case.report.units)
    found = rivals(case, choices or [])
    from .run import compare as run

    result = run(found, runaway=runaway, spool_too=spool, progress=progress)
    if plot is not None:
        from ...pictures import save_picture
        from .plot import draw

        save_picture(draw(result, family), plot)
    if as_json:
        print(json_text(result.to_dict()))
        return
    from .table import print_compare

    print_compare(result, family)
