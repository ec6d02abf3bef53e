"""A log file as a table of texts: delimiter, heading, rows with too few or too many fields."""

import csv
import io
from pathlib import Path
from statistics import mode
from typing import Any, NamedTuple

from ...errors import CaseError

DELIMITERS = {",": "comma", ";": "semicolon", "\t": "tab", "|": "bar"}
LARGEST = 500_000_000  # [bytes]
LOOKED_AT = 200  # lines
APART = "\x1f"  # unit separator of ASCII


class Sheet(NamedTuple):
    """The cells of a log as texts, and where each row stood in the file."""

    cells: Any  # pandas DataFrame of texts, columns by heading
    units: dict[str, str]  # by heading, from a row of units below it
    lines: Any  # number of each row's line in the file, from 1
    ragged: list[int]  # lines with too few or too many fields, left out
    twice: list[str]  # headings that more than one column has


def read_sheet(path: Path) -> Sheet:
    """Read a CSV file with a heading; raises CaseError in one sentence for what is none."""
    lines = _text(path).splitlines()
    rows = [(n, line) for n, line in enumerate(lines, 1) if line.strip() and not line.lstrip().startswith("#")]
    if len(rows) < 2:
        raise CaseError(f"{path.name} holds {len(rows)} lines; a log has a heading and rows below it.")
    mark = _delimiter([line for _, line in rows[:LOOKED_AT]], path.name)
    rows = _from_heading(rows, mark)
    if len(rows) < 2:
        raise CaseError(f"{path.name} has no rows below its heading, which is line {rows[0][0]}.")
    names = _names(rows[0][1], mark)
    cut = [(n, _cut(line, mark)) for n, line in rows[1:]]
    body = [(n, line) for n, line in cut if line.count(APART) == len(names) - 1]
    ragged = [n for n, line in cut if line.count(APART) != len(names) - 1]
    if not body:
        raise CaseError(_no_rows(path.name, mark, len(names), rows))
    units: dict[str, str] = {}
    first = [cell.strip() for cell in body[0][1].split(APART)]
    if len(body) > 1 and not any(_numeric(cell) for cell in first) and any(first):
        units, body = dict(zip(names, first, strict=True)), body[1:]
    import pandas

    cells = pandas.read_csv(
        io.StringIO("\n".join(line for _, line in body)), sep=APART, header=None, names=names, dtype=str,
        keep_default_na=False, engine="c", index_col=False, quoting=csv.QUOTE_NONE,
    )  # fmt: skip
    headings = _fields(rows[0][1], mark)
    twice = [h for h in dict.fromkeys(headings) if h and headings.count(h) > 1]
    return Sheet(cells, units, [n for n, _ in body], ragged, twice)


def _text(path: Path) -> str:
    try:
        if path.is_dir():
            raise CaseError(f"{path} is a directory; name a log file such as pulls.csv.")
        if path.stat().st_size > LARGEST:
            raise CaseError(f"{path} is {path.stat().st_size / 1e6:.0f} MB; cut the log to the pulls that matter.")
        data = path.read_bytes()
    except OSError as error:
        raise CaseError(f"{path} cannot be read: {error.strerror or error}.") from None
    if data[:2] in (b"\xff\xfe", b"\xfe\xff"):
        return data.decode("utf-16", errors="replace")
    if b"\0" in data[:4096]:
        raise CaseError(f"{path.name} is not a text file; export the log as CSV.")
    try:
        return data.decode("utf-8-sig")
    except UnicodeDecodeError:
        return data.decode("latin-1")


def _delimiter(lines: list[str], name: str) -> str:
    """The delimiter that cuts most lines into equally many fields."""
    best, found = (0, 0.0), ""
    for mark in DELIMITERS:
        counts = [line.count(mark) for line in lines]
        usual = mode(sorted(counts, reverse=True))
        share = counts.count(usual) / len(counts)
        # a decimal comma also cuts evenly; the heading tells, since names hold none
        score = (int(usual > 0 and max(line.count(mark) for line in lines[:5]) > 0 and lines[0].count(mark) > 0), share)
        if usual > 0 and score > best:
            best, found = score, mark
    if not found:
        raise CaseError(
            f"{name} has no columns that can be told apart; separate them with {', '.join(list(DELIMITERS.values())[:3])} "
            f"or bar (its first line begins {' '.join(lines[0].split())[:60]})."
        )
    return found


def _from_heading(rows: list[tuple[int, str]], mark: str) -> list[tuple[int, str]]:
    """The rows from the heading on: the first line with words in most of as many fields as the rows have."""
    usual = mode(line.count(mark) for _, line in rows[:LOOKED_AT])
    for k, (_, line) in enumerate(rows[:50]):
        fields = _fields(line, mark)
        if line.count(mark) == usual and sum(not _numeric(f) and bool(f) for f in fields) > 0.5 * len(fields):
            return rows[k:]
    for k, (_, line) in enumerate(rows[:50]):  # the heading may have another number of fields than broken rows
        fields = _fields(line, mark)
        if len(fields) > 1 and sum(not _numeric(f) and bool(f) for f in fields) > 0.5 * len(fields):
            return rows[k:]
    raise CaseError(
        "The log has no heading: its first line must name the columns, for example: speed [rpm], boost [bar]."
    )


def _names(heading: str, mark: str) -> list[str]:
    """Headings, made different where two are the same."""
    names: list[str] = []
    for k, field in enumerate(_fields(heading, mark), 1):
        name = field or f"column {k}"
        names.append(name if name not in names else f"{name} ({k})")
    return names


def _cut(line: str, mark: str) -> str:
    """A line with its fields set apart by a mark that none of them holds; a stray quote spoils its own line only."""
    line = line.replace(APART, " ").replace("\0", " ")
    return APART.join(_fields(line, mark)) if '"' in line else line.replace(mark, APART)


def _fields(line: str, mark: str) -> list[str]:
    return [cell.strip() for cell in next(csv.reader([line], delimiter=mark), [])]


def _numeric(cell: str) -> bool:
    try:
        float(cell.replace(",", "."))
    except ValueError:
        return False
    return True


def _no_rows(name: str, mark: str, fields: int, rows: list[tuple[int, str]]) -> str:
    usual = mode(line.count(mark) for _, line in rows[1:][:LOOKED_AT]) + 1
    why = (
        "; decimal commas between commas cannot be told apart, export with semicolons"
        if mark == "," and usual > fields
        else ""
    )
    return f"{name} names {fields} columns and its rows hold {usual} fields{why}."
