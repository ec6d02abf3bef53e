"""`uncertainty`: bands on every reading, and which input drives which."""

from collections.abc import Callable, Mapping
from concurrent.futures import ThreadPoolExecutor
from typing import Any

import numpy as np

from ... import dotted
from ...case import Case
from ...errors import CaseError
from ...names import RESULTS
from ...steady import SolveError, predict
from ...variants import Variants
from .indices import Array, indices, sample
from .inputs import Uncertain, uncertain
from .result import UncertaintyResult

Progress = Callable[[str], None]
WORKERS = 2  # the kernels let other threads run
KEPT = 0.98  # share of each reading's variance that the inputs carried on to the indices must make up
MOST_INPUTS = 10
EVERY = 10  # points between two words of progress
BAND = (0.05, 0.5, 0.95)
ANGLES = ("peak_pressure_deg", "knock_onset_deg")
LEFT_OUT = {"speed_rpm", "mass_closure", "energy_closure", "cycles", "converged", "boost_reached", "turbine_choked"}


def uncertainty(
    case: Case,
    *,
    samples: int = 128,
    bands: Mapping[str, str] | None = None,
    seed: int = 1,
    progress: Progress | None = None,
) -> UncertaintyResult:
    """Bands of every reading, from the stated bands of all inputs, and sensitivities of those that matter.

    case : Case
    samples : points of the Latin hypercube over all inputs; the sensitivities take a power of 2 near half of it for each
        input that matters
    bands : half-widths by dotted name, as text with unit or per cent, instead of those the inputs are declared with
    seed : of the samples
    progress : called with a sentence while something takes long
    Raises CaseError in one sentence for a band that is none, or a case whose own point has no answer.
    """
    if not 16 <= samples <= 100_000:
        raise CaseError(f"--samples {samples} is outside 16 to 100000.")
    say = progress or (lambda _: None)
    found = uncertain(case, bands or {})
    if not found:
        raise CaseError("no input of this case has a band; state one with --band NAME=HALF_WIDTH.")
    model = Model(case, found, say)
    say(f"{len(found)} uncertain inputs, one at a time")
    slopes = model.one_at_a_time()
    share = slopes**2 / np.maximum((slopes**2).sum(axis=1, keepdims=True), 1e-300)
    felt = [k for k in range(len(found)) if np.nanmax(share[:, k]) > 1e-8]
    say(f"{samples} points over the {len(felt)} that any reading feels")
    points = sample([found[k].distribution() for k in felt], samples, seed)
    values = model.at(felt, points)
    if np.isfinite(values).any(axis=0).mean() < 0.5:
        raise CaseError(
            "most points of the sample have no answer: the bands reach where the case cannot run; state narrower ones."
        )
    driving = _driving(share)
    n = 2 ** max(4, round(np.log2(samples / 2)))
    say(f"{n * (len(driving) + 2)} points for the sensitivities to {len(driving)} of them")
    told = indices(lambda x: model.at(driving, x), [found[k].distribution() for k in driving], n, seed)
    return _result(case, found, felt, driving, model, points, values, told, n, share)


def _driving(share: Array) -> list[int]:
    """The fewest inputs that make up nearly all of every reading's variance, as it is near the case's own point."""
    wanted: dict[int, float] = {}
    for row in np.nan_to_num(share):
        total = 0.0
        for k in np.argsort(-row):
            if total >= KEPT or row[k] < 0.01:
                break
            wanted[int(k)] = max(wanted.get(int(k), 0.0), float(row[k]))
            total += float(row[k])
    chosen = sorted(wanted, key=lambda k: -share[:, k][np.isfinite(share[:, k])].sum())[:MOST_INPUTS]
    return chosen or [int(np.nanargmax(np.nan_to_num(share).sum(axis=0)))]


class Model:
    """The readings as a function of the uncertain inputs."""

    def __init__(self, case: Case, found: list[Uncertain], say: Progress) -> None:
        self.case, self.inputs, self.say = case, found, say
        self.variants = Variants(case)
        try:
            base = _readings(predict(case, progress=say))
        except SolveError as error:
            raise CaseError(str(error)) from None
        self.names = list(base)
        self.base = np.array([base[n] for n in self.names])
        self.unsolved = 0

    def one(self, values: Mapping[str, float]) -> Array:
        """All readings with inputs changed; NaN where there is no answer."""
        try:
            case = self.variants.make({n: dotted.in_si(n, v, self.case) for n, v in values.items()})
            shown = _readings(predict(case))
        except (SolveError, CaseError):
            self.unsolved += 1
            return np.full(len(self.names), np.nan)
        return np.array([shown.get(n, np.nan) for n in self.names])

    def at(self, which: list[int], points: Array) -> Array:
        """Readings (outputs, points) with the inputs `which` at `points` (inputs, points)."""
        rows = [{self.inputs[k].name: float(v) for k, v in zip(which, p, strict=True)} for p in points.T]
        return self._all(rows)

    def _all(self, rows: list[dict[str, float]]) -> Array:
        """Readings (outputs, rows) of every row, in threads."""
        found = []
        with ThreadPoolExecutor(WORKERS) as pool:
            for k, values in enumerate(pool.map(self.one, rows), 1):
                found.append(values)
                if k % EVERY == 0:
                    self.say(f"{k} of {len(rows)} points solved")
        return np.stack(found, axis=1)

    def one_at_a_time(self) -> Array:
        """Change of every reading (outputs, inputs) for one standard deviation of each input."""
        steps = []
        for u in self.inputs:
            sigma = u.half_width / 1.6449
            steps.append(sigma if u.value + sigma <= u.high else -sigma)
        rows = [{u.name: u.value + s} for u, s in zip(self.inputs, steps, strict=True)]
        moved = self._all(rows)
        return np.nan_to_num((moved - self.base[:, None]) * np.sign(steps))


def _readings(p: Any) -> dict[str, float]:
    """Every number a prediction gives, probes among them, and margins by name."""
    found: dict[str, float] = {}
    for name in RESULTS:
        value = getattr(p, name, None)
        if name not in LEFT_OUT and isinstance(value, float | int) and not isinstance(value, bool):
            found[name] = float(value)
    for k, probe in enumerate(p.probes, 1):
        found[f"probe.{k}.reading_k"] = float(probe["reading_k"])
    for row in p.margins:
        found[f"margin.{row['name']}"] = float(row["margin"])
    return found


def _result(
    case: Case, found: list[Uncertain], felt: list[int], driving: list[int], model: Model, points: Array, values: Array, told: Any,
    n: int, share: Array,
) -> UncertaintyResult:  # fmt: skip
    good = np.isfinite(values).any(
        axis=0
    )  # a reading may be none where the point has an answer: an onset without knock
    quantiles = np.full((3, len(model.names)), np.nan)
    for i in range(len(model.names)):
        row = values[i][np.isfinite(values[i])]
        if row.size:
            quantiles[:, i] = np.quantile(row, BAND)
    readings = []
    sensitivities = []
    for i, name in enumerate(model.names):
        low, middle, high = quantiles[:, i]
        readings.append(
            {
                "name": name,
                "value": float(model.base[i]),
                "low": float(low),
                "median": float(middle),
                "high": float(high),
            }
        )
        if not high - low > 1e-9 * max(abs(middle), 1.0):
            continue
        for j, k in enumerate(driving):
            sensitivities.append(
                {
                    "reading": name, "input": found[k].name,
                    "first": float(told.first[i, j]), "first_low": float(told.first_low[i, j]), "first_high": float(told.first_high[i, j]),
                    "total": float(told.total[i, j]), "total_low": float(told.total_low[i, j]), "total_high": float(told.total_high[i, j]),
                }
            )  # fmt: skip
    exceeded = [
        {
            "name": name.removeprefix("margin."),
            "share": float((values[i] < 0.0).sum() / max(np.isfinite(values[i]).sum(), 1)),
        }
        for i, name in enumerate(model.names)
        if name.startswith("margin.")
    ]
    return UncertaintyResult(
        title=case.title,
        inputs=[
            {
                "name": u.name, "meaning": u.meaning, "value": u.value, "half_width": u.half_width, "stand_in": u.stand_in,
                "felt": k in felt, "in_sensitivities": k in driving, "greatest_share": float(np.nanmax(share[:, k])),
            }
            for k, u in enumerate(found)
        ],
        readings=readings,
        sensitivities=sensitivities,
        limits_exceeded=exceeded,
        samples=points.shape[1],
        samples_solved=int(good.sum()),
        base_sample=n,
        points_without_answer=model.unsolved,
        data={**{found[k].name: points[j] for j, k in enumerate(felt)}, **{name: values[i] for i, name in enumerate(model.names)}},
    )  # fmt: skip
