"""One pass over all inputs: what the reading wanted does for a small step of each."""

from typing import Any

from ... import dotted
from ...case import Case
from ...errors import CaseError
from ...schema import Spec
from ...sections import SPECS
from .goal import Goal
from .search import Solver

SECTIONS = (
    "engine",
    "fuel",
    "burn",
    "wall_heat",
    "knock",
    "friction",
    "exhaust",
    "turbine",
    "wastegate",
    "compressor",
    "cooler",
    "ambient",
    "run",
)
STEPS = {"angle": 1.0, "spark": 1.0, "event": 1.0, "after_tdc": 1.0, "temperature": 5.0, "octane": 1.0}  # [deg, K, -]
SHARE = 0.01  # of the value, for all others


def steps(case: Case) -> dict[str, tuple[float, float]]:
    """Every input of numbers that the case's models read: value and step, in SI."""
    found = {}
    for name, spec in SPECS.items():
        if name.split(".")[0] not in SECTIONS or name in case.unread or _said_otherwise(name, case):
            continue
        value = _value(case, name, spec)
        step = 0.0 if value is None else STEPS.get(spec.kind, SHARE * abs(value))
        if value is None or step == 0.0:
            continue
        if spec.high is not None and value + step > spec.high:
            step = -step
        found[name] = (value, step)
    return found


def _said_otherwise(name: str, case: Case) -> bool:
    """Whether the case says in another input what this one would say."""
    given = {f"{section}.{key}" for section, inner in case.raw.items() if isinstance(inner, dict) for key in inner}
    return name not in given and any(rival in given for rival in dotted.RIVALS.get(name, ()))


def _value(case: Case, name: str, spec: Spec) -> float | None:
    try:
        value = case.get(name)
    except (CaseError, AttributeError):
        return None
    if spec.kind == "octane" and isinstance(value, tuple):
        value = value[0]
    return float(value) if isinstance(value, float) else None


def sensitivity(solver: Solver, goal: Goal, now: float, name: str, value: float, step: float) -> dict[str, Any] | None:
    """What one input does; None where it moves nothing or its change is refused."""
    try:
        inputs = {name: dotted.in_si(name, value + step, solver.case)}
    except CaseError:
        return None
    found = solver.point(goal, 1.0, inputs)
    if found.value is None:
        return None
    change = found.value - now
    return {"input": name, "value": value, "step": step, "change": change, "toward": goal.way * change}
