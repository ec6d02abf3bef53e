"""Thermal nitric oxide: equilibrium of the burned gas, rates, characteristic time, and an engine on ethanol.

The engine is a single cylinder run on ethanol at five compression ratios and 88 mixtures (Brinkman 1981; the measured
figures stand in brinkman_1981.csv). What cannot be compared: its size, speed, load, spark and burn are not in the data,
and of which work the micrograms are per joule is not said, nor whether NO or NO2 is weighed. So a common research
cylinder is taken at 1500 rpm, full throttle, half burned 8 deg after top dead centre in 25 deg (10 to 90 %), or spark-driven
at best torque where it says so, net indicated work, and mostly the shape is held against the measurement: where the peak lies, the order of the points, how
fast it falls on either side. Rows leaner than lambda 1.6 are outside what a case may ask for.
"""

import functools
from pathlib import Path

import cantera as ct
import numpy as np
import pytest
from hotside.models import equilibrium, nitric_oxide
from hotside.models.equilibrium import ATM, Atoms
from hotside.sim import load, predict
from scipy.optimize import minimize_scalar
from scipy.stats import spearmanr

OLIKARA = "C. Olikara & G. L. Borman, SAE 750468 (1975), from memory, against NASA polynomials (Cantera)"
HEYWOOD = "J. B. Heywood, Internal Combustion Engine Fundamentals (1988), from memory"
BRINKMAN = "N. D. Brinkman, SAE Transactions 90 (1981) 1410-1424, as the data set lattice::ethanol"
COMPUTED = "computed with Cantera and NASA-9 data, not a published number"


def burned(c, h, o=0, phi=1.0, nitrogen=3.76, argon=0.0):
    """Atoms of CcHhOo burned in air with so much nitrogen (and argon) to one O2."""
    o2 = (c + 0.25 * h - 0.5 * o) / phi
    kmol = {"C": c, "H": h, "O": o + 2.0 * o2, "N": 2.0 * nitrogen * o2, "Ar": argon * o2}
    weights = {"C": 12.011, "H": 1.008, "O": 15.999, "N": 14.007, "Ar": 39.948}
    mass = sum(n * weights[name] for name, n in kmol.items())
    return Atoms(**{name: n / mass for name, n in kmol.items()})


def at(value):
    return np.array([float(value)])


# ------------------------------------------------------------------------------------------- equilibrium (a.3, a.6)

REACTIONS = {
    "H": {"H2": 0.5}, "O": {"O2": 0.5}, "N": {"N2": 0.5}, "OH": {"H2": 0.5, "O2": 0.5}, "NO": {"O2": 0.5, "N2": 0.5},
    "H2O": {"H2": 1.0, "O2": 0.5}, "CO2": {"CO": 1.0, "O2": 0.5},
}  # fmt: skip


@pytest.mark.parametrize("T", [1800.0, 2300.0, 2800.0])
@pytest.mark.parametrize("name", REACTIONS)
def test_equilibrium_constants(published, name, T):
    """2 % in K; NO 8 %, since its enthalpy of formation was 90.3 kJ/mol in the tables of 1971 and is 91.1 now."""
    species = {s.name: s.thermo for s in ct.Species.list_from_file("nasa_gas.yaml")}

    def gibbs(one):
        return species[one].h(T) / T - species[one].s(T)

    parts = REACTIONS[name]
    value = np.exp((sum(n * gibbs(one) for one, n in parts.items()) - gibbs(name)) / ct.gas_constant)
    published(
        f"Kp of {name} at {T:g} K", found=equilibrium.constant(name, at(T))[0], value=value,
        tol=("rel", 0.08 if name == "NO" else 0.02), unit="atm^n", source=OLIKARA, mark="C",
    )  # fmt: skip


PRODUCTS = {
    "methane": ((1, 4), 2225.1, (0.0854, 0.1835, 0.0090, 0.0036, 0.0046, 0.0029, 0.0019)),
    "propane": ((3, 8), 2265.6, (0.1027, 0.1485, 0.0125, 0.0033, 0.0059, 0.0032, 0.0023)),
    "n-heptane": ((7, 16), 2273.9, (0.1094, 0.1357, 0.0136, 0.0031, 0.0063, 0.0032, 0.0025)),
    "n-octane": ((8, 18), 2274.7, (0.1101, 0.1344, 0.0137, 0.0030, 0.0063, 0.0032, 0.0025)),
    "iso-octane": ((8, 18), 2271.1, (0.1103, 0.1345, 0.0135, 0.0030, 0.0062, 0.0032, 0.0024)),
    "toluene": ((7, 8), 2328.2, (0.1341, 0.0839, 0.0201, 0.0022, 0.0085, 0.0033, 0.0033)),
    "ethanol": ((2, 6, 1), 2236.2, (0.1104, 0.1776, 0.0114, 0.0034, 0.0056, 0.0031, 0.0021)),
    "methanol": ((1, 4, 1), 2220.8, (0.1048, 0.2238, 0.0100, 0.0040, 0.0053, 0.0032, 0.0019)),
}


@pytest.mark.parametrize("name", PRODUCTS)
def test_products_at_the_flame_temperature(published, name):
    """Stoichiometric, 1 atm. The constants are worth 2 % (NO 6 %), the printed figures half their last digit."""
    formula, T, shares = PRODUCTS[name]
    found = equilibrium.composition(at(T), at(ATM), burned(*formula))
    for species, value in zip(("CO2", "H2O", "CO", "H2", "O2", "OH", "NO"), shares, strict=True):
        published(
            f"{species} in burned {name} at {T:g} K", found=found[species][0], value=value,
            tol=("abs", 6e-5 + (0.06 if species == "NO" else 0.02) * value), unit="-", source=COMPUTED, mark="C",
        )  # fmt: skip


# --------------------------------------------------------------------------------------------------------- kinetics


@pytest.mark.parametrize("T", [2000.0, 2400.0, 2800.0])
@pytest.mark.parametrize(
    ("rates", "forward", "source"),
    [
        ("heywood", (7.6e10, 38000.0), f"{HEYWOOD}, Table 11.1, k1+ = 7.6e13 exp(-38000/T) cm3/(mol s)"),
        ("hanson_salimian", (1.8e11, 38370.0), "Hanson & Salimian (1984), 1.8e14 exp(-38370/T) cm3/(mol s), from memory"),
    ],
)  # fmt: skip
def test_way_back_of_the_first_reaction(published, rates, forward, source, T):
    """N2 + O = NO + N: only N + NO is written down, the way there follows from equilibrium; both are published."""
    back = nitric_oxide.RATES[rates][0]
    K = {name: equilibrium.constant(name, at(T))[0] for name in ("NO", "N", "O")}
    found = back.A * np.exp(-back.theta / T) * K["NO"] * K["N"] / K["O"]
    published(
        f"N2 + O, {rates}, {T:g} K", found=found, value=forward[0] * np.exp(-forward[1] / T), tol=("rel", 0.05),
        unit="m3/(kmol s)", source=source, mark="M-high" if rates == "heywood" else "M-med",
    )  # fmt: skip


@pytest.mark.parametrize(("T", "atm"), [(2200.0, 15.0), (2500.0, 15.0), (2500.0, 50.0), (2700.0, 30.0)])
def test_characteristic_time(published, T, atm):
    """Equilibrium over the first rate, at the mixtures the formula is for: lean and slightly rich of stoichiometric."""
    for phi in (0.8, 1.0, 1.1):
        f = nitric_oxide.formation("heywood", at(T), at(atm * ATM), burned(8, 18, 0, phi, 3.727, 0.044))
        published(
            f"NO formation time, {T:g} K, {atm:g} atm, phi {phi:g}", found=1e3 * f.equilibrium[0] / f.rate[0],
            value=8e-13 * T * np.exp(58300.0 / T) / np.sqrt(atm), tol=("rel", 0.15), unit="ms",
            source=f"{HEYWOOD}, eq. 11.12", mark="M-high",
        )  # fmt: skip


def test_rates_of_the_published_mechanism(published):
    """A guard of the copied figures against the file that carries the mechanism."""
    wanted = {"N + NO <=> N2 + O": 0, "N + O2 <=> NO + O": 1, "N + OH <=> H + NO": 2}
    found = {r.equation: r.rate for r in ct.Solution("gri30.yaml").reactions() if r.equation in wanted}
    assert set(found) == set(wanted)
    for equation, place in wanted.items():
        own, rate = nitric_oxide.RATES["gri"][place], found[equation]
        for T in (1800.0, 2600.0):
            published(
                f"{equation} at {T:g} K", found=own.A * T**own.n * np.exp(-own.theta / T), value=rate(T), tol=("rel", 2e-3),
                unit="m3/(kmol s)", source="GRI-Mech 3.0, read in Cantera's gri30.yaml", mark="R", guard=True,
            )  # fmt: skip


# ------------------------------------------------------------------------------------------------ engine on ethanol

ENGINE = {
    "cylinders": 1, "bore": "82.6 mm", "stroke": "114.3 mm", "rod_length": "254 mm",
    "intake_valve": {"count": 1, "diameter": "34 mm", "lift": "6 mm", "opens": "10 deg BTDC", "closes": "34 deg ABDC"},
    "exhaust_valve": {"count": 1, "diameter": "34 mm", "lift": "6 mm", "opens": "40 deg BBDC", "closes": "15 deg ATDC"},
}  # fmt: skip
RATIOS = (7.5, 9.0, 12.0, 15.0, 18.0)
LEANEST = 1.0 / 1.6


@functools.cache
def measured(ratio):
    """Equivalence ratios, rising, and NOx [micrograms/J] of one compression ratio."""
    table = np.loadtxt(Path(__file__).with_name("brinkman_1981.csv"), delimiter=",", skiprows=4)
    assert len(table) == 88
    rows = table[table[:, 1] == ratio]
    return rows[np.argsort(rows[:, 2])][:, (2, 0)].T


@functools.cache
def computed(zone, ratio, phi):
    """NO of the research cylinder [micrograms/J]."""
    case = {
        "engine": ENGINE | {"compression_ratio": ratio},
        "fuel": {"name": "ethanol"},
        "burn": {"model": "imposed", "ca50": "8 deg ATDC", "duration_10_90": "25 deg"},
        "run": {
            "speed": "1500 rpm", "lambda": round(1.0 / float(phi), 6), "intake_pressure": "100 kPa",
            "intake_temperature": "310 K", "exhaust_pressure": "102 kPa",
        },
        "report": {"nitric_oxide": "gri", "nitric_oxide_zone": zone},
    }  # fmt: skip
    return 1e9 * predict(load(case)).nitric_oxide_kg_j


@functools.cache
def best_torque(ratio, phi):
    """The same cylinder with a spark-driven burn at its best torque, as engines are run for such a comparison."""
    case = load(
        {
            "engine": ENGINE | {"compression_ratio": ratio},
            "fuel": {"name": "ethanol"},
            "run": {
                "speed": "1500 rpm", "lambda": round(1.0 / float(phi), 6), "intake_pressure": "100 kPa",
                "intake_temperature": "310 K", "exhaust_pressure": "102 kPa", "spark_advance": "20 deg",
            },
        }
    )  # fmt: skip

    def at(spark):
        return case.set("run.spark_advance", f"{spark:.3f} deg")

    found = minimize_scalar(
        lambda s: -predict(at(s)).imep_net_pa, bounds=(0.0, 60.0), method="bounded", options={"xatol": 0.1}
    )
    return at(found.x)


@functools.cache
def computed_at_best_torque(zone, ratio, phi):
    """NO of it [micrograms/J]."""
    asked = {"report.nitric_oxide": "gri", "report.nitric_oxide_zone": zone}
    return 1e9 * predict(best_torque(ratio, phi).set_all(asked)).nitric_oxide_kg_j


def both(zone, ratio, computed=computed):
    """Equivalence ratios that a case may ask for, NOx measured and computed there."""
    phi, nox = measured(ratio)
    kept = phi >= LEANEST
    return phi[kept], nox[kept], np.array([computed(zone, ratio, one) for one in phi[kept]])


def parabola(phi, nox):
    """Through the rows from 0.8 to 1.02: single rows scatter by 10 %."""
    near = (phi > 0.79) & (phi < 1.02)
    return np.polyfit(phi[near], nox[near], 2)


def peak(phi, nox):
    """Mixture of most NOx."""
    a, b, _ = parabola(phi, nox)
    return -0.5 * b / a


def top(phi, nox):
    """The most NOx."""
    return np.polyval(parabola(phi, nox), peak(phi, nox))


EACH = pytest.mark.parametrize(("zone", "ratio"), [(z, r) for z in nitric_oxide.ZONES for r in RATIOS])


@EACH
def test_peak_of_nitric_oxide(published, zone, ratio):
    """Lean of stoichiometric: oxygen is left over there while the gas is still nearly as hot. Tolerance: the spread of
    the measured peaks themselves."""
    phi, nox, no = both(zone, ratio)
    published(
        f"equivalence ratio of most NOx, {zone}, ratio {ratio:g}", found=peak(phi, no), value=peak(phi, nox),
        tol=("abs", 0.03), unit="-", source=BRINKMAN, mark="R",
    )  # fmt: skip


@EACH
def test_order_of_the_mixtures(published, zone, ratio):
    """Rank correlation of computed and measured NOx over all mixtures of one compression ratio."""
    _, nox, no = both(zone, ratio)
    published(
        f"rank correlation of NOx, {zone}, ratio {ratio:g}", found=spearmanr(no, nox).statistic, value=1.0,
        tol=("abs", 0.12), unit="-", source=BRINKMAN, mark="R",
    )  # fmt: skip


@pytest.mark.parametrize("zone", nitric_oxide.ZONES)
def test_lean_mixtures_over_compression_ratio(published, zone):
    """At 0.7, where nothing is near equilibrium, a higher ratio makes hotter gas and more NO."""
    lean = np.array([[np.interp(0.7, phi, one) for one in rest] for phi, *rest in (both(zone, r) for r in RATIOS)])
    published(
        f"rank correlation of NOx over compression ratio at 0.7, {zone}", found=spearmanr(*lean.T).statistic, value=1.0,
        tol=("abs", 0.2), unit="-", source=BRINKMAN, mark="R",
    )  # fmt: skip


HELD = pytest.mark.xfail(
    strict=True,
    reason="with half burned at 8 deg and 25 deg from 10 to 90 % at every ratio, a cycle at ratio 18 does 20 % more work and "
    "makes no more NO, since its gas cools faster too: 0.83 (0.92 with CA50 4 deg, 0.94 with 15 deg of burn or half the wall "
    "heat). An engine of that ratio burns quicker: see the same at best torque",
)


@pytest.mark.parametrize(
    "burn", [pytest.param(computed, marks=HELD, id="held"), pytest.param(computed_at_best_torque, id="best torque")]
)
@pytest.mark.parametrize("zone", nitric_oxide.ZONES)
def test_most_nitric_oxide_over_compression_ratio(published, zone, burn):
    """Top of the curve at ratio 18 over that at 7.5. Tolerance: scatter of the rows.

    More NO at a higher ratio comes from a quicker burn in a hotter and shallower chamber, at the timing that suits it: the
    spark-driven burn takes 28 deg (10 to 90 %) at 7.5 and 10 at 18, CA50 at 5 to 6 deg; how far the engine's did is not
    known.
    """
    tops = np.array([[top(phi, nox) for nox in rest] for phi, *rest in (both(zone, r, burn) for r in (7.5, 18.0))])
    value, found = tops[1] / tops[0]
    name = "held burn" if burn is computed else "best torque"
    published(
        f"most NOx, ratio 18 over 7.5, {zone}, {name}", found=found, value=value, tol=("rel", 0.15), unit="-", source=BRINKMAN,
        mark="R",
    )  # fmt: skip


@pytest.mark.parametrize("zone", nitric_oxide.ZONES)
@pytest.mark.parametrize("ratio", RATIOS)
def test_level_at_best_torque(published, zone, ratio):
    """Most NO over most NOx, though of which work the microgram is per joule is not said: a third either way."""
    phi, nox, no = both(zone, ratio, computed_at_best_torque)
    published(
        f"most NO over most NOx, {zone}, ratio {ratio:g}, best torque", found=top(phi, no), value=top(phi, nox),
        tol=("rel", 0.35), unit="micrograms/J", source=BRINKMAN, mark="R",
    )  # fmt: skip


@pytest.mark.xfail(
    strict=True,
    reason="0.45 to 0.66 of the measured share. Lean, the wall heat that is shared among all layers is what lacks: layers "
    "without any, an adiabatic core, make 0.75 to 0.97 of it (tried; the top is then 1.1 to 1.4 of the measured). Rich, where "
    "oxygen decides, they change nothing; a mixture that scatters by 0.05 of equivalence ratio makes 0.60 to 0.66 (tried), and "
    "NO by way of N2O and prompt NO are left out",
)
@pytest.mark.parametrize("phi", [0.7, 1.1])
@pytest.mark.parametrize("ratio", RATIOS)
def test_wings_of_the_curve(published, ratio, phi):
    """NOx at a lean and a rich mixture over that of the peak, in layers. Tolerance: scatter of rows."""
    where, *curves = both("layered", ratio)
    value, found = (np.interp(phi, where, nox) / top(where, nox) for nox in curves)
    published(
        f"NOx at {phi:g} over the most, ratio {ratio:g}", found=found, value=value, tol=("rel", 0.2), unit="-",
        source=BRINKMAN, mark="R",
    )  # fmt: skip


def test_comparison_is_printed():
    """Every row that can be compared, beside the measurement; those that cannot are counted."""
    left = sum(int((measured(r)[0] < LEANEST).sum()) for r in RATIOS)
    rows = [(r, *row, computed("mixed", r, row[0])) for r in RATIOS for row in zip(*both("layered", r), strict=True)]
    assert len(rows) + left == 88
    print("compression ratio, equivalence ratio, NOx measured, NO computed in layers, mixed [micrograms/J]")
    for row in rows:
        print("{:6.1f} {:7.3f} {:7.3f} {:7.3f} {:7.3f}".format(*row))
    print(f"{left} rows leaner than lambda 1.6 are left out")
    assert left == 7
