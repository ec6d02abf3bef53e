"""The case with a probe at every place, predicted at any departures of its cylinders, and what symmetry says of it."""

from collections.abc import Callable, Mapping
from typing import Any, NamedTuple

import numpy as np
from numpy.typing import NDArray

from ... import collector_parts
from ...case import Case, load
from ...dotted import in_si
from ...errors import CaseError
from ...prediction import Prediction
from ...records import IN_AIR, IN_CA50, IN_COLLECTOR, IN_ENTRY, IN_NEXT, IN_OFFSET, IN_PHI, IN_SPARK, Array
from ...setup import Setup, prepare
from ...steady import SolveError, predict
from ...variants import Variants

FEED = ("air", "fuel", "spark")  # last axis of every array of departures [-, -, deg]
MOST = np.array([0.3, 0.3, 30.0])  # of a departure that a case may hold
READING, GAS = 0, 1  # last axis of every array of answers [K]
SAME_ANGLE = 1e-6  # [deg]
EVERY = 10  # points between two words of progress


class Symmetry(NamedTuple):
    """A turn of the firing order that leaves hardware as it is: place k becomes place `to[k]`."""

    to: tuple[int, ...]


class Engine:
    """Readings and gas at every place for departures of the cylinders, shape (cylinders, 3)."""

    def __init__(self, case: Case, progress: Callable[[str], None] | None = None) -> None:
        self.case, self.progress = case, progress
        self.cylinders, collectors = case.engine.cylinders, case.exhaust.collectors
        names = ["collector"] if collectors == 1 else [f"collector {k + 1}" for k in range(collectors)]
        self.places: list[int | str] = [*range(1, self.cylinders + 1), *names]
        self.full = load(_with_probes(case, self.places))
        self.variants = Variants(self.full)
        self.mean = np.zeros((self.cylinders, len(FEED)))
        for one in case.cylinder:
            self.mean[one.number - 1] = one.air, one.fuel, one.spark
        self.solved = 0

    def predict(self, feed: Array, more: Mapping[str, Any] | None = None) -> Prediction:
        """The engine at departures; raises CaseError where it has no settled answer there."""
        values: dict[str, Any] = dict(more or {})
        for j in np.flatnonzero(np.any(feed != self.mean, axis=1)):
            for name, value in zip(FEED, feed[j], strict=True):
                dotted = f"cylinder.{j + 1}.{name}"
                values[dotted] = in_si(dotted, float(value), self.full)
        self.solved += 1
        if self.progress is not None and self.solved % EVERY == 0:
            self.progress(f"{self.solved} points solved")
        try:
            first = self.progress if self.solved == 1 else None
            # alike or not, every cylinder is marched: what differs then differs by the departures alone
            found = predict(self.variants.make(values), progress=first, alike=False)
        except SolveError as error:
            raise CaseError(f"placement: {_which(feed)} {error}") from None
        if not found.converged:
            raise CaseError(
                f"placement: {_which(feed)} the point is {found.status}; hotside predict says more. Narrow [spreads]."
            )
        return found

    def at(self, feed: Array, more: Mapping[str, Any] | None = None) -> Array:
        """Readings and gas at every place, shape (places, 2) [K]."""
        return np.array([[row["reading_k"], row["gas_temperature_k"]] for row in self.predict(feed, more).probes])

    def symmetries(self, more: Mapping[str, Any] | None = None) -> list[Symmetry]:
        """Turns of the firing order that leave offsets, runners and collectors as they are, the identity first."""
        fed_alike: dict[str, Any] = {f"cylinder.{one.number}.{name}": 0.0 if name != "spark" else "0 deg"
                                     for one in self.case.cylinder for name in FEED}  # fmt: skip
        found = turns(prepare(self.variants.make(fed_alike | dict(more or {}))), len(self.places))
        turbine, n = self.case.turbine, self.cylinders
        if turbine is None or turbine.entry_share == 0.5:
            return found
        kept = tuple(range(n, len(self.places)))  # unequal entries do not stand for one another
        return [one for one in found if one.to[n:] == kept]

    def origins(self, more: Mapping[str, Any] | None = None) -> list[tuple[int, Symmetry]]:
        """For each cylinder, the first one it is a turn of, and that turn."""
        found: list[tuple[int, Symmetry]] = []
        all_turns = self.symmetries(more)
        for j in range(self.cylinders):
            found.append(min(((turn.to.index(j), turn) for turn in all_turns), key=lambda pair: pair[0]))
        return found


def turns(setup: Setup, places: int) -> list[Symmetry]:
    """Symmetries of a set-up whose cylinders are fed alike."""
    rows = setup.inputs
    fed = {IN_OFFSET, IN_NEXT, IN_COLLECTOR, IN_ENTRY, IN_AIR, IN_PHI, IN_SPARK, IN_CA50}
    hardware = [i for i in range(rows.shape[1]) if i not in fed]
    n, offset, home = len(rows), rows[:, IN_OFFSET], rows[:, IN_COLLECTOR].astype(int)
    found = [Symmetry(tuple(range(places)))]
    for target in range(1, n):
        moved = offset + offset[target] - offset[0]
        apart = np.abs((offset[None, :] - moved[:, None] + 360.0) % 720.0 - 360.0)
        if not np.all((apart < SAME_ANGLE).sum(axis=1) == 1):
            continue
        to = (apart < SAME_ANGLE).argmax(axis=1)
        goes = {(int(home[j]), int(home[to[j]])) for j in range(n)}
        one_to_one = len({a for a, _ in goes}) == len({b for _, b in goes}) == len(goes)
        same = one_to_one and np.array_equal(rows[to][:, hardware], rows[:, hardware])
        if same and all(_same_row(setup, np.flatnonzero(home == c), to) for c in set(home)):
            mapped = dict(goes)
            found.append(Symmetry((*map(int, to), *(n + mapped[c] for c in range(places - n)))))
    return found


def _same_row(setup: Setup, members: NDArray[np.intp], to: NDArray[np.intp]) -> bool:
    """Whether the cylinders of a collector go where they stand equally far along it, or all in its mirror image."""
    e = setup.engine
    along = collector_parts.places_of(setup.inputs[:, IN_ENTRY], e.collectors, e.sections, e.outlet)
    here, there = along[members], along[to[members]]
    in_the_middle = 2 * e.outlet == e.sections - 1
    return np.array_equal(here, there) or (in_the_middle and np.array_equal(here, e.sections - 1 - there))


def _with_probes(case: Case, places: list[int | str]) -> dict[str, Any]:
    """The tables of a case with one probe at each place, made like the one the case has in a runner, or a collector."""
    raw = case.to_dict()
    given = raw.get("probe") or [{}]
    for drop in ("probe", "pressure_tap", "fitting"):
        raw.pop(drop, None)
    raw["probe"] = []
    for place in places:
        like = [p for p in given if isinstance(p.get("cylinder"), int) == isinstance(place, int)]
        raw["probe"].append({**(like or given)[0], "cylinder": place})
    return raw


def _which(feed: Array) -> str:
    j = int(np.abs(feed / MOST).max(axis=1).argmax())
    air, fuel, spark = feed[j]
    return f"with cylinder {j + 1} at {100 * air:+.1f} % air, {100 * fuel:+.1f} % fuel and {spark:+.1f} deg of spark"
