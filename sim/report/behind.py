"""The figures behind a picture as tables, for who does not see it: lines that share their places side by side, bars row by row."""

from collections.abc import Iterator
from typing import Any

import numpy as np
from matplotlib.container import BarContainer

from .tables import Table

MOST = 25  # rows of a table: a longer line is thinned evenly, its ends kept


def behind(shown: list[Any]) -> Iterator[Table]:
    """A table for each group of lines over the same places, and one for the bars of each of the axes."""
    for axes in shown:
        yield from _lines(axes)
        yield from _bars(axes)


def _lines(axes: Any) -> Iterator[Table]:
    groups: dict[bytes, list[Any]] = {}
    for line in axes.lines:
        if line.get_transform() == axes.transData and len(line.get_xdata()) > 1 and not _quiet(line):
            groups.setdefault(np.asarray(line.get_xdata(), dtype=float).tobytes(), []).append(line)
    for lines in groups.values():
        at = np.asarray(lines[0].get_xdata(), dtype=float)
        kept = np.unique(np.linspace(0, len(at) - 1, min(len(at), MOST)).round().astype(int))
        rows = [
            (f"{at[k]:.5g}", *(f"{np.asarray(one.get_ydata(), dtype=float)[k]:.4g}" for one in lines)) for k in kept
        ]
        names = (str(one.get_label()) for one in lines)
        title = axes.get_ylabel() or axes.get_title(loc="left")
        yield Table(_flat(title), (_flat(_across(axes)), *names), rows)


def _bars(axes: Any) -> Iterator[Table]:
    boxes = [box for box in axes.containers if isinstance(box, BarContainer)]
    if boxes and boxes[0].orientation == "horizontal":
        places, texts = axes.get_yticks(), [_flat(one.get_text()) for one in axes.get_yticklabels()]
        names = list(dict.fromkeys(str(box.get_label()) for box in boxes))
        rows = []
        for place, text in zip(places, texts, strict=True):
            cells = [_reach(boxes, name, place) for name in names]
            rows.append((text, *cells))
        yield Table(_flat(axes.get_xlabel()), ("", *("" if n.startswith("_") else n for n in names)), rows)


def _reach(boxes: list[Any], name: str, place: float) -> str:
    """From where to where the bar of that name at that place goes, or only to where if it begins at zero."""
    for box in boxes:
        for bar in box.patches:
            if str(box.get_label()) == name and abs(bar.get_y() + bar.get_height() / 2 - place) < 0.5:
                low, high = bar.get_x(), bar.get_x() + bar.get_width()
                return f"{high:.4g}" if low == 0.0 else f"{low:.4g} to {high:.4g}"
    return ""


def _quiet(line: Any) -> bool:
    return str(line.get_label()).startswith("_")


def _across(axes: Any) -> str:
    """The title of the x axis, or where axes share it that of those that bear it."""
    with_it = axes.get_shared_x_axes().get_siblings(axes)
    return str(next((one.get_xlabel() for one in [axes, *with_it] if one.get_xlabel()), "x"))


def _flat(text: str) -> str:
    return " ".join(text.split())
