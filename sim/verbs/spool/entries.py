"""What is not known of a housing with two entries: what one entry loses while the other passes nothing, and the time of a tip-in."""

from dataclasses import replace

from ...case import Case
from ...schema import places
from ...sections_turbo import Turbine
from ...steady import SolveError
from .result import SpoolResult
from .run import spool

LOSS = "unequal_admission_loss"


def ends_of(case: Case) -> tuple[float, float] | None:
    """Both ends of the loss where a divided housing leaves it to the stand-in; else None."""
    if case.turbine is None or case.exhaust.collectors != 2 or f"turbine.{LOSS}" not in case.guesses:
        return None
    spec = next(spec for name, _, spec in places(Turbine) if name == LOSS)
    assert spec is not None
    here = case.turbine.unequal_admission_loss
    far = spec.half_width(here)
    return max(here - far, 0.0), here + far


def banded(case: Case, found: SpoolResult) -> SpoolResult:
    """The tip-in with its `time_band_s`, and a note of it: the time to the same boost at both ends of the loss.

    As it is where the housing has one entry, or the case states the loss.
    """
    ends = ends_of(case)
    boost = found.boost_timed()
    if ends is None or boost is None:
        return found
    try:
        there = [spool(case.set(f"turbine.{LOSS}", loss), threshold_too=False).time_to(boost) for loss in ends]
    except SolveError:
        return found
    return replace(found, time_band_s=there, notes=[*found.notes, _said(ends, there)])


def _said(ends: tuple[float, float], there: list[float | None]) -> str:
    low, high = ("not reached" if t is None else f"{t:.2f} s" for t in there)
    return (
        f"What one of two entries loses while the other passes nothing (turbine.{LOSS}) is a judgement without a published source: "
        f"at {100.0 * ends[0]:.0f} % the time is {low}, at {100.0 * ends[1]:.0f} % {high}."
    )
