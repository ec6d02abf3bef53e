"""The bolted joint: limits, signs and balances that hold whatever the constants are; metals and bosses beside it."""

import math

import numpy as np
import pytest
from hotside.models import flange, materials
from hotside.models.flange import Disc, Joint, Stack

B20 = Disc(20e-3, 10.2e-3, 0.8e-3, 0.55e-3)
PLAIN = Joint(4e-9, 4.4e-9, 0.0, 0.0, 60e3, 40e3)


def test_rate_is_the_slope_of_the_force():
    for s in np.linspace(0.02, 0.98, 9) * B20.cone:
        slope = (flange.disc_force(B20, s + 1e-8) - flange.disc_force(B20, s - 1e-8)) / 2e-8
        assert flange.disc_rate(B20, s) == pytest.approx(slope, rel=1e-5)


def test_flat_force_is_the_linear_one():
    """At s = h0 the bracket of EN 16984 is 1: the force equals rate-free K h0 t^3."""
    linear = 4.0 * B20.modulus / (1.0 - 0.09) * B20.cone * B20.thickness**3 / B20.outer**2
    d = B20.outer / B20.inner
    k1 = ((d - 1.0) / d) ** 2 / ((d + 1.0) / (d - 1.0) - 2.0 / math.log(d)) / math.pi
    assert flange.disc_force(B20, B20.cone) == pytest.approx(linear / k1, rel=1e-12)


@pytest.mark.parametrize("function", [flange.disc_force, flange.disc_rate, flange.disc_stress])
def test_past_flat_is_refused_with_the_number(function):
    with pytest.raises(ValueError, match=r"0\.5500 mm"):
        function(B20, 0.56e-3)


def test_series_adds_travel_and_parallel_adds_force():
    one = flange.disc_force(B20, 0.3e-3)
    assert flange.stack_force(Stack(B20, 1, 4), 1.2e-3) == pytest.approx(one)
    assert flange.stack_force(Stack(B20, 3, 2), 0.6e-3) == pytest.approx(3.0 * one)
    assert flange.stack_force(Stack(B20, 3, 2, 0.02), 0.6e-3) == pytest.approx(3.0 * one / 0.96)


def test_stack_deflection_inverts_and_turns_solid():
    stack = Stack(B20, 2, 3)
    for travel in (0.1e-3, 0.8e-3, 1.5e-3):
        found, flat = flange.stack_deflection(stack, flange.stack_force(stack, travel))
        assert found == pytest.approx(travel, rel=1e-9)
        assert not flat
    assert flange.stack_deflection(stack, 1e6) == (pytest.approx(3 * B20.cone), True)
    with pytest.raises(ValueError, match="snap"):
        flange.stack_deflection(Stack(B20._replace(cone=1.3e-3), 1, 1), 100.0)


def test_disc_stress_of_a_usual_washer_stays_under_the_limit_of_the_standard():
    assert -1600e6 < flange.disc_stress(B20, B20.cone) < -1000e6


def test_paste_on_a_dry_torque_overloads():
    diameter = flange.THREADS["M10"][0]
    dry, pasted = flange.NUT_FACTOR["dry"], flange.NUT_FACTOR["pasted"]
    torque = flange.torque_short(25e3, dry[0], diameter)
    low, nominal, high = flange.preload_band(torque, *pasted, diameter)
    assert nominal == pytest.approx(62.5e3)
    assert low < nominal < high
    assert high / low == pytest.approx((1.0 + pasted[1]) / (1.0 - pasted[1]))


def test_nut_factor_agrees_with_the_long_form():
    """Shigley's rows lie within the range that VDI's friction classes give, for a hexagon M10."""
    diameter, pitch = flange.THREADS["M10"]
    bearing = 0.5 * sum(flange.HEXAGON[diameter])
    for surface, (low, _, high) in flange.FRICTION.items():
        bounds = [flange.torque_long(1.0, diameter, pitch, bearing, mu, mu) / diameter for mu in (low, high)]
        assert bounds[0] < flange.NUT_FACTOR[surface][0] < bounds[1]


def test_yield_preload_without_torsion_is_plain_tension():
    diameter, pitch = flange.THREADS["M10"]
    frictionless = flange.yield_preload(diameter, 1e-12, 640e6, 0.0)
    assert frictionless == pytest.approx(0.9 * 640e6 * 0.25 * math.pi * diameter**2, rel=1e-6)
    assert flange.yield_preload(diameter, pitch, 640e6, 0.12, waist=7e-3) < flange.yield_preload(
        diameter, pitch, 640e6, 0.12
    )


def test_wrench_adapter_turned_back_asks_for_more_and_refuses_the_hand():
    assert flange.wrench_setting(50.0, 0.4, 0.05, math.pi) == pytest.approx(50.0 * 0.4 / 0.35)
    with pytest.raises(ValueError, match="grip"):
        flange.wrench_setting(50.0, 0.05, 0.06, math.pi)


def test_thread_strips_beyond_the_stud_when_engaged_a_diameter_in_like_metal():
    diameter, pitch = flange.THREADS["M10"]
    breaking = 800e6 * flange.stress_area(diameter, pitch)
    assert flange.strip_force(diameter, pitch, diameter, 0.58 * 800e6) > breaking
    assert flange.strip_force(diameter, pitch, diameter, 0.58 * 800e6, internal=False) > breaking
    assert flange.strip_force(diameter, pitch, 0.3 * diameter, 0.58 * 800e6) < breaking


def test_stud_compliance_of_a_long_plain_rod_is_length_over_area():
    area = 0.25 * math.pi * 0.01**2
    found = flange.stud_compliance(0.01, 0.0015, [10.0], [area], 205e9)
    assert found == pytest.approx(10.0 / (area * 205e9), rel=5e-3)
    assert flange.stud_compliance(0.01, 0.0015, [0.02], [area], 205e9, headed=True) < flange.stud_compliance(
        0.01, 0.0015, [0.02], [area], 205e9
    )


def test_clamped_parts_between_cylinder_and_cone():
    args = ([0.01, 0.01], [200e9, 200e9], 0.0146, 0.011)
    cylinder = 0.02 / (200e9 * 0.25 * math.pi * (0.0146**2 - 0.011**2))
    assert flange.parts_compliance(*args, 0.0146) == pytest.approx(cylinder, rel=1e-9)
    assert flange.parts_compliance(*args, 0.1) < flange.parts_compliance(*args, 0.018) < cylinder
    assert flange.parts_compliance(*args, 0.1, flange.TAPPED) < flange.parts_compliance(*args, 0.1)
    soft = flange.parts_compliance([0.01, 0.001, 0.01], [200e9, 5e9, 200e9], 0.0146, 0.011, 0.1)
    assert soft > 1.5 * flange.parts_compliance(*args, 0.1)


def test_linear_joint_follows_the_textbook():
    """Force change = growth difference over compliance, and stiffness that fades with heat takes its share."""
    joint = PLAIN._replace(growth=20e-6, settling=8e-6)
    clamp = flange.clamp_cycle(joint, 25e3)
    assert clamp.settled == pytest.approx(25e3 - 8e-6 / 4e-9)
    assert clamp.hot == pytest.approx((25e3 * 4e-9 - 8e-6 + 20e-6) / 4.4e-9)
    assert clamp.cooled == pytest.approx(clamp.settled)
    assert clamp.plastic == clamp.hot_gap == clamp.cold_gap == 0.0


def test_yielding_hot_is_lost_after_cooling():
    joint = PLAIN._replace(growth=60e-6, hot_yield_force=20e3)
    clamp = flange.clamp_cycle(joint, 25e3)
    assert clamp.hot == 20e3
    assert clamp.plastic == pytest.approx(25e3 * 4e-9 + 60e-6 - 20e3 * 4.4e-9)
    assert clamp.cooled == pytest.approx(max(0.0, 25e3 - clamp.plastic / 4e-9), abs=1e-6)
    worse = flange.clamp_cycle(joint._replace(growth=150e-6), 25e3)
    assert worse.cooled == pytest.approx(0.0, abs=1e-9)
    assert worse.cold_gap == pytest.approx(worse.plastic - 25e3 * 4e-9)


def test_joint_that_shrinks_away_from_its_stud_opens():
    clamp = flange.clamp_cycle(PLAIN._replace(growth=-150e-6), 25e3)
    assert clamp.hot == pytest.approx(0.0, abs=1e-9)
    assert clamp.hot_gap == pytest.approx(50e-6)
    assert clamp.cooled == pytest.approx(25e3)


def test_conical_washers_hold_the_clamp_where_growth_takes_it():
    """The same 80 um either way: a plain joint goes loose or grows fivefold, opposed pairs of washers move by 15 %."""
    washers = Stack(Disc(25e-3, 12.2e-3, 1.5e-3, 0.55e-3), 2, 4)
    for growth in (-80e-6, 80e-6):
        plain, sprung = (
            flange.clamp_cycle(Joint(4e-9, 4e-9, growth, 0.0, 60e3, 60e3, stack), 5e3)
            for stack in (flange.NO_STACK, washers)
        )
        assert abs(sprung.hot - 5e3) < 0.15 * 5e3 < abs(plain.hot - 5e3)
        assert not sprung.washers_flat


def test_flat_washers_are_said_and_the_joint_is_plain_again():
    washers = Stack(Disc(25e-3, 12.2e-3, 1.5e-3, 0.55e-3), 1, 2)
    joint = PLAIN._replace(growth=-20e-6, stack=washers, hot_compliance=4e-9)
    clamp = flange.clamp_cycle(joint, 20e3)
    assert clamp.washers_flat
    assert clamp.hot == pytest.approx(20e3 - 20e-6 / 4e-9)


def test_force_and_interference_are_inverse():
    washers = Stack(B20, 2, 3, 0.02)
    for force in (10.0, 900.0, 1900.0, 5e3):
        amount = flange.interference(force, 4e-9, washers)
        assert flange.force_of(amount, 4e-9, washers) == pytest.approx(force, rel=1e-6)


def test_refuses_a_joint_that_is_not_tightened():
    with pytest.raises(ValueError, match="preload 0 N"):
        flange.clamp_cycle(PLAIN, 0.0)


def test_gas_parts_the_flange():
    parting = flange.gas_force(3e5, 2.5e-3)
    assert parting == pytest.approx(750.0)
    assert flange.clamp_left(1000.0, 4, parting) == pytest.approx(3250.0)
    share = flange.load_factor(4e-9, 1e-9)
    assert share == pytest.approx(0.2)
    assert flange.clamp_left(1000.0, 4, parting, share) == pytest.approx(4000.0 - 0.8 * 750.0)
    assert flange.clamp_left(0.0, 4, parting) < 0.0


def test_settling_grows_with_roughness_and_ends_with_its_table():
    fine, rough = (flange.roughness_settling(r, 2, 2, 3) for r in (5e-6, 100e-6))
    assert fine == pytest.approx((2 * 3.0 + 2 * 2.5 + 3 * 1.5) * 1e-6)
    assert rough > fine
    with pytest.raises(ValueError, match="200 um"):
        flange.roughness_settling(200e-6, 1, 1, 1)


def heated(stud: str, flange_metal: str, celsius: float) -> flange.Clamp:
    """M10 stud, 10 + 10 mm flanges of one metal, tightened to half its cold yield, all at one temperature."""
    hot = celsius + 273.15
    diameter, pitch = flange.THREADS["M10"]
    area = flange.stress_area(diameter, pitch)
    face, hole = flange.HEXAGON[diameter]
    bolt, plate = materials.STUDS[stud], materials.CASTINGS[flange_metal]
    total = []
    for t in (materials.ROOM, hot):
        stretch = flange.stud_compliance(diameter, pitch, [0.02], [area], materials.modulus(bolt, t))
        squeeze = flange.parts_compliance([0.01, 0.01], 2 * [materials.modulus(plate, t)], face, hole, 0.03)
        total.append(stretch + squeeze)
    strains = 2 * [materials.thermal_strain(plate, hot)]
    growth = flange.growth_difference([0.01, 0.01], strains, materials.thermal_strain(bolt, hot))
    cold_force, hot_force = (area * materials.yield_stress(bolt, t) for t in (materials.ROOM, hot))
    settling = flange.roughness_settling(10e-6, 2, 2, 1)
    return flange.clamp_cycle(Joint(*total, growth, settling, cold_force, hot_force), 0.5 * cold_force)


def test_common_stud_in_stainless_flange_lets_go_where_the_heat_resisting_one_holds():
    """The trade's experience: a class 8.8 stud yields at 600 degC and is loose cold; alloy 660 keeps its clamp."""
    common, resisting = heated("8.8", "321", 600.0), heated("660", "321", 600.0)
    assert common.plastic > 0.0
    assert common.cooled < 0.2 * common.settled
    assert resisting.cooled > 0.9 * resisting.settled
    assert resisting.hot > common.hot


def test_stainless_stud_in_iron_flange_loosens_hot_and_comes_back():
    clamp = heated("A4-80", "silicon-molybdenum ductile iron", 350.0)
    assert clamp.hot < 0.8 * clamp.settled
    assert clamp.cooled == pytest.approx(clamp.settled)


@pytest.mark.parametrize("name", [*materials.STUDS, *materials.CASTINGS])
def test_metals_soften_and_grow_with_heat(name):
    metal = {**materials.STUDS, **materials.CASTINGS}[name]
    assert all(np.diff(metal.yield_mpa) < 0.0)
    assert all(np.diff(metal.modulus_gpa) < 0.0)
    assert all(np.diff(metal.expansion_ppm) >= 0.0)
    assert metal.yield_mpa[0] <= metal.tensile_mpa
    assert len(metal.yield_mpa) == len(metal.modulus_gpa) == len(metal.expansion_ppm) == len(materials.GRID)
    assert metal.source


def test_thermal_strain_starts_at_the_tightening_temperature():
    metal = materials.STUDS["660"]
    assert materials.thermal_strain(metal, 400.0, 400.0) == 0.0
    assert materials.thermal_strain(metal, 873.15) == pytest.approx(17.8e-6 * 580.0, rel=1e-6)
    whole = materials.thermal_strain(metal, 800.0)
    assert materials.thermal_strain(metal, 400.0) + materials.thermal_strain(metal, 800.0, 400.0) == pytest.approx(
        whole
    )


def test_margin_to_proof_is_less_than_to_yield_and_shrinks_with_heat():
    area = flange.stress_area(*flange.THREADS["M10"])
    margins = []
    for celsius in (20.0, 300.0, 600.0):
        stud, t = materials.STUDS["10.9"], celsius + 273.15
        margins.append(flange.stud_margin(30e3, area, materials.proof_stress(stud, t)))
        assert margins[-1] < flange.stud_margin(30e3, area, materials.yield_stress(stud, t))
    assert margins[0] == pytest.approx(1.0 - 30e3 / (area * 0.9 * 940e6))
    assert margins[0] > margins[1] > 0.0 > margins[2]


def test_hot_thread_in_iron_strips_more_easily():
    iron = materials.CASTINGS["grey iron"]
    cold, hot = (materials.shear_strength(iron, t) for t in (materials.ROOM, 873.15))
    assert cold == pytest.approx(0.58 * 250e6)
    assert hot == pytest.approx(0.4 * cold)


def test_metal_table_ends_with_its_number():
    with pytest.raises(ValueError, match=r"1200\.0 K"):
        materials.yield_stress(materials.STUDS["660"], 1200.0)


def test_limits_are_ordered_and_say_whence():
    for name, limit in materials.LIMITS.items():
        assert 300.0 < limit.continuous <= limit.brief, name
        assert limit.source, name
    paste = materials.LIMITS["metal-free anti-seize paste"]
    assert paste.continuous == pytest.approx((2400.0 - 32.0) / 1.8 + 273.15, abs=1.0)
    assert materials.temperature_margin(paste.continuous, paste.continuous + 10.0) == pytest.approx(-10.0)
