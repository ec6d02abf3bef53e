"""`hotside uncertainty` on the command line."""

from functools import partial
from pathlib import Path
from typing import Annotated

import typer

from ...errors import CaseError
from ...options import AsJson, CaseFile, Changes, Family, Force, Page, opened, picture, progress, trace_text

Samples = Annotated[int, typer.Option("--samples", metavar="N", help="points of the sample")]
Bands = Annotated[
    list[str] | None, typer.Option("--band", metavar="NAME=HALF_WIDTH", help="how far an input may lie off")
]
Data = Annotated[Path | None, typer.Option("--data", metavar="FILE.csv", help="write the sample, in SI")]


def uncertainty(
    case_file: CaseFile = None,
    changes: Changes = None,
    band: Bands = None,
    samples: Samples = 128,
    as_json: AsJson = False,
    units: Family = None,
    plot: Annotated[Path | None, picture("bands and what drives them")] = None,
    data: Data = None,
    report: Page = None,
    force: Force = False,
) -> None:
    """Bands on every reading from what the inputs may be, and which input drives it."""
    from ..output import Output

    case, family = opened(case_file, changes, units)
    bands = stated(band or [])
    output = Output("bands.png", plot, report, data, as_json, force)
    from .plot import draw
    from .run import uncertainty as study
    from .table import print_uncertainty

    result = study(case, samples=samples, bands=bands, progress=progress)
    output.give(
        case, result.to_dict, partial(print_uncertainty, result, family), partial(draw, result, family),
        lambda: trace_text(result.data),
    )  # fmt: skip


def stated(bands: list[str]) -> dict[str, str]:
    """NAME=HALF_WIDTH of the command line by name; raises CaseError."""
    found = {}
    for text in bands:
        name, equals, width = (part.strip() for part in text.partition("="))
        if not equals or not name or not width:
            raise CaseError(f'--band {text} is not NAME=HALF_WIDTH; write for example --band turbine.a_over_r="3 %".')
        found[name] = width.strip('"')
    return found
