"""The picture of the card: the way up in boost and spark, and what the probe should read in each pull."""

from pathlib import Path
from typing import Any

from ...pictures import check_picture, save_picture
from ...showing import FAMILIES
from .result import PlanResult
from .table import gauge


def check_plot(path: Path, force: bool) -> None:
    """Raise CaseError where a picture cannot go to `path`, before anything is calculated."""
    check_picture(path, force, "card.png")


def write_plot(result: PlanResult, path: Path, family: str, force: bool = False) -> None:
    """Draw the card and write the picture whole; raises CaseError."""
    check_plot(path, force)
    save_picture(draw(result, family), path)


def draw(r: PlanResult, family: str) -> Any:
    """The figure: the way up on the left, the probe in each pull on the right."""
    from matplotlib.figure import Figure

    figure = Figure(figsize=(9.0, 4.4), layout="constrained")
    way, heat = figure.subplots(1, 2)
    _way(way, r, family)
    _heat(heat, r, family)
    for axes in (way, heat):
        axes.spines[["top", "right"]].set_visible(False)
        axes.grid(color="0.92", linewidth=0.6)
        axes.set_axisbelow(True)
    figure.suptitle(f"{r.title}: step-up card, {r.speed_rpm:.0f} rpm", x=0.01, ha="left", fontsize=10)
    return figure


def _way(axes: Any, r: PlanResult, family: str) -> None:
    unit = FAMILIES[family]["pressure"]
    x = [pull["boost_pa"] / unit.factor for pull in r.pulls]
    y = [pull["spark_advance_deg"] for pull in r.pulls]
    axes.plot(x, y, "-", color="0.6", linewidth=1.0)
    axes.plot(x, y, "o", color="0.1", markersize=15, linestyle="none")
    for pull, a, b in zip(r.pulls, x, y, strict=True):
        axes.annotate(str(pull["pull"]), (a, b), color="1.0", ha="center", va="center", fontsize=9)
    axes.margins(0.15)
    axes.set_xlabel(f"boost [{unit.unit}]")
    axes.set_ylabel("spark advance [deg before top dead centre]")


def _heat(axes: Any, r: PlanResult, family: str) -> None:
    how = FAMILIES[family]["temperature"]

    def shown(kelvin: float) -> float:
        return (kelvin - how.offset) / how.factor

    rows = [row for row in (gauge(pull, "probe_k") for pull in r.pulls) if row is not None]
    x = [pull["pull"] for pull in r.pulls][: len(rows)]
    middle = [shown(row["expected"]) for row in rows]
    half = [0.5 * (row["high"] - row["low"]) / how.factor for row in rows]
    axes.errorbar(x, middle, yerr=half, fmt="o", color="0.1", capsize=5, label="should read")
    axes.plot(
        x, [shown(row["lift"]) for row in rows], "_", color="0.1", markersize=18, markeredgewidth=2.0, label="lift at"
    )
    limit = next((row["limit"] for row in r.limits if row["name"] == "probe_temperature_k"), None)
    if limit is not None:
        axes.axhline(shown(limit), color="0.4", linewidth=1.0, dashes=(6, 3), label="the limit, an edge")
    axes.set_xticks(x)
    axes.set_xlabel("pull")
    axes.set_ylabel(f"probe [{how.unit}]")
    axes.legend(frameon=False, fontsize=8)
