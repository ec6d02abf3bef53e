"""Wall heat: the powers of each correlation by differences, the switch, the velocity of combustion, radiation."""

import math

import pytest
from hotside.models import wall_heat
from hypothesis import given, settings
from hypothesis import strategies as st

BORE, SWEPT, VOLUME, P, T, R, SPEED = 0.086, 5e-4, 6e-5, 4e6, 2300.0, 288.0, 12.0
REFERENCE = (360.0, 1.8e5, 5.4e-4)  # T, p, V at inlet closing
MODELS = tuple(wall_heat.MODELS.values())


def choice(model, scale=1.0):
    return wall_heat.WallHeat(model, scale, 500.0, 520.0, 430.0)


def coefficient(model, p=P, temperature=T, speed=SPEED, closed=True, motored=1.5e6, volume=VOLUME, scale=1.0):
    heat, w = choice(model, scale), wall_heat.woschni_velocity(speed, closed, SWEPT, p, motored, *REFERENCE)
    fixed = wall_heat.fixed_part(heat, BORE, speed)
    return wall_heat.coefficient(heat, fixed, math.log(p), math.log(volume), temperature, R, w)


def power(f, x):
    """d ln f / d ln x by central differences."""
    return (math.log(f(x * 1.001)) - math.log(f(x / 1.001))) / (2.0 * math.log(1.001))


def test_powers_of_woschni():
    assert power(lambda x: wall_heat.woschni(x, P, T, 25.0), BORE) == pytest.approx(-0.2, abs=1e-6)
    assert power(lambda x: wall_heat.woschni(BORE, x, T, 25.0), P) == pytest.approx(0.8, abs=1e-6)
    assert power(lambda x: wall_heat.woschni(BORE, P, x, 25.0), T) == pytest.approx(-0.55, abs=1e-6)
    assert power(lambda x: wall_heat.woschni(BORE, P, T, x), 25.0) == pytest.approx(0.8, abs=1e-6)


def test_powers_of_hohenberg():
    assert power(lambda x: wall_heat.hohenberg(x, P, T, SPEED), VOLUME) == pytest.approx(-0.06, abs=1e-6)
    assert power(lambda x: wall_heat.hohenberg(VOLUME, x, T, SPEED), P) == pytest.approx(0.8, abs=1e-6)
    assert power(lambda x: wall_heat.hohenberg(VOLUME, P, x, SPEED), T) == pytest.approx(-0.4, abs=1e-6)
    moving = power(lambda x: wall_heat.hohenberg(VOLUME, P, T, x - 1.4), SPEED + 1.4)
    assert moving == pytest.approx(0.8, abs=1e-6)


def test_powers_of_annand_without_its_radiation():
    def convection(p=P, speed=SPEED, bore=BORE):
        radiation = wall_heat.annand(bore, 1e-12, T, R, speed, 450.0)  # thin gas convects nothing
        return wall_heat.annand(bore, p, T, R, speed, 450.0) - radiation

    assert power(lambda x: convection(p=x), P) == pytest.approx(0.7, abs=1e-4)
    assert power(lambda x: convection(speed=x), SPEED) == pytest.approx(0.7, abs=1e-4)
    assert power(lambda x: convection(bore=x), BORE) == pytest.approx(-0.3, abs=1e-4)


@settings(deadline=None)
@given(hot=st.floats(600.0, 2800.0), wall=st.floats(350.0, 590.0))
def test_annand_radiates_with_the_fourth_powers(hot, wall):
    found = wall_heat.annand(BORE, 1e-12, hot, R, SPEED, wall)
    assert found == pytest.approx(4.3e-9 * (hot**4 - wall**4) / (hot - wall), rel=1e-4)


def test_the_switch_picks_each_model_and_the_scale_multiplies_it():
    w = wall_heat.woschni_velocity(SPEED, True, SWEPT, P, 1.5e6, *REFERENCE)
    assert coefficient(wall_heat.WOSCHNI) == pytest.approx(wall_heat.woschni(BORE, P, T, w), rel=1e-12)
    assert coefficient(wall_heat.HOHENBERG) == pytest.approx(wall_heat.hohenberg(VOLUME, P, T, SPEED), rel=1e-12)
    assert coefficient(wall_heat.ANNAND) == pytest.approx(wall_heat.annand(BORE, P, T, R, SPEED, 430.0), rel=1e-12)
    for model in MODELS:
        assert coefficient(model, scale=1.3) == pytest.approx(1.3 * coefficient(model), rel=1e-12)
    assert len({coefficient(model) for model in MODELS}) == 3


@pytest.mark.parametrize("model", MODELS)
def test_denser_and_faster_gas_gives_more_heat(model):
    """Both thin the boundary layer."""
    by_pressure = [coefficient(model, p=p, motored=p) for p in (1e5, 1e6, 4e6, 1e7)]
    assert by_pressure == sorted(by_pressure)
    by_speed = [coefficient(model, speed=s) for s in (4.0, 10.0, 20.0)]
    assert by_speed == sorted(by_speed)


@pytest.mark.parametrize("model", MODELS)
def test_a_boosted_cylinder_at_full_load_lies_where_engines_lie(model):
    """Order of magnitude: hundreds to some thousands of W/(m2 K) near the peak; common practice, no source."""
    assert 500.0 < coefficient(model) < 5000.0
    assert 20.0 < coefficient(model, p=1.2e5, temperature=900.0, closed=False, motored=1.2e5) < 800.0


def test_combustion_moves_the_gas_of_woschni_and_motoring_does_not():
    """The second term is the pressure rise over motored: nothing burned, no extra motion; never a negative one."""

    def velocity(p, motored, closed=True):
        return wall_heat.woschni_velocity(SPEED, closed, SWEPT, p, motored, *REFERENCE)

    assert velocity(1.5e6, 1.5e6) == pytest.approx(2.28 * SPEED, rel=1e-12)
    assert velocity(1.4e6, 1.5e6) == velocity(1.5e6, 1.5e6)
    assert velocity(4e6, 1.5e6) > velocity(3e6, 1.5e6) > velocity(1.5e6, 1.5e6)
    t_ref, p_ref, v_ref = REFERENCE
    rise = 3.24e-3 * SWEPT * t_ref / (p_ref * v_ref) * 2.5e6
    assert velocity(4e6, 1.5e6) - velocity(1.5e6, 1.5e6) == pytest.approx(rise, rel=1e-12)
    assert velocity(4e6, 1.5e6, closed=False) == pytest.approx(6.18 * SPEED, rel=1e-12)


@settings(deadline=None)
@given(x=st.floats(0.0, 1.0))
def test_burned_gas_touches_more_wall_than_its_share_of_mass(x):
    share = wall_heat.burned_area_share(x)
    assert x <= share <= 1.0


def test_every_model_names_its_source():
    assert wall_heat.SOURCES.keys() == wall_heat.MODELS.keys()


def test_another_model_compiles_nothing_new():
    coefficient(wall_heat.WOSCHNI)
    before = len(wall_heat.coefficient.signatures)
    for model in MODELS:
        coefficient(model)
    assert len(wall_heat.coefficient.signatures) == before
