"""A stretch of points solved: what every executor is handed. Light to send: a case's tables, names, rows of values."""

from collections.abc import Mapping
from itertools import chain
from typing import Any, NamedTuple

import numpy as np

from ... import steady
from ...case import load
from ...errors import CaseError
from ...names import RESULTS
from ...near import Trail
from ...prediction import Prediction
from ...records import Array
from ...setup import prepare
from ...variants import Variants
from . import kernels

# Points in a stretch, in which each is begun from its neighbours, whatever solves them: more of them spare cold starts, and take a third of
# a second and more, against about a millisecond to send and keep them.
LEAST, MOST = 8, 128
SHARES = 24  # stretches in a smaller sweep, so that no core waits long for the last
NOT_A_CASE, FAILED, DIED = "not a case", "failed", "worker died"
STATUSES = (*steady.STATUS.values(), NOT_A_CASE, FAILED, DIED)
PLAIN = frozenset((str, bool, int, float, type(None)))  # what a column can hold
LABELS = ("name", "part")  # what a member of a list is called by, instead of its number
TABLES = {name for name, row in RESULTS.items() if row.kind == "list"}
PART = ":"  # between list, number and name of a value in a list: cylinders:3:imep_net_pa

Row = dict[str, Any]


class Job(NamedTuple):
    """What all stretches of a sweep share."""

    key: str  # digest of everything that decides the numbers
    case: dict[str, Any]  # as written
    names: tuple[str, ...]  # inputs that vary


def stretch_length(points: int) -> int:
    """Points in a stretch of a sweep; it depends on their number alone."""
    return min(max(points // SHARES, LEAST), MOST)


class Chunk(NamedTuple):
    """Results of a stretch of points: a number or text for each point and name; what is not known is NaN or empty."""

    names: tuple[str, ...]
    numbers: Array
    flags: tuple[str, ...]  # names whose numbers are 1 for yes and 0 for no
    text_names: tuple[str, ...]
    texts: list[list[str]]
    models: dict[str, list[str]]  # submodel -> every text it was described with

    @property
    def size(self) -> int:
        """Number of points."""
        return len(self.numbers)


_made: dict[str, Variants] = {}  # of this process, by job


def solve_chunk(job: Job, rows: list[tuple[Any, ...]]) -> Chunk:
    """Solve the points of a stretch in order, each begun from those before it and from no other.

    job : Job; rows : values of the varied inputs, point by point
    """
    variants, trail = _variants(job), Trail()
    return packed([solve_point(variants, dict(zip(job.names, row, strict=True)), trail) for row in rows])


def _variants(job: Job) -> Variants:
    if job.key not in _made:
        kernels.compile_elsewhere()
        _made[job.key] = Variants(load(job.case))
    return _made[job.key]


def solve_point(variants: Variants, values: Mapping[str, Any], trail: Trail) -> Row:
    """One point as a flat row, begun from the points before it in its stretch."""
    try:
        case = variants.make(values)
    except CaseError as error:
        return lost(NOT_A_CASE, str(error))
    try:
        return flat(steady.answer(prepare(case), trail=trail)[0])
    except steady.SolveError as error:
        return lost(steady.STATUS[steady.settle.BROKEN], str(error))
    except Exception as error:  # one bad point must not take the others with it; what it was is kept in its row
        return lost(FAILED, f"{type(error).__name__}: {error}")


def lost(status: str, message: str) -> Row:
    """The row of a point without an answer."""
    return {"status": status, "message": message}


def flat(prediction: Prediction) -> Row:
    """A prediction as one row: numbers and texts by name, values in lists under list:member:name."""
    row: Row = {}
    _flatten(row, "", prediction.to_dict())
    return row


def _flatten(row: Row, prefix: str, values: Mapping[str, Any]) -> None:
    """Put nested values into a row: tables by joined names, lists of tables by the name or number of each member."""
    for key, value in values.items():
        name = prefix + key
        if value is None and name in TABLES:
            continue
        if type(value) in PLAIN or key == "models":
            row[name] = value
        elif isinstance(value, Mapping):
            _flatten(row, f"{name}_", value)
        elif all(isinstance(item, Mapping) for item in value):
            for number, item in enumerate(value, 1):
                label = next((k for k in LABELS if k in item), "")
                member = f"{name}{PART}{item.get(label, number)}{PART}"
                for k, v in item.items():
                    if type(v) in PLAIN and k != label:
                        row[member + k] = v
        else:
            row[name] = "\n".join(map(str, value))


def packed(rows: list[Row]) -> Chunk:
    """Rows as one block of numbers and one of texts."""
    models: dict[str, dict[str, None]] = {}
    for row in rows:
        for part, text in row.pop("models", {}).items():
            models.setdefault(part, {})[text] = None
        row["status"] = STATUSES.index(row["status"])
    columns = {name: [row.get(name) for row in rows] for name in dict.fromkeys(chain.from_iterable(rows))}
    kinds = {name: set(map(type, column)) for name, column in columns.items()}
    written = {name for name, found in kinds.items() if str in found} | {"message", "warnings"}
    flags = {name for name, found in kinds.items() if bool in found} - written
    names = tuple(name for name in columns if name not in written)
    text_names = tuple(dict.fromkeys(["message", "warnings", *(name for name in columns if name in written)]))
    numbers = np.empty((len(rows), len(names)))
    for k, name in enumerate(names):
        numbers[:, k] = np.array(columns[name], dtype=np.float64)  # None becomes NaN
    texts = [[_text(row.get(name)) for name in text_names] for row in rows]
    return Chunk(
        names, numbers, tuple(sorted(flags)), text_names, texts, {part: list(found) for part, found in models.items()}
    )


def _text(value: Any) -> str:
    return "" if value is None else str(value)


def joined(chunks: list[Chunk]) -> Chunk:
    """Chunks one after the other as one; a name is known where any of them knows it."""
    names = tuple(dict.fromkeys(name for c in chunks for name in c.names))
    text_names = tuple(dict.fromkeys(name for c in chunks for name in c.text_names))
    names = tuple(name for name in names if name not in text_names)
    numbers = np.full((sum(c.size for c in chunks), len(names)), np.nan)
    column = {name: k for k, name in enumerate(names)}
    flags = tuple(sorted({name for c in chunks for name in c.flags} - set(text_names)))
    texts: list[list[str]] = []
    models: dict[str, dict[str, None]] = {}
    row = 0
    for c in chunks:
        kept = [k for k, name in enumerate(c.names) if name in column]
        numbers[row : row + c.size, [column[c.names[k]] for k in kept]] = c.numbers[:, kept]
        row += c.size
        if c.text_names == text_names:
            texts += c.texts
        else:
            texts += [
                [dict(zip(c.text_names, line, strict=True)).get(name, "") for name in text_names] for line in c.texts
            ]
        for part, found in c.models.items():
            models.setdefault(part, {}).update(dict.fromkeys(found))
    return Chunk(names, numbers, flags, text_names, texts, {part: list(found) for part, found in models.items()})
