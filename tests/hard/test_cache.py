"""What no disk may do to an answer: a cache folder that may only be read or is no folder, files cut short, a full disk,
two processes at once.

Each runs the program as a user does, in a process of its own; as root, which may write anywhere, it gives up its rights.
"""

import ctypes
import os
import resource
import shutil
import stat
import subprocess
import sys
from pathlib import Path

import pytest
from hotside.models import kept
from hotside.sim import load, predict
from hotside.sim.options import json_text

PR_CAPBSET_DROP = 24
KERNEL = """
import sys, warnings
from hotside.models.compiled import compiled
from hotside.sim.cli import spoken
warnings.formatwarning = spoken
import {module}
print({module}.twice(1.5), sum({module}.twice.stats.cache_hits.values()))
"""
needs_rights = pytest.mark.skipif(
    not sys.platform.startswith("linux"), reason="how root gives up its rights is Linux's"
)


@pytest.fixture
def place(tmp_path):
    """A folder whose rights are given back at the end, so that it can be removed."""
    yield tmp_path
    for path in (tmp_path, *tmp_path.rglob("*")):
        path.chmod(0o755)


def give_up_rights():
    """Root writes anywhere; take that right (CAP_DAC_OVERRIDE, CAP_DAC_READ_SEARCH) from the program to be started."""
    if os.geteuid() == 0:
        library = ctypes.CDLL(None)
        for right in (1, 2):
            library.prctl(PR_CAPBSET_DROP, right, 0, 0, 0)


def run(*arguments, cache, largest=None, powerless=False, into=subprocess.PIPE):
    """A fresh Python with this cache; `largest` bounds the files it may write, which acts as a full disk does."""

    def limit():
        if largest is not None:
            resource.setrlimit(resource.RLIMIT_FSIZE, (largest, largest))
        if powerless:
            give_up_rights()

    environment = os.environ | {
        "PYTHONPATH": os.pathsep.join(sys.path),
        "HOTSIDE_CACHE": str(cache),
        "PYTHONDONTWRITEBYTECODE": "1",
    }
    return subprocess.run(
        [sys.executable, *arguments],
        env=environment,
        stdout=into,
        stderr=subprocess.PIPE,
        text=True,
        preexec_fn=limit,
        timeout=600,
    )


@pytest.fixture
def kernel(place):
    """A program whose one kernel compiles in a moment, in the package's own way, and the arguments that run it."""
    (place / "small.py").write_text(
        "from hotside.models.compiled import compiled\n\n@compiled\ndef twice(x):\n    return 2.0 * x\n"
    )
    code = f"import sys; sys.path.insert(0, {str(place)!r})\n" + KERNEL.format(module="small")
    return ("-c", code)


def files(folder, ending):
    return [path for path in folder.rglob("*") if path.name.endswith(ending)]


def forbid(folder):
    """Take the right to write from everything in a folder."""
    for path in (folder, *folder.rglob("*")):
        path.chmod(stat.S_IMODE(path.stat().st_mode) & ~0o222)


def test_a_kernel_is_kept_and_found_again(kernel, place):
    cache = place / "cache"
    assert run(*kernel, cache=cache).stdout.split() == ["3.0", "0"]
    assert run(*kernel, cache=cache).stdout.split() == ["3.0", "1"]


def around(place, name):
    """A kernel that calls the one of `small`, in a room of its own; what runs it and counts."""
    (place / f"{name}.py").write_text(
        "from hotside.models.compiled import compiled\nfrom small import twice\n\n@compiled\ndef thrice(x):\n    return twice(x) + x\n"
    )
    code = (
        f"import sys; sys.path.insert(0, {str(place)!r})\nfrom {name} import thrice\nfrom small import twice\n"
        "print(twice(1.5), thrice(1.5), *(sum(k.stats.cache_hits.values()) for k in (twice, thrice, twice.part)))"
    )
    return "-c", code


def test_a_kernel_is_kept_once_for_python_and_once_for_kernels_that_call_it(kernel, place):
    """As machine code, and as what is put into a kernel that is compiled around it later."""
    cache = place / "cache"
    run(*kernel, cache=cache)
    assert run(*around(place, "one"), cache=cache).stdout.split() == ["3.0", "4.5", "1", "0", "0"]
    assert run(*around(place, "one"), cache=cache).stdout.split() == ["3.0", "4.5", "1", "1", "0"]
    assert run(*around(place, "other"), cache=cache).stdout.split() == ["3.0", "4.5", "1", "0", "1"]


@pytest.mark.parametrize(
    ("name", "damaged"),
    [("twice-", b"\x7fELF"), ("twice-", b"_ZN5small"), ("twice.part-", b"BC\xc0\xde"), ("twice.part-", b"_ZN5small")],
)
def test_a_kernel_damaged_in_its_middle_is_compiled_again(kernel, place, name, damaged):
    """As long as it was, which a power failure can leave behind: its code or a name, which would be followed into nothing."""
    cache = place / "cache"
    run(*around(place, "one"), cache=cache)
    (path,) = [path for path in files(cache, ".nbc") if name in path.name]
    data = bytearray(path.read_bytes())
    at = data.index(damaged)
    data[at + 4 : at + 24] = bytes(20)
    path.write_bytes(data)
    done = run(*around(place, "other"), cache=cache)
    again = ["0", "0", "1"] if name == "twice-" else ["1", "0", "0"]
    assert (done.stdout.split(), done.stderr) == (["3.0", "4.5", *again], "")
    assert run(*around(place, "third"), cache=cache).stdout.split() == ["3.0", "4.5", "1", "0", "1"]


def test_a_complaint_of_a_part_read_from_disk_says_what_it_is_about(place):
    """Its constants live as long as its code, for the kernel that is compiled around it."""
    (place / "inner.py").write_text(
        "from hotside.models.compiled import allocating\n\n@allocating\ndef root(x):\n    if x < 0.0:\n"
        "        raise ValueError('negative', x)\n    return x**0.5\n\n@allocating\ndef middle(x):\n    return root(x)\n"
    )
    for name in ("first", "second"):
        (place / f"{name}.py").write_text(
            "from hotside.models.compiled import allocating\nfrom inner import middle\n\n@allocating\ndef outer(x):\n    return middle(x)\n"
        )
        code = f"import sys; sys.path.insert(0, {str(place)!r})\nfrom {name} import outer\ntry:\n    outer(-1.0)\nexcept ValueError as e:\n    print(e.args)"
        assert run("-c", code, cache=place / "cache").stdout == "('negative', -1.0)\n"


@needs_rights
def test_kernels_in_a_folder_that_may_only_be_read_are_used(kernel, place):
    cache = place / "cache"
    run(*kernel, cache=cache)
    forbid(cache)
    done = run(*kernel, cache=cache, powerless=True)
    assert (done.stdout.split(), done.stderr) == (["3.0", "1"], "")


@needs_rights
@pytest.mark.parametrize("how", ["read only", "a file", "no place"])
def test_kernels_that_cannot_be_kept_cost_one_sentence(kernel, place, how):
    cache = place / "cache"
    if how == "a file":
        cache.write_text("no folder")
    elif how == "read only":
        cache.mkdir()
        forbid(cache)
    else:
        cache = Path("/proc/no/place")
    done = run(*kernel, cache=cache, powerless=True)
    assert done.stdout.split() == ["3.0", "0"]
    assert done.stderr.startswith("hotside: compiled kernels could not be kept in ")
    assert done.stderr.count("\n") == 1
    assert "HOTSIDE_CACHE names another folder." in done.stderr
    assert str(cache) in done.stderr


@pytest.mark.parametrize(("ending", "share"), [(".nbi", 0.0), (".nbi", 0.5), (".nbc", 0.0), (".nbc", 0.9)])
def test_a_kernel_cut_short_is_compiled_again(kernel, place, ending, share):
    cache = place / "cache"
    run(*kernel, cache=cache)
    (path,) = files(cache, ending)
    content = path.read_bytes()
    path.write_bytes(content[: int(share * len(content))])
    done = run(*kernel, cache=cache)
    assert (done.stdout.split(), done.stderr) == (["3.0", "0"], "")
    assert run(*kernel, cache=cache).stdout.split() == ["3.0", "1"], "and kept anew"


def test_a_full_disk_costs_one_sentence(kernel, place):
    cache = place / "cache"
    done = run(*kernel, cache=cache, largest=100)
    assert done.stdout.split() == ["3.0", "0"]
    assert done.stderr.count("\n") == 1
    assert "could not be kept" in done.stderr
    assert not files(cache, ".nbi")
    assert not [p for p in cache.rglob("*") if ".tmp" in p.name]


# ---------------------------------------------------------------------------------------------------- the whole program


@pytest.fixture
def filled(place):
    """A cache with the kernels and tables of the demo, as this run has them."""
    predict(load())
    cache = place / "cache"
    shutil.copytree(Path(kept.KERNELS), cache / Path(kept.KERNELS).name)
    shutil.copytree(kept.cache_folder() / "tables", cache / "tables")
    return cache


PREDICT = ("-m", "hotside.sim.cli", "predict")


@needs_rights
def test_the_whole_program_runs_on_a_cache_that_may_only_be_read(filled):
    forbid(filled)
    done = run(*PREDICT, cache=filled, powerless=True)
    assert (done.returncode, done.stderr) == (0, "")
    assert "turbine" in done.stdout


@needs_rights
def test_tables_that_cannot_be_kept_cost_one_sentence(filled):
    shutil.rmtree(filled / "tables")
    run(*PREDICT, cache=filled)  # the kernel that builds them is kept
    shutil.rmtree(filled / "tables")
    forbid(filled)
    done = run(*PREDICT, cache=filled, powerless=True)
    assert done.returncode == 0
    spoken = [line for line in done.stderr.splitlines() if line.startswith("hotside: ")]
    assert len(spoken) == 1
    assert spoken[0].startswith("hotside: property tables could not be kept in ")
    assert "Traceback" not in done.stderr


def test_a_trace_on_a_full_disk_leaves_nothing_behind(filled, place):
    goal = place / "out"
    goal.mkdir()
    done = run(*PREDICT, "--trace", str(goal / "cycle.csv"), cache=filled, largest=5000)
    assert done.returncode == 2
    assert done.stderr.splitlines()[-1].startswith(f"hotside: {goal / 'cycle.csv'} cannot be written: ")
    assert "Traceback" not in done.stderr
    assert list(goal.iterdir()) == []


@pytest.mark.skipif(not Path("/dev/full").exists(), reason="a device that is always full is there on Linux")
def test_output_that_finds_no_room_is_one_sentence(filled):
    with open("/dev/full", "w") as full:
        done = run(*PREDICT, cache=filled, into=full)
    assert done.returncode == 2
    assert done.stderr == "hotside: the output cannot be written: No space left on device.\n"


def test_what_is_compiled_gives_the_bits_of_what_is_loaded(filled):
    """Machine code hangs on the sources alone, not on what else was compiled or loaded before it."""
    here = json_text(predict(load()).to_dict())
    for path in [*filled.rglob("*.nb?")]:
        if ".part-" not in path.name:
            path.unlink()
    compiled, loaded = (run(*PREDICT, "--json", cache=filled).stdout for _ in range(2))
    assert compiled.strip() == loaded.strip() == here


@pytest.mark.slow
def test_two_processes_that_compile_everything_at_once_agree(place):
    """From nothing: tables and kernels of both are whole, and a third compiles nothing."""
    cache = place / "cache"
    code = """
import gc
from numba.core.dispatcher import Dispatcher
from hotside.sim import load, predict
found = predict(load())
ours = [d for d in gc.get_objects() if isinstance(d, Dispatcher) and d.py_func.__module__.startswith("hotside.")]
print(round(found.power_w), sum(sum(d.stats.cache_misses.values()) for d in ours))
"""
    environment = os.environ | {"HOTSIDE_CACHE": str(cache), "PYTHONPATH": os.pathsep.join(sys.path)}
    both = [
        subprocess.Popen([sys.executable, "-c", code], env=environment, stdout=subprocess.PIPE, text=True)
        for _ in range(2)
    ]
    found = [process.communicate(timeout=900)[0].split() for process in both]
    third = run("-c", code, cache=cache).stdout.split()
    assert found[0][0] == found[1][0] == third[0]
    assert third[1] == "0"
