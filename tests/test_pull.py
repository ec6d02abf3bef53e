"""Pulls: when each speed is reached, how far the needles are behind, and the value at which to lift; none on the demo."""

import dataclasses
import itertools
import json
import math
from functools import cache
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from hotside.models import motion, warming
from hotside.sim import CaseError, load, predict, pull
from hotside.sim.setup import prepare
from hotside.sim.steady import read, solve
from hotside.sim.streams import stream
from hotside.sim.verbs.pull import grid, lift, needles, walls
from hotside.sim.verbs.pull.run import furnished
from scipy.integrate import trapezoid

EXAMPLES = Path(__file__).resolve().parent.parent / "examples"
DYNO = {
    "pull.by": "dyno",
    "pull.ramp": "400 rpm/s",
    "pull.begins": "3000 rpm",
    "pull.ends": "5000 rpm",
    "pull.points": 6,
}
GEAR = {"pull.begins": "3200 rpm", "pull.points": 6}


def case_of(name: str, probes=None, line=None, **sets):
    raw = load(EXAMPLES / f"{name}.toml").to_dict()
    raw |= {} if probes is None else {"probe": probes}
    raw |= {} if line is None else {"pressure_tap": {"cylinder": "collector"} | line}
    return furnished(load(raw)).set_all(sets)


@cache
def dyno(**sets: Any):
    return pull(case_of("uneven", **(DYNO | sets)))


@cache
def gear(**sets: Any):
    return pull(case_of("divided_four", **(GEAR | sets)))


# ------------------------------------------------------------------------------------------------------------ motion

CAR = motion.Vehicle(1000.0, 5.0, 0.3, 0.7, 0.012, 0.9, 3.0, 0.2, 0.0)


def test_torque_that_meets_the_road_load_holds_the_speed():
    """Force times radius over ratio, paid for with the driveline's loss."""
    force = motion.road_load(CAR, motion.road_speed(CAR, 500.0), 1.2)
    assert force == pytest.approx(0.5 * 1.2 * 0.7 * 30.0**2 + 1000.0 * 9.80665 * 0.012)
    assert motion.crank_acceleration(CAR, force * 0.3 / 5.0 / 0.9, 500.0, 1.2) == pytest.approx(0.0, abs=1e-12)


def test_without_losses_it_is_newtons_law():
    body = CAR._replace(drag_area=0.0, rolling=0.0, efficiency=1.0, wheel_inertia=0.0, engine_inertia=0.0)
    assert motion.crank_acceleration(body, 200.0, 300.0, 1.2) * 0.3 / 5.0 == pytest.approx(200.0 * 5.0 / 0.3 / 1000.0)


def test_energy_of_a_pull_adds_up():
    """Brake work = energy of engine, wheels and mass, and work against the road, what passes the driveline with its loss."""
    r, v = gear(), case_of("divided_four", **GEAR).vehicle
    t, w, road = np.array(r.time_s), np.array(r.speed_rpm) * math.pi / 30.0, np.array(r.road_speed_m_s)
    body = motion.Vehicle(
        v.mass, v.gear_ratio * v.final_drive, v.tyre_radius, v.drag_area, v.rolling_resistance, v.driveline_efficiency,
        v.wheel_inertia, v.engine_inertia, v.slope,
    )  # fmt: skip
    case = load(EXAMPLES / "divided_four.toml")
    density = case.ambient.pressure / 287.05 / case.ambient.temperature
    work = trapezoid(np.array(r.torque_nm) * w, t)
    against = trapezoid([motion.road_load(body, float(s), density) * s for s in road], t)
    gained = (
        0.5 * v.mass * (road[-1] ** 2 - road[0] ** 2)
        + 0.5 * v.wheel_inertia * (road[-1] ** 2 - road[0] ** 2) / v.tyre_radius**2
    )
    own = 0.5 * v.engine_inertia * (w[-1] ** 2 - w[0] ** 2)
    assert work == pytest.approx(own + (gained + against) / v.driveline_efficiency, rel=3e-3)


def test_a_dyno_ramp_takes_the_time_of_its_ramp():
    r = dyno()
    assert r.duration_s == pytest.approx(5.0)
    assert r.road_speed_m_s is None
    assert np.allclose(np.diff(r.time_s), 5.0 / 48.0)


def test_a_heavier_vehicle_takes_longer_and_its_needle_gets_further():
    """More time at each speed, less lag left."""
    light, heavy = gear(), gear(**{"vehicle.mass": "2200 kg"})
    assert heavy.duration_s > 1.5 * light.duration_s
    assert heavy.probes[0]["needle_k"][-1] > light.probes[0]["needle_k"][-1] + 10.0
    assert heavy.probes[0]["behind_at_end_k"] < light.probes[0]["behind_at_end_k"]


# ------------------------------------------------------------------------------------------------------ engine, walls


def test_the_engine_of_each_point_is_that_of_predict():
    r = dyno()
    for point in (r.points[0], r.points[3]):
        p = predict(case_of("uneven").set("run.speed", f"{point['speed_rpm']!r} rpm"))
        assert point["boost_pa"] == pytest.approx(p.boost_pa, rel=1e-4)
        assert point["torque_nm"] == pytest.approx(p.torque_nm, rel=1e-4)
        assert point["readings_k"] == pytest.approx([q["reading_k"] for q in p.probes], abs=0.05)


@pytest.mark.parametrize("name", ["uneven", "tractor_six", "divided_four"])
def test_gas_beside_colder_walls_is_that_of_a_colder_manifold(name):
    """The stirred-volume formula against the full solution, its walls made colder by a strong wind outside.

    Pulses make the true answer differ by a tenth: most gas passes quickly, what stays longest cools most.
    """
    case = case_of(name)
    places = [1, "collector" if case.exhaust.collectors == 1 else "collector 1"]

    def solved(case):
        march, ending = solve(prepare(case))
        read(march, ending)
        return grid._walls(march), [stream(march, place) for place in places]

    warm, before = solved(case)
    cold, after = solved(case.set("exhaust.outer_coefficient", "200 W/m2/K"))
    lacking = walls.deficits(warm, cold.settled)[1]
    for a, b in zip(before, after, strict=True):
        assert a.wall - b.wall > 80.0
        assert lacking[a.row] == pytest.approx(a.flow_weighted - b.flow_weighted, rel=0.16)


def test_a_settled_wall_takes_what_it_loses():
    """At its settled temperature, with nothing lacking, the heat in is hA (gas - wall), whatever the share."""
    assert warming.heat_in(20.0, 1000.0, 900.0, 900.0, 0.3, 0.0) == pytest.approx(2000.0)
    assert warming.deficit(0.2, 10.0, 100.0) == pytest.approx(28.0)
    assert warming.wall_share(0.0, 0.1, 1300.0) == 0.0


def test_walls_warm_towards_their_settled_temperature():
    """Thin walls hold less heat and get further; all stay below what they would settle at."""
    thick, thin = dyno(), dyno(**{"pull.wall_thickness": "1.5 mm"})
    for a, b in zip(thick.walls, thin.walls, strict=True):
        assert a["start_k"] < a["end_k"] < b["end_k"] < b["settled_k"]
    assert {row["part"] for row in thick.walls} == {"runner 1", "runner 2", "runner 3", "runner 4", "collector"}


def test_walls_held_stay_where_the_cruise_left_them():
    held, warm = dyno(**{"pull.wall": "held", "pull.cruise_wall": "420 degC"}), dyno(**{"pull.cruise_wall": "420 degC"})
    assert all(row["start_k"] == row["end_k"] == pytest.approx(693.15) for row in held.walls)
    assert held.probes[0]["needle_k"][-1] < warm.probes[0]["needle_k"][-1]  # colder walls, colder gas, more radiation


# ----------------------------------------------------------------------------------------------------------- needles


def test_a_slow_enough_pull_reads_what_predict_reads():
    """A ramp of 10 rpm/s over minutes and thin walls: every lag is spent but what the ramp itself keeps them behind."""
    r = pull(
        case_of(
            "uneven", **(DYNO | {"pull.ramp": "10 rpm/s", "pull.begins": "4000 rpm", "pull.wall_thickness": "0.8 mm"})
        )
    )
    p = predict(case_of("uneven").set("run.speed", "5000 rpm"))
    for probe, settled in zip(r.probes, p.probes, strict=True):
        assert probe["needle_k"][-1] == pytest.approx(settled["reading_k"], abs=4.0)
        assert probe["needle_k"][-1] < settled["reading_k"]


def test_a_needle_follows_as_a_first_order_lag():
    """The same march done again by exact exponential steps."""
    r = dyno()
    for probe in r.probes:
        shown = r.cruise_reading_k
        t, level, lag = (np.array(x) for x in (r.time_s, probe["settling_reading_k"], probe["time_constant_s"]))
        fine = np.linspace(0.0, t[-1], 20001)
        goal, slow = np.interp(fine, t, level), np.interp(fine, t, lag)
        for g, s, step in zip(goal[1:], slow[1:], np.diff(fine), strict=True):
            shown = g + (shown - g) * math.exp(-step / s)
        assert probe["needle_k"][0] == pytest.approx(r.cruise_reading_k)
        assert probe["needle_k"][-1] == pytest.approx(shown, abs=0.3)


def test_a_sheathed_probe_does_not_settle_in_a_five_second_pull():
    """3.2 mm of sheath has seconds of lag; a fine bare junction is nearly there, the thicker the sheath the further behind."""
    probes = [{"cylinder": 1, "kind": "bare", "junction_diameter": "0.5 mm"}] + [
        {"cylinder": 1, "junction_diameter": f"{d} mm"} for d in (1.5, 3, 6)
    ]
    r = pull(case_of("uneven", probes, **(DYNO | {"pull.wall": "held", "pull.cruise_wall": "620 degC"})))
    behind = [probe["settling_reading_k"][-1] - probe["needle_k"][-1] for probe in r.probes]
    assert behind == sorted(behind)
    assert behind[0] < 8.0
    assert behind[2] > 40.0
    assert any("No probe in runner 1" in text for text in r.warnings)


def test_the_cruise_is_where_the_needle_begins():
    hot, cold = dyno(**{"pull.cruise_reading": "650 degC"}), dyno(**{"pull.cruise_reading": "450 degC"})
    assert hot.probes[0]["needle_k"][0] == pytest.approx(923.15)
    assert 30.0 < hot.probes[0]["needle_k"][-1] - cold.probes[0]["needle_k"][-1] < 200.0


def test_the_tube_lags_by_its_time_constant():
    """A damped line behind a steady rise is late by lag times rate."""
    line = {"length": "900 mm", "bore": "2 mm", "restrictor": "0.2 mm", "cavity": "20 cc"}
    r = pull(case_of("uneven", line=line, **DYNO))
    p = predict(case_of("uneven", line=line).set("run.speed", "5000 rpm"))
    rate = np.gradient(r.tap_settled_pa, r.time_s)[-4]
    behind = r.tap_settled_pa[-4] - r.tap_needle_pa[-4]
    assert p.pressure_tap["lag_s"] > 0.01
    assert behind == pytest.approx(p.pressure_tap["lag_s"] * rate, rel=0.1)


# -------------------------------------------------------------------------------------------------------------- lift


def test_at_the_lift_speed_predict_reads_exactly_the_ceiling():
    """And the value given is what the lagging needle shows there."""
    case = case_of("uneven", **(DYNO | {"limits.probe_temperature": "800 degC", "pull.points": 9}))
    r = pull(case)
    probe = r.probes[2]
    assert probe["ceiling_reached"]
    p = predict(case.set("run.speed", f"{probe['lift_at_rpm']!r} rpm"))
    assert p.probes[2]["reading_k"] == pytest.approx(probe["ceiling_k"], rel=1e-3)
    assert probe["lift_k"] == pytest.approx(np.interp(probe["lift_at_rpm"], r.speed_rpm, probe["needle_k"]), abs=0.5)
    assert probe["lift_k"] < probe["ceiling_k"] - 20.0
    assert any("would settle past its ceiling" in text for text in r.warnings)


def test_backed_off_lies_below_the_edge_by_tolerance_and_reaction():
    r = dyno()
    for probe in r.probes:
        climb = np.gradient(probe["needle_k"], r.time_s)[-1]
        tolerance = 0.0075 * (probe["ceiling_k"] - 273.15)
        assert probe["lift_k"] - probe["lift_backed_off_k"] == pytest.approx(
            tolerance + lift.REACTION * climb, rel=0.05
        )


def test_lift_on_a_needle_made_by_hand():
    """Held reading 900 to 1100 K in 10 s, needle 100 K behind all the way, ceiling 1000 K: lift at 900 K, half-way."""
    t = np.linspace(0.0, 10.0, 11)
    held = 900.0 + 20.0 * t
    needle = needles.Needle(held, held, held - 100.0, np.ones(11))
    found = lift.lift(needle, t, 300.0 + 10.0 * t, 1000.0, 5.0)
    assert (found.value, found.speed, found.reached) == (pytest.approx(900.0), pytest.approx(350.0), True)
    assert found.backed_off == pytest.approx(900.0 - 5.0 - 20.0 * lift.REACTION)
    never = lift.lift(needle, t, 300.0 + 10.0 * t, 1150.0, 5.0)
    assert (never.value, never.speed, never.reached) == (pytest.approx(1050.0), pytest.approx(400.0), False)


# ---------------------------------------------------------------------------------------------------- command, words


def test_command_prints_writes_and_draws(run):
    sets = [part for name, value in GEAR.items() for part in ("--set", f"{name}={value}")]
    case = str(EXAMPLES / "divided_four.toml")
    status, out, err = run("pull", case, *sets, "--csv", "a.csv", "--plot", "a.png", "--units", "us")
    assert (status, "rpm" in err) == (0, True), "progress, on one line that moves on"
    for words in (
        "turbo's own lag is left out",
        "backed off",
        "walls warm in the pull",
        "Never lead an exhaust pressure tube",
        "mph",
    ):
        assert words in " ".join(out.split())
    rows = Path("a.csv").read_text().splitlines()
    assert len(rows) == 50
    assert "probe_1_needle_k" in rows[0]
    assert Path("a.png").stat().st_size > 20000
    status, out, err = run("pull", case, *sets, "--csv", "a.csv")
    assert (status, "is there already" in err) == (2, True)


def test_json_is_the_dict(run):
    sets = [part for name, value in GEAR.items() for part in ("--set", f"{name}={value}")]
    out = run("pull", str(EXAMPLES / "divided_four.toml"), *sets, "--json")[1]
    found, expected = json.loads(out), gear().to_dict()
    assert list(found) == list(expected)
    assert found["speed_rpm"] == expected["speed_rpm"]
    assert found["probes"][0]["needle_k"] == pytest.approx(expected["probes"][0]["needle_k"], abs=0.01)


def test_lists_have_one_length_and_rise():
    r = gear()
    columns = r.columns()
    assert {len(column) for column in columns.values()} == {49}
    for name in ("time_s", "speed_rpm", "road_speed_m_s"):
        assert all(b > a for a, b in itertools.pairwise(columns[name]))
    assert all(math.isfinite(x) for column in columns.values() for x in column if x is not None)


def test_a_speed_without_an_answer_is_left_out_and_named(monkeypatch):
    """The curves pass over it; a pull of which too little is left is refused."""
    whole = grid._point

    def without(low, high):
        return lambda case, speed: "not periodic" if low < case.run.speed_rpm < high else whole(case, speed)

    monkeypatch.setattr(grid, "_point", without(3500.0, 3900.0))
    r = pull(case_of("uneven", **DYNO))
    assert len(r.points) == 5
    assert "3800 rpm (not periodic)" in r.warnings[0]
    assert r.probes[0]["needle_k"][-1] == pytest.approx(dyno().probes[0]["needle_k"][-1], abs=1.0)
    monkeypatch.setattr(grid, "_point", without(3100.0, 4900.0))
    with pytest.raises(CaseError, match="only 2 of 6 speeds have a settled answer"):
        pull(case_of("uneven", **DYNO))


def test_what_is_unknown_is_no_column():
    unknown = dataclasses.replace(gear(), knock_margin_deg=[None] * 49, tap_needle_pa=None)
    assert set(gear().columns()) - set(unknown.columns()) == {"knock_margin_deg", "tap_needle_pa"}


@pytest.mark.parametrize(
    ("name", "sets", "words"),
    [
        (
            "divided_four",
            {"vehicle.mass": "40000 kg", "vehicle.slope": "30 %"},
            "in this gear the vehicle gets no faster than",
        ),
        ("divided_four", {"run.held_backpressure": "1 bar"}, "run.held_backpressure opens the loop"),
    ],
)
def test_a_pull_that_cannot_be_is_refused(name, sets, words):
    with pytest.raises(CaseError) as error:
        pull(case_of(name, **(GEAR | sets)))
    assert words in str(error.value)
    assert str(error.value).count("\n") == 0


def test_a_pull_that_does_not_rise_and_a_bench_are_refused():
    with pytest.raises(CaseError, match=r"pull.begins = 5900 rpm is not below pull.ends = 6000 rpm"):
        case_of("divided_four", **{"pull.begins": "5900 rpm"})
    with pytest.raises(CaseError, match="a bench case has no turbo"):
        pull(load(EXAMPLES / "bench.toml"))


def test_the_ramp_is_not_read_in_a_gear():
    assert "pull.ramp" in case_of("uneven", **{"pull.ramp": "200 rpm/s"}).unread
    assert "pull.ramp" not in case_of("uneven", **DYNO).unread
