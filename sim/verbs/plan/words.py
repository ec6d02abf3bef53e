"""What the card says in sentences: how to use it, when to abort, the lag of the probe, the cautions."""

import math

from ...cautions import GENERAL, HOT_SIDE, PRESSURE_TAP, PULLS
from ...showing import kelvins
from .result import PlanResult

PULL = 5.0  # length of a pull in a gear that the probe's lag is said for [s]
USE = (
    "One pull for each row, cooled down between. Go on only where every reading lay inside its band: one outside it, high or "
    "low, means the engine is not the one calculated. Stop there and find out why."
)
ALONE = "No milder pull keeps every allowance, so that there is no step before this one: see hotside limits for what is near."
ABORT = (
    "Lift at once, whatever the row: any knock, heard or logged; a mixture leaner than the value; fuel pressure below the value; "
    "boost above the value; a probe or the backpressure at its lift value; a reader who calls. The exhaust gauge is never the only stop."
)


def lag(r: PlanResult, family: str) -> str:
    """How far the slowest needle is behind in the last pull, and what that does to the lift value."""
    last = r.pulls[-1]
    behind = [
        g["behind_in_pull_k"] for g in last["gauges"] if g["gauge"] == "probe_k" and g["behind_in_pull_k"] is not None
    ]
    if behind:
        return (
            f"Probe readings are those of a held load. In a pull ({last['by']}, {last['duration_s']:.1f} s, as hotside pull gives it "
            f"for the last row) the slowest needle is {kelvins(max(behind), family)} behind at {r.speed_rpm:.0f} rpm: there the lower lift value counts."
        )
    times = [g["time_constant_s"] for g in last["gauges"] if g["gauge"] == "probe_k"]
    if not times:
        return ""
    shown = 1.0 - math.exp(-PULL / max(times))
    return (
        f"The probe readings are those of a held load. In {PULL:.0f} s the slowest probe (time constant {max(times):.1f} s) shows "
        f"{100.0 * shown:.0f} % of a rise: a short pull reads low, and the gas is hotter than the needle says."
    )


def overlap(r: PlanResult) -> str:
    """Where a band reaches past its lift value, as near a limit it does: which of the two counts."""
    rows = [str(p["pull"]) for p in r.pulls if any(g["high"] > g["lift"] for g in p["gauges"] if not g["lift_below"])]
    if not rows:
        return ""
    return f"In pull {', '.join(rows)} a band reaches past its lift value: the lift value is then the band's end."


def notes(r: PlanResult, family: str) -> list[str]:
    """What stands under the tables."""
    found = [ALONE if len(r.pulls) == 1 else "", USE, ABORT, overlap(r), lag(r, family)]
    if r.fuel_pressure_guessed:
        found.append("Fuel pressure rests on a stand-in, fuel.rail_pressure: read yours first and shift the column.")
    if r.guesses:
        found.append(f"{r.guesses} inputs of the case are stand-ins; the bands do not cover a wrong one.")
    return [line for line in found if line]


def cautions(r: PlanResult) -> list[str]:
    """The cautions of a card."""
    return [GENERAL, PULLS, HOT_SIDE, *([PRESSURE_TAP] if r.has_tap else [])]
