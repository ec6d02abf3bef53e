"""Ideal cycles of air in the textbooks, through our gas look-ups (published values c.1-c.3).

The books' cylinders have no walls, no valves and no flame: every stroke is one call or one integral of the look-ups that
the simulation itself uses. Air, and gas of constant heat capacity, are tables like any other.
"""

from typing import NamedTuple

import numpy as np
import pytest
from hotside.models import fuels, gas
from hotside.sim import tables
from scipy.integrate import solve_ivp

MORAN = "Moran & Shapiro, Fundamentals of Engineering Thermodynamics"
CENGEL = "Cengel & Boles, Thermodynamics: An Engineering Approach"
BORGNAKKE = "Borgnakke & Sonntag, Fundamentals of Thermodynamics"
MATHUR = "Mathur & Sharma, Internal Combustion Engine"
RAJPUT = "R. K. Rajput, A Textbook of IC Engines"
COMPUTED = "computed with NASA-9 data, not a published number"


class State(NamedTuple):
    """A gas at rest, per kg."""

    T: float
    p: float
    v: float
    u: float


def air():
    """Dry air as a mixture."""
    table = tables.gas_table(fuels.named("isooctane"))
    return table, table.dry_air


def perfect(cv, gamma):
    """Air of constant heat capacity cv [J/(kg K)]: the same look-ups on a straight line."""
    table = tables.gas_table(fuels.named("isooctane"))
    T = table.t0 + table.dt * np.arange(table.energy.shape[0])
    return table._replace(
        energy=np.ascontiguousarray(np.repeat(cv * T[:, None], 7, axis=1)),
        cv=np.full_like(table.cv, cv),
        gas_constant=np.full(7, cv * (gamma - 1.0)),
    ), table.dry_air


# ----------------------------------------------------------------------------------------------- frozen strokes


def at(medium, T, v):
    table, masses = medium
    return State(T, gas.mixture_gas_constant(table, masses) * T / v, v, gas.mixture_energy(table, masses, T)[0])


def start(medium, T, p):
    return at(medium, T, gas.mixture_gas_constant(*medium) * T / p)


def isentropic(medium, state, v):
    """Frozen gas to another volume: dT/d ln v = -R T / cv."""
    table, masses = medium
    r = gas.mixture_gas_constant(table, masses)

    def slope(_x, T):
        return [-r * T[0] / gas.mixture_energy(table, masses, T[0])[1]]

    run = solve_ivp(slope, np.log([state.v, v]), [state.T], rtol=1e-10, atol=1e-8)
    return at(medium, run.y[0, -1], v)


def heated(medium, state, q):
    """Heat at constant volume."""
    return at(medium, gas.mixture_temperature(*medium, state.u + q, state.T), state.v)


def air_cycle(medium, first, ratio, third, last=None):
    """Otto cycle, or with `last` the end of heating at constant pressure; states, heat in, work, mean pressure."""
    fourth = third if last is None else last
    second = isentropic(medium, first, first.v / ratio)
    fifth = isentropic(medium, fourth, first.v)
    q = third.u - second.u + (fourth.u - third.u) + fourth.p * (fourth.v - third.v)
    work = q - (fifth.u - first.u)
    return second, fifth, q, work, work / (first.v - second.v)


def otto(medium, T1, p1, ratio, q):
    first = start(medium, T1, p1)
    third = heated(medium, isentropic(medium, first, first.v / ratio), q)
    second, fourth, _, work, mean = air_cycle(medium, first, ratio, third)
    return second, third, fourth, work, mean


def check(published, name, rows, source, mark):
    """Rows of (what, found, value, relative tolerance, unit)."""
    for what, found, value, tol, unit in rows:
        published(f"{name}, {what}", found=found, value=value, tol=("rel", tol), unit=unit, source=source, mark=mark)


# ------------------------------------------------------------------------------------ air-standard Otto (c.1)


@pytest.mark.parametrize(
    ("values", "tol", "source", "mark"),
    [
        ((673.0, 17.95, 53.3, 1043.0, 3.48, 0.51, 8.03), 0.003, f"{MORAN}, Ex. 9.1 p. 378", "R+C"),
        ((672.8, 17.94, 53.33, 1041.0, 3.470, 0.5105, 8.03), 0.001, COMPUTED, "C"),
    ],
)
def test_otto_of_air_to_2000_kelvin(published, values, tol, source, mark):
    """The printed efficiency is rounded to 0.51; the old air tables differ from NASA-9 by up to 0.15 %."""
    medium = air()
    first = start(medium, 300.0, 1e5)
    third = at(medium, 2000.0, first.v / 8.0)
    second, fourth, q, work, mean = air_cycle(medium, first, 8.0, third)
    found = (second.T, second.p / 1e5, third.p / 1e5, fourth.T, fourth.p / 1e5, work / q, mean / 1e5)
    names, units = ("T2", "p2", "p3", "T4", "p4", "efficiency", "mep"), ("K", "bar", "bar", "K", "bar", "-", "bar")
    check(published, "Otto r 8", zip(names, found, values, [tol] * 7, units, strict=True), source, mark)


@pytest.mark.parametrize(
    ("values", "tol", "source", "mark"),
    [
        ((652.4, 1575.1, 4.345, 795.6, 418.17, 0.523, 574.0), 0.002, f"{CENGEL}, Ex. 9-2 p. 498", "R+C"),
        ((652.4, 1576.8, 4.348, 795.1, 418.5, 0.5232, 574.2), 0.001, COMPUTED, "C"),
    ],
)
def test_otto_of_air_with_800_kilojoule(published, values, tol, source, mark):
    second, third, fourth, work, mean = otto(air(), 290.0, 1e5, 8.0, 800e3)
    found = (second.T, third.T, third.p / 1e6, fourth.T, work / 1e3, work / 800e3, mean / 1e3)
    names, units = ("T2", "T3", "p3", "T4", "work", "efficiency", "mep"), ("K", "K", "MPa", "K", "kJ/kg", "-", "kPa")
    check(published, "Otto r 8, q 800", zip(names, found, values, [tol] * 7, units, strict=True), source, mark)


@pytest.mark.parametrize(
    ("name", "medium", "values"),
    [
        ("constant cp", lambda: perfect(718.0, 1.4), (2627.0, 67.1, 0.5573, 121.6)),
        ("variable cp", air, (2210.0, 56.5, 0.498, 108.6)),
    ],
)
def test_otto_of_a_short_stroked_engine(published, name, medium, values):
    """2.8 litre, clearance 15 % of swept. The book counts one cycle a revolution."""
    medium = medium()
    ratio = 1.15 / 0.15
    first = start(medium, 300.0, 1e5)
    _, third, _, work, _ = otto(medium, 300.0, 1e5, ratio, 1400e3)
    mass = 2.8e-3 * 1.15 / first.v
    found = (third.T, third.p / 1e5, work / 1400e3, mass * work * 2500.0 / 60.0 / 1e3)
    names, units = ("T3", "p3", "efficiency", "power"), ("K", "bar", "-", "kW")
    rows = zip(names, found, values, [0.003] * 4, units, strict=True)
    check(published, f"Otto r 7.667, {name}", rows, f"{MATHUR}, Ex. 3.6 p. 173", "R")


# ------------------------------------------------------------------------------------------ cold-air Otto (c.2)


def test_otto_of_cold_air(published):
    second, third, fourth, work, mean = otto(perfect(717.0, 1.4), 288.2, 1e5, 10.0, 1800e3)
    found = (second.T, second.p / 1e6, third.T, third.p / 1e6, fourth.T, fourth.p / 1e6, work / 1800e3, mean / 1e3)
    values = (723.9, 2.51, 3234.0, 11.22, 1287.6, 0.4468, 0.602, 1455.0)
    names, units = (
        ("T2", "p2", "T3", "p3", "T4", "p4", "efficiency", "mep"),
        ["K", "MPa", "K", "MPa", "K", "MPa", "-", "kPa"],
    )
    rows = zip(names, found, values, [0.002] * 8, units, strict=True)
    check(published, "Otto r 10, cold air", rows, f"{BORGNAKKE}, Ex. 12.7 p. 498", "R")


def test_otto_of_cold_air_to_50_bar(published):
    """The book's printed T3 is a slip; the value of its own pressure stands here."""
    medium = perfect(717.0, 1.4)
    first = start(medium, 373.0, 1e5)
    v2 = first.v / 8.0
    third = at(medium, 50e5 * v2 / gas.mixture_gas_constant(*medium), v2)
    second, fourth, q, work, _ = air_cycle(medium, first, 8.0, third)
    found = (second.p / 1e5, second.T - 273, third.T - 273, fourth.p / 1e5, fourth.T - 273, q / (q - work))
    values = (18.4, 583.9, 2058.2, 2.72, 741.7, 2.297)
    names, units = ("p2", "T2", "T3", "p4", "T4", "heat in over out"), ("bar", "degC", "degC", "bar", "degC", "-")
    rows = zip(names, found, values, [0.002] * 6, units, strict=True)
    check(published, "Otto r 8, 50 bar", rows, f"{MATHUR}, Ex. 2.5 p. 58", "R")


# --------------------------------------------------------------------------------------- limited pressure (c.3)


def dual(medium, first, ratio, third, v4):
    """Limited-pressure cycle to volume v4 at constant pressure."""
    fourth = at(medium, third.T * v4 / third.v, v4)
    return fourth, *air_cycle(medium, first, ratio, third, fourth)


def test_limited_pressure_cycle_of_air(published):
    medium = air()
    first = start(medium, 300.0, 1e5)
    second = isentropic(medium, first, first.v / 18.0)
    third = at(medium, 1.5 * second.T, second.v)
    fourth, _, fifth, q, work, mean = dual(medium, first, 18.0, third, 1.2 * second.v)
    datum = first.u - 214.07e3  # of the book's air table at 300 K
    rows = (
        ("T2", second.T, 898.3, 0.002, "K"),
        ("u2", (second.u - datum) / 1e3, 673.2, 0.002, "kJ/kg"),
        ("u3", (third.u - datum) / 1e3, 1065.8, 0.002, "kJ/kg"),
        ("h3", (third.u - datum + third.p * third.v) / 1e3, 1452.6, 0.002, "kJ/kg"),
        ("h4", (fourth.u - datum + fourth.p * fourth.v) / 1e3, 1778.3, 0.002, "kJ/kg"),
        ("u5", (fifth.u - datum) / 1e3, 475.96, 0.003, "kJ/kg"),
        ("efficiency", work / q, 0.635, 0.002, "-"),
        ("mep", mean / 1e6, 0.56, 0.01, "MPa"),
    )
    check(published, "dual r 18", rows, f"{MORAN}, Ex. 9.3 p. 386", "R")


def test_limited_pressure_cycle_to_68_bar(published):
    """The book mixes cv 0.71, cp 1.0 and gamma 1.4: half a per cent is its own disagreement."""
    medium = perfect(710.0, 1.4)
    first = start(medium, 363.0, 1e5)
    second = isentropic(medium, first, first.v / 9.0)
    third = at(medium, 68e5 * second.v / gas.mixture_gas_constant(*medium), second.v)
    left = 1750e3 - (third.u - second.u)
    v4 = third.v * (1.0 + left / (710.0 * 1.4 * third.T))
    fourth, _, fifth, q, work, mean = dual(medium, first, 9.0, third, v4)
    rows = (
        ("T2", second.T, 874.2, 0.001, "K"),
        ("p2", second.p / 1e5, 21.67, 0.001, "bar"),
        ("T3", third.T, 2742.7, 0.001, "K"),
        ("T4", fourth.T, 3166.1, 0.002, "K"),
        ("T5", fifth.T, 1392.4, 0.003, "K"),
        ("p5", fifth.p / 1e5, 3.84, 0.003, "bar"),
        ("efficiency", work / q, 0.5824, 0.005, "-"),
        ("mep", mean / 1e5, 11.09, 0.005, "bar"),
    )
    assert q == pytest.approx(1750e3, rel=1e-9)
    check(published, "dual r 9, 68 bar", rows, f"{RAJPUT}, Ex. 3.26 p. 127", "R")


def test_limited_pressure_engine_to_60_bar(published):
    """Bore 250 mm, stroke 300 mm, cut-off at 4 % of the stroke, three cycles a second.

    The book's power uses cp - cv = 0.29 and R = 0.287 side by side: one per cent is its own disagreement.
    """
    medium = perfect(710.0, 1.4)
    first = start(medium, 303.0, 1e5)
    second = isentropic(medium, first, first.v / 9.0)
    third = at(medium, 60e5 * second.v / gas.mixture_gas_constant(*medium), second.v)
    _, _, _, q, work, mean = dual(medium, first, 9.0, third, second.v + 0.04 * (first.v - second.v))
    power = mean * 0.25 * np.pi * 0.25**2 * 0.3 * 3.0
    rows = (("efficiency", work / q, 0.5755, 0.003, "-"), ("power", power / 1e3, 51.39, 0.01, "kW"))
    check(published, "dual r 9, 60 bar", rows, f"{RAJPUT}, Ex. 3.25 p. 124", "R")
