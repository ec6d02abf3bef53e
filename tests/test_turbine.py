"""The turbine: two nozzles in series against an independent route, limits, plateaus, curves, conductance."""

import math

import numpy as np
import pytest
from hotside.models import flow, turbine
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.optimize import brentq

GAMMA, R, T0, P4 = 1.33, 288.0, 1000.0, 1e5
CP = R * GAMMA / (GAMMA - 1.0)
HARDWARE = {
    "throat_area": 6e-4,
    "wheel_inlet_diameter": 0.055,
    "wheel_outlet_diameter": 0.047,
    "hub_diameter": 0.015,
    "exit_angle": 57.0,
    "gamma": GAMMA,
}
ROTOR_AREA = 0.25 * math.pi * (0.047**2 - 0.015**2) * math.cos(math.radians(57.0))


def swallowing(machine, ratio, tip_speed=0.0):
    mass_flow, _ = turbine.turbine_flow(machine, ratio * P4, T0, R, P4, tip_speed)
    return mass_flow * math.sqrt(R * T0) / (ratio * P4)


def brentq_flow(ratio, u2, throat=6e-4, rotor=ROTOR_AREA, angle=turbine.NOZZLE_ANGLE, loss=turbine.INCIDENCE_LOSS):
    """Mass flow by another route: velocity triangle and rothalpy in dimensional form, p1 by scipy's brentq."""
    p0 = ratio * P4
    exponent = GAMMA / (GAMMA - 1.0)
    u3 = u2 * math.sqrt(0.5 * (0.047**2 + 0.015**2)) / 0.055

    def flows(p1):
        T1 = T0 * (p1 / p0) ** (1.0 / exponent)
        c1 = math.sqrt(2.0 * CP * (T0 - T1))
        w_radial, w_tangential = c1 * math.cos(math.radians(angle)), c1 * math.sin(math.radians(angle)) - u2
        rothalpy = CP * T1 + 0.5 * (w_radial**2 + w_tangential**2) - 0.5 * u2**2
        T_relative = (rothalpy + 0.5 * u3**2) / CP
        T_lossless = T_relative - loss * 0.5 * w_tangential**2 / CP
        p_relative = p1 * (T_lossless / T1) ** exponent
        stator = flow.nozzle_flow(turbine.DISCHARGE_STATOR * throat, p0, T0, R, GAMMA, p1)
        if p_relative <= P4:
            return stator, 0.0
        return stator, flow.nozzle_flow(turbine.DISCHARGE_ROTOR * rotor, p_relative, T_relative, R, GAMMA, P4)

    p1 = brentq(lambda p: flows(p)[0] - flows(p)[1], 1e-2 * P4, p0, xtol=1e-8, rtol=1e-14)
    return flows(p1)[0]


@pytest.mark.parametrize("ratio", [1.3, 1.6, 2.0, 2.7, 4.0, 6.5])
@pytest.mark.parametrize("m", [0.1, 0.2, 0.4, 0.6])
@pytest.mark.parametrize("loss", [1.0, 0.5])
def test_intermediate_state_agrees_with_brentq(ratio, m, loss):
    u2 = math.sqrt(m * R * T0)
    reference = brentq_flow(ratio, u2, loss=loss)
    passages = turbine.Passages(
        turbine.DISCHARGE_STATOR * 6e-4,
        turbine.DISCHARGE_ROTOR * ROTOR_AREA,
        math.sqrt(0.5 * (0.047**2 + 0.015**2)) / 0.055,
        math.sin(math.radians(turbine.NOZZLE_ANGLE)),
        loss,
        GAMMA,
    )
    exact, _ = turbine.series_flow(passages, ratio ** -((GAMMA - 1.0) / GAMMA), m, 1.0)
    assert exact * ratio * P4 / math.sqrt(R * T0) == pytest.approx(reference, rel=1e-8, abs=1e-9)


@pytest.mark.parametrize("ratio", [1.37, 1.6, 2.03, 3.1, 7.0])
@pytest.mark.parametrize("m", [0.0, 0.17, 0.33, 0.62])
def test_table_agrees_with_brentq_between_its_nodes(ratio, m):
    machine = turbine.from_hardware(**HARDWARE)
    u2 = math.sqrt(m * R * T0)
    found, _ = turbine.turbine_flow(machine, ratio * P4, T0, R, P4, u2)
    assert found == pytest.approx(brentq_flow(ratio, u2), rel=3e-3)


@settings(max_examples=60, deadline=None)
@given(
    throat=st.floats(-7.0, -1.0),
    wheel=st.floats(0.03, 0.12),
    trim=st.floats(0.5, 0.98),
    hub=st.floats(0.0, 0.8),
    angle=st.floats(0.0, 85.0),
    nozzle=st.floats(45.0, 88.0),
    loss=st.floats(0.0, 1.0),
)
def test_any_hardware_is_finite_monotone_and_within_its_throats(throat, wheel, trim, hub, angle, nozzle, loss):
    area = 10.0**throat
    outlet = trim * wheel
    machine = turbine.from_hardware(
        area, wheel, outlet, hub * outlet, angle, GAMMA, nozzle_angle=nozzle, incidence_loss=loss
    )
    assert np.all(np.isfinite(machine.flow))
    assert np.all(machine.flow >= 0.0)
    assert np.all(machine.flow[:, 0] == 0.0) or loss < 1.0
    scale = machine.flow.max()
    assert np.all(np.diff(machine.flow, axis=1) >= -1e-9 * scale)
    assert scale <= turbine.DISCHARGE_STATOR * area * flow.choked_flow_function(GAMMA) * (1.0 + 1e-9)


def test_nearly_shut_housing_passes_its_choked_throat_alone():
    machine = turbine.from_hardware(**HARDWARE | {"throat_area": 1e-8})
    expected = turbine.DISCHARGE_STATOR * 1e-8 * flow.choked_flow_function(GAMMA)
    assert swallowing(machine, 4.0, 150.0) == pytest.approx(expected, rel=1e-9)


def test_huge_housing_leaves_the_rotor_alone():
    machine = turbine.from_hardware(**HARDWARE | {"throat_area": 1.0})
    for ratio in (1.5, 2.0, 5.0):
        alone = turbine.DISCHARGE_ROTOR * ROTOR_AREA * flow.flow_function(1.0 / ratio, GAMMA)[0]
        assert swallowing(machine, ratio) == pytest.approx(alone, rel=1e-3)


def test_huge_rotor_leaves_the_housing_alone():
    machine = turbine.from_hardware(1e-6, 0.055, 0.05, 0.01, 0.0, GAMMA, nozzle_angle=90.0)
    for ratio in (1.2, 1.5, 3.0):
        alone = turbine.DISCHARGE_STATOR * 1e-6 * flow.flow_function(1.0 / ratio, GAMMA)[0]
        assert swallowing(machine, ratio) == pytest.approx(alone, rel=1e-3)


@pytest.mark.parametrize("throat", [1.5e-4, 3e-3])
def test_either_nozzle_choking_gives_a_plateau(throat):
    machine = turbine.from_hardware(**HARDWARE | {"throat_area": throat})
    row = machine.flow[4]
    assert row[-1] == pytest.approx(row[-20], rel=1e-9)
    at_most = turbine.maximum_flow(machine, 5.0 * P4, T0, R, 200.0)
    assert turbine.turbine_flow(machine, 5.0 * P4, T0, R, P4, 200.0)[0] == pytest.approx(at_most, rel=1e-6)


def test_speed_lowers_the_swallowing():
    machine = turbine.from_hardware(**HARDWARE)
    flows = [swallowing(machine, 2.0, speed) for speed in (150.0, 300.0, 450.0)]
    assert flows == sorted(flows, reverse=True)


@pytest.mark.parametrize("ratio", [1.0005, 1.003, 1.05, 1.4, 1.8, 2.5, 7.0])
def test_area_is_one_nozzle(ratio):
    machine = turbine.from_area(3e-4, GAMMA, 0.05)
    found, _ = turbine.turbine_flow(machine, ratio * P4, T0, R, P4, 300.0)
    exact = flow.nozzle_flow(3e-4, ratio * P4, T0, R, GAMMA, P4)
    if math.log(ratio) >= turbine.LOG_BAND:
        assert found == pytest.approx(exact, rel=2e-4)
    else:
        assert 0.0 < found < exact


@settings(deadline=None)  # the first call compiles
@given(ratio=st.floats(1.00001, 9.0), speed=st.floats(0.0, 600.0))
def test_conductance_is_the_derivative_and_finite(ratio, speed):
    machine = turbine.from_hardware(**HARDWARE)
    p0, step = ratio * P4, 1e-3
    at = [turbine.turbine_flow(machine, p, T0, R, P4, speed) for p in (p0 - step, p0, p0 + step)]
    assert 0.0 <= at[1][1] < math.inf
    low, high = sorted((at[0][1], at[2][1]))
    slope = (at[2][0] - at[0][0]) / (2.0 * step)
    assert low * (1 - 1e-4) - 1e-12 <= slope <= high * (1 + 1e-4) + 1e-12  # one-sided at a node of the table


def test_nothing_flows_backward_and_share_scales():
    whole, half = turbine.from_hardware(**HARDWARE), turbine.from_hardware(**HARDWARE, share=0.5)
    assert turbine.turbine_flow(whole, P4, T0, R, 1.1 * P4, 200.0) == (0.0, 0.0)
    assert swallowing(half, 2.0, 200.0) == pytest.approx(0.5 * swallowing(whole, 2.0, 200.0), rel=1e-14)


RATIO = np.array([1.15, 1.4, 1.8, 2.2, 2.8])
SWALLOWING = 1e-4 * np.array([1.4, 2.0, 2.4, 2.5, 2.52])


def test_curve_passes_through_its_points_starts_at_zero_and_ends_flat():
    machine = turbine.from_curve(RATIO, SWALLOWING, 0.05)
    for ratio, value in zip(RATIO, SWALLOWING, strict=True):
        assert swallowing(machine, ratio) == pytest.approx(value, rel=1e-3)
    assert machine.flow[0, 0] == 0.0
    assert swallowing(machine, 6.0) == pytest.approx(SWALLOWING[-1], rel=1e-9)
    assert np.all(np.diff(machine.flow[0]) >= 0.0)
    assert turbine.maximum_flow(machine, 3e5, T0, R, 0.0) * math.sqrt(R * T0) / 3e5 == pytest.approx(SWALLOWING[-1])


def test_curve_of_a_nozzle_is_that_nozzle():
    ratio = np.linspace(1.1, 3.0, 20)
    exact = np.array([2e-4 * flow.flow_function(1.0 / x, GAMMA)[0] for x in ratio])
    machine = turbine.from_curve(ratio, exact, 0.05)
    for x, error in ((1.03, 0.025), (1.27, 1e-3), (1.73, 1e-3), (2.6, 1e-3)):  # below the first point it must guess
        assert swallowing(machine, x) == pytest.approx(2e-4 * flow.flow_function(1.0 / x, GAMMA)[0], rel=error)


def test_efficiency_table_is_read_and_held_at_its_ends():
    machine = turbine.from_curve(RATIO, SWALLOWING, 0.05, efficiency=np.array([0.5, 0.6, 0.7, 0.68, 0.65]))
    for ratio, value in ((1.01, 0.5), (1.8, 0.7), (5.0, 0.65)):
        found = turbine.turbine_efficiency(machine, ratio * P4, T0, R, GAMMA, P4, 250.0)
        assert found == pytest.approx(value, abs=2e-3)


def test_efficiency_parabola_peaks_where_said_and_is_floored():
    machine = turbine.from_area(3e-4, GAMMA, 0.05, efficiency_peak=0.72, blade_speed_ratio_peak=0.65)
    work = turbine.turbine_work(2e5, T0, R, GAMMA, P4)
    peak_speed = 0.65 * math.sqrt(2.0 * work)
    at = [turbine.turbine_efficiency(machine, 2e5, T0, R, GAMMA, P4, x * peak_speed) for x in (0.5, 1.0, 1.5, 3.0)]
    assert at[1] == pytest.approx(0.72, rel=1e-12)
    assert at[0] == pytest.approx(0.72 * 0.75, rel=1e-12)
    assert at[2] == pytest.approx(at[0], rel=1e-12)
    assert at[3] == 0.0
    assert turbine.turbine_efficiency(machine, P4, T0, R, GAMMA, P4, 300.0) == 0.0


def test_corrected_flow_conversion_returns():
    value = turbine.swallowing_from_corrected(0.12, 298.0, 1e5, 287.0)
    assert value == pytest.approx(0.12 * math.sqrt(287.0 * 298.0) / 1e5, rel=1e-14)
    assert turbine.corrected_from_swallowing(value, 298.0, 1e5, 287.0) == pytest.approx(0.12, rel=1e-14)


def test_default_nozzle_angle_is_the_optimum_of_eleven_blades():
    assert pytest.approx(turbine.optimum_inlet_angle(11.0), abs=0.1) == turbine.NOZZLE_ANGLE


@pytest.mark.parametrize(
    ("ratio", "value"),
    [
        ([1.5, 1.4], [1e-4, 2e-4]),
        ([1.0, 1.5], [1e-4, 2e-4]),
        ([1.2, 1.5], [2e-4, 1e-4]),
        ([1.2, 1.5], [0.0, 1e-4]),
        ([1.2, 1.5], [1e-4]),
        ([1.2, float("nan")], [1e-4, 2e-4]),
        ([1.2, 1.5], [1e-4, float("nan")]),
        ([], []),
    ],
)
def test_a_curve_that_is_none_is_refused(ratio, value):
    with pytest.raises(ValueError, match=r"pressure ratio|flow"):
        turbine.from_curve(ratio, value, 0.05)


def test_efficiencies_that_are_none_are_refused():
    with pytest.raises(ValueError, match="efficiency"):
        turbine.from_curve(RATIO, SWALLOWING, 0.05, efficiency=[0.5, 0.6, 1.7, 0.7, 0.6])


@pytest.mark.parametrize("change", [{"throat_area": 0.0}, {"hub_diameter": 0.05}, {"exit_angle": 95.0}])
def test_hardware_without_passage_is_refused(change):
    with pytest.raises(ValueError, match="area"):
        turbine.from_hardware(**HARDWARE | change)


def test_every_builder_gives_the_same_compiled_signature():
    for machine in (
        turbine.from_area(3e-4, GAMMA, 0.05),
        turbine.from_hardware(**HARDWARE),
        turbine.from_curve(RATIO, SWALLOWING, 0.05, efficiency=[0.5, 0.6, 0.7, 0.7, 0.6]),
    ):
        turbine.turbine_flow(machine, 2e5, T0, R, P4, 200.0)
        turbine.turbine_efficiency(machine, 2e5, T0, R, GAMMA, P4, 200.0)
    assert len(turbine.turbine_flow.signatures) == 1
    assert len(turbine.turbine_efficiency.signatures) == 1
