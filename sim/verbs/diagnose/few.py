"""A few readings: the explanations ranked by odds, and the cheapest next test that would split the first two.

The evidence of each cause is the chance of the readings under it, its size unknown: the model is solved at a few sizes, the
readings between them interpolated, and normal densities summed with how usual each size is. What the case leaves open
(priors of the unknowns, errors of gauges and conditions) makes the width of those densities.
"""

import math
import re
from collections.abc import Mapping
from dataclasses import asdict, dataclass
from typing import Any

import numpy as np

from ... import channels, standins, units
from ...case import Case
from ...channels import CLOCK, CONDITION
from ...errors import CaseError, Refused
from ...setup import prepare
from .causes import TESTS, Cause, Setting, Test, bell, causes
from .fit import Array
from .forward import BALANCE, Unsolved
from .logged import BALANCE_ERROR, CONDITIONS, Point
from .looks import amount
from .problem import Problem
from .unknowns import NORMAL_90, unknowns

FINE = 201  # sizes between those solved
SHORT = 0.95  # share of the boost asked for below which the wastegate is taken to be told to shut
GAUGE_OFF = {
    "pressure_gauge": 0.10,
    "mass_flow": 0.10,
    "fuel_flow": 0.10,
    "torque": 0.08,
    "rotation": 0.05,
}  # of the reading
GAUGE_OFF_K, GAUGE_OFF_LAMBDA = 30.0, 0.04
GAUGE_BEFORE = 0.05  # chance before anything is read that a given gauge lies
SPLITS = 2.0  # standard deviations that two causes must lie apart in a reading for it to tell them apart


@dataclass(frozen=True)
class Readings:
    """A few readings explained."""

    title: str
    units: str  # family
    readings: list[dict[str, Any]]
    assumed: list[str]
    causes: list[dict[str, Any]]
    tests: list[dict[str, Any]]
    sentences: list[str]

    def to_dict(self) -> dict[str, Any]:
        """The same as a plain dict, equal to the JSON output."""
        return asdict(self)


def parse(text: str, case: Case, ambient: float) -> dict[str, float]:
    """Channels in SI from "speed=6500 rpm, boost=1.4 bar, backpressure=2.2 bar"; raises CaseError."""
    found: dict[str, float] = {}
    example = 'write for example --read "speed=6500 rpm, boost=1.4 bar, backpressure=2.2 bar"'
    for part in re.split(r",(?=\s*[A-Za-z][\w. ]*=)", text):
        name, equals, value = (p.strip() for p in part.partition("="))
        if not equals or not name or not value:
            raise CaseError(f"--read {part.strip()[:40]} is not NAME=VALUE; {example}.")
        name = name if name in channels.CHANNELS or name.startswith("probe.") else channels.recognised(name) or name
        try:
            one = channels.channel(name)
            if one.role == CLOCK:
                raise Refused("is no reading")
            number, unit = units.split(value)
            unit = "lambda" if one.kind == "mixture" and not unit else unit
            scale = channels.scale(name, unit, standins.stoichiometric_afr(case.fuel.blend))
        except (Refused, units.UnitError) as error:
            raise CaseError(f"--read {name} = {value[:40]} {error}; {example}.") from None
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


def diagnose_readings(case: Case, text: str, *, progress: Any = None) -> Readings:
    """Rank what may be behind a few readings.

    case : Case of a turbo engine
    text : readings, as parse takes them; speed and boost are needed, and one reading to compare
    Raises CaseError in one sentence.
    """
    if case.is_bench or case.run.held_backpressure is not None:
        raise CaseError(
            "diagnose needs a turbo case with its loop closed; a bench case or run.held_backpressure has none."
        )
    ambient = prepare(
        case, None if progress is None else lambda t, share: progress(f"{t} {share:.0%}")
    ).ambient.pressure
    found = parse(text, case, ambient)
    point, assumed = _point(case, found)
    problem = Problem(
        case, [point], [u for u in unknowns(case, point.readings) if not u.name.startswith(("cylinder.", "sensor."))]
    )
    if not problem.spots:
        raise CaseError("The model has no answer at these readings; check speed, boost and their units.")
    zero = np.zeros(len(problem.unknowns))
    problem.weigh(zero)
    if not problem.spots:
        raise CaseError("The model has no answer near these readings; check speed, boost and their units.")
    spot = problem.spots[0]
    names = spot.names
    covariance = covariance_of(problem, names)
    setting = Setting(
        spot.stand,
        spot.inputs(zero),
        point.opening,
        point.conditions.get("lambda", case.run.lambda_ratio),
    )
    measured = np.array([point.readings[c] for c in names])
    shown = [(cause, _shown(cause, setting)) for cause in [*causes(), *_gauges(point, setting)]]
    ranked = _ranked(shown, measured, names, covariance)
    tests = _tests(ranked, problem, point, case)
    base = spot.channels
    rows = [
        {
            "channel": c,
            "measured": point.readings[c],
            "predicted": base[c],
            "band": NORMAL_90 * float(np.sqrt(covariance[k, k])),
            "distance": float((point.readings[c] - base[c]) / np.sqrt(covariance[k, k])),
        }
        for k, c in enumerate(names)
    ]
    return Readings(
        case.title,
        case.report.units,
        rows,
        assumed,
        [r["told"] for r in ranked],
        tests,
        _sentences(ranked, tests, rows),
    )


def _point(case: Case, found: dict[str, float]) -> tuple[Point, list[str]]:
    for name in ("speed", "boost"):
        if name not in found:
            raise CaseError(
                f'--read has no {name}; write for example --read "speed=6500 rpm, boost=1.4 bar, backpressure=2.2 bar".'
            )
    readings = {n: v for n, v in found.items() if channels.channel(n).role != CONDITION}
    for name in readings:
        if name.startswith("probe.") and int(name[6:]) > len(case.probe):
            raise CaseError(f"--read {name}: the case has {len(case.probe)} [[probe]]; add it with its place.")
    assumed = []
    for name, value in (("lambda", case.run.lambda_ratio), ("spark_advance", case.run.spark_advance)):
        if name not in found and value is not None:
            assumed.append(f"{channels.words(name)} is taken as the case has it, {value:.3g}")
    conditions = {n: found[n] for n in CONDITIONS if n in found}
    conditions = {
        "lambda": case.run.lambda_ratio,
        **({} if case.run.spark_advance is None else {"spark_advance": case.run.spark_advance}),
    } | conditions
    errors = {
        n: max(channels.channel(n).error, channels.channel(n).share * abs(v)) for n, v in (found | conditions).items()
    }
    opening = found.get("wastegate_opening")
    if (
        opening is None
        and case.run.boost is not None
        and found["boost"] < SHORT * case.run.boost
        and case.wastegate is not None
        and case.wastegate.model == "boost"
    ):
        opening = 0.0
        assumed.append(
            f"the boost is short of the {case.run.boost / 1e5:.2f} bar asked for: the wastegate should be shut"
        )
    own = {n: errors[n] for n in readings}
    for name in own:
        if name.startswith("probe."):
            own[name] = math.hypot(own[name], 4.0)  # its class
    if opening is not None:
        readings[BALANCE], own[BALANCE] = 0.0, 2.0 * BALANCE_ERROR
    if not readings:
        raise CaseError(
            "--read holds nothing to compare: add backpressure, probe.1, air_flow, or wastegate_opening=0 % where it is known to be shut."
        )
    return Point(conditions, {n: errors[n] for n in conditions}, readings, own, opening, 0.0, "the readings"), assumed


def covariance_of(problem: Problem, names: list[str]) -> Array:
    """Of the readings about the model: gauges, conditions, and what the case leaves open."""
    point, solved = problem.spots[0].point, problem.spots[0]
    c = np.diag([_own(point, n) ** 2 for n in names])
    for condition, error in point.condition_errors.items():
        if condition in solved.by_condition:
            g = np.array([solved.by_condition[condition].get(n, 0.0) for n in names])
            c += error**2 * np.outer(g, g)
    for u in problem.unknowns:
        g = np.array([solved.by_unknown[u.name][n] for n in names])
        c += np.outer(g, g)
    return c


def _own(point: Point, name: str) -> float:
    if name in point.errors:
        return point.errors[name]
    one = channels.channel(name)
    return max(one.error, one.share * abs(point.readings.get(name, 0.0)))


def _shown(cause: Cause, setting: Setting) -> list[dict[str, float] | None]:
    """Every channel at each size of a cause; None where the model has no answer."""
    found: list[dict[str, float] | None] = []
    for size in cause.sizes:
        try:
            found.append(cause.show(setting, float(size)))
        except Unsolved:
            found.append(None)
    return found


def _gauges(point: Point, setting: Setting) -> list[Cause]:
    """A lying gauge for each thing read."""
    base = setting.stand.read(setting.inputs, point.opening)
    family = setting.stand.case.report.units
    found = []
    for name, value in point.readings.items():
        if name == BALANCE:
            continue
        kind = channels.channel(name).kind
        sigma = GAUGE_OFF_K if kind == "temperature" else GAUGE_OFF.get(kind, 0.1) * max(abs(value), abs(base[name]))
        found.append(_gauge(name, sigma, lambda s, x, name=name: base | {name: base[name] + x}, family))
    if "lambda" in point.conditions:
        sigma = GAUGE_OFF_LAMBDA
        found.append(
            _gauge(
                "lambda",
                sigma,
                lambda s, x: s.stand.read(s.inputs | {"run.lambda": max(s.inputs["run.lambda"] - x, 0.55)}, s.opening),
                family,
            )
        )
    return found


def _gauge(name: str, sigma: float, show: Any, family: str) -> Cause:
    def size_words(x: float) -> str:
        return f"{amount(name, x, family)} {'high' if x > 0.0 else 'low'}"

    sizes = sigma * np.array([-2.5, -1.0, -0.3, 0.3, 1.0, 2.5])
    return Cause(
        f"gauge: {name}",
        f"the gauge of {channels.words(name)} is off",
        GAUGE_BEFORE,
        sizes,
        bell(sigma),
        size_words,
        show,
    )


def _ranked(
    shown: list[tuple[Cause, Any]], measured: Array, names: list[str], covariance: Array
) -> list[dict[str, Any]]:
    """Causes with their chances, the likeliest first."""
    inverse: Array = np.asarray(np.linalg.inv(covariance), dtype=np.float64)
    rows: list[dict[str, Any]] = []
    for cause, at in shown:
        solved = [(float(s), c) for s, c in zip(cause.sizes, at, strict=True) if c is not None]
        if solved:
            rows.append(_weighed(cause, solved, measured, names, inverse))
    total = sum(r["evidence"] for r in rows)
    before = sum(r["cause"].before for r in rows)
    if total <= 1e-300:
        raise CaseError("No single cause comes near these readings: check each figure and its unit first.")
    rows.sort(key=lambda r: -r["evidence"])
    for r in rows:
        share, one = r["evidence"] / total, r["cause"]
        r["told"] = {
            "cause": one.name,
            "words": one.words,
            "chance": share,
            "odds": share / max(1.0 - share, 1e-12),
            "before": one.before / before,
            "size": _size(r),
        }
    return rows


def _weighed(
    cause: Cause, solved: list[tuple[float, dict[str, float]]], measured: Array, names: list[str], inverse: Array
) -> dict[str, Any]:
    """The evidence of one cause, and its likeliest size."""
    sizes = np.array([s for s, _ in solved])
    curve = np.array([[c[n] for n in names] for _, c in solved])
    fine = np.linspace(sizes[0], sizes[-1], FINE) if len(sizes) > 1 else sizes
    predicted = np.stack([np.interp(fine, sizes, curve[:, k]) for k in range(len(names))], axis=1)
    gap = measured - predicted
    chance = np.exp(-0.5 * np.einsum("ik,kl,il->i", gap, inverse, gap))
    usual = cause.density(fine)
    return {
        "cause": cause,
        "evidence": cause.before * float((usual / usual.sum()) @ chance),
        "size": float(fine[int(np.argmax(chance * usual))]),
        "seen": bool(len(sizes) > 1 and np.ptp(chance) > 1e-3 * chance.max()),
        "sizes": sizes,
        "solved": [c for _, c in solved],
    }


def _size(row: Mapping[str, Any]) -> str:
    """The likeliest size in words; a cause that moves no reading has none."""
    if row["seen"]:
        return str(row["cause"].size_words(row["size"]))
    return "not seen" if len(row["sizes"]) > 1 else ""


def _at(row: Mapping[str, Any], channel: str) -> float:
    """A channel at the likeliest size of a cause."""
    return float(np.interp(row["size"], row["sizes"], [c[channel] for c in row["solved"]]))


def _tests(ranked: list[dict[str, Any]], problem: Problem, point: Point, case: Case) -> list[dict[str, Any]]:
    """Tests that would split the two likeliest causes, the cheapest first."""
    first, second = ranked[0], ranked[1]
    found = []
    for test in TESTS:
        if test.channel and (test.channel in point.readings or (test.channel.startswith("probe") and not case.probe)):
            channel_splits, apart = False, 0.0
        elif test.channel:
            error = float(np.sqrt(covariance_of(problem, [test.channel])[0, 0]))
            apart = abs(_at(first, test.channel) - _at(second, test.channel)) / max(error, 1e-12)
            channel_splits = apart >= SPLITS
        else:
            channel_splits, apart = False, 0.0
        direct = [r["cause"].name for r in (first, second) if _decides(test, r["cause"].name)]
        if direct or channel_splits:
            found.append({"test": test.words, "minutes": test.minutes, "decides": direct, "apart": apart})
    return sorted(found, key=lambda t: t["minutes"])


def _decides(test: Test, cause: str) -> bool:
    return cause in test.decides or (cause.startswith("gauge: ") and "gauge" in test.decides)


def _sentences(ranked: list[dict[str, Any]], tests: list[dict[str, Any]], rows: list[dict[str, Any]]) -> list[str]:
    first, second = ranked[0]["told"], ranked[1]["told"]
    size = f" ({first['size']})" if first["size"] else ""
    ratio = first["chance"] / max(second["chance"], 1e-12)
    found = [
        f"Likeliest: {first['words']}{size}, {100.0 * first['chance']:.0f} %; then {second['words']}"
        + (f" ({second['size']})" if second["size"] else "")
        + f", {100.0 * second['chance']:.0f} %: odds {ratio:.1f} to 1."
    ]
    if ratio < 3.0:
        found.append("These readings do not tell the two apart.")
    if max(abs(r["distance"]) for r in rows) < NORMAL_90:
        found.append("Every reading lies within what the model and the gauges leave open: nothing has to be wrong.")
    if tests:
        best = tests[0]
        what = (
            f"it settles {' and '.join(best['decides'])}"
            if best["decides"]
            else f"the two lie {best['apart']:.1f} errors apart there"
        )
        found.append(f"Cheapest next test that splits them: {best['test']} (about {best['minutes']:.0f} min): {what}.")
    else:
        found.append("No usual test splits the two; take the readings again at another speed.")
    return found
