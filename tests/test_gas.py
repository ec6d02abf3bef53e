"""The gas tables against Cantera, and the promises of the look-ups: inverses, slopes, conserved atoms."""

import cantera as ct
import numpy as np
import pytest
from hotside.models import fuels, gas
from hotside.sim import tables

FUELS = ("isooctane", "gasoline_95", "toluene", "methanol", "e85")


@pytest.fixture(params=FUELS)
def table(request):
    return tables.gas_table(fuels.named(request.param))


@pytest.fixture
def gasoline():
    return tables.gas_table(fuels.named("gasoline_95"))


@pytest.fixture(scope="module")
def species():
    return {s.name: s for s in ct.Species.list_from_file("nasa_gas.yaml")}


@pytest.fixture(scope="module")
def cantera_burned(species):
    """Burned gas straight from Cantera: energy, gas constant, cv, and energy at 298.15 K of the same composition."""
    solution = ct.Solution(thermo="ideal-gas", species=[species[name] for name in tables.BURNED_SPECIES])

    def state(table, phi, water, T, p):
        fuel = (1 - water) * phi / (table.afr_stoich + phi)
        air = 1 - water - fuel
        c, h, o = fuel * table.fuel_chon
        steam = water / (2 * 1.008 + 15.999)
        o2, n2, ar = (
            air / fuels.dry_air_molar_mass() * x for x in (0.2095, 0.7905 * 78.09 / 79.02, 0.7905 * 0.93 / 79.02)
        )
        start = {"CO": c, "H2": h / 2 + steam, "O2": o2 + (o + steam - c) / 2, "N2": n2, "Ar": ar}
        solution.TPX = max(T, table.t_freeze), p, start
        solution.equilibrate("TP", rtol=1e-10)
        solution.TP = T, p
        u, r, cv = solution.u, ct.gas_constant / solution.mean_molecular_weight, solution.cv_mass
        solution.TP = 298.15, p
        return u, r, cv, solution.u

    return state


def looked_up(table, phi, water, T, p):
    plane = np.empty((65, 13, 12))
    gas.blend_plane(table, phi, water, plane)
    return gas.burned_gas(table, plane, T, np.log(p))


def random_states(n, seed, richest=2.0, wettest=0.08):
    """Off-node points; every other one near stoichiometry, where the composition turns over."""
    rng = np.random.default_rng(seed)
    for k in range(n):
        phi = rng.uniform(0.97, 1.03) if k % 2 else rng.uniform(0.5, richest)
        yield phi, rng.uniform(0, wettest), rng.uniform(300, 3200), np.exp(rng.uniform(np.log(0.2e5), np.log(250e5)))


def released(table, phi, water):
    """Heating value that a charge of this mixture can release [J/kg]."""
    return (1 - water) * min(phi, 1.0) / (table.afr_stoich + phi) * table.lhv_liquid


def test_burned_gas_agrees_with_cantera(table, cantera_burned):
    """Energy within 0.1 % of the span: heating value of the charge + energy above 298.15 K. Gas constant within 0.02 %.

    Below 2500 K the error is also less than that of 1.2 K of temperature.
    """
    for phi, water, T, p in random_states(400, seed=1):
        exact, r, cv, cold = cantera_burned(table, phi, water, T, p)
        u, _, _, R, _, _ = looked_up(table, phi, water, T, p)
        span = released(table, phi, water) + exact - cold
        assert abs(u - exact) <= 1e-3 * span, (phi, water, T, p)
        assert abs(R / r - 1) <= 2e-4, (phi, water, T, p)
        if T < 2500:
            assert abs(u - exact) <= 1.2 * cv, (phi, water, T, p)


def test_burned_gas_with_injected_water_beyond_the_last_node(table, cantera_burned):
    """Added water of 8 to 12 % is extrapolated: 0.1 % of the span to 2500 K, 0.5 % above."""
    rng = np.random.default_rng(2)
    for phi, _, T, p in random_states(100, seed=3):
        water = rng.uniform(0.08, 0.12)
        exact, r, _, cold = cantera_burned(table, phi, water, T, p)
        u, _, _, R, _, _ = looked_up(table, phi, water, T, p)
        share = 1e-3 if T < 2500 else 5e-3
        assert abs(u - exact) <= share * (released(table, phi, water) + exact - cold), (phi, water, T, p)
        assert abs(R / r - 1) <= share


def test_burned_gas_leaner_than_any_flame(gasoline, cantera_burned):
    """Towards pure air the table goes on: within 0.3 % of the energy above 298.15 K, to 2500 K."""
    rng = np.random.default_rng(4)
    for _ in range(100):
        phi, T, p = rng.uniform(0.0, 0.5), rng.uniform(300, 2500), np.exp(rng.uniform(10, 17))
        exact, _, _, cold = cantera_burned(gasoline, phi, 0.0, T, p)
        assert abs(looked_up(gasoline, phi, 0.0, T, p)[0] - exact) <= 3e-3 * (exact - cold)


def test_burned_slopes_are_those_of_the_value(table):
    """u_T, u_y, R_T, R_y against central differences, inside and beyond the table."""
    rng = np.random.default_rng(5)
    plane = np.empty((65, 13, 12))
    gas.blend_plane(table, 1.23, 0.01, plane)
    for _ in range(300):
        T, y = rng.uniform(200, 4200), rng.uniform(9.0, 18.0)
        if abs(T - table.t_freeze) < 1 or min(abs(y - table.blp0), abs(y - table.blp0 - 12 * table.dblp)) < 1e-3:
            continue
        got = gas.burned_gas(table, plane, T, y)
        up, down = gas.burned_gas(table, plane, T + 1e-2, y), gas.burned_gas(table, plane, T - 1e-2, y)
        more, less = gas.burned_gas(table, plane, T, y + 1e-5), gas.burned_gas(table, plane, T, y - 1e-5)
        for value, slope_t, slope_y, scale in ((0, 1, 2, 1e3), (3, 4, 5, 1e-1)):
            assert (up[value] - down[value]) / 2e-2 == pytest.approx(got[slope_t], rel=1e-4, abs=1e-4 * scale)
            assert (more[value] - less[value]) / 2e-5 == pytest.approx(got[slope_y], rel=1e-4, abs=1e-2 * scale)


def test_burned_heat_capacity_agrees_with_cantera(gasoline, cantera_burned):
    """du/dT at constant pressure, dissociation included, within 0.5 % of Cantera's differences, off the kink."""
    for phi, water, T, p in random_states(100, seed=6):
        if abs(T - gasoline.t_freeze) < 2:
            continue
        high, low = (cantera_burned(gasoline, phi, water, T + dT, p)[0] for dT in (1.0, -1.0))
        assert looked_up(gasoline, phi, water, T, p)[1] == pytest.approx((high - low) / 2, rel=5e-3), (phi, water, T, p)


def test_burned_energy_has_a_kink_and_no_step_at_freezing(gasoline):
    plane = np.empty((65, 13, 12))
    gas.blend_plane(gasoline, 1.0, 0.0, plane)
    y = np.log(1e5)
    below, above = (gas.burned_gas(gasoline, plane, gasoline.t_freeze + d, y) for d in (-1e-6, 1e-6))
    assert above[0] - below[0] == pytest.approx(0.0, abs=0.01)
    assert above[3] - below[3] == pytest.approx(0.0, abs=1e-6)
    assert above[1] > 1.02 * below[1], "dissociation adds heat capacity above, none below"
    assert below[4] == pytest.approx(0.0, abs=1e-9)


def test_burned_energy_rises_with_temperature(table):
    plane = np.empty((65, 13, 12))
    for phi in (0.0, 0.6, 0.9, 1.0, 1.003, 1.2, 2.0):
        gas.blend_plane(table, phi, 0.02, plane)
        for y in np.linspace(9.5, 18.0, 30):
            u = [gas.burned_gas(table, plane, T, y)[0] for T in np.arange(100.0, 4500.0, 13.0)]
            assert np.all(np.diff(u) > 0)


def test_pressure_is_held_at_the_ends(gasoline):
    plane = np.empty((65, 13, 12))
    gas.blend_plane(gasoline, 1.0, 0.0, plane)
    high, higher = gas.burned_gas(gasoline, plane, 2500.0, np.log(250e5)), gas.burned_gas(gasoline, plane, 2500.0, 20.0)
    assert higher[0] == pytest.approx(high[0], rel=1e-12)
    assert higher[2] == higher[5] == 0.0


# ------------------------------------------------------------------------------------------------- compositions


def atoms(table, y):
    """C, H, O atoms and atmospheric nitrogen of mass fractions y."""
    return np.append(y @ table.elements, y[gas.N2])


def test_frozen_composition_conserves_atoms(table):
    rng = np.random.default_rng(7)
    fresh, burned = np.empty(7), np.empty(7)
    for _ in range(2000):
        phi, water, y = rng.uniform(0, 2), rng.uniform(0, 0.12), rng.uniform(9, 18)
        dry = 1 / (1 + phi / table.afr_stoich)  # dry air in air + fuel
        gas.fresh_charge(table, phi, water / ((1 - water) * dry), fresh)
        gas.frozen_composition(table, phi, water, y, burned)
        assert np.all(burned >= 0)
        assert burned.sum() == pytest.approx(1.0, abs=1e-12)
        assert atoms(table, burned) == pytest.approx(atoms(table, fresh), rel=1e-12, abs=1e-15)
        assert burned[gas.FUEL] == 0.0


def test_table_of_frozen_compositions_conserves_atoms(table):
    fresh = np.empty(7)
    for a, b in np.ndindex(len(table.phi), len(table.water)):
        phi, water = table.phi[a], table.water[b]
        gas.fresh_charge(table, phi, water / (1 - water) * (1 + phi / table.afr_stoich), fresh)
        assert np.all(table.frozen[a, b] >= 0)
        for y in table.frozen[a, b]:
            assert atoms(table, y) == pytest.approx(atoms(table, fresh), rel=1e-12, abs=1e-15)


def test_frozen_species_carry_the_energy_of_the_burned_gas(table):
    """Lumping NO, OH, O and H into seven species costs energy: 0.6 kJ/kg when rich, up to 9 kJ/kg when lean (NO)."""
    out = np.empty(7)
    for phi in np.linspace(0.5, 2.0, 61):
        for p in (1e5, 5e5):
            for T in (900.0, 1650.0):
                burned = looked_up(table, phi, 0.01, T, p)
                gas.frozen_composition(table, phi, 0.01, np.log(p), out)
                u, _ = gas.mixture_energy(table, out, T)
                assert -9e3 < u - burned[0] < 1e3
                if phi > 1.02:
                    assert abs(u - burned[0]) < 600.0
                assert gas.mixture_gas_constant(table, out) == pytest.approx(burned[3], rel=1e-4)


def test_close_atoms_scales_up_when_oxygen_is_short(gasoline):
    """Rich with no CO and H2 given: all that is missing becomes CO; then H2 as well."""
    out, fresh = np.empty(7), np.empty(7)
    for phi in (0.8, 1.0, 1.2, 1.9):
        gas.fresh_charge(gasoline, phi, 0.0, fresh)
        for co, h2 in ((0.0, 0.0), (1e-3, 1e-3), (1.0, 1.0), (-1.0, -1.0)):
            gas.close_atoms(gasoline, phi, 0.0, co, h2, out)
            assert np.all(out >= 0)
            assert atoms(gasoline, out) == pytest.approx(atoms(gasoline, fresh), rel=1e-12, abs=1e-15)


def test_charge_state_reads_fresh_burned_and_mixed_gas_alike(table):
    rng = np.random.default_rng(8)
    fresh, burned = np.empty(7), np.empty(7)
    for _ in range(500):
        phi, water, share = rng.uniform(0.05, 1.95), rng.uniform(0, 0.11), rng.uniform(0, 1)
        gas.fresh_charge(table, phi, water / (1 - water) * (1 + phi / table.afr_stoich), fresh)
        gas.frozen_composition(table, phi, water, 13.0, burned)
        for mixture in (fresh, burned, 4e-4 * (share * fresh + (1 - share) * burned)):
            assert gas.charge_state(table, mixture) == pytest.approx((phi, water), abs=1e-10)


def test_charge_state_at_the_ends(gasoline):
    nothing, fuel, air, wet = np.zeros(7), np.zeros(7), gasoline.dry_air.copy(), gasoline.dry_air.copy()
    fuel[gas.FUEL] = 1.0
    wet[gas.H2O] = 1.0
    assert gas.charge_state(gasoline, nothing) == (0.0, 0.0)
    assert gas.charge_state(gasoline, fuel)[0] == gasoline.phi[-1]
    assert gas.charge_state(gasoline, air) == pytest.approx((0.0, 0.0), abs=1e-12)
    assert gas.charge_state(gasoline, wet) == pytest.approx((0.0, gas.MAX_WATER), abs=1e-12)


def test_fresh_charge_is_what_it_says(table):
    out = np.empty(7)
    gas.fresh_charge(table, 1.25, 0.012, out)
    dry = out[gas.O2] + out[gas.N2]
    assert out.sum() == pytest.approx(1.0, abs=1e-15)
    assert out[gas.FUEL] * table.afr_stoich / dry == pytest.approx(1.25, rel=1e-12)
    assert out[gas.H2O] / dry == pytest.approx(0.012, rel=1e-12)


def test_evaporation_cools_the_charge(table):
    """Enthalpy given by the walls differs by the heat of vaporisation; vapour from warm walls is vapour."""
    out = np.empty(7)
    gas.fresh_charge(table, 1.1, 0.01, out)
    cold, warm = (gas.fresh_enthalpy(table, 1.1, 0.01, 298.15, 298.15, s) for s in (1.0, 0.0))
    assert warm - cold == pytest.approx(out[gas.FUEL] * table.heat_of_vaporisation, rel=1e-9)
    assert warm == pytest.approx(gas.mixture_enthalpy(table, out, 298.15), rel=1e-8)
    hotter = gas.fresh_enthalpy(table, 1.1, 0.01, 298.15, 308.15, 1.0)
    assert hotter - cold == pytest.approx(out[gas.FUEL] * table.liquid_cp * 10.0, rel=1e-6)


# ----------------------------------------------------------------------------------------------- frozen mixtures


def random_mixture(rng):
    return rng.uniform(0, 1e-3, 7) * (rng.uniform(size=7) < 0.7) + 1e-6


def test_species_agree_with_cantera_between_nodes(species):
    """Energy and heat capacity of a mixture at random temperatures, within 2e-6 and 2e-4 of Cantera's polynomials."""
    table = tables.gas_table(fuels.named("isooctane"))
    names = ["O2", "N2", "CO2", "H2O", "CO", "H2", "C8H18,isooctane", "Ar"]
    solution = ct.Solution(thermo="ideal-gas", species=[species[name] for name in names])
    rng = np.random.default_rng(9)
    for _ in range(200):
        masses, T = random_mixture(rng), rng.uniform(201, 3499)
        n2 = 78.09 * 28.014 / (78.09 * 28.014 + 0.93 * 39.95)
        y = np.append(masses, masses[gas.N2] * (1 - n2))
        y[gas.N2] *= n2
        solution.TPY = T, 1e5, y
        u, slope = gas.mixture_energy(table, masses, T)
        assert u == pytest.approx(solution.u * masses.sum(), rel=2e-6, abs=1.0 * masses.sum())
        assert slope == pytest.approx(solution.cv_mass * masses.sum(), rel=2e-4)
        r = ct.gas_constant / solution.mean_molecular_weight
        assert gas.mixture_gas_constant(table, masses) == pytest.approx(r * masses.sum(), rel=1e-9)


def test_temperature_inverts_energy(table):
    rng = np.random.default_rng(10)
    for _ in range(2000):
        masses, T = random_mixture(rng), rng.uniform(60, 5900)
        u, slope = gas.mixture_energy(table, masses, T)
        for guess in (T + 10, 300.0, 3000.0, np.nan, -5.0, np.inf):
            assert gas.mixture_temperature(table, masses, u, guess) == pytest.approx(T, rel=1e-9)
        assert slope > 0


def test_temperature_is_never_nan(gasoline):
    air = gasoline.dry_air
    assert gas.mixture_temperature(gasoline, air, 1e12, 300.0) == 6000.0
    assert gas.mixture_temperature(gasoline, air, -1e12, 300.0) == 50.0
    assert gas.mixture_temperature(gasoline, np.zeros(7), 1.0, 300.0) == 300.0
    assert gas.mixture_temperature(gasoline, air, np.nan, 400.0) == 400.0


def test_slope_of_energy_by_differences(gasoline):
    rng = np.random.default_rng(11)
    for _ in range(300):
        masses, T = random_mixture(rng), rng.uniform(100, 4000)
        up, down = (gas.mixture_energy(gasoline, masses, T + d)[0] for d in (1e-2, -1e-2))
        assert (up - down) / 2e-2 == pytest.approx(gas.mixture_energy(gasoline, masses, T)[1], rel=1e-5)


def test_blended_curve_is_the_mixture(table):
    rng = np.random.default_rng(12)
    blend = np.empty((table.energy.shape[0], 2))
    for _ in range(50):
        masses, T = random_mixture(rng), rng.uniform(100, 4000)
        r = gas.blend_mixture(table, masses, blend)
        found = np.array(gas.blended_energy(table, blend, T)) * masses.sum()
        assert found == pytest.approx(gas.mixture_energy(table, masses, T), rel=1e-11)
        assert r * masses.sum() == pytest.approx(gas.mixture_gas_constant(table, masses), rel=1e-12)
        h = gas.mixture_enthalpy(table, masses, T)
        assert h == pytest.approx(found[0] + r * masses.sum() * T, rel=1e-11, abs=1e-9)
