"""Poppet valves: lift at the checking lift, area from curtain and coefficient, the cap by the port, the table."""

import math

import numpy as np
import pytest
from hotside.models import valves
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.optimize import brentq

DIAMETER, LIFT, OPENS, CLOSES, CHECKED = 0.030, 0.0090, 130.0, 375.0, 0.001
ANGLES = np.arange(valves.TABLE_SIZE) * valves.TABLE_STEP


def exhaust(count=2, lift=LIFT, at_lift=CHECKED, **more):
    return valves.valve(count, DIAMETER, lift, OPENS, CLOSES, at_lift, **more)


def lift_at(angle, opens, closes, lift=LIFT):
    return lift * float(valves.lift_shape(np.array((angle - opens) / (closes - opens))))


def test_lift_is_zero_at_the_seat_full_in_the_middle_and_alike_on_both_sides():
    share = np.linspace(0.0, 1.0, 10001)
    lift = valves.lift_shape(share)
    assert lift[0] == lift[-1] == 0.0
    assert lift[5000] == lift.max() == 1.0
    assert lift == pytest.approx(lift[::-1], abs=1e-12)
    assert np.all(np.diff(lift[:5001]) > 0.0)
    assert np.trapezoid(lift, share) == pytest.approx(0.50, abs=0.005)  # what the docstring says
    assert np.all(valves.lift_shape(np.array([-0.2, 1.3])) == 0.0)


def test_the_valve_leaves_and_meets_its_seat_without_speed():
    """A step of velocity at the seat would hammer it; a cam's ramp prevents that."""
    share = np.array([1e-4, 1e-3, 1e-2])
    slope = valves.lift_shape(share) / share
    assert slope[0] < slope[1] < slope[2]
    assert slope[0] < 1e-3


@given(at_lift=st.floats(1e-5, 0.5 * LIFT), span=st.floats(180.0, 320.0))
def test_lift_at_the_events_of_the_card_is_the_checking_lift(at_lift, span):
    opens, closes = valves.seat_events(OPENS, OPENS + span, LIFT, at_lift)
    assert lift_at(OPENS, opens, closes) == pytest.approx(at_lift, rel=1e-9)
    assert lift_at(OPENS + span, opens, closes) == pytest.approx(at_lift, rel=1e-9)
    assert 0.5 * (opens + closes) == pytest.approx(OPENS + 0.5 * span, abs=1e-9)


def test_seat_events_against_a_search_for_the_seat():
    opens, closes = valves.seat_events(OPENS, CLOSES, LIFT, CHECKED)
    middle = 0.5 * (OPENS + CLOSES)
    half = brentq(lambda h: lift_at(OPENS, middle - h, middle + h) - CHECKED, 0.5 * (CLOSES - OPENS), 300.0)
    assert (opens, closes) == pytest.approx((middle - half, middle + half), abs=1e-6)


def test_events_taken_at_the_seat_stay_and_a_higher_checking_lift_hides_more():
    assert valves.seat_events(OPENS, CLOSES, LIFT, 0.0) == (OPENS, CLOSES)
    lengths = [np.diff(valves.seat_events(OPENS, CLOSES, LIFT, at))[0] for at in (0.0, 0.0001, 0.001, 0.00127, 0.002)]
    assert lengths == sorted(lengths)
    assert len(set(lengths)) == 5


def test_area_is_curtain_times_coefficient():
    record = exhaust()
    ratios, coefficients = np.array(valves.DEFAULT_DISCHARGE).T
    for angle in (150.0, 200.0, 252.5, 300.0):
        y = lift_at(angle, record.opens, record.closes)
        curtain = math.pi * DIAMETER * y
        found = valves.effective_area(record, angle)
        assert found == pytest.approx(2 * curtain * np.interp(y / DIAMETER, ratios, coefficients), rel=1e-12)
        assert 0.4 * 2 * curtain < found < 0.75 * 2 * curtain


def test_area_is_nothing_outside_the_events_and_grows_from_the_seat():
    record = exhaust()
    closed = (record.opens > ANGLES) | (record.closes < ANGLES)
    assert np.all(record.area[closed] == 0.0)
    assert np.all(record.area[~closed] >= 0.0)
    opening = (record.opens < ANGLES) & (0.5 * (OPENS + CLOSES) >= ANGLES)
    assert np.all(np.diff(record.area[opening]) > 0.0)
    assert record.opens < OPENS
    assert record.closes > CLOSES


def test_area_is_capped_by_the_port():
    """However far the valve opens, the gas still passes the throat above it."""
    port = 0.8 * math.pi / 4.0 * DIAMETER**2
    assert exhaust().area.max() < 2 * port  # a usual lift does not reach the cap
    wide = exhaust(lift=0.8 * DIAMETER, at_lift=0.0)
    assert wide.area.max() == pytest.approx(2 * port, rel=1e-12)
    assert np.count_nonzero(wide.area == wide.area.max()) > 50  # a plateau, not a touch
    wider = exhaust(lift=1.0 * DIAMETER, at_lift=0.0)
    assert wider.area.max() == wide.area.max()


def test_area_goes_with_count_and_scale_and_takes_a_flow_bench():
    base = exhaust(count=1)
    assert exhaust(count=3).area == pytest.approx(3 * base.area, rel=1e-12)
    assert exhaust(count=1, scale=1.1).area == pytest.approx(1.1 * base.area, rel=1e-12)
    bench = exhaust(count=1, discharge=((0.0, 0.5), (0.4, 0.5)))
    y = lift_at(200.0, bench.opens, bench.closes)
    assert valves.effective_area(bench, 200.0) == pytest.approx(0.5 * math.pi * DIAMETER * y, rel=1e-12)


@settings(deadline=None)  # the first call compiles
@given(angle=st.floats(0.0, 719.99))
def test_look_up_is_linear_between_tabulated_angles(angle):
    record = exhaust()
    assert valves.effective_area(record, angle) == pytest.approx(np.interp(angle, ANGLES, record.area), abs=1e-15)


def test_half_a_degree_is_fine_enough_for_the_curve():
    record = exhaust()
    ratios, coefficients = np.array(valves.DEFAULT_DISCHARGE).T
    angle = np.linspace(record.opens, record.closes, 5001)
    lift = LIFT * valves.lift_shape((angle - record.opens) / (record.closes - record.opens))
    exact = 2 * math.pi * DIAMETER * lift * np.interp(lift / DIAMETER, ratios, coefficients)
    found = np.array([valves.effective_area(record, a) for a in angle])
    assert np.abs(found - exact).max() < 5e-4 * exact.max()


def test_look_up_outside_the_cycle_is_shut():
    record = valves.valve(2, DIAMETER, LIFT, 340.0, 590.0, CHECKED)
    for angle in (-1.0, 720.0, 800.0):
        assert valves.effective_area(record, angle) == 0.0
