"""`placement`: which runners the probes and the tap belong in, and what each placement would miss.

The module does not bear the verb's name: `from hotside.sim import placement` must go on giving the function.
"""

from collections.abc import Callable, Mapping
from typing import Any

import numpy as np

from ....models import gauges
from ... import collector_parts
from ...case import Case
from ...errors import CaseError
from ...probes import CLASSES
from ...records import Array
from ...schema import places as inputs_of
from ...sections_spreads import Spreads
from . import chances, holes, narrowing, swaps, words
from .engine import FEED, READING, Engine
from .result import PlacementResult
from .surface import CHECKS, Response, checked, respond

SAMPLES = 20_000
QUANTILE = 0.999  # of the reading in the hottest place, collectors too, for the range of the display


def placement(
    case: Case,
    *,
    probes: int = 1,
    seed: int = 1,
    samples: int = SAMPLES,
    progress: Callable[[str], None] | None = None,
) -> PlacementResult:
    """For every placement of some probes: the chance that a hotter cylinder goes unseen, and what a log would tell.

    case : Case with a manifold; [spreads] says how far its cylinders may differ, else stand-ins are taken
    probes : how many, over runners and collectors
    seed : of the draws; the same seed gives the same result
    samples : draws of all cylinders
    progress : called with a sentence as points are solved
    Raises CaseError for a bench, a number of probes that does not fit, or departures at which the engine has no answer.
    """
    if case.is_bench:
        raise CaseError("placement: a bench case has no manifold; write a [turbine] instead of run.intake_pressure.")
    if not 100 <= samples <= 1_000_000:
        raise CaseError(f"--samples {samples} is outside 100 to 1000000.")
    if seed < 0:
        raise CaseError(f"--seed {seed} is negative; write a whole number from 0.")
    spreads = case.spreads or Spreads()
    sd = np.array([spreads.air, spreads.fuel, spreads.spark])
    engine = Engine(case, progress)
    rows = chances.placements(len(engine.places), probes)
    response = respond(engine, sd)
    rng = np.random.default_rng(seed)
    off = checked(engine, response, chances.feeds(rng, response.mean, sd, CHECKS))[..., READING]
    tolerance = _tolerances(case, response)
    draws = chances.draw(rng, response, sd, tolerance, samples)
    if progress is not None:
        progress(f"{len(rows)} placements weighed over {samples} engines")
    doubt = float(np.sqrt(np.mean(off**2)))
    ranking = chances.ranked(draws, chances.offsets(response), rows, spreads.above, doubt)
    _narrow(ranking, engine, response, sd, np.hypot(narrowing.RECTANGLE * tolerance, spreads.repeat))
    ranking = [_named(row, engine) for row in ranking]
    values: dict[str, Any] = {
        "title": case.title,
        "speed_rpm": case.run.speed_rpm,
        "probes": probes,
        "above_k": spreads.above,
        "spreads": {**dict(zip(FEED, map(float, sd), strict=True)), "repeat": spreads.repeat},
        "seed": seed,
        "samples": samples,
        "places": _places(engine, response, draws, tolerance),
        "by_geometry": _by_geometry(engine, response),
        "ranking": ranking,
        "recommended": _recommended(ranking),
        "check": {"rms_k": doubt, "worst_k": float(np.abs(off).max()), "draws": float(CHECKS),
                  "fit_rms_k": max(s.residual for s in response.surfaces)},
        "guesses": _guesses(case),
    }  # fmt: skip
    values |= _tap(case, engine, draws, tolerance)
    values["swaps"] = _swaps(case, draws, spreads)
    values["points_solved"] = engine.solved
    return PlacementResult(**values, sentences=words.sentences(values, case.report.units))


def _tolerances(case: Case, response: Response) -> Array:
    """Half-width of the class at each place's reading [K]."""
    standard = CLASSES[case.probe[0].tolerance]
    return np.array([gauges.class_tolerance(float(row[READING]), standard) for row in response.here])


def _narrow(ranking: list[dict[str, Any]], engine: Engine, response: Response, sd: Array, noise: Array) -> None:
    slopes, prior = response.slopes(), np.tile(sd, engine.cylinders)
    for row in ranking:
        row["left"] = narrowing.left(slopes, prior, noise, row["rows"], engine.cylinders)
        row["left_mean"] = narrowing.mean_left(row["left"])


def _named(row: dict[str, Any], engine: Engine) -> dict[str, Any]:
    """A row of the ranking as it goes out."""
    kept = {k: v for k, v in row.items() if k not in ("rows", "miss")}
    return {"places": [engine.places[k] for k in row["rows"]], **kept}


def _recommended(ranking: list[dict[str, Any]]) -> int:
    """Of those as good as the first, the one whose log tells most; the first of equals."""
    tied = [k for k, row in enumerate(ranking) if row["ties"]]
    return min(tied, key=lambda k: (round(ranking[k]["left_mean"], 2), k))


def _places(engine: Engine, response: Response, draws: chances.Draws, tolerance: Array) -> list[dict[str, Any]]:
    """What each place shows in the case, how far that may stray, and how often it is the hottest."""
    often = chances.hottest(draws)
    n = engine.cylinders
    return [
        {
            "place": place,
            "reading_k": float(response.here[k, READING]),
            "gas_temperature_k": float(response.here[k, 1]),
            "spread_k": float(draws.reading[:, k].std()),
            "tolerance_k": float(tolerance[k]),
            "hottest_share": float(often[k]) if k < n else None,
        }
        for k, place in enumerate(engine.places)
    ]


def _by_geometry(engine: Engine, response: Response) -> dict[str, Any]:
    """What is left between runners when every cylinder is fed alike; exactly nothing where one is a turn of the other."""
    n = engine.cylinders
    readings = response.alike[:n, READING]
    groups = _groups(engine)
    departures, mean = _departures(readings, groups)
    return {
        "by_symmetry": len(groups) == 1,
        "groups": [[j + 1 for j in group] for group in groups],
        "departures_k": departures,
        "collector_volumes": collector_parts.volumes(engine.case),
        "collector_alone_k": _by_collector(engine, departures),
        "solver_scatter_k": max(float(np.ptp(readings[group])) for group in groups),
        "collector_k": [float(v) for v in response.alike[n:, READING] - mean],
    }


def _groups(engine: Engine, more: Mapping[str, Any] | None = None) -> list[list[int]]:
    """Cylinders that are turns of one another, counted from 0."""
    origins = [origin for origin, _ in engine.origins(more)]
    return [[j for j in range(engine.cylinders) if origins[j] == origin] for origin in sorted(set(origins))]


def _departures(readings: Array, groups: list[list[int]]) -> tuple[list[float], float]:
    """Each runner from the mean of all [K], equal within a group, and that mean."""
    level = {j: float(readings[group].mean()) for group in groups for j in group}
    mean = float(np.mean([level[j] for j in range(len(readings))]))
    return [level[j] - mean if len(groups) > 1 else 0.0 for j in range(len(readings))], mean


def _by_collector(engine: Engine, departures: list[float]) -> list[float]:
    """What goes if all runners meet in one volume: the part of the departures that is the row's alone [K]."""
    if collector_parts.volumes(engine.case) == 1:
        return [0.0] * engine.cylinders
    one = {"exhaust.collector_volumes": 1}
    readings = engine.at(np.zeros_like(engine.mean), one)[: engine.cylinders, READING]
    plain, _ = _departures(readings, _groups(engine, one))
    return [a - b for a, b in zip(departures, plain, strict=True)]


def _guesses(case: Case) -> list[str]:
    """Names of what [spreads] leaves to stand-ins."""
    given = case.spreads.model_fields_set if case.spreads else set()
    return [
        f"spreads.{key}"
        for name, key, spec in inputs_of(Spreads)
        if spec and spec.need == "guess" and name not in given
    ]


def _tap(case: Case, engine: Engine, draws: chances.Draws, tolerance: Array) -> dict[str, Any]:
    """The tap, its gauge, and the probes' display."""
    n, rows = engine.cylinders, holes.taps(engine)
    here = engine.predict(engine.mean)
    hottest = int(draws.reading[:, :n].mean(axis=0).argmax())
    top = float(np.quantile((draws.reading + tolerance).max(axis=1), QUANTILE))
    bought = holes.gauge(rows[0])
    return {
        "boost_pa": here.boost_pa,
        "taps": rows,
        "pressure_gauge": bought,
        "shared": holes.shared(case, here.probes[hottest], here.pre_turbine_pressure_pa, bought),
        "display": holes.display(case, top),
    }


def _swaps(case: Case, draws: chances.Draws, spreads: Spreads) -> dict[str, Any] | None:
    """The two runners likeliest to be the hottest."""
    if draws.cylinders < 2:
        return None
    order = np.argsort(-chances.hottest(draws), kind="stable")
    pair = (int(order[0]), int(order[1]))
    return swaps.swaps(draws, pair, spreads.repeat, spreads.above, swaps.shown_share(case))
