"""The picture of one operating point: pressures with the valve events, gas and probe temperatures, against crank angle."""

from typing import Any

from ...case import Case
from ...gauge_tables import place_text
from ...prediction import Prediction
from ...style import BRICK, INK, LIMIT, QUIET, TEAL, drawn, head, legend, new_figure, scale

TICKS = range(-360, 361, 90)


@drawn
def draw(result: Prediction, case: Case, family: str) -> Any:
    """The figure of a prediction made with `trace=True`, pressures above temperatures."""
    figure = new_figure(height=8.2)
    cylinder, manifold, warm = figure.subplots(3, 1, sharex=True, height_ratios=(5, 4, 5))
    _cylinder(cylinder, result, case, family)
    _manifold(manifold, result, case, family)
    _temperatures(warm, result, case, family)
    warm.set_xlabel("crank angle of cylinder 1 [deg], 0 at firing top centre")
    warm.set_xticks(TICKS)
    warm.set_xlim(-360, 360)
    boost = "" if result.boost_pa is None else f", {_words(result.boost_pa, family)} of boost"
    head(figure, f"{case.title}: one cycle at {result.speed_rpm:.0f} rpm{boost}")
    legend(figure, 3)
    return figure


def events(case: Case) -> dict[str, tuple[float, float]]:
    """Crank angles over which each valve is open [deg], -360 to 360 with 0 at firing top dead centre."""
    found = {"exhaust valves open": case.engine.exhaust_valve, "intake valves open": case.engine.intake_valve}
    return {name: (valve.opens, valve.closes) for name, valve in found.items()}


def spans(begins: float, ends: float) -> list[tuple[float, float]]:
    """A stretch of crank angle folded into -360 to 360 deg, in two where it passes the end."""
    length = ends - begins
    begins = (begins + 360.0) % 720.0 - 360.0
    ends = begins + length
    return [(begins, ends)] if ends <= 360.0 else [(begins, 360.0), (-360.0, ends - 720.0)]


def columns(trace: dict[str, list[float]], stem: str) -> list[tuple[str, list[float]]]:
    """The columns of a quantity in every collector, each with the words for its number (none where there is one)."""
    found = [(name, values) for name, values in trace.items() if name.startswith(stem)]
    return [("" if len(found) == 1 else f" {k}", values) for k, (_, values) in enumerate(found, 1)]


def _trace(result: Prediction) -> dict[str, list[float]]:
    if result.trace is None:
        raise ValueError("the picture needs a prediction made with trace=True")
    return result.trace


def _valves(axes: Any, case: Case) -> None:
    """When valves are open, as two bars along the foot of the axes."""
    for row, ((name, (begins, ends)), shade, hatch) in enumerate(
        zip(events(case).items(), (BRICK, TEAL), ("", "////"), strict=True)
    ):
        for left, right in spans(begins, ends):
            place = (0.012 + 0.042 * row, 0.046 + 0.042 * row)
            axes.axvspan(
                left,
                right,
                *place,
                facecolor=shade if not hatch else "1.0",
                hatch=hatch,
                edgecolor=shade,
                linewidth=0.8,
                label=name,
            )
    axes.axvline(0.0, color=QUIET, linewidth=0.8, linestyle=":")


def _cylinder(axes: Any, result: Prediction, case: Case, family: str) -> None:
    trace, (y, unit) = _trace(result), scale("pressure", family)
    axes.plot(trace["crank_angle_deg"], y(trace["cylinder_pressure_pa"]), color=INK, linewidth=2.0, label="cylinder")
    if result.spark_advance_deg is not None:
        axes.axvline(-result.spark_advance_deg, color=QUIET, linewidth=1.2, linestyle="--", label="spark")
    axes.set_ylabel(f"cylinder, absolute [{unit}]")
    axes.set_ylim(bottom=-0.1 * y(result.peak_pressure_pa))
    _valves(axes, case)


def _manifold(axes: Any, result: Prediction, case: Case, family: str) -> None:
    trace, (y, unit) = _trace(result), scale("pressure", family)
    x = trace["crank_angle_deg"]
    axes.plot(x, y(trace["runner_pressure_pa"]), "--", color=BRICK, linewidth=1.2, label="runner of cylinder 1")
    for (number, values), dash in zip(columns(trace, "collector_pressure"), ("-", "-."), strict=False):
        axes.plot(x, y(values), dash, color=BRICK, linewidth=2.0, label=f"collector{number}")
    axes.axhline(
        y(result.intake_pressure_pa), color=TEAL, linewidth=1.6, linestyle=(0, (1.5, 1.5)), label="intake manifold"
    )
    axes.margins(y=0.12)
    low, high = axes.get_ylim()
    axes.set_ylim(low - 0.10 * (high - low), high)
    axes.set_ylabel(f"manifolds, absolute [{unit}]")
    _valves(axes, case)


def _temperatures(axes: Any, result: Prediction, case: Case, family: str) -> None:
    trace, (y, unit) = _trace(result), scale("temperature", family)
    x = trace["crank_angle_deg"]
    if case.is_bench:  # its plenums are held: only the cylinder has something to show
        axes.plot(x, y(trace["gas_temperature_k"]), color=INK, label="gas in the cylinder, mean")
        axes.set_ylabel(f"cylinder [{unit}]")
        return
    axes.plot(x, y(trace["runner_temperature_k"]), "--", color=BRICK, linewidth=1.2, label="runner of cylinder 1")
    for (number, values), dash in zip(columns(trace, "collector_temperature"), ("-", "-."), strict=False):
        axes.plot(x, y(values), dash, color=BRICK, linewidth=2.0, label=f"collector{number}")
    for probe, gaps in zip(result.probes, ((0, (9, 2)), (0, (4, 2)), (0, (2, 1.2)), (0, (1, 1))) * 4, strict=False):
        said = f"probe reads, {place_text(probe)}"
        axes.axhline(y(probe["reading_k"]), color=INK, linewidth=1.6, linestyle=gaps, label=said)
    if result.probes:
        axes.axhline(y(case.limits.probe_temperature), label="limit of the probe, an edge", **LIMIT)
    axes.set_ylabel(f"exhaust gas [{unit}]")


def _words(pascal: float, family: str) -> str:
    from ...showing import shown

    return shown(pascal, "pressure", family)
