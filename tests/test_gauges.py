"""The exhaust thermocouple: signs and orders of its errors, limits of its formulas, independent libraries."""

import cantera as ct
import ht
import numpy as np
import pytest
import thermocouple_its90
from hotside.models import gauges
from hotside.models.gauges import BARE, SHEATHED, SHIELDED

KINDS = (BARE, SHEATHED, SHIELDED)


def pulses(n: int = 720, speed_rpm: float = 5000.0, swing: float = 1.0):
    """One blowdown and one displacement pulse: (dt, t_gas, velocity, pressure); swing 0 is a steady stream."""
    angle = np.arange(n) * 720.0 / n
    blowdown = np.exp(-0.5 * ((angle - 150.0) / 15.0) ** 2)
    displacement = np.exp(-0.5 * ((angle - 240.0) / 50.0) ** 2)
    dt = np.full(n, 120.0 / speed_rpm / n)
    t_gas = 950.0 + swing * (250.0 * blowdown + 100.0 * displacement)
    velocity = 60.0 * (1.0 - swing) + swing * (150.0 * blowdown + 60.0 * displacement)
    pressure = 1.8e5 + swing * 0.8e5 * blowdown
    return dt, t_gas, velocity, pressure


def steady(probe, t_gas=1150.0, velocity=60.0, t_wall=850.0):
    one = np.ones(4)
    return gauges.probe_reading(probe, 1e-3 * one, t_gas * one, velocity * one, 1.8e5 * one, t_wall)


@pytest.mark.parametrize("kind", KINDS)
def test_slow_junction_lies_between_time_mean_and_flow_weighted_mean(kind):
    dt, t_gas, velocity, pressure = pulses()
    flow = velocity * pressure / t_gas
    reading = gauges.probe_reading(gauges.default_probe(kind), dt, t_gas, velocity, pressure, 850.0)
    assert t_gas.mean() + 10.0 < reading.ideal < np.average(t_gas, weights=flow) - 10.0


@pytest.mark.parametrize("kind", KINDS)
def test_errors_add_up_to_what_the_reading_lacks(kind):
    reading = gauges.probe_reading(gauges.default_probe(kind), *pulses(), 850.0)
    lost = reading.velocity_error + reading.radiation_error + reading.conduction_error
    assert reading.ideal - reading.temperature == pytest.approx(lost, abs=1e-9)


@pytest.mark.parametrize("kind", KINDS)
def test_larger_probe_reads_lower_in_steady_gas(kind):
    thin, thick = (gauges.default_probe(kind, size, 0.030) for size in (1.0e-3, 3.0e-3))
    assert steady(thick).temperature < steady(thin).temperature - 5.0
    assert steady(thick).time_constant > 2.0 * steady(thin).time_constant


@pytest.mark.parametrize("kind", KINDS)
def test_less_immersion_reads_lower_where_the_wall_is_cooler(kind):
    readings = [steady(gauges.default_probe(kind, 0.0, depth)).temperature for depth in (0.005, 0.01, 0.02, 0.04)]
    assert np.all(np.diff(readings) > 0.0)
    assert readings[0] < readings[-1] - 5.0


@pytest.mark.parametrize("kind", KINDS)
def test_wall_at_gas_temperature_leaves_only_the_velocity_error(kind):
    probe = gauges.default_probe(kind)._replace(recovery=1.0)
    reading = steady(probe, t_gas=1100.0, t_wall=1100.0)
    assert reading.temperature == pytest.approx(1100.0, abs=0.02)
    slow = steady(gauges.default_probe(kind), velocity=200.0)
    head = 200.0**2 / (2.0 * gauges.SPECIFIC_HEAT)
    assert slow.velocity_error == pytest.approx((1.0 - gauges.default_probe(kind).recovery) * head, rel=1e-9)


def test_shield_takes_most_of_the_radiation_error():
    bare_tip = gauges.default_probe(SHEATHED)
    shielded = gauges.default_probe(SHIELDED)._replace(shield_flow=1.0)
    assert steady(shielded).radiation_error < 0.4 * steady(bare_tip).radiation_error


@pytest.mark.parametrize("kind", KINDS)
def test_reading_closes_its_own_heat_balance(kind):
    """The stem is solved again by finite differences, and the junction's balance is summed with its slope."""
    probe = gauges.default_probe(kind)
    t_stem, t_tip, t_root, h_stem, h_tip = 1100.0, 1080.0, 800.0, 420.0, 300.0
    found = gauges.stem_tip(probe, t_stem, t_tip, t_root, h_stem, h_tip)
    n = 4001
    dx = probe.immersion / (n - 1)
    m2 = 4.0 * h_stem / (probe.conductivity * probe.stem_diameter)
    section = 0.25 * np.pi * probe.stem_diameter**2
    stems = 2.0 if kind == BARE else 1.0
    surface = np.pi * probe.junction_diameter**2 - stems * section if kind == BARE else section
    heat = h_tip * surface / (stems * probe.conductivity * section)  # slope the tip's loss asks for, per kelvin
    system = np.zeros((n, n))
    right = np.full(n, -m2 * dx * dx * t_stem)
    for i in range(1, n - 1):
        system[i, i - 1 : i + 2] = 1.0, -2.0 - m2 * dx * dx, 1.0
    system[0, :2] = -1.0 - 0.5 * m2 * dx * dx - heat * dx, 1.0  # half a cell at the tip
    right[0] = -heat * dx * t_tip - 0.5 * m2 * dx * dx * t_stem
    system[-1, -1], right[-1] = 1.0, t_root
    assert found == pytest.approx(np.linalg.solve(system, right)[0], abs=0.01)


def test_very_long_stem_does_not_overflow():
    reading = steady(gauges.default_probe(SHEATHED, 0.5e-3, 2.0))
    assert abs(reading.conduction_error) < 0.5 * reading.radiation_error
    assert np.isfinite(reading.temperature)


@pytest.mark.parametrize("kind", KINDS)
def test_ripple_is_periodic_and_vanishes_for_a_heavy_junction(kind):
    gas = pulses()
    probe = gauges.default_probe(kind)
    reading = gauges.probe_reading(probe, *gas, 850.0)
    ripple = gauges.junction_ripple(probe, *gas, reading)
    again = gauges.junction_ripple(probe, *gas, reading._replace(temperature=reading.temperature + 1e-9))
    assert np.allclose(ripple, again, atol=1e-6)
    assert ripple.mean() == pytest.approx(reading.temperature, abs=0.5)
    assert np.ptp(ripple) < 2.0
    march = ripple[-1]
    sink = reading.film * (reading.radiation_error + reading.conduction_error)
    for dt, t, v, p in zip(*gas, strict=True):
        h, _ = gauges.film_coefficient(probe, t, reading.temperature, v, p)
        t_recovered = t - (1.0 - probe.recovery) * v * v / (2.0 * gauges.SPECIFIC_HEAT)
        march, _ = gauges.junction_step(march, dt, t_recovered, h, sink, gauges.junction_inertia(probe))
    assert march == pytest.approx(ripple[-1], abs=1e-8)


def test_weightless_junction_follows_the_gas():
    gas = pulses()
    probe = gauges.default_probe(BARE)._replace(density=1e-3, emissivity=0.0, conductivity=1e-9, recovery=1.0)
    reading = gauges.probe_reading(probe, *gas, 850.0)
    assert np.allclose(gauges.junction_ripple(probe, *gas, reading), gas[1], atol=0.5)


def test_zero_floor_velocity_and_no_flow_reads_the_wall():
    probe = gauges.default_probe(SHEATHED)._replace(floor_velocity=1e-9)
    assert steady(probe, velocity=0.0, t_wall=850.0).temperature < 930.0


def test_turbulence_left_between_pulses_follows_the_stream():
    """It feeds on the mean flow: twice the stream, twice the floor; where all stands still a draught is left."""
    dt, t_gas, velocity, pressure = pulses()
    probe = gauges.default_probe(SHEATHED)
    one, two, none = (
        gauges.in_stream(probe, float(np.abs(share * velocity).mean())).floor_velocity for share in (1.0, -2.0, 0.0)
    )
    assert two == pytest.approx(2.0 * one)
    assert one == pytest.approx(0.08 * np.abs(velocity).mean())
    assert 0.0 < none < one
    still = gauges.probe_reading(gauges.in_stream(probe, 0.0), dt, t_gas, 0.0 * velocity, pressure, 850.0)
    assert 850.0 < still.temperature < t_gas.mean()
    assert gauges.in_stream(probe, 62.5).floor_velocity == pytest.approx(probe.floor_velocity)


def test_radiation_correction_inverts():
    t_junction = gauges.radiating_junction(1200.0, 800.0, 300.0, 0.8)
    assert gauges.gas_temperature(t_junction, 800.0, 300.0, 0.8) == pytest.approx(1200.0, abs=1e-6)


@pytest.mark.parametrize("t_junction", [900.0, 1050.0])
def test_shield_temperature_closes_its_heat_balance(t_junction):
    probe = gauges.default_probe(SHIELDED)
    t_shield, exchange = gauges.shield_temperature(probe, 1150.0, t_junction, 800.0, 250.0)
    sigma = gauges.STEFAN_BOLTZMANN
    from_gas = 2.0 * 250.0 / np.sqrt(probe.shield_ratio) * (1150.0 - t_shield)
    from_junction = exchange / probe.shield_ratio * sigma * (t_junction**4 - t_shield**4)
    to_wall = probe.shield_emissivity * sigma * (t_shield**4 - 800.0**4)
    assert from_gas + from_junction == pytest.approx(to_wall, rel=1e-8)
    assert 800.0 < t_shield < 1150.0


@pytest.mark.parametrize("reynolds", [5.0, 100.0, 3e3, 4e4])
@pytest.mark.parametrize("prandtl", [0.68, 0.72])
def test_churchill_bernstein_against_ht(reynolds, prandtl):
    found = gauges.nusselt(gauges.CHURCHILL_BERNSTEIN, reynolds, prandtl)
    assert found == pytest.approx(ht.Nu_cylinder_Churchill_Bernstein(reynolds, prandtl), rel=1e-9)


@pytest.mark.parametrize("reynolds", [300.0, 1000.0, 4000.0])
def test_wire_correlations_agree_within_the_authors_scatter(reynolds):
    """Moffat states 14 % on his factor; the three correlations must not differ by more than the sum of their scatters."""
    found = [gauges.nusselt(c, reynolds, gauges.PRANDTL) for c in gauges.REYNOLDS_RANGE]
    assert max(found) < 1.35 * min(found)


def test_type_k_against_an_independent_library():
    reference = thermocouple_its90.TypeK
    for t in np.linspace(0.0, 1372.0, 1373):
        emf = gauges.type_k_emf(t + gauges.ICE_POINT)
        assert 1e3 * emf == pytest.approx(reference.emf(t), abs=1e-6)
        assert gauges.type_k_temperature(emf) - gauges.ICE_POINT == pytest.approx(t, abs=0.06)


@pytest.mark.parametrize("t", [-5.0, 1380.0])
def test_type_k_refuses_what_lies_outside_and_says_the_number(t):
    with pytest.raises(ValueError, match=f"{t + 273.15:.2f}"):
        gauges.type_k_emf(t + 273.15)
    with pytest.raises(ValueError, match="mV"):
        gauges.type_k_temperature(np.sign(t) * 60e-3)


@pytest.mark.parametrize("phi", [0.9, 1.0, 1.2])
def test_gas_properties_against_cantera_transport(phi):
    gas = ct.Solution("gri30.yaml", transport_model="mixture-averaged")
    gas.set_equivalence_ratio(phi, "C3H8", "O2:1, N2:3.76")
    gas.TP = 1700.0, 1e5
    gas.equilibrate("TP")
    burned = gas.X
    for t in (500.0, 800.0, 1000.0, 1200.0, 1500.0):
        gas.TPX = t, 1.5e5, burned
        assert gauges.viscosity(t) == pytest.approx(gas.viscosity, rel=0.03)
        assert gauges.conductivity(t) == pytest.approx(gas.thermal_conductivity, rel=0.05)
        assert pytest.approx(gas.cp_mass * gas.viscosity / gas.thermal_conductivity, rel=0.05) == gauges.PRANDTL
    assert pytest.approx(ct.gas_constant / gas.mean_molecular_weight, rel=0.035) == gauges.GAS_CONSTANT


def test_refuses_a_probe_that_cannot_be():
    with pytest.raises(ValueError, match="kind 7"):
        gauges.default_probe(7)
    with pytest.raises(ValueError, match=r"-0\.003"):
        gauges.default_probe(SHEATHED, -0.003)


def test_one_signature_is_compiled():
    for kind in KINDS:
        gauges.probe_reading(gauges.default_probe(kind), *pulses(), 850.0)
    assert len(gauges.probe_reading.signatures) == 1
