"""Results of all points as an xarray Dataset that explains itself."""

import json
from typing import TYPE_CHECKING, Any

import numpy as np

from ...case import Case
from ...names import RESULTS, kind_of
from . import origin
from .design import GRID, Design
from .point import PART, Chunk
from .words import FLAG_VALUES, GROUPS, UDUNITS, about_flag, about_input, about_result, about_status

if TYPE_CHECKING:
    import xarray as xr

CONVENTIONS = "CF-1.11"
FLAGS = {name for name, row in RESULTS.items() if row.kind == "flag"}
WHOLE = {"cycles"}
Variables = dict[str, tuple[tuple[str, ...], Any, dict[str, Any]]]


def make_ready() -> None:
    """Load what a dataset is made with, which takes a second; while processes solve there is nothing better to do."""
    import xarray as xr

    xr.Dataset({"nothing": ("point", np.zeros(1))}, {"point": np.zeros(1)})


def dataset(case: Case, design: Design, chunk: Chunk, key: str) -> "xr.Dataset":
    """The dataset of a sweep from the results of all its points, in order.

    Each result is a variable over the design's dimensions, the values of lists with one more (cylinder, probe, limit).
    """
    import xarray as xr

    variables, coordinates = _variables(design, chunk)
    return xr.Dataset(variables, _inputs(design) | coordinates, attributes(case, design, chunk, key))


def _inputs(design: Design) -> Variables:
    """Coordinates of the varied inputs."""
    found: Variables = {}
    for axis in design.axes:
        values = axis.in_si()
        numbers = not isinstance(values[0], str)
        data = np.array(values, dtype=np.int32 if isinstance(values[0], int) else None)
        dimension = (axis.name,) if design.how == GRID else tuple(design.sizes)
        found[axis.name] = (dimension, data, about_input(axis.name, axis.spec, numbers))
    return found


def _variables(design: Design, chunk: Chunk) -> tuple[Variables, Variables]:
    """Data variables and the coordinates of cylinders, probes and limits."""
    sizes = design.sizes
    shape, points = tuple(sizes.values()), tuple(sizes)
    variables: Variables = {}
    listed: dict[str, dict[str, dict[str, np.ndarray]]] = {}  # list -> value -> member -> column
    flags = FLAGS | {name.rsplit(PART, 1)[-1] for name in chunk.flags}
    columns = {name: chunk.numbers[:, k] for k, name in enumerate(chunk.names)}
    for name, texts in zip(chunk.text_names, zip(*chunk.texts, strict=True), strict=True):
        columns[name] = np.array(texts, dtype=str)  # no wider than its longest text
    for name, column in columns.items():
        parts = name.split(PART)
        if len(parts) == 3:
            listed.setdefault(parts[0], {}).setdefault(parts[2], {})[parts[1]] = column
        else:
            data, about = _typed(name, column, flags)
            variables[name] = (points, data.reshape(shape), about_result(name, text=data.dtype.kind == "U") | about)
    coordinates: Variables = {}
    for group, values in listed.items():
        _list(group, values, points, shape, flags, variables, coordinates)
    return variables, coordinates


def _list(
    group: str, values: dict[str, dict[str, np.ndarray]], points: tuple[str, ...], shape: tuple[int, ...], flags: set[str],
    variables: Variables, coordinates: Variables,
) -> None:  # fmt: skip
    """Variables of one list of a prediction, with a dimension for its members."""
    dimension, prefix, what = GROUPS.get(group, (group, f"{group}_", group))
    members = list(dict.fromkeys(member for by_member in values.values() for member in by_member))
    numbered = all(member.isdigit() for member in members)
    members.sort(key=int if numbered else None)
    data = np.array([int(m) for m in members], dtype=np.int32) if numbered else np.array(members)
    coordinates[dimension] = (
        (dimension,),
        data,
        {"long_name": f"number of the {what}" if numbered else f"name of the {what}"},
    )
    if dimension == "limit":
        units = np.array([UDUNITS.get(kind_of(member), "1") for member in members])
        coordinates["limit_units"] = ((dimension,), units, {"long_name": "SI unit of the values at this limit"})
    size = int(np.prod(shape))
    for name, by_member in values.items():
        if numbered and name == dimension:
            continue  # the member's own number
        some = next(iter(by_member.values()))
        blank = np.full(size, "" if some.dtype.kind == "U" else np.nan)
        stack = np.stack([by_member.get(member, blank) for member in members], axis=-1)
        column, about = _typed(name, stack, flags)
        about = about_result(name, group, column.dtype.kind == "U") | about
        if column.dtype.kind == "U" and (column == column[:1]).all():  # a place or kind that no point changes
            coordinates[prefix + name] = ((dimension,), column[0], about)
        else:
            full = column.reshape(*shape, len(members))
            variables[prefix + name] = ((*points, dimension), full, about)


def _typed(name: str, column: np.ndarray, flags: set[str]) -> tuple[np.ndarray, dict[str, Any]]:
    """A column in the type it is kept in, and the attributes that go with it."""
    if column.dtype.kind == "U":
        return column, {}
    if name == "status":
        return column.astype(np.int8), about_status()
    if name in flags:
        return np.where(np.isnan(column), FLAG_VALUES[0], column).astype(np.int8), about_flag()
    if name in WHOLE:
        return np.nan_to_num(column).astype(np.int32), {}
    return column, {}


def attributes(case: Case, design: Design, chunk: Chunk, key: str) -> dict[str, Any]:
    """What holds for the whole file: the case, the submodels with their sources, constants, versions. No date: equal
    sweeps give equal files."""
    versions = origin.versions()
    models = {
        f"submodel_{part.replace(' ', '_')}": "\n".join(_few(found)) for part, found in sorted(chunk.models.items())
    }
    return {
        "Conventions": CONVENTIONS,
        "title": case.title,
        "source": f"hotside {versions['hotside']}: a calculation, not a measurement",
        "references": "each submodel names its own source in submodel_...; constants are cited where they stand in the code",
        "comment": "SI units, crank angles in degrees, engine speed in rpm; boost and backpressure are above ambient, other "
        "pressures absolute. A limit is an edge. NaN: not known or does not apply; see status and message.",
        "design": json.dumps(design.to_dict()),
        "case": json.dumps(case.to_dict()),
        "inputs_si": json.dumps(origin.varied(case, design)),
        "constants": json.dumps(origin.constants()),
        "versions": json.dumps(versions),
        "sweep_key": key,
    } | models


def _few(texts: list[str], most: int = 12) -> list[str]:
    return texts if len(texts) <= most else [*texts[:most], f"and {len(texts) - most} more"]
