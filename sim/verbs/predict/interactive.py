"""The cycle as interactive pictures: the same lines as in the printed picture, colours named for light and dark."""

from collections.abc import Iterator
from typing import Any

from ...case import Case
from ...gauge_tables import place_text
from ...names import label_of
from ...prediction import Prediction
from ...report.page import Picture, Table
from ...style import scale
from .plot import columns, events, spans

EVERY = 30  # degrees between the rows of the table behind a picture
ANGLE = "crank angle of cylinder 1 [deg]"
COLUMN_DASH = ("solid", "dashdot")


def line(
    x: Any, y: Any, name: str, colour: str, dash: str = "solid", width: float = 2.0, axis: str = "y"
) -> dict[str, Any]:
    """A line as Plotly takes it, five figures to each value."""
    return {
        "type": "scatter", "mode": "lines", "x": [round(float(v), 2) for v in x], "y": [float(f"{float(v):.5g}") for v in y],
        "name": name, "yaxis": axis, "line": {"color": f"@{colour}", "dash": dash, "width": width},
    }  # fmt: skip


def cycle(result: Prediction, case: Case, family: str) -> Picture:
    """Pressures over the cycle with the valve events."""
    trace = result.trace or {}
    y, unit = scale("pressure", family)
    x = trace["crank_angle_deg"]
    drawn = [line(x, y(trace["cylinder_pressure_pa"]), "cylinder", "ink", axis="y2")]
    drawn.append(line(x, y(trace["runner_pressure_pa"]), "runner of cylinder 1", "brick", "dash", 1.4))
    for (number, values), dash in zip(columns(trace, "collector_pressure"), COLUMN_DASH, strict=False):
        drawn.append(line(x, y(values), f"collector{number}", "brick", dash))
    drawn.append(line((-360, 360), y([result.intake_pressure_pa] * 2), "intake manifold", "teal", "dot"))
    layout = {
        "xaxis": {"title": {"text": ANGLE}, "range": [-360, 360], "dtick": 90, "anchor": "y"},
        "yaxis": {"title": {"text": f"manifolds [{unit}]"}, "domain": [0.0, 0.46]},
        "yaxis2": {"title": {"text": f"cylinder [{unit}]"}, "domain": [0.54, 1.0], "anchor": "x"},
        "shapes": _shapes(case, result),
    }
    words = (
        f"Absolute pressures; 0 deg is firing top dead centre. Peak cylinder pressure {y(result.peak_pressure_pa):.5g} {unit} at {result.peak_pressure_deg:.1f} deg; before the turbine "
        f"{y(result.pre_turbine_pressure_pa):.3g} {unit} in the mean of the cycle, in the intake {y(result.intake_pressure_pa):.3g} "
        f"{unit}. Bands: exhaust valves open (red), intake valves open (blue-green)"
        + ("." if result.spark_advance_deg is None else f"; spark at {-result.spark_advance_deg:.1f} deg (dashes).")
    )
    return Picture("Pressures over one cycle", words, drawn, layout, _behind(trace, "pressure", "_pa", family))


def temperatures(result: Prediction, case: Case, family: str) -> Iterator[Picture]:
    """Gas in runner and collector, and what the probes read; none for a bench, whose plenums are held."""
    if case.is_bench:
        return
    trace = result.trace or {}
    y, unit = scale("temperature", family)
    x = trace["crank_angle_deg"]
    drawn = [line(x, y(trace["runner_temperature_k"]), "runner of cylinder 1", "brick", "dash", 1.4)]
    for (number, values), dash in zip(columns(trace, "collector_temperature"), COLUMN_DASH, strict=False):
        drawn.append(line(x, y(values), f"collector{number}", "brick", dash))
    for probe, dash in zip(result.probes, ("longdash", "dash", "dot", "solid") * 4, strict=False):
        drawn.append(line((-360, 360), y([probe["reading_k"]] * 2), f"probe reads, {place_text(probe)}", "ink", dash))
    if result.probes:
        drawn.append(
            line(
                (-360, 360),
                y([case.limits.probe_temperature] * 2),
                "limit of the probe, an edge",
                "quiet",
                "dashdot",
                1.4,
            )
        )
    layout = {
        "xaxis": {"title": {"text": ANGLE}, "range": [-360, 360], "dtick": 90},
        "yaxis": {"title": {"text": f"exhaust gas [{unit}]"}},
    }
    reads = "; ".join(
        f"{place_text(p)} reads {y(p['reading_k']):.0f} {unit} in gas of {y(p['gas_temperature_k']):.0f} {unit} by flow"
        for p in result.probes
    )
    words = f"The gas swings with every cylinder that fires, a probe does not follow: {reads or 'no probe is fitted'}."
    yield Picture(
        "Exhaust gas and probes",
        words,
        drawn,
        layout,
        _behind(trace, "temperature", "_k", family, ("runner", "collector")),
    )


def _shapes(case: Case, result: Prediction) -> list[dict[str, Any]]:
    """Valve events as bands behind the lines, the spark as a dashed line."""
    found = []
    for (begins, ends), colour in zip(events(case).values(), ("@brick", "@teal"), strict=True):
        for left, right in spans(begins, ends):
            found.append({"type": "rect", "xref": "x", "yref": "paper", "x0": left, "x1": right, "y0": 0, "y1": 1,
                          "fillcolor": colour, "opacity": 0.10, "line": {"width": 0}, "layer": "below"})  # fmt: skip
    if result.spark_advance_deg is not None:
        at = -result.spark_advance_deg
        found.append({"type": "line", "xref": "x", "yref": "paper", "x0": at, "x1": at, "y0": 0.54, "y1": 1,
                      "line": {"color": "@quiet", "dash": "dash", "width": 1.2}})  # fmt: skip
    return found


def _behind(
    trace: dict[str, list[float]],
    kind: str,
    ending: str,
    family: str,
    only: tuple[str, ...] = ("cylinder", "runner", "collector"),
) -> Table:
    """The lines of a picture as rows, for who does not see it."""
    import numpy as np

    y, unit = scale(kind, family)
    names = [n for n in trace if n.startswith(only) and n.endswith(ending) and kind in n]
    at = np.arange(-360, 361, EVERY)
    lines = {n: y(np.interp(at, trace["crank_angle_deg"], trace[n], period=720.0)) for n in names}
    rows = [(f"{angle} deg", *(f"{lines[n][k]:.4g}" for n in names)) for k, angle in enumerate(at)]
    heads = (f"{label_of(n)} [{unit}]" for n in names)
    return Table("the lines of the picture", ("crank angle", *heads), rows)
