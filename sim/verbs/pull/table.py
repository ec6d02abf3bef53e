"""A pull as tables a person reads: needles against speed, the lift values, the walls, warnings, caution."""

from collections.abc import Iterator

import numpy as np
from rich.console import Console, RenderableType
from rich.text import Text

from ...case import Case
from ...gauge_tables import place_text
from ...table_parts import _headed, _sentences, _table, value_text
from .result import PullResult
from .words import HOW_TO_READ, NOT_IN_IT, cautions, wall_words

SHOWN = 9  # rows of a printed table


def print_pull(result: PullResult, case: Case, family: str, console: Console | None = None) -> None:
    """Print a pull in the unit family "metric" or "us"; the case is the one it was made with."""
    console = console or Console(highlight=False)
    how = "dyno ramp" if result.by == "dyno" else "pull in a gear"
    heading = (
        f"\n{result.title}: {how}, {result.begins_rpm:.0f} to {result.ends_rpm:.0f} rpm in {result.duration_s:.1f} s"
    )
    console.print(Text(heading, style="bold"))
    for part in parts(result, case, family):
        console.print(part)


def parts(result: PullResult, case: Case, family: str) -> Iterator[RenderableType]:
    """The parts of the print, top to bottom."""
    yield _headed("engine and pressure gauges", _engine(result, family))
    for probe in result.probes:
        table = _table("engine speed", "gas there", "if held", "needle", "lift at")
        for i in rows(result):
            names = ("gas_temperature_k", "held_reading_k", "needle_k", "lift_by_speed_k")
            gas, held, needle, mark = (value_text(probe[name][i], "temperature", family) for name in names)
            table.add_row(f"{result.speed_rpm[i]:.0f} rpm", gas, held, Text(needle, style="bold"), mark)
        yield _headed(f"exhaust probe, {place_text(probe)} ({probe['kind']})", table)
    if result.probes:
        yield _headed("lift when the needle shows", _lift(result, family))
    yield from _sentences("how to read it", [HOW_TO_READ] if result.probes else [])
    yield from _sentences("walls", [wall_words(case, result.walls, family)])
    yield from _sentences("not in it", [NOT_IN_IT])
    yield from _sentences("warnings", result.warnings)
    if result.guesses:
        text = f"{len(result.guesses)} inputs of the pull are stand-ins: {', '.join(result.guesses)}."
        yield from _sentences("guesses", [text + ' "hotside explain NAME" says how to measure one.'])
    yield from _sentences("caution", cautions(case))


def rows(result: PullResult) -> list[int]:
    """Which of the reported speeds are printed."""
    return [int(i) for i in np.linspace(0, len(result.speed_rpm) - 1, SHOWN).round()]


def _engine(result: PullResult, family: str) -> RenderableType:
    road, tap = result.road_speed_m_s, result.tap_needle_pa
    table = _table(
        "engine speed",
        "time",
        *(["road"] if road else []),
        "boost",
        "backpressure",
        *(["tap's needle"] if tap else []),
        "torque",
    )
    for i in rows(result):
        cells = [f"{result.speed_rpm[i]:.0f} rpm", f"{result.time_s[i]:.1f} s"]
        if road:
            cells.append(f"{3.6 * road[i]:.0f} km/h" if family == "metric" else f"{road[i] / 0.44704:.0f} mph")
        cells += [value_text(x[i], "pressure", family) for x in (result.boost_pa, result.backpressure_pa)]
        if tap:
            cells.append(value_text(tap[i], "pressure", family))
        table.add_row(*cells, value_text(result.torque_nm[i], "torque", family))
    return table


def _lift(result: PullResult, family: str) -> RenderableType:
    table = _table("exhaust probe", "ceiling if held", "edge", "backed off", "at", "end of pull")
    for probe in result.probes:
        at = f"{probe['lift_at_rpm']:.0f} rpm"
        warm = (value_text(probe[name], "temperature", family) for name in ("ceiling_k", "lift_k"))
        backed = Text(value_text(probe["lift_backed_off_k"], "temperature", family), style="bold")
        end = value_text(probe["needle_k"][-1], "temperature", family)
        table.add_row(place_text(probe), *warm, backed, at, end)
    return table
