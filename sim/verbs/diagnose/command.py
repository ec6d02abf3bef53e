"""`hotside diagnose` on the command line."""

from pathlib import Path
from typing import Annotated

import typer

from ...errors import CaseError
from ...options import AsJson, Changes, Family, Force, Page, changed, check_page, json_text, progress, unit_family

CaseArgument = Annotated[Path, typer.Argument(metavar="CASE.toml", help="case file")]
LogArgument = Annotated[Path | None, typer.Argument(metavar="LOG.csv", help="log with a heading")]
Readings = Annotated[
    str | None, typer.Option("--read", metavar="READINGS", help='"speed=6500 rpm, boost=1.4 bar, ..."')
]
Wanted = Annotated[str | None, typer.Option("--fit", metavar="NAMES", help="inputs to fit, separated by commas")]
Out = Annotated[Path | None, typer.Option("--write", metavar="FITTED.toml", help="write the fitted case")]
Picture = Annotated[Path | None, typer.Option("--plot", metavar="FILE.png", help="measured against predicted")]


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
    from ...case import load
    from ...files import check_new
    from .plot import check_plot

    case = changed(load(case_file), changes or [])
    case = case.set("report.units", unit_family(units, case.report.units))
    if (log is None) == (read is None):
        raise CaseError(
            'diagnose takes a log or --read "speed=6500 rpm, boost=1.4 bar, backpressure=2.2 bar", one of the two.'
        )
    check_page(report, force)
    if write is not None:
        check_new(write, force)
    if plot is not None:
        check_plot(plot, force)
    if log is not None:
        _log(case, log, fit, write, plot, as_json, report, force)
        return
    unused = [name for name, value in (("--fit", fit), ("--write", write), ("--plot", plot)) if value is not None]
    if unused:
        raise CaseError(f"{unused[0]} needs a log; a few readings rank explanations and fit nothing.")
    from .few import diagnose_readings

    told = diagnose_readings(case, str(read), progress=progress)
    if report is not None:
        from ..page import save_page
        from .few_table import print_readings

        save_page(report, lambda console: print_readings(told, console), case, None, force)
    if as_json:
        print(json_text(told.to_dict()))
        return
    from .few_table import print_readings

    print_readings(told)


def _log(case, log, fit, write, plot, as_json, report, force) -> None:  # type: ignore[no-untyped-def]
    from .run import diagnose as run

    wanted = [n.strip() for n in fit.split(",") if n.strip()] if fit else None
    found = run(case, log, wanted=wanted, progress=progress)
    if write is not None:
        from .fitted import write_fitted

        write_fitted(found, write, force)
    if plot is not None:
        from .plot import write_plot

        write_plot(found, plot, force)
    if report is not None:
        from ..page import save_page
        from .plot import draw
        from .table import print_diagnosis

        save_page(report, lambda console: print_diagnosis(found, console), case, draw(found), force)
    if as_json:
        print(json_text(found.to_dict()))
        return
    from .table import print_diagnosis

    print_diagnosis(found)
