"""`hotside sweep` on the command line."""

from functools import partial
from pathlib import Path
from typing import Annotated

import typer

from ... import completing
from ...errors import CaseError
from ...options import AsJson, CaseFile, Changes, Family, Force, Page, opened, picture, progress, unit_family


def sweep(
    case_file: CaseFile = None,
    vary: Annotated[
        list[str] | None,
        typer.Option(
            "--vary",
            metavar="NAME=VALUES",
            help='"0:30:1 deg", "0.8, 1 bar" or names; repeat for more',
            autocompletion=completing.changes,
        ),
    ] = None,
    out: Annotated[Path | None, typer.Option("--out", metavar="FILE", help=".nc (netCDF) or .csv")] = None,
    resume: Annotated[bool, typer.Option("--resume", help="go on with an unfinished sweep kept beside --out")] = False,
    in_step: Annotated[
        bool, typer.Option("--zip", help="take the values in step instead of every combination")
    ] = False,
    samples: Annotated[
        int | None, typer.Option("--samples", metavar="N", help='draw N points; write "0.6:1.8 bar" for a stretch')
    ] = None,
    seed: Annotated[int, typer.Option("--seed", metavar="N", help="of the sample")] = 0,
    workers: Annotated[
        int | None, typer.Option("--workers", metavar="N", help="one for each core where left out")
    ] = None,
    processes: Annotated[
        bool | None,
        typer.Option("--processes/--threads", help="what workers are; processes from 1500 points on where left out"),
    ] = None,
    plot: Annotated[Path | None, picture("of one or two varied inputs")] = None,
    show: Annotated[
        list[str] | None, typer.Option("--show", metavar="RESULT", help="a result to plot; repeat for more")
    ] = None,
    changes: Changes = None,
    as_json: AsJson = False,
    units: Family = None,
    report: Page = None,
    force: Force = False,
) -> None:
    """The same as predict over a grid, a list or a sample of any inputs: a labelled dataset, and plots."""
    from ..output import Output
    from .design import GRID, SAMPLE, ZIP, design

    case, of_case = opened(case_file, changes, None)  # what is kept does not depend on the units of the print
    family = unit_family(units, of_case)
    if in_step and samples is not None:
        raise CaseError("--zip and --samples exclude each other.")
    how = SAMPLE if samples is not None else ZIP if in_step else GRID
    wishes = parted(vary or [])
    plan = design(wishes, how, samples, seed)
    if workers is not None and workers < 1:
        raise CaseError(f"--workers {workers} is not a whole number from 1.")
    from . import plot as pictures

    if plot is not None:
        pictures.check_design(plan)
    output = Output("map.png", plot, report, None, as_json, force)
    from .run import sweep as solve
    from .table import print_sweep

    found = solve(
        case, wishes, how=how, samples=samples, seed=seed, out=out, resume=resume, force=force, workers=workers,
        processes=processes, progress=progress,
    )  # fmt: skip
    drawn = partial(pictures.plot, found, show, family) if pictures.can_be_drawn(plan) else None
    output.give(case, found.to_dict, partial(print_sweep, found, plan, family), drawn)


def parted(wishes: list[str]) -> dict[str, str]:
    """NAME=VALUES of the command line by name; raises CaseError."""
    found: dict[str, str] = {}
    for wish in wishes:
        name, equals, text = (part.strip() for part in wish.partition("="))
        if not equals or not name or not text:
            raise CaseError(
                f'--vary {wish} is not NAME=VALUES; write for example --vary run.spark_advance="0:30:1 deg".'
            )
        if name in found:
            raise CaseError(f"--vary {name} is given twice; give all its values at once.")
        found[name] = text
    return found
