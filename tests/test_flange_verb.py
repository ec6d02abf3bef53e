"""`hotside flange`: torque, clamp through the heat, conical washers, margins, boss, refusals, print and picture.

What a result is held against is worked out here from the standards' formulas, not read back from the verb.
"""

import json
import math
import subprocess
import sys
import tomllib
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from hotside.models import boss, discs, materials, threads, tightening
from hotside.models import flange as bolting
from hotside.sim import CaseError, FlangeResult, flange, load, new, options, predict
from hotside.sim.sections import SPECS
from hotside.sim.verbs.flange.table import print_flange
from rich.console import Console
from scipy.optimize import brentq

EXAMPLES = Path(__file__).resolve().parent.parent / "examples"
DEMO = load()
GIVEN = {"flange.wall_temperature": "650 degC", "flange.gas_pressure": "1.6 bar"}  # nothing has to be solved
ELASTIC = {
    "flange.stud_metal": "660",
    "flange.near_metal": "321",
    "flange.far_metal": "321",
}  # no stud yields at 650 degC
SPRINGS = {
    "flange.washers.outer_diameter": "23 mm",
    "flange.washers.inner_diameter": "10.5 mm",
    "flange.washers.thickness": "2.5 mm",
    "flange.washers.cone": "0.30 mm",
    "flange.washers.nested": 4,
    "flange.washers.opposed": 4,
    "flange.washers.friction": 0.0,
}


def checked(*changes: dict[str, Any], **more: Any) -> FlangeResult:
    """The verb on the demo with heat and gas given."""
    wishes: dict[str, Any] = dict(GIVEN)
    for change in (*changes, {f"flange.{k}": v for k, v in more.items()}):
        wishes |= change
    return flange(DEMO.set_all(wishes))


def clamp(result: FlangeResult, arrangement: str, preload: str = "usual") -> dict[str, Any]:
    return next(c for c in result.clamps if c["arrangement"] == arrangement and c["preload"] == preload)


def joint(result: FlangeResult, arrangement: str) -> dict[str, Any]:
    return next(j for j in result.joints if j["arrangement"] == arrangement)


def margin(result: FlangeResult, name: str) -> dict[str, Any]:
    return next(m for m in result.margins if m["name"] == name)


SETS = [part for name, value in GIVEN.items() for part in ("--set", f"{name}={value}")]

# ------------------------------------------------------------------------------------- conical washers and their rate


def almen_laszlo(s: float, outer: float, inner: float, t: float, h: float, modulus: float) -> float:
    """EN 16984 written out once more [N]."""
    d = outer / inner
    k1 = ((d - 1.0) / d) ** 2 / ((d + 1.0) / (d - 1.0) - 2.0 / math.log(d)) / math.pi
    scale = 4.0 * modulus / (1.0 - 0.3**2) * t**3 / (k1 * outer**2)
    return scale * s * ((h / t - s / t) * (h / t - 0.5 * s / t) + 1.0)


def test_clamp_lost_follows_from_the_springs():
    """Elastic joint: length lost is settling alone; the force it costs is that length through the springs in series."""
    r = checked(ELASTIC, SPRINGS)
    w = r.check.washers["conical washers"]
    modulus = materials.modulus(materials.STUDS["718"], r.cold_temperature_k)

    def travel(force: float) -> float:
        one = brentq(
            lambda s: 4.0 * almen_laszlo(s, w.outer_diameter, w.inner_diameter, w.thickness, w.cone, modulus) - force,
            0.0, w.cone, xtol=1e-15,
        )  # fmt: skip
        return 4.0 * one

    for arrangement, spring in (("plain", lambda force: 0.0), ("conical washers", travel)):
        j, c = joint(r, arrangement), clamp(r, arrangement)
        own = j["stud_compliance_m_per_n"] + j["parts_compliance_m_per_n"]
        assert c["stretched_m"] == 0.0
        before, after = c["tightened_n"], c["cold_again_n"]
        assert (before - after) * own + spring(before) - spring(after) == pytest.approx(j["settling_m"], rel=1e-5)


def test_loss_ratio_is_what_the_compliance_ratio_predicts():
    r = checked(ELASTIC, SPRINGS)
    plain, sprung = joint(r, "plain"), joint(r, "conical washers")
    w, preload = r.check.washers["conical washers"], r.preload_usual_n
    modulus = materials.modulus(materials.STUDS["718"], r.cold_temperature_k)
    disc = discs.Disc(w.outer_diameter, w.inner_diameter, w.thickness, w.cone, modulus)
    one = brentq(lambda s: 4.0 * discs.disc_force(disc, s) - preload, 0.0, disc.cone, xtol=1e-15)
    of_stack = 4.0 / (4.0 * discs.disc_rate(disc, one))  # four packets in series, four discs in each
    own = [j["stud_compliance_m_per_n"] + j["parts_compliance_m_per_n"] for j in (plain, sprung)]
    expected = (sprung["settling_m"] / (own[1] + of_stack)) / (plain["settling_m"] / own[0])
    found = clamp(r, "conical washers")["lost_n"] / clamp(r, "plain")["lost_n"]
    assert found == pytest.approx(expected, rel=5e-3)
    assert found < 0.5


def test_each_packet_settles_too_and_every_washer_lengthens_the_stud():
    r = checked(ELASTIC, SPRINGS)
    plain, sprung = joint(r, "plain"), joint(r, "conical washers")
    interface = bolting.SETTLING[40e-6][2]
    assert sprung["settling_m"] - plain["settling_m"] == pytest.approx(4 * interface)
    shank = r.check.flange.shank_diameter
    longer = 16 * 2.5e-3 / (math.pi / 4.0 * shank**2) / materials.modulus(materials.STUDS["660"], r.cold_temperature_k)
    assert sprung["stud_compliance_m_per_n"] - plain["stud_compliance_m_per_n"] == pytest.approx(longer)


@pytest.mark.parametrize("stud", ["8.8", "10.9", "42CrMo4", "660", "718"])
@pytest.mark.parametrize("wall", ["350 degC", "550 degC", "750 degC"])
def test_with_opposed_washers_less_clamp_is_lost(stud, wall):
    """Proposed washers, usual friction: the loss over the heat cycle is smaller with them, whatever the stud."""
    r = checked(stud_metal=stud, wall_temperature=wall)
    plain, sprung = clamp(r, "plain"), clamp(r, "conical washers")
    assert sprung["lost_n"] < plain["lost_n"]
    assert sprung["lost_share"] < plain["lost_share"]


def test_more_opposed_packets_lose_less_and_more_nested_lose_more():
    lost = [
        clamp(checked(ELASTIC, SPRINGS | {"flange.washers.opposed": n}), "conical washers")["lost_n"]
        for n in (1, 2, 4, 8)
    ]
    assert lost == sorted(lost, reverse=True)
    soft, stiff = (
        clamp(checked(ELASTIC, SPRINGS | {"flange.washers.nested": n}), "conical washers")["lost_n"] for n in (4, 8)
    )
    assert stiff > soft


def test_the_washers_proposed_are_a_spring_and_stand_the_heat():
    r = checked(stud_metal="660")
    w = joint(r, "conical washers")
    assert not any(c["washers_flat"] for c in r.clamps)
    assert w["washers_flat_force_n"] > r.preload_highest_n
    assert w["washers_stress_pa"] < materials.yield_stress(materials.STUDS[w["washers"]["metal"]], materials.ROOM)
    limit = materials.LIMITS[f"{w['washers']['metal']} conical washer"].continuous
    assert limit > r.stud_temperature_k
    assert joint(checked(stud_temperature="120 degC"), "conical washers")["washers"]["metal"] == "51CrV4"


def test_washers_past_flat_are_said_with_the_number():
    r = checked(ELASTIC, SPRINGS | {"flange.washers.nested": 1})
    flat = joint(r, "conical washers")["washers_flat_force_n"]
    modulus = materials.modulus(materials.STUDS["718"], r.cold_temperature_k)
    assert flat == pytest.approx(almen_laszlo(0.3e-3, 23e-3, 10.5e-3, 2.5e-3, 0.3e-3, modulus))
    assert any(f"lie flat at {flat / 1e3:.3g} kN" in w and "no spring" in w for w in r.warnings)
    row = margin(r, "washer_force_to_flat_n")
    assert row["exceeded"]
    assert row["limit"] <= flat
    assert clamp(r, "conical washers")["washers_flat"]


# ------------------------------------------------------------------------------------------------------------- torque


def test_the_band_is_what_friction_leaves():
    """Slippery threads at the highest torque reach the share of yield; sticky ones at the lowest keep just what is wanted."""
    r = checked(ELASTIC, clamp_factor=20.0, sealing_force="30 kN")
    size, pitch = threads.THREADS["M10"]
    k, scatter = tightening.NUT_FACTOR["pasted"]
    assert (r.nut_factor, r.scatter) == (k, scatter)
    strength = materials.yield_stress(materials.STUDS["660"], r.cold_temperature_k)
    yields = tightening.yield_preload(size, pitch, strength, tightening.FRICTION["pasted"][1], 1.0)
    assert r.stud_yield_tightening_n == pytest.approx(yields)
    high = tightening.preload_band(r.tightening_torque_highest_nm, k, scatter, size)[2]
    assert high == pytest.approx(0.9 * yields)
    assert (
        r.tightening_torque_nm
        == r.tightening_torque_proposed_nm
        == pytest.approx(r.tightening_torque_highest_nm / 1.04)
    )
    low = tightening.preload_band(r.tightening_torque_lowest_nm, k, scatter, size)[0]
    kept = bolting.clamp_cycle(r.check.built["plain"].joint, low)
    wanted = (20.0 * r.gas_force_n + 30e3) / 4
    assert min(kept.settled, kept.hot, kept.cooled) == pytest.approx(wanted, rel=1e-6)
    assert r.clamp_wanted_n == pytest.approx(4.0 * wanted)


def test_gas_force_is_peak_pressure_on_the_opening():
    r = checked(opening_area="2000 mm2", gas_pressure="2.5 bar", studs=5)
    assert r.gas_force_n == pytest.approx(500.0)
    assert r.clamp_left_hot_n == pytest.approx(5 * clamp(r, "plain", "lowest")["hot_n"] - 500.0)
    assert r.clamp_left_cold_again_n == pytest.approx(5 * clamp(r, "plain", "lowest")["cold_again_n"] - 500.0)


def test_paste_lowers_friction_so_a_dry_torque_overloads():
    r = checked(ELASTIC)
    dry, pasted = (next(s for s in r.surfaces if s["surface"] == name) for name in ("dry", "pasted"))
    assert dry["torque_proposed_nm"] > 1.9 * pasted["torque_proposed_nm"]
    assert dry["preload_here_n"] == pytest.approx(dry["torque_proposed_nm"] / (0.12 * 0.01))
    assert dry["yield_share_here"] > 1.0 > pasted["yield_share_here"]
    with pytest.raises(CaseError, match="past the"):
        checked(ELASTIC, torque=f"{dry['torque_proposed_nm']:.1f} Nm")
    assert not any("torque" in w for w in checked(ELASTIC, torque="50 Nm", lubrication="dry").warnings)


def test_the_friction_formula_stands_beside_the_nut_factor():
    r = checked(lubrication="oiled")
    size, pitch = threads.THREADS["M10"]
    bearing = 0.5 * sum(threads.HEXAGON[size])
    expected = [
        tightening.torque_long(r.preload_usual_n, size, pitch, bearing, mu, mu) for mu in tightening.FRICTION["oiled"]
    ]
    assert r.tightening_torque_formula_nm == pytest.approx(expected)
    assert expected[0] < r.tightening_torque_nm < expected[2]


def test_own_nut_factor_and_scatter_replace_the_usual_ones():
    usual, own = checked(), checked(nut_factor=0.15, scatter=0.10)
    assert (own.nut_factor, own.scatter) == (0.15, 0.10)
    ratio = own.tightening_torque_highest_nm / usual.tightening_torque_highest_nm
    assert ratio == pytest.approx(0.15 * 0.90 / (0.12 * 0.75))


@pytest.mark.parametrize(
    ("angle", "reach"), [("0 deg", 345.0), ("45 deg", 300.0 + 45.0 * math.sqrt(0.5)), ("90 deg", 300.0)]
)
def test_adapter(angle, reach):
    r = checked(
        {"flange.adapter.wrench_length": "300 mm", "flange.adapter.extension": "45 mm", "flange.adapter.angle": angle}
    )
    assert r.wrench_setting_nm == pytest.approx(r.tightening_torque_nm * 300.0 / reach)
    assert checked().wrench_setting_nm is None


def test_adapter_past_the_grip_is_refused():
    back = {
        "flange.adapter.wrench_length": "80 mm",
        "flange.adapter.extension": "90 mm",
        "flange.adapter.angle": "180 deg",
    }
    with pytest.raises(CaseError, match=r"past the grip: effective length -0\.0100 m"):
        checked(back)


def test_turn_of_the_nut_takes_up_the_whole_joint():
    r = checked(ELASTIC)
    j = joint(r, "plain")
    whole = j["stud_compliance_m_per_n"] + j["parts_compliance_m_per_n"]
    assert r.turn_deg == pytest.approx(360.0 * r.preload_usual_n * whole / 1.5e-3)
    assert checked(ELASTIC, SPRINGS).turn_deg > 3.0 * r.turn_deg


def test_torque_that_stretches_no_hot_stud():
    """At that torque slippery threads leave the hot stud just at its proof stress."""
    r = checked(ELASTIC, stud_metal="42CrMo4", stud_temperature="400 degC")
    high = tightening.preload_band(r.tightening_torque_elastic_hot_nm, r.nut_factor, r.scatter, 0.01)[2]
    hot = bolting.clamp_cycle(r.check.built["plain"].joint, high).hot
    area = threads.stress_area(*threads.THREADS["M10"])
    proof = area * materials.proof_stress(materials.STUDS["42CrMo4"], 673.15)
    assert r.tightening_torque_elastic_hot_nm < r.tightening_torque_highest_nm
    assert hot == pytest.approx(proof, rel=1e-6)


# ------------------------------------------------------------------------------------------------------ heat and clamp


def test_flange_and_stud_follow_the_wall():
    r = checked()
    air = DEMO.ambient.temperature
    assert r.flange_temperature_k == pytest.approx(air + 0.9 * (923.15 - air))
    assert r.stud_temperature_k == pytest.approx(air + 0.75 * (923.15 - air))
    own = checked(flange_temperature="500 degC", stud_temperature="420 degC")
    assert (own.flange_temperature_k, own.stud_temperature_k) == (773.15, pytest.approx(693.15))


def test_growth_by_hand():
    """12 mm of one metal and 12 mm of another against 24 mm of stud."""
    r = checked(near_metal="grey iron", far_metal="304", stud_metal="660")

    def strain(metal, temperature):
        return materials.thermal_strain(metal, temperature, r.cold_temperature_k)

    parts = sum(12e-3 * strain(materials.CASTINGS[m], r.flange_temperature_k) for m in ("grey iron", "304"))
    expected = parts - 24e-3 * strain(materials.STUDS["660"], r.stud_temperature_k)
    assert joint(r, "plain")["growth_m"] == pytest.approx(expected)


def test_common_studs_let_go_and_heat_resisting_ones_hold():
    common, resisting = (
        checked(stud_metal="8.8", wall_temperature="750 degC"),
        checked(ELASTIC, wall_temperature="750 degC"),
    )
    assert clamp(common, "plain")["lost_share"] > 0.9 > 0.4 > clamp(resisting, "plain")["lost_share"]
    assert any(w.startswith("The studs yield hot") for w in common.warnings)
    assert not any(w.startswith("The studs yield hot") for w in resisting.warnings)
    assert common.tightening_torque_lowest_nm is None
    assert margin(common, "stud_force_hot_n")["exceeded"]
    assert margin(common, "stud_temperature_k")["exceeded"]


def test_the_path_ends_where_the_heat_cycle_ends():
    for changes in ({}, ELASTIC, SPRINGS | ELASTIC):
        r = checked(changes)
        for arrangement in ("plain", "conical washers"):
            path, c = r.check.path(arrangement), clamp(r, arrangement)
            assert path.warming[0] == pytest.approx(c["settled_n"], rel=1e-6)
            assert path.warming[-1] == pytest.approx(c["hot_n"], rel=1e-6)
            assert path.cooling[-1] == pytest.approx(c["hot_n"], rel=1e-6)
            assert path.cooling[0] == pytest.approx(c["cold_again_n"], rel=1e-6)
            assert np.all(path.warming <= path.bearable * (1.0 + 1e-9))
            assert path.wall[-1] == pytest.approx(r.wall_temperature_k)


def test_a_gasket_softens_settles_and_is_named_less_clamp():
    bare, gasket = (checked(ELASTIC, change) for change in ({}, {"flange.gasket.thickness": "1.5 mm"}))
    assert joint(gasket, "plain")["parts_compliance_m_per_n"] > joint(bare, "plain")["parts_compliance_m_per_n"]
    assert joint(gasket, "plain")["settling_m"] == pytest.approx(joint(bare, "plain")["settling_m"] + 10e-6 + 2e-6)
    assert clamp(gasket, "plain")["lost_n"] > clamp(bare, "plain")["lost_n"]


def test_tapped_flange_strips_by_shear_of_its_threads():
    r = checked(ELASTIC, holding="tapped", engagement="8 mm", far_metal="grey iron")
    iron = materials.CASTINGS["grey iron"]
    hot = math.pi * 0.875 * 10e-3 * 8e-3 * materials.shear_strength(iron, r.flange_temperature_k)
    row = margin(r, "flange_thread_strip_force_hot_n")
    assert row["limit"] == pytest.approx(hot)
    assert row["value"] == clamp(r, "plain", "highest")["hot_n"]
    assert row["exceeded"]
    assert any(w.startswith("The thread strips") for w in r.warnings)
    assert not any("strip" in m["name"] for m in checked().margins)


def test_margins_are_sorted_and_the_least_is_named():
    r = checked(ELASTIC, SPRINGS, paste="copper")
    shares = [m["share"] for m in r.margins]
    assert shares == sorted(shares)
    assert r.least_margin == r.margins[0]["name"]
    for m in r.margins:
        assert m["exceeded"] == (m["margin"] < 0.0) == (m["share"] < 0.0)
    assert margin(r, "clamp_hot_n")["value"] == 4 * clamp(r, "conical washers", "lowest")["hot_n"]
    assert margin(r, "clamp_hot_n")["limit"] == pytest.approx(3.0 * r.gas_force_n)
    area = threads.stress_area(*threads.THREADS["M10"])
    hot = margin(r, "stud_force_hot_n")
    assert hot["value"] == clamp(r, "conical washers", "highest")["hot_n"]
    assert hot["limit"] == pytest.approx(area * materials.proof_stress(materials.STUDS["660"], r.stud_temperature_k))
    assert margin(r, "paste_temperature_k")["limit"] == materials.LIMITS["copper anti-seize paste"].continuous


# ---------------------------------------------------------------------------------------------------------- prediction


@pytest.mark.parametrize("source", [None, EXAMPLES / "uneven.toml"], ids=["demo", "uneven"])
def test_wall_and_gas_are_those_of_the_prediction(source):
    case = load(source)
    p = predict(case)
    collector = next(probe for probe in p.probes if probe["cylinder"] == "collector")
    r = flange(case)
    assert r.wall_temperature_k == pytest.approx(collector["wall_temperature_k"], abs=0.01)
    assert r.gas_pressure_mean_pa == pytest.approx(p.backpressure_pa, rel=2e-3)
    assert r.gas_pressure_peak_pa > r.gas_pressure_mean_pa
    assert r.wall_source == "predicted, collector"
    runner = flange(case.set("flange.place", 3))
    assert runner.wall_temperature_k == pytest.approx(p.cylinders[2]["runner_wall_temperature_k"], abs=0.01)
    hotter = flange(case.set("flange.wall_temperature", "820 degC"))
    assert (hotter.wall_source, hotter.pressure_source) == ("given", "predicted, collector")
    assert hotter.gas_pressure_peak_pa == pytest.approx(r.gas_pressure_peak_pa, rel=1e-6)


def test_two_collectors_take_the_hotter_wall_and_both_pressures():
    r = flange(load(EXAMPLES / "divided_four.toml"))
    one = flange(load(EXAMPLES / "divided_four.toml").set("flange.place", "collector 1"))
    assert r.wall_source == "predicted, hotter collector"
    assert r.wall_temperature_k >= one.wall_temperature_k
    assert r.gas_pressure_mean_pa < r.gas_pressure_peak_pa < one.gas_pressure_peak_pa


def test_held_backpressure_has_no_collector_and_says_so():
    case = DEMO.set("run.held_backpressure", "1.4 bar")
    r = flange(case)
    assert "hottest runner" in r.wall_source
    assert r.gas_pressure_peak_pa == pytest.approx(1.4e5, rel=1e-3)
    assert any("held by hand" in w for w in r.warnings)


def test_a_bench_needs_heat_and_gas_given():
    bench = load(EXAMPLES / "bench.toml")
    with pytest.raises(CaseError, match="bench case has no manifold"):
        flange(bench)
    assert flange(bench.set_all(GIVEN)).wall_source == "given"


def test_a_case_without_flange_gets_a_stand_in_and_hears_so():
    r = checked()
    assert any("stand-in is checked, 4 studs M10 of 8.8" in w for w in r.warnings)
    assert "flange.thread" in r.guesses
    known = checked(studs=3, thread="M8")
    assert not any("stand-in is checked" in w for w in known.warnings)
    assert "flange.thread" not in known.guesses


# ----------------------------------------------------------------------------------------------------------------- boss


def test_boss_by_the_physics_room():
    wishes = {"boss.thread": "M14x1.5", "boss.wall": "4 mm", "boss.inner_diameter": "40 mm", "boss.edge": "18 mm"}
    r = checked(wishes | {"boss.metal": "grey iron"})
    b = r.boss
    radius = 24e-3
    assert b["whole_thread_m"] == pytest.approx(boss.full_thread(radius, 4e-3, 14e-3, 1.5e-3))
    assert b["whole_thread_needed_m"] == pytest.approx(1.5 * 14e-3)
    assert b["boss_height_needed_m"] == pytest.approx(21e-3 + 1.5e-3 - 4e-3)
    assert b["wall_left_share"] == pytest.approx(boss.section_left(radius, 4e-3, 14e-3))
    assert b["wall_to_edge_m"] == pytest.approx(18e-3 - 7e-3)
    assert b["gas_push_n"] == pytest.approx(1.6e5 * math.pi / 4.0 * 14e-3**2)
    exceeded = {m["name"] for m in b["margins"] if m["exceeded"]}
    assert {"boss_whole_thread_m", "boss_edge_distance_m"} <= exceeded
    assert any("a flat boss 18.5 mm above the crown would" in w for w in r.warnings)


def test_a_flat_boss_of_the_height_asked_for_is_enough():
    bare = checked({"boss.thread": "1/8-27 NPT"})
    need = bare.boss["boss_height_needed_m"]
    _, pitch, hand, _ = boss.TAPERS["1/8-27 NPT"]
    assert bare.boss["whole_thread_needed_m"] == pytest.approx(hand + 2.0 * pitch)
    built = checked({"boss.thread": "1/8-27 NPT", "boss.height": f"{1e3 * need + 0.01:.3f} mm"})
    assert not built.boss["margins"][0]["exceeded"]
    assert not any("whole thread" in w for w in built.warnings)
    assert bare.boss["probe_blockage_share"] == pytest.approx(
        boss.blockage(0.5 * bare.check.case.boss.inner_diameter, 3e-3, bare.check.case.probe[-1].immersion)
    )


def test_boss_in_another_place_takes_its_own_heat():
    r = flange(load(EXAMPLES / "uneven.toml").set_all({"boss.place": 3, "boss.wall": "5 mm", "flange.studs": 4}))
    assert r.boss["wall_temperature_k"] < r.wall_temperature_k  # a runner beside the collector
    assert r.boss["place"] == 3


# ------------------------------------------------------------------------------------------------------------- refusing

REFUSED = [
    ({"flange.torque": "80 Nm"}, r"flange\.torque = 80 Nm pulls 66\.7 kN on pasted threads, past the 34\.1 kN"),
    ({"flange.wall_temperature": "1100 degC"}, r"flanges at 992 degC .* hold from -80 to 900 degC"),
    ({"flange.stud_temperature": "950 degC"}, r"studs at 950 degC .* data of 8\.8"),
    ({"flange.wall_temperature": "650"}, r"has no unit \(degC, degF, K\)"),
    ({"flange.washers.cone": "4 mm"}, r"1\.60 times the thickness: past 1\.41"),
    ({"flange.washers.inner_diameter": "9 mm"}, "does not go over the M10 thread"),
    ({"flange.washers.outer_diameter": "12 mm"}, "leaves no cone"),
    ({"flange.hole_diameter": "9 mm"}, "does not let the M10 thread through"),
    ({"flange.face_diameter": "10 mm"}, "falls into the hole"),
    ({"flange.edge_diameter": "12 mm"}, "less than the nut's face"),
    ({"flange.shank_diameter": "14 mm"}, "thicker than the M10 thread"),
    ({"flange.thread": "M11"}, "is no known thread; did you mean"),
    ({"flange.stud_metal": "12.9"}, r"not one of 8\.8"),
    ({"flange.paste": "copper", "flange.lubrication": "dry"}, "does not go with"),
    ({"flange.place": 7}, "is not in this engine"),
    ({"flange.place": "collector 2"}, "one collector"),
    ({"flange.bolts": 4}, r"flange\.bolts is no known input"),
    ({"flange.roughness": "0.2 mm"}, "is outside 0.001 mm to 0.16 mm"),
    ({"boss.thread": "M20", "boss.inner_diameter": "18 mm"}, "does not enter a bore of 18 mm"),
    ({"boss.thread": "M20", "boss.offset": "15 mm"}, r"boss: hole reaching 0\.0250 m"),
    ({"flange.wall_temperature": "890 degC", "boss.place": "collector", "flange.flange_rise": 1.02}, r"flanges at 907 degC \(wall 890"),
    ({"flange.wall_temperature": "905 degC", "boss.wall": "4 mm"}, "boss: the wall at 905 degC is outside the data of 304"),
]  # fmt: skip


@pytest.mark.parametrize(
    ("changes", "says"), REFUSED, ids=lambda v: next(iter(v.items())).__str__()[:50] if isinstance(v, dict) else ""
)
def test_what_cannot_be_is_refused_in_one_sentence(changes, says):
    with pytest.raises(CaseError, match=says) as caught:
        checked(changes)
    text = str(caught.value)
    assert "\n" not in text
    assert text.endswith((".", "?"))
    assert len(text) < 400


def test_the_command_line_refuses_with_status_2(run, tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    for arguments, says in (
        (["--set", "flange.torque=80 Nm"], "past the 34.1 kN"),
        (["--wall", "1300 degC"], "given twice"),
        (["--plot", "clamp.txt"], "ends in none of"),
        (["--plot", "none/clamp.png"], "is no directory"),
        (["--units", "imperial"], 'neither "us" nor "metric"'),
    ):
        status, out, err = run("flange", *SETS, *arguments)
        assert (status, out) == (2, "")
        assert says in err
        assert len(err.strip().splitlines()) == 1
    assert run("flange", "--wall", "hot")[0] == 2
    assert list(tmp_path.iterdir()) == []


def test_exceeded_physics_is_a_warning_and_not_a_refusal():
    r = checked(ELASTIC, torque="32 Nm")
    assert r.tightening_torque_nm == 32.0
    assert any("flange.torque = 32 Nm is more than the" in w and "past yield" in w for w in r.warnings)
    assert any("less than the" in w for w in checked(ELASTIC, torque="2 Nm").warnings)
    opened = checked(ELASTIC, torque="2 Nm", gas_pressure="12 bar", opening_area="20000 mm2")
    assert any(w.startswith("The gas opens the joint") or "loose" in w for w in opened.warnings)


def test_random_flanges_end_in_a_result_or_a_sentence():
    """Every input thrown about within its bounds: no traceback, no figure that is not finite."""
    rng = np.random.default_rng(11)
    answered = 0
    for _ in range(60):
        wishes = dict(GIVEN)
        for name, spec in SPECS.items():
            if not name.startswith(("flange.", "boss.")) or rng.random() < 0.55:
                continue
            if spec.choices:
                wishes[name] = str(rng.choice(spec.choices))
            elif spec.kind == "thread":
                wishes[name] = str(rng.choice(list(threads.THREADS)))
            elif spec.kind == "integer":
                wishes[name] = int(rng.integers(spec.low, min(spec.high, 8) + 1))
            elif spec.kind in ("number", "fraction"):
                wishes[name] = float(rng.uniform(spec.low, spec.high))
            elif spec.kind == "length":
                usual = spec.read(tomllib.loads(f"x = {spec.like}")["x"]) or 1e-3
                wishes[name] = f"{1e3 * min(max(usual * rng.uniform(0.7, 1.4), spec.low), spec.high):.4f} mm"
        wishes |= {"flange.wall_temperature": f"{rng.uniform(-40.0, 900.0):.0f} degC"}
        if any(n.startswith("flange.adapter") for n in wishes):
            wishes |= {"flange.adapter.wrench_length": "300 mm", "flange.adapter.extension": "40 mm"}
        if any(n.startswith("flange.gasket") for n in wishes):
            wishes |= {"flange.gasket.thickness": "1 mm"}
        wishes.pop("boss.place", None)
        found = outcome(wishes)
        if isinstance(found, str):
            assert "\n" not in found
            continue
        answered += 1
        assert all(math.isfinite(x) for x in numbers(found))
    assert answered > 15


def outcome(wishes: dict[str, Any]) -> dict[str, Any] | str:
    """The result, or the sentence of its refusal; anything else that is raised fails the test."""
    try:
        return flange(DEMO.set_all(wishes)).to_dict()
    except CaseError as error:
        return str(error)


def numbers(value: Any) -> list[float]:
    if isinstance(value, dict):
        return [n for v in value.values() for n in numbers(v)]
    if isinstance(value, list | tuple):
        return [n for v in value for n in numbers(v)]
    return [value] if isinstance(value, float) else []


# --------------------------------------------------------------------------------------------- doors, print and picture


def test_the_door_stays_the_function(run):
    """The verb's module must not shadow the verb, whoever imported it first."""
    run("flange", *SETS)
    import hotside.sim

    assert hotside.sim.flange is flange
    assert callable(hotside.sim.flange)


def test_json_is_the_dict(run):
    status, out, _ = run("flange", *SETS, "--json")
    assert status == 0
    assert json.loads(out) == json.loads(options.json_text(checked().to_dict()))


def test_wall_on_the_command_line(run):
    out = run("flange", "--wall", "650 degC", "--set", "flange.gas_pressure=1.6 bar", "--json")[1]
    assert json.loads(out)["wall_temperature_k"] == pytest.approx(923.15)


def printed(result: FlangeResult, family: str = "metric", width: int = 80) -> str:
    console = Console(width=width, highlight=False, record=True, file=open("/dev/null", "w"))  # noqa: SIM115
    print_flange(result, family, console)
    return console.export_text()


def test_the_table_holds_what_a_person_needs():
    r = checked(ELASTIC, SPRINGS, {"boss.wall": "5 mm"}, paste="nickel")
    text = printed(r)
    assert max(len(line) for line in text.splitlines()) <= 80
    flat = " ".join(text.split())
    for words in (
        "650 degC", "torque to set", "sticky", "cold again", "conical washers (fitted)", "margins, the least first",
        "margins of the boss", "a dry torque on pasted threads overloads", "maker gives a torque, that figure rules",
        "check every nut again cold after the first heat", "Not calculated: creep", "the hot side burns", "EN 16984", "Lost over the heat cycle",
    ):  # fmt: skip
        assert words in flat, words
    assert "nan" not in text
    us = printed(r, "us", 120)
    assert "degF" in us
    assert "lb ft" in us
    assert "degC" not in us.split("warnings")[0].split("submodels")[0]


def test_every_sentence_is_whole():
    for r in (
        checked(),
        checked(wall_temperature="780 degC"),
        checked(ELASTIC, SPRINGS | {"flange.washers.nested": 1}),
    ):
        for sentence in r.warnings:
            assert sentence[0].isupper() or sentence.startswith("flange.")
            assert sentence.endswith(".")
            assert "nan" not in sentence


def test_picture(run, tmp_path):
    pytest.importorskip("matplotlib")
    path = tmp_path / "clamp.png"
    status, out, _ = run("flange", *SETS, "--plot", str(path))
    assert status == 0
    assert path.read_bytes()[:8] == b"\x89PNG\r\n\x1a\n"
    assert path.stat().st_size > 20_000
    assert "torque to set" in out
    assert run("flange", *SETS, "--plot", str(path))[0] == 2
    assert run("flange", *SETS, "--plot", str(path), "--force")[0] == 0
    assert list(tmp_path.iterdir()) == [path]


def test_picture_shows_both_ways_with_units():
    pytest.importorskip("matplotlib")
    from hotside.sim.verbs.flange.plot import draw

    r = checked(ELASTIC)
    figure = draw(r, "metric")
    axes = figure.axes[0]
    assert axes.get_xlabel() == "wall temperature [degC]"
    assert axes.get_ylabel() == "force of one stud [kN]"
    labels = [text.get_text() for text in figure.legends[0].get_texts()]
    assert any("without washers" in t for t in labels)
    assert any("conical washers" in t for t in labels)
    warming = next(line for line in axes.get_lines() if line.get_label() == "without washers (fitted), warming")
    assert warming.get_ydata()[-1] == pytest.approx(clamp(r, "plain")["hot_n"] / 1e3)
    assert warming.get_xdata()[-1] == pytest.approx(650.0)


def test_matplotlib_is_loaded_only_for_a_picture():
    code = (
        "import sys; from hotside.sim import flange, load\n"
        f"flange(load().set_all({GIVEN!r}))\n"
        "print([m for m in ('matplotlib',) if m in sys.modules])"
    )
    out = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True).stdout
    assert out.strip() == "[]"


# --------------------------------------------------------------------------------------------------------------- inputs


def test_choices_are_those_of_the_physics_rooms():
    assert set(SPECS["flange.stud_metal"].choices) == set(materials.STUDS)
    assert set(SPECS["flange.near_metal"].choices) == set(SPECS["boss.metal"].choices) == set(materials.CASTINGS)
    assert set(SPECS["flange.lubrication"].choices) == set(tightening.NUT_FACTOR)
    for metal in SPECS["flange.washers.metal"].choices:
        assert f"{metal} conical washer" in materials.LIMITS
    for paste in SPECS["flange.paste"].choices:
        assert f"{paste} anti-seize paste" in materials.LIMITS


def test_designations_may_be_written_as_numbers():
    for value, name in ((8.8, "8.8"), (660, "660"), ("10.9", "10.9")):
        assert DEMO.set("flange.stud_metal", value).flange.stud_metal == name


def test_the_starting_case_offers_the_flange_and_takes_it():
    text = new.starting_case()
    start, end = text.index("#[flange]"), len(text)
    lines = [
        line[1:] if line.startswith("#") and not line.startswith("# [") else line
        for line in text[start:end].splitlines()
    ]
    case = load(tomllib.loads(text[:start] + "\n".join(lines) + text[end:]))
    assert case.flange.washers is not None
    assert case.flange.gasket is not None
    assert case.flange.adapter is not None
    assert case.boss is not None
    assert load(tomllib.loads(text)).flange is None


def test_engagement_of_a_through_stud_is_named_as_not_read():
    case = DEMO.set("flange.engagement", "12 mm")
    assert "flange.engagement" in case.unread
    unread = DEMO.set_all({"flange.engagement": "12 mm", "flange.holding": "tapped"}).unread
    assert not [name for name in unread if name.startswith("flange")]


def test_sentences_speak_the_units_asked_for(run):
    """A joint that is past its edges says so in pounds and Fahrenheit where these are asked for."""
    for family, other in (("us", ("kN", "degC")), ("metric", ("lbf", "degF"))):
        out = run("flange", "--set", "flange.thread=M8", "--wall", "700 degC", "--units", family)[1]
        said = out.split("\nwarnings\n", 1)[1].split("\nsubmodels\n", 1)[0]
        assert not any(unit in said for unit in other), said
        assert ("lbf" in said or "degF" in said) is (family == "us")
