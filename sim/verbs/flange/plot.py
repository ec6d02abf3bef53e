"""The picture of clamp against temperature: warming and cooling, without and with conical washers, beside what is needed."""

from pathlib import Path as FilePath
from typing import Any

import numpy as np

from ...pictures import check_picture, save_picture
from ...showing import FAMILIES
from .result import PLAIN, SPRUNG, FlangeResult
from .words import torque_text

LOOKS: dict[str, dict[str, Any]] = {
    PLAIN: {"color": "0.55", "linewidth": 1.6},
    SPRUNG: {"color": "0.0", "linewidth": 2.0},
}


def check_plot(path: FilePath, force: bool) -> None:
    """Raise CaseError where a picture cannot go to `path`, before anything is calculated."""
    check_picture(path, force, "clamp.png")


def write_plot(result: FlangeResult, path: FilePath, family: str, force: bool = False) -> None:
    """Draw the result and write the picture whole; raises CaseError."""
    check_plot(path, force)
    save_picture(draw(result, family), path)


def draw(result: FlangeResult, family: str) -> Any:
    """The figure: force of one stud against the wall's temperature."""
    from matplotlib.figure import Figure

    figure = Figure(figsize=(7.2, 4.6), layout="constrained")
    axes = figure.add_subplot()
    warm, force = FAMILIES[family]["temperature"], FAMILIES[family]["force"]
    big, name = (1e3, f"k{force.unit}") if family == "metric" else (1e3, f"1000 {force.unit}")

    def x(kelvin: Any) -> Any:
        return (kelvin - warm.offset) / warm.factor

    def y(newton: Any) -> Any:
        return newton / force.factor / big

    for arrangement, look in LOOKS.items():
        fitted = " (fitted)" if arrangement == result.fitted else ""
        said = "without washers" if arrangement == PLAIN else "conical washers"
        path = result.check.path(arrangement)
        axes.plot(x(path.wall), y(path.warming), "-", label=f"{said}{fitted}, warming", **look)
        axes.plot(x(path.wall), y(path.cooling), "--", label=f"{said}, cooling", **look)
    axes.plot(x(path.wall[0]), y(result.preload_usual_n), "o", color="0.0", markersize=5, label="as tightened")
    highest = max(float(np.max(np.asarray(line.get_ydata()))) for line in axes.get_lines())
    axes.set_ylim(bottom=0.0, top=1.12 * highest)
    if y(path.bearable).min() < 1.12 * highest:
        axes.plot(x(path.wall), y(path.bearable), ":", color="0.25", linewidth=1.3, label="stud yields above")
    needed = y(result.clamp_wanted_n / result.check.flange.studs)
    axes.axhline(needed, color="0.25", linewidth=1.0, dashes=(8, 3, 2, 3), label="wanted on each stud")
    _finish(axes, result, family, f"wall temperature [{warm.unit}]", f"force of one stud [{name}]")
    return figure


def _finish(axes: Any, result: FlangeResult, family: str, across: str, up: str) -> None:
    axes.set_xlabel(across)
    axes.set_ylabel(up)
    axes.margins(x=0.01)
    axes.spines[["top", "right"]].set_visible(False)
    axes.grid(axis="y", color="0.9", linewidth=0.6)
    axes.set_axisbelow(True)
    f = result.check.flange
    axes.set_title(
        f"{f.studs} x {f.thread} {f.stud_metal}, {result.lubrication}, {torque_text(result.tightening_torque_nm, family)}",
        loc="left",
        fontsize=10,
    )
    axes.legend(frameon=False, fontsize=8)
