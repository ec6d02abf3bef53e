"""Housings and other choices side by side: the trade's trends over five sizes, and what the comparison says of them."""

import io
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from hotside.sim import compare, load, predict, spool
from hotside.sim.errors import CaseError
from hotside.sim.verbs.compare.plot import draw
from hotside.sim.verbs.compare.response import marched, response, tip_in
from hotside.sim.verbs.compare.result import BETTER
from hotside.sim.verbs.compare.rivals import FIRST, rivals
from hotside.sim.verbs.compare.runaway import OVER, Runaway, crossing, runaway
from hotside.sim.verbs.compare.said import Said
from hotside.sim.verbs.compare.table import print_compare, quick
from hotside.sim.verbs.compare.torque import at_torque
from hotside.sim.verbs.compare.words import choke_words, runaway_words, trade
from rich.console import Console

EXAMPLES = Path(__file__).resolve().parent.parent / "examples"
TRIPLE = {  # 1.2 litres
    "engine": {
        "cylinders": 3, "bore": "74 mm", "stroke": "92 mm", "compression_ratio": 9.6,
        "intake_valve": {"count": 2, "diameter": "28 mm", "lift": "8.4 mm", "opens": "12 deg BTDC", "closes": "44 deg ABDC"},
        "exhaust_valve": {"count": 2, "diameter": "24 mm", "lift": "8 mm", "opens": "44 deg BBDC", "closes": "12 deg ATDC"},
    },
    "fuel": {"name": "gasoline_98"},
    "turbine": {"model": "hardware", "a_over_r": "10.5 mm", "wheel_inlet_diameter": "40 mm"},
    "wastegate": {"diameter": "26 mm"},
    "run": {"speed": "5000 rpm", "boost": "0.8 bar", "lambda": 0.85, "spark_advance": "9 deg"},
}  # fmt: skip
SIZES = (8.0, 9.5, 11.0, 13.0, 15.5)  # A/R [mm]


@pytest.fixture(scope="module")
def housings():
    return [predict(load(TRIPLE).set("turbine.a_over_r", f"{a} mm")) for a in SIZES]


@pytest.mark.parametrize(
    ("name", "way"),
    [
        ("backpressure_ratio", -1), ("pressure_ratio_exhaust_intake", -1), ("exhaust_temperature_k", -1),
        ("residual_fraction", -1), ("wastegate_opening", -1), ("knock_margin_deg", 1),
        ("power_w", 1),
    ],
)  # fmt: skip
def test_a_smaller_housing_at_the_same_boost(housings, name, way):
    """Smaller A/R is a tighter nozzle: more pressure before it for the same boost, so more burnt gas and heat stay in the
    cylinder, the exhaust is hotter and the knock limit nearer, and more gas goes round it through the wastegate."""
    values = way * np.array([getattr(p, name) for p in housings])
    print(name, np.round(values, 4))
    assert all(p.boost_reached and p.wastegate_opening > 0.0 for p in housings)
    assert np.all(np.diff(values) > 0.0)


def test_a_smaller_housing_spools_sooner():
    """The same gas through a tighter nozzle has more energy for the wheel while the wastegate is still shut."""
    case = load(TRIPLE).set_all({"run.speed": "3000 rpm", "spool.longest": "5 s"})
    times = [spool(case.set("turbine.a_over_r", f"{a} mm"), threshold_too=False).time_to_90_s for a in SIZES]
    print("time to 90 %: " + ", ".join("-" if t is None else f"{t:.2f} s" for t in times))
    known = [t for t in times if t is not None]
    assert len(known) >= 3
    assert times[: len(known)] == known
    assert np.all(np.diff(known) > 0.0)


def test_no_kinks_over_the_housings():
    """Neighbouring sizes lie on a smooth line: no point is off the mean of its neighbours by more than 0.5 %."""
    case = load(TRIPLE)
    found = [predict(case.set("turbine.a_over_r", f"{a:.3f} mm")) for a in np.linspace(9.0, 14.0, 11)]
    for name in ("backpressure_pa", "exhaust_temperature_k", "residual_fraction", "power_w", "shaft_speed_rad_s"):
        y = np.array([getattr(p, name) for p in found])
        off = np.abs(y[1:-1] - 0.5 * (y[:-2] + y[2:])) / y[1:-1]
        print(f"{name}: largest kink {off.max():.2%}")
        assert off.max() < 0.005


# ------------------------------------------------------------------------------- at equal torque


@pytest.fixture(
    scope="module", params=[{}, {"run.boost": "1.1 bar", "run.speed": "4200 rpm"}], ids=["point", "elsewhere"]
)
def equally_strong(request):
    """Eleven sizes at the boost that gives each the torque of the middle one, its wastegate open."""
    case = load(TRIPLE).set_all(request.param)
    torque = predict(case).torque_nm
    found = [at_torque(case.set("turbine.a_over_r", f"{a:.3f} mm"), torque) for a in np.linspace(8.5, 14.5, 11)]
    assert all(not isinstance(p, Said) for p in found)
    assert max(abs(p.torque_nm / torque - 1.0) for p in found) < 1e-4
    assert all(p.boost_reached and p.wastegate_opening > 0.05 for p in found)
    return found


@pytest.mark.parametrize(
    ("name", "way"),
    [
        ("boost_pa", -1), ("backpressure_ratio", -1), ("pressure_ratio_exhaust_intake", -1), ("exhaust_temperature_k", -1),
        ("residual_fraction", -1), ("wastegate_opening", -1), ("bsfc_kg_j", -1), ("knock_margin_deg", 1),
    ],
)  # fmt: skip
def test_a_smaller_housing_at_equal_torque(equally_strong, name, way):
    """Burnt gas held back and pumping work have to be made up for with boost, which asks the same turbine for more work. Five sizes,
    monotone; among eleven no kink above 0.5 %, or 0.05 deg."""
    values = way * np.array([getattr(p, name) for p in equally_strong])
    five = values[::2][:5]
    kink = np.abs(values[1:-1] - 0.5 * (values[:-2] + values[2:]))
    print(f"{name}: {five}, largest kink {(kink / np.abs(values[1:-1])).max():.2%}")
    assert np.all(np.diff(values) > 0.0)
    if name == "knock_margin_deg":  # about zero, of which no share can be taken
        assert kink.max() < 0.05
    else:
        assert (kink / np.abs(values[1:-1])).max() < 0.005


def test_equal_torque_asks_more_of_the_smaller_housing(equally_strong):
    """What the smaller housing lacks at equal boost it makes up for with boost, which raises the pressure before it and brings
    knock nearer on top of what the same boost did. (The ratio of the two may go either way: boost stands below it.)"""
    first = equally_strong[5]
    case = load(TRIPLE).set_all({"run.boost": f"{first.boost_pa!r} Pa", "run.speed": f"{first.speed_rpm!r} rpm"})
    small, large = (predict(case.set("turbine.a_over_r", f"{a} mm")) for a in (8.5, 14.5))
    for name, way in (("backpressure_pa", 1), ("peak_pressure_pa", 1), ("knock_margin_deg", -1)):
        gap = way * (getattr(equally_strong[0], name) - getattr(equally_strong[-1], name))
        assert gap > way * (getattr(small, name) - getattr(large, name)), name


def test_the_kink_where_the_wastegate_shuts():
    """Past the size at which the valve is shut a larger housing no longer reaches the boost: it falls off there and nowhere else."""
    case = load(TRIPLE).set("run.speed", "2150 rpm")
    found = [predict(case.set("turbine.a_over_r", f"{a:.3f} mm")) for a in np.linspace(7.0, 14.0, 15)]
    shut = np.array([p.wastegate_opening == 0.0 for p in found])
    boost = np.array([p.boost_pa for p in found])
    assert 0 < shut.sum() < len(shut)
    assert np.all(np.diff(shut.astype(int)) >= 0)
    assert np.ptp(boost[~shut]) < 10.0
    assert np.all(np.diff(boost[shut]) < 0.0)


def test_a_torque_out_of_reach_is_said():
    case = load(TRIPLE)
    short = at_torque(case.set("run.speed", "2000 rpm"), 250.0)
    assert "at most" in short.said()
    assert " Nm" in short.said("metric")
    assert "psi here, which gives" in short.said("us")
    assert "its wastegate fully open" in at_torque(case.set("wastegate.diameter", "8 mm"), 60.0).said()


def test_the_comparison_holds_the_torque_of_the_first(pair):
    same = pair.equal_torque
    assert same.torque_nm == pair.point["torque_nm"][0]
    assert same.point["boost_pa"][0] == pytest.approx(0.8e5, rel=1e-3)
    assert same.better["boost_pa"] == pair.names[2]  # less is better where the torque is the same
    assert same.point["boost_pa"][1] > same.point["boost_pa"][0] > same.point["boost_pa"][2]
    assert not same.missing()


@pytest.fixture(scope="module")
def pair():
    found = rivals(load(TRIPLE).set("spool.longest", "5 s"), ["turbine.a_over_r=8.5 mm", "turbine.a_over_r=14 mm"])
    return compare(found)


def test_the_better_is_marked_by_what_is_printed(pair):
    assert pair.names == [FIRST, "turbine.a_over_r=8.5 mm", "turbine.a_over_r=14 mm"]
    assert pair.better["power_w"] == pair.better["backpressure_ratio"] == pair.names[2]
    assert pair.better["threshold_rpm"] == pair.better["time_to_90_s"] == pair.names[1]
    assert pair.better["boost_pa"] is None  # all reach it
    assert pair.better["wastegate_opening"] is None
    assert all(len(values) == 3 for values in pair.point.values())


def test_one_sentence_says_the_trade(pair):
    assert "spools" in pair.trade
    assert "less backpressure to boost" in pair.trade
    assert pair.trade.index(pair.names[1]) < pair.trade.index(pair.names[2])


def test_along_full_load_the_small_one_has_boost_first(pair):
    boost = pair.along["boost_pa"]
    assert boost[1][0] > boost[2][0]
    assert pair.speeds_rpm[-1] == 5000.0
    assert boost[0][-1] == pytest.approx(0.8e5, abs=5.0)
    point = predict(load(TRIPLE))
    assert pair.point["power_w"][0] == pytest.approx(point.power_w, rel=1e-6)


def test_files_of_changes_and_whole_cases(tmp_path):
    case = load()
    found = rivals(case, [str(EXAMPLES / "housings" / "small.toml"), str(EXAMPLES / "uneven.toml")])
    small = found["small"]
    assert small.turbine.model == "map"
    assert small.turbine.a_over_r is None  # the old table is gone as a whole
    assert small.engine == case.engine
    assert found["uneven"].title != case.title
    (tmp_path / "cam.toml").write_text('[engine.exhaust_valve]\nlift = "9.5 mm"\n[wastegate]\narea = "7 cm2"\n')
    other = rivals(case, [str(tmp_path / "cam.toml")])["cam"]
    assert other.engine.exhaust_valve.lift == pytest.approx(9.5e-3)
    assert other.engine.exhaust_valve.diameter == case.engine.exhaust_valve.diameter
    assert other.wastegate.diameter is None


@pytest.mark.parametrize(
    ("choices", "clause"),
    [
        ([], "nothing to compare with"),
        (["nowhere.toml"], "nowhere.toml"),
        (["turbine.a_over_q=3 mm"], "turbine.a_over_q"),
        (["run.boost=1 bar", "run.boost=1 bar"], "given twice"),
        (["run.held_backpressure=1 bar"], "held_backpressure"),
    ],
)
def test_what_cannot_be_compared_is_said(choices, clause):
    with pytest.raises(CaseError, match=clause):
        rivals(load(TRIPLE), choices)


def test_where_it_runs_away_or_what_stops_it():
    """A choked turbine passes more only at more pressure, so a housing far too small pays more for every bar from the start; what
    ends the boost is said for both."""
    case = load(TRIPLE).set_all({"run.speed": "6000 rpm", "compressor.wheel_diameter": "50 mm"})
    small, large = (runaway(case.set("turbine.a_over_r", f"{a} mm")) for a in (7.5, 20.0))
    for name, one in (("small", small), ("large", large)):
        print(runaway_words(name, one))
        assert one.stopped_by
        assert one.choke_boost_pa is not None
        assert one.boost_pa[0] <= one.choke_boost_pa <= one.boost_pa[-1]
        assert np.all(np.diff(one.backpressure_pa) > 0.0)
    cost = [
        (one.backpressure_pa[1] - one.backpressure_pa[0]) / (one.boost_pa[1] - one.boost_pa[0])
        for one in (small, large)
    ]
    assert cost[0] > 1.2 * cost[1]


def test_a_sweep_that_meets_no_choke_says_what_ended_it():
    """Half the boost of a free-breathing engine at low speed: the turbine runs out of gas before it chokes."""
    found = runaway(load(TRIPLE).set_all({"run.speed": "2200 rpm", "turbine.a_over_r": "14 mm"}))
    words = runaway_words("quiet", found)
    assert found.choke_boost_pa is None
    assert "does not choke" in words
    assert "makes no more than" in found.stopped_by


def test_a_picture_for_each_comparison(pair):
    raised = [runaway(load(TRIPLE).set("turbine.a_over_r", f"{a} mm")) for a in (10.5, 8.5, 14.0)]
    both = replace(pair, runaway=raised)
    for result, panels in ((pair, 2), (both, 4)):
        figure = draw(result, "us")
        assert len(figure.axes) == panels
        assert [a.get_xlabel() for a in figure.axes][-1] == ("engine speed [rpm]" if panels == 2 else "boost [psi]")
        assert [t.get_text() for t in figure.legends[0].get_texts()][:3] == pair.names
    line = draw(both, "metric").axes[3].lines[0]
    assert line.get_xdata() == pytest.approx(np.array(raised[0].boost_pa) / 1e5)
    assert line.get_ydata() == pytest.approx(np.array(raised[0].backpressure_pa) / np.array(raised[0].boost_pa))


def test_why_a_larger_housing_may_choke_first_is_said_where_it_does():
    case = load()
    small, large = (runaway(case.set("turbine.a_over_r", a)) for a in ("0.48 in", "0.82 in"))
    assert large.choke_boost_pa < small.choke_boost_pa
    assert np.all(np.array(large.turbine_flow_kg_s[:15]) > np.array(small.turbine_flow_kg_s[:15]))
    assert len(choke_words([small, large])) == 1
    assert choke_words([small]) == []
    assert "(ratio 1." in runaway_words("small", small)


def test_a_measured_map_left_behind_is_said():
    case = load().set_all({"turbine.model": "map", "turbine.map": str(EXAMPLES / "housings" / "turbine_56_large.csv")})
    found = runaway(case)
    assert "its measured map is left" in runaway_words("map", found)
    inside = predict(case.set("run.boost", "0.9 bar"))
    outside = predict(case.set("run.boost", "2 bar"))
    assert not any("turbine map" in text for text in inside.warnings)
    assert any("mean expansion ratio" in text for text in outside.warnings)
    assert any("above the fastest speed line of the turbine map" in text for text in outside.warnings)


def test_a_measured_curve_left_behind_is_said():
    case = load(EXAMPLES / "divided_four.toml")
    assert case.turbine.model == "curve"
    end = case.turbine.curve[-1][0]
    for boost in ("0.5 bar", "2.5 bar"):
        found = predict(case.set("run.boost", boost))
        left = any("curve ends" in text for text in found.warnings)
        assert left == (found.pressure_ratio_turbine > 1.02 * end)


def test_without_a_march_the_trade_says_so():
    point = {name: [1.0, 1.0] for name in BETTER} | {"power_w": [100e3, 104e3], "knock_margin_deg": [None, None]}
    assert trade(["A", "B"], point, False) == '"B" gives 4.0 kW more than "A"; spool was not marched.'
    assert trade(["A", "B"], point | {"power_w": [1e5, 1e5], "boost_pa": [1.0, 2.0]}, False).startswith("None of them")


def test_words_are_in_the_readers_units():
    point = {name: [1.0, 1.0] for name in BETTER} | {
        "power_w": [100e3, 104e3], "knock_margin_deg": [None, None], "exhaust_temperature_k": [1210.0, 1200.0],
    }  # fmt: skip
    assert "4.0 kW more with exhaust 10 K cooler" in trade(["A", "B"], point, False)
    assert "5 hp more with exhaust 18 degF cooler" in trade(["A", "B"], point, False, "us")
    found = runaway(load(TRIPLE).set("turbine.a_over_r", "8.5 mm"))
    assert "psi (ratio" in runaway_words("small", found, "us")
    assert "a psi of boost costs" in runaway_words("small", found, "us")


def test_what_stops_a_sweep_is_said_in_the_readers_units():
    """The boost it speaks of too; the JSON is metric."""
    stop = Said("the turbine, which makes no more than {} with the wastegate shut", ((1.62e5, "pressure"),))
    found = Runaway([1.5e5], [2e5], [1e5], [0.1], [0.0], None, None, None, None, 1.5e5, stop, [])
    assert "makes no more than 1.62 bar" in runaway_words("x", found)
    assert "makes no more than 23.5 psi" in runaway_words("x", found, "us")
    assert "bar" not in runaway_words("x", found, "us").replace("a bar", "")
    assert found.to_dict()["stopped_by"] == found.stopped_by == stop.said("metric")
    assert Said("a {sentence} of its own").said("us") == "a {sentence} of its own"


def test_sweeps_end_at_the_machine_and_not_at_the_march():
    """Past surge the six's wheel holds two answers at one boost, and a rising boost overshoots what the turbine can make; the four at
    4500 rpm is past its choke, where one cycle's flow sets the next one's charge temperature. Both have a balance."""
    six = load(EXAMPLES / "tractor_six.toml")
    made = [predict(six.set("run.boost", f"{b} bar")) for b in (3.35, 3.45, 4.0)]
    assert [p.status for p in made] == ["boost short"] * 3
    assert max(p.boost_pa for p in made) - min(p.boost_pa for p in made) < 100.0
    assert "makes no more than" in runaway(six).stopped_by
    four = load().set("run.speed", "4500 rpm")
    for boost in (3.8, 3.9):
        p = predict(four.set("run.boost", f"{boost} bar"))
        assert p.status == "converged", p.warnings
        assert p.energy_closure < 1e-3


def test_a_margin_without_a_limit_is_called_none():
    case = load().set("run.boost", "0.7 bar")
    result = compare({"as it is": case, "B": case.set("run.spark_advance", "14 deg")}, spool_too=False)
    shown = io.StringIO()
    print_compare(result, "metric", Console(file=shown, width=100))
    rows = [line.strip() for line in shown.getvalue().splitlines() if line.strip().startswith("knock margin")]
    assert rows
    assert rows[0].split()[2:] == ["none", "none"]
    assert "none: no spark from 60 deg before" in " ".join(shown.getvalue().split())


def test_a_wastegate_too_small_for_little_boost_does_not_end_the_sweep():
    """Fully open it holds no less than it does: the sweep begins there."""
    case = load(TRIPLE).set_all({"wastegate.diameter": "15 mm", "turbine.a_over_r": "8.5 mm"})
    least = predict(case.set("run.boost", "0.3 bar"))
    assert least.status == "boost over"
    found = runaway(case)
    assert least.boost_pa < found.boost_pa[0] < least.boost_pa + 0.16e5
    assert len(found.boost_pa) > 5


def test_an_open_manifold_beside_a_divided_one_needs_one_line():
    """The dealing of cylinders to two collectors goes with the two; what only the rival does not read is no change of its own."""
    divided = load(TRIPLE).set_all(
        {"exhaust.collectors": 2, "exhaust.cylinders_to": [[1], [2, 3]], "turbine.entry_share": 0.4}
    )
    found = rivals(divided, ["exhaust.collectors=1"])
    assert found["exhaust.collectors=1"].exhaust.cylinders_to == ((1, 2, 3),)
    assert rivals(divided, ["exhaust.collectors=2"])["exhaust.collectors=2"].exhaust.cylinders_to == ((1,), (2, 3))
    result = compare(found, spool_too=False)
    assert result.collectors == [2, 1]
    assert not any("entry_share" in text for text in result.warnings)
    shown = io.StringIO()
    print_compare(result, "metric", Console(file=shown, width=100))
    assert "residual gas of each cylinder" in shown.getvalue()
    assert "at equal torque" in shown.getvalue()


def test_crossing_is_linear_between_points():
    assert crossing([0.0, 1.0, 2.0], [0.0, 0.2, 0.8], 0.5) == pytest.approx(1.5)
    assert crossing([0.0, 1.0], [0.0, 0.2], 0.5) is None
    assert crossing([], [], 0.5) is None


def test_a_change_that_nothing_reads_is_said():
    """A turbine known by its effective area has no A/R: the change is named, and no trade is made of it."""
    case = load(EXAMPLES / "tractor_six.toml")
    found = compare({"as it is": case, "B": case.set("turbine.a_over_r", "0.7 in")}, spool_too=False)
    assert "B: the submodels of this case do not read turbine.a_over_r; it changes nothing." in found.warnings
    assert found.trade.startswith("All of them give the same here")


# ------------------------------------------------------------------------------- tip-ins, two entries


def test_tip_ins_are_timed_to_one_boost():
    """At 1900 rpm the largest housing makes less than the others: timed to 90 % of its own it would look quick."""
    case = load(TRIPLE).set_all({"run.speed": "3200 rpm", "spool.longest": "5 s"})
    large = case.set("turbine.a_over_r", "16 mm")
    common = tip_in(case)
    assert common.speed_rpm == pytest.approx(1920.0)
    own, other = (marched(one, common.speed_rpm) for one in (case, large))
    assert common.boost_pa == pytest.approx(0.9 * own.steady_boost_pa, rel=1e-6)
    assert other.steady_boost_pa < common.boost_pa
    assert response(case, common, 3200.0)[0] == pytest.approx(own.time_to_90_s)
    assert response(large, common, 3200.0)[0] is None
    labels = quick(compare({"A": case, "B": large}), "metric")
    assert f"at {common.speed_rpm:.0f} rpm" in labels["time_to_90_s"]


def test_what_hangs_on_a_loss_without_source_is_shown_at_both_ends():
    """More lost by one entry alone: boost later, threshold higher. Stated by the user, nothing hangs on it."""
    divided = load(TRIPLE).set_all(
        {"exhaust.collectors": 2, "exhaust.cylinders_to": [[1], [2, 3]], "spool.longest": "5 s"}
    )
    found = compare({"two": divided, "one": divided.set("exhaust.collectors", 1)})
    (one,) = found.admission
    assert one.name == "two"
    assert one.loss == pytest.approx((0.05, 0.25), abs=0.001)
    assert one.time_to_90_s[0] < found.point["time_to_90_s"][0] < one.time_to_90_s[1]
    assert one.threshold_rpm[0] < one.threshold_rpm[1]
    shown = io.StringIO()
    print_compare(found, "us", Console(file=shown, width=200))
    assert "without a published source" in shown.getvalue()
    assert "From 5 to 25 %" in shown.getvalue()
    stated = compare({"two": divided.set("turbine.unequal_admission_loss", 0.1)}, spool_too=False)
    assert stated.admission == []


def test_a_larger_housing_that_chokes_at_less_boost_is_explained_by_its_pressure():
    """It passes less at its choke than the smaller at its own, since it chokes at less boost: at that boost less stands before it."""
    end = Said("x")
    small = Runaway([1e5, 2e5], [1.3e5, 3e5], [1e5, 2e5], [0.1, 0.2], [0.3, 0.8], 1.4e5, 1.0, None, None, 2e5, end, [])
    large = Runaway(
        [1e5, 2e5], [1.2e5, 2.8e5], [1e5, 2e5], [0.1, 0.2], [0.4, 0.9], 1.2e5, 1.0, None, None, 2e5, end, []
    )
    assert len(choke_words([small, large])) == 1
    tight = Runaway(
        [1e5, 2e5], [1.5e5, 3.5e5], [1e5, 2e5], [0.1, 0.2], [0.4, 0.9], 1.2e5, 1.0, None, None, 2e5, end, []
    )
    assert choke_words([small, tight]) == []


def test_a_sweep_that_nothing_stops_and_one_that_begins_late_say_so():
    free = Runaway(
        [0.3e5, 3.9e5], [0.3e5, 5e5], [1e5, 2e5], [0.1, 0.2], [0.0, 0.1], None, 1.0, None, None, 3.9e5, OVER, []
    )
    assert "nothing stops the boost up to 3.90 bar (ratio 1.28), where the sweep ends" in runaway_words("x", free)
    assert "wastegate" not in runaway_words("x", free)
    late = Runaway(
        [1.05e5, 3.9e5], [1.5e5, 5e5], [1e5, 2e5], [0.1, 0.2], [0.0, 0.1], None, 1.0, None, None, 3.9e5, OVER, []
    )
    assert "its wastegate, fully open, holds little less than 1.05 bar" in runaway_words("x", late)


def test_the_picture_speaks_the_readers_units(pair):
    one = Runaway([0.3e5, 2e5], [0.3e5, 3e5], [1e5, 2e5], [0.1, 0.2], [0.0, 0.9], 1e5, 1.0, 1.5e5, None, 2e5, OVER, [])
    figure = draw(replace(pair, runaway=[one] * len(pair.names)), "us")
    said = [text.get_text() for legend in figure.legends for text in legend.get_texts()]
    assert "a psi of boost costs twice as much as at first" in said
