"""`hotside sweep` on the command line."""

from pathlib import Path
from typing import Annotated

import typer

from ...errors import CaseError
from ...options import AsJson, CaseFile, Changes, Family, Force, changed, json_text, progress, unit_family


def sweep(
    case_file: CaseFile = None,
    vary: Annotated[
        list[str] | None,
        typer.Option("--vary", metavar="NAME=VALUES", help='"0:30:1 deg", "0.8 bar, 1 bar" or names; repeat for more'),
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
    processes: Annotated[bool, typer.Option("--processes", help="workers are processes instead of threads")] = False,
    plot: Annotated[Path | None, typer.Option("--plot", metavar="FILE.png", help="of one or two varied inputs")] = None,
    show: Annotated[
        list[str] | None, typer.Option("--show", metavar="RESULT", help="a result to plot; repeat for more")
    ] = None,
    changes: Changes = None,
    as_json: AsJson = False,
    units: Family = None,
    force: Force = False,
) -> None:
    """The same as predict over a grid, a list or a sample of any inputs: a labelled dataset, and plots."""
    from ...case import load
    from .design import GRID, SAMPLE, ZIP, design

    case = changed(load(case_file), changes or [])
    family = unit_family(units, case.report.units)
    if in_step and samples is not None:
        raise CaseError("--zip and --samples exclude each other.")
    how = SAMPLE if samples is not None else ZIP if in_step else GRID
    wishes = parted(vary or [])
    plan = design(wishes, how, samples, seed)
    if workers is not None and workers < 1:
        raise CaseError(f"--workers {workers} is not a whole number from 1.")
    if plot is not None:
        from .plot import check_plot

        check_plot(plot, plan, force)
    from .run import sweep as solve

    found = solve(
        case, wishes, how=how, samples=samples, seed=seed, out=out, resume=resume, force=force, workers=workers,
        processes=processes, progress=progress,
    )  # fmt: skip
    if plot is not None:
        from .plot import write_plot

        write_plot(found, plot, family, show, force)
    if as_json:
        print(json_text(found.to_dict()))
        return
    from .table import print_sweep

    print_sweep(found, plan, family)


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
