"""The picture of a burn: pressure and burned fraction above, rates of heat below."""

from typing import Any

from ...style import AMBER, BRICK, INK, LEAST, QUIET, TEAL, beside, drawn, head, legend, new_figure, scale
from .result import BurnResult

STAGGER = 0.09  # of the lower axes' height, between two lines of words


@drawn
def draw(r: BurnResult, family: str) -> Any:
    """The figure."""
    pressure, unit = scale("pressure", family)
    figure = new_figure(7.2, 6.4)
    top, low = figure.subplots(2, 1, sharex=True, height_ratios=(3, 2))
    x = r.crank_angle_deg
    top.plot(x, pressure(r.pressure_pa), color=INK, linewidth=2.0, label="pressure, smoothed")
    top.set_ylabel(f"cylinder pressure [{unit}]")
    right = beside(top)
    raw, fraction = ([100.0 * v for v in values] for values in (r.burned_fraction_raw, r.burned_fraction))
    right.plot(
        x, raw, color=AMBER, linewidth=1.0, marker=".", linestyle="none", label="burned, as the pressure asks (right)"
    )
    right.plot(x, fraction, "--", color=BRICK, label="burned fraction (right)")
    right.set_ylabel("burned [% of what can burn]")
    low.plot(x, r.heat_release_j_per_deg, color=BRICK, label="heat release")
    low.plot(x, r.wall_heat_j_per_deg, "-.", color=TEAL, label="heat to the walls")
    low.set_ylabel("heat [J/deg]")
    low.set_xlabel("crank angle after firing top dead centre [deg]")
    for name, at, line in (("CA10", r.ca10_deg, 0), ("CA50", r.ca50_deg, 1), ("CA90", r.ca90_deg, 0)):
        for axes in (top, low):
            axes.axvline(at, color=QUIET, linestyle=":", linewidth=1.0)
        place = (at, 1.0 + STAGGER * line)  # a fast burn sets them close together
        low.annotate(name, place, xycoords=("data", "axes fraction"), ha="center", va="bottom", fontsize=LEAST)
    head(figure, f"{r.title}: burn of cylinder {r.cylinder}, {r.speed_rpm:.0f} rpm")
    legend(figure, 2)
    return figure
