"""The gauges and the hot side as a person reads them: probes with what each loss takes, the pressure tap, surfaces, materials."""

from collections.abc import Iterator, Mapping
from typing import Any

from rich.console import Group, RenderableType
from rich.padding import Padding
from rich.text import Text

from ..models.endurance import LIMITS
from .showing import FAMILIES
from .table_parts import NONE, _difference, _headed, _sentences, _table, value_text

LOSSES = ("pulsation_error_k", "recovery_error_k", "radiation_error_k", "conduction_error_k")
ALIKE = 0.5  # runners no farther apart are called alike: which is the hottest would be a matter of rounding [K]
Row = Mapping[str, Any]


def probe_tables(probes: list[Any], family: str) -> Iterator[RenderableType]:
    """What each probe reads beside the gas there, and what takes the rest."""
    if not probes:
        return

    def warm(probe: Row, name: str) -> str:
        return value_text(probe.get(name), "temperature", family)

    reads = _table("exhaust probe", "gas by time", "by flow", "reads", "class", "95 % in")
    takes = _table("takes from it", "pulsation", "velocity", "radiation", "stem", "wall at")
    for probe in probes:
        place = place_text(probe)
        reading = Text(warm(probe, "reading_k"), style="bold")
        late = value_text(probe.get("response_time_s"), "time", family)
        reads.add_row(
            place, warm(probe, "gas_time_mean_k"), warm(probe, "gas_temperature_k"), reading, _band(probe, family), late
        )
        if "radiation_error_k" in probe:
            lost = (_loss(probe[name], family) for name in LOSSES)
            takes.add_row(place, *lost, warm(probe, "wall_temperature_k"))
    tables = [reads, Text(""), takes] if takes.row_count else [reads]
    yield Padding(Group(Text(""), *tables), (0, 0, 0, 2), expand=False)


def place_text(probe: Row) -> str:
    """Where a probe stands."""
    cylinder, location = probe.get("cylinder"), probe.get("location")
    return f"cylinder {cylinder}" if isinstance(cylinder, int) else str(cylinder or location)


def _loss(value: float, family: str) -> str:
    """What an error takes from the reading, signed, with a tenth."""
    how = FAMILIES[family]["temperature"]
    return f"{-value / how.factor:+.1f} {how.unit}"


def _band(probe: Row, family: str) -> str:
    """Half-width of the tolerance class."""
    if probe.get("reading_high_k") is None:
        return NONE
    return "+-" + _difference(probe["reading_high_k"] - probe["reading_k"], "temperature", family).lstrip("+")


def pressure_tap(row: Row | None, family: str) -> Iterator[RenderableType]:
    """The tap: needle, gauge end, lag, pulsation, and what they mean."""
    if not row:
        return
    table = _table("pressure tap", "reads", "gauge end", "it stands", "lag", "pulses left")
    left = row["pulsation_left"]
    table.add_row(
        place_text(row),
        Text(value_text(row["reading_pa"], "pressure", family), style="bold"),
        value_text(row["gauge_end_warm_side_k"], "temperature", family),
        value_text(row["gauge_limit_k"], "temperature", family),
        f"{1e3 * row['lag_s']:.1f} ms",
        NONE if left is None else f"{100.0 * left:.0f} %",
    )
    yield Padding(Group(Text(""), table, *(Text(text) for text in row["sentences"])), (0, 0, 0, 2), expand=False)


def hot_side(parts: list[Any], family: str) -> Iterator[RenderableType]:
    """Surface temperatures, the hottest runner for all of them."""
    if not parts:
        return
    table = _table("surface", "")
    for row in shortened(parts):
        table.add_row(str(row["part"]), value_text(row["surface_k"], "temperature", family))
    yield _headed("hot-side parts", table)


def shortened(parts: list[Any]) -> list[Row]:
    """The parts with one row, the hottest, for all runners; alike ones are not told apart."""
    runners = [row for row in parts if row["part"].startswith("runner ")]
    others = [row for row in parts if not row["part"].startswith("runner ")]
    hottest = max(runners, key=lambda row: row["surface_k"], default=None)
    if hottest is None:
        return others
    alike = len(runners) > 1 and hottest["surface_k"] - min(row["surface_k"] for row in runners) < ALIKE
    name = "every runner" if alike else f"hottest runner, {hottest['part'].split()[1]}"
    return [dict(hottest) | {"part": name}, *others]


def materials_table(parts: list[Any], family: str) -> Iterator[RenderableType]:
    """What each generic material stands, and the parts of this engine on which it does not."""
    rows = shortened(parts)
    table = _table("material", "stands", "minutes", "too hot for it here")
    table.columns[3].justify = "left"
    for name, limit in LIMITS.items():
        stands, brief = (value_text(t, "temperature", family) for t in (limit.continuous, limit.brief))
        past = [short(row) for row in rows if row["surface_k"] > limit.continuous]
        here = "all of these parts" if len(past) == len(rows) else ", ".join(past) or NONE
        table.add_row(name, stands, brief, here)
    yield _headed("what generic materials stand", table)
    sources: dict[str, list[str]] = {}
    for name, limit in LIMITS.items():
        sources.setdefault(limit.source, []).append(name)
    yield from _sentences(
        "sources of the table", [f"{source}: {', '.join(names)}." for source, names in sources.items()]
    )
    bases = dict.fromkeys(f"{row['basis']}." for row in parts)
    yield from _sentences("surfaces", [text[0].upper() + text[1:] for text in bases])


def short(row: Row) -> str:
    """A part in one or two words."""
    part = str(row["part"])
    runner = part.startswith(("hottest runner", "every runner"))
    return "runner" if runner else part.removeprefix("turbine ").removeprefix("flange ")
