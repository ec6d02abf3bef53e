"""Nitric oxide: limits of the kinetics, conservation of atoms, trends, and what a case says about it."""

import math

import numpy as np
import pytest
from hotside.models import equilibrium, nitric_oxide
from hotside.models.equilibrium import Atoms
from hotside.sim import CaseError, load, predict

LEAN = Atoms(C=4.2e-3, H=9.4e-3, O=14.6e-3, N=5.13e-2, Ar=3.1e-4)  # iso-octane, phi about 0.9
BENCH = "examples/bench.toml"
ANGLE = np.linspace(0.0, 60.0, 61)


def history(T, p=40e5, rates="gri"):
    T = np.broadcast_to(np.asarray(T, dtype=float), ANGLE.shape)
    return nitric_oxide.formation(rates, T, np.full(ANGLE.shape, p), LEAN)


@pytest.mark.parametrize("phi", [0.6, 1.0, 1.6])
def test_equilibrium_keeps_the_atoms(phi):
    """Mole fractions times what a kilogram holds give back its atoms."""
    atoms = LEAN._replace(O=LEAN.O / phi)
    x = equilibrium.composition(np.array([1800.0, 2900.0]), np.array([2e5, 60e5]), atoms)
    counts = {
        "C": {"CO2": 1, "CO": 1}, "H": {"H2O": 2, "H2": 2, "OH": 1, "H": 1}, "N": {"N2": 2, "NO": 1, "N": 1}, "Ar": {"Ar": 1},
        "O": {"CO2": 2, "CO": 1, "H2O": 1, "O2": 2, "NO": 1, "OH": 1, "O": 1},
    }  # fmt: skip
    found = {e: sum(n * x[s] for s, n in part.items()) for e, part in counts.items()}
    for e in "HON":
        assert found[e] / found["C"] == pytest.approx(getattr(atoms, e) / atoms.C, rel=1e-5)
    assert sum(x.values()) == pytest.approx([1.0, 1.0], rel=1e-12)


@pytest.mark.parametrize("rates", nitric_oxide.RATES)
def test_it_tends_to_equilibrium_from_below_and_from_above(rates):
    f = history(2900.0, rates=rates)
    for inlet in (0.0, 2.0 * f.equilibrium[0]):
        assert nitric_oxide.along(ANGLE, f, np.ones(61), 1e-2, inlet) == pytest.approx(f.equilibrium[0], rel=1e-3)


@pytest.mark.parametrize("rates", nitric_oxide.RATES)
def test_it_begins_at_the_first_rate(rates):
    """Far from equilibrium the amount is rate times time."""
    f = history(2200.0, rates=rates)
    assert nitric_oxide.along(ANGLE, f, np.ones(61), 1e-6, 0.0) == pytest.approx(f.rate[0] * 60e-6, rel=1e-3)


def test_frozen_gas_keeps_what_it_has():
    f = history(2500.0)._replace(rate=np.zeros(61))
    assert nitric_oxide.along(ANGLE, f, np.ones(61), 1e-4, 3e-3) == pytest.approx(3e-3, rel=1e-12)


def test_fresh_burned_gas_dilutes():
    """Without a reaction a zone that grows fourfold from gas without NO holds a quarter of its own share."""
    f = history(2500.0)._replace(rate=np.zeros(61))
    mass = np.linspace(1.0, 4.0, 61)
    no_inlet = nitric_oxide.along(ANGLE, f, mass, 1e-4, 0.0)
    assert no_inlet == 0.0
    assert nitric_oxide.along(ANGLE, f, mass, 1e-4, 2e-3) == pytest.approx(2e-3, rel=1e-12)


def test_the_step_is_fine_enough():
    """Half the step changes a hump of temperature by less than 1 %."""
    f = history(2000.0 + 800.0 * np.sin(np.pi * ANGLE / 60.0))
    coarse, fine = (nitric_oxide.along(ANGLE, f, np.ones(61), 1e-4, 0.0, grid) for grid in (0.25, 0.125))
    assert coarse == pytest.approx(fine, rel=0.01)


def test_layers_have_the_mean_of_the_zone_and_the_first_is_hottest():
    p = 20e5 + 30e5 * np.sin(np.pi * ANGLE / 60.0)
    T = 2300.0 + 200.0 * np.sin(np.pi * ANGLE / 60.0)
    T_layers, there = nitric_oxide.layers(p, T, np.array([1.5, 12.0, 25.0]), np.array([2350.0, 2400.0, 2420.0]))
    for k in range(len(p)):
        if there[:, k].any():
            assert T_layers[there[:, k], k].mean() == pytest.approx(T[k], rel=1e-12)
    assert (np.diff(T_layers[:, -1]) < 0.0).all()  # it was squeezed from the lowest pressure


# ------------------------------------------------------------------------------------------------------ in a case


def bench(**changes):
    case = load(BENCH).set("report.nitric_oxide", "gri")
    return predict(case.set_all({k.replace("__", "."): v for k, v in changes.items()})).nitric_oxide_ppm


@pytest.fixture(autouse=True)
def from_the_root(monkeypatch):
    from pathlib import Path

    monkeypatch.chdir(Path(__file__).resolve().parent.parent)


@pytest.mark.parametrize("zone", nitric_oxide.ZONES)
def test_trends_of_an_engine(zone):
    """Later burning: lower pressure and temperature, less NO. More residual (exhaust held back): cooler burning, less.
    Most lean of stoichiometric. Hotter walls hold the gas warmer: more."""
    now = bench(report__nitric_oxide_zone=zone)
    assert 500.0 < now < 5000.0
    assert bench(report__nitric_oxide_zone=zone, burn__ca50="20 deg ATDC") < 0.8 * now
    assert bench(report__nitric_oxide_zone=zone, run__exhaust_pressure="180 kPa") < now
    lambdas = {lam: bench(report__nitric_oxide_zone=zone, run__lambda=lam) for lam in (0.8, 1.1, 1.4)}
    assert lambdas[0.8] < now < lambdas[1.1]
    assert lambdas[1.4] < lambdas[1.1]
    assert bench(report__nitric_oxide_zone=zone, wall_heat__scale=0.5) > now


def test_it_is_asked_for_and_says_what_it_used():
    p = predict(load(BENCH))
    assert p.nitric_oxide_ppm is None
    assert "nitric_oxide" not in p.models
    asked = predict(load(BENCH).set("report.nitric_oxide", "heywood"))
    assert "Zeldovich" in asked.models["nitric_oxide"]
    assert asked.exhaust_temperature_k == p.exhaust_temperature_k  # it gives nothing back to the march
    assert math.isfinite(asked.nitric_oxide_kg_j)


def test_a_zone_named_for_nothing_is_listed_unread():
    assert "report.nitric_oxide_zone" in load(BENCH).set("report.nitric_oxide_zone", "mixed").unread
    both = {"report.nitric_oxide": "gri", "report.nitric_oxide_zone": "mixed"}
    assert load(BENCH).set_all(both).unread == ()


def test_an_unknown_name_is_one_sentence():
    with pytest.raises(CaseError, match=r"report.nitric_oxide"):
        load(BENCH).set("report.nitric_oxide", "zeldovitch")


def test_an_engine_whose_cylinders_differ():
    """Cylinder 1 is meant; leaner third cylinder does not change it by more than the shared manifold does."""
    p = predict(load("examples/uneven.toml").set("report.nitric_oxide", "gri"))
    assert 100.0 < p.nitric_oxide_ppm < 3000.0
