"""Sentences are said in the family of units that is printed: no metric unit stands in one for a reader of psi and degF, nor the reverse."""

import re

import pytest
from hotside.sim import flange, load, predict, pull
from hotside.sim.probes import doubts
from hotside.sim.verbs.burn.words import signed

METRIC = re.compile(r"\d (bar|kPa|Pa|degC|mm|Nm|kN|kg/s|kW)\b")
US = re.compile(r"\d (psi|degF|in|lb ft|lbf|lb/min|hp)\b")
DEMO = load()
HEAT = {"flange.wall_temperature": "650 degC", "flange.gas_pressure": "12 bar"}
SMALL_GATE = {"wastegate.diameter": "12 mm", "run.boost": "0.5 bar"}
POINTS = {
    "boost short": {"run.speed": "2500 rpm", "run.boost": "1.5 bar"},
    "boost over": SMALL_GATE,
    "spring": {"wastegate.model": "spring", "wastegate.crack_pressure": "0.3 bar", "wastegate.full_pressure": "0.6 bar"},
    "cold": {"fuel.name": "methanol", "fuel.evaporation_share": 1.0, "run.lambda": 0.6},
    "rail": {"fuel.injector_flow": "900 cc/min", "fuel.rail_pressure": "1 bar", "fuel.rail_follows": "ambient"},
}  # fmt: skip


def said(sentences, family):
    """Whether some sentence bears a unit of that family, and none one of the other."""
    own, other = (US, METRIC) if family == "us" else (METRIC, US)
    assert [s for s in sentences if other.search(s)] == []
    return any(own.search(s) for s in sentences)


@pytest.mark.parametrize("family", ["us", "metric"])
@pytest.mark.parametrize("name", POINTS)
def test_warnings_of_a_point(name, family):
    case = DEMO.set_all(POINTS[name] | {"report.units": family})
    assert said(predict(case).warnings, family)


@pytest.mark.parametrize("family", ["us", "metric"])
@pytest.mark.parametrize(
    "more", [{"flange.torque": "32 Nm"}, {"flange.torque": "2 Nm"}, {"boss.wall": "2 mm"}], ids=str
)
def test_warnings_of_a_flange(more, family):
    assert said(flange(DEMO.set_all(HEAT | more | {"report.units": family})).warnings, family)


@pytest.mark.parametrize("family", ["us", "metric"])
def test_warnings_of_a_pull_and_of_a_probe(family):
    hot = DEMO.set_all({"limits.probe_temperature": "700 degC", "report.units": family})
    assert said([w for w in pull(hot).warnings if "still shows" in w], family)
    rows = [{"reading_k": 1700.0, "reynolds": 100.0}]
    assert said(doubts(rows, hot.probe[:1], family), family)


def test_what_is_added_to_a_pressure_bears_its_sign():
    assert (signed(0.2e5, "metric"), signed(-0.2e5, "us")) == ("+0.20 bar", "-2.9 psi")
