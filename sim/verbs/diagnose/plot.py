"""The picture of a diagnosis: measured against predicted, a panel for each channel."""

from typing import Any

import numpy as np

from ... import channels
from ...style import INK, QUIET, SHADE, drawn, head, new_figure, scale, shades
from .looks import channel_look
from .result import Diagnosis

ACROSS = 2


@drawn
def draw(d: Diagnosis) -> Any:
    """The figure: predicted across, measured up, with all errors as bars; on the line the two agree."""
    names = list(dict.fromkeys(row["channel"] for row in d.comparison))
    across = min(len(names), ACROSS)
    down = -(-len(names) // across)
    figure = new_figure(height=2.6 * down + 1.2)
    panels = np.atleast_1d(figure.subplots(down, across)).ravel()
    field = None
    for axes, name in zip(panels, names, strict=False):
        field = _panel(axes, [r for r in d.comparison if r["channel"] == name], name, d.case.report.units)
    for axes in panels[len(names) :]:
        axes.set_visible(False)
    figure.colorbar(field, ax=list(panels[: len(names)]), label="engine speed [rpm]", location="bottom", pad=0.02)
    head(figure, f"Measured against predicted after the fit: {d.log}, {d.points} points")
    return figure


def _panel(axes: Any, rows: list[dict[str, Any]], name: str, family: str) -> Any:
    kind = channels.channel(name).kind
    if kind in ("temperature", "pressure_gauge"):
        turned, unit = scale("pressure" if kind == "pressure_gauge" else kind, family)
    else:
        factor, unit = channel_look(name, family)

        def turned(values: Any) -> Any:
            return np.asarray(values, dtype=float) / factor

    x, y, above = (turned([r[k] for r in rows]) for k in ("predicted", "measured", "measured"))
    bars = turned([r["measured"] + r["error"] for r in rows]) - above
    ends = [min(x.min(), (y - bars).min()), max(x.max(), (y + bars).max())]
    axes.plot(ends, ends, color=QUIET, linewidth=1.0, zorder=1)
    axes.errorbar(x, y, yerr=bars, fmt="none", ecolor=SHADE, elinewidth=0.9, zorder=2)
    speeds = [r["speed_rpm"] for r in rows]
    field = axes.scatter(x, y, c=speeds, s=22, cmap=shades(), edgecolors=INK, linewidths=0.6, zorder=3)
    axes.set_title(channels.words(name))
    axes.set_xlabel(f"predicted [{unit}]")
    axes.set_ylabel(f"measured [{unit}]")
    return field
