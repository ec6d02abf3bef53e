"""A few readings: a cause put into the model comes out first, or what would split it from its rival is said."""

import json
import math
import subprocess
import sys
from pathlib import Path

import pytest
from hotside.sim import CaseError, diagnose_readings, load, predict
from hotside.sim.variants import Variants
from hotside.sim.verbs.diagnose.causes import Setting, causes
from hotside.sim.verbs.diagnose.few import parse
from hotside.sim.verbs.diagnose.forward import Stand

ROOT = Path(__file__).resolve().parent.parent
SIX = load(ROOT / "examples" / "tractor_six.toml")
FOUR = load(ROOT / "examples" / "divided_four.toml")


def told(case, **changes):
    """The readings a changed case would give at its own point, as a person writes them."""
    p = predict(case.set_all({k.replace("__", "."): v for k, v in changes.items()}))
    return (
        p,
        f"speed={p.speed_rpm:.0f} rpm, boost={p.boost_pa / 1e5:.3f} bar, backpressure={p.backpressure_pa / 1e5:.3f} bar",
    )


def rounded(text):
    return json.loads(text, parse_float=lambda figure: float(f"{float(figure):.5g}"))


def chances(found):
    return {row["cause"]: row["chance"] for row in found.causes}


def test_as_it_should_be():
    _, text = told(SIX)
    found = diagnose_readings(SIX, text)
    assert found.causes[0]["cause"] == "nothing"
    assert any("nothing has to be wrong" in s for s in found.sentences)
    assert sum(chances(found).values()) == pytest.approx(1.0)


def test_a_pipe_that_holds_back_shows_in_the_bung_behind_the_turbine():
    """Physics: the loss after the turbine stands behind its expansion; nothing else raises the pressure there."""
    p, text = told(SIX, exhaust__loss_coefficient=12.0)
    alone = diagnose_readings(SIX, text)
    assert alone.causes[0]["cause"] != "nothing"
    outlet = p.pre_turbine_pressure_pa / p.pressure_ratio_turbine - (p.pre_turbine_pressure_pa - p.backpressure_pa)
    seen = diagnose_readings(SIX, f"{text}, outlet_pressure={outlet / 1e3:.1f} kPa")
    assert seen.causes[0]["cause"] == "pipe after the turbine"
    assert chances(seen)["pipe after the turbine"] > max(0.5, chances(alone)["pipe after the turbine"])


def test_the_next_test_splits_the_first_two_and_the_cheapest_comes_first():
    _, text = told(SIX, exhaust__loss_coefficient=12.0)
    found = diagnose_readings(SIX, text)
    first_two = {row["cause"] for row in found.causes[:2]}
    assert found.tests
    assert [t["minutes"] for t in found.tests] == sorted(t["minutes"] for t in found.tests)
    for test in found.tests:
        assert set(test["decides"]) & first_two or test["apart"] >= 2.0


def test_boost_that_falls_short_is_not_put_down_to_a_gauge_alone():
    """With the wastegate told to shut, a wastegate that stands open takes the power from the wheel."""
    p = predict(SIX.set_all({"wastegate.model": "opening", "wastegate.opening": 0.45}))
    assert p.boost_pa < 0.9 * SIX.run.boost
    text = (
        f"speed={p.speed_rpm:.0f} rpm, boost={p.boost_pa / 1e5:.3f} bar, backpressure={p.backpressure_pa / 1e5:.3f} bar"
    )
    found = diagnose_readings(SIX, text)
    assert any("should be shut" in line for line in found.assumed)
    assert "wastegate" in [row["cause"] for row in found.causes[:3]]
    assert chances(found)["nothing"] < 0.05


def test_a_divided_housing_and_a_timing_light():
    """Late timing leaves heat in the exhaust: a hot probe at the usual pressure points to timing, mixture or the probe."""
    p = predict(FOUR.set("run.spark_advance", f"{FOUR.run.spark_advance - 9.0:g} deg"))
    probe = p.probes[0]["reading_k"] - 273.15
    text = f"speed={p.speed_rpm:.0f} rpm, boost={p.boost_pa / 1e5:.3f} bar, backpressure={p.backpressure_pa / 1e5:.3f} bar, probe.1={probe:.0f} degC"
    found = diagnose_readings(FOUR, text)
    assert {"timing", "gauge: probe.1"} & {row["cause"] for row in found.causes[:3]}
    timing = next(row for row in found.causes if row["cause"] == "timing")
    assert timing["size"].startswith("-")
    assert timing["chance"] > timing["before"]


def test_a_leak_draws_air_between_pulses_only_where_the_pressure_falls_below_the_outside():
    """Under boost the manifold never does, so nothing is drawn and lambda stays true; near none it does."""
    variants = Variants(SIX.set_all({"wastegate.model": "boost"}))
    leak = next(c for c in causes() if c.name == "leak before the turbine")
    for boost, drawn in ((1.2e5, False), (0.02e5, True)):
        stand = Stand(variants, SIX, None)
        inputs = {"run.speed": 2500.0 * math.pi / 30.0, "run.boost": boost, "run.lambda": 0.9}
        tight = stand.read(inputs, keep=True)
        setting = Setting(stand, inputs, None, 0.9)
        leaking = leak.show(setting, 3e-4)  # a gasket blown over some centimetres
        richer = leaking["fuel_flow"] / leaking["air_flow"] > 1.001 * tight["fuel_flow"] / tight["air_flow"]
        assert richer is drawn


def test_readings_as_they_are_written():
    found = parse("rpm=6500 rpm, boost = 20 psi, afr=11.76 afr petrol, EGT 1=1600 degF", SIX, 99e3)
    assert found["speed"] == pytest.approx(6500 * math.pi / 30)
    assert found["boost"] == pytest.approx(20 * 6894.757, rel=1e-6)
    assert found["lambda"] == pytest.approx(0.8)
    assert found["probe.1"] == pytest.approx(1144.26, abs=0.01)


@pytest.mark.parametrize(
    ("text", "says"),
    [
        ("", "not NAME=VALUE"),
        ("speed", "not NAME=VALUE"),
        ("speed=6500", "no unit"),
        ("sped=6500 rpm", 'did you mean "speed"'),
        ("speed=6500 rpm, speed=6400 rpm", "twice"),
        ("speed=6500 rpm, boost=1.4 bar", "nothing to compare"),
        ("boost=1.2 bar, backpressure=1.5 bar", "has no speed"),
        ("speed=65 rpm, boost=1.2 bar, backpressure=1.5 bar", "no likely engine speed"),
        ("speed=6500 rpm, boost=1.2 bar, probe.7=800 degC", "the case has 1"),
        ("speed=6500 rpm, boost=1.2 bar, lambda=11.8", "no likely lambda"),
        ("speed=6500 rpm, boost=1.2 bar, time=3 s", "is no reading"),
    ],
)
def test_what_cannot_be_read_gets_one_sentence(text, says):
    with pytest.raises(CaseError, match=says) as refused:
        diagnose_readings(SIX, text)
    assert "\n" not in str(refused.value)


def test_the_command_line():
    command = [sys.executable, "-m", "hotside.sim.cli", "diagnose", str(ROOT / "examples" / "tractor_six.toml")]
    text = "speed=5000 rpm, boost=18 psi, backpressure=30 psi"
    done = subprocess.run([*command, "--read", text, "--json"], capture_output=True, text=True, timeout=300)
    assert done.returncode == 0, done.stderr
    here = json.dumps(diagnose_readings(SIX, text).to_dict())
    assert rounded(done.stdout) == rounded(here)  # two processes agree to rounding
    both = subprocess.run([*command, "log.csv", "--read", text], capture_output=True, text=True, timeout=300)
    assert (both.returncode, both.stdout) == (2, "")
    assert "one of the two" in both.stderr
