"""Rivals in one picture: power and ratio along full load, and against boost where it was raised until it ran away."""

from typing import Any

from ...style import LIMIT, drawn, head, legend, look, new_figure, scale
from .result import CompareResult

RATIO = "backpressure to boost"
CHOKES = {"marker": "X", "markersize": 9, "linestyle": "none", "markeredgecolor": "1.0"}
DOUBLES = {"marker": "P", "markersize": 9, "linestyle": "none", "markeredgecolor": "1.0"}


@drawn
def draw(result: CompareResult, family: str) -> Any:
    """A figure: two panels along engine speed, and two against boost with the sweep of boost."""
    rows = 2 if result.runaway is None else 4
    figure = new_figure(7.2, 2.5 * rows + 0.9)
    panels = figure.subplots(rows, 1)
    _along(panels[0], panels[1], result, family)
    if result.runaway is not None:
        _raised(panels[2], panels[3], result, family)
    tail = "" if result.runaway is None else f"; boost raised at {result.speed_rpm:.0f} rpm"
    head(figure, f"{result.title}: along full load{tail}")
    legend(figure, 2)
    return figure


def _along(top: Any, low: Any, result: CompareResult, family: str) -> None:
    power, unit = scale("power", family)
    nan = float("nan")
    for k, name in enumerate(result.names):
        for axes, key, turned in ((top, "power_w", power), (low, "backpressure_ratio", list)):
            values = [nan if v is None else v for v in result.along[key][k]]
            axes.plot(result.speeds_rpm, turned(values), label=name, **look(k, markers=True))
    top.set_ylabel(f"power [{unit}]")
    low.set_ylabel(RATIO)
    for axes in (top, low):
        axes.set_xlabel("engine speed [rpm]")


def _raised(top: Any, low: Any, result: CompareResult, family: str) -> None:
    (power, watt), (pressure, bar) = scale("power", family), scale("pressure", family)
    for k, (name, one) in enumerate(zip(result.names, result.runaway or [], strict=True)):
        x = pressure(one.boost_pa)
        ratio = [p / b for p, b in zip(one.backpressure_pa, one.boost_pa, strict=True)]
        top.plot(x, power(one.power_w), label=name, **look(k))
        low.plot(x, ratio, label=name, **look(k))
        for at, mark, said in (
            (one.choke_boost_pa, CHOKES, "the turbine chokes"),
            (one.doubled_boost_pa, DOUBLES, f"a {bar} of boost costs twice as much as at first"),
        ):
            if at is not None:
                low.plot(pressure(at), _between(at, one.boost_pa, ratio), color=look(k)["color"], label=said, **mark)
    asked = result.point["boost_pa"][0]
    if asked:
        for axes in (top, low):
            axes.axvline(pressure(asked), label="boost of the point", **LIMIT)
    top.set_ylabel(f"power [{watt}]")
    low.set_ylabel(RATIO)
    for axes in (top, low):
        axes.set_xlabel(f"boost [{bar}]")


def _between(at: float, x: list[float], y: list[float]) -> float:
    import numpy as np

    return float(np.interp(at, x, y))
