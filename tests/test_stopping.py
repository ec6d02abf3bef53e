"""Ctrl-C in the middle of long work: one sentence, status 130, no traceback, and what was finished is kept."""

import os
import re
import signal
import subprocess
import sys
import time
from pathlib import Path

import pytest

pytestmark = pytest.mark.skipif(not Path("/proc/self/stat").exists(), reason="reads processor times from /proc")
EXAMPLES = Path(__file__).resolve().parent.parent / "examples"
CASE = str(EXAMPLES / "divided_four.toml")
SIX = str(EXAMPLES / "tractor_six.toml")
LONG = {
    "limits": ["limits", CASE],
    "plan": ["plan", CASE],
    "improve": ["improve", CASE, "--target", "power = 300 kW"],
    "uncertainty": ["uncertainty", CASE, "--samples", "4096"],
    "placement": ["placement", CASE, "--probes", "2"],
    "compare": ["compare", CASE, "--with", "run.lambda=0.9", "--runaway"],
    "lookalikes": ["lookalikes", CASE],
    "spool": ["spool", CASE, "--set", "run.speed=2200 rpm"],
    "curve": ["predict", CASE, "--speed", "2000:7000:5 rpm"],
    "diagnose": ["diagnose", SIX, str(EXAMPLES / "tractor_pulls.csv")],
}
SWEEP = ["sweep", CASE, "--vary", "run.spark_advance=5:25:0.1 deg", "--vary", "run.lambda=0.75:0.95:0.001"]


def begun(words, folder, ready=lambda job: spent(job) > 2.0):
    """A command in the middle of its work: by default when it has used more of the processor than its start needs."""
    job = subprocess.Popen(
        [sys.executable, "-m", "hotside.sim.cli", *words],
        stdout=subprocess.DEVNULL, stderr=(folder / "said").open("w"), cwd=folder, start_new_session=True, preexec_fn=heard,
    )  # fmt: skip
    until = time.monotonic() + 300.0
    while job.poll() is None and not ready(job):
        assert time.monotonic() < until
        time.sleep(0.02)
    return job


def heard():
    """Let Ctrl-C through where these tests run in the background, whose children ignore it."""
    signal.signal(signal.SIGINT, signal.SIG_DFL)


def spent(job):
    """Processor seconds of a process so far."""
    fields = Path(f"/proc/{job.pid}/stat").read_text().rpartition(")")[2].split()
    return (int(fields[11]) + int(fields[12])) / os.sysconf("SC_CLK_TCK")


def stopped(job, folder):
    """What a command says after Ctrl-C, and its status."""
    assert job.poll() is None, "it was over before it could be stopped"
    job.send_signal(signal.SIGINT)
    status = job.wait(30.0)  # it takes about one second; a test is no benchmark
    return status, (folder / "said").read_text()


@pytest.mark.parametrize("verb", LONG)
def test_long_work_stops_with_a_sentence(verb, tmp_path):
    words = [*LONG[verb], "--report", "page.html"]
    if verb == "improve":  # past the import that ends without a sentence
        job = begun(words, tmp_path, lambda job: "each change" in (tmp_path / "said").read_text())
    else:
        job = begun(words, tmp_path)
    status, said = stopped(job, tmp_path)
    assert (status, said.splitlines()[-1]) == (130, "hotside: stopped.")
    assert said.count("stopped.") == 1
    assert "Traceback" not in said
    assert "ignored" not in said
    assert [file.name for file in tmp_path.iterdir()] == ["said"]


@pytest.mark.parametrize("after", [0.06, 0.1, 0.3, 1.2, 2.0, 2.5])
def test_no_moment_of_loading_answers_with_a_traceback(after, tmp_path):
    """The program's own modules come first, then numba, then CoolProp, which lets no Python code run while it loads."""
    words = ["-m", "hotside.sim", *LONG["improve"]]
    with (tmp_path / "said").open("w") as said:
        job = subprocess.Popen(
            [sys.executable, *words], stdout=subprocess.DEVNULL, stderr=said, start_new_session=True, preexec_fn=heard
        )
    begins = time.monotonic()
    while spent(job) < after:
        assert time.monotonic() - begins < 300.0
        time.sleep(0.01)
    status, said = stopped(job, tmp_path)
    assert status in (130, -signal.SIGINT)
    assert "Traceback" not in said


@pytest.mark.parametrize("by", [[], ["--processes", "--workers", "2"]], ids=["threads", "processes"])
def test_a_sweep_keeps_what_is_finished_and_leaves_no_worker(by, tmp_path):
    kept = tmp_path / "map.nc.parts"
    job = begun([*SWEEP, *by, "--out", "map.nc"], tmp_path, lambda job: any(kept.glob("[0-9]*.npz")))
    status, said = stopped(job, tmp_path)
    assert (status, said.splitlines()[-1]) == (130, "hotside: stopped.")
    assert "Traceback" not in said
    found = re.search(r"(\d+) of 40401 points are kept in \S+; --resume goes on\.", said)
    assert found
    assert int(found[1]) > 0
    assert not (tmp_path / "map.nc").exists()
    until = time.monotonic() + 20.0
    while workers(job.pid):
        assert time.monotonic() < until, "a worker is left"
        time.sleep(0.1)


def workers(session):
    """Processes of a session, which the command and its workers share."""
    listed = subprocess.run(["ps", "-o", "pid=,stat=", "-s", str(session)], capture_output=True, text=True).stdout
    return [line for line in listed.splitlines() if " Z" not in line]
