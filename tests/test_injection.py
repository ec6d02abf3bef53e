"""Water sprayed into the charge: its enthalpy against moist air, the air it displaces, what burn, knock and exhaust make of it."""

import itertools
from functools import cache
from pathlib import Path

import cantera as ct
import numpy as np
import psychrolib
import pytest
from CoolProp.CoolProp import HAPropsSI, PropsSI
from hotside.models import fuels, gas
from hotside.sim import CaseError, load, predict, spray, tables
from hotside.sim.records import IN_H, IN_PHI, IN_R, IN_T, IN_Y
from hotside.sim.setup import prepare
from hotside.sim.surroundings import N_LOOP, Z_AIR, Z_INTAKE, Z_T_INTAKE, feed, injected, moist_share
from hotside.sim.tables_between import charge_table
from hotside.sim.verbs.predict.band import banded
from hotside.sim.water import held_as_vapour, liquid_enthalpy, water_of
from scipy.optimize import brentq

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
    setup = prepare(dry().set_all({"injection.share": 0.1, "injection.evaporation_share": 1.0}))
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
        T = gas.enthalpy_temperature(
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


def test_spray_that_the_air_cannot_hold_is_said():
    """A fifth of the fuel's mass is taken up; of half of it the manifold's air holds far less than the share of heat counted."""
    much = predict(dry().set("injection.share", 0.5))
    assert much.water_evaporated_fraction < 0.6 * 0.8
    assert any("can hold only" in text for text in much.warnings)
    coarse = predict(dry().set_all({"injection.share": 0.5, "injection.evaporation_share": 0.1}))
    assert not any("can hold only" in text for text in coarse.warnings)
    assert not any("can hold only" in text for text in wet(0.1).warnings)


def test_band_of_the_share_that_nobody_knows_stands_beside_the_readings():
    """0.64 to 0.96 of the heat where the case leaves it to the stand-in: each row a predict of its own, more heat more air."""
    case = dry().set("injection.share", 0.1)
    found = banded(case, wet(0.1))
    shares = [row["evaporation_share"] for row in found.spray_band]
    assert shares == pytest.approx([0.64, 0.8, 0.96])
    for row in found.spray_band:
        p = predict(case.set("injection.evaporation_share", row["evaporation_share"]))
        assert (row["power_w"], row["knock_margin_deg"]) == (p.power_w, p.knock_margin_deg)
    air = [row["air_flow_kg_s"] for row in found.spray_band]
    assert air == sorted(air)
    stated = case.set("injection.evaporation_share", 0.9)
    assert banded(stated, predict(stated)).spray_band is None
    assert banded(dry(), wet(0.0)).spray_band is None


# ------------------------------------------------------------------------------------------------- water with alcohol

MIXED = {
    "methanol": {"injection.alcohol": "methanol", "injection.alcohol_by_volume": 0.5},
    "ethanol": {"injection.alcohol": "ethanol", "injection.alcohol_by_mass": 0.3},
}
SPRAYED = 0.2


@cache
def mixed(name: str, share: float = SPRAYED, **more):
    return predict(dry().set_all(MIXED[name] | {"injection.share": share} | more))


def fresh_only(fuel):
    """A fuel's table without its burned gas, which Cantera takes half a minute for and a fresh charge does not read."""
    species = {s.name: s for s in ct.Species.list_from_file("nasa_gas.yaml")}
    return tables._fresh_part(fuel, species, ct.gas_constant)


def test_shares_by_volume_are_those_of_the_pure_liquids():
    """Half methanol by volume: 791.4 / (791.4 + 998.2) = 0.442 by mass; densities at 20 degC."""
    case = dry().set_all(MIXED["methanol"] | {"injection.share": SPRAYED})
    w = 791.4 / (791.4 + 998.2)
    assert spray.alcohol_by_mass(case.injection) == pytest.approx(w)
    assert spray.water_per_fuel(case.injection) == pytest.approx(SPRAYED * (1.0 - w) / (1.0 + SPRAYED * w))
    assert spray.tank_share(case.injection) == pytest.approx(1.0 / (1.0 + SPRAYED * w))


@pytest.mark.parametrize(("name", "fluid"), [("methanol", "Methanol"), ("ethanol", "Ethanol")])
@pytest.mark.parametrize(("tank_share", "spray_share"), [(0.0, 1.0), (0.5, 1.0), (1.0, 1.0), (0.5, 0.6)])
def test_fresh_charge_against_an_enthalpy_balance_by_coolprop(name, fluid, tank_share, spray_share):
    """Air, water, alcohol and n-heptane from the tank, all by CoolProp, which shares neither data nor code with the tables:
    temperature of the charge within 0.6 K of a cooling of some 25 to 55 K (heats of vaporisation there and here differ by 0.5 %).
    What the walls give is given at 25 degC."""
    case = dry().set_all(
        MIXED[name]
        | {"fuel.name": "n_heptane", "fuel.evaporation_share": tank_share, "injection.share": SPRAYED, "fuel.temperature": "300 K",
           "injection.temperature": "290 K", "injection.evaporation_share": spray_share, "ambient.relative_humidity": 0.0}
    )  # fmt: skip
    tank = fuels.named("n_heptane")
    table = fresh_only(spray.whole_fuel(tank, case.injection))
    plant = prepare(dry()).plant._replace(**spray.entering(case), **water_of(case.injection), humidity=0.0)
    z, inputs = np.zeros(N_LOOP), prepare(dry()).inputs.copy()
    z[Z_INTAKE], z[Z_T_INTAKE], z[Z_AIR] = 1.8e5, 340.0, 0.1
    feed(plant, table, inputs, z)
    row, w = inputs[0], spray.alcohol_by_mass(case.injection)
    all_fuel = row[IN_PHI] / table.afr_stoich  # over dry air
    heptane = all_fuel * spray.tank_share(case.injection)
    liquids = (
        (heptane * SPRAYED * w, fluid, 290.0, spray_share),
        (heptane * SPRAYED * (1.0 - w), "Water", 290.0, spray_share),
        (heptane, "n-Heptane", 300.0, tank_share),
    )

    def vapour(T, f):
        """Of an ideal gas [J/kg]."""
        return PropsSI("H", "T", T, "P", 1.0, f)

    def excess(T):
        balance = vapour(T, "Air") - vapour(340.0, "Air")
        for mass, f, at, share in liquids:
            by_walls = (1.0 - share) * (vapour(298.15, f) - PropsSI("H", "T", 298.15, "Q", 0, f))
            balance += mass * (vapour(T, f) - PropsSI("H", "T", at, "Q", 0, f) - by_walls)
        return balance

    molar = {"Air": 28.9647, "Water": 18.0153, "Methanol": 32.042, "Ethanol": 46.068, "n-Heptane": 100.202}  # [kg/kmol]
    masses = {"Air": 1.0} | {f: mass for mass, f, _, _ in liquids}
    r = 8314.46 * sum(m / molar[f] for f, m in masses.items()) / sum(masses.values())
    assert row[IN_R] == pytest.approx(r, rel=2e-4)  # what the vapours displace
    expected = brentq(excess, 274.0, 345.0)
    assert row[IN_T] == pytest.approx(expected, abs=0.6)
    assert expected < 340.0 - 15.0


def test_lambda_is_that_of_all_fuel_and_the_tank_gives_the_less():
    """What the probe in the exhaust reads: the same oxygen for tank fuel and alcohol together, as without alcohol (the cylinders
    of this case differ, so the mean is not run.lambda itself). Should the spray fail, the tank alone leaves the engine lean."""
    p, d = mixed("methanol"), wet(0.0)
    case = dry().set_all(MIXED["methanol"] | {"injection.share": SPRAYED})
    tank, methanol = (fuels.stoichiometric_afr(f) for f in (prepare(dry()).fuel, fuels.named("methanol")))
    alcohol = p.alcohol_flow_kg_s
    rest = p.fuel_flow_kg_s - alcohol
    dry_air = p.afr * p.fuel_flow_kg_s
    mean = d.afr / tank
    assert dry_air / (rest * tank + alcohol * methanol) == pytest.approx(mean, rel=2e-4)
    assert p.lambda_of_tank == pytest.approx(case.run.lambda_ratio / mean * dry_air / (rest * tank), rel=2e-4)
    assert p.lambda_of_tank > p.lambda_ratio + 0.03
    assert alcohol / rest == pytest.approx(spray.alcohol_per_fuel(case.injection), rel=1e-9)
    assert p.water_flow_kg_s + alcohol == pytest.approx(SPRAYED * rest, rel=0.01)


def test_tables_of_a_share_lie_between_those_of_its_neighbours():
    """Halfway between two nodes, against tables built for that very fuel: energies within 0.3 kJ of a kilogram (the data are good
    for some 2), gas constant 1e-5, frozen composition 3e-5; what is straight by mass is exact, and every atom is in its place."""
    case = dry().set_all(
        {"injection.alcohol": "methanol", "injection.alcohol_by_mass": 1.0, "injection.share": 0.05 / 0.95}
    )
    tank = prepare(dry()).fuel
    found = charge_table(tank, case.injection)
    built = tables.build(spray.whole_fuel(tank, case.injection), lambda text, share: None)
    for name, bound in {"burned_energy": 300.0, "burned_r": 0.005, "frozen": 3e-5}.items():
        assert np.abs(getattr(found, name) - getattr(built, name)).max() < bound, name
    for name in set(found._fields) - {"burned_energy", "burned_r", "frozen"}:
        assert np.allclose(getattr(found, name), getattr(built, name), rtol=1e-9), name
    atoms = [table.frozen @ table.elements for table in (found, built)]
    assert np.abs(atoms[0] - atoms[1]).max() < 1e-12


def test_what_wets_a_wall_cools_and_fills_less():
    """The walls then give part of the heat: a warmer charge, less air, nearer to knock."""
    fine, coarse = (mixed("methanol", **{"injection.evaporation_share": x}) for x in (1.0, 0.5))
    assert coarse.air_flow_kg_s < fine.air_flow_kg_s
    assert coarse.unburned_temperature_max_k > fine.unburned_temperature_max_k
    assert coarse.knock_margin_deg < fine.knock_margin_deg
    assert coarse.energy_closure < 1e-3


@pytest.mark.parametrize("name", MIXED)
def test_books_close_with_alcohol(name):
    p = mixed(name)
    assert p.converged
    assert p.mass_closure < 1e-6
    assert p.energy_closure < 1e-3


def test_alcohol_cools_and_raises_octane_beyond_its_water():
    """Beside the same spray without alcohol: methanol takes half of water's heat but knocks later and burns faster than water,
    which only dilutes; knock recedes more for the same mass where the alcohol's octane counts."""
    p, water = mixed("methanol"), wet(SPRAYED)
    setup = prepare(dry().set_all(MIXED["methanol"] | {"injection.share": SPRAYED}))
    assert setup.octane > prepare(dry()).octane
    assert p.knock_margin_deg > wet(0.0).knock_margin_deg
    assert p.ca50_deg < water.ca50_deg
    assert p.exhaust_temperature_k < wet(0.0).exhaust_temperature_k + 5.0


def test_injectors_and_pump_see_the_tank_alone():
    case = dry().set_all({"fuel.injector_flow": "900 cc/min", "fuel.pump_flow": "400 l/h"} | MIXED["methanol"])
    p = predict(case.set("injection.share", SPRAYED))
    pump = next(m["value"] for m in p.margins if m["name"] == "pump_flow_m3_s")
    tank = prepare(dry()).fuel
    assert pump == pytest.approx((p.fuel_flow_kg_s - p.alcohol_flow_kg_s) / tank.density, rel=1e-9)


def test_spray_of_alcohol_into_air_by_raoult():
    """Little alcohol gives the spray of water; more evaporates of the same mass with alcohol in it, and the air gets cooler than
    dry; all evaporates into air that is hot. Drops in equilibrium have the partial pressures of their fractions."""
    state = (1.8e5, 320.0, 0.006)
    assert spray.held_as_vapour(*state, 0.04, 1e-9, "methanol", 300.0) == pytest.approx(
        held_as_vapour(*state, 0.04, 300.0), rel=5e-3
    )
    mixed_share, cooled = spray.held_as_vapour(*state, 0.02, 0.02, "methanol", 300.0)
    assert mixed_share > held_as_vapour(*state, 0.04, 300.0)[0]
    assert cooled < 320.0
    assert spray.held_as_vapour(1.8e5, 420.0, 0.006, 0.005, 0.005, "ethanol", 300.0)[0] == pytest.approx(1.0, abs=1e-12)
    wet_, gone = spray.vapours(1.8e5, 300.0, 0.05, 0.05, "Methanol")
    n = np.array([(0.05 - wet_) / 18.01528, (0.05 - gone) / 32.042])
    y = np.array([wet_ / 18.01528, gone / 32.042])
    pressures = 1.8e5 * y / (y.sum() + 1.0 / 28.96)
    saturated = [PropsSI("P", "T", 300.0, "Q", 0, f) for f in ("Water", "Methanol")]
    assert pressures == pytest.approx(n / n.sum() * saturated, rel=1e-5)


@pytest.mark.parametrize(
    ("changes", "word"),
    [
        ({"injection.alcohol": "methanol", "injection.share": 0.2}, "alcohol_by_volume"),
        ({"injection.alcohol": "methanol", "injection.alcohol_by_volume": 0.5, "injection.flow": "1 g/s"}, "share"),
        ({"injection.alcohol": "propanol", "injection.share": 0.2}, "alcohol"),
        (
            {"injection.alcohol": "methanol", "injection.alcohol_by_volume": "110 %", "injection.share": 0.2},
            "alcohol_by_volume",
        ),
    ],
)
def test_alcohol_that_is_not_said_whole_is_one_sentence(changes, word):
    with pytest.raises(CaseError, match=word):
        dry().set_all(changes)
