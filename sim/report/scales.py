"""The scales of printed axes as Plotly takes them: where they stand, their titles, ends and marks."""

from textwrap import wrap
from typing import Any

import numpy as np

from .parts import identity, words

LONGEST = 46  # letters of a line of a title
FAR = 1e-6  # of a figure's width: nearer, two axes stand at one place


def both(shown: list[Any], k: int, place: tuple[float, float, float, float]) -> dict[str, Any]:
    """Both scales of the k-th axes."""
    axes, under, (left, right, foot, top) = shown[k - 1], _under(shown[k - 1], shown), place
    x, y = _axis(axes.xaxis, axes.get_xlim()), _axis(axes.yaxis, axes.get_ylim())
    x |= {"domain": [left, right], "anchor": identity("y", k)}
    y |= {"domain": [foot, top], "anchor": identity("x", k)}
    if under:
        x |= {"visible": False}
        y |= {"overlaying": identity("y", under), "side": "right", "showgrid": False, "tickmode": "auto"}
    for way, one, others in (("x", x, axes.get_shared_x_axes()), ("y", y, axes.get_shared_y_axes())):
        first = next(j for j, other in enumerate(shown, 1) if other is axes or others.joined(axes, other))
        if first < k:
            one["matches"] = identity(way, first)
    return {identity("xaxis", k): x, identity("yaxis", k): y}


def _axis(axis: Any, ends: tuple[float, float]) -> dict[str, Any]:
    """Title, ends and, where the picture sets them, marks."""
    from matplotlib.ticker import FixedFormatter, FixedLocator, FuncFormatter

    inside = [v for v in axis.get_majorticklocs() if min(ends) <= v <= max(ends)]
    found: dict[str, Any] = {
        "title": {"text": words(_folded(axis.get_label_text()))},
        "range": [float(v) for v in ends],
    }
    found |= {"nticks": len(inside) + 1}
    if isinstance(axis.get_major_locator(), FixedLocator):
        found |= {"tickvals": [float(v) for v in axis.get_majorticklocs()]}
        if isinstance(axis.get_major_formatter(), FixedFormatter | FuncFormatter):
            found |= {"ticktext": [words(one.get_text()) for one in axis.get_majorticklabels()], "ticks": ""}
            turned = axis.get_majorticklabels()[0].get_rotation() if found["ticktext"] else 0.0
            found |= {"tickangle": -turned}
    side = "labelbottom" if axis.axis_name == "x" else "labelleft"
    if axis.get_tick_params().get(side) is False and axis.get_tick_params().get("labelright") is not True:
        found |= {"showticklabels": False}
    return found | ({} if axis.get_gridlines()[0].get_visible() else {"showgrid": False})


def _folded(text: str) -> str:
    """A long title in two lines."""
    return "\n".join(part for line in text.splitlines() for part in wrap(line, LONGEST))


def shade_bar(axes: Any, place: tuple[float, float, float, float]) -> dict[str, Any]:
    """Where the scale of the shades stands and what it is of."""
    shades = next(one.colorbar for one in axes.collections if getattr(one, "colorbar", None) is not None)
    _, _, foot, top = place
    if shades.orientation == "horizontal":
        text, where = shades.ax.get_xlabel(), {"orientation": "h", "yref": "container", "y": 0.0, "yanchor": "bottom"}
    else:
        text, where = shades.ax.get_ylabel(), {"y": (foot + top) / 2, "len": top - foot}
    return {"title": {"text": words(text), "side": "top"}, "thickness": 14, "outlinewidth": 0, **where}


def _under(axes: Any, shown: list[Any]) -> int:
    """The number of the axes on which these lie as a second scale, 0 where they stand alone."""
    here = axes.get_position().extents
    first = next(k for k, one in enumerate(shown, 1) if np.allclose(one.get_position().extents, here, atol=FAR))
    return 0 if shown[first - 1] is axes else first
