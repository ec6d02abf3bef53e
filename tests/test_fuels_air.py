"""Fuels against the `chemicals` library and their own arithmetic; ambient air against CoolProp and psychrolib."""

import chemicals
import numpy as np
import psychrolib
import pytest
from chemicals.combustion import MON, RON
from chemicals.dippr import EQ105
from chemicals.heat_capacity import CRC_standard_data
from chemicals.phase_change import Hvap_data_CRC
from chemicals.volume import rho_data_Perry_8E_105_l
from hotside.models import air, fuels
from hotside.sim import tables

CAS = {
    "isooctane": "540-84-1",
    "n_heptane": "142-82-5",
    "toluene": "108-88-3",
    "ethanol": "64-17-5",
    "methanol": "67-56-1",
}


@pytest.mark.parametrize("name", fuels.COMPONENTS)
def test_components_against_the_chemicals_library(name):
    part, cas = fuels.COMPONENTS[name], CAS[name]
    kmol = part.molar_mass
    assert kmol == pytest.approx(chemicals.MW(cas), rel=1e-4)
    assert part.boiling_point == pytest.approx(chemicals.Tb(cas), abs=0.3)
    assert part.heat_of_vaporisation * kmol == pytest.approx(1e3 * Hvap_data_CRC.loc[cas]["Hvap298"], rel=0.005)
    assert part.liquid_cp * kmol == pytest.approx(1e3 * CRC_standard_data.loc[cas]["Cpl"], rel=0.005)
    c = rho_data_Perry_8E_105_l.loc[cas]
    assert part.density == pytest.approx(EQ105(293.15, c["C1"], c["C2"], c["C3"], c["C4"]) * kmol / 1e3, rel=0.005)
    assert part.ron == RON(cas, method="FLORIAN_LIMING")
    assert part.mon == MON(cas, method="FLORIAN_LIMING")


@pytest.mark.parametrize("name", fuels.COMPONENTS)
def test_heating_value_against_the_chemicals_library(name):
    """From standard enthalpies of formation of the liquids, within 0.3 %."""
    part, table = fuels.COMPONENTS[name], tables.gas_table(fuels.named(name))
    burned = part.c * chemicals.Hfg("124-38-9") + part.h / 2 * chemicals.Hfg("7732-18-5")
    assert table.lhv_liquid == pytest.approx((chemicals.Hfl(CAS[name]) - burned) / part.molar_mass * 1e3, rel=0.003)


@pytest.mark.parametrize("fuel", fuels.FUELS.values(), ids=lambda fuel: fuel.name)
def test_every_named_fuel_is_sound(fuel):
    assert sum(fuel.mass_fractions) == pytest.approx(1.0, abs=1e-12)
    assert all(y >= 0 for y in fuel.mass_fractions)
    assert 12.011 * fuel.c + 1.008 * fuel.h + 15.999 * fuel.o == pytest.approx(fuel.molar_mass, rel=1e-12)
    assert fuel.ron >= fuel.mon
    assert fuel.source
    if fuel.name.startswith("gasoline"):
        assert 710 < fuel.density < 775, "EN 228 and ASTM D4814 practice"
        assert 1.7 < fuel.h / fuel.c < 2.05
        assert fuel.flame == fuels.GASOLINE


@pytest.mark.parametrize("name", ["gasoline_95", "gasoline_95_e10", "e85"])
def test_stoichiometry_of_the_fuel_and_of_its_table_agree(name):
    table = tables.gas_table(fuels.named(name))
    assert fuels.stoichiometric_afr(fuels.named(name)) == pytest.approx(table.afr_stoich, rel=1e-6)
    assert 1 / np.sum(table.dry_air * table.gas_constant) == pytest.approx(
        fuels.dry_air_molar_mass() / 8314.4626, rel=1e-6
    )


@pytest.mark.parametrize(
    ("name", "index"), [("gasoline_87", 87), ("gasoline_91", 91), ("gasoline_93", 93), ("race_100", 100)]
)
def test_grades_named_by_the_pump(name, index):
    assert fuels.named(name).pump_octane == index


@pytest.mark.parametrize(("name", "ron"), [("gasoline_95", 95), ("gasoline_98", 98), ("gasoline_95_e10", 95)])
def test_grades_named_by_research_octane(name, ron):
    assert fuels.named(name).ron == ron


@pytest.mark.parametrize("octane", [0, 40, 87, 95, 100])
def test_primary_reference_fuels_define_the_scale(octane):
    fuel = fuels.blend({"isooctane": octane, "n_heptane": 100 - octane})
    assert (fuel.ron, fuel.mon) == pytest.approx((octane, octane), abs=1e-12)


def test_ethanol_counts_by_mole():
    """10 % by volume of ethanol in a RON 88 base is some 20 % by mole and lifts RON by about 4: (0.2 x 20.6)."""
    base = fuels.blend({"isooctane": 88, "n_heptane": 12})
    fuel = fuels.blend({"isooctane": 0.9 * 88, "n_heptane": 0.9 * 12, "ethanol": 10})
    kmol_base, kmol_ethanol = 0.9 * base.density / base.molar_mass, 0.1 * 789.3 / 46.069
    share = kmol_ethanol / (kmol_base + kmol_ethanol)
    assert 0.2 < share < 0.25
    assert fuel.ron == pytest.approx(88 + share * (108.6 - 88), rel=1e-9)


def test_blends_of_blends_are_blends():
    """Ethanol poured into gasoline at once or in two steps: the same fuel, octane included."""
    once = fuels.blend({"gasoline_95": 0.575, "ethanol": 0.425})
    twice = fuels.blend({"gasoline_95": 0.5, "e85": 0.5})
    assert once.mass_fractions == pytest.approx(twice.mass_fractions, rel=1e-9, abs=1e-12)
    assert (once.ron, once.mon) == pytest.approx((twice.ron, twice.mon), rel=1e-9)
    assert once.density == pytest.approx(twice.density, rel=1e-9)
    assert fuels.blend({"e85": 3.0})[2:-2] == pytest.approx(fuels.named("e85")[2:-2], rel=1e-12)


@pytest.mark.parametrize(
    ("parts", "family"),
    [
        ({"isooctane": 1}, fuels.ISOOCTANE),
        ({"isooctane": 80, "n_heptane": 20}, fuels.ISOOCTANE),
        ({"toluene": 1}, fuels.GASOLINE),
        ({"gasoline_95": 90, "methanol": 10}, fuels.GASOLINE),
        ({"methanol": 85, "gasoline_95": 15}, fuels.METHANOL),
        ({"e85": 1}, fuels.ETHANOL),
    ],
)
def test_flame_family(parts, family):
    assert fuels.blend(parts).flame == family


@pytest.mark.parametrize(
    ("parts", "says"),
    [
        ({"petrolium": 1.0}, "unknown fuel 'petrolium'; known are isooctane"),
        ({"ethanol": -0.1, "isooctane": 1.1}, "share of ethanol is -0.1"),
        ({"ethanol": float("nan")}, "share of ethanol is nan"),
        ({"ethanol": float("inf")}, "share of ethanol is inf"),
        ({"ethanol": 0.0}, "at least one part"),
        ({}, "at least one part"),
    ],
)
def test_bad_blends(parts, says):
    with pytest.raises(ValueError, match=says):
        fuels.blend(parts)


def test_unknown_fuel():
    with pytest.raises(ValueError, match="unknown fuel 'kerosene'"):
        fuels.named("kerosene")


# ---------------------------------------------------------------------------------------------------------- air


@pytest.mark.parametrize("pressure", [60e3, 80e3, 101325.0, 250e3])
@pytest.mark.parametrize("temperature", [255.15, 268.15, 278.15, 293.15, 308.15, 323.15])
@pytest.mark.parametrize("rh", [0.1, 0.6, 1.0])
def test_humidity_against_coolprop(pressure, temperature, rh):
    """Humidity ratio within 0.25 % of CoolProp's real-gas humid air, relative humidity and dew point back again."""
    from CoolProp.HumidAirProp import HAPropsSI

    found = air.humidity_ratio(pressure, temperature, rh)
    assert found == pytest.approx(HAPropsSI("W", "P", pressure, "T", temperature, "R", rh), rel=2.5e-3)
    volume = HAPropsSI("Vha", "P", pressure, "T", temperature, "R", rh)  # of moist air
    assert air.density(pressure, temperature, found) == pytest.approx(1 / volume, rel=1e-3 + 6e-9 * pressure)
    assert air.relative_humidity(pressure, temperature, found) == pytest.approx(rh, rel=1e-12)
    dew = HAPropsSI("D", "P", pressure, "T", temperature, "R", rh)
    assert air.dew_point(pressure, found) == pytest.approx(dew, abs=0.1)


@pytest.mark.parametrize("celsius", range(-60, 121, 15))
def test_saturation_pressure_against_psychrolib(celsius):
    psychrolib.SetUnitSystem(psychrolib.SI)
    assert air.saturation_pressure(celsius + 273.15) == pytest.approx(psychrolib.GetSatVapPres(celsius), rel=1e-5)


def test_saturation_pressure_is_continuous_at_the_triple_point():
    ice, water = air.saturation_pressure(273.16 - 1e-9), air.saturation_pressure(273.16)
    assert ice == pytest.approx(water, rel=1e-4)
    assert water == pytest.approx(611.657, rel=2e-4)


@pytest.mark.parametrize("altitude", [-400, 0, 1200, 3000, 8000, 11000])
def test_standard_atmosphere_against_fluids(altitude):
    """`fluids` takes geometric height; its own geopotential height is what our formula asks for."""
    from fluids.atmosphere import ATMOSPHERE_1976

    reference = ATMOSPHERE_1976(altitude)
    pressure, temperature = air.standard_atmosphere(reference.H)
    assert pressure == pytest.approx(reference.P, rel=1e-4)
    assert temperature == pytest.approx(reference.T, abs=1e-3)


def test_ambient_from_altitude_and_from_pressure():
    high = air.ambient(altitude=1500.0)
    assert (high.pressure, high.temperature) == air.standard_atmosphere(1500.0)
    assert high.humidity == 0.0
    assert high.dry_share == 1.0
    hot = air.ambient(altitude=1500.0, temperature=308.15, relative_humidity=0.5)
    assert hot.pressure == high.pressure
    assert hot == air.ambient(pressure=high.pressure, temperature=308.15, relative_humidity=0.5)
    assert hot.density < high.density
    assert hot.dry_share == pytest.approx(1 - hot.humidity / (1 + hot.humidity))
    assert 0.015 < hot.humidity < 0.025


@pytest.mark.parametrize(
    ("arguments", "says"),
    [
        ({}, "either the altitude or the absolute pressure"),
        ({"altitude": 0.0, "pressure": 1e5}, "either the altitude or the absolute pressure"),
        ({"pressure": 1e5}, "needs a temperature"),
        ({"altitude": 12e3}, "altitude is 12000 m"),
        ({"pressure": 1.0, "temperature": 300.0}, "ambient pressure is 1 Pa"),
        ({"altitude": 0.0, "temperature": 25.0}, "ambient temperature is 25 K"),
        ({"altitude": 0.0, "temperature": float("nan")}, "ambient temperature is nan K"),
        ({"altitude": float("nan")}, "altitude is nan m"),
        ({"altitude": 0.0, "relative_humidity": 60.0}, "write 60 % as 0.6"),
        ({"altitude": 0.0, "relative_humidity": -0.1}, "relative humidity is -0.1"),
        ({"altitude": 4000.0, "temperature": 372.0, "relative_humidity": 1.0}, "water boils at 372 K"),
    ],
)
def test_bad_ambient(arguments, says):
    with pytest.raises(ValueError, match=says):
        air.ambient(**arguments)


def test_dry_air_has_no_dew_point():
    with pytest.raises(ValueError, match="dry air has no dew point"):
        air.dew_point(1e5, 0.0)
