"""The target: which reading, which way it has to go, and how far a point is from it."""

import math
import re
from collections.abc import Mapping
from typing import TYPE_CHECKING, Any, NamedTuple

from ... import units
from ...case import Case
from ...errors import CaseError
from ...knock_words import knocks_nowhere
from ...names import RESULTS, kind_of, label_of
from ...prediction import Prediction
from ...units import RPM

if TYPE_CHECKING:
    from ..spool.result import SpoolResult

PROBE, SPOOL = "probe_reading_k", "time_to_90_s"
SHORT = {
    "power": "power_w", "torque": "torque_nm", "ratio": "backpressure_ratio", "backpressure": "backpressure_pa",
    "boost": "boost_pa", "knock margin": "knock_margin_deg", "knock": "knock_margin_deg", "consumption": "bsfc_kg_j",
    "turbine inlet": "turbine_inlet_temperature_k", "gas out": "exhaust_temperature_k", "residual": "residual_fraction",
    "octane": "octane_required", "peak pressure": "peak_pressure_pa", "shaft speed": "shaft_speed_rad_s",
    "probe": PROBE, "spool": SPOOL,
}  # fmt: skip
LABELS = {PROBE: "hottest exhaust probe", SPOOL: "time of the tip-in to 90 % of the boost of the case as it is"}
KNOCK = ("knock_margin_deg", "knock_margin_bad_cycle_deg")
KINDS = {PROBE: "temperature", SPOOL: "time", "octane_required": "number", "octane_required_bad_cycle": "number"}
WRITTEN = re.compile(r"\s*(.+?)\s*(<=|>=|=|<|>)\s*(.+?)\s*")
CLOSE = 1e-3  # of the way from now to the target within which it counts as met exactly [-]
SPOOL_AT = 0.6  # of run.speed, where the tip-in is made
LIKE = 'write for example --target "power = 300 kW", "probe < 850 degC", "ratio < 1.3", "knock margin > 3 deg" or "spool < 1 s".'


class Goal(NamedTuple):
    """A reading and the value wanted of it; way is +1 where it has to rise, -1 where it has to fall."""

    text: str
    name: str
    value: float  # [SI]
    way: int
    boost: float | None = None  # to which a tip-in is timed [Pa]

    @property
    def kind(self) -> str:
        """Kind of unit of the reading."""
        return KINDS.get(self.name, kind_of(self.name))

    @property
    def label(self) -> str:
        """What the trade calls the reading."""
        return LABELS.get(self.name) or label_of(self.name)

    def short_of(self, found: float | None) -> float:
        """How much is missing; 0 or less where it is met, infinite where there is no reading."""
        return float("inf") if found is None else self.way * (self.value - found)


def goal_of(text: str, case: Case, here: Prediction) -> Goal:
    """The target read; "=" means from where it is now. Raises CaseError in one sentence."""
    match = WRITTEN.fullmatch(text)
    if match is None:
        raise CaseError(f'--target "{text}" is not "READING = VALUE"; {LIKE}')
    name = SHORT.get(match[1].lower(), match[1])
    known = name in (PROBE, SPOOL) or (name in RESULTS and RESULTS[name].kind not in ("list", "flag", "small", "count"))
    if not known or not (hasattr(here, name) or name in (PROBE, SPOOL)):
        raise CaseError(f'--target: "{match[1]}" is no reading of a prediction; {LIKE}')
    goal = Goal(text.strip(), name, _value(match[3], KINDS.get(name, kind_of(name)), text), 1)
    if name == SPOOL:
        goal = goal._replace(boost=boost_timed(case))
    now = reading(goal, case, here)
    way = {"<": -1, "<=": -1, ">": 1, ">=": 1}.get(match[2], 1 if now is None or goal.value >= now else -1)
    if now is None or (math.isinf(now) and way < 0):
        raise CaseError(f'--target "{text}": this case has no {goal.label} to turn.')
    return goal._replace(way=way)


def _value(text: str, kind: str, whole: str) -> float:
    try:
        return float(units.parse(text, "number" if kind in ("octane", "rpm", "count") else kind))
    except units.UnitError as error:
        raise CaseError(f'--target "{whole}": {text} {error}; {LIKE}') from None


def reading(goal: Goal, case: Case, found: Prediction) -> float | None:
    """The reading of a point; a tip-in is marched where it is asked for. A knock margin without end is infinite."""
    if goal.name == PROBE:
        return max((float(p["reading_k"]) for p in found.probes), default=None)
    if goal.name == SPOOL:
        return tip_in(case, goal.boost)
    value = getattr(found, goal.name)
    if value is None and goal.name in KNOCK and knocks_nowhere(vars(found)):
        return math.inf
    return None if value is None else float(value)


def boost_timed(case: Case) -> float | None:
    """The boost to which tip-ins are timed, 90 % of what that of the case itself comes to [Pa]; None where it does not."""
    found = _spooled(case)
    return None if found is None else found.boost_timed()


def tip_in(case: Case, boost: float | None) -> float | None:
    """Time of a tip-in at SPOOL_AT of the speed to a boost [s]; None where that is not reached."""
    found = _spooled(case) if boost is not None else None
    return None if found is None or boost is None else found.time_to(boost)


def _spooled(case: Case) -> "SpoolResult | None":
    from ...steady import SolveError
    from ..spool.run import spool

    try:
        return spool(case.set_si({"run.speed": SPOOL_AT * case.run.speed_rpm * RPM}), threshold_too=False)
    except (CaseError, SolveError):
        return None


def costs(point: Mapping[str, Any]) -> dict[str, Any]:
    """What a change does elsewhere, of a prediction's dict."""
    names = (
        "power_w",
        "turbine_inlet_temperature_k",
        "exhaust_temperature_k",
        "knock_margin_deg",
        "knock_integral",
        "backpressure_ratio",
        "boost_pa",
    )
    probe = max((float(p["reading_k"]) for p in point["probes"]), default=None)
    return {name: point[name] for name in names} | {PROBE: probe, "status": point["status"]}
