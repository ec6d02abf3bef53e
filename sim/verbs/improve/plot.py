"""The picture of `improve`: how far each change goes of its way, and what reading it ends at."""

from typing import Any

from ...names import kind_of
from ...showing import FAMILIES
from . import words
from .goal import KINDS
from .result import ImproveResult

FREE, PAST, FALLS = "#4f772d", "#c1553b", "#b8b8b8"
MOST = 16


def draw(r: ImproveResult, family: str) -> Any:
    """The figure."""
    from matplotlib.figure import Figure
    from matplotlib.patches import Patch

    rows = [*r.changes[:MOST], *r.pairs[:4]]
    figure = Figure(figsize=(9.4, 1.8 + 0.42 * max(len(rows), 1)), layout="constrained")
    left, right = figure.subplots(1, 2, sharey=True)
    kind = KINDS.get(r.reading, kind_of(r.reading))
    unit = FAMILIES[family].get(kind)
    factor, offset, text = (unit.factor, unit.offset, unit.unit) if unit else (1.0, 0.0, "")
    places = list(range(len(rows), 0, -1))
    shades = [FALLS if not row["meets"] else PAST if row["passed"] else FREE for row in rows]
    left.barh(places, [100.0 * max(row["shares"]) for row in rows], color=shades, height=0.62)
    left.set_yticks(places, ["\n".join(words.change(row, family)) for row in rows], fontsize=7)
    left.set_xlim(0.0, 104.0)
    left.set_xlabel("how far it goes [% of its way]")
    ends = [(row["value"] - offset) / factor for row in rows]
    right.hlines(places, [(r.now - offset) / factor] * len(rows), ends, color=shades, linewidth=2.5)
    right.scatter(ends, places, color=shades, s=28, zorder=3)
    right.axvline((r.now - offset) / factor, color="0.6", linewidth=1.0)
    right.axvline((r.wanted - offset) / factor, color="0.15", linewidth=1.3, dashes=(6, 3))
    right.set_xlabel(f"{words.label(r.reading)} [{text}]" if text else words.label(r.reading))
    if r.changes and r.pairs:
        edge = len(rows) - min(len(r.changes), MOST) + 0.5
        for axes in (left, right):
            axes.axhline(edge, color="0.8", linewidth=0.8)
    for axes in (left, right):
        axes.spines[["top", "right"]].set_visible(False)
        axes.grid(axis="x", color="0.92", linewidth=0.6)
        axes.set_axisbelow(True)
    marks = ((FREE, "meets it, passes no further limit"), (PAST, "meets it past a limit"), (FALLS, "falls short"))
    handles = [Patch(color=c, label=t) for c, t in marks]
    figure.legend(handles=handles, loc="outside lower center", ncols=3, frameon=False, fontsize=8)
    figure.suptitle(f"{r.title}: toward {r.target} (dashed); pairs below the line", fontsize=10, x=0.01, ha="left")
    return figure
