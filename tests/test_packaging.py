"""What is shipped: wheel and source archive, use from other processes, the cache of compiled kernels."""

import email
import importlib.util
import multiprocessing
import os
import pickle
import shutil
import subprocess
import sys
import tarfile
import tomllib
import zipfile
from pathlib import Path

import hotside.sim
import pytest
from hotside.models import flow
from hotside.models import kept as kept_room
from hotside.sim import load, predict

ROOT = Path(__file__).resolve().parent.parent
SHIPPED = ("LICENSE", "README.md", "pyproject.toml", "models", "sim")
CASES = sorted((ROOT / "examples").glob("*.toml"))


def rooms(folder: str, *patterns: str) -> set[str]:
    """Files of a source folder under their installed names."""
    found = (path for pattern in patterns for path in (ROOT / folder).rglob(pattern))
    return {f"hotside/{path.relative_to(ROOT).as_posix()}" for path in found}


PACKAGED = rooms("sim", "*.py", "*.toml", "*.css", "*.js", "py.typed") | rooms("models", "*.py", "py.typed")


def run(code: str, *arguments: str, path: Path | None = None, folder: Path | None = None) -> str:
    """Standard output of a fresh, isolated Python, with `path` in front of its module search."""
    front = f"import sys; sys.path.insert(0, {str(path)!r})\n" if path else ""
    done = subprocess.run(
        [sys.executable, "-I", "-c", front + code, *arguments], capture_output=True, text=True, cwd=folder, timeout=300
    )
    assert done.returncode == 0, done.stderr
    return done.stdout.strip()


# ------------------------------------------------------------------------------------------------ wheel and archive


@pytest.fixture(scope="module")
def built(tmp_path_factory):
    """Wheel and source archive, made by the build backend itself: no network, no isolation."""
    assert importlib.util.find_spec("setuptools"), "the test extra installs setuptools"
    source, out = tmp_path_factory.mktemp("source"), tmp_path_factory.mktemp("dist")
    for name in SHIPPED:
        origin = ROOT / name
        copy = shutil.copytree if origin.is_dir() else shutil.copy
        copy(origin, source / name)
    code = (
        "import sys; from setuptools import build_meta as b; out = sys.argv[1]; b.build_sdist(out); b.build_wheel(out)"
    )
    run(code, str(out), folder=source)
    return next(out.glob("*.whl")), next(out.glob("*.tar.gz"))


@pytest.fixture(scope="module")
def unpacked(built, tmp_path_factory):
    """The wheel laid out as an installer would: a wheel of pure Python is a zip of what goes into the module folder."""
    folder = tmp_path_factory.mktemp("site")
    zipfile.ZipFile(built[0]).extractall(folder)
    return folder


def test_the_wheel_holds_every_room_and_nothing_else(built):
    names = {name for name in zipfile.ZipFile(built[0]).namelist() if ".dist-info/" not in name}
    assert names == PACKAGED
    assert {"hotside/sim/py.typed", "hotside/models/py.typed", "hotside/sim/demo.toml"} <= names


def test_the_wheel_says_what_it_is(built):
    project = tomllib.loads((ROOT / "pyproject.toml").read_text())["project"]
    archive = zipfile.ZipFile(built[0])
    info = next(name.split("/")[0] for name in archive.namelist() if ".dist-info/" in name)
    about = email.message_from_string(archive.read(f"{info}/METADATA").decode())
    assert (about["Name"], about["Version"]) == ("hotside", project["version"])
    assert about["Requires-Python"] == ">=3.11"
    assert about["License-Expression"] == "MIT"
    assert about.get_payload().strip() == (ROOT / "README.md").read_text().strip()
    needed = [entry for entry in about.get_all("Requires-Dist") if "extra ==" not in entry]
    assert len(needed) == len(project["dependencies"])
    assert "hotside = hotside.sim.__main__:main" in archive.read(f"{info}/entry_points.txt").decode()
    assert archive.read(f"{info}/licenses/LICENSE") == (ROOT / "LICENSE").read_bytes()


def test_the_archive_builds_the_same_wheel(built, tmp_path):
    wheel, archive = built
    with tarfile.open(archive) as tar:
        tar.extractall(tmp_path, filter="data")
    source = next(tmp_path.iterdir())
    run("from setuptools import build_meta as b; b.build_wheel('again')", folder=source)
    again = next((source / "again").glob("*.whl"))

    def content(path):
        whole = zipfile.ZipFile(path)
        return {name: whole.read(name) for name in whole.namelist() if not name.endswith("/RECORD")}

    assert content(again) == content(wheel)


def test_the_wheel_imports_under_its_own_name_only(unpacked, tmp_path):
    code = """
import importlib.util, pathlib
import hotside.models.gas, hotside.models.turbine, hotside.sim.cli, hotside.sim.steady
from hotside.sim import load
print(pathlib.Path(hotside.sim.__file__).parent.parent, pathlib.Path(hotside.models.__file__).parent.parent)
print(load().title)
print([name for name in ("sim", "models") if importlib.util.find_spec(name)])
"""
    where, title, bare = run(code, path=unpacked, folder=tmp_path).splitlines()
    assert where == f"{unpacked / 'hotside'} {unpacked / 'hotside'}"
    assert title == load().title
    assert bare == "[]"


def test_the_tests_run_against_what_is_installed():
    assert not Path(hotside.sim.__file__).is_relative_to(ROOT / "tests")
    assert "sim" not in sys.modules
    assert "models" not in sys.modules


# --------------------------------------------------------------------------------------------------- other processes


@pytest.fixture(scope="module")
def solved():
    """Every example case and the demo, solved here: tables and kernels are then on disk."""
    cases = [load(), *map(load, CASES)]
    return {case.title: (case, predict(case)) for case in cases}


def test_case_and_prediction_survive_pickling(solved):
    for case, prediction in solved.values():
        again = pickle.loads(pickle.dumps(case))
        assert again == case
        assert (again.digest, again.guesses, again.unread, again.raw) == (
            case.digest,
            case.guesses,
            case.unread,
            case.raw,
        )
        assert again.set("run.lambda", 0.9) == case.set("run.lambda", 0.9)
        back = pickle.loads(pickle.dumps(prediction))
        assert back == prediction
        assert back.to_dict() == prediction.to_dict()


def test_a_kernel_can_be_sent_to_another_process():
    """As a user's own function that calls it is, which an executor pickles with all that it refers to."""
    sent = pickle.dumps(flow.critical_ratio)
    here = repr(flow.critical_ratio(1.35))
    assert run(f"import pickle; print(pickle.loads({sent!r})(1.35))") == here


def test_two_spawned_processes_give_what_one_gives(solved):
    """To the last bit, whatever else a process has loaded before: each kernel runs its own copy of all that it calls."""
    case, prediction = solved[load().title]
    cases = [case, case.set("run.lambda", 0.9), case.set("run.spark_advance", "12 deg"), case]
    with multiprocessing.get_context("spawn").Pool(2) as pool:
        there = pool.map(predict, cases, chunksize=1)
    for one, other in zip(there, [prediction, *map(predict, cases[1:3]), prediction], strict=True):
        assert repr(one.to_dict()) == repr(other.to_dict())  # a value that is none is none in both


# ------------------------------------------------------------------------------------------ cache of compiled kernels

COUNT = """
import gc
from numba.core.dispatcher import Dispatcher
from hotside.sim import load, predict
for path in sys.argv[1:]:
    predict(load(path or None))
ours = [d for d in gc.get_objects() if isinstance(d, Dispatcher) and d.py_func.__module__.startswith("hotside.")]
print(sum(sum(d.stats.cache_hits.values()) for d in ours), sum(sum(d.stats.cache_misses.values()) for d in ours))
"""


def kept() -> dict[str, tuple[int, bytes]]:
    """Compiled kernels on disk: when each was written, and the index files whole."""
    folder = Path(kept_room.KERNELS)
    index = {str(p): (p.stat().st_mtime_ns, p.read_bytes()) for p in folder.rglob("*.nbi")}
    return index | {str(p): (p.stat().st_mtime_ns, b"") for p in folder.rglob("*.nbc")}


def test_a_second_process_compiles_nothing(solved):
    """Not even for other cases: every one of them asks for the same signatures."""
    before = kept()
    assert sum(name.endswith(".nbi") for name in before) >= 5
    hits, misses = run("import sys\n" + COUNT, "", *map(str, CASES)).split()
    assert kept() == before
    assert int(hits) >= 5
    assert misses == "0"


@pytest.fixture
def copy(tmp_path):
    """A copy of the installed package whose files may be edited."""
    for name in ("sim", "models"):
        origin = Path(importlib.util.find_spec(f"hotside.{name}").submodule_search_locations[0])
        shutil.copytree(origin, tmp_path / "hotside" / name, ignore=shutil.ignore_patterns("__pycache__"))
    return tmp_path


def digest_of(folder: Path) -> str:
    return run("from hotside.models.kept import source_digest; print(source_digest())", path=folder)


def test_an_edited_constant_anywhere_in_the_physics_changes_the_digest(copy):
    first = digest_of(copy)
    assert first == kept_room.source_digest(), "the digest is of the text, not of the place"
    knock = copy / "hotside" / "models" / "knock.py"
    knock.write_text(knock.read_text().replace("EXPONENT = 3.402", "EXPONENT = 3.403"))
    assert digest_of(copy) != first


def test_every_room_with_a_kernel_counts_in_the_digest(copy):
    """And a room of words does not: a new label compiles nothing again."""
    code = """
import importlib, pathlib, sys
from numba.core.dispatcher import Dispatcher
from hotside.models import kept
root, silent = pathlib.Path(sys.argv[1]), []
def counts(path):
    text, first = path.read_bytes(), kept.source_digest()
    path.write_bytes(text + b"\\n# edited\\n")
    changed = kept.source_digest() != first
    path.write_bytes(text)
    return changed
for path in sorted(root.glob("*/**/*.py")):
    module = importlib.import_module(".".join(["hotside", *path.relative_to(root).with_suffix("").parts]))
    own = [v for v in vars(module).values() if isinstance(v, Dispatcher) and v.py_func.__module__ == module.__name__]
    if own and not counts(path):
        silent.append(path.name)
print(silent, counts(root / "sim" / "names.py"))
"""
    assert run(code, str(copy / "hotside"), path=copy, folder=copy) == "[] False"


def test_an_old_answer_never_comes_back(copy, monkeypatch):
    """The trap itself: a kernel in sim calls one in models whose constant is edited between two processes."""
    (copy / "hotside" / "models" / "inner.py").write_text(
        "from .compiled import compiled\nFACTOR = 2.0\n\n@compiled\ndef scaled(x):\n    return FACTOR * x\n"
    )
    (copy / "hotside" / "sim" / "outer.py").write_text(
        "from ..models.compiled import compiled\nfrom ..models.inner import scaled\n\n"
        "@compiled\ndef twice(x):\n    return 2.0 * scaled(x)\n"
    )
    cache = copy / "cache"
    # an isolated Python keeps our variables of the environment, only those of Python itself are left out
    monkeypatch.setitem(os.environ, "HOTSIDE_CACHE", str(cache))
    code = "from hotside.sim.outer import twice; print(twice(1.0), sum(twice.stats.cache_hits.values()))"
    assert run(code, path=copy, folder=copy) == "4.0 0"
    assert run(code, path=copy, folder=copy) == "4.0 1"
    inner = copy / "hotside" / "models" / "inner.py"
    inner.write_text(inner.read_text().replace("2.0", "3.0"))
    assert run(code, path=copy, folder=copy) == "6.0 0"
    assert len(list(cache.iterdir())) == 2
