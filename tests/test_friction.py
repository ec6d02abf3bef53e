"""Friction: the switch, the components, and what each must do when speed, oil or size change."""

import pytest
from hotside.models import friction
from hypothesis import given, settings
from hypothesis import strategies as st

MODELS = (friction.CHEN_FLYNN, friction.PATTON, friction.SANDOVAL)


def engine(model, **more):
    return friction.for_engine(model, 4, 0.086, 0.086, 9.0, **more)


@settings(deadline=None)  # the first call compiles
@pytest.mark.parametrize("model", [friction.PATTON, friction.SANDOVAL])
@given(speed=st.floats(600.0, 9000.0), ratio=st.floats(0.2, 3.5))
def test_components_are_positive_and_add_up(model, speed, ratio):
    parts = friction.breakdown(engine(model), speed, ratio)
    assert min(parts) > 0.0
    assert friction.fmep(engine(model), speed, 5e6, ratio) == pytest.approx(sum(parts), rel=1e-14)


@pytest.mark.parametrize("model", MODELS)
def test_friction_rises_with_speed_above_mixed_lubrication_and_is_of_the_right_size(model):
    values = [friction.fmep(engine(model), speed, 6e6, 1.5) for speed in (2000.0, 3500.0, 5000.0, 6500.0)]
    assert values == sorted(values)
    assert 0.5e5 < values[0] < values[-1] < 4e5


def test_only_its_own_inputs_move_a_model():
    for model in MODELS:
        base = friction.fmep(engine(model), 4000.0, 6e6, 1.0)
        by_peak = friction.fmep(engine(model), 4000.0, 9e6, 1.0) - base
        by_boost = friction.fmep(engine(model), 4000.0, 6e6, 2.0) - base
        if model == friction.CHEN_FLYNN:
            assert by_peak == pytest.approx(0.005 * 3e6, rel=1e-9)
            assert by_boost == 0.0
        else:
            assert by_peak == 0.0
            assert by_boost == pytest.approx(friction.breakdown(engine(model), 4000.0, 1.0)[2], rel=1e-9)


def test_thicker_oil_costs_with_the_root_of_viscosity_and_only_in_one_model():
    thin, thick = (engine(friction.SANDOVAL, viscosity_ratio=ratio) for ratio in (1.0, 4.0))
    rise = friction.fmep(thick, 4000.0, 6e6, 1.0) - friction.fmep(thin, 4000.0, 6e6, 1.0)
    assert rise > 0.1e5
    seals_and_turbulence = friction.crankshaft(thin, 4000.0, 0.0)
    film = friction.crankshaft(thin, 4000.0, 1.0) - seals_and_turbulence
    assert friction.breakdown(thick, 4000.0, 1.0)[0] == pytest.approx(seals_and_turbulence + 2.0 * film, rel=1e-12)
    plain = engine(friction.PATTON, viscosity_ratio=4.0)
    assert friction.fmep(plain, 4000.0, 6e6, 1.0) == friction.fmep(engine(friction.PATTON), 4000.0, 6e6, 1.0)


@pytest.mark.parametrize("train", [friction.DIRECT, friction.FINGER, friction.PUSHROD])
def test_rollers_save_at_low_speed(train):
    flat = engine(friction.PATTON, valve_train=train)
    roller = engine(friction.PATTON, valve_train=train, roller=True)
    assert friction.valve_train(roller, 1000.0, 1.0, 1000.0) < friction.valve_train(flat, 1000.0, 1.0, 1000.0)


def test_bearings_scale_with_bore_and_can_be_replaced():
    record = engine(friction.PATTON)
    assert record.main_diameter == pytest.approx(0.65 * 0.086)
    larger = record._replace(main_diameter=1.2 * record.main_diameter)
    assert friction.crankshaft(larger, 5000.0, 1.0) > 1.4 * friction.crankshaft(record, 5000.0, 1.0)


def test_one_signature_is_compiled():
    for model in MODELS:
        friction.fmep(engine(model), 3000.0, 5e6, 1.0)
    assert len(friction.fmep.signatures) == 1
