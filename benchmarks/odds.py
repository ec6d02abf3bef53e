"""Where `diagnose --read` says 70 %, is it right about 70 times in 100?

Truths are drawn as the tool supposes them: a cause by its chance before anything is read, its size by how usual it is, what
the case leaves open from its priors. The model is solved in full there, the gauges put off by their errors, and the readings
explained. Chances are sorted into bins; beside the mean chance of a bin stands how often the cause was the true one.

Where the wastegate is told to shut, turbine and compressor power must agree at the boost that was read: few truths drawn at
a given boost do, so each counts by how near it comes (the density of the balance at nought).

python benchmarks/odds.py [--truths 400] [--seed 1]      about 3 min on one core
"""

import argparse
import itertools
from collections.abc import Iterator
from pathlib import Path
from typing import NamedTuple

import numpy as np
from hotside.sim import Case, CaseError, load
from hotside.sim.verbs.diagnose import evidence
from hotside.sim.verbs.diagnose.causes import Cause, Setting, causes
from hotside.sim.verbs.diagnose.few import Asked
from hotside.sim.verbs.diagnose.few_read import parse, point
from hotside.sim.verbs.diagnose.forward import BALANCE, Unsolved
from hotside.sim.verbs.diagnose.logged import Point

FOLDER = Path(__file__).resolve().parent.parent / "examples"
AMBIENT = 99e3
BINS = (0.0, 0.02, 0.05, 0.1, 0.2, 0.35, 0.5, 0.65, 0.8, 1.0)
AS_MANY = 6  # times as many truths where the wastegate is told to shut
FAR = 4.0  # standard deviations of the balance beyond which a truth is not this boost's
SETTINGS = {
    "boost held, two gauges": (
        "tractor_six.toml",
        "speed=5000 rpm, boost=1.38 bar, backpressure=1.9 bar, probe.1=760 degC",
    ),
    "boost held, air meter": (
        "tractor_six.toml",
        "speed=4400 rpm, boost=1.38 bar, backpressure=1.5 bar, air_flow=0.40 kg/s, outlet_pressure=8 kPa",
    ),
    "wastegate told to shut": ("tractor_six.toml", "speed=2900 rpm, boost=0.34 bar, backpressure=0.2 bar"),
    "shut, two gauges": (
        "tractor_six.toml",
        "speed=2900 rpm, boost=0.34 bar, backpressure=0.2 bar, probe.1=640 degC",
    ),
}


class Told(NamedTuple):
    """One truth explained: its cause, the chances said, and how much it counts."""

    true: str
    chances: dict[str, float]
    weight: float


def main(truths: int, seed: int) -> None:
    """Every setting, then all together."""
    together: list[Told] = []
    for name, (file, text) in SETTINGS.items():
        found = list(study(load(FOLDER / file), text, truths, np.random.default_rng(seed)))
        table(name, found)
        mean = sum(t.weight for t in found) / max(len(found), 1)
        together += [t._replace(weight=t.weight / mean) for t in found]
    table("all", together)


def study(case: Case, text: str, truths: int, rng: np.random.Generator) -> Iterator[Told]:
    """Truths at the conditions of a text, whose readings only say which gauges there are."""
    asked = Asked(case, point(case, parse(text, case, AMBIENT))[0])
    asked = Asked(case, _as_expected(asked))  # errors and lies of gauges go by what is usual here, not by the text
    usual = [*causes(), *evidence.gauges(asked.spot.point, asked.setting)]
    at = [evidence.shown(c, asked.setting) for c in usual if not _of_a_reading(c)]
    before = np.array([c.before for c in usual])
    for _ in range(truths * (AS_MANY if BALANCE in asked.names else 1)):
        cause = usual[int(rng.choice(len(usual), p=before / before.sum()))]
        drawn = _readings(asked, cause, _size(cause, rng), rng)
        if drawn is None:
            continue
        read, weight = drawn
        asked.spot.point = read
        lies = [c for c in evidence.gauges(read, asked.setting) if _of_a_reading(c)]
        try:
            rows = evidence.ranked(
                [*at, *(evidence.shown(c, asked.setting) for c in lies)], read, asked.names, asked.covariance()
            )
        except CaseError:
            continue
        yield Told(cause.name, {r["cause"].name: r["told"]["chance"] for r in rows}, weight)


def _of_a_reading(cause: Cause) -> bool:
    """Lies of a reading's gauge are as large as the reading; they cost no solving."""
    return cause.name.startswith("gauge: ") and cause.name != "gauge: lambda"


def _as_expected(asked: Asked) -> Point:
    old = asked.spot.point
    return _read(old, {n: 0.0 if n == BALANCE else asked.spot.channels[n] for n in old.readings})


def _read(old: Point, readings: dict[str, float]) -> Point:
    """The point with other readings, and the errors that go with them."""
    share = {n: old.errors[n] / abs(old.readings[n]) for n in ("backpressure", "air_flow") if n in old.readings}
    errors = {n: share.get(n, 0.0) * abs(readings[n]) if n in share else old.errors[n] for n in readings}
    return old._replace(readings=readings, errors=errors)


def _size(cause: Cause, rng: np.random.Generator) -> float:
    if len(cause.sizes) < 2:
        return float(cause.sizes[0])
    fine = np.linspace(cause.sizes[0], cause.sizes[-1], 2001)
    usual = cause.density(fine)
    return float(rng.choice(fine, p=usual / usual.sum()))


def _readings(asked: Asked, cause: Cause, size: float, rng: np.random.Generator) -> tuple[Point, float] | None:
    """What the gauges show under a cause, and how likely the boost is; None where there is no answer."""
    old, spot = asked.spot.point, asked.spot
    x = np.clip(rng.normal(size=len(asked.problem.unknowns)), -3.0, 3.0)
    wrong = {n: e * float(rng.normal()) for n, e in old.condition_errors.items()}
    values = spot.inputs(x, wrong)
    setting = Setting(spot.stand, values, old.opening, values["run.lambda"])
    try:
        true = cause.show(setting, size) if not _of_a_reading(cause) else _lying(cause, setting, size)
    except Unsolved:
        return None
    shown = {n: true[n] + old.errors[n] * float(rng.normal()) for n in old.readings if n != BALANCE}
    weight = 1.0
    if BALANCE in old.readings:
        shown[BALANCE], off = 0.0, true[BALANCE] / old.errors[BALANCE]
        weight = float(np.exp(-0.5 * off**2))
        if abs(off) > FAR:
            return None
    return _read(old, shown), weight


def _lying(cause: Cause, setting: Setting, size: float) -> dict[str, float]:
    name = cause.name.removeprefix("gauge: ")
    true = setting.stand.read(setting.inputs, setting.opening)
    return true | {name: true[name] + size}


def table(name: str, found: list[Told]) -> None:
    """Mean chance said against how often it was so, by bin, and the same for the likeliest cause alone."""
    print(f"\n{name}: {len(found)} truths that count as {_effective(found):.0f}")
    print(f"{'chance said':>14s} {'mean said':>10s} {'was so':>8s} {'+-':>6s} {'count':>8s}")
    every = [(p, cause == t.true, t.weight) for t in found for cause, p in t.chances.items()]
    for low, high in itertools.pairwise(BINS):
        _line(f"{100 * low:.0f} to {100 * high:.0f} %", [e for e in every if low <= e[0] < high or e[0] == high == 1.0])
    _line("likeliest", [_first(t) for t in found])


def _first(t: Told) -> tuple[float, bool, float]:
    cause = max(t.chances, key=lambda c: t.chances[c])
    return t.chances[cause], cause == t.true, t.weight


def _line(label: str, rows: list[tuple[float, bool, float]]) -> None:
    w = np.array([r[2] for r in rows])
    if not w.sum() > 0.0:
        return
    said, so = (float(np.average([r[k] for r in rows], weights=w)) for k in (0, 1))
    n = float(w.sum() ** 2 / (w**2).sum())
    error = np.sqrt(max(said * (1.0 - said), 1e-9) / n)
    far = "  off" if abs(so - said) > 3.0 * error else ""
    print(f"{label:>14s} {100 * said:9.1f}% {100 * so:7.1f}% {100 * error:5.1f}% {n:8.0f}{far}")


def _effective(found: list[Told]) -> float:
    w = np.array([t.weight for t in found])
    return float(w.sum() ** 2 / max((w**2).sum(), 1e-30))


if __name__ == "__main__":
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--truths", type=int, default=400)
    parser.add_argument("--seed", type=int, default=1)
    said = parser.parse_args()
    main(said.truths, said.seed)
