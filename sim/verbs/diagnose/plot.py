"""The picture of a diagnosis: measured against predicted, a panel for each channel."""

import os
import tempfile
from pathlib import Path
from typing import Any

import numpy as np

from ... import channels
from ...errors import CaseError
from ...files import check_new
from .result import Diagnosis
from .table import channel_look

ENDINGS = (".png", ".svg", ".pdf")
OFFSET = {"temperature": (1.0, 273.15, "degC"), "pressure_gauge": (1e5, 0.0, "bar")}


def check_plot(path: Path, force: bool) -> None:
    """Raise CaseError where a picture cannot go to `path`, before anything is calculated."""
    if path.suffix.lower() not in ENDINGS:
        raise CaseError(f"--plot {path} ends in none of {', '.join(ENDINGS)}; write for example --plot fit.png.")
    check_new(path, force)


def save(figure: Any, path: Path, force: bool) -> None:
    """Write a figure whole or not at all; raises CaseError."""
    check_plot(path, force)
    temporary = ""
    try:
        handle, temporary = tempfile.mkstemp(prefix=f".{path.name}.", suffix=path.suffix, dir=path.parent)
        os.close(handle)
        figure.savefig(temporary, dpi=150)
        os.chmod(temporary, 0o644)
        os.replace(temporary, path)
    except OSError as error:
        raise CaseError(f"{path} cannot be written: {error.strerror or error}.") from None
    finally:
        if temporary and os.path.exists(temporary):
            os.unlink(temporary)


def draw(d: Diagnosis) -> Any:
    """The figure: predicted across, measured up, with error bars; on the line the two agree."""
    from matplotlib.figure import Figure

    names = list(dict.fromkeys(row["channel"] for row in d.comparison))
    across = min(len(names), 3)
    down = -(-len(names) // across)
    figure = Figure(figsize=(3.6 * across, 3.3 * down + 0.5), layout="constrained")
    panels = np.atleast_1d(figure.subplots(down, across)).ravel()
    shade = None
    for axes, name in zip(panels, names, strict=False):
        shade = _panel(axes, [r for r in d.comparison if r["channel"] == name], name)
    for axes in panels[len(names) :]:
        axes.set_visible(False)
    figure.colorbar(shade, ax=list(panels[: len(names)]), label="engine speed [rpm]", pad=0.01)
    figure.suptitle(f"{d.title}: {d.log}, fitted", x=0.01, ha="left", fontsize=10)
    return figure


def _panel(axes: Any, rows: list[dict[str, Any]], name: str) -> Any:
    factor, offset, unit = OFFSET.get(channels.channel(name).kind, (channel_look(name)[0], 0.0, channel_look(name)[1]))
    x, y = (np.array([(r[k] - offset) / factor for r in rows]) for k in ("predicted", "measured"))
    bars = np.array([r["error"] / factor for r in rows])
    ends = [min(x.min(), (y - bars).min()), max(x.max(), (y + bars).max())]
    axes.plot(ends, ends, color="0.6", linewidth=1.0, zorder=1)
    axes.errorbar(x, y, yerr=bars, fmt="none", ecolor="0.7", elinewidth=0.8, zorder=2)
    shade = axes.scatter(x, y, c=[r["speed_rpm"] for r in rows], s=18, cmap="viridis", zorder=3)
    axes.set_title(channels.words(name), fontsize=9)
    axes.set_xlabel(f"predicted [{unit}]", fontsize=8)
    axes.set_ylabel(f"measured [{unit}]", fontsize=8)
    axes.tick_params(labelsize=8)
    axes.spines[["top", "right"]].set_visible(False)
    return shade
