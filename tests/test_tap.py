"""The pressure tap line and the hole it starts from: balances, limits and independent formulas."""

import ht
import numpy as np
import pytest
from hotside.models import boss, tap
from scipy.integrate import solve_ivp
from scipy.special import jve

STEEL = tap.Tube(3.2e-3, 0.8e-3, 0.6, *tap.TUBE_METALS["stainless steel"])
COPPER = tap.Tube(3.2e-3, 0.8e-3, 0.6, *tap.TUBE_METALS["copper"])
HOT, AIR = 1050.0, 353.0


def lost(tube, t):
    """Heat through the outside at wall temperatures [W/m2]."""
    return np.array([tap.outside_coefficient(tube, one, AIR) * (one - AIR) for one in t])


@pytest.mark.parametrize("tube", [STEEL, COPPER, COPPER._replace(length=0.03)])
def test_heat_into_the_line_leaves_through_its_surface(tube):
    x, t = tap.wall_profile(tube, HOT, AIR, nodes=1601)
    section = np.pi * (tube.bore + tube.wall) * tube.wall
    entering = tube.conductivity * section * (t[0] - t[1]) / (x[1] - x[0])
    loss = lost(tube, t)
    leaving = np.pi * (tube.bore + 2.0 * tube.wall) * np.trapezoid(loss, x)
    assert entering == pytest.approx(leaving, rel=2e-3)
    assert np.all(np.diff(t) < 0.0)


def test_profile_follows_the_energy_integral_of_a_long_fin():
    """k A T'' = P q(T) integrates once: the slope at the root follows from q alone, whatever h depends on."""
    x, t = tap.wall_profile(STEEL, HOT, AIR, nodes=1601)
    levels = np.linspace(AIR, HOT, 4001)
    heat = np.trapezoid(lost(STEEL, levels), levels)
    perimeter = np.pi * (STEEL.bore + 2.0 * STEEL.wall)
    section = np.pi * (STEEL.bore + STEEL.wall) * STEEL.wall
    slope = np.sqrt(2.0 * perimeter / (STEEL.conductivity * section) * heat)
    assert (t[0] - t[20]) / x[20] == pytest.approx(slope, rel=0.02)


def test_line_too_thin_for_the_air_to_move_is_the_textbook_fin():
    """Still air only conducts (Nu = 0.36), radiation is nothing beside that: the loss is the same all along."""
    bore, wall, rise = 3e-8, 1e-8, 0.1
    section = np.pi * (bore + wall) * wall
    m = np.sqrt(0.36 * tap.conductivity(AIR) * np.pi / (16.0 * section))
    for spread in (0.1, 1.0, 3.0):
        tube = tap.Tube(bore, wall, spread / m, 16.0, 0.6)
        end = tap.gauge_temperature(tube, AIR + rise, AIR)
        assert (end - AIR) / rise == pytest.approx(1.0 / np.cosh(spread), rel=0.01)


def test_grid_is_fine_enough():
    coarse, fine = (tap.wall_profile(COPPER, HOT, AIR, nodes)[1][-1] for nodes in (161, 1281))
    assert coarse == pytest.approx(fine, abs=0.05)


def test_longer_line_is_cooler_and_copper_carries_further():
    ends = [tap.gauge_temperature(COPPER._replace(length=length), HOT, AIR) for length in (0.1, 0.3, 0.6, 1.2)]
    assert np.all(np.diff(ends) < 0.0)
    assert ends[2] > tap.gauge_temperature(STEEL, HOT, AIR)


@pytest.mark.parametrize("tube", [STEEL, COPPER])
@pytest.mark.parametrize("limit", [360.0, 378.0, 473.0])
def test_length_for_a_limit_is_the_length_that_just_holds_it(tube, limit):
    length = tap.length_for(tube, HOT, AIR, limit)
    assert tap.gauge_temperature(tube._replace(length=length), HOT, AIR) == pytest.approx(limit, abs=0.01)


@pytest.mark.parametrize("length", [0.005, 0.02, 0.06, 0.1, 0.3])
@pytest.mark.parametrize("conductivity", [16.0, 380.0])
def test_quadrature_and_finite_volumes_agree(length, conductivity):
    """Two routes to one fin: its first integral, and a grid of finite volumes."""
    tube = tap.Tube(3e-3, 0.9e-3, length, conductivity, 0.6)
    expected = tap.wall_profile(tube, HOT, AIR, nodes=641)[1][-1] - AIR
    assert tap.gauge_temperature(tube, HOT, AIR) - AIR == pytest.approx(expected, rel=1e-4, abs=1e-3)
    x, t = tap.cooled(tube, HOT, AIR)
    assert (x[0], x[-1], t[0]) == pytest.approx((0.0, length, HOT), abs=1e-6)
    assert np.all(np.diff(t) < 0.0)


def test_a_very_long_line_ends_at_the_air():
    for conductivity in (16.0, 380.0):
        end = tap.gauge_temperature(tap.Tube(3e-3, 0.9e-3, 10.0, conductivity, 0.6), HOT, AIR)
        assert end == pytest.approx(AIR, abs=1e-6)
    assert tap.gauge_temperature(STEEL, AIR, AIR) == AIR


def test_length_for_a_limit_that_no_length_or_any_length_meets():
    assert tap.length_for(STEEL, HOT, AIR, AIR) == np.inf
    assert tap.length_for(STEEL, 370.0, AIR, 378.0) == 0.0


def test_refuses_a_tube_without_size():
    with pytest.raises(ValueError, match="length 0 m"):
        tap.wall_profile(STEEL._replace(length=0.0), HOT, AIR)


@pytest.mark.parametrize("rayleigh", [1e-2, 10.0, 1e3, 1e6])
def test_natural_convection_against_ht(rayleigh):
    found = tap.natural_nusselt(rayleigh, 0.7)
    assert found == pytest.approx(ht.Nu_horizontal_cylinder_Churchill_Chu(0.7, rayleigh / 0.7), rel=1e-9)


def test_air_properties_against_coolprop():
    coolprop = pytest.importorskip("CoolProp.CoolProp")
    for t in (300.0, 400.0, 600.0, 900.0):
        assert tap.viscosity(t) == pytest.approx(coolprop.PropsSI("V", "T", t, "P", 1e5, "Air"), rel=0.045)
        assert tap.conductivity(t) == pytest.approx(coolprop.PropsSI("L", "T", t, "P", 1e5, "Air"), rel=0.03)


LINE = (1.5e-3, np.full(40, 0.02), np.full(40, 350.0), 2.0e5)


def test_lag_is_the_slope_of_the_phase_at_low_frequency():
    """Also with hot and cold pieces and a restrictor: two routes, Bessel line and summed resistance."""
    bores = np.array([2e-3, 0.5e-3, 2e-3, 2e-3])
    pieces = (bores, np.array([0.05, 0.005, 0.3, 0.3]), np.array([900.0, 600.0, 400.0, 350.0]), 2.0e5)
    for line in (LINE, pieces):
        frequency = 1e-3 / tap.lag(*line, 4e-6, 1e-12)
        ratio = tap.transmission(frequency, *line, 4e-6, 1e-12)
        delay = -np.angle(ratio) / (2.0 * np.pi * frequency)
        assert delay == pytest.approx(tap.lag(*line, 4e-6, 1e-12), rel=1e-3)
        assert abs(ratio) == pytest.approx(1.0, abs=1e-4)


@pytest.mark.parametrize("stokes", [1e-3, 0.1, 1.0, 5.0, 12.0, 23.9, 24.1, 50.0, 400.0, 1e4])
def test_wall_layer_against_library_bessel_functions(stokes):
    z = stokes * np.sqrt(-1j)
    assert tap.wall_layer(stokes) == pytest.approx(2.0 * jve(1, z) / (z * jve(0, z)), rel=1e-12)


def test_cutting_a_uniform_line_into_pieces_changes_nothing():
    frequency = np.array([5.0, 60.0, 300.0, 2000.0])
    whole = tap.transmission(frequency, 1.5e-3, [0.8], [350.0], 2e5, 2e-6)
    assert np.allclose(whole, tap.transmission(frequency, *LINE, 2e-6), rtol=1e-9)


@pytest.mark.parametrize("frequency", [5.0, 70.0, 400.0])
def test_pieces_converge_to_the_differential_equation(frequency):
    """Rott's two equations integrated along a smooth temperature profile, from the gauge back to the boss."""
    bore, pressure, volume, length = 2e-3, 2e5, 2e-6, 0.5
    omega = 2.0 * np.pi * frequency

    def profile(x):
        return AIR + 600.0 * np.exp(-x / 0.1)

    def back(s, state):
        x = length - s
        series, shunt, share = tap.line_constants(omega, bore, profile(x), pressure)
        slope = -6000.0 * np.exp(-x / 0.1) / profile(x)
        return [series * state[1], shunt * state[0] - share * slope * state[1]]

    start = np.array([1.0, 1j * omega * volume / pressure])
    solved = solve_ivp(back, (0.0, length), start, rtol=1e-9, atol=1e-30)
    edges = np.linspace(0.0, length, 201)
    middle = 0.5 * (edges[1:] + edges[:-1])
    found = tap.transmission(frequency, bore, np.diff(edges), profile(middle), pressure, volume)
    assert found == pytest.approx(1.0 / solved.y[0, -1], rel=2e-3)


def test_default_cutting_is_fine_enough():
    frequency = np.array([5.0, 70.0, 400.0])
    few, many = (tap.transmission(frequency, 2e-3, *tap.pieces(COPPER, HOT, AIR, n), 2e5, 2e-6) for n in (24, 96))
    assert np.allclose(few, many, rtol=0.01)


def test_more_cavity_longer_line_or_finer_bore_is_slower():
    base = tap.lag(*LINE, 2e-6)
    assert tap.lag(*LINE, 4e-6) > base
    assert tap.lag(1.5e-3, [1.6], [350.0], 2e5, 2e-6) > 2.0 * base
    assert tap.lag(0.75e-3, *LINE[1:], 2e-6) > 10.0 * base


def test_pieces_keep_length_and_mean_temperature():
    lengths, temperatures = tap.pieces(COPPER, HOT, AIR)
    assert lengths.sum() == pytest.approx(COPPER.length)
    for (x, t), tolerance in ((tap.cooled(COPPER, HOT, AIR), 1e-9), (tap.wall_profile(COPPER, HOT, AIR), 2e-4)):
        assert np.sum(lengths * temperatures) == pytest.approx(np.trapezoid(t, x), rel=tolerance)


def test_whole_thread_in_a_flat_wall_and_under_a_boss():
    assert boss.full_thread(1e3, 8e-3, 10e-3, 1e-3) == pytest.approx(7e-3, abs=1e-6)
    assert boss.full_thread(21e-3, 3e-3, 10e-3, 1e-3, boss_height=9e-3) == pytest.approx(11e-3)


def test_curved_wall_leaves_less_whole_thread_by_its_sag():
    sag = 21e-3 - np.sqrt(21e-3**2 - 5e-3**2)
    assert boss.full_thread(21e-3, 6e-3, 10e-3, 1e-3) == pytest.approx(5e-3 - sag)
    assert boss.full_thread(21e-3, 1.2e-3, 10e-3, 1e-3) == 0.0


@pytest.mark.parametrize("offset", [0.0, 2e-3, 6e-3, -6e-3])
def test_whole_thread_by_search_around_the_hole(offset):
    """Walk around the circle of the hole: the least outside less the greatest inside over the whole disc."""
    outer, inner, hole = 21e-3, 15e-3, 8e-3
    y = offset + 0.5 * hole * np.linspace(-1.0, 1.0, 20001)
    expected = np.sqrt(outer**2 - y**2).min() - np.sqrt(inner**2 - y**2).max() - 1e-3
    assert boss.full_thread(outer, outer - inner, hole, 1e-3, offset=offset) == pytest.approx(
        max(0.0, expected), abs=1e-9
    )


def test_boss_height_makes_the_thread_whole():
    needed = boss.engagement_needed(10e-3, boss.ENGAGEMENT["cast iron"])
    assert needed == pytest.approx(15e-3)
    height = boss.boss_height_for(21e-3, 4e-3, 10e-3, 1e-3, needed)
    assert boss.full_thread(21e-3, 4e-3, 10e-3, 1e-3, boss_height=height) == pytest.approx(needed)
    assert boss.boss_height_for(1.0, 30e-3, 10e-3, 1e-3, needed) is None


def test_hole_that_misses_the_bore_is_refused_with_its_numbers():
    with pytest.raises(ValueError, match=r"0\.0190 m"):
        boss.full_thread(21e-3, 3e-3, 10e-3, 1e-3, offset=14e-3)


def test_what_the_hole_leaves():
    assert boss.section_left(1.0, 1e-3, 0.01) == pytest.approx(1.0 - 0.01 / (2.0 * np.pi * 0.9995), rel=1e-6)
    assert boss.ligament(12e-3, 10e-3) == pytest.approx(7e-3)
    assert boss.ligament_margin(12e-3, 10e-3) == pytest.approx(-3e-3)
    assert boss.hole_stress(2e5, 21e-3, 2e-3) == pytest.approx(2.5 * 2e5 * 10.0)
    assert boss.blow_out_factor(8e3, 2e5, 10e-3) == pytest.approx(509.3, rel=1e-3)
    assert boss.blockage(20e-3, 3.2e-3, 20e-3) == pytest.approx(0.0509, rel=1e-3)
    with pytest.raises(ValueError, match="far wall"):
        boss.blockage(20e-3, 3.2e-3, 41e-3)
    with pytest.raises(ValueError, match="mean diameter"):
        boss.section_left(21e-3, 2e-3, 45e-3)


@pytest.mark.parametrize("name", list(boss.TAPERS))
def test_taper_threads_engage_further_than_hand_tight(name):
    drill, pitch, hand, useful = boss.TAPERS[name]
    assert 3.0 * pitch < hand < useful < drill
