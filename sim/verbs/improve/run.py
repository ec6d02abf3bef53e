"""`improve`: every single change by how far it alone must go toward a target, then the best pairs.

The module does not bear the verb's name: `from hotside.sim import improve` must go on giving the function.
"""

import math
from collections.abc import Callable, Sequence
from concurrent.futures import ThreadPoolExecutor
from itertools import combinations
from typing import Any

from ...case import Case
from ...dotted import RIVALS
from ...errors import CaseError
from ...spray import coolprop
from ...steady import SolveError, predict
from ..sweep.hands import cores
from . import limits, words
from .goal import SPOOL, Goal, boost_timed, costs, goal_of, reading, tip_in
from .levers import Lever, levers
from .result import ImproveResult
from .search import Path, Point, Solver, best, walk
from .sensitivities import sensitivity, steps

Progress = Callable[[str], None]
PAIRED = 4  # changes of which pairs are made
MOVES = 1e-4  # of the distance to the target below which a change moves nothing [-]
Part = tuple[Lever, float]  # a change and the value it ends at


def improve(
    case: Case, target: str, *, spool: bool = False, blends: bool = False, progress: Progress | None = None
) -> ImproveResult:
    """What to change toward a target, and what each change costs elsewhere.

    case : Case
    target : "power = 300 kW", "probe < 850 degC", "ratio < 1.3", "knock margin > 3 deg", "spool < 1 s"
    blends : whether ethanol is also blended into the fuel, in steps of 10 %, and water with methanol sprayed in; each blend is
        tabulated once, some seconds
    spool : whether the tip-in is also marched for every change in the list, some seconds
    Raises CaseError for a target that is none, or where the case itself has no answer.
    """
    say = progress or (lambda text: None)
    coolprop()  # what is sprayed in needs it; on a thread its import could not be stopped
    try:
        found = predict(case, progress=progress)
    except SolveError as error:
        raise CaseError(f"the point of the case itself has no answer: {error}") from None
    goal = goal_of(target, case, found)
    solver = Solver(case, say)
    here = Point(0.0, {}, found, reading(goal, case, found))
    assert here.value is not None
    met = goal.short_of(here.value) <= 0.0
    rows: list[dict[str, Any]] = []
    pairs: list[dict[str, Any]] = []
    felt: list[dict[str, Any]] = []
    if not met:
        solver.begin("sensitivities of all inputs")
        felt = _sensitivities(solver, goal, here.value)
        solver.begin("each change by itself")
        ends = _singles(solver, goal, here, levers(case, blends))
        rows = [row for row, _ in ends]
        solver.begin("the best pairs")
        pairs = _pairs(solver, goal, here, _apart([part for row, part in ends if not row["creeps"]]))
    timed = costs(found.to_dict())
    if spool:
        say("the tip-in of each")
        boost = goal.boost or boost_timed(case)
        timed["time_to_90_s"] = tip_in(case, boost)
        for k, row in enumerate([*rows, *pairs], 1):
            say(f"tip-in {k} of {len(rows) + len(pairs)}")
            row["costs"]["time_to_90_s"] = tip_in(solver.variants.make(row["inputs"]), boost)
    return ImproveResult(
        title=case.title,
        target=goal.text,
        reading=goal.name,
        wanted=goal.value,
        now=finite(here.value),
        met_already=met,
        met_by_single=any(row["meets"] for row in rows),
        here=timed,
        changes=rows,
        pairs=pairs,
        sensitivities=felt,
        points_solved=solver.solved + 1,
    )


def _each(work: Callable[[Any], Any], items: Sequence[Any]) -> list[Any]:
    """The work on threads, in order: kernels let go of the interpreter."""
    with ThreadPoolExecutor(max(cores(), 1)) as pool:
        return list(pool.map(work, items))


def _sensitivities(solver: Solver, goal: Goal, now: float) -> list[dict[str, Any]]:
    if goal.name == SPOOL:
        return []  # a march in time for each of some eighty inputs
    found = _each(lambda item: sensitivity(solver, goal, now, item[0], *item[1]), list(steps(solver.case).items()))
    return sorted((row for row in found if row is not None), key=lambda row: -abs(row["change"]))


def _singles(solver: Solver, goal: Goal, here: Point, choices: list[Lever]) -> list[tuple[dict[str, Any], Part]]:
    found = [x for x in _each(lambda lever: _alone(solver, goal, here, lever), choices) if x is not None]
    return sorted(found, key=lambda item: _rank(goal, item[0]))


def _alone(solver: Solver, goal: Goal, here: Point, lever: Lever) -> tuple[dict[str, Any], Part] | None:
    """One change both ways: the nearer that meets the target, or the best found; None where it moves nothing."""
    paths: list[tuple[Path, int]] = []
    for way in (1, -1):
        if lever.at(way, 1.0) == lever.at(way, 0.0):
            continue
        paths.append((walk(solver, goal, here, lambda s, w=way: lever.inputs(lever.at(w, s))), way))  # type: ignore[misc]
    met = [(p, w) for p, w in paths if p.met is not None]
    if met:
        path, way = min(met, key=lambda item: item[0].met.share if item[0].met else 1.0)
        end = path.met
    else:
        end = best(goal, [p for p, _ in paths])
        path, way = next((p, w) for p, w in paths if any(end is x for x in p.points))
        path = Path([p for p in path.points if p.share <= end.share], None)
    assert end is not None
    gain = goal.short_of(here.value) - goal.short_of(end.value)
    if end.share == 0.0 or gain <= MOVES * goal.short_of(here.value):
        return None
    value = lever.at(way, end.share)
    return _row(goal, here, end, path, [(lever, value)]), (lever, value)


def _apart(parts: list[Part]) -> list[Part]:
    """The best ones that can be made together: no two that write the same input, or each other's rival."""
    chosen: list[Part] = []
    written: set[str] = set()
    for lever, value in parts:
        names = set(lever.inputs(value))
        names |= {rival for name in names for rival in RIVALS.get(name, ())}
        if not names & written:
            chosen.append((lever, value))
            written |= names
    return chosen[:PAIRED]


def finite(value: float | None) -> float | None:
    """A reading as it is kept: a knock margin without end has no number."""
    return None if value is None or math.isinf(value) else value


def _pairs(solver: Solver, goal: Goal, here: Point, parts: list[Part]) -> list[dict[str, Any]]:
    """Two changes at once, both by the same share of what each alone would go."""

    def both(two: tuple[Part, Part]) -> dict[str, Any] | None:
        def inputs(share: float) -> dict[str, Any]:
            found: dict[str, Any] = {}
            for lever, value in two:
                found |= lever.inputs(round(lever.now + share * (value - lever.now), lever.places))
            return found

        path = walk(solver, goal, here, inputs)
        end = path.met or best(goal, [path])
        if end.share == 0.0:
            return None
        return _row(goal, here, end, path, [(x, round(x.now + end.share * (v - x.now), x.places)) for x, v in two])

    found = [row for row in _each(both, list(combinations(parts, 2))) if row is not None]
    return sorted(found, key=lambda row: _rank(goal, row))


def _rank(goal: Goal, row: dict[str, Any]) -> tuple[Any, ...]:
    """First what meets the target and hurts no limit, then what meets it, then the best of the others; creeping boost last of each."""
    if not row["meets"]:
        return (2, row["creeps"], goal.short_of(row["value"]))
    return (1 if limits.hurt(row) else 0, row["creeps"], len(row["passed"]), max(row["shares"]))


def _row(goal: Goal, here: Point, end: Point, path: Path, parts: list[Part]) -> dict[str, Any]:
    assert end.prediction is not None
    bound = limits.first(path)
    point = end.prediction.to_dict()
    return {
        "names": [lever.name for lever, _ in parts],
        "kinds": [lever.kind for lever, _ in parts],
        "from": [lever.now for lever, _ in parts],
        "to": [value for _, value in parts],
        "shares": [lever.share(value) for lever, value in parts],
        "inputs": end.inputs,
        "set": " ".join(words.option(k, v) for k, v in end.inputs.items()),
        "meets": goal.short_of(end.value) <= 0.0,
        "value": finite(end.value),
        "costs": costs(point),
        "passed": limits.passed(here.prediction, end.prediction),
        "worse": limits.worse(here.prediction, end.prediction),
        "cleared": limits.cleared(here.prediction, end.prediction),
        "creeps": limits.creeps(here.prediction, end.prediction),
        "warnings": limits.said_besides(here.prediction, end.prediction),
        "binds_first": bound[0] if bound else None,
        "binds_at_share": bound[1] / end.share if bound and end.share else None,
        "prediction": point,
    }
