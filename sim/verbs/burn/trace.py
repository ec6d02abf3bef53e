"""A measured cylinder pressure from a CSV file: one cycle, several below one another, or several side by side."""

import csv
import itertools
import math
from collections.abc import Iterator
from pathlib import Path
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from ... import units
from ...errors import CaseError

Array = NDArray[np.float64]
LARGEST_FILE = 200_000_000  # [bytes]
OURS = {"crank_angle_deg": ("angle", 1.0), "cylinder_pressure_pa": ("pressure", 1.0)}  # headings of `predict --trace`
LIKE = '"crank_angle [deg], pressure [bar]"'
CYCLE = 720.0  # [deg]
LEAST = 20  # rows of a cycle


class Cycle(NamedTuple):
    """One cycle: crank angle, 0 at firing top dead centre, rising [deg], and absolute pressure [Pa]."""

    angle: Array
    pressure: Array


class Trace(NamedTuple):
    """What a file holds."""

    cycles: list[Cycle]
    left_out: int  # rows that are no numbers
    first_left_out: int | None  # its line in the file


def read_trace(path: Path) -> Trace:
    """The cycles in a file: pressure columns side by side, angles that begin again below one another; raises CaseError."""
    lines = [
        (n, line)
        for n, line in enumerate(_text(path).splitlines(), 1)
        if line.strip() and not line.lstrip().startswith("#")
    ]
    if not lines:
        raise CaseError(f"{path} is empty; a trace is headed {LIKE}.")
    delimiter = max(",;\t", key=lines[0][1].count)
    angle_at, pressure_at = _columns([cell.strip() for cell in _cells(lines[0][1], delimiter)], path)
    rows, bad = [], []
    for number, line in lines[1:]:
        try:
            cells = _cells(line, delimiter)
            row = [float(cells[k]) * factor for k, factor in [angle_at, *pressure_at]]
        except (ValueError, IndexError):
            row = [math.nan]
        if all(map(math.isfinite, row)):
            rows.append(row)
        else:
            bad.append(number)
    if len(rows) < LEAST:
        raise CaseError(f"{path} holds {len(rows)} rows of numbers under its heading; a trace needs some hundred.")
    cycles = list(_cycles(np.array(rows)))
    if not cycles or min(len(c.angle) for c in cycles) < LEAST:
        raise CaseError(
            f"{path} holds a cycle of fewer than {LEAST} rows: its crank angle has to rise from row to row."
        )
    return Trace(cycles, len(bad), bad[0] if bad else None)


def _text(path: Path) -> str:
    try:
        if path.is_file() and path.stat().st_size > LARGEST_FILE:
            raise CaseError(f"{path} is too large for a trace; average it to some hundred cycles first.")
        return path.read_text(encoding="utf-8-sig")
    except (OSError, UnicodeDecodeError) as error:
        raise CaseError(f"{path} cannot be read: {getattr(error, 'strerror', None) or 'not a text file'}.") from None


def _cells(line: str, delimiter: str) -> list[str]:
    return [cell for row in csv.reader([line], delimiter=delimiter) for cell in row]


def _columns(heading: list[str], path: Path) -> tuple[tuple[int, float], list[tuple[int, float]]]:
    """Place and factor to SI of the crank angle and of each pressure."""
    found: dict[str, list[tuple[int, float]]] = {"angle": [], "pressure": []}
    for k, cell in enumerate(heading):
        name, bracket, unit = cell.partition("[")
        if cell in OURS:
            kind, factor = OURS[cell]
        elif bracket and name.strip().startswith(("crank_angle", "pressure")):
            kind = "angle" if name.startswith("crank") else "pressure"
            try:
                factor = units.parse(f"1 {unit.rstrip('] ')}", kind)
            except units.UnitError as error:
                raise CaseError(f'{path}: the column "{cell}" {error}.') from None
        else:
            continue
        found[kind].append((k, factor))
    if len(found["angle"]) != 1 or not found["pressure"]:
        raise CaseError(
            f"{path} must be headed {LIKE}, a column of crank angle and one or more of pressure, each with its unit."
        )
    return found["angle"][0], found["pressure"]


def _cycles(rows: Array) -> Iterator[Cycle]:
    """Each cycle by itself, its angles brought between -360 and 360 deg.

    A column of angles begins a new cycle where it falls back, or runs on through many: those that are cut short are left.
    """
    angle = rows[:, 0]
    begins = [0, *(np.flatnonzero(np.diff(angle) < -0.25 * CYCLE) + 1), len(angle)]
    for a, b in itertools.pairwise(begins):
        part = rows[a:b]
        if np.ptp(part[:, 0]) <= 1.01 * CYCLE:
            yield from _wrapped(part)
            continue
        number = np.floor((part[:, 0] + 0.5 * CYCLE) / CYCLE)
        for one in np.unique(number):
            cycle = part[number == one]
            if np.ptp(cycle[:, 0]) > 0.9 * CYCLE:
                yield from _wrapped(cycle)


def _wrapped(rows: Array) -> Iterator[Cycle]:
    angle = (rows[:, 0] + 0.5 * CYCLE) % CYCLE - 0.5 * CYCLE
    order = np.argsort(angle, kind="stable")
    kept = order[np.concatenate(([True], np.diff(angle[order]) > 1e-6))]
    for k in range(1, rows.shape[1]):
        yield Cycle(angle[kept], rows[kept, k])
