"""The picture: placements by their chance of a miss, and how far each place may stray."""

from typing import Any

from ...style import BRICK, INK, QUIET, SHADE, TEAL, drawn, head, legend, new_figure, scale
from .result import PlacementResult
from .table import SHOWN
from .words import place, placed


@drawn
def draw(r: PlacementResult, family: str) -> Any:
    """The figure: the ranking above, the places below."""
    warm, unit = scale("temperature", family)
    rows = r.ranking[:SHOWN]
    figure = new_figure(height=2.8 + 0.28 * (len(rows) + len(r.places)))
    upper, lower = figure.subplots(2, 1, height_ratios=(len(rows), len(r.places)))
    _ranking(upper, r, rows)
    degrees = float(warm(r.above_k) - warm(0.0))
    upper.set_xlabel(f"chance that a cylinder is more than {degrees:.0f} {unit}\nhotter than the probes show [%]")
    for k, row in enumerate(r.places):
        reads, wide = float(warm(row["reading_k"])), float(warm(row["spread_k"]) - warm(0.0))
        band = float(warm(row["tolerance_k"]) - warm(0.0))
        lower.barh(
            k, 4.0 * wide, left=reads - 2.0 * wide, height=0.62, color=SHADE, label="19 of 20 engines, an exact probe"
        )
        lower.errorbar(reads, k, xerr=band, fmt="o", color=INK, capsize=3, label="the case, with the probe's class")
    lower.set_yticks(range(len(r.places)), [place(row["place"]) for row in r.places])
    lower.use_sticky_edges = False
    lower.margins(x=0.06)
    lower.invert_yaxis()
    lower.set_xlabel(f"probe reading [{unit}]")
    head(figure, f"{r.title}: {r.probes} probe{'s' if r.probes > 1 else ''}, {r.speed_rpm:.0f} rpm")
    legend(figure, 2)
    return figure


def _ranking(axes: Any, r: PlacementResult, rows: list[dict[str, Any]]) -> None:
    """Bars with their errors: the recommended one, those as good, the others."""
    for k, row in enumerate(rows):
        named = k == r.recommended
        colour, label = (BRICK, "recommended") if named else (TEAL, "as good") if row["ties"] else (QUIET, "others")
        look = {"color": colour, "edgecolor": "1.0", "hatch": "////" if named else ""}  # told apart in grey
        axes.barh(k, 100.0 * row["chance"], height=0.62, label=label, **look)
        axes.errorbar(100.0 * row["chance"], k, xerr=200.0 * row["chance_error"], color=INK, capsize=2, fmt="none")
    axes.set_yticks(range(len(rows)), [placed(row) for row in rows])
    axes.invert_yaxis()
