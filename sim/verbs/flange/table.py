"""A result of `flange` as tables a person reads: heat and gas, torque, the clamp of a stud, margins, boss, caution."""

from collections.abc import Iterator, Mapping
from typing import Any

from rich.console import Console, RenderableType
from rich.table import Table
from rich.text import Text

from ...names import label_of
from ...table_print import NONE, _difference, _headed, _models, _sentences, _table, margin_kind, value_text
from .result import PLAIN, SPRUNG, FlangeResult
from .words import CAUTIONS, NOT_IN_IT, torque_text

Rows = list[tuple[str, str]]
NUTS = {"nut": "nuts behind", "tapped": "tapped far flange"}
ORDER = {"lowest": "sticky threads", "usual": "usual", "highest": "slippery threads"}


def print_flange(result: FlangeResult, family: str, console: Console | None = None) -> None:
    """Print a result in the unit family "metric" or "us"."""
    console = console or Console(highlight=False)
    console.print(Text(f"\n{result.title}: turbine flange", style="bold"))
    for part in parts(result, family):
        console.print(part)


def parts(result: FlangeResult, family: str) -> Iterator[RenderableType]:
    """The parts of the print, top to bottom."""
    yield _grid("heat and gas", _heat(result, family))
    yield _grid("torque", _torque(result, family))
    yield _surfaces(result, family)
    yield _clamps(result, family)
    yield _grid("clamp of the whole flange, gas taken off", _left(result, family))
    yield from _sentences("conical washers", [washers_sentence(result, family)])
    yield _margins("margins, the least first", result.margins, family)
    if result.boss is not None:
        yield from _boss(result.boss, family)
    yield from _sentences("warnings", result.warnings)
    yield from _models(result.models)
    if result.guesses:
        text = f"{len(result.guesses)} inputs are stand-ins: {', '.join(n.removeprefix('flange.') for n in result.guesses)}."
        yield from _sentences("guesses", [text + ' "hotside explain flange.NAME" says how to measure one.'])
    yield from _sentences("not in it", [NOT_IN_IT])
    yield from _sentences("caution", CAUTIONS)


def _grid(title: str, rows: Rows) -> RenderableType:
    table = Table.grid(padding=(0, 3))
    for label, text in rows:
        table.add_row(label, text)
    table.columns[1].justify = "right"
    return _headed(title, table)


def _heat(r: FlangeResult, family: str) -> Rows:
    def warm(value: float) -> str:
        return value_text(value, "temperature", family)

    rows = [
        (f"wall, {r.wall_source}", warm(r.wall_temperature_k)),
        ("flanges", warm(r.flange_temperature_k)),
        ("studs", warm(r.stud_temperature_k)),
        (f"peak pressure of the gas, {r.pressure_source}", value_text(r.gas_pressure_peak_pa, "pressure", family)),
    ]
    if r.gas_pressure_mean_pa is not None:
        rows.append(("its mean", value_text(r.gas_pressure_mean_pa, "pressure", family)))
    return [
        *rows,
        ("force of the gas that opens the joint", value_text(r.gas_force_n, "force", family)),
        ("clamp wanted, whole flange", value_text(r.clamp_wanted_n, "force", family)),
    ]


def _torque(r: FlangeResult, family: str) -> Rows:
    f = r.check.flange
    given = "torque of the case" if f.torque is not None else "torque to set"
    low, high = (torque_text(x, family) for x in (r.tightening_torque_formula_nm[0], r.tightening_torque_formula_nm[2]))
    rows = [
        ("studs", f"{f.studs} x {f.thread}, {f.stud_metal}, {NUTS[f.holding]}"),
        ("threads and faces", f"{r.lubrication}, nut factor {r.nut_factor:g} +-{100.0 * r.scatter:.0f} %"),
        (given, torque_text(r.tightening_torque_nm, family)),
        ("least for the clamp wanted, if sticky", torque_text(r.tightening_torque_lowest_nm, family)),
        ("most for the stud, if slippery", torque_text(r.tightening_torque_highest_nm, family)),
        ("most that stretches no hot stud", torque_text(r.tightening_torque_elastic_hot_nm, family)),
        ("friction formula for the same force", f"{low} to {high}"),
        ("turn past snug", value_text(r.turn_deg, "angle", family)),
    ]
    if r.wrench_setting_nm is not None:
        rows.append(("wrench set with the adapter", torque_text(r.wrench_setting_nm, family)))
    return rows


def _surfaces(r: FlangeResult, family: str) -> RenderableType:
    here = f"on {r.lubrication} threads" if r.lubrication != "dry" else "on dry threads"
    table = _table("threads and faces", "nut factor", "torque for them", f"the same {here} pulls", "of yield")
    for row in r.surfaces:
        share = Text(
            f"{100.0 * row['yield_share_here']:.0f} %", style="bold red" if row["yield_share_here"] > 1.0 else ""
        )
        pull, torque = (
            value_text(row["preload_here_n"], "force", family),
            torque_text(row["torque_proposed_nm"], family),
        )
        table.add_row(str(row["surface"]), f"{row['nut_factor']:g}", torque, pull, share)
    return _headed("a torque belongs to its threads", table)


def _clamps(r: FlangeResult, family: str) -> RenderableType:
    table = _table("stud force", "tightened", "settled", "hot", "cold again", "lost")
    for row in r.clamps:
        sort = row["arrangement"] + (" (fitted)" if row["arrangement"] == r.fitted else "")
        forces = (value_text(row[k], "force", family) for k in ("tightened_n", "settled_n", "hot_n", "cold_again_n"))
        table.add_row(f"{sort}, {ORDER[row['preload']]}", *forces, f"{100.0 * row['lost_share']:.0f} %")
    return _headed("clamp of one stud through the heat", table)


def _left(r: FlangeResult, family: str) -> Rows:
    return [
        ("hot, sticky threads", value_text(r.clamp_left_hot_n, "force", family)),
        ("cold again, sticky threads", value_text(r.clamp_left_cold_again_n, "force", family)),
    ]


def washers_sentence(r: FlangeResult, family: str) -> str:
    """What conical washers change, and the springs it follows from."""
    plain, sprung = (next(j for j in r.joints if j["arrangement"] == a) for a in (PLAIN, SPRUNG))
    lost = {c["arrangement"]: c for c in r.clamps if c["preload"] == "usual"}
    w = sprung["washers"]
    give, unit = (1e9, "um for each kN") if family == "metric" else (4448.22 / 25.4e-6, "thou for each 1000 lbf")
    own = plain["stud_compliance_m_per_n"] + plain["parts_compliance_m_per_n"]
    whole = (
        sprung["stud_compliance_m_per_n"] + sprung["parts_compliance_m_per_n"] + sprung["washers_compliance_m_per_n"]
    )
    whose = "those of the case" if r.fitted == SPRUNG else "proposed"
    return (
        f"{w['opposed']} opposed packets of {w['nested']} ({whose}: {1e3 * w['outer_diameter']:.3g} x "
        f"{1e3 * w['inner_diameter']:.3g} x {1e3 * w['thickness']:.3g} mm, cone {1e3 * w['cone']:.3g} mm, {w['metal']}) give way by "
        f"{whole * give:.1f} {unit}, the joint without them by {own * give:.1f}: the same loss of length costs less "
        f"force. Lost over the heat cycle: {100.0 * lost[SPRUNG]['lost_share']:.0f} % with them, "
        f"{100.0 * lost[PLAIN]['lost_share']:.0f} % without."
    )


def _margins(title: str, rows: list[dict[str, Any]], family: str) -> RenderableType:
    table = _table("limit", "now", "limit at", "margin", "of it", "")
    for row in rows:
        name = str(row["name"])
        state = Text("EXCEEDED", style="bold red") if row["exceeded"] else Text("")
        figures = (
            _figure(name, row["value"], family),
            _figure(name, row["limit"], family),
            _gap(name, row["margin"], family),
        )
        table.add_row(label_of(name), *figures, f"{100.0 * row['share']:.0f} %", state)
    return _headed(title, table)


def _figure(name: str, value: float, family: str) -> str:
    return _stress(value, family) if name.endswith("_stress_pa") else value_text(value, margin_kind(name), family)


def _gap(name: str, value: float, family: str) -> str:
    if name.endswith("_stress_pa"):
        return ("+" if value >= 0.0 else "") + _stress(value, family)
    return _difference(value, margin_kind(name), family)


def _stress(value: float, family: str) -> str:
    return f"{value / 1e6:.0f} MPa" if family == "metric" else f"{value / 6894757.0:.1f} ksi"


def _boss(boss: Mapping[str, Any], family: str) -> Iterator[RenderableType]:
    def length(name: str) -> str:
        return NONE if boss[name] is None else value_text(boss[name], "length", family)

    place = boss["place"] if isinstance(boss["place"], str) else f"runner {boss['place']}"
    rows = [
        ("place and thread", f"{place}, {boss['thread']}"),
        ("wall there", value_text(boss["wall_temperature_k"], "temperature", family)),
        ("whole thread", length("whole_thread_m")),
        ("flat boss asked for above the crown", length("boss_height_needed_m")),
        ("wall left standing around the pipe", value_text(boss["wall_left_share"], "fraction", family)),
    ]
    if boss["wall_to_edge_m"] is not None:
        rows.append(("metal left to the nearest edge", length("wall_to_edge_m")))
    if boss["probe_blockage_share"] is not None:
        rows.append(("bore that the probe blocks", value_text(boss["probe_blockage_share"], "fraction", family)))
    yield _grid("boss", rows)
    yield _margins("margins of the boss", boss["margins"], family)
