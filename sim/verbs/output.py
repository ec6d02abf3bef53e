"""Where the result of any verb goes: print or JSON, and the files asked for. One way for all verbs.

A command makes an `Output` before anything is calculated, so that a file which cannot be written is refused at once, and hands
its result over afterwards.
"""

from collections.abc import Callable
from dataclasses import dataclass
from functools import partial
from pathlib import Path
from typing import Any

from ..case import Case
from ..files import check_new, write_whole
from ..options import json_text
from ..pictures import check_picture, save_picture
from ..report.page import check_report


@dataclass(frozen=True)
class Output:
    """What was asked for beside the print; `example` is a good name for the picture. Raises CaseError for a file it cannot write."""

    example: str
    plot: Path | None = None
    report: Path | None = None
    csv: Path | None = None
    as_json: bool = False
    force: bool = False

    def __post_init__(self) -> None:
        if self.plot is not None:
            check_picture(self.plot, self.force, self.example)
        if self.report is not None:
            check_report(self.report, self.force)
        if self.csv is not None:
            check_new(self.csv, self.force)

    def give(
        self,
        case: Case,
        values: Callable[[], dict[str, Any]],
        printed: Callable[..., None],
        drawn: Callable[[], Any] | None = None,
        csv: Callable[[], str] | None = None,
        page: Callable[[Path, bool], None] | None = None,
        beside: Callable[[], Any] | None = None,
    ) -> None:
        """Write the files, then print; raises CaseError.

        values : the result as JSON holds it
        printed : prints the result, to the console it is given or to the terminal
        drawn : the figure; None where this result has none
        csv : the table as text
        page : writes a page of the verb's own, in place of the one made from print, picture and JSON
        beside : a second figure for the page
        """
        if self.csv is not None and csv is not None:
            write_whole(self.csv, csv(), self.force)
        if self.plot is not None and drawn is not None:
            save_picture(drawn(), self.plot)
        if self.report is not None:
            shown = [figure for figure in (drawn, beside) if figure is not None]
            (page or partial(save, case=case, values=values, printed=printed, shown=shown))(self.report, self.force)
        if self.as_json:
            print(json_text(values()))
        else:
            printed()


def save(path: Path, force: bool, *, case: Case, values: Any, printed: Any, shown: list[Callable[[], Any]]) -> None:
    """Write the page that any verb has; raises CaseError."""
    from .page import save_page

    save_page(path, printed, case, values(), [draw() for draw in shown], force)
