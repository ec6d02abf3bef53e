"""A measured turbine curve from a CSV file: pressure ratio against corrected flow, the unit named in the heading."""

import csv
import io
from pathlib import Path
from typing import Any

from . import units
from .errors import CaseError

NAME = "turbine.curve"
LARGEST_FILE = 1_000_000  # [bytes]


def read_curve(path: Path) -> list[list[Any]]:
    """Rows [pressure ratio, "flow kg/s"] of a file headed `pressure_ratio, corrected_flow [lb/min]`; raises CaseError."""
    try:
        if path.is_file() and path.stat().st_size > LARGEST_FILE:
            raise CaseError(f"{NAME}: {path} is too large for a curve.")
        text = path.read_text(encoding="utf-8-sig")
    except (OSError, UnicodeDecodeError) as error:
        reason = getattr(error, "strerror", None) or "not a text file"
        raise CaseError(f'{NAME} = "{path}" cannot be read: {reason}.') from None
    lines = [line for line in text.splitlines() if line.strip() and not line.lstrip().startswith("#")]
    rows = list(csv.reader(io.StringIO("\n".join(lines)), skipinitialspace=True))
    unit = _unit(rows[0] if rows else [], path)
    return [_row(row, unit, number, path) for number, row in enumerate(rows[1:], 1)]


def _unit(heading: list[str], path: Path) -> str:
    """Unit of the flow column, from the heading."""
    cells = [cell.strip() for cell in heading]
    flow = cells[1] if len(cells) == 2 else ""
    if len(cells) == 2 and cells[0] == "pressure_ratio" and flow.startswith("corrected_flow [") and flow.endswith("]"):
        return flow[len("corrected_flow [") : -1]
    raise CaseError(
        f'{NAME}: {path} must be headed "pressure_ratio, corrected_flow [lb/min]", with the unit of its flow.'
    )


def _row(row: list[str], unit: str, number: int, path: Path) -> list[Any]:
    try:
        ratio, flow = (cell.strip() for cell in row)
        return [units.parse(ratio, "number"), units.exact(units.parse(f"{flow} {unit}", "mass_flow"), "mass_flow")]
    except ValueError as error:
        reason = str(error) if isinstance(error, units.UnitError) else "needs two numbers"
        raise CaseError(f"{NAME}: row {number} of {path} {reason}.") from None
