"""Bands and sensitivities; the published function is checked in tests/published/test_statistics.py."""

import json
import math
import subprocess
import sys
from pathlib import Path

import numpy as np
import pytest
from hotside.sim import CaseError, load, predict, uncertainty
from hotside.sim.verbs.uncertainty.indices import indices, sample
from hotside.sim.verbs.uncertainty.inputs import uncertain

ROOT = Path(__file__).resolve().parent.parent
SIX = load(ROOT / "examples" / "tractor_six.toml")
A, B = 7.0, 0.1


def ishigami(x):
    """T. Ishigami & T. Homma, Proc. ISUMA '90 (1990) 398: sin x1 + a sin^2 x2 + b x3^4 sin x1 on (-pi, pi)^3."""
    return np.sin(x[0]) + A * np.sin(x[1]) ** 2 + B * x[2] ** 4 * np.sin(x[0])


def uniform():
    from scipy.stats import uniform as law

    return [law(loc=-math.pi, scale=2.0 * math.pi)] * 3


def analytic():
    """First-order and total indices in closed form, from the function's own integrals."""
    v1 = 0.5 * (1.0 + B * math.pi**4 / 5.0) ** 2
    v2 = A**2 / 8.0
    v13 = B**2 * math.pi**8 * (1.0 / 18.0 - 1.0 / 50.0)
    whole = v1 + v2 + v13
    return np.array([v1, v2, 0.0]) / whole, np.array([v1 + v13, v2, v13]) / whole


def test_the_sampling_error_is_told_and_shrinks():
    few, many = (indices(ishigami, uniform(), n) for n in (128, 2048))
    assert (many.total_high - many.total_low).mean() < 0.5 * (few.total_high - few.total_low).mean()


def test_points_without_an_answer_are_counted_and_do_not_spoil_the_rest():
    def holed(x):
        y = ishigami(x)
        return np.where(np.abs(x[2] - 1.0) < 0.02, np.nan, y)

    found = indices(holed, uniform(), 2048)
    assert 0 < found.filled < 200
    assert found.first[0] == pytest.approx(analytic()[0], abs=0.04)


def test_a_latin_hypercube_fills_every_layer_once():
    points = sample(uniform(), 50)
    layers = np.floor((points / (2.0 * math.pi) + 0.5) * 50).astype(int)
    assert all(sorted(row) == list(range(50)) for row in layers)


@pytest.fixture(scope="module")
def study():
    return uncertainty(SIX, samples=32)


def test_bands_hold_the_case_and_rest_on_its_stand_ins(study):
    names = {row["name"] for row in study.inputs}
    assert {"run.boost", "run.afr", "wall_heat.scale", "engine.breathing", "probe.1.immersion"} <= names
    assert "run.lambda" not in names  # it follows from run.afr
    assert not any(name.startswith(("limits.", "flange.")) for name in names)
    rows = {row["name"]: row for row in study.readings}
    for name in ("air_flow_kg_s", "probe.1.reading_k", "power_w", "knock_margin_deg"):
        assert rows[name]["low"] < rows[name]["value"] < rows[name]["high"], name
        assert rows[name]["low"] < rows[name]["median"] < rows[name]["high"], name
    assert rows["power_w"]["value"] == pytest.approx(predict(SIX).power_w)
    assert study.samples_solved == study.samples == 32


def test_the_right_input_drives_the_right_reading(study):
    """Physics: the wastegate holds the boost asked for, so only its gauge moves it; charge sets flow, wall heat the probe."""
    assert study.drivers("boost_pa")[0]["input"] == "run.boost"
    assert study.drivers("air_flow_kg_s")[0]["input"] == "engine.breathing"
    assert study.drivers("probe.1.reading_k")[0]["input"] == "wall_heat.scale"
    best = study.drivers("boost_pa")[0]
    assert best["total"] > 0.6  # 1 but for the sampling error of 16 base points
    assert best["total_low"] < 1.0 < best["total_high"] + 0.5


def test_limits_are_edges_with_a_share_past_them(study):
    shares = {row["name"]: row["share"] for row in study.limits_exceeded}
    assert all(0.0 <= share <= 1.0 for share in shares.values())
    assert 0.0 < shares["knock_margin_deg"] < 1.0  # the case lies at its knock limit


def test_a_band_of_ones_own_takes_the_place_of_the_stated_one():
    rows = {
        u.name: u
        for u in uncertain(SIX, {"turbine.area": "10 %", "run.boost": "1 psi", "ambient.temperature": "9 degF"})
    }
    assert rows["turbine.area"].half_width == pytest.approx(1.5e-4)
    assert rows["run.boost"].half_width == pytest.approx(6894.757, rel=1e-6)
    assert rows["ambient.temperature"].half_width == pytest.approx(5.0)
    drawn = rows["turbine.area"].distribution()
    assert drawn.interval(0.9) == pytest.approx((1.5e-3 - 1.5e-4, 1.5e-3 + 1.5e-4), rel=0.01)


@pytest.mark.parametrize(
    ("bands", "says"),
    [
        ({"turbine.are": "5 %"}, "no input"),
        ({"turbine.area": "5"}, "no unit"),
        ({"turbine.area": "-5 %"}, "not above 0"),
        ({"fuel.name": "5 %"}, "--band fuel.name"),
        ({"limits.peak_pressure": "5 %"}, "no input a reading depends on"),
        ({"run.lambda": "2 %"}, "no number of this case"),
    ],
)
def test_bands_that_are_none(bands, says):
    with pytest.raises(CaseError, match=says):
        uncertain(SIX, bands)


def test_too_few_points():
    with pytest.raises(CaseError, match="outside 16"):
        uncertainty(SIX, samples=3)


def test_the_command_line(tmp_path):
    """JSON, sample and picture from one run, on a bench case, which has neither boost nor probes."""
    done = subprocess.run(
        [sys.executable, "-m", "hotside.sim.cli", "uncertainty", str(ROOT / "examples" / "bench.toml"), "--samples", "16", "--json",
         "--plot", "bands.png", "--data", "sample.csv"],
        capture_output=True, text=True, cwd=tmp_path, timeout=600,
    )  # fmt: skip
    assert done.returncode == 0, done.stderr
    told = json.loads(done.stdout)
    assert told["samples"] == 16
    lines = (tmp_path / "sample.csv").read_text().splitlines()
    assert len(lines) == 17
    assert "imep_net_pa" in lines[0]
    assert (tmp_path / "bands.png").stat().st_size > 10_000
    assert "RuntimeWarning" not in done.stderr
