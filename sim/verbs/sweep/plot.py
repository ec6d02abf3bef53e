"""Pictures of a sweep over one or two inputs: lines over one input of numbers, maps over two."""

from typing import TYPE_CHECKING, Any

import numpy as np

from ...errors import CaseError
from ...names import label_of
from ...style import INK, LEAST, drawn, haloed, head, look, new_figure, shades
from . import shows
from .design import GRID, Design
from .table_text import points_of

if TYPE_CHECKING:
    import xarray as xr

PANELS = 4


def can_be_drawn(plan: Design) -> bool:
    """Whether a design has a picture: one input of numbers, or a grid of two of which one at least is numbers."""
    numbers = [not isinstance(a.in_si()[0], str) for a in plan.axes]
    return len(plan.axes) <= 2 and any(numbers) and (len(plan.axes) == 1 or plan.how == GRID)


def check_design(plan: Design) -> None:
    """Raise CaseError where no picture can be drawn of a design, before anything is calculated."""
    if not can_be_drawn(plan):
        raise CaseError(
            "--plot draws one varied input of numbers, or a grid of two of which one at least is numbers; leave it out, and "
            "draw from the file of --out."
        )


@drawn
def plot(found: "xr.Dataset", wanted: list[str] | None = None, family: str = "metric") -> Any:
    """A matplotlib figure of a sweep over one or two inputs, a panel for each result; raises CaseError."""
    names = shows.chosen(found, wanted, PANELS)
    inputs = list(axes_of(found))
    if not 1 <= len(inputs) <= 2:
        raise CaseError(f"{len(inputs)} inputs vary; select one or two, for example with dataset.sel(...).")
    across = [n for n in inputs if found[n].dtype.kind in "fi"]
    if not across:
        raise CaseError("neither varied input is numbers, so there is nothing to draw a line or a map over.")
    figure = new_figure(height=(3.3 if len(across) == 2 else 2.6) * len(names) + 0.6)
    for number, name in enumerate(names):
        axes = figure.add_subplot(len(names), 1, number + 1)
        (_map if len(across) == 2 else _lines)(axes, found, name, across, inputs, family)
    note = _note(found, names) if len(across) == 2 else ""
    head(figure, found.attrs["title"] + (f"\n{note}" if note else ""))
    return figure


def axes_of(found: "xr.Dataset") -> list[str]:
    """The varied inputs that are dimensions or lie along the one dimension of points."""
    points = set(points_of(found))
    return [str(n) for n, c in found.coords.items() if "input" in c.attrs and set(c.dims) <= points and c.ndim == 1]


def settled(found: "xr.Dataset", name: str) -> "xr.DataArray":
    """A result where the point has a settled answer, else NaN."""
    return shows.values(found, name).where(found["converged"] == 1)


def _lines(axes: Any, found: "xr.Dataset", name: str, across: list[str], inputs: list[str], family: str) -> None:
    """A result over one input of numbers, a line for each value of the other."""
    x = shows.in_family(across[0], found[across[0]].values, family)
    order = np.argsort(x)
    data = settled(found, name)
    other = next((n for n in inputs if n not in across), None)
    lines = [("", data)] if other is None else [(str(v), data.sel({other: v})) for v in found[other].values]
    for number, (label, line) in enumerate(lines):
        y = shows.in_family(name, line.values, family)
        axes.plot(x[order], y[order], label=label, **look(number, markers=len(x) < 40))
    if other is not None:
        axes.legend()
    axes.set_xlabel(shows.titled(across[0], family))
    axes.set_ylabel(shows.titled(name, family))


def _map(axes: Any, found: "xr.Dataset", name: str, across: list[str], inputs: list[str], family: str) -> None:
    """A result over two inputs: shade and lines; an edge where a limit is met, hatched where the boost is not reached."""
    x, y = (shows.in_family(n, found[n].values, family) for n in across)
    data = shows.in_family(name, settled(found, name).transpose(*reversed(across)).values, family)
    shade = axes.pcolormesh(x, y, data, shading="nearest", cmap=shades())
    axes.figure.colorbar(shade, ax=axes)
    if min(data.shape) > 1:
        if np.isfinite(data).any() and np.nanmax(data) > np.nanmin(data):
            lines = axes.contour(x, y, data, 6, colors="white", linewidths=0.7)
            haloed(axes.clabel(lines, fontsize=LEAST, colors=INK))
        least = _least_margin(found).transpose(*reversed(across)).values
        if np.nanmin(least) < 0.0 < np.nanmax(least):
            axes.contour(x, y, least, [0.0], colors="white", linewidths=4.0)
            axes.contour(x, y, least, [0.0], colors=INK, linewidths=2.0, linestyles="dashed")
        short = (found["boost_reached"] == 0).transpose(*reversed(across)).values.astype(float)
        if short.any():
            axes.contourf(x, y, short, [0.5, 1.5], colors="none", hatches=["///"])
    axes.set_xlabel(shows.titled(across[0], family))
    axes.set_ylabel(shows.titled(across[1], family))
    axes.grid(False)
    axes.set_title(shows.titled(name, family))


def _least_margin(found: "xr.Dataset") -> "xr.DataArray":
    """The least margin to any limit as a share of that margin's own spread: its sign says whether a limit is passed."""
    margin = found["limit_margin"]
    scale = abs(margin).max(points_of(found))
    return (margin / scale.where(scale > 0.0, 1.0)).min("limit")


def _note(found: "xr.Dataset", names: list[str]) -> str:
    """What the lines of a map mean."""
    passed = found["limit_exceeded"] == 1
    parts = []
    if any(bool(settled(found, name).isnull().any()) for name in names):
        parts.append("blank: none there, or no settled answer")
    if bool(passed.any()) and not bool(passed.any("limit").all()):
        parts.append("broad dashes: the edge of a limit (" + "; ".join(_limits(found)) + ")")
    elif bool(passed.any()):
        parts.append("every point is past a limit (" + "; ".join(_limits(found)) + ")")
    if bool((found["boost_reached"] == 0).any()):
        parts.append("hatched: boost not reached")
    return "; ".join(parts)


def _limits(found: "xr.Dataset") -> list[str]:
    passed = (found["limit_exceeded"] == 1).any(points_of(found))
    return [label_of(str(n)) for n in found["limit"].values[passed.values]]
