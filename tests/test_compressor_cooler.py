"""Compressor, charge cooler and wastegate: inverses, limits, order, and one independent reference."""

import math

import ht
import numpy as np
import pytest
from hotside.models import compressor, cooler, flow, wastegate
from hypothesis import given, settings
from hypothesis import strategies as st

AIR = (298.0, 0.98e5, 287.0, 1.4)  # T1, p1, r, gamma


@settings(deadline=None)  # the first call compiles
@given(ratio=st.floats(1.01, 5.0), efficiency=st.floats(0.3, 1.0), T1=st.floats(230.0, 330.0))
def test_efficiency_comes_back_from_the_temperatures(ratio, efficiency, T1):
    T2 = compressor.outlet_temperature(T1, ratio, efficiency, 1.4)
    assert compressor.efficiency_from_temperatures(T1, T2, ratio, 1.4) == pytest.approx(efficiency, rel=1e-9)
    heat = 0.2 * 1005.0 * (T2 - T1)
    assert compressor.power(0.2, T1, ratio, efficiency, 1005.0, 1.4) == pytest.approx(heat, rel=1e-9)


def test_table_of_a_perfect_gas_gives_the_perfect_gas():
    T = np.linspace(200.0, 1500.0, 2601)
    cp, r, gamma = 1004.5, 287.0, 1.4
    h, s0 = cp * T, cp * np.log(T)
    up, work = compressor.table_outlet(300.0, 2.5, 0.75, T, h, s0, r)
    assert up == pytest.approx(compressor.outlet_temperature(300.0, 2.5, 0.75, gamma), rel=1e-5)
    assert work == pytest.approx(cp * (up - 300.0), rel=1e-9)
    down, work = compressor.table_outlet(1200.0, 1.0 / 2.5, 0.75, T, h, s0, r)
    assert down == pytest.approx(1200.0 * (1.0 - 0.75 * (1.0 - 2.5 ** (-r / cp))), rel=1e-5)
    assert work < 0.0


def test_shaft_speed_is_tip_speed_over_radius():
    assert compressor.shaft_speed(0.68 * 400.0**2, 0.05, 0.68) == pytest.approx(400.0 / 0.025, rel=1e-12)
    assert compressor.shaft_speed(-5.0, 0.05, 0.68) == 0.0


def test_choke_at_rest_is_the_choked_throat_and_speed_raises_it():
    machine = compressor.from_wheel(0.044, 0.058)
    annulus = 0.25 * math.pi * 0.044**2 * (1.0 - compressor.HUB_RATIO**2)
    T1, p1, r, gamma = AIR
    throat = flow.nozzle_flow(compressor.THROAT_RATIO * annulus, p1, T1, r, gamma, 0.0)
    assert compressor.choke_flow(machine, 1.0, *AIR) == pytest.approx(throat, rel=1e-12)
    chokes = [compressor.choke_flow(machine, ratio, *AIR) for ratio in (1.0, 1.5, 2.0, 3.0)]
    assert chokes == sorted(chokes)


@settings(deadline=None)  # the first call compiles
@given(ratio=st.floats(1.0, 6.0), inducer=st.floats(0.02, 0.09), trim=st.floats(0.5, 0.95))
def test_surge_lies_below_choke_and_both_scale_with_inlet_density(ratio, inducer, trim):
    machine = compressor.from_wheel(inducer, inducer / trim)
    surge, choke = (f(machine, ratio, *AIR) for f in (compressor.surge_flow, compressor.choke_flow))
    assert 0.0 < surge < choke
    assert compressor.choke_flow(machine, ratio, 298.0, 0.49e5, 287.0, 1.4) == pytest.approx(0.5 * choke, rel=1e-12)


def test_parametric_efficiency_peaks_inside_and_grows_with_size():
    small, large = compressor.from_wheel(0.03, 0.04), compressor.from_wheel(0.06, 0.08)
    assert (small.efficiency_peak, large.efficiency_peak) == (0.70, 0.78)
    surge, choke = (f(large, 2.0, *AIR) for f in (compressor.surge_flow, compressor.choke_flow))
    place = np.linspace(-0.5, 1.6, 211)
    curve = [compressor.wheel_efficiency(large, surge + x * (choke - surge), 2.0, *AIR) for x in place]
    assert place[int(np.argmax(curve))] == pytest.approx(compressor.PEAK_POSITION, abs=0.011)
    assert max(curve) == pytest.approx(0.78, rel=1e-3)
    assert min(curve) > 0.0
    assert compressor.from_wheel(0.03, 0.04, efficiency_peak=0.74).efficiency_peak == 0.74


def test_a_small_machine_passes_what_its_inducer_lets():
    """About 190 kg/s for each square metre of inducer circle at a pressure ratio of 3 (from memory, confidence medium)."""
    for inducer, trim in ((0.037, 0.74), (0.0435, 0.75), (0.056, 0.74)):
        machine = compressor.from_wheel(inducer, inducer / trim)
        choke = compressor.choke_flow(machine, 3.0, 293.0, 1.0e5, 287.0, 1.4)
        assert 175.0 < choke / (0.25 * math.pi * inducer**2) < 205.0


def test_past_choke_the_wheel_must_turn_faster_and_the_pressure_is_lost():
    """At the choke line work and speed are continuous; past it they no longer depend on the pressure ratio."""
    machine = compressor.from_wheel(0.044, 0.058)
    choke = compressor.choke_flow(machine, 2.0, *AIR)
    before, after = (np.array(compressor.wheel_state(machine, k * choke, 2.0, *AIR)) for k in (1 - 1e-9, 1 + 1e-9))
    assert after == pytest.approx(before, rel=1e-6)
    low, high = (compressor.wheel_state(machine, 1.1 * choke, ratio, *AIR) for ratio in (1.2, 1.9))
    assert low == pytest.approx(high, rel=1e-12)
    assert low[1] > before[1]


def test_a_speed_line_falls_from_surge_to_choke():
    """At one shaft speed more flow is less pressure: nearly flat at surge, steep at choke."""
    machine = compressor.from_wheel(0.044, 0.058)
    surge, choke = (f(machine, 2.0, *AIR) for f in (compressor.surge_flow, compressor.choke_flow))
    speed = compressor.wheel_state(machine, 0.6 * surge + 0.4 * choke, 2.0, *AIR)[1]
    flows = np.linspace(surge, 0.97 * choke, 12)
    ratios = np.linspace(1.01, 3.0, 2000)
    line = [
        ratios[np.searchsorted([compressor.wheel_state(machine, m, x, *AIR)[1] for x in ratios], speed)] for m in flows
    ]
    assert np.all(np.diff(line[3:]) < 0.0)
    assert max(line) < 1.05 * line[0]
    assert line[-1] < 0.85 * line[0]


@pytest.mark.parametrize("sizes", [(0.05, 0.05), (0.06, 0.05), (0.0, 0.05), (float("nan"), 0.05)])
def test_a_wheel_that_is_none_is_refused(sizes):
    with pytest.raises(ValueError, match="inducer"):
        compressor.from_wheel(*sizes)


@pytest.mark.parametrize("ratio", [0.0, 0.3, 0.8, 1.0])
@pytest.mark.parametrize("ntu", [0.1, 0.7, 2.0, 5.0])
@pytest.mark.parametrize(
    ("kind", "name"), [(cooler.COUNTERFLOW, "counterflow"), (cooler.CROSSFLOW, "crossflow approximate")]
)
def test_effectiveness_against_the_reference_library(ratio, ntu, kind, name):
    found = cooler.effectiveness_ntu(ntu, ratio, kind)
    if ratio == 0.0:
        assert found == pytest.approx(1.0 - math.exp(-ntu), rel=1e-12)
    else:
        assert found == pytest.approx(ht.effectiveness_from_NTU(ntu, ratio, subtype=name), rel=1e-9)


def test_effectiveness_scales_through_its_point_and_falls_with_flow():
    assert cooler.effectiveness_at(0.2, 0.2, 0.7, 0.2) == pytest.approx(0.7, rel=1e-12)
    values = [cooler.effectiveness_at(x, 0.2, 0.7, 0.2) for x in (0.05, 0.2, 0.4)]
    assert values == sorted(values, reverse=True)


def test_cooler_heat_and_limits():
    assert cooler.outlet_temperature(420.0, 300.0, 1.0) == 300.0
    assert cooler.outlet_temperature(420.0, 300.0, 0.0) == 420.0
    assert cooler.heat_flow(0.1, 1005.0, 420.0, 320.0) == pytest.approx(10050.0)


@settings(deadline=None)  # the first call compiles
@given(p_out=st.floats(5e4, 4e5), mass_flow=st.floats(0.0, 0.6), T=st.floats(280.0, 450.0))
def test_inlet_pressure_is_the_inverse_of_the_loss(p_out, mass_flow, T):
    constant = cooler.loss_constant(8e3, 0.2, 360.0, 2e5)
    p_in = cooler.inlet_pressure(constant, mass_flow, T, p_out)
    assert p_in - cooler.pressure_loss(constant, mass_flow, T, p_in) == pytest.approx(p_out, rel=1e-12)


def test_loss_goes_through_its_point_and_with_the_square_of_flow():
    constant = cooler.loss_constant(8e3, 0.2, 360.0, 2e5)
    assert cooler.pressure_loss(constant, 0.2, 360.0, 2e5) == pytest.approx(8e3, rel=1e-12)
    assert cooler.pressure_loss(constant, 0.4, 360.0, 2e5) == pytest.approx(32e3, rel=1e-12)


def test_wastegate_curtain_meets_the_port_at_a_quarter_of_the_diameter():
    port = 0.25 * math.pi * 0.03**2
    assert wastegate.valve_area(0.03, 0.0075) == pytest.approx(port, rel=1e-12)
    assert wastegate.valve_area(0.03, 0.02) == pytest.approx(port, rel=1e-12)
    assert wastegate.valve_area(0.03, 0.001) == pytest.approx(math.pi * 0.03 * 0.001, rel=1e-12)
    assert wastegate.valve_area(0.03, -0.001) == 0.0
    assert wastegate.effective_area(0.03, 1.0, 0.7) == pytest.approx(0.7 * port, rel=1e-12)


def test_bypass_is_the_nozzle_and_never_runs_backward():
    state = (2e5, 1100.0, 288.0, 1.32)
    assert wastegate.bypass_flow(2e-4, *state, 1.1e5) == flow.nozzle_flow(2e-4, *state, 1.1e5)
    assert wastegate.bypass_flow(2e-4, *state, 2.1e5) == 0.0
    assert wastegate.bypass_flow(0.0, *state, 1.1e5) == 0.0


def test_exhaust_on_the_head_lowers_the_crack_boost():
    area = 2e-3
    preload = wastegate.preload_from_crack(0.5e5, area)
    assert wastegate.crack_boost(preload, area, 0.0, 0.6) == pytest.approx(0.5e5, rel=1e-12)
    head = wastegate.head_force(0.028, 2.2e5, 1.1e5)
    assert wastegate.crack_boost(preload, area, head, 0.6) == pytest.approx(0.5e5 - 0.6 * head / area, rel=1e-12)
    assert wastegate.crack_boost(preload, area, 1e4, 0.6) == 0.0


@settings(deadline=None)  # the first call compiles
@given(lift=st.floats(0.0, 0.007), head=st.floats(-20.0, 80.0), lever=st.floats(0.4, 1.5))
def test_signal_for_lift_is_the_inverse_of_lift(lift, head, lever):
    spring = (120.0, 6000.0, 2e-3)
    signal = wastegate.signal_for_lift(lift, *spring, head, lever)
    assert wastegate.valve_lift(signal, *spring, head, lever, 0.007) == pytest.approx(lift, abs=1e-12)
    assert wastegate.valve_lift(signal + 1e7, *spring, head, lever, 0.007) == 0.007
    assert wastegate.valve_lift(signal - 1e7, *spring, head, lever, 0.007) == 0.0
