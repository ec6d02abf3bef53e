"""A measured burn in sentences."""

from collections.abc import Iterator
from typing import TYPE_CHECKING

from ...showing import shown

if TYPE_CHECKING:
    from .result import BurnResult
    from .trace import Trace

SMOOTH = "5 deg"  # window where none is named
NO_BURN = "check units, absolute pressure (--peg), phase (--phase) and whether the case is the point of the trace."
METHOD = (
    "The march of the closed cycle backwards: at each degree the burning rate with which its own step (two zones, wall heat, "
    "equilibrium, leak) ends at the measured pressure. Trapped charge: that of the settled case with this burn fed back."
)
BEFORE_USE = (
    "A pressure transducer knows no zero: peg the trace to an absolute pressure, at the intake's bottom dead centre or with --peg "
    "compression. Top dead centre: measure it, with a probe in the plug hole or the peak of a motored trace less its thermal lag; "
    "one degree is worth some per cent of work and of heat. A wrong compression ratio looks like a wrong peg. DEVELOPERS.md "
    "shows what each does."
)
FEW, MUCH = 0.93, 1.005  # burned at the end outside which it is said [-]
OFF_PEG, OFF_CASE, OFTEN = 0.1e5, 0.03, 0.05  # [Pa], [-], [-]


def smoothing(r: "BurnResult") -> str:
    """How the trace was smoothed."""
    if r.smooth_deg <= 0.0:
        return "Nothing is smoothed."
    return f"Smoothed: p V^1.3 by cubics in a window of {r.smooth_deg:g} deg (Savitzky & Golay 1964); the burn is then made to rise."


def signed(pressure: float, family: str) -> str:
    """What is added to a pressure, with its sign."""
    text = shown(pressure, "pressure", family)
    return text if text.startswith("-") else f"+{text}"


def warnings(r: "BurnResult", trace: "Trace", unmatched: float, family: str) -> Iterator[str]:
    """What is odd about a trace, in a family of units."""
    if trace.left_out:
        yield f"{trace.left_out} rows that are no numbers are left out, the first in line {trace.first_left_out}."
    if r.burned_at_end < FEW:
        yield (
            f"Only {100 * r.burned_at_end:.0f} % of what can burn shows in the pressure: a charge smaller than the case's, more wall "
            "heat, a late trace (phase) or a low peg look like this."
        )
    if max(r.burned_fraction_raw) > MUCH:
        yield (
            f"The pressure asks for {100 * max(r.burned_fraction_raw):.1f} % of what can burn: a charge larger than the case's, less "
            "wall heat, an early trace (phase) or a high peg look like this. The table stops at 100 %."
        )
    if unmatched > OFTEN:
        yield f"In {100 * unmatched:.0f} % of the degrees no burning rate gives the pressure: noise before or after the burn, or a wrong peg."
    if r.peg_asked_pa is not None and abs(r.peg_asked_pa - r.peg_applied_pa) > OFF_PEG:
        yield (
            f"The compression line asks for {signed(r.peg_asked_pa, family)}, {signed(r.peg_applied_pa, family)} is added: peg, phase "
            "or compression ratio is off."
        )
    if r.pressure_over_case is not None and abs(r.pressure_over_case - 1.0) > OFF_CASE:
        yield (
            f"Before the burn the trace stands {100 * (r.pressure_over_case - 1.0):+.1f} % from the case: it is another charge, or another "
            "peg. engine.volumetric_efficiency_measured or run.boost bring the case to the trace."
        )
