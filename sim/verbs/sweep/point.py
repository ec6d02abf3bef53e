"""A stretch of points solved: what every executor is handed. Light to send: a case's tables, names, rows of values."""

from collections.abc import Mapping, Sequence
from itertools import chain
from typing import Any, NamedTuple

import numpy as np

from ... import steady
from ...case import Case, load
from ...errors import CaseError
from ...names import RESULTS
from ...near import Trail
from ...records import Array
from ...setup import prepare
from ...variants import Variants

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
Columns = dict[str, list[Any]]


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
        _made[job.key] = Variants(load(job.case))
    return _made[job.key]


def solve_point(variants: Variants, values: Mapping[str, Any], trail: Trail) -> Row:
    """One point as a row of nested results, begun from the points before it in its stretch."""
    try:
        case = variants.make(values)
    except CaseError as error:
        return lost(NOT_A_CASE, str(error))
    try:
        return steady.answer(prepare(case), trail=trail)[0].to_dict()
    except steady.SolveError as error:
        return lost(steady.STATUS[steady.settle.BROKEN], str(error))
    except Exception as error:  # one bad point must not take the others with it; what it was is kept in its row
        return lost(FAILED, f"{type(error).__name__}: {error}")


def touch(case: Case) -> None:
    """Solve and read one point, so that every kernel it needs is compiled or loaded; what it gives is not looked at."""
    try:
        march, ending = steady.solve(prepare(case))
        steady.read(march, ending)
    except ArithmeticError:
        pass  # the sweep itself will say so of its own points


def lost(status: str, message: str) -> Row:
    """The row of a point without an answer."""
    return {"status": status, "message": message}


def packed(rows: list[Row]) -> Chunk:
    """Rows of nested results as one block of numbers and one of texts; what is in lists is named list:member:name.

    Taken column by column: names are put together once for a stretch, which for every point took as long as a march.
    """
    models: dict[str, dict[str, None]] = {}
    for row in rows:
        for part, text in row.pop("models", {}).items():
            models.setdefault(part, {})[text] = None
        row["status"] = STATUSES.index(row["status"])
    columns: Columns = {}
    _collect(columns, "", rows)
    blank = [None] * len(rows)
    kinds = {name: set(map(type, column)) for name, column in columns.items()}
    written = {name for name, found in kinds.items() if str in found} | {"message", "warnings"}
    flags = {name for name, found in kinds.items() if bool in found} - written
    names = tuple(name for name in columns if name not in written)
    text_names = tuple(dict.fromkeys(["message", "warnings", *(name for name in columns if name in written)]))
    numbers = np.empty((len(rows), len(names)))
    for k, name in enumerate(names):
        numbers[:, k] = np.array(columns[name], dtype=np.float64)  # None becomes NaN
    texts = [list(map(_text, line)) for line in zip(*(columns.get(name, blank) for name in text_names), strict=True)]
    return Chunk(
        names, numbers, tuple(sorted(flags)), text_names, texts, {part: list(found) for part, found in models.items()}
    )


def _collect(columns: Columns, prefix: str, rows: list[Row]) -> None:
    """Columns of nested values: of tables by joined names, of lists of tables by the name or number of each member."""
    for key in dict.fromkeys(chain.from_iterable(rows)):
        name, column = prefix + key, [row.get(key) for row in rows]
        some = next((value for value in column if value), next((value for value in column if value is not None), None))
        if type(some) in PLAIN:
            if some is not None or name not in TABLES:
                columns[name] = column
        elif isinstance(some, Mapping):
            _collect(columns, f"{name}_", [value or {} for value in column])
        elif isinstance(some[0] if some else {}, Mapping):
            _collect_members(columns, name, [value or () for value in column])
        else:
            columns[name] = ["\n".join(map(str, value or ())) for value in column]


def _collect_members(columns: Columns, name: str, lists: list[Sequence[Row]]) -> None:
    """Columns of lists of tables; what is neither number nor word in them is left out."""
    label = next((k for k in LABELS if any(k in item for items in lists for item in items)), "")
    members = [{item.get(label, number): item for number, item in enumerate(items, 1)} for items in lists]
    for member in dict.fromkeys(chain.from_iterable(members)):
        items = [found.get(member, {}) for found in members]
        for key in dict.fromkeys(chain.from_iterable(items)):
            column = [item.get(key) for item in items]
            if key != label and all(type(value) in PLAIN for value in column):
                columns[f"{name}{PART}{member}{PART}{key}"] = column


def _text(value: Any) -> str:
    return "" if value is None else str(value)


def joined(chunks: list[Chunk]) -> Chunk:
    """Chunks one after the other as one; a name is known where any of them knows it."""
    names = tuple(dict.fromkeys(name for c in chunks for name in c.names))
    text_names = tuple(dict.fromkeys(name for c in chunks for name in c.text_names))
    names = tuple(name for name in names if name not in text_names)
    numbers = np.full((sum(c.size for c in chunks), len(names)), np.nan, order="F")  # to be read column by column
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
