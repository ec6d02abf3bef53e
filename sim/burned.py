"""A burned fraction against crank angle from a CSV file; what `hotside burn --write` writes is read back."""

import csv
from pathlib import Path

from .errors import CaseError

NAME = "burn.table"
ANGLE, FRACTION = (
    ("crank_angle_deg", "crank_angle [deg]"),
    ("burned_fraction",),
)  # headings; other columns are passed over
LARGEST_FILE = 2_000_000  # [bytes]


def read_burned(path: Path) -> list[list[str | float]]:
    """Rows ["angle deg", fraction] of a file headed `crank_angle_deg, burned_fraction`; raises CaseError."""
    try:
        if path.is_file() and path.stat().st_size > LARGEST_FILE:
            raise CaseError(f"{NAME}: {path} is too large for a burn.")
        text = path.read_text(encoding="utf-8-sig")
    except (OSError, UnicodeDecodeError) as error:
        reason = getattr(error, "strerror", None) or "not a text file"
        raise CaseError(f'{NAME} = "{path}" cannot be read: {reason}.') from None
    lines = [line for line in text.splitlines() if line.strip() and not line.lstrip().startswith("#")]
    # line by line: a stray quotation mark would else swallow what follows
    rows = [[cell.strip() for cell in next(csv.reader([line], skipinitialspace=True))] for line in lines]
    columns = [_column(rows[0] if rows else [], names, path) for names in (ANGLE, FRACTION)]
    return [_row(row, columns, number, path) for number, row in enumerate(rows[1:], 1)]


def _column(heading: list[str], names: tuple[str, ...], path: Path) -> int:
    for name in names:
        if name in heading:
            return heading.index(name)
    raise CaseError(f'{NAME}: {path} must be headed with "{ANGLE[0]}, {FRACTION[0]}".')


def _row(row: list[str], columns: list[int], number: int, path: Path) -> list[str | float]:
    try:
        angle, fraction = (float(row[k]) for k in columns)
        return [f"{angle!r} deg", fraction]
    except (ValueError, IndexError):
        raise CaseError(f"{NAME}: row {number} of {path} needs two numbers.") from None
