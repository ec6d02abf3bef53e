"""Every check against the outside goes through `published`, which keeps a row for the table and then asserts."""

from collections.abc import Callable
from dataclasses import dataclass

import pytest

MARKS = {"R", "R-abs", "R+C", "C", "M-high", "M-med", "M-low", "M+C", "common practice"}


@dataclass(frozen=True)
class Row:
    """One value found beside the value published."""

    name: str
    found: float
    value: float
    error: float
    kind: str
    tolerance: float
    unit: str
    source: str
    mark: str

    @property
    def holds(self) -> bool:
        return abs(self.error) <= self.tolerance


ROWS: list[Row] = []


@pytest.fixture
def published() -> Callable[..., None]:
    """Check `found` against `value` within `tol` = ("rel" or "abs", size); `source` and `mark` say whence."""

    def check(
        name: str, *, found: float, value: float, tol: tuple[str, float], unit: str, source: str, mark: str
    ) -> None:
        kind, size = tol
        assert kind in ("rel", "abs"), f"tolerance kind of {name}"
        assert mark in MARKS, f"honesty mark of {name}"
        error = float(found) - value
        row = Row(
            name,
            float(found),
            value,
            error / abs(value) if kind == "rel" else error,
            kind,
            size,
            unit,
            source,
            mark,
        )
        ROWS.append(row)
        assert row.holds, f"{name}: found {found:.6g} {unit}, published {value:.6g}, error {row.error:+.3g} > {size:g}"

    return check


def pytest_terminal_summary(terminalreporter: pytest.TerminalReporter) -> None:
    """Print the table of value found, value published, error and source."""
    if not ROWS:
        return
    line = terminalreporter.write_line
    terminalreporter.section("checks against published values")
    for row in ROWS:
        error = f"{row.error:+.2%}" if row.kind == "rel" else f"{row.error:+.3g} {row.unit}"
        line(
            f"{'ok  ' if row.holds else 'FAIL'} {row.name}: found {row.found:.6g}, published {row.value:.6g} {row.unit}, "
            f"error {error} (allowed {row.tolerance:g} {row.kind}) [{row.mark}] {row.source}"
        )
    line(f"{sum(r.holds for r in ROWS)} of {len(ROWS)} published checks hold")
