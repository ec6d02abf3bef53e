"""A printed picture read back as one that answers to a hand.

Every verb draws its figure once; here its axes become those of Plotly, at the same places, and `artists` reads what stands in them.
So paper and page show the same lines, and a verb that draws has its page.
"""

import base64
import io
from collections.abc import Iterator
from typing import Any

import numpy as np

from ..style import styled
from .artists import traces
from .behind import behind
from .colours import colour
from .notes import notes, title
from .page import Picture, Size
from .parts import Trace, identity, words
from .scales import both, shade_bar

LABELLED = 0.28  # of a figure's width left of the axes: on a phone there is no room beside such names
Place = tuple[float, float, float, float]  # left, right, foot and top, as shares of what all axes take


def living(figure: Any, said: str = "") -> Picture:
    """The picture of a figure drawn in `style`; `said` is what it shows in words, beside its own heading."""
    still = _still(figure)
    shown = [axes for axes in figure.axes if axes.get_visible() and not hasattr(axes, "_colorbar")]
    layout: dict[str, Any] = {"barmode": "overlay", "annotations": []}
    data: list[Trace] = []
    for k, (axes, place) in enumerate(zip(shown, _places(shown), strict=True), 1):
        data += _drawn(axes, k, place)
        layout |= both(shown, k, place)
        layout["annotations"] += [*title(axes, k), *notes(axes, k)]
    data += _keys(figure, data)
    _name_once(data)
    lines = all(one.get("mode") == "lines" for one in data if one.get("hoverinfo") != "skip")
    layout["hovermode"] = "x unified" if lines else "closest"
    heading, _, note = str(figure.get_label()).partition("\n")
    return Picture(heading, said or note, data, layout, tuple(behind(shown)), still, _size(figure, shown))


def _still(figure: Any) -> str:
    """The figure as an SVG file in base64; writing it lays the figure out."""
    kept = io.BytesIO()
    with styled():
        figure.savefig(kept, format="svg", facecolor="1.0")
    return base64.b64encode(kept.getvalue()).decode()


def _drawn(axes: Any, k: int, place: Place) -> Iterator[Trace]:
    """What stands in the k-th axes, bound to their scales."""
    for one in traces(axes):
        shaded = one.get("marker", one)
        if shaded.get("showscale"):
            shaded["colorbar"] = shade_bar(axes, place)
        yield one | {"xaxis": identity("x", k), "yaxis": identity("y", k)}


def _size(figure: Any, shown: list[Any]) -> Size:
    """Axes side by side, or beside long names, have no room on a phone."""
    edges = {round(float(axes.get_position().x0), 2) for axes in shown}
    return Size(round(figure.get_figheight() * 96.0), len(edges) > 1 or min(edges) > LABELLED)


def _places(shown: list[Any]) -> list[Place]:
    """Of each of the axes."""
    boxes = np.array([axes.get_position().extents for axes in shown])
    low, high = boxes[:, :2].min(axis=0), boxes[:, 2:].max(axis=0)
    shares = (boxes - [*low, *low]) / [*(high - low), *(high - low)]
    return [(float(left), float(right), float(foot), float(top)) for left, foot, right, top in shares]


def _keys(figure: Any, data: list[Trace]) -> Iterator[Trace]:
    """Entries of the printed legend that no trace bears."""
    known = {one["name"] for one in data if one.get("showlegend", True)}
    for legend in figure.legends:
        for handle, text in zip(legend.legend_handles, legend.get_texts(), strict=True):
            if words(text.get_text()) not in known:
                face = handle.get_facecolor()
                marker = {"symbol": "square", "size": 12, "color": colour(face)}
                yield {"type": "scatter", "x": [None], "y": [None], "mode": "markers", "name": words(text.get_text()), "marker": marker}  # fmt: skip


def _name_once(data: list[Trace]) -> None:
    """Each name once in the legend."""
    seen: set[str] = set()
    for one in data:
        if one.get("showlegend", True):
            one["showlegend"] = one["name"] not in seen
            seen.add(one["name"])
