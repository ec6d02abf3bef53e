"""`hotside plan`: each row replayed by `predict`, every allowance kept, bands and lift values by hand, one page."""

import io
import json
import math
import shlex
from itertools import pairwise
from pathlib import Path
from types import SimpleNamespace

import pytest
from hotside.sim import CaseError, load, plan, predict
from hotside.sim.options import changed
from hotside.sim.verbs.limits.allowance import allowance
from hotside.sim.verbs.limits.knock_band import with_band
from hotside.sim.verbs.limits.points import Point
from hotside.sim.verbs.limits.settings import Setting
from hotside.sim.verbs.plan.command import written
from hotside.sim.verbs.plan.gauges import readings
from hotside.sim.verbs.plan.ladder import ladder
from hotside.sim.verbs.plan.run import _warnings
from hotside.sim.verbs.plan.table import broken, print_plan
from hotside.sim.verbs.plan.words import notes
from rich.console import Console

EXAMPLES = Path(__file__).resolve().parent.parent / "examples"
CASES = {
    "six": load(EXAMPLES / "tractor_six.toml"),
    "buggy": load(EXAMPLES / "flange.toml"),
    "divided": load(EXAMPLES / "divided_four.toml"),
}


@pytest.fixture(scope="module")
def cards():
    return {name: plan(case, source=f"{name}.toml") for name, case in CASES.items()}


@pytest.fixture(params=CASES)
def card(request, cards):
    return CASES[request.param], cards[request.param]


def replay(case, pull):
    """The prediction of the printed line."""
    words = shlex.split(pull["command"])
    assert words[:2] == ["hotside", "predict"]
    assert words[2].endswith(".toml")
    return predict(changed(case, [w for w in words[3:] if w != "--set"]))


def gauge(pull, name):
    return [g for g in pull["gauges"] if g["gauge"] == name]


def test_every_number_is_that_of_the_printed_line(card):
    case, result = card
    for pull in result.pulls:
        p = replay(case, pull)
        assert gauge(pull, "boost_pa")[0]["expected"] == pytest.approx(p.boost_pa, rel=1e-9)
        assert [g["expected"] for g in gauge(pull, "probe_k")] == pytest.approx(
            [r["reading_k"] for r in p.probes], rel=1e-9
        )
        shown = p.backpressure_pa if p.pressure_tap is None else p.pressure_tap["reading_pa"]
        assert gauge(pull, "backpressure_pa")[0]["expected"] == pytest.approx(shown, rel=1e-9)
        assert pull["power_w"] == pytest.approx(p.power_w, rel=1e-9)
        assert pull["knock_margin_bad_cycle_deg"] == p.knock_margin_bad_cycle_deg
        assert p.spark_advance_deg == pull["spark_advance_deg"]
        assert p.lambda_ratio == pull["lambda_ratio"]


def test_no_row_stands_nearer_to_a_limit_than_its_allowance(card):
    """An edge is never a target: each margin of each row is at least the allowance."""
    case, result = card
    for pull in result.pulls:
        p = replay(case, pull)
        assert p.status == "converged"
        for row in with_band(case, p).values():
            assert row["margin"] >= allowance(row) - 1e-9 * abs(row["limit"]), (pull["pull"], row)


def test_no_pull_knocks_with_any_fuel_inside_the_band_of_the_delay(card):
    """The lower edge of what is known: solved anew with a delay 20 % shorter, the bad cycle of no pull knocks."""
    case, result = card
    for pull in result.pulls:
        words = [w for w in shlex.split(pull["command"])[3:] if w != "--set"]
        sooner = predict(changed(case.set("knock.delay_scale", 0.8), words))
        assert all(m["margin"] > -0.1 for m in sooner.margins if m["name"].startswith("knock")), pull["pull"]
    assert any("ignites in 20 % less time" in text for text in result.knock)


class Hot:
    """Points of an invented engine whose exhaust is the hotter the less boost at a given spark, with a leaner mixture too hot half-way."""

    def at(self, setting):
        needs = 16.0 - 5.0 * setting.boost / 1e5  # the spark that keeps just the allowance [deg]
        room = 20.0 + setting.spark - needs - (40.0 if setting.mixture > 0.82 and setting.boost == 70_000.0 else 0.0)
        row = {"name": "turbine_inlet_temperature_k", "margin": room, "limit": 1200.0}
        p = SimpleNamespace(status="converged", converged=True, boost_pa=setting.boost)
        return Point(setting, p, {row["name"]: row}, {})


def test_less_boost_is_given_an_earlier_spark_where_a_late_one_is_too_hot():
    """Else the card would be one pull, since no spark as late as the target's is clear below it."""
    pulls = ladder(Hot(), Setting(90_000.0, 12.0, 0.82), "metric")
    assert [(s.boost, s.spark) for s in pulls] == [(50_000.0, 16.0), (70_000.0, 16.0), (90_000.0, 12.0)]


def test_no_pull_is_leaner_than_the_one_before_it(monkeypatch):
    monkeypatch.setattr("hotside.sim.verbs.plan.ladder.AMPLE", 1.0)
    pulls = ladder(Hot(), Setting(110_000.0, 14.0, 0.82), "metric")
    mixtures = [s.mixture for s in pulls]
    assert mixtures == sorted(mixtures, reverse=True)
    assert mixtures[0] > 0.82


def test_the_way_up_is_gentle_and_ends_at_the_target(card):
    """Boost never falls and goes up by 0.2 bar or 3 psi at most, spark by 2 deg, the mixture never leaner on the way."""
    _, result = card
    pulls = result.pulls
    assert len(pulls) >= 3
    assert {k: pulls[-1][k] for k in result.target} == result.target
    assert pulls[0]["boost_pa"] <= 0.75 * pulls[-1]["boost_pa"]
    assert pulls[0]["spark_advance_deg"] <= result.target["spark_advance_deg"]
    for a, b in pairwise(pulls):
        assert 0.0 <= b["boost_pa"] - a["boost_pa"] <= 20_700.0
        assert b["spark_advance_deg"] - a["spark_advance_deg"] <= 2.0
        assert b["lambda_ratio"] <= a["lambda_ratio"]
        assert not (b["boost_pa"] > a["boost_pa"] and b["spark_advance_deg"] > a["spark_advance_deg"])


def test_bands_and_lift_values_by_hand(cards):
    """Probe: class 2 of IEC 60584 is 0.75 % of the reading in degC; 20 K of model beside it, as independent errors."""
    case, result = CASES["six"], cards["six"]
    for pull in result.pulls:
        for row in gauge(pull, "probe_k"):
            own = 0.0075 * (row["expected"] - 273.15)
            band = math.hypot(20.0, own)
            assert row["high"] - row["expected"] == pytest.approx(band, rel=1e-6)
            assert row["lift"] == pytest.approx(min(case.limits.probe_temperature - own, row["expected"] + 2 * band))
            assert row["expected"] < row["lift"] < case.limits.probe_temperature
        fuel = gauge(pull, "fuel_pressure_pa")[0]
        assert fuel["expected"] == pytest.approx(3e5 + pull["boost_pa"])
        assert fuel["lift_below"]
        assert fuel["lift"] < fuel["expected"]
        lean = gauge(pull, "lambda_ratio")[0]
        assert lean["lift"] == pytest.approx(pull["lambda_ratio"] + 0.04)
        back = gauge(pull, "backpressure_pa")[0]
        assert back["high"] <= back["lift"]


def test_the_pressure_is_that_of_the_tap_where_it_sits():
    """A tap in a runner reads some per cent more than one before the turbine: its needle must not look like a fault."""
    case = CASES["buggy"]
    before = predict(case)
    tapped = case.set_all({"pressure_tap.cylinder": 1, "pressure_tap.bore": "3 mm", "pressure_tap.length": "0.7 m"})
    p = predict(tapped)
    row = next(r for r in readings(tapped, p, None) if r["gauge"] == "backpressure_pa")
    assert row["place"] == "runner 1"
    assert row["expected"] == p.pressure_tap["reading_pa"] > 1.01 * before.backpressure_pa
    assert row["expected"] < row["high"] <= row["lift"]


def test_the_lift_value_in_a_pull_is_that_of_the_needle(cards):
    """`pull` of the same row: its held reading less its needle at the speed of the card is what is taken off."""
    from hotside.sim import pull as drive

    row = cards["buggy"].pulls[-1]
    words = [w for w in shlex.split(row["command"])[3:] if w != "--set"]
    driven = drive(changed(CASES["buggy"], words))
    probe = driven.probes[0]
    behind = probe["held_reading_k"][-1] - probe["needle_k"][-1]  # it ends at the speed of the case
    found = gauge(row, "probe_k")[0]
    assert found["behind_in_pull_k"] == pytest.approx(behind, abs=1e-6)
    assert found["lift_in_pull"] == pytest.approx(found["lift"] - behind, abs=1e-6)
    assert behind > 0.0


def test_every_lift_value_lies_beyond_what_is_expected(card):
    _, result = card
    for pull in result.pulls:
        for row in pull["gauges"]:
            beyond = row["expected"] - row["lift"] if row["lift_below"] else row["lift"] - row["expected"]
            assert beyond > 0.0
            assert row["low"] < row["expected"] < row["high"]


def test_where_band_and_lift_value_overlap_it_is_said():
    """Near a limit the lift value is the limit less the gauge's error, and that may lie inside the model's own band."""
    near = plan(CASES["buggy"].set_all({"limits.probe_temperature": "870 degC"}))
    rows = [(p["pull"], g) for p in near.pulls for g in p["gauges"] if not g["lift_below"] and g["high"] > g["lift"]]
    assert rows
    said = next(text for text in notes(near, "metric") if "the band's end" in text)
    assert all(str(pull) in said for pull, _ in rows)


def test_a_warning_that_differs_in_its_figure_stands_once():
    """The highest pull's, where it is worst."""
    texts = (
        ["Octane 108 is outside."],
        ["Choked: 68 % of the gas.", "Octane 108 is outside."],
        ["Choked: 81 % of the gas."],
    )
    points = [Point(None, SimpleNamespace(warnings=rows), {}, {}) for rows in texts]
    assert _warnings(points) == ["Octane 108 is outside.", "Choked: 81 % of the gas."]


def test_a_case_with_room_is_stepped_up_to_as_it_stands():
    case = CASES["divided"].set_all({"run.boost": "0.9 bar", "run.spark_advance": "12 deg"})
    result = plan(case)
    assert result.moved is None
    assert result.target == result.asked
    assert result.target["boost_pa"] == 90_000.0


def test_a_case_past_its_limits_ends_short_of_them_and_says_why(cards):
    result = cards["six"]
    assert "knock margin" in result.moved
    assert "past it" in result.moved
    assert result.target["spark_advance_deg"] < result.asked["spark_advance_deg"]


def test_a_boost_beyond_every_mixture_is_cut():
    """3 bar on the buggy: no spark and no mixture has room, so the card ends at less boost."""
    case = CASES["buggy"].set("run.boost", "2.4 bar")
    result = plan(case)
    assert result.target["boost_pa"] < 2.0e5
    assert len(result.pulls) <= 10
    for row in predict(
        changed(case, [w for w in shlex.split(result.pulls[-1]["command"])[3:] if w != "--set"])
    ).margins:
        assert row["margin"] >= allowance(row)


def test_no_room_at_any_boost_is_one_sentence():
    with pytest.raises(CaseError, match="nothing to step up to"):
        plan(CASES["buggy"].set("limits.turbine_inlet_temperature", "700 degC"))


def test_a_bench_has_nothing_to_step_up():
    with pytest.raises(CaseError, match="no spark to turn"):
        plan(load(EXAMPLES / "bench.toml"))
    spring = {"wastegate.model": "spring", "wastegate.crack_pressure": "0.5 bar"}
    tables = CASES["buggy"].set_all(spring).to_dict()
    tables["run"].pop("boost")
    with pytest.raises(CaseError, match="no boost to step up"):
        plan(load(tables))


def printed(result, family):
    console = Console(width=80, record=True, highlight=False, file=io.StringIO())
    print_plan(result, family, console)
    return console.export_text()


def test_the_card_fits_a_page_and_makes_no_promise(card):
    _, result = card
    for family, unit in (("metric", "degC"), ("us", "degF")):
        text = printed(result, family)
        assert max(map(len, text.splitlines())) <= 80
        assert len(text.splitlines()) <= 92  # a page of small type
        assert unit in text
        assert "…" not in text
        assert "safe" not in text.lower()
        for word in ("knock", "leaner", "fuel pressure", "second person", "limit is an edge", "never the only stop"):
            assert word in " ".join(text.split())


def test_printed_lines_are_the_commands(cards):
    """A shell joins what was broken over lines."""
    for pull in cards["divided"].pulls:
        lines = broken(pull["command"])
        assert max(map(len, lines)) <= 78
        assert shlex.split("\n".join(lines).replace("\\\n", "")) == shlex.split(pull["command"])


def test_changes_of_the_command_line_are_kept_in_the_lines():
    changes = ['run.boost="1 bar"', "cooler.effectiveness=0.6", 'ambient.temperature="30 degC"']
    words = shlex.split(written(Path("my car.toml"), changes))
    assert words == ["my car.toml", "--set", changes[1], "--set", changes[2]]
    assert written(None, []) == ""


def test_json_and_picture(cards, tmp_path):
    from hotside.sim.pictures import save_picture
    from hotside.sim.verbs.plan.plot import draw

    json.dumps(cards["buggy"].to_dict(), allow_nan=False)
    save_picture(draw(cards["buggy"], "metric"), tmp_path / "card.png")
    assert (tmp_path / "card.png").stat().st_size > 10_000
