"""Who solves the stretches: threads, processes, or any executor the user brings; and what is done when a worker dies."""

import os
from collections.abc import Callable, Iterator, Mapping
from concurrent.futures import (
    ALL_COMPLETED,
    FIRST_COMPLETED,
    BrokenExecutor,
    Executor,
    Future,
    ThreadPoolExecutor,
    wait,
)
from typing import Any

from ...errors import CaseError
from ...garbage import seldom
from .point import DIED, Chunk, Job, joined, lost, packed, solve_chunk

Rows = list[tuple[Any, ...]]
Work = Callable[[Job, Rows], Chunk]
IDLE = (
    60.0  # after which a process ends that is given nothing: that of a parent which was killed would wait for ever [s]
)
TRIES = 2  # of a whole stretch, before its points are tried one by one


def cores() -> int:
    """Cores this process may use."""
    return len(os.sched_getaffinity(0)) if hasattr(os, "sched_getaffinity") else os.cpu_count() or 1


def pool(workers: int, processes: bool) -> Executor:
    """Threads, or freshly started processes, which load the kernels from disk like any other.

    Those of the standard library would run the user's script again in each process, unless it minds its `__main__`.
    """
    if not processes:
        return ThreadPoolExecutor(workers, thread_name_prefix="sweep")
    from loky import ProcessPoolExecutor

    made: Executor = ProcessPoolExecutor(workers, timeout=IDLE, initializer=seldom)
    return made


def let_go(executor: Executor, at_once: bool) -> None:
    """Shut a pool of ours down, which has nothing left to do; or at once, without waiting for what it has begun."""
    if isinstance(executor, ThreadPoolExecutor):
        executor.shutdown(wait=not at_once, cancel_futures=True)
    else:  # idle processes are not waited for to take their libraries down, which takes half a second
        executor.shutdown(wait=not at_once, kill_workers=True)  # type: ignore[call-arg]


class Hands:
    """An executor, with what is known about replacing it."""

    def __init__(self, workers: int, processes: bool, given: Executor | None = None, work: Work = solve_chunk) -> None:
        self.workers, self.processes, self.given, self.work = workers, processes, given, work
        self.executor = given or pool(workers, processes)
        # enough in flight that no worker waits, and little to do again when a pool of ours breaks
        self.most = 256 if given else workers + 1

    def submit(self, job: Job, rows: Rows) -> Future[Chunk]:
        """Hand one stretch over."""
        return self.executor.submit(self.work, job, rows)

    def renew(self) -> None:
        """A new pool in place of a broken one; raises CaseError where the executor is the user's."""
        if self.given is not None:
            raise CaseError("the executor broke: its workers died.")
        let_go(self.executor, at_once=True)
        self.executor = pool(self.workers, self.processes)

    def apart(self, job: Job, rows: Rows) -> Chunk:
        """One stretch by itself, in a process of its own where the workers are processes of ours."""
        if self.given is not None or not self.processes:
            return self.submit(job, rows).result()
        with pool(1, True) as alone:
            return alone.submit(self.work, job, rows).result()

    def close(self, at_once: bool = False) -> None:
        """Let a pool of ours go; what is the user's stays open."""
        if self.given is None:
            let_go(self.executor, at_once)


def solved(hands: Hands, job: Job, stretches: Mapping[int, Rows]) -> Iterator[tuple[int, Chunk]]:
    """Every stretch by its number, as it is finished. A stretch whose worker dies or fails is tried again, by itself;
    where it fails again its points are tried one by one, and only those that fail are given up.
    """
    waiting = iter(stretches)
    running: dict[Future[Chunk], int] = {}
    try:
        while True:
            refused = _fill(hands, job, stretches, waiting, running)
            if not running and not refused:
                break
            wait(running, return_when=ALL_COMPLETED if refused else FIRST_COMPLETED)
            doubtful, broken = list(refused), bool(refused)
            for future in [future for future in running if future.done()]:
                number, error = running.pop(future), future.exception()
                if error is None:
                    yield number, future.result()
                else:
                    doubtful.append(number)
                    broken = broken or isinstance(error, BrokenExecutor)
            if broken:  # what was in flight is lost with its pool, if it was not finished in the nick of time
                wait(running)
                for future, number in running.items():
                    if future.exception() is None:
                        yield number, future.result()
                    else:
                        doubtful.append(number)
                running.clear()
                hands.renew()
            for number in doubtful:
                yield number, _again(hands, job, stretches[number])
    finally:
        for future in running:
            future.cancel()


def _fill(
    hands: Hands, job: Job, stretches: Mapping[int, Rows], waiting: Iterator[int], running: dict[Future[Chunk], int]
) -> list[int]:
    """Hand over stretches while there is room; returns the one that a broken pool did not take."""
    while len(running) < hands.most:
        number = next(waiting, None)
        if number is None:
            return []
        try:
            running[hands.submit(job, stretches[number])] = number
        except BrokenExecutor:
            return [number]
    return []


def _again(hands: Hands, job: Job, rows: Rows) -> Chunk:
    """A stretch that failed once, by itself; its points one by one where it fails again."""
    for _ in range(TRIES - 1):
        try:
            return hands.apart(job, rows)
        except BrokenExecutor:
            if hands.given is not None:
                hands.renew()
        except Exception:  # whatever became of the worker, the points are tried one by one
            continue
    return joined([_one(hands, job, row) for row in rows])


def _one(hands: Hands, job: Job, row: tuple[Any, ...]) -> Chunk:
    """A single point by itself; given up with its reason where its worker dies or fails once more."""
    try:
        return hands.apart(job, [row])
    except BrokenExecutor as error:
        if hands.given is not None:
            hands.renew()
        return packed([lost(DIED, f"the process that solved it ended: {error}")])
    except Exception as error:
        return packed([lost(DIED, f"{type(error).__name__}: {error}")])
