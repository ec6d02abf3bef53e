"""A few readings as a person writes them, made a point of a log: conditions, readings, what is assumed beside them."""

import math
import re

from ... import channels, standins, units
from ...case import Case
from ...channels import CLOCK, CONDITION
from ...errors import CaseError, Refused
from ...showing import shown
from .forward import BALANCE
from .logged import BALANCE_ERROR, CONDITIONS, Point
from .unknowns import PLACE, probe_class

EXAMPLE = 'write for example --read "speed=6500 rpm, boost=1.4 bar, backpressure=2.2 bar"'
SHORT = 0.95  # share of the boost asked for below which the wastegate is taken to be told to shut
OWN = math.hypot(probe_class(1100.0), PLACE)  # of a probe where one reading has no other to show its offset [K]


def parse(text: str, case: Case, ambient: float) -> dict[str, float]:
    """Channels in SI from "speed=6500 rpm, boost=1.4 bar, backpressure=2.2 bar"; raises CaseError."""
    found: dict[str, float] = {}
    for part in re.split(r",(?=\s*[A-Za-z][\w. ]*=)", text):
        name, equals, value = (p.strip() for p in part.partition("="))
        if not equals or not name or not value:
            raise CaseError(f"--read {part.strip()[:40]} is not NAME=VALUE; {EXAMPLE}.")
        name = name if name in channels.CHANNELS or name.startswith("probe.") else channels.recognised(name) or name
        try:
            one = channels.channel(name)
            if one.role == CLOCK:
                raise Refused("is no reading")
            number, unit = units.split(value)
            unit = "lambda" if one.kind == "mixture" and not unit else unit
            scale = channels.scale(name, unit, standins.stoichiometric_afr(case.fuel.blend))
        except (Refused, units.UnitError) as error:
            raise CaseError(f"--read {name} = {value[:40]} {error}; {EXAMPLE}.") from None
        si = (
            1.0 / number
            if scale.inverse and number > 0.0
            else scale.factor * number + scale.offset - ambient * scale.absolute
        )
        if not one.low <= si <= one.high:
            raise CaseError(
                f"--read {name} = {value[:40]} is no likely {channels.words(name)}; check the figure and its unit."
            )
        if name in found:
            raise CaseError(f"--read {name} is given twice; give it once.")
        found[name] = si
    return found


def point(case: Case, found: dict[str, float]) -> tuple[Point, list[str]]:
    """The readings as a point, and in sentences what is taken as given; raises CaseError for too few or unknown ones."""
    readings = _readings(case, found)
    conditions, assumed = _conditions(case, found)
    errors = {
        n: max(channels.channel(n).error, channels.channel(n).share * abs(v))
        for n, v in (readings | conditions).items()
    }
    own = {n: math.hypot(errors[n], OWN) if n.startswith("probe.") else errors[n] for n in readings}
    opening = found.get("wastegate_opening")
    if opening is None and _told_to_shut(case, found["boost"]):
        opening = 0.0
        assumed.append(
            f"the boost is short of the {shown(case.run.boost or 0.0, 'pressure', case.report.units)} asked for: the wastegate should be shut"
        )
    if opening is not None:
        readings[BALANCE], own[BALANCE] = 0.0, 2.0 * BALANCE_ERROR
    if not readings:
        raise CaseError(
            "--read holds nothing to compare: add backpressure, probe.1, air_flow, or wastegate_opening=0 % where it is known to be shut."
        )
    return Point(conditions, {n: errors[n] for n in conditions}, readings, own, opening, 0.0, "the readings"), assumed


def _readings(case: Case, found: dict[str, float]) -> dict[str, float]:
    for name in ("speed", "boost"):
        if name not in found:
            raise CaseError(f"--read has no {name}; {EXAMPLE}.")
    readings = {n: v for n, v in found.items() if channels.channel(n).role != CONDITION}
    for name in readings:
        if name.startswith("probe.") and int(name[6:]) > len(case.probe):
            raise CaseError(f"--read {name}: the case has {len(case.probe)} [[probe]]; add it with its place.")
    return readings


def _conditions(case: Case, found: dict[str, float]) -> tuple[dict[str, float], list[str]]:
    """What was read of them, the rest as the case has it."""
    own = {"lambda": case.run.lambda_ratio, "spark_advance": case.run.spark_advance}
    held = {n: v for n, v in own.items() if n not in found and v is not None}
    assumed = [f"{channels.words(n)} is taken as the case has it, {v:.3g}" for n, v in held.items()]
    return held | {n: found[n] for n in CONDITIONS if n in found}, assumed


def _told_to_shut(case: Case, boost: float) -> bool:
    """A wastegate that steers boost is shut where the boost falls short."""
    return (
        case.run.boost is not None
        and boost < SHORT * case.run.boost
        and case.wastegate is not None
        and case.wastegate.model == "boost"
    )
