"""The picture of `improve`: how far each change goes of its way, and what reading it ends at."""

from collections.abc import Iterator
from textwrap import wrap
from typing import Any

from ...names import kind_of
from ...showing import FAMILIES
from ...style import AMBER, BRICK, LIMIT, QUIET, TEAL, drawn, head, keyed, new_figure
from . import limits, words
from .goal import KINDS
from .result import ImproveResult

LINE = 26  # letters of a row's name before it is parted
FREE, PAST, FALLS = (TEAL, "o", ""), (BRICK, "X", "////"), (AMBER, "v", "..")  # colour, marker, hatch
MOST = 16


@drawn
def draw(r: ImproveResult, family: str) -> Any:
    """The figure."""
    from matplotlib.patches import Patch

    rows = [*r.changes[:MOST], *r.pairs[:4]]
    labels = [list(_said(row, family)) for row in rows]
    places = _places(labels)
    figure = new_figure(height=1.8 + 0.5 * max([1.0, *places]))
    left, right = figure.subplots(1, 2, sharey=True)
    kind = KINDS.get(r.reading, kind_of(r.reading))
    unit = FAMILIES[family].get(kind)
    factor, offset, text = (unit.factor, unit.offset, unit.unit) if unit else (1.0, 0.0, "")
    now = r.wanted if r.now is None else r.now
    looks = [FALLS if not row["meets"] else PAST if limits.hurt(row) else FREE for row in rows]
    for place, row, (colour, mark, hatch) in zip(places, rows, looks, strict=True):
        end = ((r.wanted if row["value"] is None else row["value"]) - offset) / factor
        left.barh(place, 100.0 * max(row["shares"]), color=colour, hatch=hatch, edgecolor="1.0", height=0.62)
        right.hlines(place, (now - offset) / factor, end, color=colour, linewidth=2.5)
        right.plot(end, place, mark, color=colour, markersize=7, zorder=3)
    left.set_yticks(places, ["\n".join(lines) for lines in labels])
    left.set_ylim(0.3, max([1.0, *places]) + 0.7)
    left.set_xlim(0.0, 104.0)
    left.set_xlabel("how far it goes\n[% of its way]")
    right.axvline((now - offset) / factor, color=QUIET, linewidth=1.0)
    right.axvline((r.wanted - offset) / factor, **LIMIT)
    right.margins(x=0.08)
    right.locator_params(axis="x", nbins=3)
    name = "\n".join(wrap(words.label(r.reading), LINE - 4))
    right.set_xlabel(f"{name} [{text}]" if text else name)
    if r.changes and r.pairs:
        last = min(len(r.changes), MOST)
        edge = places[last - 1] - 0.5
        for axes in (left, right):
            axes.axhline(edge, color=QUIET, linewidth=0.8)
    for axes in (left, right):
        axes.grid(False, axis="y")
    marks = ((FREE, "meets it, hurts no limit"), (PAST, "meets it past a limit"), (FALLS, "falls short"))
    handles = [Patch(facecolor=c, hatch=h, edgecolor="1.0", label=said) for (c, _, h), said in marks]
    keyed(figure, handles, [said for _, said in marks])
    head(figure, f"{r.title}: toward {r.target} (dashed); pairs below the line")
    return figure


def _places(labels: list[list[str]]) -> list[float]:
    """Where each row stands, the first on top: a row of four lines takes the room of two."""
    rooms = [max(0.5 * len(lines), 1.0) for lines in labels]
    return [sum(rooms[k + 1 :]) + 0.5 * rooms[k] + 0.5 for k in range(len(rooms))]


def _said(row: dict[str, Any], family: str) -> Iterator[str]:
    """The lines that name a row: what changes, and from where to where where one line is too short for both."""
    for line in words.change(row, family):
        what, colon, how = line.partition(": ")
        yield from [line] if len(line) <= LINE or not colon else [what + ":", how]
