"""What stands in the axes of a printed picture, artist by artist, as traces that Plotly draws.

A line keeps its values, colour, dash and marker, a bar its length, a field its shades. What an artist says of no position in the
data (a mark along the edge of the axes) is placed by the limits of the axes.
"""

from collections.abc import Iterator
from functools import singledispatch
from typing import Any

import numpy as np
from matplotlib.collections import LineCollection, PathCollection, PolyCollection, QuadMesh
from matplotlib.container import BarContainer
from matplotlib.contour import ContourSet
from matplotlib.lines import Line2D
from matplotlib.patches import Patch

from .colours import colour
from .parts import (
    POINT,
    SYMBOLS,
    Trace,
    broken,
    dashes,
    hatches,
    in_data,
    label,
    marker_of,
    number,
    pattern,
    placed,
    shaded,
    stroke,
    words,
)

HATCHES = {"/": "/", ".": ".", "-": "-", "x": "x"}


def traces(axes: Any) -> Iterator[Trace]:
    """All of it, what lies below first."""
    bars = [box for box in axes.containers if isinstance(box, BarContainer)]
    yield from (_bars(box, axes) for box in bars)
    done = {id(patch) for box in bars for patch in box.patches}
    artists = (*axes.images, *axes.collections, *axes.patches, *axes.lines)
    for artist in sorted(artists, key=lambda one: float(one.get_zorder())):
        if id(artist) not in done and artist.get_visible():
            yield from trace(artist, axes)


@singledispatch
def trace(artist: Any, axes: Any) -> Iterator[Trace]:
    """The traces of an artist; raises NotImplementedError for one of an unknown kind."""
    raise NotImplementedError(f"a picture with a {type(artist).__name__} has no traces yet")


@trace.register(Line2D)
def _line(line: Any, axes: Any) -> Iterator[Trace]:
    points = np.asarray(line.get_xydata(), dtype=float).reshape(-1, 2)
    if len(points) == 0:  # an entry of the legend for something else
        points = np.array([[np.nan, np.nan]])
    drawn, marked = line.get_linestyle() not in ("None", "none", ""), line.get_marker() in SYMBOLS
    found = placed(points, line.get_transform(), axes) | label(line, axes)
    found["cliponaxis"] = drawn
    found["mode"] = "+".join(["lines"] * drawn + ["markers"] * marked)
    found["line"] = stroke(line.get_color(), line.get_linewidth(), dashes(line), axes)
    if marked:
        found["marker"] = marker_of(line)
        every = line.get_markevery()
        found["marker"]["maxdisplayed"] = 0 if every is None else max(len(points) // int(every), 1)
    if line.get_marker() in ("_", "|") and not drawn and found.get("showlegend") is False:
        found["hoverinfo"] = "skip"  # the ends of an error's bar
    yield found


@trace.register(LineCollection)
def _segments(lines: Any, axes: Any) -> Iterator[Trace]:
    points = np.concatenate([np.vstack([part, [[np.nan, np.nan]]]) for part in lines.get_segments()])[:-1]
    dash = pattern(lines.get_linestyle()[0][1])
    line = stroke(lines.get_color()[0], lines.get_linewidth()[0], dash, axes)
    yield placed(points, axes.transData, axes) | {
        "mode": "lines",
        "line": line,
        "name": "",
        "hoverinfo": "skip",
        "showlegend": False,
    }


@trace.register(ContourSet)
def _contours(lines: Any, axes: Any) -> Iterator[Trace]:
    if lines.filled:
        yield from _fields(lines, axes)
        return
    dashes = lines.get_linestyle()
    edges, widths = lines.get_edgecolor(), lines.get_linewidth()
    for k, path in enumerate(lines.get_paths()):
        if len(path.vertices):
            line = stroke(edges[k % len(edges)], widths[k % len(widths)], pattern(dashes[k % len(dashes)][1]), axes)
            bare = {"mode": "lines", "line": line, "name": "", "hoverinfo": "skip", "showlegend": False}
            yield placed(broken(path), axes.transData, axes) | bare


@trace.register(PathCollection)
def _scatter(dots: Any, axes: Any) -> Iterator[Trace]:
    faces, edges = dots.get_facecolor(), dots.get_edgecolor()
    sizes = np.broadcast_to(dots.get_sizes(), len(dots.get_offsets()))
    marker: Trace = {"size": [number(POINT * size**0.5) for size in sizes], "opacity": 1.0}
    marker |= {"symbol": "circle" if len(faces) else "circle-open"}
    if dots.get_array() is not None:
        marker |= {"color": [number(v) for v in dots.get_array()], **shaded(dots, "c")}
    else:
        marker["color"] = colour(faces[0] if len(faces) else edges[0])
    if len(faces) and len(edges):
        marker["line"] = {"color": colour(edges[0]), "width": POINT * float(dots.get_linewidth()[0])}
    yield placed(np.asarray(dots.get_offsets()), axes.transData, axes) | label(dots, axes) | {
        "mode": "markers", "marker": marker}  # fmt: skip


@trace.register(QuadMesh)
def _heat(mesh: Any, axes: Any) -> Iterator[Trace]:
    corners = np.asarray(mesh.get_coordinates())
    across, down = corners[0, :, 0], corners[:, 0, 1]
    rows: Any = np.ma.filled(np.ma.asarray(mesh.get_array(), dtype=float), np.nan).reshape(
        len(down) - 1, len(across) - 1
    )
    yield {
        "type": "heatmap", "x": [number(v) for v in across], "y": [number(v) for v in down],
        "z": [[number(v) for v in row] for row in rows], "name": words(axes.get_title(loc="left")), "hoverongaps": False, "showlegend": False,
        **shaded(mesh, "z"),
    }  # fmt: skip


@trace.register(PolyCollection)
def _fields(fields: Any, axes: Any) -> Iterator[Trace]:
    """Areas of any outline."""
    faces, hatch = fields.get_facecolor(), fields.get_hatch() or hatches(fields)
    for k, path in enumerate(fields.get_paths()):
        face = faces[k % len(faces)] if len(faces) else (0.0, 0.0, 0.0, 0.0)
        if len(path.vertices) and (face[3] > 0.0 or hatch):
            yield _area(broken(path), fields, face, hatch, axes)


@trace.register(Patch)
def _patch(patch: Any, axes: Any) -> Iterator[Trace]:
    path = patch.get_path().transformed(patch.get_patch_transform())
    points = in_data(broken(path), patch.get_data_transform(), axes)
    yield _area(points, patch, patch.get_facecolor(), patch.get_hatch(), axes)


def _area(points: Any, artist: Any, face: Any, hatch: str | None, axes: Any) -> Trace:
    """A closed outline filled."""
    found = placed(points, axes.transData, axes) | label(artist, axes)
    found |= {"mode": "lines", "fill": "toself", "fillcolor": colour(face) if face[3] > 0.0 else "rgba(0,0,0,0)", "hoverinfo": "skip",
              "line": {"width": 0}, "opacity": float(face[3]) or 1.0}  # fmt: skip
    if hatch:
        edge = artist.get_edgecolor()
        ink = colour(edge if np.ndim(edge) == 1 else edge[0]) if len(edge) else "@ink"
        found["fillpattern"] = {"shape": HATCHES[hatch[0]], "fgcolor": ink, "bgcolor": found["fillcolor"], "size": 6,
                                "fillmode": "replace", "solidity": 0.25}  # fmt: skip
    return found


def _bars(box: BarContainer, axes: Any) -> Trace:
    """Bars, lying or upright."""
    lying = box.orientation == "horizontal"
    sides = [(p.get_x(), p.get_y(), p.get_width(), p.get_height()) for p in box.patches]
    base, middle, length, wide = zip(
        *((x, y + h / 2, w, h) if lying else (y, x + w / 2, h, w) for x, y, w, h in sides), strict=True
    )
    first, hatch = box.patches[0], box.patches[0].get_hatch()
    marker: Trace = {"color": [colour(p.get_facecolor()) for p in box.patches], "line": {"width": 0}}
    if hatch:
        marker["pattern"] = {
            "shape": HATCHES[hatch[0]],
            "fgcolor": colour(first.get_edgecolor()),
            "size": 8,
            "solidity": 0.25,
            "fillmode": "overlay",
        }
    values = {"x": length, "y": middle, "base": base, "width": wide}
    if not lying:
        values |= {"x": middle, "y": length}
    return {"type": "bar", "orientation": "h" if lying else "v", "marker": marker, **label(box, axes),
            **{name: [number(v) for v in row] for name, row in values.items()}}  # fmt: skip
