"""Speed beside its budgets, all measured in one run: `python benchmarks/speed.py [--quick]`.

Medians of repeated runs; the ordinary route (a Cantera reactor network, see cantera_reactor.py) is timed in the same run,
so that the ratio holds on a noisy machine. `--quick` leaves out the first-ever start, methane kinetics and the map.
"""

import argparse
import os
import resource
import statistics
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parent))
import cantera_reactor
import numpy as np
import recovery
from hotside.sim import closed, curve, load
from hotside.sim.balance import NOTHING
from hotside.sim.case import Case
from hotside.sim.knock_limit import closed_at
from hotside.sim.settle import March
from hotside.sim.setup import prepare
from hotside.sim.steady import predict, solve

EXAMPLES = Path(__file__).resolve().parent.parent / "examples"
CURVES = ("divided_four", "tractor_six", "uneven")
SPEEDS = "2500:7000:250 rpm"
ROWS: list[tuple[str, str, str, str]] = []


def note(what: str, found: str, budget: str, met: bool | None) -> None:
    """Keep and print one line of the table."""
    ROWS.append((what, found, budget, {True: "met", False: "SHORT", None: ""}[met]))
    print(f"{what:<64} {found:>22}  {budget:>18}  {ROWS[-1][3]}", flush=True)


def median_ms(job: Callable[[], object], runs: int = 15) -> float:
    """Median wall time of a job after one warm-up [ms]."""
    job()
    times = []
    for _ in range(runs):
        start = time.perf_counter()
        job()
        times.append(time.perf_counter() - start)
    return 1e3 * statistics.median(times)


def solved(case: Case) -> Callable[[], object]:
    """The job of solving a case from cold, set-up included, readings left out."""
    return lambda: solve(prepare(case))


def points() -> float:
    """Single points; returns the time of the bench [ms]."""
    demo, bench = load(), load(cantera_reactor.CASE)
    unlike = load(demo.to_dict() | {"cylinder": [{"number": i, "fuel": f"{2 * i - 5} %"} for i in (1, 2, 3, 4)]})
    setup = median_ms(lambda: prepare(demo))
    note("set-up of a case for the kernel", f"{setup:.2f} ms", "-", None)
    alike = median_ms(solved(demo))
    note("coupled point, four alike cylinders, one core", f"{alike:.1f} ms", "<= 3 ms", alike <= 3)
    march = solve(prepare(demo))[0]
    note("  cycles to converge, from cold", f"{march.z[surroundings_cycles()]:.0f}", "-", None)
    plant = march.setup.plant
    whole = median_ms(march.whole_cycle, 40)
    note(f"  one whole cycle of {plant.steps} steps, closed part once", f"{whole:.2f} ms", "-", None)
    parts = median_ms(lambda: march.run(NOTHING, 1e-30, 1), 40)
    note(f"  the same in {plant.parts} marches from firing to firing", f"{parts:.2f} ms", "-", None)
    profile(march, whole)
    four = median_ms(solved(unlike))
    note("the same with four cylinders that differ", f"{four:.1f} ms", "<= 10 ms", four <= 10)
    short = median_ms(solved(demo.set_all({"run.speed": "2000 rpm"})), 7)
    note("a boost that cannot be made (2000 rpm)", f"{short:.1f} ms", "-", None)
    one = median_ms(solved(bench), 40)
    note("one cylinder between fixed plenums", f"{one:.2f} ms", "<= 1.5 ms", one <= 1.5)
    full = median_ms(lambda: predict(demo))
    note("predict in process, readings and knock limit included", f"{full:.1f} ms", "-", None)
    p = predict(demo)
    note("mass closure, demo", f"{p.mass_closure:.1e}", "<= 1e-6", p.mass_closure <= 1e-6)
    note("energy closure, demo", f"{p.energy_closure:.1e}", "<= 1e-3", p.energy_closure <= 1e-3)
    return one


def profile(march: March, whole: float) -> None:
    """Where a cycle's time goes, so that the next gain is visible; `whole` is that of a cycle with its closed part once [ms]."""
    setup = march.setup
    open_volumes = 2 * setup.engine.cylinders + setup.engine.collectors
    burn = median_ms(lambda: closed_at(march, 0, 0.0), 100)
    evaluations = 4.0 * closed_at(march, 0, 0.0)[closed.O_STEPS]
    note(f"  closed part of {evaluations:.0f} right-hand sides", f"{1e3 * burn:.0f} us", "-", None)
    note("    a right-hand side of the closed part", f"{1e6 * burn / evaluations:.0f} ns", "-", None)
    each = 1e6 * (whole - burn) / setup.plant.steps
    note(
        f"    a step of gas exchange, {open_volumes} volumes",
        f"{each:.0f} ns, {each / open_volumes:.0f} each",
        "-",
        None,
    )


def surroundings_cycles() -> int:
    """Slot of the cycle count."""
    from hotside.sim.surroundings import Z_CYCLES

    return Z_CYCLES


def baseline(ours: float, kinetics: bool) -> None:
    """The ordinary route on the same cylinder, in the same run."""
    cantera_reactor.run(cycles=1)
    plain = 1e3 * statistics.median(cantera_reactor.run(cycles=8)["wall_time_s"] for _ in range(3))
    note(
        "Cantera reactor network, 8 cycles, over ours",
        f"{plain / ours:.0f} x ({plain:.0f} ms)",
        ">= 20 x",
        plain / ours >= 20,
    )
    if kinetics:
        slow = 1e3 * cantera_reactor.run(cycles=8, kinetics=True)["wall_time_s"]
        note(
            "the same with methane kinetics, over ours",
            f"{slow / ours:.0f} x ({slow:.0f} ms)",
            ">= 200 x",
            slow / ours >= 200,
        )


def grid(n: int) -> list[Case]:
    """n cases of a boost-timing map of the demo."""
    side = round(n**0.5)
    base = load()
    return [
        base.set_all(
            {
                "run.boost": f"{0.6 + 0.8 * i / (side - 1):.4f} bar",
                "run.spark_advance": f"{4 + 18 * j / (side - 1):.3f} deg",
            }
        )
        for i in range(side)
        for j in range(side)
    ]


def many(n: int = 400) -> None:
    """A map on one and two threads, from cold at every point; the 10,000-point figure is this one scaled."""
    cases = grid(n)
    took = {}
    for threads in (1, 2):
        start = time.perf_counter()
        with ThreadPoolExecutor(threads) as pool:
            list(pool.map(predict, cases))
        took[threads] = time.perf_counter() - start
    scaled = took[2] * 10_000 / len(cases)
    note(f"map of {len(cases)} points on 2 cores, scaled to 10,000", f"{scaled:.0f} s", "<= 30 s", scaled <= 30)
    gain = took[1] / took[2]
    note("  two cores over one", f"{gain:.2f} x", ">= 1.9 x", gain >= 1.9)
    peak = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
    note("  peak memory of this process", f"{peak:.0f} MB", "< 600 MB", peak < 600)


def curves() -> None:
    """Full load along 19 speeds, each begun cold and equal to its own predict; processor time beside it for a busy machine."""
    for name in CURVES:
        case = load(EXAMPLES / f"{name}.toml")
        found = curve(case, SPEEDS)  # warms it
        took, spent = [], []
        for _ in range(7):
            start, used = time.perf_counter(), time.process_time()
            curve(case, SPEEDS)
            took.append(time.perf_counter() - start)
            spent.append(time.process_time() - used)
        wall, cpu = statistics.median(took), statistics.median(spent)
        note(
            f"{len(found.points)} speeds of {name}, warm, in process",
            f"{wall:.2f} s ({cpu:.2f} s cpu)",
            "< 1 s",
            wall < 1.0,
        )
        own = [predict(case.set("run.speed", f"{n} rpm")).to_dict() for n in found.speeds_rpm]
        same = sum(a == b for a, b in zip(found.points, own, strict=True))
        note("  equal to their own predict, bit for bit", f"{same} of {len(own)}", "all", same == len(own))


def diagnosis(rows: int = 30) -> None:
    """A log of a tractor's six fitted: processor time beside it for a busy machine, where wall time is no figure of ours."""
    truth = {"turbine.flow_scale": 0.93, "turbine.efficiency_scale": 0.96, "engine.breathing": 0.97}
    case = recovery.study_case()
    names = [
        *truth,
        "wall_heat.scale",
        "burn.duration_scale",
        "engine.spark_offset",
        "exhaust.loss_coefficient",
        "sensor.probe.1",
    ]
    text = recovery.log_text(case, truth, {"probe.1": 4.0}, recovery.conditions(rows), np.random.default_rng(1))
    start, used = time.perf_counter(), time.process_time()
    found = recovery.fitted(case, text, names)
    wall, cpu = time.perf_counter() - start, time.process_time() - used
    note(
        f"diagnose, {found.rows_used} rows, {len(found.estimates)} unknowns, {found.evaluations} points",
        f"{wall:.1f} s ({cpu:.1f} s cpu)",
        "< 20 s",
        wall < 20.0,
    )


def process(first: bool) -> None:
    """`hotside predict` as a whole process: warm, along speeds, and the first ever with an empty cache."""

    def start(cache: str | None, *more: str) -> float:
        env = os.environ | ({"HOTSIDE_CACHE": cache} if cache else {})
        begun = time.perf_counter()
        command = [sys.executable, "-m", "hotside.sim", "predict", *more]
        subprocess.run(command, env=env, check=True, capture_output=True)
        return time.perf_counter() - begun

    start(None)
    warm = statistics.median(start(None) for _ in range(5))
    note("hotside predict, whole process, warm", f"{warm:.2f} s", "<= 1.0 s", warm <= 1.0)
    along = statistics.median(start(None, "--speed", SPEEDS) for _ in range(5))
    note("the same along 19 speeds", f"{along:.2f} s", "-", None)
    if first:
        with tempfile.TemporaryDirectory() as folder:
            cold = start(folder)
        note("hotside predict, first ever, tables and compile", f"{cold:.0f} s", "<= 40 s", cold <= 40)


def main() -> None:
    """Print the table."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--quick", action="store_true", help="leave out what takes minutes")
    quick = parser.parse_args().quick
    print(f"{'what':<64} {'found':>22}  {'budget':>18}")
    ours = points()
    curves()
    baseline(ours, not quick)
    process(not quick)
    if not quick:
        many()
        diagnosis()


if __name__ == "__main__":
    main()
