"""`hotside placement` on the command line."""

from functools import partial
from pathlib import Path
from typing import Annotated

import typer

from ...options import AsJson, CaseFile, Changes, Family, Force, Page, opened, picture, progress


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
    plot: Annotated[Path | None, picture("the ranking, and how runners stray")] = None,
    csv: Annotated[Path | None, typer.Option("--csv", metavar="FILE.csv", help="the whole ranking, in SI")] = None,
    report: Page = None,
    force: Force = False,
) -> None:
    """Which runners the probes and the tap belong in, and what each placement would miss."""
    from ..output import Output

    wishes = [*(changes or []), *([] if above is None else [f"spreads.above={above}"])]
    case, family = opened(case_file, wishes, units)
    output = Output("placement.png", plot, report, csv, as_json, force)
    from .plot import draw
    from .run import placement as run
    from .table import csv_text, print_placement

    result = run(case, probes=probes, seed=seed, samples=samples, progress=progress)
    output.give(
        case,
        result.to_dict,
        partial(print_placement, result, family),
        partial(draw, result, family),
        partial(csv_text, result),
    )
