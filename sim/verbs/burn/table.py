"""A measured burn as tables a person reads."""

from collections.abc import Iterator

from rich.console import Console, RenderableType
from rich.table import Table
from rich.text import Text

from ...cautions import GENERAL, PULLS
from ...showing import FAMILIES
from ...table_parts import _headed, _sentences, _table, value_text
from . import words
from .result import BurnResult

SHARES = (0.0, 0.02, 0.1, 0.25, 0.5, 0.75, 0.9, 0.98)  # rows of the printed course


def print_burn(result: BurnResult, family: str, console: Console | None = None) -> None:
    """Print a burn in the unit family "metric" or "us"."""
    console = console or Console(highlight=False)
    many = f"{result.cycles} cycles" if result.cycles > 1 else "one cycle"
    console.print(
        Text(
            f"\n{result.title}: burn of cylinder {result.cylinder} at {result.speed_rpm:.0f} rpm, {many}", style="bold"
        )
    )
    for part in parts(result, family):
        console.print(part)


def parts(r: BurnResult, family: str) -> Iterator[RenderableType]:
    """The parts of the print, top to bottom."""
    yield _headed("burn", _burn(r, family))
    yield _headed("course", _course(r, family))
    yield _headed("fed back into the case (burn.model = table)", _back(r, family))
    yield from _sentences("how", [words.METHOD, words.smoothing(r), words.BEFORE_USE])
    yield from _sentences("warnings", r.warnings)
    yield from _sentences("caution", [GENERAL, PULLS])


def _grid() -> Table:
    table = Table.grid(padding=(0, 3))
    table.add_column()
    table.add_column(justify="right")
    return table


def _burn(r: BurnResult, family: str) -> Table:
    table = _grid()
    for name, value in (("CA10", r.ca10_deg), ("CA50", r.ca50_deg), ("CA90", r.ca90_deg)):
        table.add_row(f"{name[2:]} % of it burnt ({name})", value_text(value, "angle", family))
    table.add_row("burns from", value_text(r.begins_deg, "angle", family))
    table.add_row("burnt in the end, of what can burn", value_text(r.burned_at_end, "fraction", family))
    table.add_row("heat in the charge", f"{r.heat_in_charge_j:.0f} J")
    table.add_row("charge trapped", f"{1e6 * r.trapped_mass_kg:.1f} mg")
    table.add_row("work, inlet closing to exhaust opening", f"{r.work_j:.0f} J")
    table.add_row("added to the pressure", value_text(r.peg_applied_pa, "pressure", family))
    table.add_row("the compression line asks for", value_text(r.peg_asked_pa, "pressure", family))
    if r.ca50_spread_deg is not None:
        table.add_row("CA50 from cycle to cycle, standard deviation", value_text(r.ca50_spread_deg, "angle", family))
        table.add_row("peak pressure from cycle to cycle", value_text(r.peak_pressure_spread_pa, "pressure", family))
    return table


def _course(r: BurnResult, family: str) -> Table:
    pressure, temperature = FAMILIES[family]["pressure"], FAMILIES[family]["temperature"]
    table = _table("angle", "pressure", "burnt", "rate", "heat", "to walls", "unburnt gas", "burnt gas")
    table.add_row("deg", pressure.unit, "%", "%/deg", "J/deg", "J/deg", temperature.unit, temperature.unit)
    end = r.burned_fraction[-1]
    places = sorted({next(i for i, x in enumerate(r.burned_fraction) if x >= share * end) for share in SHARES})
    for i in (*places, len(r.burned_fraction) - 1):
        gas = (
            f"{(t[i] - temperature.offset) / temperature.factor:.0f}"
            for t in (r.unburned_temperature_k, r.burned_temperature_k)
        )
        table.add_row(
            f"{r.crank_angle_deg[i]:.1f}",
            f"{r.pressure_pa[i] / pressure.factor:.1f}",
            f"{100.0 * r.burned_fraction[i]:.1f}",
            f"{100.0 * r.burn_rate_per_deg[i]:.2f}",
            f"{r.heat_release_j_per_deg[i]:.1f}",
            f"{r.wall_heat_j_per_deg[i]:.2f}",
            *gas,
        )
    return table


def _back(r: BurnResult, family: str) -> Table:
    table = _grid()
    table.add_row("peak pressure, trace", value_text(r.peak_pressure_pa, "pressure", family))
    table.add_row("peak pressure, fed back", value_text(r.back_peak_pressure_pa, "pressure", family))
    table.add_row("pressures apart, root mean square", value_text(r.back_pressure_rms_pa, "pressure", family))
    table.add_row(
        "work from there to exhaust opening, against the trace's", f"{100.0 * (r.back_work_ratio - 1.0):+.2f} %"
    )
    return table
