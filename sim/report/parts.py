"""What traces are made of: numbers, words, places, strokes and markers of matplotlib's artists as Plotly takes them."""

from html import escape
from typing import Any

import numpy as np
from matplotlib.collections import QuadMesh
from matplotlib.container import BarContainer
from matplotlib.path import Path

from .colours import colour, ramp

POINT = 96.0 / 72.0  # pixels
SYMBOLS = {
    "o": "circle", ".": "circle", "s": "square", "D": "diamond", "^": "triangle-up", "v": "triangle-down", "X": "x", "P": "cross",
    "_": "line-ew-open", "|": "line-ns-open",
}  # fmt: skip
Trace = dict[str, Any]


def identity(name: str, k: int) -> str:
    """Plotly leaves the first without its number."""
    return name if k == 1 else f"{name}{k}"


def number(value: Any) -> float | None:
    """Five figures of a value, None where there is none."""
    return float(f"{value:.5g}") if np.isfinite(value) else None


def words(text: str) -> str:
    """Text as Plotly reads it."""
    return escape(text, quote=False).replace("\n", "<br>")


def label(artist: Any, axes: Any) -> Trace:
    """The name of a trace in the legend, or of its axis where it has none."""
    found = str(artist.get_label())
    boxes = [box for box in axes.containers if not isinstance(box, BarContainer) and artist in list(box)]
    if boxes and found.startswith("_"):
        found = str(boxes[0].get_label())
    if not found or found.startswith("_"):
        return {"name": words(axes.get_ylabel()), "showlegend": False}
    return {"name": words(found), "legendgroup": words(found)}


def broken(path: Path) -> Any:
    """The outline of a path, curves as chords, an empty row between its parts."""
    rows: list[Any] = []
    part: Any
    for part in path.to_polygons(closed_only=False):
        rows += [*part, (np.nan, np.nan)]
    return np.asarray(rows[:-1], dtype=float).reshape(-1, 2)


def placed(points: Any, transform: Any, axes: Any) -> Trace:
    """Points as the x and y of a trace."""
    x, y = in_data(points, transform, axes).T
    return {"type": "scatter", "x": [number(v) for v in x], "y": [number(v) for v in y]}


def in_data(points: Any, transform: Any, axes: Any) -> Any:
    """Points in the data's own units, wherever they were given."""
    return points if transform == axes.transData else (transform - axes.transData).transform(points)


def on_field(axes: Any) -> bool:
    """Whether these axes hold a field of shades, which are the same on paper and in the dark."""
    return any(isinstance(one, QuadMesh) for one in axes.collections)


def stroke(ink: Any, width: float, dash: str, axes: Any) -> Trace:
    """Colour, width and dash of a line; on a field of shades the colour stays what it was."""
    return {"color": colour(ink, literal=on_field(axes)), "width": number(POINT * float(width)), "dash": dash}


def dashes(line: Any) -> str:
    """A dash in pixels; matplotlib tells that of a line to nobody in public."""
    return pattern(line._dash_pattern[1])


def pattern(parts: Any) -> str:
    """A dash in pixels, from points."""
    return "solid" if not parts else ",".join(f"{POINT * part:.1f}px" for part in parts)


def marker_of(line: Any) -> Trace:
    """The marker of a line; a mere stroke has the line's own colour."""
    symbol, small = SYMBOLS[line.get_marker()], 0.5 if line.get_marker() == "." else 1.0
    rim = line.get_color() if symbol.endswith("-open") else line.get_markeredgecolor()
    return {
        "symbol": symbol, "size": POINT * small * float(line.get_markersize()), "color": colour(line.get_markerfacecolor()),
        "line": {"color": colour(rim), "width": POINT * float(line.get_markeredgewidth())},
    }  # fmt: skip


def shaded(artist: Any, letter: str) -> Trace:
    """Shades of a field and the bar that tells them, where the picture has one."""
    low, high = artist.get_clim()
    found: Trace = {
        "colorscale": ramp(artist.get_cmap()),
        f"{letter}min": number(low),
        f"{letter}max": number(high),
    }
    return found | {"showscale": artist.colorbar is not None}


def hatches(fields: Any) -> str:
    """The hatching of a filled contour."""
    return next((h for h in getattr(fields, "hatches", ()) if h), "")
