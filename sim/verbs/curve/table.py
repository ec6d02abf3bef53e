"""A curve as tables a person reads."""

from collections.abc import Iterator

from rich.console import Console, RenderableType
from rich.text import Text

from ...case import Case
from ...cautions import GENERAL, PULLS
from ...knock_words import about_knock, in_place
from ...table_parts import _difference, _headed, _sentences, _table, value_text
from ...table_print import margin_kind
from ..limits.table import short
from .result import CurveResult

HELD = "Boost, mixture and spark stand as the case gives them at every speed; each speed is settled, begun cold, by itself."
SHARES = (
    "Turbine and wastegate stand side by side: one pressure stands over both, dealt out by the gas each passes. With the pipe "
    "they add up to the backpressure."
)


def print_curve(result: CurveResult, case: Case, family: str, console: Console | None = None) -> None:
    """Print a curve in the unit family "metric" or "us"."""
    console = console or Console(highlight=False)
    console.print(Text(f"\n{result.title}: along engine speed", style="bold"))
    for part in parts(result, case, family):
        console.print(part)


def parts(r: CurveResult, case: Case, family: str) -> Iterator[RenderableType]:
    """The parts of the print, top to bottom."""
    yield _power(r, family)
    yield _engine(r, family)
    yield from _sentences("about knock", about_knock(r.points))
    if not case.is_bench:
        yield _pressure(r, family)
        yield from _sentences("how to read the shares", [SHARES])
    if r.freer_pipe:
        yield _freer(r, family)
    yield _margins(r, family)
    yield from _sentences("power", _words(r))
    yield from _sentences("without an answer", [f"{row['speed_rpm']:.0f} rpm: {row['reason']}" for row in r.lost])
    yield from _sentences("warnings", r.warnings)
    yield from _sentences("caution", [GENERAL, PULLS])


def _words(r: CurveResult) -> list[str]:
    loss = f"{100.0 * (1.0 - r.driveline_efficiency):.1f} %"
    whose = "of the case" if r.driveline_stated else "a stand-in: vehicle.driveline_efficiency states it"
    return [HELD, f"Between crank and wheels {loss} are lost ({whose}).", r.correction_note]


def _power(r: CurveResult, family: str) -> RenderableType:
    corrected = any(r.correction_applies)
    table = _table("speed", "power", "torque", "wheels", "torque there", *(["ISO 1585"] if corrected else []))
    for i, (n, p) in enumerate(zip(r.speeds_rpm, r.points, strict=True)):
        crank = (None, None) if p is None else (p["power_w"], p["torque_nm"])
        values = [*crank, r.wheel_power_w[i], r.wheel_torque_nm[i], *([r.corrected_power_w[i]] if corrected else [])]
        kinds = ("power", "torque", "power", "torque", "power")
        table.add_row(f"{n:.0f} rpm", *(value_text(v, k, family) for v, k in zip(values, kinds, strict=False)))
    return _headed("power and torque, at the crank and at the wheels", table)


def _engine(r: CurveResult, family: str) -> RenderableType:
    names = (
        ("boost_pa", "pressure"), ("turbine_inlet_temperature_k", "temperature"), ("exhaust_temperature_k", "temperature"),
        ("knock_margin_deg", "angle"), ("bsfc_kg_j", "specific_consumption"), ("wastegate_opening", "fraction"),
    )  # fmt: skip
    table = _table("speed", "boost", "turbine inlet", "gas out", "knock margin", "bsfc", "wastegate")
    for n, p in zip(r.speeds_rpm, r.points, strict=True):
        cells = ["-"] * len(names) if p is None else [value_text(p[name], kind, family) for name, kind in names]
        if p is not None and p["knock_margin_deg"] is None:
            cells[3] = in_place(p)
        table.add_row(f"{n:.0f} rpm", *cells)
    return _headed("boost, heat, knock", table)


def _pressure(r: CurveResult, family: str) -> RenderableType:
    table = _table("speed", "backpressure", "turbine", "wastegate", "pipe after it", "ratio")
    for n, p in zip(r.speeds_rpm, r.points, strict=True):
        names = ("", "_turbine", "_wastegate", "_pipe")
        cells = ["-"] * 5
        if p is not None:
            cells = [value_text(p[f"backpressure{name}_pa"], "pressure", family) for name in names]
            cells.append("-" if p["backpressure_ratio"] is None else f"{p['backpressure_ratio']:.2f}")
        table.add_row(f"{n:.0f} rpm", *cells)
    return _headed("where the backpressure comes from", table)


def _freer(r: CurveResult, family: str) -> RenderableType:
    assert r.freer_pipe is not None
    table = _table("speed", "power", "backpressure", "knock margin", "gas out")
    names = (
        ("power_w", "power"), ("backpressure_pa", "pressure"), ("knock_margin_deg", "angle"),
        ("exhaust_temperature_k", "temperature"),
    )  # fmt: skip
    for n, p, f in zip(r.speeds_rpm, r.points, r.freer_pipe, strict=True):
        cells = []
        for name, kind in names:
            known = p is not None and p[name] is not None and f[name] is not None
            cells.append(_difference(f[name] - p[name], kind, family) if known and p is not None else "-")
        table.add_row(f"{n:.0f} rpm", *cells)
    return _headed("what a pipe without loss would change: the most that a freer pipe can give", table)


def _margins(r: CurveResult, family: str) -> RenderableType:
    table = _table("limit", "limit at", "least margin", "at", "past it")
    for row in r.margins:
        kind = margin_kind(row["name"])
        past = Text("")
        if row["binds_from_rpm"] is not None:
            low, high = row["binds_from_rpm"], row["binds_to_rpm"]
            past = Text(f"{low:.0f} rpm" if low == high else f"{low:.0f} to {high:.0f} rpm", style="bold red")
        table.add_row(
            short(row["name"]),
            value_text(row["limit"], kind, family),
            _difference(row["least"], kind, family),
            f"{row['at_rpm']:.0f} rpm",
            past,
        )
    return _headed("margins along the curve, those that bind first on top", table)
