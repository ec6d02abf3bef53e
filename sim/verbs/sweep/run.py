"""`sweep`: the same as `predict` over a grid, a zipped list or a sample of any inputs.

The module does not bear the verb's name: `from hotside.sim import sweep` must go on giving the function.
"""

import math
import time
from collections.abc import Callable, Mapping
from concurrent.futures import Executor
from pathlib import Path
from threading import Thread
from typing import TYPE_CHECKING, Any, NamedTuple

from ... import balance
from ...case import Case
from ...errors import CaseError
from ...files import check_new
from ...setup import prepare
from ...variants import Variants
from . import dataset, origin, store
from .design import GRID, Design, design
from .hands import Hands, cores, solved
from .journal import Journal
from .point import Chunk, Job, joined, stretch_length, touch

if TYPE_CHECKING:
    import xarray as xr

Progress = Callable[[str], None]
EVERY = 2.0  # between two words of progress [s]
MANY = 1500  # points from which processes are worth the second or two that each takes to start


class Stretches(NamedTuple):
    """The points of a sweep cut into stretches; the cut depends on their number alone."""

    plan: Design
    length: int

    @staticmethod
    def of(plan: Design) -> "Stretches":
        """The cut of a design."""
        return Stretches(plan, stretch_length(plan.size))

    def sizes(self) -> dict[int, int]:
        """Points of each stretch by its number."""
        count = math.ceil(self.plan.size / self.length)
        return {k: min(self.length, self.plan.size - k * self.length) for k in range(count)}

    def rows(self, wanted: set[int]) -> dict[int, list[tuple[Any, ...]]]:
        """The points of some stretches."""
        every = self.plan.rows()
        return {k: every[k * self.length : (k + 1) * self.length] for k in sorted(wanted)}


def sweep(
    case: Case,
    vary: Mapping[str, Any],
    *,
    how: str = GRID,
    samples: int | None = None,
    seed: int = 0,
    out: str | Path | None = None,
    resume: bool = False,
    force: bool = False,
    executor: Executor | None = None,
    workers: int | None = None,
    processes: bool | None = None,
    progress: Progress | None = None,
) -> "xr.Dataset":
    """Solve every point of a design; returns an xarray Dataset with units, sources, versions and the case in it.

    case : Case
    vary : dotted name -> values: a range "0:30:1 deg" (both ends in it), a list of values as in a case file, or
        (numbers, unit). In a sample also a stretch "0.6:1.8 bar"
    how : "grid" (every combination, the last name moving fastest), "zip" (all lists in step) or "sample" (a Latin
        hypercube of `samples` points drawn with `seed`)
    out : file to write, .nc (netCDF) or .csv; what is finished is kept beside it until then. A file that holds this very
        sweep is read, and nothing is solved
    resume, force : go on with an unfinished sweep kept beside `out`; replace what is there
    executor : any concurrent.futures.Executor; it stays open. Without one `workers` threads or processes, one each core
    processes : whether the workers are processes instead of threads; they are from 1500 points on where left out, since in
        threads the part of a point that is no kernel, half and more, takes turns
    progress : called with a sentence now and then
    A point without an answer keeps its place: its status says how it ended, its message why, its numbers are NaN. The
    numbers of a point do not depend on workers, executor or order: to the last bit on one kind of processor.
    Raises CaseError in one sentence for what can be mended; finished points stay kept beside `out`.
    """
    plan = design(vary, how, samples, seed)
    say = progress or (lambda _text: None)
    key = origin.key(case, plan)
    path = None if out is None else Path(out)
    if path is not None:
        done = _done_before(path, key, resume, force)
        if done is not None:
            say(f"{path} holds this sweep already; nothing to do.")
            return done
    variants = Variants(case)
    first = variants.first([dict(zip(plan.names, row, strict=True)) for row in plan.rows(0, 10_000)])
    journal = None if path is None else _journal(path, key, plan, resume, force)
    chunks = _solve(
        Job(key, case.to_dict(), plan.names),
        plan,
        first,
        journal,
        (executor, workers, processes),
        say,
    )
    found = dataset.dataset(case, plan, joined([chunks[k] for k in sorted(chunks)]), key)
    if path is not None and journal is not None:
        try:
            store.write(found, path, force=True)
        except CaseError as error:
            raise CaseError(f"{error} All points are kept in {journal.folder}; --resume writes it.") from None
        journal.drop()
    return found


def _done_before(path: Path, key: str, resume: bool, force: bool) -> "xr.Dataset | None":
    """The finished sweep in a file, if it is this one; raises CaseError where another file is in the way."""
    store.check_ending(path)
    if path.exists() and not path.is_dir() and store.key_of(path) == key:
        try:
            found = store.open_sweep(path)
        except CaseError:
            found = None  # damaged: to be solved again, and replaced only where that is asked for
        if found is not None:
            Journal.beside(path, key).drop()
            return found
    check_new(path, force)
    return None


def _journal(path: Path, key: str, plan: Design, resume: bool, force: bool) -> Journal:
    """The journal beside a result file, opened; raises CaseError where an unfinished sweep lies there unasked."""
    journal = Journal.beside(path, key)
    owner = journal.owner()
    if owner is not None and not (resume and owner == key):
        if not force:
            whose = "this sweep, unfinished: --resume goes on with it" if owner == key else "another sweep, unfinished"
            raise CaseError(f"{journal.folder} holds {whose}; --force begins anew, another --out leaves it alone.")
        journal.drop()
    journal.open({"design": plan.to_dict(), "points": plan.size})
    return journal


def _solve(
    job: Job, plan: Design, first: Case, journal: Journal | None, who: tuple[Executor | None, int | None, bool | None], say: Progress
) -> dict[int, Chunk]:  # fmt: skip
    """Every stretch by number: those kept before, and the others solved and kept."""
    cut = Stretches.of(plan)
    sizes = cut.sizes()
    chunks = journal.read(sizes) if journal is not None else {}
    if chunks:
        say(f"{sum(c.size for c in chunks.values())} of {plan.size} points were finished before.")
    missing = set(sizes) - set(chunks)
    if not missing:
        return chunks
    executor, workers, wanted = who
    missing_points = sum(sizes[k] for k in missing)
    processes = wanted if wanted is not None else missing_points >= MANY and (workers or cores()) > 1
    if executor is None:
        _ready(first, say)
    hands = Hands(min(workers or cores(), len(missing)), processes, executor)
    if processes:
        Thread(target=dataset.make_ready, daemon=True).start()
    told = Telling(plan.size, sum(c.size for c in chunks.values()), say)
    try:
        for number, chunk in solved(hands, job, cut.rows(missing)):
            if journal is not None:
                journal.keep(number, chunk)
            chunks[number] = chunk
            told.more(chunk.size)
    except BaseException as error:
        hands.close(at_once=True)
        if journal is not None and isinstance(error, CaseError | KeyboardInterrupt):
            say(
                f"{sum(c.size for c in chunks.values())} of {plan.size} points are kept in {journal.folder}; --resume goes on."
            )
        raise
    hands.close()
    return chunks


def _ready(first: Case, say: Progress) -> None:
    """Tables built and kernels compiled, before several hands would do it at once."""
    prepare(first, lambda text, share: say(f"{text} {share:.0%}"))
    if not balance.kept():
        say("the first run ever compiles the kernels, about a minute")
        touch(first)


class Telling:
    """Says now and then how far a sweep is."""

    def __init__(self, size: int, before: int, say: Progress) -> None:
        self.size, self.before, self.done, self.say = size, before, before, say
        self.begun = self.last = time.monotonic()

    def more(self, points: int) -> None:
        """Count points; say so where it is time."""
        self.done += points
        now = time.monotonic()
        if now - self.last < EVERY and self.done < self.size:
            return
        if self.done == self.size and now - self.begun < EVERY:
            return
        self.last = now
        left = (now - self.begun) / (self.done - self.before) * (self.size - self.done)
        self.say(f"{self.done} of {self.size} points" + (f", about {left:.0f} s left" if left >= 1.0 else ""))
