"""`hotside placement`: the lean runner is picked, alike ones tie, brute force agrees, geometry by itself, taps, swaps, print."""

import csv
import io
import json
import math
from itertools import combinations
from pathlib import Path

import numpy as np
import pytest
from hotside.sim import CaseError, load, placement, predict
from hotside.sim.records import IN_RUNNER_SURFACE, IN_RUNNER_VOLUME
from hotside.sim.setup import prepare
from hotside.sim.verbs.placement import chances, holes, narrowing, swaps
from hotside.sim.verbs.placement.engine import READING, Engine
from hotside.sim.verbs.placement.run import _by_geometry
from hotside.sim.verbs.placement.surface import Response, checked, respond
from hotside.sim.verbs.placement.table import csv_text, print_placement
from rich.console import Console

EXAMPLES = Path(__file__).resolve().parent.parent / "examples"
SIX, DIVIDED, UNEVEN = (load(EXAMPLES / f"{name}.toml") for name in ("tractor_six", "divided_four", "uneven"))
SPREADS = np.array([0.02, 0.02, 0.5])
SAMPLES = 8000


@pytest.fixture(scope="module")
def alike():
    return placement(DIVIDED, probes=2, samples=SAMPLES)


@pytest.fixture(scope="module")
def lean():
    return placement(SIX.set("cylinder.5.fuel", -0.06), samples=SAMPLES)


@pytest.fixture(scope="module")
def uneven():
    engine = Engine(UNEVEN)
    return engine, respond(engine, SPREADS)


def test_a_lean_cylinder_is_picked(lean):
    """On the rich side of the hottest mixture less fuel leaves less to be warmed and more oxygen for it: the gas is hotter."""
    best = lean.ranking[lean.recommended]
    assert best["places"] == [5]
    assert lean.places[4]["hottest_share"] > 0.5
    assert lean.places[4]["reading_k"] > max(row["reading_k"] for row in lean.places[:4]) + 10.0
    others = [row for row in lean.ranking if row is not best]
    assert all(row["worse_by"] > 5.0 * row["worse_by_error"] for row in others)
    assert "clear call" in " ".join(lean.sentences)


def test_the_display_reaches_the_hottest_place(alike):
    """The collector, whose gas flows steadily, reads more than any runner: one in a thousand lies above its 97.5 %."""
    top = max(row["reading_k"] + 1.96 * row["spread_k"] for row in alike.places)
    assert alike.display["shows_up_to_k"] > top + 5.0


def test_a_rich_cylinder_is_not():
    """The other way round it hides: a probe in the rich runner misses oftener than one anywhere else."""
    found = placement(DIVIDED.set("cylinder.2.fuel", 0.06), samples=SAMPLES)
    assert found.ranking[-1]["places"] == [2]


def test_with_alike_cylinders_the_choice_of_runners_hardly_matters():
    found = placement(SIX, samples=SAMPLES)
    runners = [row["chance"] for row in found.ranking if isinstance(row["places"][0], int)]
    assert len(runners) == 6
    assert max(runners) - min(runners) < 4.0 * math.sqrt(0.25 / SAMPLES)
    assert any(s.startswith("Which runners hardly matters") for s in found.sentences)


def test_two_runners_of_one_collector_see_less_than_one_of_each(alike):
    """Blowdown pushes gas from the collector back into its other runner, so that two runners of one collector read partly alike."""
    chance = {tuple(row["places"]): row["chance"] for row in alike.ranking}
    together = [chance[tuple(members)] for members in DIVIDED.exhaust.cylinders_to]
    apart = [
        c for places, c in chance.items() if places not in DIVIDED.exhaust.cylinders_to and isinstance(places[1], int)
    ]
    assert len(together) == 2
    assert len(apart) == 4
    for group in (together, apart):
        assert max(group) - min(group) < 0.02
    assert min(together) > max(apart) + 0.02


def test_without_spreads_nothing_is_missed():
    nothing = {"spreads.air": 0.0, "spreads.fuel": 0.0, "spreads.spark": "0 deg", "spreads.above": "30 K"}
    found = placement(DIVIDED.set_all(nothing), samples=1000)
    assert all(row["chance"] == 0.0 and row["ties"] for row in found.ranking)
    assert any(s.startswith("The choice hardly matters") for s in found.sentences)
    assert found.ranking[0]["left"][0]["reading"] is None


def test_the_seed_repeats_the_result(alike):
    again = placement(DIVIDED, probes=2, samples=SAMPLES)
    assert again.to_dict() == alike.to_dict()
    other = placement(DIVIDED, probes=2, samples=SAMPLES, seed=7)
    found = {tuple(row["places"]): row for row in other.ranking}
    assert any(found[tuple(row["places"])]["chance"] != row["chance"] for row in alike.ranking)
    for row in alike.ranking:
        twin = found[tuple(row["places"])]
        assert abs(twin["chance"] - row["chance"]) < 4.0 * math.hypot(row["chance_error"], twin["chance_error"])


def brute(case, draws, rng, spreads=SPREADS):
    """Readings of every place from whole predictions of cases written by name, nothing of the verb's own."""
    n = case.engine.cylinders
    places = [*range(1, n + 1), "collector"]
    raw = {k: v for k, v in case.to_dict().items() if k not in ("probe", "cylinder")}
    raw["probe"] = [{"cylinder": place} for place in places]
    mean = {c.number: (c.air, c.fuel, c.spark) for c in case.cylinder}
    rows = []
    for _ in range(draws):
        feed = [np.array(mean.get(j + 1, (0.0,) * 3)) + spreads * rng.standard_normal(3) for j in range(n)]
        table = [
            {"number": j + 1, "air": float(a), "fuel": float(f), "spark": f"{s} deg"}
            for j, (a, f, s) in enumerate(feed)
        ]
        rows.append([p["reading_k"] for p in predict(load(raw | {"cylinder": table})).probes])
    readings = np.array(rows)
    # IEC 60584 class 2: 0.75 % of the temperature in degC, either way
    tolerance = 0.0075 * (readings.mean(axis=0) - 273.15)
    fed_alike = [p["reading_k"] for p in predict(load(raw)).probes]
    offset = np.array([0.0] * n + [fed_alike[n] - max(fed_alike[:n])])
    return readings, readings + tolerance * rng.uniform(-1.0, 1.0, readings.shape) - offset


def agrees(case, draws, probes=2):
    readings, needles = brute(case, draws, np.random.default_rng(99))
    found = placement(case, probes=probes, samples=SAMPLES)
    n = case.engine.cylinders
    by_places = {tuple(row["places"]): row for row in found.ranking}
    for rows in combinations(range(n + 1), probes):
        miss = readings[:, :n].max(axis=1) - needles[:, list(rows)].max(axis=1)
        row = by_places[tuple(found.places[k]["place"] for k in rows)]
        p = row["chance"]
        error = math.hypot(math.sqrt(max(p * (1.0 - p), 1.0 / draws) / draws), row["chance_error"])
        assert abs(float(np.mean(miss > 20.0)) - p) < 3.5 * error, (rows, p, np.mean(miss > 20.0))
        assert miss.mean() == pytest.approx(row["miss_mean_k"], abs=3.5 * miss.std() / math.sqrt(draws) + 1.0)


def test_brute_force_agrees():
    agrees(UNEVEN, 60)


@pytest.mark.slow
@pytest.mark.parametrize("case", [UNEVEN, SIX], ids=["uneven", "six"])
def test_brute_force_agrees_on_many_draws(case):
    agrees(case, 800)


def test_the_surface_against_whole_predictions(uneven):
    """Cylinders act on their own runners, and on the others through the turbine by little: what each does adds up."""
    engine, response = uneven
    off = checked(engine, response, chances.feeds(np.random.default_rng(5), response.mean, SPREADS, 5))
    assert np.sqrt(np.mean(off**2)) < 1.0
    assert np.abs(off).max() < 4.0


def test_the_surface_has_the_corner_at_lambda_1():
    """Leaner than lambda 1 excess air is warmed, richer than it the fuel's heat is short: the hottest mixture is a corner."""
    case = DIVIDED.set_all({"run.lambda": 0.97})
    engine = Engine(case)
    response = respond(engine, SPREADS)
    assert response.surfaces[0].corner is not None
    off = checked(engine, response, chances.feeds(np.random.default_rng(5), response.mean, SPREADS, 4))
    assert np.sqrt(np.mean(off[..., READING] ** 2)) < 0.6


def test_symmetry_of_even_firing_says_zero(alike, lean):
    for found in (alike, lean):  # of the lean one too: what its feed does is no geometry
        own = found.by_geometry
        assert own["by_symmetry"]
        assert all(d == 0.0 for d in own["departures_k"])
        assert own["solver_scatter_k"] < 0.5


def test_a_longer_runner_reads_cooler():
    """More wall to lose heat to before the same gas reaches the middle of the pipe, and all of its volume stands there longer."""
    case = UNEVEN.set_all({"cylinder.4.runner_length": "480 mm"})
    inputs, short = prepare(case).inputs, prepare(UNEVEN).inputs
    assert inputs[3, IN_RUNNER_SURFACE] == pytest.approx(2.0 * short[3, IN_RUNNER_SURFACE])
    assert inputs[3, IN_RUNNER_VOLUME] - short[3, IN_RUNNER_VOLUME] == pytest.approx(case.exhaust.runner_volume)
    assert np.array_equal(inputs[:3], short[:3])
    engine = Engine(case)
    alike = engine.at(np.zeros((4, 3)))
    own = _by_geometry(engine, Response(engine.mean, alike, alike, []))
    assert not own["by_symmetry"]
    assert own["groups"] == [[1], [2], [3], [4]]
    assert own["departures_k"][3] < -5.0
    assert min(own["departures_k"]) == own["departures_k"][3]
    assert own["departures_k"] == pytest.approx(alike[:4, READING] - alike[:4, READING].mean())
    assert case.get("cylinder.4.runner_length") == pytest.approx(0.48)
    assert case.get("cylinder.1.runner_length") is None
    assert case.get("cylinder.1.air") == 0.0


def test_uneven_intervals_part_runners_in_pairs():
    """Half a cycle on all comes again: cylinders 360 deg apart stay alike, the others hear their neighbours at other times."""
    case = SIX.set_all({"engine.firing_intervals": ["90 deg", "150 deg"] * 3})
    engine = Engine(case)
    origins = [origin for origin, _ in engine.origins()]
    assert [origins.count(k) for k in sorted(set(origins))] == [3, 3]
    readings = engine.at(engine.mean)[:6, READING]
    first, second = (readings[[k for k in range(6) if origins[k] == group]] for group in sorted(set(origins)))
    assert abs(first.mean() - second.mean()) > 3.0 * max(np.ptp(first), np.ptp(second))


def test_symmetries_of_firing_orders():
    assert [len(Engine(c).symmetries()) for c in (SIX, DIVIDED, UNEVEN)] == [6, 4, 4]
    swapped = DIVIDED.set("exhaust.cylinders_to", [[1, 2], [3, 4]])  # two neighbours of the firing order in each
    assert len(Engine(swapped).symmetries()) == 2


def geometry(case):
    engine = Engine(case)
    alike = engine.at(np.zeros((case.engine.cylinders, 3)))
    return _by_geometry(engine, Response(engine.mean, alike, alike, []))


def test_what_the_collector_alone_does_stands_by_itself():
    """A row of volumes lets alike-fed cylinders hear different pulses; what it adds to a longer runner's part is told apart."""
    chain = UNEVEN.set_all({"exhaust.collector_volumes": 4, "cylinder.4.runner_length": "480 mm"})
    both, pipe = geometry(chain), geometry(chain.set("exhaust.collector_volumes", 1))
    assert pipe["collector_alone_k"] == [0.0] * 4
    assert both["collector_alone_k"] == pytest.approx(np.subtract(both["departures_k"], pipe["departures_k"]))
    assert max(map(abs, both["collector_alone_k"])) > 0.5
    assert max(map(abs, pipe["departures_k"])) > max(map(abs, both["collector_alone_k"]))


def test_a_row_mirrored_about_the_turbine_parts_runners_in_pairs():
    """Seen from the other end the firing order is its own turn by half a cycle; a row with the turbine at its end has no mirror."""
    middle = geometry(UNEVEN.set_all({"exhaust.collector_volumes": 5, "exhaust.turbine_at": "middle"}))
    assert middle["groups"] == [[1, 4], [2, 3]]
    assert middle["departures_k"] == middle["departures_k"][::-1]
    assert middle["solver_scatter_k"] < 0.01
    assert abs(middle["departures_k"][0]) > 0.3
    assert geometry(UNEVEN.set("exhaust.collector_volumes", 4))["groups"] == [[1], [2], [3], [4]]


def test_where_symmetry_says_zero_the_row_adds_nothing():
    """Two entries of two cylinders 360 deg apart, each with its turbine entry between them: every port is another's mirror image."""
    twins = {
        "exhaust.collectors": 2,
        "exhaust.cylinders_to": [[1, 4], [2, 3]],
        "exhaust.collector_volumes": 3,
        "exhaust.turbine_at": "middle",
    }
    own = geometry(load().set_all(twins))
    assert own["by_symmetry"]
    assert own["departures_k"] == own["collector_alone_k"] == [0.0] * 4
    assert own["solver_scatter_k"] < 0.01


def test_chances_of_two_cylinders_by_hand():
    """Two runners of normal readings and an exact probe in one: P(T2 - T1 > X) = 1 - Phi(X / (s sqrt 2))."""
    rng = np.random.default_rng(2)
    reading = 1100.0 + 10.0 * rng.standard_normal((40_000, 2))
    draws = chances.Draws(np.zeros((40_000, 2, 3)), reading, reading, reading, 2)
    miss, _ = chances.misses(draws, np.zeros((2, 2)), (0,))
    p, error = chances.chance(miss, 12.0, 0.0)
    assert p == pytest.approx(0.5 * math.erfc(12.0 / 10.0 / 2.0), abs=4.0 * error)
    assert error == pytest.approx(math.sqrt(p * (1.0 - p) / 40_000))
    both, _ = chances.misses(draws, np.zeros((2, 2)), (0, 1))
    assert np.all(both == 0.0)
    assert np.array_equal(chances.hottest(draws).round(1), [0.5, 0.5])


def test_what_a_log_leaves_is_what_regression_leaves(uneven):
    """The posterior of a linear Gaussian model is the scatter about the regression on the readings: sampled, not computed."""
    _, response = uneven
    slopes, prior, noise = response.slopes(), np.tile(SPREADS, 4), np.array([5.0, 5.0, 5.0, 5.0, 6.0])
    rows = narrowing.left(slopes, prior, noise, (1, 4), 4)
    rng = np.random.default_rng(8)
    unknown = prior * rng.standard_normal((60_000, 12))
    seen = (unknown @ slopes.T + noise * rng.standard_normal((60_000, 5)))[:, [1, 4]]
    for row in rows:
        j = row["cylinder"] - 1
        for name, true in (("fuel", unknown[:, 3 * j + 1]), ("reading", unknown @ slopes[j])):
            rest = true - seen @ np.linalg.lstsq(seen, true, rcond=None)[0]
            assert rest.std() / true.std() == pytest.approx(row[name], abs=0.01)
    assert rows[1]["reading"] < 0.6 < 0.85 < rows[0]["reading"] <= 1.0  # the probed one is known best


def test_more_probes_miss_less_and_tell_more(alike):
    one = placement(DIVIDED, samples=SAMPLES)
    assert alike.ranking[0]["chance"] < one.ranking[0]["chance"]
    assert min(r["left_mean"] for r in alike.ranking) < min(r["left_mean"] for r in one.ranking)
    whole = placement(DIVIDED, probes=6, samples=SAMPLES)
    assert len(whole.ranking) == 1
    assert whole.ranking[0]["chance"] < 0.02  # only the class of the probes is left


def test_swapped_pulls():
    rng = np.random.default_rng(4)
    for pulls in (1, 4):
        means = 6.0 / math.sqrt(pulls) * rng.standard_normal((2, 50_000))
        assert np.mean(means[0] + 9.0 > means[1]) == pytest.approx(
            float(swaps.right(np.array(9.0), pulls, 6.0)), abs=0.006
        )
    count = swaps.needed(9.0, 6.0)
    assert count == 3
    assert swaps.right(np.array(9.0), count, 6.0) >= 0.95 > swaps.right(np.array(9.0), count - 1, 6.0)
    assert swaps.needed(0.01, 6.0) is None


def test_swaps_count_the_lag_of_a_pull(lean):
    s = lean.swaps
    assert 5 in s["cylinders"]
    assert 0.05 < s["shown_share"] < 1.0
    assert s["needed_at_above"] == swaps.needed(s["shown_share"] * 20.0, 6.0)
    assert [r["right"] for r in s["rows"]] == sorted(r["right"] for r in s["rows"])


def test_the_tap_belongs_where_all_cylinders_meet(lean):
    """A runner also holds the velocity of its own blowdown as pressure, and swings with it; the turbine sees the collector."""
    assert lean.taps[0]["place"] == "collector"
    assert lean.taps[0]["pulsation_pa"] < 0.3 * min(row["pulsation_pa"] for row in lean.taps[1:])
    case = SIX.set_all({"cylinder.5.fuel": -0.06, "pressure_tap.cylinder": 2})
    alone = predict(case, alike=False).pressure_tap
    row = next(row for row in lean.taps if row["place"] == "runner 2")
    assert row["reading_pa"] == pytest.approx(alone["reading_pa"], abs=20.0)
    gauge = lean.pressure_gauge
    assert gauge["full_scale_bar"] * 1e5 * holes.WORK_SHARE >= gauge["mean_pa"]
    smaller = max(r for r in holes.RANGES_BAR if r < gauge["full_scale_bar"])
    assert smaller * 1e5 < gauge["least_full_scale_pa"]


def test_a_thick_probe_may_not_share_a_runner(lean):
    assert lean.shared["may_share"]
    case = SIX.set_all({"probe.1.junction_diameter": "10 mm", "probe.1.immersion": "40 mm"})
    row = predict(case).probes[0]
    found = holes.shared(case, row, 2e5, lean.pressure_gauge)
    assert found["blocked_fraction"] == pytest.approx(4.0 / (math.pi / 4.0 * 4.2**2), rel=1e-6)
    assert not found["may_share"]


@pytest.mark.parametrize(
    ("case", "more", "words"),
    [
        (load(EXAMPLES / "bench.toml"), {}, "bench case has no manifold"),
        (DIVIDED, {"probes": 7}, "6 places.*write 1 to 6"),
        (DIVIDED, {"probes": 0}, "write 1 to 6"),
        (DIVIDED, {"samples": 3}, "outside 100"),
        (DIVIDED, {"seed": -1}, "negative"),
    ],
)
def test_what_cannot_be_asked(case, more, words):
    with pytest.raises(CaseError, match=words):
        placement(case, **more)


def test_too_many_placements():
    with pytest.raises(CaseError, match="ask for fewer"):
        chances.placements(17, 8)


@pytest.mark.parametrize("family", ["us", "metric"])
def test_print(alike, lean, family):
    for found in (alike, lean):
        console = Console(width=80, record=True, highlight=False, file=io.StringIO())
        print_placement(found, family, console)
        text = console.export_text()
        assert max(map(len, text.splitlines())) <= 80
        assert ("degF" if family == "us" else "degC") in text
        assert " best" in text
        assert "chain of volumes" in " ".join(text.split())
        assert "safe" not in text.lower()


def test_data_and_picture(lean, tmp_path):
    from hotside.sim.pictures import save_picture
    from hotside.sim.verbs.placement.plot import draw

    again = json.loads(json.dumps(lean.to_dict(), allow_nan=False))
    assert again == lean.to_dict()
    rows = list(csv.DictReader(io.StringIO(csv_text(lean))))
    assert [row["places"] for row in rows] == [" ".join(map(str, r["places"])) for r in lean.ranking]
    assert float(rows[0]["chance"]) == pytest.approx(lean.ranking[0]["chance"], rel=1e-5)
    save_picture(draw(lean, "us"), tmp_path / "placement.png")
    assert (tmp_path / "placement.png").stat().st_size > 10_000
