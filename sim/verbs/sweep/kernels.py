"""Compiled kernels in every process alike.

A process that compiles a kernel runs another copy of its inner functions than one that loads it from disk, and differs
from it in the last digits. So kernels are compiled by a process of their own and only loaded here; where that came too
late, `compiled_here` says so and the sweep is handed to fresh processes.
"""

import os
import subprocess
import sys
from collections.abc import Callable

from numba.core.dispatcher import Dispatcher

from ... import balance
from ...case import Case, load
from ...variants import Variants


def compile_elsewhere(say: Callable[[str], None] | None = None) -> None:
    """Have another process compile the kernels, where they are not on disk and this one has none yet."""
    if not isinstance(balance.run, Dispatcher) or balance.kept() or compiled_here():
        return
    if say is not None:
        say("the first run ever compiles the kernels, about a minute")
    env = os.environ | {"PYTHONPATH": os.pathsep.join(p for p in sys.path if p)}
    subprocess.run([sys.executable, "-m", __name__], env=env, check=False, stdout=subprocess.DEVNULL)


def compiled_here() -> bool:
    """Whether this process compiled any kernel instead of loading it."""
    package = __name__.split(".")[0]
    rooms = [module for name, module in list(sys.modules.items()) if name.split(".")[0] == package]
    return any(d.stats.cache_misses for room in rooms for d in vars(room).values() if isinstance(d, Dispatcher))


def touch(case: Case) -> None:
    """Solve and read one point, so that every kernel it needs is loaded; what it gives is not looked at."""
    from ... import steady
    from ...setup import prepare

    try:
        march, ending = steady.solve(prepare(case))
        steady.read(march, ending)
    except ArithmeticError:
        pass  # the sweep itself will say so of its own points


def bench(case: Case) -> Case:
    """The same engine between two plenums."""
    tables = {k: v for k, v in case.to_dict().items() if k in ("engine", "fuel")}
    run = {
        "speed": "3000 rpm",
        "lambda": 1.0,
        "intake_pressure": "100 kPa",
        "intake_temperature": "310 K",
        "exhaust_pressure": "105 kPa",
    }
    return load(tables | {"burn": {"model": "imposed", "ca50": "9 deg ATDC", "duration_10_90": "24 deg"}, "run": run})


if __name__ == "__main__":
    demo = load()
    touch(Variants(demo).make({}))
    touch(bench(demo))
