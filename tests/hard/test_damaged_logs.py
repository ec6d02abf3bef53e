"""Damaged logs: read in full, in part with what was left out named, or refused in one sentence; never a traceback.

Reading needs no solving, so hundreds are cheap; thousands with `-m slow`.
"""

from pathlib import Path

import numpy as np
import pytest
from chance import chances
from hotside.sim import load
from hotside.sim.errors import CaseError
from hotside.sim.verbs.diagnose import columns, logged, points, text
from hypothesis import given, seed, settings
from mutations import map_damaged
from test_random_cases import PLAIN
from verdict import one_sentence

FOLDER = Path(__file__).resolve().parents[2] / "examples"
SIX = load(FOLDER / "tractor_six.toml")
AMBIENT = 99e3
PULLS = (FOLDER / "tractor_pulls.csv").read_text()
TIMED = "time [s],speed [rpm],boost [kPa],lambda [lambda],backpressure [kPa],probe.1 [degC],wastegate [%]\n" + "".join(
    f"{0.2 * k:.1f},{3000 + 500 * (k // 12)},{80 + k // 12},0.81,{110 + k // 12},{710 + k // 12},{k // 24}\n"
    for k in range(36)
)
ENCODINGS = ("utf-8", "utf-8", "utf-8-sig", "utf-16", "latin-1")


def damaged_log(draw):
    """A log with its text, cells, rows or columns damaged, in one encoding or another."""
    damaged = map_damaged(draw, draw.pick((PULLS, TIMED)))
    name = draw.pick(ENCODINGS)
    return damaged.encode(name, "surrogatepass" if name != "latin-1" else "replace")


def outcome(path):
    """What reading a log came to: a refusal, nothing left, or points; each must be sound."""
    refusal = ""
    try:
        sheet = text.read_sheet(path)
        read = columns.figures(sheet, SIX, AMBIENT)
        found = points.points(read, SIX, sheet.ragged, AMBIENT)
    except CaseError as error:
        refusal = str(error)
    if refusal:
        assert one_sentence(refusal), refusal
        return "refused"
    assert found.used <= found.total
    assert all("\n" not in said and len(said) < 500 for said in found.said), found.said
    lot = logged.points_of(found, SIX)
    for point in lot:
        figures = [*point.conditions.values(), *point.readings.values()]
        assert np.isfinite(figures).all(), point
        assert all(e > 0.0 and np.isfinite(e) for e in (*point.errors.values(), *point.condition_errors.values())), (
            point
        )
    return "points" if lot else "nothing left"


def judged(tmp_path, start, count):
    """How many of the damaged logs ended in which way."""
    path, ends = tmp_path / "log.csv", {"refused": 0, "nothing left": 0, "points": 0}

    @seed(start)
    @settings(PLAIN, max_examples=count)
    @given(chances(1000))
    def run(draw):
        path.write_bytes(damaged_log(draw))
        ends[outcome(path)] += 1

    run()
    print(ends)
    return ends


def test_damaged_logs_are_read_in_part_or_refused_in_a_sentence(tmp_path):
    ends = judged(tmp_path, 5, 300)
    assert ends["refused"] > 30, "damage that harms nothing shows nothing"
    assert ends["points"] > 100, "most damage leaves something to read"


@pytest.mark.slow
def test_thousands_of_damaged_logs(tmp_path):
    ends = judged(tmp_path, 6, 6000)
    assert ends["points"] > 2000


@pytest.mark.parametrize("content", [PULLS, TIMED], ids=["pulls", "timed"])
def test_the_good_logs_are_good(tmp_path, content):
    path = tmp_path / "log.csv"
    path.write_text(content)
    assert outcome(path) == "points"


def test_headings_twice_are_refused(tmp_path):
    path = tmp_path / "log.csv"
    path.write_text("speed [rpm],speed [rpm],boost [kPa],backpressure [kPa]\n4000,4000,80,110\n")
    with pytest.raises(CaseError, match="more than one column headed"):
        columns.figures(text.read_sheet(path), SIX, AMBIENT)
