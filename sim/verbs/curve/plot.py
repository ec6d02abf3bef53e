"""The picture of a curve: power and torque, the shares of the backpressure, the margins."""

from typing import Any

from ...showing import FAMILIES
from ..limits.table import short
from .result import CurveResult

INK, WARM, GREEN, GREY = "#1b4965", "#c1553b", "#4f772d", "#8a8a8a"
NEAREST = 5  # margins drawn


def draw(r: CurveResult, family: str) -> Any:
    """The figure."""
    from matplotlib.figure import Figure

    boosted = any(p is not None and p["backpressure_pipe_pa"] is not None for p in r.points)
    figure = Figure(figsize=(7.6, 8.6 if boosted else 6.2), layout="constrained")
    rows = figure.subplots(3 if boosted else 2, 1, sharex=True)
    _power(rows[0], r, family)
    if boosted:
        _pressure(rows[1], r, family)
    _margins(rows[-1], r)
    rows[0].set_title(f"{r.title}: along engine speed", loc="left", fontsize=10)
    rows[-1].set_xlabel("engine speed [rpm]")
    for axes in rows:
        axes.grid(axis="y", color="0.9", linewidth=0.6)
        axes.set_axisbelow(True)
        axes.spines["top"].set_visible(False)
        axes.margins(x=0.01)
    return figure


def _column(r: CurveResult, name: str, factor: float) -> list[float]:
    return [float("nan") if p is None or p[name] is None else p[name] / factor for p in r.points]


def _power(axes: Any, r: CurveResult, family: str) -> None:
    power, torque = FAMILIES[family]["power"], FAMILIES[family]["torque"]
    axes.plot(r.speeds_rpm, _column(r, "power_w", power.factor), color=INK, linewidth=2.0, label="power, crank")
    wheels = [float("nan") if v is None else v / power.factor for v in r.wheel_power_w]
    axes.plot(r.speeds_rpm, wheels, "--", color=INK, linewidth=1.3, label="power, wheels")
    if any(r.correction_applies):
        values = [float("nan") if v is None else v / power.factor for v in r.corrected_power_w]
        axes.plot(r.speeds_rpm, values, ":o", markersize=4, color=INK, linewidth=1.6, label="power, ISO 1585")
    axes.set_ylabel(f"power [{power.unit}]")
    axes.set_ylim(bottom=0.0)
    other = axes.twinx()
    other.plot(r.speeds_rpm, _column(r, "torque_nm", torque.factor), color=WARM, linewidth=2.0, label="torque, crank")
    other.set_ylabel(f"torque [{torque.unit}]")
    other.set_ylim(bottom=0.0)
    other.spines["top"].set_visible(False)
    lines = [*axes.get_lines(), *other.get_lines()]
    axes.legend(lines, [str(x.get_label()) for x in lines], frameon=False, fontsize=8, loc="lower right")


def _pressure(axes: Any, r: CurveResult, family: str) -> None:
    unit = FAMILIES[family]["pressure"]
    shares = [_column(r, f"backpressure_{n}_pa", unit.factor) for n in ("pipe", "turbine", "wastegate")]
    axes.stackplot(
        r.speeds_rpm,
        *shares,
        colors=(GREY, WARM, "#e3b39f"),
        labels=("pipe after the turbine", "turbine", "wastegate passage"),
    )
    axes.plot(r.speeds_rpm, _column(r, "boost_pa", unit.factor), color=INK, linewidth=2.0, label="boost")
    axes.set_ylabel(f"backpressure, its shares [{unit.unit}]")
    axes.legend(frameon=False, fontsize=8, loc="upper left")


def _margins(axes: Any, r: CurveResult) -> None:
    """The nearest limits as a share of each limit (of 10 deg for spark); below zero it is passed."""
    nearest = sorted(r.margins, key=lambda m: m["share"])[:NEAREST]
    for row, shade in zip(nearest, (WARM, INK, GREEN, "#7b5ea7", "#8a6d3b"), strict=False):
        values = []
        for p in r.points:
            known = [m for m in (p["margins"] if p is not None else ()) if m["name"] == row["name"]]
            scale = 10.0 if row["name"].endswith("_deg") else abs(row["limit"]) or 1.0
            values.append(100.0 * known[0]["margin"] / scale if known else float("nan"))
        axes.plot(r.speeds_rpm, values, color=shade, linewidth=1.6, label=short(row["name"]))
    axes.axhline(0.0, color="0.25", linewidth=1.0)
    axes.set_ylabel("margin [% of the limit; of 10 deg]")
    axes.legend(frameon=False, fontsize=8, loc="center left", bbox_to_anchor=(1.0, 0.5))
