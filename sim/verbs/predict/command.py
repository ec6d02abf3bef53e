"""`hotside predict` on the command line."""

import shlex
import sys
from functools import partial
from pathlib import Path
from typing import Annotated

import typer

from ...errors import CaseError
from ...options import AsJson, CaseFile, Changes, Family, Force, Trace, opened, picture, progress, trace_text

TOGETHER = '--csv, --freer-pipe and --operating-line go with --speed; write for example --speed "2500:7000:250 rpm".'


def predict(
    case_file: CaseFile = None,
    changes: Changes = None,
    as_json: AsJson = False,
    units: Family = None,
    trace: Trace = None,
    plot: Annotated[Path | None, picture("the cycle against crank angle; with --speed the curves")] = None,
    report: Annotated[
        Path | None, typer.Option("--report", metavar="FILE.html", help="everything as one page, with the step-up card")
    ] = None,
    parts: Annotated[bool, typer.Option("--parts", help="print what materials stand on the hot side")] = False,
    speed: Annotated[
        str | None, typer.Option("--speed", metavar="RANGE", help='full load along speeds, "2500:7000:250 rpm"')
    ] = None,
    csv: Annotated[
        Path | None, typer.Option("--csv", metavar="FILE.csv", help="with --speed: a row a speed, SI")
    ] = None,
    freer_pipe: Annotated[
        bool, typer.Option("--freer-pipe", help="with --speed: also without loss after the turbine")
    ] = False,
    operating_line: Annotated[
        Path | None,
        typer.Option(
            "--operating-line", metavar="FILE.png", help="with --speed: the compressor's map, full load in it"
        ),
    ] = None,
    force: Force = False,
) -> None:
    """What every gauge reads at one operating point, or along engine speeds, with margins."""
    from ..output import Output

    case, family = opened(case_file, changes, units)
    if speed is None and (csv is not None or freer_pipe or operating_line is not None):
        raise CaseError(TOGETHER)
    if speed is not None and trace is not None:
        raise CaseError("--trace is of one operating point; leave it or --speed out.")
    output = Output("cycle.png" if speed is None else "curve.png", plot, report, csv or trace, as_json, force)
    if speed is not None:
        from ..curve.command import along_speed

        along_speed(case, speed, family, output, operating_line, freer_pipe)
        return
    from ...steady import predict as solve
    from ...table_print import print_prediction
    from .band import banded
    from .plot import draw

    def page(path: Path, force: bool) -> None:
        from .report import save_report  # what it loads would be felt where no page is asked for

        save_report(p, case, family, shlex.join(["hotside", *sys.argv[1:]]), path, force)

    p = banded(case, solve(case, trace=any((plot, report, trace)), progress=progress))
    output.give(
        case, p.to_dict, lambda: print_prediction(p.to_dict(), case, family, materials=parts), partial(draw, p, case, family),
        lambda: trace_text(p.trace), page,
    )  # fmt: skip
