"""Cases that differ from one another in a few inputs, made quickly: what they share is read and noted once."""

from collections.abc import Mapping, Sequence
from typing import Any

from . import dotted
from .case import Case, checked, finished, with_turbo
from .errors import CaseError
from .guesses import notes
from .standins import RUNNING, fill


class Variants:
    """Makes variants of a case, each equal to `case.set_all(values)`; only tables that changed are read again.

    What does not count in a comparison of cases, the lists of guesses and of unread inputs, is that of the first variant
    in which the same names were changed.
    """

    def __init__(self, case: Case) -> None:
        self.raw = dict(case.raw)
        tables = with_turbo(self.raw)
        sections = checked(tables)
        self.read = {key: getattr(sections, key) for key in tables}
        self.notes: dict[tuple[str, ...], tuple[dict[str, str], tuple[str, ...]]] = {}
        self.filled = fill(sections)

    def make(self, values: Mapping[str, Any]) -> Case:
        """The case with inputs changed, each written as in a case file; raises CaseError."""
        raw = dotted.changed(self.raw, values)
        # a table that only the variant writes is another than the one that stands in for none
        same = {key for key in self.read if (raw.get(key) is self.raw[key] if key in self.raw else key not in raw)}
        tables = with_turbo(raw)
        sections = checked({key: self.read[key] if key in same else table for key, table in tables.items()})
        names = tuple(values)
        if names not in self.notes:
            self.notes[names] = notes(sections)
        changed = (tables.keys() | self.read.keys()) - same
        hardware = self.filled if changed <= RUNNING else None
        return finished(sections, raw, self.notes[names], fill(sections, hardware))

    def first(self, rows: Sequence[Mapping[str, Any]]) -> Case:
        """The first row that makes a case; raises the CaseError of the first row where none does."""
        complaint: CaseError | None = None
        for row in rows:
            try:
                return self.make(row)
            except CaseError as error:
                complaint = complaint or error
        raise complaint or CaseError("no point is asked for.")
