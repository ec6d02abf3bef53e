"""Which lines of models/ and sim/ the tests reach, with the compiler off: compiled code is invisible to a coverage tool.

    python benchmarks/coverage_uncompiled.py            about a quarter of an hour; ends with status 1 below 90 %

Kernels run some fifty times slower as plain Python, so what holds kernels is reached by a selection with the compiler off: the
tests of single rooms, the published checks of submodels, and some points predicted from the command line. Files that hold none,
the verbs above all, are plain Python anyway: their own tests run with the compiler on, and both counts are added.
"""

import os
import subprocess
import sys
import tempfile
import time
from pathlib import Path

ROOT = Path(__file__).resolve().parent.parent
GOAL = 90  # [%]
ROOMS = (
    "combustion", "compressor_cooler", "flange", "flow", "friction", "fuels_air", "gauges", "geometry", "knock", "manifold", "tap",
    "turbine", "units", "valves", "wall_heat",
)  # fmt: skip
PUBLISHED = ("air", "flange", "friction", "gas_dynamics", "instruments", "submodels", "turbo")
# Tests of the compiler itself; a library that needs it; divisions by zero, which compiled code takes as infinite and plain
# Python does not.
LEFT_OUT = "signature or compile_nothing or compiles_nothing or psychrolib or brentq or vacuum"
SINGLE = "--set engine.cylinders=1 --set engine.firing_order=[1] --set probe.1.cylinder=1 --set wastegate.diameter=14mm"
WALKS = (  # points whose kernels run as plain Python: alike and unlike cylinders, bench, turbo, held, divided, leaking
    f"predict {SINGLE} --set turbine.a_over_r=4mm --units us",
    "predict examples/bench.toml --trace {out}/cycle.csv",
    "predict examples/uneven.toml --set engine.blow_by_area=0.3mm2 --set wall_heat.model=woschni --set friction.model=patton",
    "predict examples/uneven.toml --set run.held_backpressure=1bar --set wall_heat.model=annand --set friction.model=sandoval",
    "flange examples/flange.toml --plot {out}/flange.png",
    "new {out}/new.toml",
    "explain",
)
TOLD = ("limits", "plan", "spool", "lookalikes")  # verbs that print, each once
ELSEWHERE = (
    "packaging",
    "readme",
    "examples",
    "closure",
    "steps",
    "trends",
)  # other processes, unseen; or many points, nothing new


def coverage(folder: str, compiler: bool, *arguments: str) -> int:
    """Run the coverage tool on one program; returns its status."""
    begun = time.perf_counter()
    env = os.environ | {
        "NUMBA_DISABLE_JIT": "0" if compiler else "1",
        "MPLBACKEND": "Agg",
        "COVERAGE_FILE": f"{folder}/coverage",
    }
    command = [sys.executable, "-W", "ignore", "-m", "coverage", *arguments]
    done = subprocess.run(command, cwd=ROOT, env=env, check=False)
    print(f"-- {' '.join(arguments)[:90]}: status {done.returncode}, {time.perf_counter() - begun:.0f} s", flush=True)
    return done.returncode


def counted(folder: str, compiler: bool, *program: str) -> int:
    """Add the lines that one program reaches."""
    return coverage(folder, compiler, "run", "--append", "--source=hotside.models,hotside.sim", "-m", *program)


def files(names: tuple[str, ...], where: str = "tests") -> list[str]:
    """The files of some tests that are there."""
    return [f"{where}/test_{name}.py" for name in names if (ROOT / where / f"test_{name}.py").exists()]


def main(folder: str) -> int:
    """Run the selection, print the report; returns other than 0 where tests fail or the goal is missed."""
    tests = files(ROOMS) + files(PUBLISHED, "tests/published")
    failed = counted(folder, False, "pytest", "-p", "no:cacheprovider", "-k", f"not ({LEFT_OUT})", *tests)
    for walk in WALKS:
        failed |= counted(folder, False, "hotside.sim.cli", *walk.format(out=folder).split())
    for verb in TOLD:
        failed |= counted(folder, True, "hotside.sim.cli", verb, "examples/flange.toml")
    rest = sorted(
        {path.stem.removeprefix("test_") for path in (ROOT / "tests").glob("test_*.py")} - {*ROOMS, *ELSEWHERE}
    )
    files_left = files(tuple(rest)) + files(("alternation", "extremes"), "tests/hard")
    failed |= counted(folder, True, "pytest", "-p", "no:cacheprovider", "-k", "not warm_load", *files_left)
    missed = coverage(folder, True, "report", "--skip-covered", "--sort=cover", f"--fail-under={GOAL}")
    return failed | missed


if __name__ == "__main__":
    with tempfile.TemporaryDirectory() as place:
        sys.exit(1 if main(place) else 0)
