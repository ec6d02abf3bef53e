"""`burn`: a measured cylinder pressure in, the burn out.

The module does not bear the verb's name: `from hotside.sim import burn` must go on giving the function.
"""

from collections.abc import Callable
from pathlib import Path

import numpy as np

from ... import angles, units
from ...case import Case
from ...errors import CaseError
from . import words
from .charge import Trapped, trapped
from .invert import Burned, burned_of
from .peg import NONE, Line, pegged
from .result import BurnResult
from .signal import grid, on_grid, volumes
from .trace import Array, Cycle, Trace, read_trace
from .words import SMOOTH

Progress = Callable[[str], None]
MOST_PASSES, STILL = 4, 5e-4  # change of the burned fraction at which the trapped charge stands still [-]
FEWEST = 3  # cycles that have a spread
AHEAD, LONGEST = 5.0, 40.0  # [deg] the trace begins so much before the burn; the widest window


def burn(
    case: Case,
    trace: Path | str | Trace,
    *,
    cylinder: int = 1,
    peg: str = NONE,
    phase: str = "0 deg",
    smooth: str = SMOOTH,
    begins: str | None = None,
    progress: Progress | None = None,
) -> BurnResult:
    """Burn rate of a measured cylinder pressure by the march's own two zones, run backwards.

    case : Case, the engine at the point of the trace: its settled cycle gives the trapped charge
    trace : a CSV file, or what `read_trace` makes of one
    cylinder : the one the trace is of
    peg : "none" for a trace that is absolute, "compression", or a pressure to add
    phase : added to the crank angles of the trace
    smooth : window of the polynomial; "0 deg" for none
    begins : where the burn is looked for first; the case's own where None
    Raises CaseError in one sentence.
    """
    say = progress or (lambda _: None)
    if not 1 <= cylinder <= case.engine.cylinders:
        raise CaseError(f"--cylinder {cylinder} is none of the engine's {case.engine.cylinders}.")
    shift, window = _angle("phase", phase, -30.0, 30.0), _angle("smooth", smooth, 0.0, LONGEST)
    found = trace if isinstance(trace, Trace) else read_trace(Path(trace))
    cycles = [Cycle(c.angle + shift, c.pressure) for c in found.cycles]
    say("the charge that the engine traps")
    charge = trapped(case, cylinder)
    start = charge.begins if begins is None else _angle("begins", begins, -90.0, 30.0, angles.after_tdc_angle)
    angle = grid(cycles, charge.closes, charge.opens)
    _covers(angle, start)
    each = [on_grid(c, angle, charge.engine.geo) for c in cycles]
    mean = np.mean(each, axis=0)
    line, one, fed, passes = _settled(case, cylinder, charge, angle, mean, start, window, peg)
    spread = [burned_of(fed, angle, p + line.applied, start, window) for p in each] if len(each) >= FEWEST else []
    work = float(((mean + line.applied) * np.gradient(volumes(charge.engine.geo, angle))).sum())
    return _result(case, cylinder, found, line, one, fed, passes, spread, (start, window, shift, work))


def _settled(
    case: Case, cylinder: int, charge: Trapped, angle: Array, mean: Array, start: float, window: float, peg: str
) -> tuple[Line, Burned, Trapped, int]:
    """The burn, and the charge with that burn fed back: trapped gas hangs a little on the burn before it."""
    before: Array | None = None
    turn = 0
    while turn < MOST_PASSES:
        turn += 1
        line = pegged(charge, angle, mean, start, peg)
        one = burned_of(charge, angle, mean + line.applied, start, window)
        if one.fraction[-1] <= 0.5:
            raise CaseError(f"the trace burns {100 * one.fraction[-1]:.0f} % of the charge at most; {words.NO_BURN}")
        rows = [[f"{float(a)!r} deg", float(x)] for a, x in zip(one.angle, one.fraction, strict=True)]
        charge = trapped(case.set_all({"burn.model": "table", "burn.table": rows}), cylinder)
        if before is not None and np.abs(one.fraction - before).max() < STILL:
            break
        before = one.fraction
    return line, one, charge, turn


def _result(
    case: Case, cylinder: int, found: Trace, line: Line, one: Burned, fed: Trapped, passes: int, spread: list[Burned],
    asked: tuple[float, float, float, float],
) -> BurnResult:  # fmt: skip
    back = on_grid(fed.own, one.angle, fed.engine.geo)
    dV = np.gradient(volumes(fed.engine.geo, one.angle))
    rate, heat, walls = one.per_degree(fed.heat)
    result = BurnResult(
        title=case.title,
        speed_rpm=float(case.run.speed_rpm),
        cylinder=cylinder,
        cycles=len(found.cycles),
        rows_left_out=found.left_out,
        begins_deg=asked[0],
        smooth_deg=asked[1],
        phase_deg=asked[2],
        peg_applied_pa=line.applied,
        peg_asked_pa=line.asked,
        pressure_over_case=line.beside_case,
        trapped_mass_kg=fed.mass,
        heat_in_charge_j=fed.heat,
        crank_angle_deg=one.angle.tolist(),
        pressure_pa=one.pressure.tolist(),
        burned_fraction=one.fraction.tolist(),
        burned_fraction_raw=one.raw.tolist(),
        burn_rate_per_deg=rate.tolist(),
        heat_release_j_per_deg=heat.tolist(),
        wall_heat_j_per_deg=walls.tolist(),
        unburned_temperature_k=one.temperatures[0].tolist(),
        burned_temperature_k=one.temperatures[1].tolist(),
        ca10_deg=one.mark(0.1),
        ca50_deg=one.mark(0.5),
        ca90_deg=one.mark(0.9),
        burned_at_end=float(one.raw[-1]),
        work_j=asked[3],
        back_pressure_rms_pa=float(np.sqrt(np.mean((back - one.pressure) ** 2))),
        back_work_ratio=float((back * dV).sum() / (one.pressure * dV).sum()),
        back_peak_pressure_pa=float(back.max()),
        peak_pressure_pa=float(one.pressure.max()),
        ca50_spread_deg=float(np.std([b.mark(0.5) for b in spread], ddof=1)) if spread else None,
        peak_pressure_spread_pa=float(np.std([b.pressure.max() for b in spread], ddof=1)) if spread else None,
        passes=passes,
        warnings=[],
    )
    result.warnings.extend(words.warnings(result, found, one.unmatched, case.report.units))
    return result


def _angle(
    name: str, text: str, low: float, high: float, read: Callable[[str], float] = lambda t: units.parse(t, "angle")
) -> float:
    try:
        value = float(read(text))
    except units.UnitError as error:
        raise CaseError(f'--{name} {text} {error}; write for example --{name} "1 deg".') from None
    if not low <= value <= high:
        raise CaseError(f"--{name} {text} is outside {low:g} to {high:g} deg.")
    return value


def _covers(angle: Array, begins: float) -> None:
    if angle[0] > begins - AHEAD or angle[-1] < begins + 60.0:
        raise CaseError(
            f"the trace covers {angle[0]:.0f} to {angle[-1]:.0f} deg between inlet closing and exhaust opening, the burn begins at "
            f"{begins:.0f} deg; it has to begin {AHEAD:g} deg before that and go 60 deg past it."
        )
