"""`hotside limits`: every bound replayed by `predict`, the way back in, ends that are no limits, print, picture, data."""

import csv
import io
import json
import math
import shlex
import subprocess
import sys
from pathlib import Path

import pytest
from hotside.sim import CaseError, limits, load, predict
from hotside.sim.options import changed
from hotside.sim.verbs.limits import region, run
from hotside.sim.verbs.limits.allowance import allowance
from hotside.sim.verbs.limits.knock_band import unseen, with_band
from hotside.sim.verbs.limits.points import SHORT, Points, none, scale
from hotside.sim.verbs.limits.settings import AXES

EXAMPLES = Path(__file__).resolve().parent.parent / "examples"
DIVIDED = load(EXAMPLES / "divided_four.toml").set_all({"run.boost": "0.8 bar", "run.spark_advance": "12 deg"})
UNEVEN = load(EXAMPLES / "uneven.toml")  # past knock as it is written
BUGGY = load(EXAMPLES / "flange.toml")


def quick(case):
    """The same with one mixture and few boosts."""
    patch = pytest.MonkeyPatch()
    patch.setattr(run, "MIXTURES", (0.0,))
    patch.setattr(region, "LEVELS", 3)
    try:
        return limits(case)
    finally:
        patch.undo()


@pytest.fixture(scope="module")
def inside():
    return quick(DIVIDED)


@pytest.fixture(scope="module")
def outside():
    return quick(UNEVEN)


def limits_alone(case):
    """What `limits` gives of one thing turned at a time."""
    points, start = Points(case), run.setting_of(case)
    return [run._alone(points, start, axis, way) for axis, way in run._ways(start)]


def replayed(case, words):
    """The case as the printed options of the command line change it."""
    parts = shlex.split(words)
    return changed(case, [w for w in parts if w != "--set"])


def at_the_edge(case, end, slack):
    """Predict there: the limit is met within 0.1 % from the near side, and no other is passed."""
    found = predict(replayed(case, end["set"]))
    rows = with_band(case, found) | ({} if slack is none else unseen(case, found))
    for row in rows.values():
        share = (row["margin"] - slack(row)) / scale(row)
        assert share >= -1e-5, row
        if row["name"] == end["limit"]:
            assert share <= 1e-3, row
    assert end["limit"] in rows or end["limit"].startswith(("boost", "charge"))
    assert found.power_w == pytest.approx(end["power_w"], rel=1e-6)


# -------------------------------------------------------------------------------------------------------- exactness


@pytest.mark.parametrize("name", ["inside", "outside"])
def test_at_each_bound_predict_gives_that_limit_and_no_other_is_passed(name, request):
    result = request.getfixturevalue(name)
    case = DIVIDED if name == "inside" else UNEVEN
    edges = [row["edge"] for row in result.alone if row["edge"]]
    edges += [row[end] for row in result.region for end in ("latest", "earliest") if row[end]]
    top = result.together[0]["highest"]
    edges += [top["latest"], top["earliest"]]
    assert len(edges) >= 7
    for end in edges:
        at_the_edge(case, end, none)


@pytest.mark.parametrize("name", ["inside", "outside"])
def test_backed_off_bounds_stand_back_by_the_allowance(name, request):
    result = request.getfixturevalue(name)
    case = DIVIDED if name == "inside" else UNEVEN
    ends = [row["backed_off"] for row in result.alone if row["backed_off"]]
    ends += [row[end] for row in result.region_backed_off for end in ("latest", "earliest") if row[end]]
    assert len(ends) >= 4
    for end in ends:
        at_the_edge(case, end, allowance)


def test_what_is_backed_off_knocks_with_no_fuel_inside_the_band_of_the_delay(inside):
    """The lower edge of what is known: solved anew with a delay 20 % shorter, knock has not begun, the bad cycle included."""
    rows = [row["backed_off"] for row in inside.alone if row["direction"] == "more boost"]
    rows += [row["earliest"] for row in inside.region_backed_off if row["earliest"]]
    assert len(rows) >= 3
    for row in rows:
        sooner = predict(replayed(DIVIDED, row["set"]).set("knock.delay_scale", 0.8))
        least = -0.1 if predict(replayed(DIVIDED, row["set"])).knock_margin_deg is not None else -1.5  # the usual lead
        assert sooner.knock_margin_bad_cycle_deg > least
        assert sooner.knock_margin_deg > 3.0
    assert any("ignites in 20 % less time" in text for text in inside.knock)


def test_a_case_that_has_heard_its_knock_keeps_gauge_and_octane_alone():
    case = DIVIDED.set("run.boost", "1.3 bar")
    p = predict(case)
    stated, guessed = with_band(case.set("knock.delay_scale", 1.0), p), with_band(case, p)
    for name in ("knock_margin_deg", "knock_margin_bad_cycle_deg"):
        assert allowance(stated[name]) == pytest.approx(math.hypot(2.0, 1.0))
        band = p.knock_limited_spark_deg - p.knock_limited_spark_short_delay_deg
        assert allowance(guessed[name]) == pytest.approx(math.hypot(2.0, 1.0, band))


def test_where_only_the_shorter_delay_knocks_the_backed_off_spark_still_ends():
    """No edge, since nothing knocks as calculated; yet no backed-off spark where such a fuel would."""
    case = BUGGY.set_all({"run.boost": "0.7 bar", "run.spark_advance": "2 deg"})
    from hotside.sim.verbs.limits.edge import Ray, bound

    points = Points(case)
    edge, backed = (bound(Ray(points, run.setting_of(case), "spark", 1, slack)) for slack in (none, allowance))
    assert edge is None or not edge.limit.startswith("knock")
    sooner = predict(replayed(case, backed.point.setting.words()).set("knock.delay_scale", 0.8))
    assert sooner.knock_margin_bad_cycle_deg > -0.3  # its lead is the usual one


def test_a_hand_search_finds_the_same_boost(inside):
    """Bisection over predict alone, the spark and the mixture held, without anything of this verb."""

    def past(bar):
        return any(m["exceeded"] for m in predict(DIVIDED.set("run.boost", f"{bar} bar")).margins)

    low, high = 0.8, 2.0
    assert past(high)
    assert not past(low)
    for _ in range(12):
        middle = 0.5 * (low + high)
        low, high = (low, middle) if past(middle) else (middle, high)
    more = next(row for row in inside.alone if row["direction"] == "more boost")
    assert more["edge"]["boost_pa"] / 1e5 == pytest.approx(low, abs=1e-3)


# ------------------------------------------------------------------------------------------------------ what it says


def test_no_boost_is_searched_at_which_the_ratio_to_it_is_gone():
    """From 5 kPa down the ratio is not given, and its limit with it: what is past it just above would seem to come in there."""
    found = predict(DIVIDED.set("run.boost", f"{AXES['boost'].low} Pa"))
    assert found.backpressure_ratio is not None
    assert any(row["name"] == "backpressure_ratio" for row in found.margins)
    low = [row for row in limits_alone(DIVIDED.set("run.lambda", 0.98)) if row["direction"] == "less boost"]
    assert all(
        end is None or end["boost_pa"] >= AXES["boost"].low for row in low for end in (row["edge"], row["backed_off"])
    )


def test_the_band_of_knock_is_that_of_the_point(outside):
    """It is wider at less boost, and what is backed off takes it as it is there."""
    found = predict(UNEVEN)
    band = found.knock_limited_spark_deg - found.knock_limited_spark_short_delay_deg
    assert f"needs {band:.1f} deg less spark at this point" in outside.knock[0]


def test_inside_names_the_limit_of_each_direction(inside):
    """Earlier spark and more boost end at knock; later spark and a leaner mixture at heat, since gas leaves hotter."""
    assert inside.inside
    ends = {row["direction"]: row["edge"] and row["edge"]["limit"] for row in inside.alone}
    assert ends["more boost"].startswith("knock")
    assert ends["later spark"].endswith("temperature_k")
    assert ends["leaner"].endswith("temperature_k")
    assert all(row["way"] == "out" for row in inside.alone)
    beyond = next(row for row in inside.alone if row["direction"] == "more boost")["edge"]["beyond"]
    assert [b["about"] for b in beyond] == sorted(b["about"] for b in beyond)


def test_outside_is_said_with_by_how_much_and_which_way_is_back(outside):
    here = predict(UNEVEN)
    assert not outside.inside
    past = {m["name"]: m["margin"] for m in outside.margins if m["exceeded"]}
    assert past == {m["name"]: m["margin"] for m in here.margins if m["exceeded"]}
    back = {row["direction"]: row["edge"] for row in outside.alone}
    assert back["later spark"]["spark_advance_deg"] < UNEVEN.run.spark_advance
    assert back["less boost"]["boost_pa"] < UNEVEN.run.boost
    assert back["earlier spark"] is None
    assert back["more boost"] is None
    assert all(edge["inward"] for edge in back.values() if edge)


def test_the_window_narrows_with_boost_and_closes_at_the_top(inside):
    """More boost brings knock at a later spark, while heat asks for an earlier one: the two meet."""
    known = [row for row in inside.region if row["latest"] and row["earliest"]]
    widths = [row["earliest"]["spark_advance_deg"] - row["latest"]["spark_advance_deg"] for row in known]
    assert widths == sorted(widths, reverse=True)
    assert widths[-1] < 0.3
    higher = DIVIDED.set("run.boost", f"{known[-1]['boost_pa'] / 1e5 + 0.02} bar")
    for spark in range(0, 12, 2):
        assert any(m["exceeded"] for m in predict(higher.set("run.spark_advance", f"{spark} deg")).margins)
    tops = [r["together"][0] for r in [inside.to_dict()]]
    assert tops[0]["backed_off"]["boost_pa"] < tops[0]["highest"]["boost_pa"]


def test_a_richer_mixture_opens_the_window():
    """Its evaporation and its unburnt fuel cool gas and end gas, so both limits move away."""
    points = Points(DIVIDED)
    start = run.setting_of(DIVIDED)
    tops = [region.summit(points, start.moved("mixture", m)) for m in (0.78, 0.82, 0.86)]
    assert [t.boost for t in tops] == sorted((t.boost for t in tops), reverse=True)


def test_boost_that_the_turbine_cannot_make_is_an_end_of_its_own():
    """A large turbine on a small engine, every other limit out of the way."""
    lifted = {
        "limits.probe_temperature": "1390 K", "limits.turbine_inlet_temperature": "1390 K", "limits.tip_speed": "690 m/s",
        "limits.backpressure_ratio": 9.0, "fuel.octane": "130 RON",
    }  # fmt: skip
    case = BUGGY.set_all(
        {
            "turbine.a_over_r": "20 mm",
            "compressor.model": "constant",
            "run.speed": "2500 rpm",
            "run.boost": "0.1 bar",
            **lifted,
        }
    )
    from hotside.sim.verbs.limits.edge import Ray, bound

    end = bound(Ray(Points(case), run.setting_of(case), "boost", 1))
    assert end.limit == SHORT
    made = predict(replayed(case, end.point.setting.words()))
    assert made.status == "converged"
    assert predict(case.set("run.boost", f"{made.boost_pa / 1e5 + 0.03} bar")).status == "boost short"


def test_a_bench_case_turns_spark_and_mixture_alone():
    bench = load(EXAMPLES / "bench.toml")
    with pytest.raises(CaseError, match="no spark to turn"):
        limits(bench)
    tables = bench.to_dict()
    del tables["burn"]
    tables["run"]["spark_advance"] = "10 deg"
    result = limits(load(tables))
    assert {row["axis"] for row in result.alone} == {"spark", "mixture"}
    assert result.together == result.region == []
    assert result.boost_pa is None
    for row in result.alone:
        if row["edge"]:
            at_the_edge(load(tables), row["edge"], none)


# --------------------------------------------------------------------------------------------------- print and files


def hotside(*arguments, folder=None):
    return subprocess.run(
        [sys.executable, "-m", "hotside.sim.cli", *arguments], capture_output=True, text=True, cwd=folder, timeout=300
    )


def printed(result, family="metric"):
    from hotside.sim.verbs.limits.table import print_limits
    from rich.console import Console

    console = Console(width=80, record=True, highlight=False, file=io.StringIO())
    print_limits(result, family, console)
    return console.export_text()


def test_the_print_says_outside_and_is_no_promise(outside, inside):
    text = printed(outside)
    assert "OUTSIDE its limits" in text
    assert "the way back in" in text
    assert "An edge is no target" in text
    assert "safe" not in text.lower()
    assert max(map(len, text.splitlines())) <= 80
    us = printed(inside, "us")
    assert "inside every limit" in us
    assert "psi" in us
    assert " bar" not in us


def test_data_and_picture(inside, tmp_path):
    from hotside.sim.pictures import save_picture
    from hotside.sim.verbs.limits.plot import draw
    from hotside.sim.verbs.limits.table import csv_text

    rows = list(csv.DictReader(csv_text(inside).splitlines()))
    assert len(rows) == inside.points_solved
    row = next(
        r for r in rows if r["boost_pa"] == "80000" and r["spark_advance_deg"] == "12" and r["lambda_ratio"] == "0.82"
    )
    here = {m["name"]: m["margin"] for m in predict(DIVIDED).margins}
    assert float(row["margin_probe_temperature_k"]) == pytest.approx(here["probe_temperature_k"], abs=1e-3)
    picture = tmp_path / "region.png"
    save_picture(draw(inside, "metric"), picture)
    assert picture.stat().st_size > 10_000
    json.dumps(inside.to_dict(), allow_nan=False)


def test_the_command_refuses_in_one_sentence(tmp_path):
    for arguments in (["--plot", "x.doc"], ["--set", "burn.model=imposed"], ["--units", "furlongs"]):
        said = hotside("limits", *arguments, folder=tmp_path)
        assert said.returncode == 2
        assert len(said.stderr.strip().splitlines()) == 1
        assert not said.stdout


@pytest.mark.slow
@pytest.mark.parametrize("name", ["tractor_six", "uneven", "flange", "divided_four"])
def test_whole_runs(name):
    case = load(EXAMPLES / f"{name}.toml")
    result = limits(case)
    for row in result.together:
        for window in (row["highest"],):
            for end in (window["latest"], window["earliest"]) if window else ():
                if end:
                    at_the_edge(case, end, none)
    assert len(result.together) == 3


def test_whole_run_on_the_command_line(tmp_path):
    """A bench is quick: no region to search."""
    bench = (EXAMPLES / "bench.toml").read_text()
    text = bench.replace('model = "imposed"\nca50 = "9 deg ATDC"\nduration_10_90 = "24 deg"\n', "")
    (tmp_path / "bench.toml").write_text(text.replace("[run]\n", '[run]\nspark_advance = "10 deg"\n'))
    said = hotside("limits", "bench.toml", "--json", "--csv", "points.csv", folder=tmp_path)
    assert said.returncode == 0, said.stderr
    assert json.loads(said.stdout) == json.loads(json.dumps(limits(load(tmp_path / "bench.toml")).to_dict()))
    assert (tmp_path / "points.csv").read_text().startswith("boost_pa,")


# ------------------------------------------------------------------------------------------------- where an end appears


def test_a_border_is_followed_to_where_it_appears():
    """Knock ends the spark from some boost on; between that and the next lower boost lies a small step, no slanting border."""
    start = run.setting_of(DIVIDED)
    points = Points(DIVIDED)
    windows = [region.window(points, start.moved("boost", b)) for b in (60_000.0, 140_000.0)]
    assert [w.early is None for w in windows] == [True, False]
    below, above = region.appearing(points, windows)
    assert below.early is None
    assert above.early.limit.startswith("knock")
    assert 0.0 < above.boost - below.boost <= 80_000.0 / 2**region.HALVINGS + 1.0
    whole = region.completed(points, [*windows, below, above], [100_000.0])
    assert [w.boost for w in whole] == sorted({60_000.0, 140_000.0, 100_000.0, below.boost, above.boost})


def test_the_picture_stands_upright_where_a_border_appears():
    from hotside.sim.verbs.limits.plot import _outline

    rows = [
        {"boost_pa": 1e5, "earliest": None},
        {"boost_pa": 2e5, "earliest": {"spark_advance_deg": 20.0}},
        {"boost_pa": 3e5, "earliest": {"spark_advance_deg": 9.0}},
    ]
    assert _outline(rows, "earliest", 40.0) == [(1e5, 40.0), (2e5, 40.0), (2e5, 20.0), (2e5, 20.0), (3e5, 9.0)]
    assert _outline(rows[::-1], "earliest", 40.0)[-3:] == [(2e5, 20.0), (2e5, 40.0), (1e5, 40.0)]
