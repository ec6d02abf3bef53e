"""What a map costs: `python benchmarks/map.py [--points 400] [--full]`.

Time and memory of a boost-timing map, two cores against one, threads against processes, how the cost grows with points and
cylinders, what is lost around the stretches, and how much of a point is Python rather than kernel. `--full` solves the
10,000 points of the budget. Each map is solved in a fresh process; ratios are the best of interleaved repeats, since a
machine that others use can only make them worse.
"""

import argparse
import json
import subprocess
import sys
import time

from hotside.sim import load, sweep
from hotside.sim.verbs.sweep import point
from hotside.sim.verbs.sweep.design import design
from hotside.sim.verbs.sweep.run import Stretches
from numba.core.dispatcher import Dispatcher

CHILD = """
import hashlib, json, resource, sys, time
from hotside.sim import load, sweep
from hotside.sim.verbs.sweep.point import touch
if __name__ == "__main__":
    vary, workers, processes, tables, out = json.loads(sys.argv[1])
    case = load(tables)
    touch(case)
    begun = time.perf_counter()
    found = sweep(case, vary, workers=workers, processes=processes, out=out)
    spent = time.perf_counter() - begun
    peak = [resource.getrusage(who).ru_maxrss / 1024 for who in (resource.RUSAGE_SELF, resource.RUSAGE_CHILDREN)]
    digest = hashlib.sha256(b"".join(v.values.tobytes() for v in found.data_vars.values())).hexdigest()[:12]
    print(json.dumps([spent, peak, digest, int((found.converged == 1).sum())]))
"""


def vary(points: int) -> dict[str, str]:
    """A square map of about so many points."""
    side = max(round(points**0.5), 2)
    boost, spark = 0.8 / (side - 1), 18.0 / (side - 1)
    return {
        "run.boost": ", ".join(f"{0.6 + i * boost:.6f} bar" for i in range(side)),
        "run.spark_advance": ", ".join(f"{4 + i * spark:.5f} deg" for i in range(side)),
    }


def solved(
    points: int, workers: int, processes: bool = False, tables: dict | None = None, out: str | None = None
) -> tuple:
    """Seconds, peak memory of the process and of its greatest child [MB], digest of the numbers, settled points."""
    wish = json.dumps([vary(points), workers, processes, tables or load().to_dict(), out])
    done = subprocess.run([sys.executable, "-c", CHILD, wish], capture_output=True, text=True, check=True)
    return tuple(json.loads(done.stdout))


def line(what: str, found: str, budget: str = "") -> None:
    """One line of the table."""
    print(f"{what:<58} {found:>30}  {budget}", flush=True)


def cores(points: int, repeats: int) -> None:
    """One core against two, threads and processes, interleaved; the same numbers from all."""
    ways = {"1 thread": (1, False), "2 threads": (2, False), "2 processes": (2, True)}
    best: dict[str, float] = dict.fromkeys(ways, float("inf"))
    digests, memory = set(), {}
    for _ in range(repeats):
        for name, (workers, processes) in ways.items():
            seconds, peak, digest, settled = solved(points, workers, processes)
            best[name] = min(best[name], seconds)
            digests.add(digest)
            memory[name] = peak
    size = round(points**0.5) ** 2
    for name, seconds in best.items():
        line(f"map of {size} points, {name}", f"{seconds:.2f} s, {1e3 * seconds / size:.2f} ms a point")
    own, child = memory["2 threads"][0], memory["2 processes"]
    line("memory, 2 threads", f"{own:.0f} MB", "<= 600 MB")
    line("memory, 2 processes, each and the parent", f"{child[1]:.0f} MB, {child[0]:.0f} MB")
    line("two threads against one", f"{best['1 thread'] / best['2 threads']:.2f} x", ">= 1.9 x on two idle cores")
    line("two processes against one thread", f"{best['1 thread'] / best['2 processes']:.2f} x", "their start included")
    line("settled points; the same bits from all", f"{settled}; {'yes' if len(digests) == 1 else 'NO'}", "yes")


def growth(points: int) -> None:
    """Cost against points and cylinders, one thread."""
    for n in (points // 16, points // 4, points):
        seconds, _, _, settled = solved(n, 1)
        size = max(round(n**0.5), 2) ** 2
        line(f"  {size} points", f"{1e3 * seconds / size:.2f} ms a point, {settled} settled")
    for cylinders in (1, 2, 4, 6, 8):
        tables = load().to_dict()
        tables["engine"] = {k: v for k, v in tables["engine"].items() if not k.startswith("firing")} | {
            "cylinders": cylinders
        }
        tables["fuel"] = {k: v for k, v in tables["fuel"].items() if k in ("name", "blend", "octane")}
        tables["probe"] = [{"cylinder": 1}]
        tables.pop("cylinder", None)
        seconds, _, _, settled = solved(points // 16, 1, tables=tables)
        size = max(round((points // 16) ** 0.5), 2) ** 2
        line(f"  {cylinders} cylinders, the same turbo", f"{1e3 * seconds / size:.2f} ms a point, {settled} settled")


def around(points: int) -> None:
    """What is lost around stretches and points, in this process and of one core's time."""
    case, plan = load(), design(vary(points))
    sweep(case, vary(4), workers=1)  # libraries and kernels loaded
    cut = Stretches.of(plan)
    job = point.Job("benchmark", case.to_dict(), plan.names)
    begun = time.process_time()
    for rows in cut.rows(set(cut.sizes())).values():
        point.solve_chunk(job, rows)
    bare = time.process_time() - begun
    begun = time.process_time()
    sweep(case, vary(points), workers=1)
    whole = time.process_time() - begun
    line(
        f"around {len(cut.sizes())} stretches of {cut.length} points",
        f"{100 * (whole / bare - 1):.1f} % of the time",
        "<= 5 %",
    )
    python = interpreted(job, plan.rows(0, 40))
    line("Python in a point: all that is no kernel", f"{1e3 * python:.2f} ms")


def interpreted(job: point.Job, rows: list) -> float:
    """Processor time of a point outside compiled kernels [s]: each kernel's own time is taken out of the whole."""
    inside = [0.0]
    replaced = []
    for module in [m for name, m in list(sys.modules.items()) if name.startswith("hotside.")]:
        for name, value in list(vars(module).items()):
            if isinstance(value, Dispatcher):
                replaced.append((module, name, value))
                setattr(module, name, timed(value, inside))
    begun = time.thread_time()
    point.solve_chunk(job, rows)
    whole = time.thread_time() - begun
    for module, name, value in replaced:
        setattr(module, name, value)
    return (whole - inside[0]) / len(rows)


def timed(kernel, inside: list[float]):
    """The kernel with its time added up."""

    def run(*arguments):
        begun = time.thread_time()
        try:
            return kernel(*arguments)
        finally:
            inside[0] += time.thread_time() - begun

    return run


def main() -> None:
    """Print the table."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--points", type=int, default=400, help="of the map")
    parser.add_argument("--repeats", type=int, default=3, help="of the comparison of cores")
    parser.add_argument("--full", action="store_true", help="10,000 points as well")
    wish = parser.parse_args()
    cores(wish.points, wish.repeats)
    line("cost against points and cylinders, one thread", "")
    growth(wish.points)
    around(wish.points)
    if wish.full:
        for name, processes in (("2 processes", True), ("2 threads", False)):
            seconds, peak, _, settled = solved(10_000, 2, processes)
            held = f"{peak[0]:.0f} and {peak[1]:.0f} MB"  # of this process and of the greatest worker
            line(f"10,000 points, {name}", f"{seconds:.1f} s, {held}, {settled} settled", "<= 15 s, <= 600 MB")


if __name__ == "__main__":
    main()
