"""Defects that random cases brought to light, each on a small case and with the reason why the answer is what it is."""

import numpy as np
import pytest
from hotside.models import gas
from hotside.sim import exchange as ex
from hotside.sim import load, predict, spray, steady, surroundings, water
from hotside.sim.margins import MOST_DUTY
from hotside.sim.records import C_ENERGY, C_T, IN_T, N_CONTENT, K
from hotside.sim.setup import prepare
from hotside.sim.steady import SolveError
from hotside.sim.water import water_readings


@pytest.mark.parametrize(("bore", "opening"), [("24 mm", 0.8), ("28 mm", 0.1), ("40 mm", 0.8)])
def test_a_pipe_that_takes_as_much_as_the_turbine_is_answered(bore, opening):
    """Pressure after the turbine and flow answer each other: set anew after each march it swung between a shut pipe and a flood,
    and stayed at hundreds of bar once no gas passed. A steady flow through two restrictions in a row has one answer, in which the
    pipe takes the more of the whole the narrower it is."""
    case = load().set_all(
        {"wastegate.model": "opening", "wastegate.opening": opening, "exhaust.downpipe_diameter": bore}
    )
    found = predict(case)
    assert found.status == "converged"
    assert found.cycles < 20
    assert found.backpressure_pipe_pa > 2.5 * found.backpressure_turbine_pa > 0.0
    wider = predict(case.set("exhaust.downpipe_diameter", "60 mm"))
    assert found.backpressure_pipe_pa > wider.backpressure_pipe_pa
    assert found.backpressure_turbine_pa < wider.backpressure_turbine_pa
    assert found.boost_pa < wider.boost_pa


def test_where_no_gas_passes_the_pipe_takes_nothing():
    """Without flow there is no loss, whatever stood there before."""
    _, march = steady.answer(prepare(load()))
    z, plant = march.z.copy(), march.setup.plant
    z[surroundings.Z_EXHAUST] = 0.0
    after = surroundings.outlet(march.setup.engine, plant, march.desk, z, 0.0)
    assert after == plant.ambient_pressure < z[surroundings.Z_OUTLET]


@pytest.mark.parametrize("completeness", [0.985, 1.0])
@pytest.mark.parametrize("jump", [[0.6, 0.99], [0.6, 1.0], [0.3, 0.99]])
def test_a_burn_that_jumps_burns_no_more_than_is_there(jump, completeness):
    """A measured burn may leap in a tenth of a degree: an explicit step of a degree and a half burned more fuel than there was, and
    negative fuel left through the valve, or no answer was found. What is left is what chemistry leaves of a lean charge."""
    angles = ("-25 deg", "-14 deg", "-3 deg", "-2.9 deg", "-1 deg")
    table = [list(row) for row in zip(angles, (0.0, 0.25, *jump, 1.0), strict=True)]
    case = load().set_all(
        {"burn.model": "table", "burn.table": table, "burn.completeness": completeness, "run.lambda": 1.25}
    )
    found = predict(case)
    assert found.status == "converged"
    assert found.energy_closure < 1e-3
    assert 0.0 <= found.energy_unburned - (1.0 - completeness) * 0.95 < 0.002


def test_a_spray_into_an_engine_that_draws_no_air_is_not_read():
    """Its share of the air would be nothing over nothing."""
    mist = {"injection.alcohol": "methanol", "injection.alcohol_by_volume": 0.5, "injection.share": 0.2}
    _, march = steady.answer(prepare(load().set_all(mist)))
    assert water_readings(march, 1e-3)["alcohol_flow_kg_s"] > 0.0
    march.z[surroundings.Z_AIR] = 0.0
    assert water_readings(march, 0.0) == {}


def test_fuel_takes_no_more_heat_than_the_charge_has():
    """Half of a very rich charge of methanol cannot evaporate in cold air: it would end far below where any gas is tabulated, and
    energy was lost there. What is left takes its heat from the walls, and the books close."""
    cold = {"fuel.name": "methanol", "run.lambda": 0.6, "ambient.temperature": "-20 degC", "cooler.effectiveness": 1.0}
    found, march = steady.answer(prepare(load().set_all(cold | {"fuel.evaporation_share": 0.8})))
    assert march.setup.inputs[:, IN_T].min() == surroundings.COLDEST
    assert any("fuel.evaporation_share" in text for text in found.warnings)
    assert found.energy_closure < 1e-4
    warm = predict(load().set_all(cold | {"fuel.evaporation_share": 0.1}))
    assert not any("would cool the charge" in text for text in warm.warnings)


@pytest.mark.parametrize(
    "gate", [{"wastegate.diameter": "0 mm"}, {"wastegate.model": "opening", "wastegate.opening": 0.0}]
)
def test_a_boost_that_nothing_holds_is_followed_to_six_bar(gate):
    """A tiny turbine, no wastegate, and a compressor of one efficiency at any pressure: the balance lay at 10 bar and more, with
    cylinder pressures of a thousand. No single wheel makes it; the figures end where run.boost ends."""
    case = load().set_all({"compressor.model": "constant", "turbine.model": "area", "turbine.area": "150 mm2"} | gate)
    found = predict(case.set("run.spark_advance", "5 deg"))
    assert found.status == "boost over"
    assert found.boost_pa == pytest.approx(surroundings.MOST_BOOST, rel=1e-9)
    assert found.warnings[0].startswith("Nothing holds the boost")
    assert found.mass_closure < 1e-6
    assert found.peak_pressure_pa < 5e7


@pytest.mark.parametrize("first", [0.1, 0.3])
def test_a_burn_that_begins_with_a_jump_closes_its_books(first):
    """A tenth of the charge and more enters a burned zone of half a thousandth: a long step heated it by guesswork, and shorter ones by
    other guesses, until per mille of the fuel's energy were lost."""
    table = [["-20 deg", 0.0], ["-19.9 deg", first], ["-8 deg", first + 0.1], ["10 deg", 0.9], ["25 deg", 1.0]]
    case = load().set_all({"burn.model": "table", "burn.table": table, "run.boost": "0.4 bar", "run.speed": "3000 rpm"})
    found = predict(case)
    assert found.converged
    assert found.energy_closure < 5e-4


def test_a_rail_below_the_boost_is_said_and_stays_a_number():
    """No fuel passes an injector whose rail stands no higher than the manifold: its duty has no end, which no table can hold."""
    rail = {"fuel.injector_flow": "1000 cc/min", "fuel.rail_pressure": "1 bar", "fuel.rail_follows": "ambient"}
    found = predict(load().set_all(rail))
    duty = next(m for m in found.margins if m["name"] == "injector_duty_fraction")
    assert duty["value"] == MOST_DUTY
    assert duty["exceeded"]
    assert any(text.startswith("No fuel passes the injectors") for text in found.warnings)


@pytest.mark.parametrize("alcohol", ["none", "methanol", "ethanol"])
def test_a_spray_into_air_hotter_than_any_drop_leaves_none(alcohol):
    """Without a cooler much boost comes at 500 K and more, where an alcohol is no liquid at any pressure."""
    shares = []
    for temperature in (400.0, 470.0, 500.0, 560.0, 600.0, 659.0):
        if alcohol == "none":
            share, found = water.held_as_vapour(3e5, temperature, 0.005, 0.01, 300.0)
        else:
            share, found = spray.held_as_vapour(3e5, temperature, 0.005, 0.005, 0.005, alcohol, 300.0)
        shares.append(share)
        assert found is None or found < temperature
    assert shares == pytest.approx([1.0] * 6)


def test_a_runaway_is_no_answer():
    """Walls far too large for the gas between them (2 m2 around 0.05 l) take more in a step than it holds: energies run away while
    temperatures stand at the end of the tables, and masses repeat all the same. No figure of such a march means anything."""
    case = load().set_all(
        {
            "run.speed": "800 rpm",
            "run.boost": "0.2 bar",
            "exhaust.collector_surface": "2 m2",
            "exhaust.collector_volume": "0.05 l",
        }
    )
    with pytest.raises(SolveError, match="range of"):
        predict(case)


@pytest.mark.parametrize("start", [400.0, 1000.0])
@pytest.mark.parametrize("energy", [6000.0, 9000.0, 20000.0])
def test_gas_hotter_than_the_tables_is_held_at_their_hot_end(start, energy):
    """A parabola through the energies near a far too cold start turns back: such gas once ended as cold as there is."""
    table, content = prepare(load()).table, np.zeros((1, N_CONTENT))
    content[0, :K] = 1e-4 * table.dry_air
    content[0, C_ENERGY] = gas.mixture_energy(table, content[0, :K], 3400.0)[0] * energy / 3400.0
    content[0, C_T] = start
    states = np.ones((1, 1, ex.N_STATE))
    ex.fill_state(table.energy, table.cv, table.gas_constant, states, 0, 0, content)
    assert states[0, 0, ex.S_T] == ex.HOTTEST
