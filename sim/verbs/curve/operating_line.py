"""The compressor's map with the line that an engine runs along at full load."""

from typing import Any, NamedTuple

import numpy as np

from ....models import compressor
from ...case import Case
from ...errors import CaseError
from ...machines import compressor_of
from ...showing import shown
from ...style import BRICK, HERE, INK, LEAST, LIMIT, QUIET, TEAL, drawn, haloed, head, legend, new_figure, scale
from ...surroundings import GAMMA_AIR, R_AIR
from .result import CurveResult

NODES = 140  # of the field, along flow and along pressure ratio
LEVELS = (0.40, 0.50, 0.60, 0.65, 0.68, 0.70, 0.72, 0.74, 0.76, 0.78, 0.80)  # of efficiency
ROOM = 1.15  # beyond the outermost of points and surge line


class Field(NamedTuple):
    """A compressor at one inlet state, on a grid of corrected flow (columns) and pressure ratio (rows)."""

    temperature: float  # of the inlet state [K]
    pressure: float  # [Pa]
    flow: np.ndarray  # corrected [kg/s]
    ratio: np.ndarray
    efficiency: np.ndarray  # NaN short of surge and past choke
    speed: np.ndarray  # [rad/s], likewise
    surge: np.ndarray  # corrected flow for each ratio [kg/s]
    choke: np.ndarray


def has_map(case: Case) -> bool:
    """Whether there is a map to draw."""
    return case.compressor is not None and case.compressor.model != "constant"


def check(case: Case) -> None:
    """Raise CaseError where a compressor has no map to draw."""
    if not has_map(case):
        raise CaseError(
            '--operating-line draws the compressor by its wheel or its map: write compressor.model = "wheel" or "map".'
        )


def field(case: Case, highest: float) -> Field:
    """The compressor up to a pressure ratio, at its map's reference state or in the case's own air."""
    machine, packed = compressor_of(case.compressor)
    T, p = case.ambient.temperature, case.ambient.pressure
    if machine.model == compressor.MAP:
        T, p = machine.chart.reference_temperature, machine.chart.reference_pressure
    at = (T, p, R_AIR, GAMMA_AIR)
    ratio = np.linspace(1.02, highest, NODES)
    edges = np.array([compressor.limits(machine, packed, float(y), *at) for y in ratio])
    flow = np.linspace(0.0, 1.05 * edges[:, 1].max(), NODES + 1)[1:]
    work, speed = (np.full((NODES, NODES), np.nan) for _ in range(2))
    for i, y in enumerate(ratio):
        for j in np.flatnonzero((flow >= edges[i, 0]) & (flow <= edges[i, 1])):
            work[i, j], speed[i, j] = compressor.state(machine, packed, float(flow[j]), float(y), *at)
    ideal = R_AIR * GAMMA_AIR / (GAMMA_AIR - 1.0) * T * (ratio ** ((GAMMA_AIR - 1.0) / GAMMA_AIR) - 1.0)
    return Field(T, p, flow, ratio, ideal[:, None] / work, speed, edges[:, 0], edges[:, 1])


def line(
    case: Case, result: CurveResult, temperature: float, pressure: float
) -> tuple[list[float], list[float], list[float]]:
    """Engine speed [rpm], corrected flow [kg/s] and pressure ratio of every point that has an answer."""
    loss, at = case.ambient.inlet_pressure_loss
    found: tuple[list[float], list[float], list[float]] = ([], [], [])
    for rpm, p in zip(result.speeds_rpm, result.points, strict=True):
        if p is not None and p["compressor_pressure_ratio"] is not None:
            inlet = case.ambient.pressure - loss * (p["air_flow_kg_s"] / at) ** 2
            flow = p["air_flow_kg_s"] * (case.ambient.temperature / temperature) ** 0.5 * pressure / inlet
            for values, value in zip(found, (rpm, flow, p["compressor_pressure_ratio"]), strict=True):
                values.append(value)
    return found


@drawn
def draw(case: Case, result: CurveResult, family: str) -> Any:
    """The figure; raises CaseError for a compressor without a map."""
    check(case)
    made = [p["compressor_pressure_ratio"] or 1.0 for p in result.points if p is not None]
    grid = field(case, 1.0 + ROOM * (max(made, default=2.0) - 1.0) + 0.2)
    (flow, unit), (turns, rpm) = scale("mass_flow", family), scale("rotation", family)
    figure = new_figure(7.2, 6.2)
    axes = figure.subplots()
    axes.grid(False)
    islands = axes.contour(
        flow(grid.flow), grid.ratio, 100.0 * grid.efficiency, [100.0 * e for e in LEVELS], colors=TEAL, linewidths=0.9
    )
    speeds = axes.contour(
        flow(grid.flow), grid.ratio, turns(grid.speed) / 1e3, 8, colors=QUIET, linewidths=0.8, linestyles="--"
    )
    haloed(axes.clabel(islands, fmt="%.0f %%", fontsize=LEAST, zorder=2.5))
    haloed(axes.clabel(speeds, fmt="%.0f", fontsize=LEAST, zorder=2.5))
    axes.plot(flow(grid.surge), grid.ratio, label="surge", **{**LIMIT, "color": BRICK, "linewidth": 1.8})
    axes.plot(flow(grid.choke), grid.ratio, label="choke, or where its map ends", **LIMIT)
    axes.plot([], [], color=TEAL, linewidth=0.9, label="efficiency [%]")
    axes.plot([], [], color=QUIET, linewidth=0.8, linestyle="--", label=f"shaft [1000 {rpm}]")
    _points(axes, line(case, result, grid.temperature, grid.pressure), flow)
    axes.set_xlim(0.0, float(flow(1.02 * grid.flow[-1])))
    axes.set_ylim(1.0, grid.ratio[-1])
    axes.set_xlabel(
        f"air flow, corrected to {shown(grid.pressure, 'pressure', family)} and {shown(grid.temperature, 'temperature', family)} [{unit}]"
    )
    axes.set_ylabel("pressure ratio of the compressor")
    head(figure, f"{result.title}: the compressor along full load")
    legend(figure, 3)
    return figure


def _points(axes: Any, points: tuple[list[float], list[float], list[float]], flow: Any) -> None:
    rpm, x, y = points
    axes.plot(flow(x), y, color=INK, linewidth=1.8, zorder=4)
    axes.plot(flow(x), y, label="full load", zorder=5, **HERE)
    for k in sorted({0, len(rpm) // 2, len(rpm) - 1}) if rpm else ():
        aside, how = ((-8, 6), "right") if k == 0 else ((5, 7 if k == len(rpm) - 1 else -14), "left")
        text = axes.annotate(
            f"{rpm[k]:.0f} rpm",
            (float(flow(x[k])), y[k]),
            aside,
            textcoords="offset points",
            ha=how,
            fontsize=LEAST,
            zorder=6,
        )
        haloed([text])
