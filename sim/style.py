"""The one look of every picture: paper and ink, few colours, each line told apart by colour, dash and marker alike.

A picture is no wider than `WIDTH` and no word in it smaller than `LEAST`, so that it can be read on the page of a phone, which
shows it 390 points wide. What needs more room grows downwards.

Colours differ in lightness as well as in hue, so a picture reads in grey and for colour-blind eyes; a test measures both.
A figure is made and drawn inside `drawn`, which sets fonts, lines, spines and grid; nothing of the process is changed.
"""

import re
from collections.abc import Callable
from functools import wraps
from textwrap import wrap
from typing import Any, ParamSpec

from .showing import FAMILIES

WIDTH = 5.6  # inches
LEAST = 8.5  # points
LETTERS = 66  # of a line above a picture
INK, BRICK, TEAL, AMBER, PLUM = "#14213d", "#b5432f", "#2f9aa8", "#e3b23c", "#6a3a78"
COLOURS = (INK, BRICK, TEAL, AMBER, PLUM)
DASHES: tuple[Any, ...] = ("-", (0, (6, 2)), (0, (1.5, 1.5)), (0, (7, 2, 1.5, 2)), (0, (10, 2.5)))
MARKERS = ("o", "s", "D", "^", "v")
QUIET, PALE, SHADE = "0.42", "0.90", "0.76"  # reference lines; the wider and the narrower of two fields
LIMIT: dict[str, Any] = {"color": "0.25", "linewidth": 1.1, "linestyle": (0, (8, 3, 2, 3))}  # the edge of a limit
HERE: dict[str, Any] = {
    "marker": "o",
    "markersize": 8,
    "linestyle": "none",
    "color": "1.0",
    "markeredgecolor": INK,
    "markeredgewidth": 1.8,
}
RC: dict[str, Any] = {
    "font.family": "sans-serif", "font.sans-serif": ["DejaVu Sans"], "font.size": 9.0,
    "axes.titlesize": 10.0, "axes.titlelocation": "left", "axes.titlepad": 8.0, "axes.labelsize": 9.0,
    "figure.titlesize": 9.5, "xtick.labelsize": 8.5, "ytick.labelsize": 8.5, "legend.fontsize": 8.5,
    "axes.spines.top": False, "axes.spines.right": False, "axes.edgecolor": "0.35", "axes.linewidth": 0.8,
    "xtick.color": "0.25", "ytick.color": "0.25", "axes.labelcolor": "0.1", "text.color": "0.05",
    "axes.grid": True, "grid.color": "0.91", "grid.linewidth": 0.6, "axes.axisbelow": True,
    "axes.xmargin": 0.02, "lines.linewidth": 1.7, "lines.markersize": 4.5, "legend.frameon": False,
    "legend.handlelength": 2.6, "savefig.dpi": 200, "pdf.fonttype": 42, "hatch.linewidth": 0.6,
}  # fmt: skip
P = ParamSpec("P")


def drawn(draw: Callable[P, Any]) -> Callable[P, Any]:
    """A drawing function that works in this style."""

    @wraps(draw)
    def inside(*args: P.args, **kwargs: P.kwargs) -> Any:
        with styled():
            return draw(*args, **kwargs)

    return inside


def styled() -> Any:
    """The style as a context."""
    import matplotlib

    settings: Any = RC
    return matplotlib.rc_context(settings)


def new_figure(width: float = WIDTH, height: float = 4.6) -> Any:
    """An empty figure, `width` (no more than `WIDTH`) by `height` inches, that keeps its parts from overlapping."""
    from matplotlib.figure import Figure

    return Figure(figsize=(min(width, WIDTH), height), layout="constrained")


def look(number: int, markers: bool = False) -> dict[str, Any]:
    """Colour, dash and, where asked for, marker of the line of that number, counted from 0."""
    found: dict[str, Any] = {"color": COLOURS[number % len(COLOURS)], "linestyle": DASHES[number % len(DASHES)]}
    return found | ({"marker": MARKERS[number % len(MARKERS)]} if markers else {})


def beside(axes: Any) -> Any:
    """A second scale at the right of axes, without a grid of its own."""
    other = axes.twinx()
    other.spines["right"].set_visible(True)
    other.grid(False)
    return other


def legend(figure: Any, columns: int = 3) -> None:
    """One legend under all axes of a figure, each label once, in as many columns as there is room for: there it covers nothing."""
    found: dict[str, Any] = {}
    for axes in figure.axes:
        for handle, label in zip(*axes.get_legend_handles_labels(), strict=True):
            found.setdefault(label, handle)
    if found:
        keyed(figure, list(found.values()), list(found), columns)


def keyed(figure: Any, handles: list[Any], labels: list[str], columns: int = 3) -> None:
    """A legend of these under all axes, in `columns` or as many as there is room for."""
    from matplotlib.backends.backend_agg import FigureCanvasAgg

    pen = FigureCanvasAgg(figure).get_renderer()
    for across in range(columns, 0, -1):
        placed = figure.legend(handles, labels, loc="outside lower left", ncols=across)
        if across == 1 or placed.get_window_extent(pen).width < figure.bbox.width:
            return
        placed.remove()


def head(figure: Any, text: str) -> None:
    """What the picture shows, above all axes at the left; the figure keeps it as its label, on as many lines as it was given."""
    figure.set_label(text)
    kept = re.sub(r"(?<=\d) (?=[a-zA-Z%\[])|(?<=lambda) ", "\N{NO-BREAK SPACE}", text)  # a figure stays with its unit
    lines = [part for line in kept.splitlines() for part in wrap(line, LETTERS)]
    figure.suptitle("\n".join(lines), x=0.01, ha="left")


def haloed(texts: Any) -> None:
    """Give labels a pale rim, readable on the darkest and the palest part of a field."""
    from matplotlib.patheffects import withStroke

    for text in texts:
        text.set_path_effects([withStroke(linewidth=2.5, foreground="1.0")])


def shades() -> Any:
    """Colour map of fields: dark to pale with evenly rising lightness."""
    from matplotlib.colors import LinearSegmentedColormap

    return LinearSegmentedColormap.from_list("ink to paper", [INK, "#215a77", "#3f8b98", "#93bfa0", "#f3e9c6"])


def scale(kind: str, family: str) -> tuple[Callable[[Any], Any], str]:
    """How values in SI of a kind are drawn in a family of units: a function of numbers or arrays, and the unit."""
    import numpy as np

    how = FAMILIES[family][kind]

    def turned(values: Any) -> Any:
        return (np.asarray(values, dtype=float) - how.offset) / how.factor

    return turned, how.unit
