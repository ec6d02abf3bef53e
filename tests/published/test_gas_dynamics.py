"""Choked and unchoked nozzles against textbook tables and worked examples (published values b.1-b.4)."""

import math

import fluids
import pytest
from hotside.models import compressor, flow, turbine

CENGEL = "Cengel & Boles, Thermodynamics: An Engineering Approach"
NACA_1135 = "Ames Research Staff, NACA Report 1135 (1953), Table I"
AIR = (287.0, 1.4)


def critical_temperature(gamma):
    return flow.critical_ratio(gamma) ** ((gamma - 1.0) / gamma)


@pytest.mark.parametrize(
    ("name", "found", "value"),
    [("p*/p0", flow.critical_ratio(1.4), 0.5283), ("T*/T0", critical_temperature(1.4), 0.8333)],
)
def test_critical_ratios_of_air(published, name, found, value):
    published(
        f"{name} at gamma 1.4",
        found=found,
        value=value,
        tol=("abs", 5e-5),
        unit="-",
        source=f"{CENGEL}, Table A-32",
        mark="R",
    )


@pytest.mark.parametrize(
    ("gamma", "pressure", "temperature", "function"),
    [
        (1.40, 0.5283, 0.8333, 0.68473),
        (1.35, 0.5369, 0.8511, 0.67614),
        (1.333, 0.5398, 0.8573, 0.67316),
        (1.33, 0.5404, 0.8584, 0.67263),
        (1.30, 0.5457, 0.8696, 0.66726),
    ],
)
def test_choked_nozzle_in_closed_form(published, gamma, pressure, temperature, function):
    source = "closed form of the isentropic nozzle"
    rows = (
        ("p*/p0", flow.critical_ratio(gamma), pressure, 5e-5),
        ("T*/T0", critical_temperature(gamma), temperature, 5e-5),
        ("mdot sqrt(r T0)/(A p0), choked", flow.choked_flow_function(gamma), function, 5e-6),
    )
    for name, found, value, half_digit in rows:
        published(
            f"{name}, gamma {gamma}",
            found=found,
            value=value,
            tol=("abs", 1.2 * half_digit),
            unit="-",
            source=source,
            mark="C",
            guard=True,
        )


def test_critical_state_of_carbon_dioxide(published):
    source = f"{CENGEL}, Ex. 17-4 p. 836"
    published(
        "CO2 T*",
        found=473.0 * critical_temperature(1.289),
        value=413.0,
        tol=("abs", 0.5),
        unit="K",
        source=source,
        mark="R",
    )
    published(
        "CO2 p*",
        found=1400.0 * flow.critical_ratio(1.289),
        value=767.0,
        tol=("abs", 0.5),
        unit="kPa",
        source=source,
        mark="R",
    )


@pytest.mark.parametrize(
    ("mach", "pressure", "ratio", "tolerance", "mark"),
    [(0.5, 0.8430, 1.3398, 3e-4, "M-high"), (0.3, 0.9823**3.5, 2.0351, 2e-3, "R")],
)
def test_area_ratio_of_subsonic_flow(published, mach, pressure, ratio, tolerance, mark):
    """A/A* is the choked over the local flow function; the tolerance is the rounding of the printed pressure ratio."""
    found = flow.choked_flow_function(1.4) / flow.flow_function(pressure, 1.4)[0]
    published(
        f"A/A* at Mach {mach}", found=found, value=ratio, tol=("rel", tolerance), unit="-", source=NACA_1135, mark=mark
    )


@pytest.mark.parametrize(
    ("back", "value", "tolerance", "mark"),
    [(0.7e6, 6.77, 0.003, "R+C"), (0.4e6, 7.11, 0.001, "R+C"), (0.7e6, 6.785, 2e-4, "C"), (0.4e6, 7.106, 2e-4, "C")],
)
def test_converging_nozzle(published, back, value, tolerance, mark):
    """The book rounds the Mach number to 0.778 in the first case (its exact answer is 6.785 kg/s)."""
    T0 = 873.0 + 150.0**2 / (2.0 * 1005.0)
    p0 = 1e6 * (T0 / 873.0) ** 3.5
    found = flow.nozzle_flow(50e-4, p0, T0, *AIR, back)
    source = f"{CENGEL}, Ex. 17-5 p. 839"
    published(
        f"air nozzle against {back / 1e6} MPa",
        found=found,
        value=value,
        tol=("rel", tolerance),
        unit="kg/s",
        source=source,
        mark=mark,
    )


def test_carbon_dioxide_duct(published):
    r = 846.0 * 0.289 / 1.289  # cp 0.846 kJ/(kg K), as in the book
    found = flow.nozzle_flow(13.1e-4, 1.4e6, 473.0, r, 1.289, 1.2e6)
    published(
        "CO2 through 13.1 cm2 at 1200 kPa",
        found=found,
        value=3.0,
        tol=("rel", 0.005),
        unit="kg/s",
        source=f"{CENGEL}, Ex. 17-3",
        mark="R",
    )


def test_converging_diverging_nozzle(published):
    source = f"{CENGEL}, Ex. 17-7"
    found = flow.nozzle_flow(20e-4, 1e6, 800.0, *AIR, 0.1278e6)
    published(
        "choked throat of 20 cm2", found=found, value=2.86, tol=("abs", 0.005), unit="kg/s", source=source, mark="R"
    )
    T_throat = 800.0 * critical_temperature(1.4)
    published("throat temperature", found=T_throat, value=666.6, tol=("abs", 0.1), unit="K", source=source, mark="R")


def test_velocities_of_the_worked_nozzles(published):
    """A velocity is what the isentropic work of our turbine gives without a wheel: the spouting velocity."""

    def velocity(p0, T0, r, gamma, p):
        return 1.0 / turbine.blade_speed_ratio(1.0, turbine.turbine_work(p0, T0, r, gamma, p))

    source = f"{CENGEL}, Ex. 17-7"
    throat = velocity(1e6, 800.0, *AIR, 1e6 * flow.critical_ratio(1.4))
    published("throat velocity", found=throat, value=517.5, tol=("abs", 0.1), unit="m/s", source=source, mark="R")
    outlet = velocity(1e6, 800.0, *AIR, 0.1278e6)
    published("exit velocity", found=outlet, value=845.2, tol=("abs", 0.3), unit="m/s", source=source, mark="R")
    T = 800.0 - outlet**2 / (2.0 * 1004.5)
    published("exit temperature", found=T, value=444.5, tol=("abs", 0.2), unit="K", source=source, mark="R")
    duct = velocity(1.4e6, 473.0, 846.0 * 0.289 / 1.289, 1.289, 1.2e6)
    published(
        "CO2 velocity at 1200 kPa",
        found=duct,
        value=164.9,
        tol=("abs", 0.3),
        unit="m/s",
        source=f"{CENGEL}, Ex. 17-3",
        mark="R",
    )


def test_work_of_the_compressor_behind_a_diffuser(published):
    T01 = 255.7 + 250.0**2 / (2.0 * 1005.0)
    found = compressor.isentropic_work(T01, 8.0, 1.005, 1.4)
    published(
        "compressor of pressure ratio 8 in flight",
        found=found,
        value=233.9,
        tol=("abs", 0.3),
        unit="kJ/kg",
        source=f"{CENGEL}, ch. 17, stagnation example",
        mark="R",
    )


def test_critical_flow_nozzle(published):
    """Ideal flow, then with the discharge coefficient of a toroidal throat."""
    area = 0.25 * math.pi * 0.010**2
    state = (area, 200e3, 300.0, *AIR, 50e3)
    published(
        "ideal flow, 10 mm throat",
        found=flow.nozzle_flow(*state),
        value=0.036652,
        tol=("rel", 5e-4),
        unit="kg/s",
        source="closed form",
        mark="C",
        guard=True,
    )
    found = flow.orifice_flow(0.9905, *state)
    published(
        "real flow, 10 mm throat",
        found=found,
        value=0.036652 * 0.9905,
        tol=("rel", 6e-4),
        unit="kg/s",
        source="ISO 9300:2005, toroidal throat, Cd = 0.9959 - 2.720 Re^-0.5 at Re 2.53e5",
        mark="M-med",
        guard=True,
    )


@pytest.mark.parametrize("gamma", [1.2, 1.25, 1.3, 1.35, 1.4])
def test_choking_against_an_independent_library(published, gamma):
    published(
        f"p*/p0, gamma {gamma}",
        found=flow.critical_ratio(gamma),
        value=fluids.P_critical_flow(1.0, gamma),
        tol=("rel", 1e-9),
        unit="-",
        source="fluids library, P_critical_flow",
        mark="C",
    )
