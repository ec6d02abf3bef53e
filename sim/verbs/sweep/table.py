"""A sweep as a person reads it: what varied, how the points ended, the least and the most of the main results and where."""

from collections.abc import Iterator
from typing import TYPE_CHECKING

import numpy as np
from rich.console import Console, RenderableType
from rich.text import Text

from ...cautions import GENERAL
from ...names import label_of
from ...table_print import NONE, _headed, _sentences, _table
from . import shows
from .design import Design
from .point import STATUSES
from .table_text import points_of

if TYPE_CHECKING:
    import xarray as xr

MAIN = (
    "boost_pa", "backpressure_pa", "exhaust_temperature_k", "turbine_inlet_temperature_k", "probe_reading_k", "imep_net_pa",
    "torque_nm", "power_w", "bsfc_kg_j", "residual_fraction", "peak_pressure_pa", "octane_required", "knock_margin_deg",
)  # fmt: skip


def print_sweep(found: "xr.Dataset", plan: Design, family: str, console: Console | None = None) -> None:
    """Print a sweep in the unit family "metric" or "us"."""
    console = console or Console(highlight=False)
    console.print(Text(f"\n{found.attrs['title']}: {plan.size} points", style="bold"))
    for part in parts(found, plan, family):
        console.print(part)


def parts(found: "xr.Dataset", plan: Design, family: str) -> Iterator[RenderableType]:
    """The parts of the print, top to bottom."""
    table = _table("varied", "values", "from", "to")
    for axis in plan.axes:
        table.add_row(axis.name, str(len(set(axis.values))), str(axis.values[0]), str(axis.values[-1]))
    yield _headed(plan.how + (f", {plan.note}" if plan.note else ""), table)
    yield _headed("points", _ended(found))
    yield from _extremes(found, plan, family)
    yield from _limits(found)
    yield from _sentences("first points without an answer", _lost(found, plan))
    yield from _sentences("caution", [GENERAL])


def _ended(found: "xr.Dataset") -> RenderableType:
    table = _table("how they ended", "points")
    status = found["status"].values.ravel()
    for number, count in zip(*np.unique(status, return_counts=True), strict=True):
        table.add_row(STATUSES[number], str(count))
    warned = int((found["warnings"].values != "").sum())
    table.add_row("with warnings", str(warned))
    return table


def _extremes(found: "xr.Dataset", plan: Design, family: str) -> Iterator[RenderableType]:
    """Least and most of each main result, and the values of the varied inputs there."""
    table = _table("result", "least", "at", "most", "at")
    rows = plan.rows()
    for name in MAIN:
        if name not in found.data_vars:
            continue
        data = shows.values(found, name).where(found["converged"] == 1).values.ravel()
        if not np.isfinite(data).any():
            continue
        low, high = int(np.nanargmin(data)), int(np.nanargmax(data))
        show = shows.how(name, family)
        texts = [f"{(data[k] - show.offset) / show.factor:.{show.decimals}f} {show.unit}".strip() for k in (low, high)]
        table.add_row(shows.label(name), texts[0], _at(rows[low]), texts[1], _at(rows[high]))
    if table.row_count:
        yield _headed("settled points", table)


def _at(row: tuple[object, ...]) -> str:
    return ", ".join(str(value) for value in row)


def _limits(found: "xr.Dataset") -> Iterator[RenderableType]:
    """How many points are past each limit."""
    if "limit_exceeded" not in found.data_vars:
        return
    table = _table("limit", "points past it")
    counts = (found["limit_exceeded"] == 1).sum(points_of(found))
    for name, count in zip(found["limit"].values, counts.values, strict=True):
        table.add_row(label_of(str(name)), str(int(count)) if count else NONE)
    yield _headed("limits", table)


def _lost(found: "xr.Dataset", plan: Design, most: int = 3) -> list[str]:
    messages = found["message"].values.ravel()
    places = np.flatnonzero(messages != "")
    return [f"{_at(plan.rows(int(k), int(k) + 1)[0])}: {messages[k]}" for k in places[:most]]
