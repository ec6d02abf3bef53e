"""Standard atmosphere and humid air against the 2017 ASHRAE Handbook - Fundamentals, ch. 1."""

import pytest
from hotside.models import air, fuels, gas
from hotside.sim import tables

ASHRAE = "2017 ASHRAE Handbook - Fundamentals, ch. 1"
ISA = "international standard atmosphere, computed from its formula, not a published number"


@pytest.mark.parametrize(
    ("altitude", "pressure", "celsius"),
    [
        (-500, 107478, 18.2),
        (0, 101325, 15.0),
        (500, 95461, 11.8),
        (1000, 89875, 8.5),
        (4000, 61640, -11.0),
        (10000, 26436, -50.0),
    ],
)
def test_standard_atmosphere(published, altitude, pressure, celsius):
    found, temperature = air.standard_atmosphere(altitude)
    say = {"source": f"{ASHRAE}, Table 1", "mark": "R+C"}
    published(f"pressure at {altitude} m", found=found, value=pressure, tol=("abs", 1.0), unit="Pa", **say)
    name = f"temperature at {altitude} m"
    published(name, found=temperature - 273.15, value=celsius, tol=("abs", 0.06), unit="degC", **say)


@pytest.mark.parametrize(
    ("altitude", "pressure", "density"),
    [
        (0, 101325, 1.2250),
        (1000, 89875, 1.1116),
        (3000, 70109, 0.9091),
        (5000, 54020, 0.7361),
        (2000, 79495, None),
        (11000, 22632, None),
    ],
)
def test_density_of_the_standard_atmosphere(published, altitude, pressure, density):
    """The reference rounds 5000 m to 54020 Pa (the formula gives 54019.9)."""
    found = air.ambient(altitude=altitude)
    say = {"source": ISA, "mark": "C", "guard": True}
    published(f"ISA pressure at {altitude} m", found=found.pressure, value=pressure, tol=("abs", 1.0), unit="Pa", **say)
    if density is not None:
        name = f"ISA density at {altitude} m"
        published(name, found=found.density, value=density, tol=("abs", 1e-4), unit="kg/m3", **say)


@pytest.mark.parametrize(
    ("celsius", "value"),
    [(-20, 103.24), (-5, 401.74), (5, 872.6), (25, 3169.7), (50, 12351.3), (100, 101418.0), (150, 476101.4)],
)
def test_saturation_pressure(published, celsius, value):
    published(
        f"saturation pressure at {celsius} degC", found=air.saturation_pressure(celsius + 273.15), value=value,
        tol=("rel", 3e-4), unit="Pa", source=f"{ASHRAE}, Table 3", mark="R",
    )  # fmt: skip


@pytest.mark.parametrize(("celsius", "value"), [(5, 0.005425), (25, 0.020173), (50, 0.086863), (85, 0.838105)])
def test_saturation_humidity(published, celsius, value):
    """With Buck's enhancement factor; ideal gases alone would be 0.4 % and more too dry."""
    published(
        f"saturation humidity ratio at {celsius} degC", found=air.humidity_ratio(101325.0, celsius + 273.15, 1.0), value=value,
        tol=("rel", 1.2e-3), unit="kg/kg", source=f"{ASHRAE}, Table 2", mark="R",
    )  # fmt: skip


def test_example_1(published):
    """40 degC dry bulb, 20 degC wet bulb. Read off a chart: dew point to the degree (0.5 K, and 0.12 K for the rounding of the humidity)."""
    say = {"source": f"{ASHRAE}, Example 1", "mark": "R"}
    humidity = 0.0065
    rh = air.relative_humidity(101325.0, 313.15, humidity)
    published("relative humidity", found=rh, value=0.14, tol=("abs", 0.005), unit="-", **say)
    dew = air.dew_point(101325.0, humidity) - 273.15
    published("dew point", found=dew, value=7.0, tol=("abs", 0.62), unit="degC", **say)
    volume = (1 + humidity) / air.density(101325.0, 313.15, humidity)
    published("specific volume", found=volume, value=0.896, tol=("rel", 0.002), unit="m3/kg", **say)
    found = enthalpy(313.15, humidity) / 1e3
    published("enthalpy", found=found, value=56.7, tol=("rel", 0.01), unit="kJ/kg", **say)


def enthalpy(T, humidity):
    """Of moist air per dry air [J/kg]: the gas tables from 0 degC, plus 2500.9 kJ/kg to evaporate there (IAPWS, from memory)."""
    table = tables.gas_table(fuels.named("isooctane"))
    moist = table.dry_air.copy()
    moist[gas.H2O] = humidity
    rise = gas.mixture_enthalpy(table, moist, T) - gas.mixture_enthalpy(table, moist, 273.15)
    return rise + humidity * 2500.9e3


def test_dry_air(published):
    say = {"source": f"{ASHRAE}, dry air at 25 degC", "mark": "R"}
    published("enthalpy of dry air", found=enthalpy(298.15, 0.0), value=25148.0, tol=("rel", 0.002), unit="J/kg", **say)
    found = 1 / air.density(101325.0, 298.15, 0.0)
    published("volume of dry air", found=found, value=0.8443, tol=("rel", 0.001), unit="m3/kg", **say)


@pytest.mark.parametrize(("celsius", "value"), [(5, 18639.0), (25, 76504.0), (50, 275353.0)])
def test_saturated_enthalpy(published, celsius, value):
    """Our gas tables with our saturation humidity."""
    T = celsius + 273.15
    found = enthalpy(T, air.humidity_ratio(101325.0, T, 1.0))
    published(
        f"enthalpy of saturated air at {celsius} degC", found=found, value=value, tol=("rel", 0.002), unit="J/kg",
        source=f"{ASHRAE}, Table 2", mark="R",
    )  # fmt: skip
