"""`hotside uncertainty` on the command line."""

from pathlib import Path
from typing import Annotated

import typer

from ...errors import CaseError
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
    trace_text,
    unit_family,
)

Samples = Annotated[int, typer.Option("--samples", metavar="N", help="points of the sample")]
Bands = Annotated[
    list[str] | None, typer.Option("--band", metavar="NAME=HALF_WIDTH", help="how far an input may lie off")
]
Data = Annotated[Path | None, typer.Option("--data", metavar="FILE.csv", help="write the sample, in SI")]
Picture = Annotated[Path | None, typer.Option("--plot", metavar="FILE.png", help="bands and what drives them")]


def uncertainty(
    case_file: CaseFile = None,
    changes: Changes = None,
    band: Bands = None,
    samples: Samples = 128,
    as_json: AsJson = False,
    units: Family = None,
    plot: Picture = None,
    data: Data = None,
    report: Page = None,
    force: Force = False,
) -> None:
    """Bands on every reading from what the inputs may be, and which input drives it."""
    from ...case import load

    case = changed(load(case_file), changes or [])
    family = unit_family(units, case.report.units)
    check_page(report, force)
    stated = {}
    for text in band or []:
        name, equals, width = (part.strip() for part in text.partition("="))
        if not equals or not name or not width:
            raise CaseError(f'--band {text} is not NAME=HALF_WIDTH; write for example --band turbine.a_over_r="3 %".')
        stated[name] = width.strip('"')
    if plot is not None:
        from .plot import check_plot

        check_plot(plot, force)
    if data is not None:
        from ...files import check_new

        check_new(data, force)
    from .run import uncertainty as study

    result = study(case, samples=samples, bands=stated, progress=progress)
    if plot is not None:
        from .plot import write_plot

        write_plot(result, plot, force)
    if data is not None:
        from ...files import write_whole

        write_whole(data, trace_text(result.data), force)
    if report is not None:
        from ..page import save_page
        from .plot import draw
        from .table import print_uncertainty

        save_page(report, lambda console: print_uncertainty(result, family, console), case, draw(result), force)
    if as_json:
        print(json_text(result.to_dict()))
        return
    from .table import print_uncertainty

    print_uncertainty(result, family)
