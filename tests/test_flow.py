"""The nozzle: isentropic outside the band, smooth inside it, and a conductance that is the derivative."""

import fluids
import numpy as np
import pytest
from hotside.models import flow
from hypothesis import given, settings
from hypothesis import strategies as st

GAMMAS = (1.2, 1.28, 1.33, 1.4)
HOT = (1100.0, 288.0, 1.31)
COLD = (350.0, 287.0, 1.38)


def link(p_a, p_b, a=HOT, b=COLD, area=1e-4):
    return flow.link_flow(area, p_a, *a, p_b, *b)


def reference_flow(area, p_up, T_up, r, gamma, p_down):
    """Density times velocity at the throat, through another library's isentropic relations."""
    p_throat = max(p_down, fluids.P_critical_flow(p_up, gamma))
    T_throat = fluids.isentropic_T_rise_compression(T1=T_up, P1=p_up, P2=p_throat, k=gamma)  # gives the end state
    velocity = (2.0 * r * gamma / (gamma - 1.0) * (T_up - T_throat)) ** 0.5
    return area * p_throat / (r * T_throat) * velocity


@pytest.mark.parametrize("gamma", GAMMAS)
def test_critical_ratio_is_that_of_the_reference_library(gamma):
    assert flow.critical_ratio(gamma) == pytest.approx(fluids.P_critical_flow(1.0, gamma), rel=1e-12)


@settings(deadline=None)  # the first call compiles
@given(x=st.floats(0.01, 0.9999), gamma=st.floats(1.15, 1.66), T=st.floats(250.0, 2800.0))
def test_nozzle_equals_reference_choked_and_not(x, gamma, T):
    found = flow.nozzle_flow(2e-4, 3e5, T, 290.0, gamma, x * 3e5)
    assert found == pytest.approx(reference_flow(2e-4, 3e5, T, 290.0, gamma, x * 3e5), rel=1e-9)


def test_discharge_coefficient_scales_the_flow():
    state = (2e5, 900.0, 288.0, 1.33, 1.4e5)
    assert flow.orifice_flow(0.8, 1e-4, *state) == pytest.approx(0.8 * flow.nozzle_flow(1e-4, *state), rel=1e-14)


def test_no_upstream_pressure_difference_no_flow_and_vacuum_is_choked():
    assert flow.nozzle_flow(1e-4, 1e5, 300.0, 287.0, 1.4, 1e5) == 0.0
    vacuum = flow.nozzle_flow(1e-4, 1e5, 300.0, 287.0, 1.4, 0.0)
    assert vacuum == flow.nozzle_flow(1e-4, 1e5, 300.0, 287.0, 1.4, 0.5e5)


@pytest.mark.parametrize("x", [0.0, 0.2, 0.5, 0.6, 0.9, 0.99, 1.0 - flow.BAND])
def test_link_is_exactly_the_nozzle_outside_the_band_both_ways(x):
    forward, backward = link(1e5, x * 1e5)[0], link(x * 1e5, 1e5)[0]
    assert forward == pytest.approx(flow.nozzle_flow(1e-4, 1e5, *HOT, x * 1e5), rel=1e-14)
    assert backward == pytest.approx(-flow.nozzle_flow(1e-4, 1e5, *COLD, x * 1e5), rel=1e-14)


@pytest.mark.parametrize("gamma", GAMMAS)
def test_series_at_the_edge_of_the_band_is_the_flow_function(gamma):
    for found, exact in zip(flow.band_edge(gamma, flow.BAND), flow.flow_function(1.0 - flow.BAND, gamma), strict=True):
        assert found == pytest.approx(exact, rel=1e-12)


@settings(deadline=None)  # the first call compiles
@given(p_a=st.floats(2e4, 6e5), p_b=st.floats(2e4, 6e5))
def test_conductance_is_the_derivative_to_the_upstream_pressure(p_a, p_b):
    step = 1e-5 * max(p_a, p_b) * flow.BAND
    value, conductance = link(p_a, p_b)
    if p_a >= p_b:
        slope = (link(p_a + step, p_b)[0] - link(p_a - step, p_b)[0]) / (2.0 * step)
    else:
        slope = -(link(p_a, p_b + step)[0] - link(p_a, p_b - step)[0]) / (2.0 * step)
    assert conductance == pytest.approx(slope, rel=2e-4)
    assert np.isfinite(value)
    assert np.isfinite(conductance)
    assert conductance >= 0.0


@pytest.mark.parametrize("x", [1.0 - flow.BAND, 1.0, 1.0 / (1.0 - flow.BAND)])
@pytest.mark.parametrize("other", [COLD, HOT, (2600.0, 300.0, 1.22)])
def test_flow_and_slope_are_continuous_at_the_edges_and_through_reversal(x, other):
    (f1, g1), (f2, g2) = (link(1e5, 1e5 * x * (1.0 + sign * 1e-10), b=other) for sign in (-1.0, 1.0))
    assert f1 == pytest.approx(f2, abs=1.1 * max(g1, g2) * 2e-10 * max(1e5, 1e5 * x))  # the slope times the distance
    assert g1 == pytest.approx(g2, rel=1e-6)


def test_conductance_is_continuous_through_choking():
    critical = flow.critical_ratio(HOT[2])
    unchoked, choked = (link(1e5, 1e5 * critical * (1.0 + sign * 1e-9)) for sign in (1.0, -1.0))
    assert choked[1] == pytest.approx(choked[0] / 1e5, rel=1e-12)
    assert unchoked[1] == pytest.approx(choked[1], rel=1e-6)


@pytest.mark.parametrize("other", [COLD, (2600.0, 300.0, 1.22), (200.0, 260.0, 1.6)])
def test_flow_never_rises_with_the_pressure_it_flows_against(other):
    pressure = np.concatenate((np.linspace(2e4, 4e5, 4001), 1e5 * (1.0 + np.linspace(-0.004, 0.004, 4001))))
    flows = np.array([link(1e5, p, b=other)[0] for p in np.sort(pressure)])
    assert np.all(np.diff(flows) <= 1e-16)


def test_a_shut_link_passes_nothing():
    assert flow.link_flow(0.0, 2e5, *HOT, 1e5, *COLD) == (0.0, 0.0)


@pytest.mark.parametrize(("step", "start"), [(1e-6, 2.0), (1e-4, 2.0), (1e-4, 1.1), (1e-2, 1.0015)])
def test_linearly_implicit_steps_equalise_two_small_volumes(step, start):
    """Two litres of one gas, isothermal: the difference never grows, and inside the band no step, however long, rings by more than half."""
    r, T, volume = 288.0, 800.0, 1e-3
    p = [start * 1e5, 1.0e5]
    gas = (T, r, 1.33)
    stiffness = r * T / volume
    for _ in range(400):
        mass_flow, conductance = flow.link_flow(5e-4, p[0], *gas, p[1], *gas)
        moved = step * stiffness * mass_flow / (1.0 + 2.0 * step * stiffness * conductance)
        before = p[0] - p[1]
        p = [p[0] - moved, p[1] + moved]
        assert abs(p[0] - p[1]) <= abs(before) + 1e-9
        if abs(before) < flow.BAND * 1e5:
            assert (p[0] - p[1]) * before >= -0.5 * before**2 - 1e-9
    assert sum(p) == pytest.approx(start * 1e5 + 1e5, rel=1e-12)
    if step >= 1e-4:
        assert p[0] == pytest.approx(p[1], abs=1e-3)


@pytest.mark.parametrize("step", [1e-5, 1e-3, 1e-1])
@pytest.mark.parametrize("start", [1.001, 1.01, 1.5, 4.0])
def test_the_chord_equalises_without_ringing_at_any_step(step, start):
    r, T, volume = 288.0, 800.0, 3e-4
    p = [start * 1e5, 1.0e5]
    gas = (T, r, 1.33)
    stiffness = r * T / volume
    for _ in range(300):
        difference = p[0] - p[1]
        if difference <= 1e-6:
            break
        mass_flow, conductance = flow.link_flow(5e-4, p[0], *gas, p[1], *gas)
        held = max(conductance, mass_flow / difference)
        moved = step * stiffness * mass_flow / (1.0 + 2.0 * step * stiffness * held)
        p = [p[0] - moved, p[1] + moved]
        assert -1e-9 <= p[0] - p[1] < difference


def test_one_signature_is_compiled():
    link(1.2e5, 1e5)
    assert len(flow.link_flow.signatures) == 1
    assert len(flow.flow_function.signatures) == 1
