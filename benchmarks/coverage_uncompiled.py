"""Which lines of models/ and sim/ the tests reach, with the compiler off: compiled code is invisible to a coverage tool.

    python benchmarks/coverage_uncompiled.py            about a quarter of an hour of one core; ends with status 1 below 90 %

A selection of the tests, since kernels run some fifty times slower as plain Python: the tests of single rooms, the published
checks of submodels, the twelve cases of the regression guard (which thereby also hold the interpreter against the compiler),
and each verb once on a single-cylinder engine.
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
    "case", "combustion", "compressor_cooler", "flange", "flow", "friction", "fuels_air", "gas", "gauges", "geometry", "guard",
    "knock", "limit_rooms", "manifold", "maps", "tables", "tap", "turbine", "units", "valves", "variants", "wall_heat",
)  # fmt: skip
PUBLISHED = ("air", "flange", "friction", "gas_dynamics", "instruments", "submodels", "thermochemistry", "turbo")
LEFT_OUT = (
    "two_processes or warm_load or process or psychrolib"  # other processes, which are not seen; the clock; and a
)
# library that needs the compiler itself
SINGLE = ["--set", "engine.cylinders=1", "--set", "engine.firing_order=[1]", "--set", "turbine.a_over_r=4 mm",
    "--set", "probe.1.cylinder=1", "--set", "wastegate.diameter=14 mm"]  # fmt: skip
WALKS = (  # each verb once, on the demo's engine cut down to one cylinder
    ["predict", *SINGLE, "--units", "us"],
    ["predict", *SINGLE, "--json"],
    ["predict", "examples/bench.toml", "--trace", "{out}/cycle.csv"],
    ["predict", "examples/flange.toml", "--set", "engine.cylinders=1", "--set", "turbine.a_over_r=4 mm"],
    [
        "flange",
        "examples/flange.toml",
        "--set",
        "engine.cylinders=1",
        "--set",
        "turbine.a_over_r=4 mm",
        "--plot",
        "{out}/f.png",
    ],
    [
        "sweep",
        *SINGLE,
        "--vary",
        "run.boost=0.3 bar, 0.5 bar",
        "--out",
        "{out}/s.csv",
        "--workers",
        "1",
        "--plot",
        "{out}/s.png",
    ],
    ["limits", *SINGLE],
    ["plan", *SINGLE],
    ["new", "{out}/new.toml"],
    ["explain"],
    ["explain", "run.boost"],
    ["explain", "boost_pa"],
    ["explain", "run.bost"],
)


def coverage(*arguments: str) -> int:
    """Run the coverage tool, the compiler off; returns its status."""
    begun = time.perf_counter()
    env = os.environ | {"NUMBA_DISABLE_JIT": "1", "COVERAGE_FILE": str(DATA), "MPLBACKEND": "Agg"}
    done = subprocess.run(
        [sys.executable, "-W", "ignore", "-m", "coverage", *arguments], cwd=ROOT, env=env, check=False
    )
    print(f"-- {' '.join(arguments)[:100]}: status {done.returncode}, {time.perf_counter() - begun:.0f} s", flush=True)
    return done.returncode


def main() -> int:
    """Run the selection, print the report; returns 1 where tests fail or the goal is missed."""
    source = "--source=hotside.models,hotside.sim"
    files = [f"tests/test_{name}.py" for name in ROOMS] + [f"tests/published/test_{name}.py" for name in PUBLISHED]
    status = coverage("run", source, "-m", "pytest", "-p", "no:cacheprovider", "-k", f"not ({LEFT_OUT})", *files)
    with tempfile.TemporaryDirectory() as out:
        for walk in WALKS:
            words = [word.format(out=out) for word in walk]
            coverage("run", "--append", source, "-m", "hotside.sim.cli", *words)
    return max(coverage("report", "--skip-covered", "--sort=cover", f"--fail-under={GOAL}"), status)


if __name__ == "__main__":
    with tempfile.TemporaryDirectory() as folder:
        DATA = Path(folder) / "coverage"
        sys.exit(1 if main() else 0)
