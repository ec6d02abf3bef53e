"""Every check against the outside goes through `published`, which keeps a row for the table and then asserts.

Three kinds are counted apart: a figure that was published (printed, measured, remembered from print), a figure computed
apart from us (another library, other data, a closed form), and a guard of a copy: our own formula written out again,
which proves a copy and nothing about the world.
"""

import csv
import os
from collections import Counter
from collections.abc import Callable
from dataclasses import asdict, dataclass
from pathlib import Path

import pytest

MARKS = {"R", "R-abs", "R+C", "C", "M-high", "M-med", "M-low", "M+C", "common practice"}
PUBLISHED, APART, GUARD = "published", "computed apart", "guard"
KINDS = (PUBLISHED, APART, GUARD)
TABLE = Path(__file__).with_name("table.csv")


@dataclass(frozen=True)
class Row:
    """One value found beside the value published."""

    subject: str
    name: str
    found: float
    value: float
    error: float
    tolerance_kind: str
    tolerance: float
    unit: str
    source: str
    mark: str
    kind: str

    @property
    def holds(self) -> bool:
        return abs(self.error) <= self.tolerance


ROWS: list[Row] = []


@pytest.fixture
def published(request: pytest.FixtureRequest) -> Callable[..., None]:
    """Check `found` against `value` within `tol` = ("rel" or "abs", size); `source` and `mark` say whence.

    guard : the value is our own formula written out again: kept, counted apart, no evidence
    """
    subject = request.path.stem.removeprefix("test_")

    def check(
        name: str,
        *,
        found: float,
        value: float,
        tol: tuple[str, float],
        unit: str,
        source: str,
        mark: str,
        guard: bool = False,
    ) -> None:
        way, size = tol
        assert way in ("rel", "abs"), f"tolerance kind of {name}"
        assert mark in MARKS, f"honesty mark of {name}"
        error = float(found) - float(value)
        error = error / abs(value) if way == "rel" else error
        kind = GUARD if guard else APART if mark == "C" else PUBLISHED
        row = Row(subject, name, float(found), float(value), error, way, size, unit, source, mark, kind)
        ROWS.append(row)
        assert row.holds, f"{name}: found {found:.6g} {unit}, published {value:.6g}, error {row.error:+.3g} > {size:g}"

    return check


def printed(row: Row) -> str:
    """A row as one line."""
    error = f"{row.error:+.2%}" if row.tolerance_kind == "rel" else f"{row.error:+.3g} {row.unit}"
    return (
        f"{'ok  ' if row.holds else 'FAIL'} {row.name}: found {row.found:.6g}, {row.kind} {row.value:.6g} {row.unit}, "
        f"error {error} (allowed {row.tolerance:g} {row.tolerance_kind}) [{row.mark}] {row.source}"
    )


def pytest_terminal_summary(terminalreporter: pytest.TerminalReporter) -> None:
    """Print the table of value found, value published, error and source; keep it where PUBLISHED_TABLE names a file."""
    if not ROWS:
        return
    line = terminalreporter.write_line
    terminalreporter.section("checks against published values")
    for row in ROWS:
        line(printed(row))
    hold, all_ = (Counter(r.kind for r in rows) for rows in ([r for r in ROWS if r.holds], ROWS))
    for kind in KINDS:
        line(f"{hold[kind]} of {all_[kind]} hold: {kind}")
    path = os.environ.get("PUBLISHED_TABLE")
    if path:
        keep(Path(path))
    elif stale():
        line("tests/published/table.csv lacks checks that ran now: run python tests/test_readme.py")


def keep(path: Path) -> None:
    """Write the rows as a table, figures short, so that it changes where a result does."""
    with path.open("w", newline="") as file:
        writer = csv.writer(file, lineterminator="\n")
        writer.writerow([*asdict(ROWS[0]), "holds"])
        for row in ROWS:
            short = (f"{v:.4g}" if isinstance(v, float) else v for v in asdict(row).values())
            writer.writerow([*short, "yes" if row.holds else "no"])


def stale() -> bool:
    """Whether checks ran that the kept table does not know."""
    known = {row["name"] for row in csv.DictReader(TABLE.open())} if TABLE.exists() else set()
    return not {row.name for row in ROWS} <= known
