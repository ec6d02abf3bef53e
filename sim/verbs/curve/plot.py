"""The picture of a curve: power and torque, the shares of the backpressure, the margins."""

from typing import Any

from ...style import AMBER, BRICK, INK, LIMIT, PALE, QUIET, SHADE, beside, drawn, head, legend, look, new_figure, scale
from ..limits.table import short
from .result import CurveResult

NEAREST = 5  # margins drawn


@drawn
def draw(r: CurveResult, family: str) -> Any:
    """The figure."""
    boosted = any(p is not None and p["backpressure_pipe_pa"] is not None for p in r.points)
    figure = new_figure(height=9.2 if boosted else 6.8)
    rows = figure.subplots(3 if boosted else 2, 1, sharex=True)
    _power(rows[0], r, family)
    if boosted:
        _pressure(rows[1], r, family)
    _margins(rows[-1], r)
    rows[-1].set_xlabel("engine speed [rpm]")
    head(figure, f"{r.title}: full load along engine speed")
    legend(figure, 3)
    return figure


def _column(r: CurveResult, name: str) -> list[float]:
    return [float("nan") if p is None or p[name] is None else p[name] for p in r.points]


def _power(axes: Any, r: CurveResult, family: str) -> None:
    (power, watt), (torque, newton) = scale("power", family), scale("torque", family)
    x = r.speeds_rpm
    axes.plot(x, power(_column(r, "power_w")), color=INK, linewidth=2.2, label="power, crank")
    axes.plot(x, power(r.wheel_power_w), "--", color=INK, linewidth=1.3, label="power, wheels")
    if any(r.correction_applies):
        axes.plot(x, power(r.corrected_power_w), ":o", color=INK, label="power, ISO 1585")
    axes.set_ylabel(f"power [{watt}]")
    axes.set_ylim(bottom=0.0)
    other = beside(axes)
    other.plot(x, torque(_column(r, "torque_nm")), "-s", color=BRICK, label="torque, crank (right)")
    other.set_ylabel(f"torque [{newton}]")
    other.set_ylim(bottom=0.0)


def _pressure(axes: Any, r: CurveResult, family: str) -> None:
    y, unit = scale("pressure", family)
    shares = [y(_column(r, f"backpressure_{name}_pa")) for name in ("pipe", "turbine", "wastegate")]
    said = ("pipe after the turbine", "turbine", "wastegate passage")
    for field, hatch in zip(
        axes.stackplot(r.speeds_rpm, *shares, colors=(SHADE, AMBER, PALE), labels=said), ("..", "", ""), strict=True
    ):
        field.set(hatch=hatch, edgecolor=QUIET, linewidth=0.6)  # told apart in grey
    axes.plot(r.speeds_rpm, y(_column(r, "boost_pa")), "--", color=INK, linewidth=2.0, label="boost")
    axes.set_ylabel(f"backpressure by cause [{unit}]")


def _margins(axes: Any, r: CurveResult) -> None:
    """The nearest limits as a share of each limit (of 10 deg for spark); below zero it is passed."""
    nearest = sorted(r.margins, key=lambda m: m["share"])[:NEAREST]
    for number, row in enumerate(nearest):
        values = []
        for p in r.points:
            known = [m for m in (p["margins"] if p is not None else ()) if m["name"] == row["name"]]
            whole = 10.0 if row["name"].endswith("_deg") else abs(row["limit"]) or 1.0
            values.append(100.0 * known[0]["margin"] / whole if known else float("nan"))
        axes.plot(r.speeds_rpm, values, label=f"margin: {short(row['name'])}", **look(number, markers=True))
    axes.axhline(0.0, label="the limit, an edge", **LIMIT)
    axes.set_ylabel("margin [% of limit or 10 deg]")
