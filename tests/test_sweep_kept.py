"""An unfinished sweep loses nothing: killed, out of disk, in a folder that cannot be written, or in another's way."""

import json
import os
import random
import signal
import subprocess
import sys
import time
from pathlib import Path

import pytest
import xarray as xr
from hotside.sim import CaseError, load, open_sweep, sweep
from hotside.sim.verbs.sweep import point, run
from hotside.sim.verbs.sweep.journal import Journal

BENCH = Path(__file__).resolve().parent.parent / "examples" / "bench.toml"
VARY = {"run.speed": "1500:3400:100 rpm", "run.lambda": [0.9, 0.95, 1.0, 1.05, 1.1]}  # 100 points, 13 stretches

# a sweep in a process of its own, which a test can kill or starve of disk
SCRIPT = """
import json, resource, sys
from hotside.sim import CaseError, load, sweep
if __name__ == "__main__":
    case, vary, out, most = json.loads(sys.argv[1])
    if most:
        resource.setrlimit(resource.RLIMIT_FSIZE, (most, most))
    try:
        sweep(load(case), vary, out=out, resume=True, workers=2, progress=lambda text: print(text, flush=True))
    except CaseError as error:
        sys.exit(f"hotside: {error}")
"""


@pytest.fixture(scope="module", autouse=True)
def _kernels():
    """On disk before anything is killed: what is tested is the sweep, not the compiler."""
    point.touch(load())


@pytest.fixture(scope="module")
def whole(tmp_path_factory):
    """The result file of an uninterrupted run."""
    out = tmp_path_factory.mktemp("whole") / "map.nc"
    done = started(out).communicate(timeout=300)
    assert out.exists(), done
    return out


def started(out: Path, most: int = 0) -> subprocess.Popen:
    """A sweep begun in a process of its own; `most` is the size of the largest file it may write."""
    wish = json.dumps([str(BENCH), VARY, str(out), most])
    return subprocess.Popen(
        [sys.executable, "-c", SCRIPT, wish], stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True
    )


def kept(out: Path) -> int:
    """Finished stretches beside a result file."""
    return len(list(out.with_name(out.name + ".parts").glob("[0-9]*.npz")))


def killed_and_resumed(out: Path, kills: int, chance: random.Random) -> list[int]:
    """Kill a sweep at random moments while it solves, start it again each time; returns what was kept at each kill."""
    seen = []
    for _ in range(kills):
        before, job = kept(out), started(out)
        while job.poll() is None and kept(out) <= before and not out.exists():
            time.sleep(0.002)
        time.sleep(chance.uniform(0.0, 0.02))
        job.send_signal(signal.SIGKILL)
        job.communicate()
        seen.append(kept(out))
        if out.exists():
            break
    said, wrong = started(out).communicate(timeout=300)
    assert wrong == ""
    if seen[-1] and not any(out.name in line and "nothing to do" in line for line in said.splitlines()):
        assert "were finished before" in said
    return seen


def compare(out: Path, whole: Path) -> None:
    assert out.read_bytes() == whole.read_bytes()
    assert sorted(p.name for p in out.parent.iterdir()) == [out.name]


def test_killed_twice_and_resumed(whole, tmp_path):
    """What was finished stays, and the file in the end is the uninterrupted one to the last byte."""
    seen = killed_and_resumed(tmp_path / "map.nc", 2, random.Random(1))
    assert seen == sorted(seen)
    assert seen[0] > 0
    compare(tmp_path / "map.nc", whole)


@pytest.mark.slow
@pytest.mark.parametrize("seed", range(3))
def test_killed_ten_times_and_resumed(whole, tmp_path, seed):
    seen = killed_and_resumed(tmp_path / "map.nc", 10, random.Random(seed))
    assert seen == sorted(seen) or (tmp_path / "map.nc").exists()
    compare(tmp_path / "map.nc", whole)


def test_a_resumed_sweep_solves_only_what_is_missing(whole, tmp_path, monkeypatch):
    """Counted, not believed: stretches kept are not solved again, a damaged one is."""
    out = tmp_path / "map.nc"
    done, case = [], load(BENCH)
    solve = run.solved

    def stopped(hands, job, stretches):
        for number, chunk in solve(hands, job, stretches):
            done.append(number)
            yield number, chunk
            if len(done) == 5:
                raise KeyboardInterrupt

    monkeypatch.setattr(run, "solved", stopped)
    said: list[str] = []
    with pytest.raises(KeyboardInterrupt):
        sweep(case, VARY, out=out, workers=1, progress=said.append)
    assert kept(out) == 5
    assert "--resume goes on" in said[-1]
    assert not out.exists()
    parts = sorted(out.with_name("map.nc.parts").glob("[0-9]*.npz"))
    parts[2].write_bytes(parts[2].read_bytes()[:-200])  # torn by a dying disk
    damaged = int(parts[2].stem)
    again: list[int] = []

    def counted(hands, job, stretches):
        for number, chunk in solve(hands, job, stretches):
            again.append(number)
            yield number, chunk

    monkeypatch.setattr(run, "solved", counted)
    found = sweep(case, VARY, out=out, workers=1, resume=True)
    assert set(again) == set(range(13)) - (set(done) - {damaged})
    assert (found["status"] == point.STATUSES.index("converged")).all()
    xr.testing.assert_equal(found, open_sweep(whole))


def test_an_unfinished_sweep_is_not_thrown_away_unasked(tmp_path):
    out, case = tmp_path / "map.nc", load(BENCH)
    vary = {"run.lambda": [0.9, 1.0]}
    plan = run.design(vary)
    key = run.origin.key(case, plan)
    Journal.beside(out, key).open({})
    with pytest.raises(CaseError, match="this sweep, unfinished: --resume"):
        sweep(case, vary, out=out)
    with pytest.raises(CaseError, match="another sweep, unfinished"):
        sweep(case, {"run.lambda": [0.9, 1.1]}, out=out, resume=True)
    assert Journal.beside(out, key).owner() == key
    sweep(case, {"run.lambda": [0.9, 1.1]}, out=out, force=True, workers=1)
    assert [p.name for p in tmp_path.iterdir()] == ["map.nc"]


def test_the_key_knows_everything_that_decides_the_numbers():
    case, plan = load(BENCH), run.design({"run.lambda": [0.9, 1.0]})
    keys = {
        run.origin.key(case, plan),
        run.origin.key(case.set("wall_heat.scale", 1.5), plan),
        run.origin.key(case, run.design({"run.lambda": [0.9, 1.1]})),
        run.origin.key(case, run.design({"run.lambda": [0.9, 1.0]}, "zip")),
    }
    assert len(keys) == 4
    assert run.origin.key(load(BENCH), run.design({"run.lambda": "0.9, 1.0"})) in keys


@pytest.mark.skipif(sys.platform == "win32", reason="limits of a process are those of a Unix system")
@pytest.mark.parametrize(
    ("most", "left"), [(4_000, 0), (40_000, 13)], ids=["no stretch fits", "the result does not fit"]
)
def test_a_full_disk_is_said_and_loses_nothing(whole, tmp_path, most, left):
    """The system refuses to write on, as a full disk does: at the first stretch, or at the result file itself."""
    out = tmp_path / "map.nc"
    said, wrong = started(out, most).communicate(timeout=300)
    assert wrong.startswith("hotside: ")
    assert "cannot be written: " in wrong
    assert wrong.count("\n") == 1
    assert kept(out) == left
    assert not out.exists()
    assert not list(tmp_path.rglob("*.part"))
    said, wrong = started(out).communicate(timeout=300)
    assert wrong == ""
    assert ("100 of 100 points were finished before" in said) == (left == 13)
    compare(out, whole)


def test_a_folder_that_cannot_be_written_is_said_before_anything_is_solved(tmp_path, monkeypatch):
    """The mode of a folder stops everybody but root, for whom the system's own read-only folder stands."""
    folder = tmp_path / "locked"
    folder.mkdir()
    folder.chmod(0o555)
    if os.access(folder, os.W_OK):
        folder = Path("/sys")
        if not folder.is_dir():
            pytest.skip("no folder here that refuses")
    monkeypatch.setattr(run, "solved", lambda *_: pytest.fail("solved before it was known that nothing can be kept"))
    with pytest.raises(CaseError, match="cannot be written"):
        sweep(load(BENCH), {"run.lambda": [0.9, 1.0]}, out=folder / "map.nc", workers=1)


def test_a_finished_file_with_its_journal_left_is_finished(whole, tmp_path):
    """Killed between the last two steps: the file is whole, the journal goes."""
    out = tmp_path / "map.nc"
    out.write_bytes(whole.read_bytes())
    key = run.store.key_of(out)
    Journal.beside(out, key).open({})
    said: list[str] = []
    sweep(load(BENCH), VARY, out=out, progress=said.append)
    assert said == [f"{out} holds this sweep already; nothing to do."]
    compare(out, whole)
