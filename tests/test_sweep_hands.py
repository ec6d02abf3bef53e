"""Who solves does not matter: threads, processes, Dask give the same bits; workers that die are said, and nothing is lost."""

import json
import os
import signal
import subprocess
import sys
from concurrent.futures import Executor, Future, ThreadPoolExecutor
from concurrent.futures.process import BrokenProcessPool
from pathlib import Path

import numpy as np
import pytest
from hotside.sim import CaseError, load, sweep
from hotside.sim.verbs.sweep import hands as handing
from hotside.sim.verbs.sweep import point, run
from hotside.sim.verbs.sweep.hands import Hands, solved

EXAMPLES = Path(__file__).resolve().parent.parent / "examples"
BENCH, SIX = EXAMPLES / "bench.toml", EXAMPLES / "tractor_six.toml"
SPEEDS = "1500:3400:100 rpm"

# every way in one fresh process; the parent of workers must have a file to be started from
WAYS = """
import hashlib, json, sys
from concurrent.futures import ThreadPoolExecutor
from hotside.sim import load, sweep

def digest(found):
    return hashlib.sha256(b"".join(found[n].values.tobytes() for n in sorted(map(str, found.data_vars)))).hexdigest()

if __name__ == "__main__":
    path, vary, ways = json.loads(sys.argv[1])
    case, told = load(path), {}
    for way in ways:
        if way == "dask":
            from distributed import Client, LocalCluster
            with LocalCluster(n_workers=2, threads_per_worker=1, host="127.0.0.1", dashboard_address=None) as cluster:
                with Client(cluster) as client:
                    told[way] = digest(sweep(case, vary, executor=client.get_executor(pure=False)))
        elif way == "own":
            with ThreadPoolExecutor(3) as executor:
                told[way] = digest(sweep(case, vary, executor=executor))
                assert executor.submit(int, 7).result() == 7, "the user's executor stays open"
        else:
            count, kind = way.split()
            told[way] = digest(sweep(case, vary, workers=int(count), processes=kind == "processes"))
    print(json.dumps(told))
"""


def digests(tmp_path: Path, case: Path, vary: dict, ways: list[str]) -> dict[str, str]:
    script = tmp_path / "ways.py"
    script.write_text(WAYS)
    done = subprocess.run(
        [sys.executable, str(script), json.dumps([str(case), vary, ways])], capture_output=True, text=True, timeout=600
    )
    assert done.returncode == 0, done.stderr
    return json.loads(done.stdout.splitlines()[-1])


def test_a_script_without_a_guard_is_run_once(tmp_path):
    """Worker processes do not run the user's script again."""
    script = tmp_path / "plain.py"
    script.write_text(
        "from hotside.sim import load, sweep\n"
        "print('begun')\n"
        f"found = sweep(load({str(BENCH)!r}), {{'run.speed': '2000:3000:500 rpm'}}, processes=True, workers=2)\n"
        "print(found.sizes['run.speed'])\n"
    )
    done = subprocess.run([sys.executable, str(script)], capture_output=True, text=True, timeout=300, check=True)
    assert done.stdout.split() == ["begun", "3"], done.stderr


def test_the_same_bits_from_threads_and_processes(tmp_path):
    vary = {"run.speed": SPEEDS, "wall_heat.model": ["woschni", "annand"]}
    told = digests(tmp_path, BENCH, vary, ["1 threads", "2 threads", "own", "2 processes"])
    assert len(told) == 4
    assert len(set(told.values())) == 1, told


@pytest.mark.slow
def test_the_same_bits_from_dask_and_for_a_turbo(tmp_path):
    """On an engine with a turbo, where loops within loops would show any difference."""
    vary = {"run.boost": "0.6:1.4:0.1 bar", "run.spark_advance": "10:16:2 deg"}
    told = digests(tmp_path, SIX, vary, ["1 threads", "2 threads", "2 processes", "dask"])
    assert len(set(told.values())) == 1, told


# --------------------------------------------------------------------------------------------------- workers that die


def stretches(count: int = 6) -> tuple[point.Job, dict[int, list]]:
    """Stretches of two points of the bench."""
    job = point.Job(f"bench {count}", load(BENCH).to_dict(), ("run.speed",))
    return job, {k: [(f"{1500 + 200 * k} rpm",), (f"{1600 + 200 * k} rpm",)] for k in range(count)}


def test_a_killed_worker_costs_time_and_nothing_else():
    """kill -9 of a process of ours in the middle: every stretch comes once, with its answer."""
    job, wanted = stretches(8)
    hands, seen = Hands(2, True), {}
    for number, chunk in solved(hands, job, wanted):
        assert number not in seen
        seen[number] = chunk
        if len(seen) == 1:
            os.kill(next(iter(hands.executor._processes)), signal.SIGKILL)
    hands.close()
    assert sorted(seen) == list(wanted)
    assert all((chunk.numbers[:, chunk.names.index("status")] == 0).all() for chunk in seen.values())


class Fragile(Executor):
    """Solves at once; an executor whose worker dies of one point, or whose every submission fails."""

    def __init__(self, deadly: str, error: type[Exception]) -> None:
        self.deadly, self.error, self.broken, self.calls = deadly, error, False, 0

    def submit(self, work, /, job, rows):
        self.calls += 1
        if self.broken:
            raise BrokenProcessPool("a worker died")
        future: Future = Future()
        if any(self.deadly in row for row in rows):
            self.broken = issubclass(self.error, BrokenProcessPool)
            future.set_exception(self.error("a worker died"))
        else:
            future.set_result(work(job, rows))
        return future

    def shutdown(self, wait=True, kill_workers=False):
        pass


def test_only_the_point_that_kills_its_worker_is_given_up(monkeypatch):
    """The pool breaks each time it meets the point: its neighbours in the stretch and all others have their answers."""
    monkeypatch.setattr(handing, "pool", lambda workers, processes: Fragile("2000 rpm", BrokenProcessPool))
    job, wanted = stretches()
    hands = Hands(2, True)
    found = point.joined([chunk for _, chunk in sorted(solved(hands, job, wanted))])
    status = [point.STATUSES[int(s)] for s in found.numbers[:, found.names.index("status")]]
    speeds = [1500 + 100 * k for k in range(12)]
    assert dict(zip(speeds, status, strict=True)) == {s: "worker died" if s == 2000 else "converged" for s in speeds}
    message = found.texts[speeds.index(2000)][found.text_names.index("message")]
    assert "a worker died" in message


def test_an_executor_that_gives_up_one_task_keeps_the_rest():
    """As Dask does with a task that killed several workers: an error of that task, and the executor goes on."""
    found = sweep(load(BENCH), {"run.speed": "1500:2400:100 rpm"}, executor=Fragile("2000 rpm", RuntimeError))
    status = {float(s): point.STATUSES[int(c)] for s, c in zip(found["speed_rpm"], found["status"], strict=True)}
    assert sum(v == "converged" for v in status.values()) == 9
    lost = int(np.flatnonzero(found["status"].values == point.STATUSES.index("worker died"))[0])
    assert lost == 5
    assert str(found["message"].values[lost]) == "RuntimeError: a worker died"


def test_a_broken_executor_of_the_user_ends_the_sweep_and_keeps_what_is_done(tmp_path):
    """It cannot be replaced here: what is finished stays, and the next run goes on with another executor."""
    out, vary = tmp_path / "map.nc", {"run.speed": SPEEDS}
    fragile = Fragile("2500 rpm", BrokenProcessPool)
    said: list[str] = []
    with pytest.raises(CaseError, match="its workers died"):
        sweep(load(BENCH), vary, out=out, executor=fragile, progress=said.append)
    kept = len(list(tmp_path.glob("map.nc.parts/[0-9]*.npz")))
    assert kept >= 1
    assert "--resume goes on" in said[-1]
    done: list[str] = []
    with ThreadPoolExecutor(1) as executor:
        found = sweep(load(BENCH), vary, out=out, executor=executor, resume=True, progress=done.append)
    assert done[0] == f"{8 * kept} of 20 points were finished before."
    assert (found["status"] == 0).all()


DASK = """
import json, os, signal, sys, threading
import numpy as np
from distributed import Client, LocalCluster
from hotside.sim import load, sweep

if __name__ == "__main__":
    case = load(sys.argv[1])
    vary = {"run.speed": "1500:3490:10 rpm", "run.lambda": [0.9, 1.0]}
    with LocalCluster(n_workers=3, threads_per_worker=1, host="127.0.0.1", dashboard_address=None) as cluster:
        with Client(cluster) as client:
            pids = list(client.run(os.getpid).values())
            keep, killed = [], []
            from hotside.sim.verbs.sweep.journal import Journal
            whole = Journal.keep
            def counted(self, number, chunk):
                keep.append(number)
                if len(keep) == 3:
                    os.kill(pids[0], signal.SIGKILL)
                    killed.append(pids[0])
                whole(self, number, chunk)
            Journal.keep = counted
            found = sweep(case, vary, out=sys.argv[2], executor=client.get_executor(pure=False))
    print(json.dumps([len(killed), len(keep), len(set(keep)), found.status.values.tolist()]))
    alone = sweep(case, vary, workers=1)
    same = all(np.array_equal(found[n].values, alone[n].values, equal_nan=found[n].dtype.kind == "f") for n in found.data_vars)
    print(same)
"""


@pytest.mark.slow
def test_a_dask_cluster_with_a_worker_killed(tmp_path):
    """Three worker processes over loopback, one killed by -9 in the middle: no row lost, none doubled, the same bits."""
    script = tmp_path / "cluster.py"
    script.write_text(DASK)
    done = subprocess.run(
        [sys.executable, str(script), str(BENCH), str(tmp_path / "map.nc")], capture_output=True, text=True, timeout=600
    )
    assert done.returncode == 0, done.stderr
    told, same = done.stdout.splitlines()[-2:]
    killed, kept, different, status = json.loads(told)
    cut = run.Stretches.of(run.design({"run.speed": "1500:3490:10 rpm", "run.lambda": [0.9, 1.0]}))
    assert killed == 1
    assert kept == different == len(cut.sizes())
    assert np.array(status).shape == (200, 2)
    assert (np.array(status) == 0).all()
    assert same == "True"
