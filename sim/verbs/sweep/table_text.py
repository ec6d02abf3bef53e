"""A dataset as CSV: a line that explains it, a line of names, a line for each point. Read back, it is the same dataset."""

import csv
import io
import itertools
import json
import math
import re
from collections.abc import Iterator
from pathlib import Path
from typing import TYPE_CHECKING, Any

import numpy as np

if TYPE_CHECKING:
    import xarray as xr

MARK = "# "
POINT = "point"


def points_of(found: "xr.Dataset") -> tuple[str, ...]:
    """Dimensions of the points, in order: those of the status, which every point has."""
    return tuple(str(d) for d in found["status"].dims)


def text_of(found: "xr.Dataset") -> str:
    """The CSV text of a sweep."""
    points = points_of(found)
    head: dict[str, Any] = {
        "attrs": found.attrs,
        "points": {d: found.sizes[d] for d in points},
        "parts": {},
        "columns": {},
    }
    columns: list[tuple[str, np.ndarray]] = []
    for name, variable in found.variables.items():
        about = {
            "dims": list(variable.dims),
            "attrs": variable.attrs,
            "type": _type(variable.dtype),
            "coord": name in found.coords,
        }
        if not set(variable.dims) & set(points):
            head["parts"][name] = about | {"values": variable.values.tolist()}
            continue
        head["columns"][name] = about
        columns += _columns(found, str(name), points)
    out = io.StringIO()
    out.write(MARK + json.dumps(head, default=_plain) + "\n")
    writer = csv.writer(out, lineterminator="\n")
    writer.writerow([name for name, _ in columns])
    writer.writerows(zip(*(column.tolist() for _, column in columns), strict=True))
    return out.getvalue()


def _columns(found: "xr.Dataset", name: str, points: tuple[str, ...]) -> Iterator[tuple[str, np.ndarray]]:
    """One column for each member of the other dimensions: cylinder_imep_net_pa[3]."""
    variable = found[name].variable
    rest = [str(d) for d in variable.dims if d not in points]
    full = variable.set_dims({d: found.sizes[d] for d in points} | {d: found.sizes[d] for d in rest})
    data = full.transpose(*points, *rest).values.reshape(-1, *(found.sizes[d] for d in rest))
    for place in itertools.product(*(range(found.sizes[d]) for d in rest)):
        labels = [str(found[d].values[k]) for d, k in zip(rest, place, strict=True)]
        column = data[(slice(None), *place)]
        if column.dtype.kind == "U":  # one line for each point, whatever is said of it
            column = np.array([text.replace("\\", "\\\\").replace("\n", "\\n") for text in column.tolist()])
        yield (f"{name}[{','.join(labels)}]" if labels else name), column


def _type(dtype: np.dtype) -> str:
    return "text" if dtype.kind == "U" else dtype.name


def _plain(value: Any) -> Any:
    return value.tolist() if isinstance(value, np.ndarray | np.generic) else str(value)


def head_of(path: Path) -> dict[str, Any]:
    """What the first line of a file explains; raises ValueError where it is no file of a sweep."""
    with open(path, encoding="utf-8", newline="") as file:
        line = file.readline()
    if not line.startswith(MARK):
        raise ValueError("its first line does not explain it")
    return dict(json.loads(line.removeprefix(MARK)))


def read(path: Path) -> "xr.Dataset":
    """The dataset in a file; raises ValueError, KeyError or IndexError where it is damaged."""
    import xarray as xr

    head = head_of(path)
    with open(path, encoding="utf-8", newline="") as file:
        next(file)
        names, *rows = list(csv.reader(file))
    sizes = {str(d): int(n) for d, n in head["points"].items()}
    whole, size = sum(len(row) == len(names) for row in rows), math.prod(sizes.values())
    if whole != size or len(rows) != size:
        raise ValueError(f"it has {whole} whole rows where {size} belong")
    by_name: dict[str, list[Any]] = {}
    for name, column in zip(names, zip(*rows, strict=True), strict=True):
        by_name.setdefault(name.partition("[")[0], []).append(column)
    made = {}
    for name, about in head["columns"].items():
        made[name] = (about["dims"], _data(by_name[name], about, sizes), about["attrs"])
    for name, about in head["parts"].items():
        made[name] = (about["dims"], np.array(about["values"], dtype=_dtype(about["type"])), about["attrs"])
    coords = {n for n, about in (head["columns"] | head["parts"]).items() if about["coord"]}
    variables = {n: v for n, v in made.items() if n not in coords}
    return xr.Dataset(variables, {n: made[n] for n in made if n in coords}, head["attrs"])


def _unfolded(text: str) -> str:
    return re.sub(r"\\(.)", lambda m: "\n" if m[1] == "n" else m[1], text)


def _dtype(kind: str) -> Any:
    return str if kind == "text" else np.dtype(kind)


def _data(columns: list[Any], about: dict[str, Any], sizes: dict[str, int]) -> np.ndarray:
    """The values of a variable from its columns, in the order of its dimensions."""
    kind = _dtype(about["type"])
    parts = [
        np.array([_unfolded(text) for text in column]) if kind is str else np.array(column, dtype=float).astype(kind)
        for column in columns
    ]
    stack = np.stack(parts, axis=-1).reshape(*sizes.values(), len(columns))
    dims = about["dims"]
    if not set(dims) - set(sizes):
        stack = stack[..., 0]
    # a coordinate lies along some of the points' dimensions only: take the first of the others
    return stack[tuple(slice(None) if d in dims else 0 for d in sizes)]
