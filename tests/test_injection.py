"""Water sprayed into the charge: its enthalpy against moist air, the air it displaces, what burn, knock and exhaust make of it."""

import itertools
from functools import cache
from pathlib import Path

import numpy as np
import psychrolib
import pytest
from CoolProp.CoolProp import HAPropsSI, PropsSI
from hotside.models import gas
from hotside.sim import CaseError, load, predict
from hotside.sim import exchange as ex
from hotside.sim.records import IN_H, IN_PHI, IN_T, IN_Y
from hotside.sim.setup import prepare
from hotside.sim.surroundings import N_LOOP, Z_AIR, Z_INTAKE, Z_T_INTAKE, feed, injected, moist_share
from hotside.sim.water import held_as_vapour, liquid_enthalpy

EXAMPLES = Path(__file__).resolve().parent.parent / "examples"
SHARES = (0.0, 0.1, 0.2)


@cache
def dry():
    return load(EXAMPLES / "uneven.toml")


@cache
def wet(share: float):
    return predict(dry().set("injection.share", share)) if share else predict(dry())


# --------------------------------------------------------------------------------------------- the enthalpy of moist air


def test_liquid_water_stands_below_its_vapour_by_the_heat_of_vaporisation():
    """The gas tables' own vapour enthalpy less CoolProp's latent heat: joined at 298.15 K within 0.1 %."""
    table = prepare(dry()).table
    vapour = np.zeros(gas.N_SPECIES)
    vapour[gas.H2O] = 1.0
    latent = PropsSI("H", "T", 298.15, "Q", 1, "Water") - PropsSI("H", "T", 298.15, "Q", 0, "Water")
    assert gas.mixture_enthalpy(table, vapour, 298.15) - liquid_enthalpy(298.15) == pytest.approx(latent, rel=1e-3)


@pytest.mark.parametrize("water", [0.003, 0.006, 0.009])
def test_charge_without_fuel_is_the_moist_air_that_the_spray_makes(water):
    """Air at 60 degC, 1.8 bar: the kernel's fresh charge at vanishing fuel against CoolProp's humid air, within 0.25 K."""
    setup = prepare(dry().set("injection.share", 0.1))
    z = np.zeros(N_LOOP)
    z[Z_INTAKE], z[Z_T_INTAKE], z[Z_AIR] = 1.8e5, 333.15, 0.1
    liquid = setup.case.injection.temperature
    plant = setup.plant._replace(water_per_fuel=0.0, water_flow=water * 0.1 / (1.0 + setup.plant.humidity))
    setup.inputs[:, IN_PHI] = 1e-6
    feed(plant, setup.table, setup.inputs, z)
    share, temperature = held_as_vapour(1.8e5, 333.15, setup.plant.humidity, water, liquid)
    assert share == 1.0
    assert setup.inputs[0, IN_T] == pytest.approx(temperature, abs=0.25)
    assert setup.inputs[0, IN_T] < 333.15 - 2300.0 * water


def test_spray_into_moist_air_ends_at_the_wet_bulb_of_psychrolib():
    """At one atmosphere more water than the air can hold, of wet-bulb temperature, leaves it saturated at that temperature."""
    psychrolib.SetUnitSystem(psychrolib.SI)
    humidity = psychrolib.GetHumRatioFromRelHum(40.0, 0.2, 101325.0)
    bulb = psychrolib.GetTWetBulbFromHumRatio(40.0, humidity, 101325.0)
    share, temperature = held_as_vapour(101325.0, 313.15, humidity, 0.03, bulb + 273.15)
    assert temperature - 273.15 == pytest.approx(bulb, abs=0.15)
    most = psychrolib.GetSatHumRatio(bulb, 101325.0)
    assert share == pytest.approx((most - humidity) / 0.03, rel=0.03)
    assert HAPropsSI("W", "T", temperature, "P", 101325.0, "R", 1.0) == pytest.approx(humidity + 0.03 * share, rel=1e-6)


def test_water_counts_as_neither_air_nor_fuel():
    setup = prepare(dry().set("injection.share", 0.2))
    z = np.zeros(N_LOOP)
    z[Z_INTAKE], z[Z_T_INTAKE], z[Z_AIR] = 1.8e5, 320.0, 0.1
    feed(setup.plant, setup.table, setup.inputs, z)
    for row in setup.inputs:
        water = injected(setup.plant, setup.table, row[IN_PHI], z)
        fuel = row[IN_Y + gas.FUEL]
        air = moist_share(setup.plant, setup.table, row)
        assert air + fuel + water * air / (1.0 + setup.plant.humidity) == pytest.approx(1.0, rel=1e-12)
        assert water * air / (1.0 + setup.plant.humidity) == pytest.approx(0.2 * fuel, rel=1e-9)
        masses = np.ascontiguousarray(row[IN_Y : IN_Y + gas.N_SPECIES])
        T = ex.enthalpy_temperature(
            setup.table.energy, setup.table.cv, setup.table.gas_constant, masses, row[IN_H], 300.0
        )
        assert pytest.approx(T) == row[IN_T]


# ------------------------------------------------------------------------------------------------------ what it does


def test_books_close_and_the_flow_is_the_share_of_the_fuel():
    for share in SHARES[1:]:
        p = wet(share)
        assert p.converged
        assert p.mass_closure < 1e-6
        assert p.energy_closure < 1e-3
        assert p.water_flow_kg_s == pytest.approx(share * p.fuel_flow_kg_s, rel=0.01)
        assert p.afr == pytest.approx(wet(0.0).afr, rel=1e-3)  # the water is in neither


def test_water_takes_heat_and_keeps_knock_and_exhaust_down():
    """Cooler end gas needs less octane; heat taken up by water leaves the exhaust cooler at the burn's own phase."""
    rows = [wet(share) for share in SHARES]
    for a, b in itertools.pairwise(rows):
        assert b.octane_required < a.octane_required
        assert b.unburned_temperature_max_k < a.unburned_temperature_max_k
        assert b.knock_margin_deg > a.knock_margin_deg
        assert b.ca50_deg > a.ca50_deg  # water is a diluent: the flame is slower
    retimed = predict(dry().set_all({"injection.share": 0.2, "run.spark_advance": "19 deg"}))
    assert retimed.exhaust_temperature_k < rows[0].exhaust_temperature_k


def test_same_flow_is_nearly_the_same_point():
    """A share follows each cylinder's fuel, a flow its air: the lean cylinder, which knocks first, gets more of the same flow."""
    by_flow = predict(dry().set("injection.flow", f"{wet(0.1).water_flow_kg_s!r} kg/s"))
    assert by_flow.power_w == pytest.approx(wet(0.1).power_w, rel=2e-3)
    assert wet(0.1).octane_required - 0.3 < by_flow.octane_required < wet(0.1).octane_required


def test_no_water_is_no_injection():
    """Bit for bit."""
    none = predict(dry().set("injection.share", 0.0))
    assert none.power_w == predict(dry()).power_w
    assert none.water_flow_kg_s is None


def test_share_and_flow_together_are_one_sentence_and_neither_is_no_injection():
    raw = dry().to_dict()
    with pytest.raises(CaseError, match="exclude each other"):
        load(raw | {"injection": {"share": 0.1, "flow": "0.001 kg/s"}})
    idle = load(raw | {"injection": {"temperature": "20 degC"}})
    assert idle.unread == ("injection.temperature",)
    assert predict(idle).power_w == predict(dry()).power_w


def test_more_water_than_is_tabulated_is_said():
    """0.1 of the air is the most; where that much is taken the flow printed is what was taken, with a warning."""
    p = predict(dry().set("injection.flow", "0.1 kg/s"))
    assert p.water_flow_kg_s < 0.1
    assert any("More water" in text for text in p.warnings)
    assert not any("More water" in text for text in wet(0.2).warnings)
