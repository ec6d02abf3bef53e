"""A result of `limits` as tables a person reads, and every point solved as CSV."""

import csv
import io
from collections.abc import Iterator
from typing import Any

from rich.console import Console, RenderableType
from rich.text import Text

from ...cautions import GENERAL, PULLS
from ...names import label_of
from ...table_parts import _difference, _headed, _sentences, _table, value_text
from ...table_print import margin_kind
from .result import LimitsResult
from .settings import AXES

SHORT = {  # in tables with little room
    "probe_temperature_k": "probe",
    "turbine_inlet_temperature_k": "turbine inlet",
    "knock_margin_deg": "knock",
    "knock_margin_bad_cycle_deg": "knock, bad cycle",
    "peak_pressure_pa": "peak pressure",
    "peak_pressure_bad_cycle_pa": "peak, bad cycle",
    "exhaust_valve_lifting_force_n": "exhaust valve",
    "intake_valve_lifting_force_n": "intake valve",
    "injector_duty_fraction": "injectors",
    "pump_flow_m3_s": "fuel pump",
}
TINY = {"knock_margin_bad_cycle_deg": "bad cycle", "turbine_inlet_temperature_k": "inlet gas"}  # in the widest table
NO_TARGET = (
    "An edge is no target. Backed off means by the allowance of each margin: what gauge, timing and model may be wrong by, "
    "judgement, no source. Measure the stand-ins of the case before you lean on either."
)


def short(name: str) -> str:
    """A limit in few words."""
    return SHORT.get(name, label_of(name))


def turned(axis: str, value: float, family: str) -> str:
    """A value of boost, spark or mixture as it is printed."""
    return value_text(value, AXES[axis].kind, family)


def print_limits(result: LimitsResult, family: str, console: Console | None = None) -> None:
    """Print a result in the unit family "metric" or "us"."""
    console = console or Console(highlight=False)
    console.print(Text(f"\n{result.title}: limits", style="bold"))
    for part in parts(result, family):
        console.print(part)


def parts(r: LimitsResult, family: str) -> Iterator[RenderableType]:
    """The parts of the print, top to bottom."""
    yield from _sentences("where it stands", stand(r, family))
    yield _margins(r, family)
    yield from _sentences("about knock", r.knock)
    yield _alone(r, family)
    yield from _sentences("farther out, about", farther(r, family))
    if r.together:
        yield from _together(r, family)
    if r.region:
        yield _region(r, family)
    yield from _sentences("warnings", r.warnings)
    yield from _sentences("caution", [NO_TARGET, GENERAL, PULLS])


def stand(r: LimitsResult, family: str) -> list[str]:
    """Whether the point is inside its limits, and by how much it is not."""
    at = [f"{r.speed_rpm:.0f} rpm"]
    at += [turned(a, v, family) for a, v in (("boost", r.boost_pa), ("spark", r.spark_advance_deg)) if v is not None]
    where = f"At {', '.join(at)}, lambda {r.lambda_ratio:.3f}, {value_text(r.power_w, 'power', family)}: "
    over = [m for m in r.margins if m["exceeded"]]
    near = [m for m in r.margins if not m["exceeded"] and m["clear"] < 0.0]
    if over:
        past = (f"{label_of(m['name'])} by {_gap(m, -m['margin'], family)}" for m in over)
        return [where + "OUTSIDE its limits. Past: " + "; ".join(past) + "."]
    if not r.inside:
        return [where + "outside what can be run: " + "; ".join(r.warnings)]
    if near:
        return [
            where
            + "inside every limit, but nearer than the allowance to: "
            + ", ".join(label_of(m["name"]) for m in near)
            + "."
        ]
    return [where + "inside every limit with its allowance."]


def _gap(row: dict[str, Any], value: float, family: str) -> str:
    return _difference(value, margin_kind(str(row["name"])), family).removeprefix("+")


def _margins(r: LimitsResult, family: str) -> RenderableType:
    table = _table("limit", "now", "limit at", "margin", "allowance", "")
    for row in sorted(r.margins, key=lambda m: m["clear"] / max(m["allowance"], 1e-12)):
        name, kind = str(row["name"]), margin_kind(str(row["name"]))
        now, limit = (value_text(row[k], kind, family) for k in ("value", "limit"))
        state = Text("EXCEEDED", style="bold red") if row["exceeded"] else Text("near" if row["clear"] < 0.0 else "")
        table.add_row(
            short(name),
            now,
            limit,
            _difference(row["margin"], kind, family),
            _gap(row, row["allowance"], family),
            state,
        )
    return _headed("margins, the nearest first", table)


def _alone(r: LimitsResult, family: str) -> RenderableType:
    out = r.inside
    table = _table("turned", "inside up to" if out else "inside from", "limit there", "backed off")
    for row in r.alone:
        edge, backed = row["edge"], row["backed_off"]
        if edge is None:
            none = f"no limit to {turned(row['axis'], row['searched_to'], family)}" if out else "no way back in"
            at, name = ("-", none)
        else:
            at, name = turned(row["axis"], edge["value"], family), short(edge["limit"])
        table.add_row(row["direction"], at, name, _backed(row, backed, out, family))
    return _headed("one at a time, the rest held" if out else "the way back in, one at a time, the rest held", table)


def _backed(row: dict[str, Any], backed: dict[str, Any] | None, out: bool, family: str) -> str:
    if backed is None:
        return "-"
    return ("back to " if out and backed["inward"] else "") + turned(row["axis"], backed["value"], family)


def farther(r: LimitsResult, family: str) -> list[str]:
    """The limits behind the first in each direction."""
    lines = []
    for row in r.alone:
        found = (row["edge"] or {}).get("beyond") or []
        if found:
            each = (f"{short(b['limit'])} at {turned(row['axis'], b['about'], family)}" for b in found)
            lines.append(f"{row['direction']}: " + ", ".join(each))
    return lines


def _spark(end: dict[str, Any] | None, family: str) -> str:
    return "-" if end is None else turned("spark", end["spark_advance_deg"], family)


def _together(r: LimitsResult, family: str) -> Iterator[RenderableType]:
    table = _table("lambda", "edge", "spark", "power", "backed off", "spark", "power")
    met = []
    for row in r.together:
        cells = [f"{row['lambda_ratio']:.3f}"]
        for window in (row["highest"], row["backed_off"]):
            if window is None:
                cells += ["none", "-", "-"]
                continue
            best = window["strongest"]
            cells += [turned("boost", window["boost_pa"], family), _spark(best, family)]
            cells.append(value_text(best["power_w"], "power", family))
        table.add_row(*cells)
        if row["highest"] is not None:
            names = dict.fromkeys(
                short(e["limit"]) for e in (row["highest"]["latest"], row["highest"]["earliest"]) if e
            )
            met.append(f"lambda {row['lambda_ratio']:.3f}: {' and '.join(names)}")
    yield _headed("boost, spark and mixture together: the highest boost inside every limit", table)
    yield from _sentences("what ends it there", met)


def _region(r: LimitsResult, family: str) -> RenderableType:
    inner = {row["boost_pa"]: row for row in r.region_backed_off}
    table = _table("boost", "latest", "by", "earliest", "by", "backed off", "to")
    for row in r.region:
        latest, earliest, kept = row["latest"], row["earliest"], inner.get(row["boost_pa"])
        table.add_row(
            turned("boost", row["boost_pa"], family),
            *(
                x
                for end in (latest, earliest)
                for x in (_spark(end, family), "" if end is None else TINY.get(end["limit"], short(end["limit"])))
            ),
            *(("none", "") if kept is None else (_spark(kept["latest"], family), _spark(kept["earliest"], family))),
        )
    return _headed(f"sparks inside every limit at each boost, lambda {r.lambda_ratio:.3f}", table)


def csv_text(r: LimitsResult) -> str:
    """Every point solved, in SI: the setting, power, probe reading and each margin."""
    names = sorted({name for point in r.points.known.values() for name in point.rows})
    out = io.StringIO()
    writer = csv.writer(out, lineterminator="\n")
    writer.writerow(
        ["boost_pa", "spark_advance_deg", "lambda_ratio", "status", "power_w", *(f"margin_{n}" for n in names)]
    )
    for setting, point in sorted(r.points.known.items(), key=lambda item: tuple(x or 0.0 for x in item[0])):
        p = point.prediction
        ends = [f"{v:.9g}" if v is not None else "" for v in setting]
        rest = ["no answer", ""] if p is None else [p.status, f"{p.power_w:.9g}"]
        writer.writerow([*ends, *rest, *(f"{point.rows[n]['margin']:.9g}" if n in point.rows else "" for n in names)])
    return out.getvalue()
