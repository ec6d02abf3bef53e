"""What `hotside predict` writes beside its table: checked before anything is solved, written after."""

import shlex
from collections.abc import Callable, Iterator, Sequence
from pathlib import Path
from typing import Any

from ...case import Case
from ...prediction import Prediction

Writer = Callable[[Prediction, Case, str], None]


def writers(plot: Path | None, report: Path | None, force: bool, words: Sequence[str]) -> Iterator[Writer]:
    """A function for each file asked for; `words` is the command line. Raises CaseError where one cannot be written."""
    if plot is not None:
        from ...pictures import check_picture

        check_picture(plot, force, "cycle.png")
        yield lambda prediction, case, family: save_plot(plot, prediction, case, family)
    if report is not None:
        from ...report.page import check_report

        check_report(report, force)
        command = shlex.join(["hotside", *words[1:]])
        yield lambda prediction, case, family: save_report(report, prediction, case, family, command, force)


def save_plot(path: Path, prediction: Prediction, case: Case, family: str = "metric") -> None:
    """Draw a prediction made with `trace=True` and write the picture whole; raises CaseError."""
    from ...pictures import save_picture
    from .plot import draw

    save_picture(draw(prediction, case, family), path)


def save_report(
    path: Path, prediction: Prediction, case: Case, family: str = "metric", command: str = "", force: bool = False
) -> None:
    """Write the page of a prediction made with `trace=True`, step-up card included; raises CaseError."""
    from ...report.page import write_report
    from .report import lead, sections

    made: Any = sections(prediction, case, family, command or "hotside.sim.predict")
    write_report(path, case.title, lead(prediction, case, family), made, force)
