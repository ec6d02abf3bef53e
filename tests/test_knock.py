"""Knock: the closed form of the required octane against a search, the delay's powers, what brings knock nearer."""

import math

import numpy as np
import pytest
from hotside.models import knock
from hotside.models.knock import ATM
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.optimize import brentq

SPEED_RPM = 3000.0


def trace(peak=60e5, T_start=360.0, n=2001):
    """Angles [deg], pressure and end-gas temperature: compression, then a burn that squeezes the end gas."""
    angle = np.linspace(-140.0, 30.0, n)
    burn = np.clip((angle + 15.0) / 40.0, 0.0, 1.0) ** 2 * (3.0 - 2.0 * np.clip((angle + 15.0) / 40.0, 0.0, 1.0))
    volume = 1.0 + 4.0 * (1.0 - np.cos(np.radians(angle)))
    p = 1.8e5 * (volume[0] / volume) ** 1.32 * (1.0 - burn) + peak * burn
    return angle, p, T_start * (p / p[0]) ** (0.3 / 1.3)


def integral_100(peak=60e5, T_start=360.0, speed_rpm=SPEED_RPM):
    angle, p, T = trace(peak, T_start)
    rates = np.array([knock.rate(*state) for state in zip(p, T, strict=True)])
    return float(np.trapezoid(rates, angle / (6.0 * speed_rpm)))


@settings(deadline=None, max_examples=25)
@given(peak=st.floats(45e5, 110e5), T_start=st.floats(310.0, 400.0))
def test_octane_required_in_closed_form_against_a_search(peak, T_start):
    """Search for the octane whose own delay, integrated along the trace, just reaches 1."""
    angle, p, T = trace(peak, T_start)

    def short(octane):
        delays = np.array([knock.delay(*state, octane) for state in zip(p, T, strict=True)])
        return np.trapezoid(1.0 / delays, angle / (6.0 * SPEED_RPM)) - 1.0

    found = knock.octane_required(integral_100(peak, T_start))
    assert found == pytest.approx(brentq(short, 1.0, 1000.0, xtol=1e-10), rel=1e-9)
    assert knock.integral_at(integral_100(peak, T_start), found) == pytest.approx(1.0, rel=1e-12)


@settings(deadline=None)
@given(p=st.floats(5e5, 150e5), T=st.floats(500.0, 1100.0), octane=st.floats(70.0, 120.0))
def test_rate_is_one_over_the_delay(p, T, octane):
    assert knock.rate(p, T) * knock.delay(p, T, 100.0) == pytest.approx(1.0, rel=1e-12)
    assert knock.integral_at(knock.rate(p, T), octane) * knock.delay(p, T, octane) == pytest.approx(1.0, rel=1e-12)


def test_powers_of_the_delay():
    p, T = 40 * ATM, 820.0
    power = math.log(knock.delay(2 * p, T, 95.0) / knock.delay(p, T, 95.0)) / math.log(2.0)
    assert power == pytest.approx(-1.7, rel=1e-9)
    activation = math.log(knock.delay(p, T, 95.0) / knock.delay(p, 2 * T, 95.0)) / (1.0 / T - 0.5 / T)
    assert activation == pytest.approx(3800.0, rel=1e-9)
    octane = math.log(knock.delay(p, T, 95.0) / knock.delay(p, T, 90.0)) / math.log(95.0 / 90.0)
    assert octane == pytest.approx(3.402, rel=1e-9)


def test_what_asks_for_more_octane():
    """Hotter and denser end gas is nearer to autoignition; a slower engine gives it more time."""
    hotter = [knock.octane_required(integral_100(T_start=T)) for T in (330.0, 350.0, 370.0)]
    assert hotter == sorted(hotter)
    harder = [knock.octane_required(integral_100(peak=p)) for p in (50e5, 70e5, 90e5)]
    assert harder == sorted(harder)
    slower = [knock.octane_required(integral_100(speed_rpm=n)) for n in (6000.0, 3000.0, 1500.0)]
    assert slower == sorted(slower)


def test_time_is_worth_octane_by_the_inverse_power():
    twice = knock.octane_required(integral_100(speed_rpm=1500.0)) / knock.octane_required(integral_100())
    assert twice == pytest.approx(2.0 ** (1.0 / 3.402), rel=1e-9)


def test_names_of_models_have_sources():
    assert knock.SOURCES.keys() == knock.MODELS.keys()
