"""A tip-in as tables a person reads."""

from collections.abc import Iterator

import numpy as np
from rich.console import Console, RenderableType
from rich.table import Table
from rich.text import Text

from ...cautions import GENERAL, HOT_SIDE, PULLS
from ...table_parts import _headed, _sentences, _table, value_text
from .result import SpoolResult

ROWS = 11  # of the printed table
DEPENDS = "It hangs on guesses that few can measure: the shaft's inertia, the compressor's and turbine's efficiency far from their best."


def print_spool(result: SpoolResult, family: str, console: Console | None = None) -> None:
    """Print a tip-in in the unit family "metric" or "us"."""
    console = console or Console(highlight=False)
    how = "in gear" if result.in_gear else "engine speed held"
    console.print(Text(f"\n{result.title}: tip-in at {result.speed_rpm:.0f} rpm, {how}", style="bold"))
    for part in parts(result, family):
        console.print(part)


def parts(result: SpoolResult, family: str) -> Iterator[RenderableType]:
    """The parts of the print, top to bottom."""
    table = Table.grid(padding=(0, 3))
    seconds = "-" if result.time_to_90_s is None else f"{result.time_to_90_s:.2f} s"
    speed = "-" if result.threshold_rpm is None else f"{result.threshold_rpm:.0f} rpm"
    table.add_row("boost when all has settled", value_text(result.steady_boost_pa, "pressure", family))
    table.add_row("time to 90 % of the boost", Text(seconds, style="bold"))
    table.add_row(f"boost threshold, lowest speed with 90 % of {_goal(result, family)}", speed)
    table.add_row("shaft speed at the cruise", value_text(result.shaft_cruise_rad_s, "rotation", family))
    table.columns[1].justify = "right"
    yield _headed("spool", table)
    yield _headed("after the throttle opens", _course(result, family))
    yield from _sentences("how it is marched", [*result.notes, DEPENDS])
    yield from _sentences("warnings", result.warnings)
    yield from _sentences("caution", [GENERAL, PULLS, HOT_SIDE])


def _goal(result: SpoolResult, family: str) -> str:
    """What the threshold is a share of: the boost asked for, or where none is what this speed settles at."""
    if result.target_boost_pa is not None:
        return f"the {value_text(result.target_boost_pa, 'pressure', family)} asked for"
    return f"the {value_text(result.steady_boost_pa, 'pressure', family)} settled here"


def _course(result: SpoolResult, family: str) -> Table:
    table = _table("time", "boost", "before turbine", "turbo shaft", "engine", "torque")
    end = result.time_s[-1]
    for t in np.linspace(0.0, end, ROWS):
        i = int(np.argmin(np.abs(np.array(result.time_s) - t)))
        table.add_row(
            f"{result.time_s[i]:.2f} s",
            value_text(result.boost_pa[i], "pressure", family),
            value_text(result.backpressure_pa[i] if i else None, "pressure", family),
            value_text(result.shaft_speed_rad_s[i], "rotation", family),
            f"{result.engine_speed_rpm[i]:.0f} rpm",
            value_text(result.torque_nm[i] if i else None, "torque", family),
        )
    return table
