"""Maps of compressor and turbine from a CSV file, and as tables of a case.

The layout is our own. Lines before the heading state the reference conditions; the heading names four columns in any order,
each with the unit of its numbers in brackets. Lines that begin with # are comments.

    reference_pressure, 100 kPa
    reference_temperature, 25 degC
    speed [rpm], corrected_flow [lb/min], pressure_ratio, efficiency [%]
    60000, 4.1, 1.21, 66
"""

import csv
import math
from pathlib import Path
from typing import Any

from . import units
from .errors import CaseError, Refused
from .schema import Reader, read_quantity

COLUMNS = {"speed": "rotation", "corrected_flow": "mass_flow", "pressure_ratio": "number", "efficiency": "fraction"}
BOUNDS = {  # column -> factor from SI, least, most, unit
    "speed": (30.0 / math.pi, 1e3, 5e5, "rpm"),
    "corrected_flow": (1.0, 1e-5, 5.0, "kg/s"),
    "pressure_ratio": (1.0, 1.001, 10.0, ""),
    "efficiency": (100.0, 1.0, 95.0, "%"),
}
PLAIN = ("number", "fraction")  # kinds without a unit in SI
REFERENCES = {"reference_pressure": "pressure_absolute", "reference_temperature": "temperature"}
LARGEST_FILE = 1_000_000  # [bytes]
MOST_POINTS = 2000
HEADING = "speed [rpm], corrected_flow [kg/s], pressure_ratio, efficiency [%]"
Map = tuple[float, float, tuple[tuple[float, float, float, float], ...]]  # reference T [K], p [Pa], points


def read_map(path: Path, name: str) -> dict[str, Any]:
    """A map's file as a table of a case: reference conditions and points with units; raises CaseError."""
    rows = _rows(path, name)
    table: dict[str, Any] = {}
    while rows and rows[0][1][0] in REFERENCES:
        _, cells = rows.pop(0)
        table[cells[0]] = ", ".join(cells[1:])
    for key in REFERENCES:
        if key not in table:
            raise CaseError(f'{name}: {path} does not state its {key}; write a line such as "{key}, {_like(key)}".')
    if not rows:
        raise CaseError(f'{name}: {path} has no heading; write for example "{HEADING}".')
    order = _heading(rows[0][1], path, name)
    table["points"] = [_point(cells, order, number, path, name) for number, cells in rows[1:]]
    try:
        READERS[name.split(".")[0]](table)
    except Refused as clause:
        raise CaseError(f"{name}: {path} {clause}.") from None
    return table


def _like(key: str) -> str:
    return "100 kPa" if key == "reference_pressure" else "25 degC"


def _rows(path: Path, name: str) -> list[tuple[int, list[str]]]:
    """Line numbers and cells of what is no comment."""
    try:
        if path.is_file() and path.stat().st_size > LARGEST_FILE:
            raise CaseError(f"{name}: {path} is too large for a map.")
        text = path.read_text(encoding="utf-8-sig")
    except (OSError, UnicodeDecodeError) as error:
        reason = getattr(error, "strerror", None) or "not a text file"
        raise CaseError(f'{name} = "{path}" cannot be read: {reason}.') from None
    kept = [
        (k, line) for k, line in enumerate(text.splitlines(), 1) if line.strip() and not line.lstrip().startswith("#")
    ]
    for mark, what in ((";", "semicolons"), ("\t", "tabs")):
        if kept and not any("," in line for _, line in kept) and any(mark in line for _, line in kept):
            raise CaseError(
                f"{name}: {path} separates its columns with {what}; write commas, and decimals with a point."
            )
    # line by line: a stray quotation mark would else swallow what follows
    return [
        (k, [cell.strip() for row in csv.reader([line], skipinitialspace=True) for cell in row]) for k, line in kept
    ]


def _heading(cells: list[str], path: Path, name: str) -> list[tuple[str, str]]:
    """Column and unit of each cell of a row."""
    found = []
    for cell in cells:
        column, _, unit = cell.partition("[")
        found.append((column.strip(), unit.rstrip("] ")))
    if sorted(column for column, _ in found) != sorted(COLUMNS):
        raise CaseError(f'{name}: {path} must be headed with four columns such as "{HEADING}".')
    return found


def _point(cells: list[str], order: list[tuple[str, str]], line: int, path: Path, name: str) -> list[Any]:
    """[speed, flow, ratio, efficiency] of one row, with units; raises CaseError naming the line."""
    if len(cells) > len(order):
        raise CaseError(
            f"{name}: line {line} of {path} holds {len(cells)} cells where {len(order)} belong; write decimals with a point."
        )
    try:
        values = {}
        for cell, (column, unit) in zip(cells, order, strict=True):
            kind = COLUMNS[column]
            value = units.parse(f"{cell} {unit}".strip(), kind)
            values[column] = value
    except ValueError as error:
        reason = str(error) if isinstance(error, units.UnitError) else "needs four numbers"
        raise CaseError(f"{name}: line {line} of {path} {reason}.") from None
    for column, value in values.items():
        if (wrong := outside(column, value)) is not None:
            raise CaseError(f"{name}: line {line} of {path} has {wrong}; leave the row out or mend it.")
    return [values[c] if kind in PLAIN else units.exact(values[c], kind) for c, kind in COLUMNS.items()]


def reader(build: Any) -> Reader:
    """A reader for a map's table; `build` tries whether the points make a map and raises ValueError with a clause."""

    def read(value: Any) -> Map:
        if not isinstance(value, dict) or set(value) != {*REFERENCES, "points"}:
            raise Refused(
                "is neither the name of a CSV file nor a table of reference_pressure, reference_temperature, points"
            )
        pressure, temperature = (_reference(key, value[key]) for key in REFERENCES)
        if not (5e4 <= pressure <= 2e5 and 250.0 <= temperature <= 1300.0):
            raise Refused("states a reference outside 50 to 200 kPa or 250 to 1300 K")
        rows = value["points"]
        if not isinstance(rows, list | tuple) or not 2 <= len(rows) <= MOST_POINTS:
            held = len(rows) if isinstance(rows, list | tuple) else "no"
            raise Refused(f"holds {held} points where 2 to {MOST_POINTS} are needed")
        found = (temperature, pressure, tuple(_checked(row, number) for number, row in enumerate(rows, 1)))
        try:
            build(found)
        except ValueError as error:
            raise Refused(f"is no map: {error}") from None
        return found

    return read


def _reference(key: str, text: Any) -> float:
    """A reference condition in SI; raises Refused naming it."""
    try:
        return read_quantity(REFERENCES[key], text)
    except Refused as error:
        raise Refused(f"states a {key} that {error}") from None


def outside(column: str, value: float) -> str | None:
    """A clause where a value in SI lies outside what a machine can do."""
    factor, low, high, unit = BOUNDS[column]
    shown = factor * value
    if low <= shown <= high:
        return None
    return (
        f"{column.replace('_', ' ')} of {shown:.4g} {unit}".rstrip() + f", outside {low:g} to {high:g} {unit}".rstrip()
    )


def _checked(row: Any, number: int) -> tuple[float, float, float, float]:
    """One point in SI, within what a machine can do; raises Refused naming it."""
    if not isinstance(row, list | tuple) or len(row) != len(COLUMNS):
        raise Refused(f"has a point {number} that is not [speed, corrected flow, pressure ratio, efficiency]")
    try:
        speed, flow, ratio, efficiency = (read_quantity(k, v) for k, v in zip(COLUMNS.values(), row, strict=True))
    except Refused as error:
        raise Refused(f"has a point {number} of which one value {error}") from None
    for column, value in zip(COLUMNS, (speed, flow, ratio, efficiency), strict=True):
        if (wrong := outside(column, value)) is not None:
            raise Refused(f"has a point {number} with {wrong}; leave the point out or mend it")
    return speed, flow, ratio, efficiency


def _try_compressor(found: Map) -> None:
    from ..models import compressor  # numpy and the compiler, which reading a name does not need

    compressor.from_points(found[2], found[0], found[1])


def _try_turbine(found: Map) -> None:
    from ..models import turbine

    turbine.map_lines(found[2])


compressor_map, turbine_map = reader(_try_compressor), reader(_try_turbine)
READERS = {"compressor": compressor_map, "turbine": turbine_map}
