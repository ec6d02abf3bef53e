"""The boost that can be made: the first stable balance met from below, with the wastegate shut."""

import itertools

import pytest
from hotside.sim import load, predict

ASKED = 1.8e5


@pytest.fixture(scope="module")
def curve():
    """The demo asked for more boost than it can make at low speed."""
    case = load().set("run.boost", "1.8 bar")
    return {rpm: predict(case.set("run.speed", f"{rpm} rpm")) for rpm in (1300, 1700, 2100, 2500, 3000, 3400, 4200)}


def test_boost_grows_with_speed_until_it_is_reached(curve):
    """More speed sends more and hotter gas through the turbine, so the balance moves up, and never below ambient."""
    boosts = [p.boost_pa for p in curve.values()]
    assert boosts[0] > 0.0
    assert all(b >= a - 1.0 for a, b in itertools.pairwise(boosts))
    assert boosts[-1] == pytest.approx(ASKED, abs=1.0)


def test_what_cannot_be_made_is_said(curve):
    for p in curve.values():
        assert p.boost_reached == (p.boost_pa >= ASKED - 50.0)
        if not p.boost_reached:
            assert p.status == "boost short"
            assert p.wastegate_opening == 0.0
            assert "cannot make 1.80 bar" in p.warnings[0]


def test_a_wastegate_too_small_lets_boost_creep():
    """With the bypass fully open and power to spare the boost rises past what was asked, and the asked one is forgotten."""
    case = load().set_all({"wastegate.diameter": "14 mm"})
    creeps = [predict(case.set("run.boost", asked)) for asked in ("0.6 bar", "1.0 bar")]
    assert [p.status for p in creeps] == ["boost over", "boost over"]
    assert creeps[0].boost_pa == pytest.approx(creeps[1].boost_pa, rel=2e-3)
    assert all("wastegate is too small" in p.warnings[0] for p in creeps)
