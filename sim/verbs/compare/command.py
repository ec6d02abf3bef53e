"""`hotside compare` on the command line."""

from typing import Annotated

import typer

from ...options import AsJson, CaseFile, Changes, Family, changed, json_text, progress, unit_family


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
) -> None:
    """Two or more turbines, or any other choice, side by side."""
    from ...case import load
    from .rivals import rivals

    case = changed(load(case_file), changes or [])
    family = unit_family(units, case.report.units)
    found = rivals(case, choices or [])
    from .run import compare as run

    result = run(found, runaway=runaway, spool_too=spool, progress=progress)
    if as_json:
        print(json_text(result.to_dict()))
        return
    from .table import print_compare

    print_compare(result, family)
