"""The picture of a few readings: how far each lies from what the case would show, and what may be behind them."""

from textwrap import fill
from typing import Any

from ... import channels
from ...style import BRICK, INK, PALE, QUIET, SHADE, drawn, head, legend, new_figure
from .few import Readings
from .few_table import LEAST
from .looks import reading
from .unknowns import NORMAL_90

LETTERS = 26  # of a line beside a bar
MOST = 8  # explanations drawn


@drawn
def draw(r: Readings) -> Any:
    """The figure: readings above, in standard deviations; explanations below, their chance before and after the readings."""
    causes = [row for row in r.causes if row["chance"] >= LEAST][:MOST]
    figure = new_figure(height=2.0 + 0.5 * len(r.readings) + 0.5 * len(causes))
    upper, lower = figure.subplots(2, 1, height_ratios=(len(r.readings) + 0.5, 1.1 * len(causes) + 0.5))
    _readings(upper, r)
    _causes(lower, causes)
    head(figure, f"{r.title}: what a few readings say")
    legend(figure)
    return figure


def _readings(axes: Any, r: Readings) -> None:
    axes.axvspan(-NORMAL_90, NORMAL_90, color=PALE, linewidth=0.0, label="90 % of what the case leaves open")
    axes.axvline(0.0, color=QUIET, linewidth=1.0)
    for k, row in enumerate(r.readings):
        off = abs(row["distance"]) > NORMAL_90
        axes.plot(row["distance"], k, "D" if off else "o", color=BRICK if off else INK, markersize=7)
    axes.set_yticks(range(len(r.readings)), [_named(row, r.units) for row in r.readings])
    axes.set_ylim(len(r.readings) - 0.5, -0.5)
    reach = 1.15 * max(3.0, *(abs(row["distance"]) for row in r.readings))
    axes.set_xlim(-reach, reach)
    axes.set_xlabel("read minus expected [standard deviations]")


def _named(row: dict[str, Any], family: str) -> str:
    name = row["channel"]
    words = "power balance" if name == "balance" else channels.words(name)
    return f"{fill(words, LETTERS)}\n{reading(name, row['measured'], family)}, not {reading(name, row['predicted'], family)}"


def _causes(axes: Any, causes: list[dict[str, Any]]) -> None:
    places = range(len(causes))
    axes.barh(
        [k - 0.18 for k in places], [100.0 * c["before"] for c in causes], 0.3, color=SHADE, label="before the readings"
    )
    axes.barh(
        [k + 0.18 for k in places], [100.0 * c["chance"] for c in causes], 0.3, color=INK, label="with the readings"
    )
    axes.set_yticks(places, [fill(c["words"].partition(" (")[0], LETTERS) for c in causes])
    axes.set_ylim(len(causes) - 0.5, -0.5)
    axes.set_xlim(0.0, 100.0)
    axes.set_xlabel("chance [%]")
