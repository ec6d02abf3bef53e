"""Runners and collectors: wall temperature from its balance, pipe film against steady pipe flow, the outside loss."""

import math

import CoolProp.CoolProp as props
import pytest
from hotside.models import manifold, transport
from ht.conv_internal import turbulent_Dittus_Boelter, turbulent_Gnielinski
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.optimize import brentq

DIAMETER, T_GAS, CP, PRANDTL = 0.036, 1100.0, 1300.0, 0.7


def flow_at(reynolds, diameter=DIAMETER, T=T_GAS):
    return reynolds * math.pi * diameter * manifold.viscosity(T) / 4.0


def nusselt(flow, diameter=DIAMETER, T=T_GAS):
    conductivity = manifold.viscosity(T) * CP / PRANDTL
    return manifold.pipe_coefficient(flow, diameter, T, CP) * diameter / conductivity


# ------------------------------------------------------------------------------------------------------------ film


@pytest.mark.parametrize("reynolds", [3e2, 1e4, 3e4, 1e5, 3e5])
def test_the_power_law_is_the_published_nusselt_number(reynolds):
    assert nusselt(flow_at(reynolds)) == pytest.approx(0.0774 * reynolds**0.769, rel=1e-9)


@pytest.mark.parametrize("reynolds", [1e4, 3e4, 1e5, 3e5])
def test_pulsing_gas_heats_a_pipe_more_than_steady_flow(reynolds):
    """Pulses break the boundary layer down and turn it over: two to three times a steady pipe's film."""
    boelter = turbulent_Dittus_Boelter(Re=reynolds, Pr=PRANDTL, heating=False)
    smooth = turbulent_Gnielinski(Re=reynolds, Pr=PRANDTL, fd=(0.79 * math.log(reynolds) - 1.64) ** -2)
    found = nusselt(flow_at(reynolds))
    assert 2.4 < found / boelter < 2.9
    assert 2.8 < found / smooth < 3.2
    if reynolds == 1e5:  # what the docstring says
        assert found / boelter == pytest.approx(2.6, abs=0.05)
        assert found / smooth == pytest.approx(3.0, abs=0.05)


def test_still_gas_keeps_the_laminar_limit_and_direction_does_not_matter():
    assert nusselt(0.0) == pytest.approx(3.66, rel=1e-12)
    assert nusselt(flow_at(50.0)) == pytest.approx(3.66, rel=1e-12)
    assert nusselt(-0.02) == nusselt(0.02)


def test_the_two_branches_meet():
    """They part by one per cent: the switch stands at Re = e^5 = 148.4, the two laws cross at 150.6."""
    assert nusselt(flow_at(148.0)) == pytest.approx(3.66, rel=1e-12)
    assert nusselt(flow_at(149.0)) == pytest.approx(3.66, rel=0.01)


def test_film_grows_with_flow_and_in_a_narrower_pipe():
    by_flow = [manifold.pipe_coefficient(f, DIAMETER, T_GAS, CP) for f in (0.0, 0.001, 0.01, 0.05, 0.2)]
    assert by_flow == sorted(by_flow)
    by_size = [manifold.pipe_coefficient(0.03, d, T_GAS, CP) for d in (0.055, 0.045, 0.035)]
    assert by_size == sorted(by_size)


@pytest.mark.parametrize("T", [400.0, 700.0, 1000.0])
def test_viscosity_is_about_that_of_air(T):
    air = props.PropsSI("V", "T", T, "P", 101325.0, "Air")
    assert manifold.viscosity(T) == pytest.approx(air, rel=0.06)
    if T >= 500.0:
        assert manifold.viscosity(T) == pytest.approx(transport.burned_viscosity(T), rel=0.05)


# ------------------------------------------------------------------------------------------------------------ wall


@settings(deadline=None)  # the first call compiles
@given(T=st.floats(320.0, 1300.0), emissivity=st.floats(0.0, 1.0), air=st.floats(1.0, 150.0))
def test_slope_of_the_outside_loss(T, emissivity, air):
    up, down = (manifold.outside_loss(T + d, 310.0, emissivity, air)[0] for d in (0.01, -0.01))
    assert manifold.outside_loss(T, 310.0, emissivity, air)[1] == pytest.approx((up - down) / 0.02, rel=1e-5)
    assert manifold.outside_loss(310.0, 310.0, emissivity, air)[0] == pytest.approx(0.0, abs=1e-9)


balances = {
    "h_area": st.floats(0.1, 60.0),
    "T_gas": st.floats(400.0, 1500.0),
    "outside": st.floats(0.005, 0.5),
    "air": st.floats(2.0, 100.0),
    "emissivity": st.floats(0.05, 1.0),
    "guess": st.floats(300.0, 1500.0),
}


@settings(deadline=None)
@given(**balances)
def test_wall_temperature_balances_heat_in_and_out(h_area, T_gas, outside, air, emissivity, guess):
    T_air = 320.0
    wall = manifold.wall_temperature(h_area, h_area * T_gas, outside, T_air, emissivity, air, guess)

    def surplus(T):
        return h_area * (T_gas - T) - outside * manifold.outside_loss(T, T_air, emissivity, air)[0]

    assert wall == pytest.approx(brentq(surplus, T_air, T_gas, xtol=1e-10), abs=1e-6)
    assert T_air <= wall <= T_gas


def test_limits_of_the_wall_temperature():
    def wall(h_area=10.0, outside=0.05, emissivity=0.8, air=20.0):
        return manifold.wall_temperature(h_area, h_area * T_GAS, outside, 320.0, emissivity, air, 700.0)

    assert wall(outside=0.0) == pytest.approx(T_GAS, abs=1e-6)  # wrapped: nothing leaves
    assert wall(h_area=0.0) == pytest.approx(320.0, abs=1e-6)  # no gas
    assert wall(outside=1e4) == pytest.approx(320.0, abs=0.2)
    assert wall(emissivity=0.2) > wall(emissivity=0.9)  # a bright coat keeps heat in
    assert wall(air=100.0) < wall(air=10.0)
