"""The picture of clamp against temperature: warming and cooling, without and with conical washers, beside what is needed."""

from typing import Any

import numpy as np

from ...style import AMBER, BRICK, HERE, INK, LIMIT, drawn, head, legend, new_figure, scale
from .result import PLAIN, SPRUNG, FlangeResult
from .words import torque_text

LOOKS: dict[str, dict[str, Any]] = {
    PLAIN: {"color": AMBER, "marker": "s", "markevery": 12},
    SPRUNG: {"color": INK, "marker": "o", "markevery": 12},
}


@drawn
def draw(result: FlangeResult, family: str) -> Any:
    """The figure: force of one stud against the wall's temperature."""
    figure = new_figure(height=5.0)
    axes = figure.add_subplot()
    x, warm = scale("temperature", family)
    single, force = scale("force", family)
    name = f"k{force}" if family == "metric" else f"1000 {force}"

    def y(newton: Any) -> Any:
        return single(newton) / 1e3

    for arrangement, look in LOOKS.items():
        fitted = " (fitted)" if arrangement == result.fitted else ""
        said = "without washers" if arrangement == PLAIN else "conical washers"
        path = result.check.path(arrangement)
        axes.plot(x(path.wall), y(path.warming), "-", label=f"{said}{fitted}, warming", **look)
        axes.plot(x(path.wall), y(path.cooling), "--", label=f"{said}, cooling", **look)
    axes.plot(x(path.wall[0]), y(result.preload_usual_n), label="as tightened", zorder=3, **HERE)
    highest = max(float(np.max(np.asarray(line.get_ydata()))) for line in axes.get_lines())
    axes.set_ylim(bottom=0.0, top=1.12 * highest)
    if y(path.bearable).min() < 1.12 * highest:
        axes.plot(x(path.wall), y(path.bearable), ":", color=BRICK, label="stud yields above")
    needed = y(result.clamp_wanted_n / result.check.flange.studs)
    axes.axhline(needed, label="wanted on each stud", **LIMIT)
    axes.set_xlabel(f"wall temperature [{warm}]")
    axes.set_ylabel(f"force of one stud [{name}]")
    f = result.check.flange
    torque = torque_text(result.tightening_torque_nm, family)
    head(figure, f"Clamp left hot: {f.studs} x {f.thread} {f.stud_metal}, {result.lubrication}, {torque}")
    legend(figure)
    return figure
