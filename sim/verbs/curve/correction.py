"""Whether the atmospheric correction of ISO 1585 may be put on a power, and the sentence that says so."""

from ....models import air
from ...case import Case
from ...prediction import Prediction

NOT_BOOSTED = (
    "{control} holds the boost, so the manifold's pressure does not follow the barometer as the factor supposes: the "
    "turbine makes up for thin air. Compare two days by predicting both: set [ambient]."
)


def factor(case: Case) -> float:
    """The factor for the air at the engine's inlet: the outside air, or the plenum of a bench [-]."""
    out = case.ambient
    found = air.ambient(pressure=out.pressure, temperature=out.temperature, relative_humidity=out.relative_humidity)
    dry_share = 1.0 / (1.0 + found.humidity / 0.621945)  # of the pressure; ratio of the molar masses of water and air
    pressure, temperature = found.pressure, found.temperature
    if case.is_bench and case.run.intake_pressure is not None and case.run.intake_temperature is not None:
        pressure, temperature = case.run.intake_pressure, case.run.intake_temperature
    return float(air.power_correction(pressure * dry_share, temperature))


def controlled(case: Case, point: Prediction) -> bool:
    """Whether something holds the boost at this point: then the correction does not apply."""
    if case.wastegate is None or case.run.held_backpressure is not None:
        return case.wastegate is not None
    if case.wastegate.model == "boost":
        return point.status in ("converged", "boost over")
    return case.wastegate.model == "spring" and bool(point.wastegate_opening)


def applies(case: Case, point: Prediction, value: float) -> bool:
    """Whether the standard's correction may be put on the power of a point."""
    low, high = air.CORRECTION_VALID
    return low <= value <= high and not controlled(case, point)


def note(case: Case, value: float, applied: list[bool]) -> str:
    """What was done with the correction, and why."""
    low, high = air.CORRECTION_VALID
    head = f"ISO 1585: the factor for this air is {value:.3f}. "
    if not low <= value <= high:
        return head + f"It is outside {low:g} to {high:g}, where the standard allows no correction: none is made."
    if applied and all(applied):
        return head + "It applies: nothing holds the boost."
    if case.run.held_backpressure is not None:
        return head + "It does not apply: boost and backpressure are held by hand, the turbo's loop is open."
    control = "the wastegate's spring" if case.wastegate and case.wastegate.model == "spring" else "the wastegate"
    reason = NOT_BOOSTED.format(control=control)
    if any(applied):
        return (
            head
            + "It applies only where the wastegate is shut and the boost is what the turbine makes; elsewhere "
            + reason
        )
    return head + "It does not apply: " + reason
