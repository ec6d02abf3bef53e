"""`hotside diagnose` on the command line."""

from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from ...errors import CaseError
from ...options import AsJson, Changes, Family, Force, Page, opened, picture, progress

if TYPE_CHECKING:
    from ...case import Case
    from ..output import Output

CaseArgument = Annotated[Path, typer.Argument(metavar="CASE.toml", help="case file")]
LogArgument = Annotated[Path | None, typer.Argument(metavar="LOG.csv", help="log with a heading")]
Readings = Annotated[
    str | None, typer.Option("--read", metavar="READINGS", help='"speed=6500 rpm, boost=1.4 bar, ..."')
]
Wanted = Annotated[str | None, typer.Option("--fit", metavar="NAMES", help="inputs to fit, separated by commas")]
Out = Annotated[Path | None, typer.Option("--write", metavar="FITTED.toml", help="write the fitted case")]
Picture = Annotated[Path | None, picture("measured against predicted")]


def diagnose(
    case_file: CaseArgument,
    log: LogArgument = None,
    read: Readings = None,
    fit: Wanted = None,
    changes: Changes = None,
    write: Out = None,
    plot: Picture = None,
    units: Family = None,
    as_json: AsJson = False,
    report: Page = None,
    force: Force = False,
) -> None:
    """What a log, or a few readings, mean: the case fitted to them, and how sure it is."""
    from ...files import check_new
    from ..output import Output

    case, family = opened(case_file, changes, units)
    case = case.set("report.units", family)
    if (log is None) == (read is None):
        raise CaseError(
            'diagnose takes a log or --read "speed=6500 rpm, boost=1.4 bar, backpressure=2.2 bar", one of the two.'
        )
    unused = [name for name, value in (("--fit", fit), ("--write", write)) if value is not None and log is None]
    if unused:
        raise CaseError(f"{unused[0]} needs a log; a few readings rank explanations and fit nothing.")
    output = Output("fit.png", plot, report, None, as_json, force)
    if write is not None:
        check_new(write, force)
    if log is not None:
        _log(case, log, fit, write, output)
    else:
        _read(case, str(read), output)


def _read(case: "Case", readings: str, output: "Output") -> None:
    from .few import diagnose_readings
    from .few_plot import draw
    from .few_table import print_readings

    told = diagnose_readings(case, readings, progress=progress)
    output.give(case, told.to_dict, partial(print_readings, told), partial(draw, told))


def _log(case: "Case", log: Path, fit: str | None, write: Path | None, output: "Output") -> None:
    from .fitted import write_fitted
    from .plot import draw
    from .run import diagnose as run
    from .table import print_diagnosis

    wanted = [n.strip() for n in fit.split(",") if n.strip()] if fit else None
    found = run(case, log, wanted=wanted, progress=progress)
    if write is not None:
        write_fitted(found, write, output.force)
    output.give(case, found.to_dict, partial(print_diagnosis, found), partial(draw, found))
