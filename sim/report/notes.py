"""Headings of axes and words within them, each where it was printed."""

from collections.abc import Iterator
from typing import Any

from .colours import colour
from .parts import POINT, identity, number, on_field, words


def title(axes: Any, k: int) -> Iterator[dict[str, Any]]:
    """The heading of axes, above them."""
    if text := axes.get_title(loc="left"):
        yield {"text": f"<b>{words(text)}</b>", "xref": f"{identity('x', k)} domain", "yref": f"{identity('y', k)} domain", "x": 0, "y": 1, "xanchor": "left",
               "yanchor": "bottom", "showarrow": False}  # fmt: skip


def notes(axes: Any, k: int) -> Iterator[dict[str, Any]]:
    """Words within the axes, each where it was printed."""
    across, up = {"left": "x0", "right": "x1", "center": ""}, {"bottom": "y0", "baseline": "y0", "top": "y1"}
    for text in axes.texts:
        if not text.get_visible() or not text.get_text():
            continue
        box, ha, va = text.get_window_extent(), text.get_ha(), text.get_va()
        at = [getattr(box, across[ha]) if across[ha] else (box.x0 + box.x1) / 2,
              getattr(box, up[va]) if va in up else (box.y0 + box.y1) / 2]  # fmt: skip
        literal = on_field(axes)
        ink = colour(text.get_color(), literal).replace("@shade", "@quiet")
        yield {
            "text": words(text.get_text()), "showarrow": False, **_spot("x", k, *_both(axes, at, 0)), **_spot("y", k, *_both(axes, at, 1)),
            "xanchor": ha, "yanchor": {"y0": "bottom", "y1": "top"}.get(up.get(va, ""), "middle"), "textangle": -text.get_rotation(),
            "font": {"color": ink, "size": POINT * text.get_fontsize()}, "borderpad": 0,
            **({"bgcolor": "rgba(255,255,255,0.6)"} if literal else {}),
        }  # fmt: skip


def _both(axes: Any, at: Any, way: int) -> tuple[float, float]:
    """A place of the figure in the data's units and as a share of the axes."""
    return axes.transData.inverted().transform(at)[way], axes.transAxes.inverted().transform(at)[way]


def _spot(way: str, k: int, value: float, share: float) -> dict[str, Any]:
    """A coordinate of words: in the data's units, or beside the axes, where Plotly would leave them out, as a share of those."""
    if 0.001 < share < 0.999:
        return {f"{way}ref": identity(way, k), way: number(value)}
    return {f"{way}ref": f"{identity(way, k)} domain", way: number(share)}
