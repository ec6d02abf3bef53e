"""Fuels, properties, equilibrium, flame temperatures and exhaust composition against textbooks, through our tables.

Gaseous fuels and other kinds of air (3.76 N2 to one O2, pure O2) run through the same code that builds the tables for
a case: only the list of components and the make-up of air are exchanged.
"""

import numpy as np
import pytest
from hotside.models import air, equilibrium, fuels, gas
from hotside.models.fuels import Component, Fuel
from hotside.sim import tables

R = 8314.462618
ATM = 101325.0
T0 = 298.15

HEYWOOD = "J. B. Heywood, Internal Combustion Engine Fundamentals (1988), App. D Table D.4, from memory"
MORAN = "Moran & Shapiro, Fundamentals of Engineering Thermodynamics"
CENGEL = "Cengel & Boles, Thermodynamics: An Engineering Approach"
GUPTA = "H. N. Gupta, Fundamentals of Internal Combustion Engines"
TURNS = "S. R. Turns, An Introduction to Combustion, App. B Table B.1, from memory"
COMPUTED = "computed with Cantera and NASA-9 data, not a published number"

# Gases enter as what they are: no heat of vaporisation. n-Octane: 41.5 kJ/mol at 298 K, from memory, confidence high.
OTHERS = {
    "methane": Component("CH4", 1, 4, 0, 1.0, 0.0, 111.7, 2200.0, 120.0, 120.0, "test only"),
    "propane": Component("C3H8", 3, 8, 0, 1.0, 0.0, 231.1, 2200.0, 112.0, 97.0, "test only"),
    "n_octane": Component("C8H18,n-octane", 8, 18, 0, 703.0, 363e3, 398.8, 2220.0, 0.0, 0.0, "test only"),
    "carbon_monoxide": Component("CO", 1, 0, 1, 1.0, 0.0, 81.7, 2200.0, 106.0, 106.0, "test only"),
}
BOOK_AIR = 1 / 4.76
NO_ATOMS = ("CO2", "CO", "H2O", "H2", "O2", "N2", "Ar")

_built: dict[tuple, gas.GasTable] = {}


def special(name, o2_share=BOOK_AIR, burned=tables.BURNED_SPECIES):
    """Table of a fuel with other air: N2 only, o2_share by mole. Few nodes of equivalence ratio: 1 is one of them."""
    key = (name, o2_share, burned)
    if key not in _built:
        part = (OTHERS | fuels.COMPONENTS)[name]
        fuel = Fuel(
            name, (1.0,), part.molar_mass, part.c, part.h, part.o, *part[4:6], part.liquid_cp, 0.0, 0.0, 0, "test"
        )
        with pytest.MonkeyPatch.context() as patch:
            patch.setattr(tables, "COMPONENTS", {name: part})
            patch.setattr(tables, "O2_IN_AIR_BY_MOLE", o2_share)
            patch.setattr(tables, "NITROGEN_PARTS", {"N2": 1.0})
            patch.setattr(tables, "PHI", np.array([0.7, 0.8, 0.9, 1.0, 1.1, 1.2, 1.3]))
            patch.setattr(tables, "BURNED_SPECIES", burned)
            _built[key] = tables.build(fuel, lambda _text, _share: None)
    return _built[key]


def root(f, low, high):
    """Where the rising function f is zero."""
    while high - low > 1e-7 * high:
        middle = 0.5 * (low + high)
        low, high = (middle, high) if f(middle) < 0 else (low, middle)
    return 0.5 * (low + high)


def burned(table, phi, T, p):
    plane = np.empty((65, 13, 12))
    gas.blend_plane(table, phi, 0.0, plane)
    return gas.burned_gas(table, plane, T, np.log(p))


def fresh(table, phi):
    out = np.empty(7)
    gas.fresh_charge(table, phi, 0.0, out)
    return out


def complete(table, phi, co=0.0):
    """Products without dissociation; co [kmol/kg], no H2 unless oxygen is short even so."""
    out = np.empty(7)
    gas.close_atoms(table, phi, 0.0, co, 0.0, out)
    return out


def molar(table, k, T):
    """Enthalpy of one species [kJ/kmol]."""
    y = np.zeros(7)
    y[k] = 1.0
    return gas.mixture_enthalpy(table, y, T) * R / table.gas_constant[k] / 1e3


# -------------------------------------------------------------- stoichiometry and heating values (a.1)


@pytest.mark.parametrize(
    ("name", "afr", "lhv"),
    [
        ("isooctane", 15.13, 44.3),
        ("n_heptane", 15.18, 44.6),
        ("toluene", 13.50, 40.6),
        ("ethanol", 9.00, 26.9),
        ("methanol", 6.47, 20.0),
    ],
)
def test_pure_fuels(published, name, afr, lhv):
    table = tables.gas_table(fuels.named(name))
    say = {"source": HEYWOOD, "mark": "M-high"}
    published(f"stoichiometric AFR, {name}", found=table.afr_stoich, value=afr, tol=("rel", 0.001), unit="kg/kg", **say)
    found = table.lhv_liquid / 1e6
    published(f"LHV of the liquid, {name}", found=found, value=lhv, tol=("rel", 0.006), unit="MJ/kg", **say)


@pytest.mark.parametrize("name", ["gasoline_87", "gasoline_91", "gasoline_93", "gasoline_95", "gasoline_98"])
def test_typical_gasoline(published, name):
    """Grades scatter: 1 % in AFR, 3 % in heating value."""
    table = tables.gas_table(fuels.named(name))
    say = {"source": HEYWOOD, "mark": "M-high"}
    published(f"stoichiometric AFR, {name}", found=table.afr_stoich, value=14.6, tol=("rel", 0.01), unit="kg/kg", **say)
    found = table.lhv_liquid / 1e6
    published(f"LHV of the liquid, {name}", found=found, value=44.0, tol=("rel", 0.03), unit="MJ/kg", **say)


@pytest.mark.parametrize(("name", "afr", "lhv"), [("propane", 15.67, 46.4), ("methane", 17.23, 50.0)])
def test_gaseous_fuels(published, name, afr, lhv):
    """Our own air, O2 20.95 %; nothing is vaporised."""
    table = special(name, 0.2095)
    say = {"source": HEYWOOD, "mark": "M-high"}
    published(f"LHV, {name}", found=table.lhv_liquid / 1e6, value=lhv, tol=("rel", 0.003), unit="MJ/kg", **say)
    # that air holds N2 alone, ours has argon too, which is heavier
    found = table.afr_stoich * fuels.dry_air_molar_mass() / (0.2095 * 31.998 + 0.7905 * 28.014)
    published(f"stoichiometric AFR, {name}", found=found, value=afr, tol=("rel", 0.001), unit="kg/kg", **say)


@pytest.mark.parametrize(
    ("name", "lhv", "afr"),
    [
        ("isooctane", 44.650, 15.129),
        ("n_heptane", 44.921, 15.177),
        ("toluene", 40.938, 13.504),
        ("ethanol", 27.731, 9.003),
        ("methanol", 21.104, 6.472),
    ],
)
def test_vapour_heating_value_and_afr_computed(published, name, lhv, afr):
    table = tables.gas_table(fuels.named(name))
    found = (table.lhv_liquid + table.heat_of_vaporisation) / 1e6
    say = {"source": COMPUTED, "mark": "C"}
    published(f"LHV of the vapour, {name}", found=found, value=lhv, tol=("rel", 0.001), unit="MJ/kg", **say)
    published(f"AFR, {name}, computed", found=table.afr_stoich, value=afr, tol=("rel", 3e-4), unit="kg/kg", **say)


@pytest.mark.parametrize(
    ("name", "hvap", "density", "boils"), [("isooctane", 0.308, 0.6919, 99.3), ("n_heptane", 0.365, 0.684, 98.4)]
)
def test_reference_fuels_as_printed(published, name, hvap, density, boils):
    part = fuels.COMPONENTS[name]
    say = {"source": "B. Hamilton, Gasoline FAQ part 3 v1.12 (1996) sec. 6.1", "mark": "R"}
    found = tables.gas_table(fuels.named(name)).heat_of_vaporisation / 1e6
    published(f"heat of vaporisation, {name}", found=found, value=hvap, tol=("rel", 0.002), unit="MJ/kg", **say)
    published(f"density, {name}", found=part.density / 1e3, value=density, tol=("rel", 0.001), unit="g/ml", **say)
    published(
        f"boiling point, {name}", found=part.boiling_point - 273.15, value=boils, tol=("abs", 0.2), unit="degC", **say
    )


@pytest.mark.parametrize(("name", "lhv", "afr"), [("propane", 46.333, 15.676), ("methane", 50.025, 17.236)])
def test_gaseous_fuels_computed(published, name, lhv, afr):
    table = special(name, 0.2095)
    say = {"source": COMPUTED, "mark": "C"}
    published(f"LHV, {name}, computed", found=table.lhv_liquid / 1e6, value=lhv, tol=("rel", 5e-4), unit="MJ/kg", **say)
    found = table.afr_stoich * fuels.dry_air_molar_mass() / (0.2095 * 31.998 + 0.7905 * 28.014)
    published(f"AFR, {name}, computed", found=found, value=afr, tol=("rel", 5e-4), unit="kg/kg", **say)


@pytest.mark.parametrize(("name", "value", "tol"), [("methane", -74850.0, 300.0), ("n_octane", -249910.0, 700.0)])
def test_enthalpy_of_formation_of_fuels(published, name, value, tol):
    """Books of that age and today's data differ by 0.3 %; octane as a liquid."""
    table = special(name)
    part = (OTHERS | fuels.COMPONENTS)[name]
    published(
        f"enthalpy of formation, {name}", found=table.fuel_liquid_enthalpy * part.molar_mass / 1e3, value=value,
        tol=("abs", tol), unit="kJ/kmol", source=f"{MORAN}, Table A-25", mark="R",
    )  # fmt: skip


def test_dew_point_of_products(published):
    """Octane with 200 % air at 100 kPa: the humidity that has the products' mole fraction of water."""
    table, y = special("n_octane"), np.empty(7)
    gas.close_atoms(table, 0.5, 0.0, 0.0, 0.0, y)
    share = y[gas.H2O] * table.gas_constant[gas.H2O] / gas.mixture_gas_constant(table, y)
    humidity = share / (1.0 - share) * 18.015 / (fuels.dry_air_molar_mass())
    published(
        "dew point, octane, 200 % air", found=air.dew_point(1e5, humidity) - 273.15, value=39.7, tol=("abs", 0.3), unit="degC",
        source="Borgnakke & Sonntag, Fundamentals of Thermodynamics, Ex. 15.2 p. 622", mark="R+C",
    )  # fmt: skip


def test_octane_afr_in_book_air(published):
    """The book rounds the molar mass of its air to 28.97, ours follows from the atoms (28.85)."""
    table = special("n_octane")
    kmol_ratio = table.afr_stoich / ((31.998 + 3.76 * 28.014) / 4.76) * 114.232
    source = "Borgnakke & Sonntag, Fundamentals of Thermodynamics, Ex. 15.1 p. 621"
    published(
        "A/F by mole, octane",
        found=kmol_ratio,
        value=59.5,
        tol=("rel", 0.001),
        unit="kmol/kmol",
        source=source,
        mark="R+C",
    )
    found = kmol_ratio * 28.97 / 114.232
    published("A/F, octane", found=found, value=15.09, tol=("rel", 0.001), unit="kg/kg", source=source, mark="R+C")


def test_octane_products_with_double_air(published):
    table, y = special("n_octane"), np.empty(7)
    gas.close_atoms(table, 0.5, 0.0, 0.0, 0.0, y)
    share = y * table.gas_constant / gas.mixture_gas_constant(table, y) * 100
    source = "Borgnakke & Sonntag, Fundamentals of Thermodynamics, Ex. 15.2 p. 622"
    for k, value in ((gas.CO2, 6.48), (gas.H2O, 7.29), (gas.O2, 10.12), (gas.N2, 76.11)):
        name = f"octane, 200 % air, {gas.SPECIES[k]}"
        published(name, found=share[k], value=value, tol=("abs", 0.01), unit="mole %", source=source, mark="R+C")


def test_enthalpy_of_combustion_of_octane(published):
    """Water condensed: 44.004 MJ/kmol at 298 K (CODATA, from memory, confidence high)."""
    table = special("n_octane")
    found = -(table.lhv_liquid * 114.232 + 9 * 44.004e6) / 1e3
    published(
        "enthalpy of combustion, liquid octane", found=found, value=-5470680.0, tol=("rel", 0.001), unit="kJ/kmol",
        source=f"{CENGEL}, Ex. 15-5", mark="R",
    )  # fmt: skip


# ------------------------------------------------------------------------ property tables (a.2)


@pytest.mark.parametrize(
    ("k", "T", "value"),
    [
        (gas.CO2, 890, 36876 - 9364), (gas.CO2, 2000, 100804 - 9364), (gas.CO2, 3200, 174695 - 9364),
        (gas.CO, 2000, 65408 - 8669), (gas.CO, 3200, 109667 - 8669), (gas.H2O, 890, 31429 - 9904),
        (gas.O2, 2000, 67881 - 8682), (gas.O2, 3200, 114809 - 8682), (gas.N2, 890, 26568 - 8669),
    ],
)  # fmt: skip
def test_sensible_enthalpy(published, k, T, value):
    """From 298 K. Our nitrogen carries 1.18 % argon, 5/2 R a degree, which is taken out before comparing."""
    table = tables.gas_table(fuels.named("isooctane"))
    found = molar(table, k, T) - molar(table, k, T0)
    if k == gas.N2:
        argon = 0.93 / 79.02
        found = (found - argon * 2.5 * R / 1e3 * (T - T0)) / (1 - argon)
    published(
        f"h({T} K) - h(298 K), {gas.SPECIES[k]}", found=found, value=value, tol=("rel", 0.002), unit="kJ/kmol",
        source=f"{MORAN}, Tables A-23, A-25", mark="R",
    )  # fmt: skip


@pytest.mark.parametrize(
    ("k", "value"), [(gas.CO2, -393520), (gas.CO, -110530), (gas.H2O, -241820), (gas.O2, 0), (gas.H2, 0)]
)
def test_enthalpy_of_formation(published, k, value):
    found = molar(tables.gas_table(fuels.named("isooctane")), k, T0)
    published(
        f"enthalpy of formation, {gas.SPECIES[k]}", found=found, value=value, tol=("abs", 20.0), unit="kJ/kmol",
        source=f"{MORAN}, Table A-25", mark="R",
    )  # fmt: skip


@pytest.mark.parametrize(
    ("T", "u"),
    [
        (290, 206.91),
        (660, 481.01),
        (670, 488.81),
        (1180, 915.57),
        (1200, 933.33),
        (2000, 1678.7),
        (2100, 1775.3),
        (2200, 1872.8),
    ],
)
def test_energy_of_air(published, T, u):
    """Datum u(300 K) = 214.07 kJ/kg; the old tables and modern polynomials differ by up to 0.15 %."""
    table = tables.gas_table(fuels.named("isooctane"))
    rise = gas.mixture_energy(table, table.dry_air, T)[0] - gas.mixture_energy(table, table.dry_air, 300.0)[0]
    published(
        f"u of air at {T} K", found=214.07 + rise / 1e3, value=u, tol=("rel", 0.0015), unit="kJ/kg",
        source=f"{MORAN}, Table A-22", mark="R",
    )  # fmt: skip


@pytest.mark.parametrize(("T", "u"), [(290, 206.89), (660, 481.21), (1200, 933.08), (2000, 1676.6), (2200, 1870.9)])
def test_energy_of_air_computed(published, T, u):
    table = tables.gas_table(fuels.named("isooctane"))
    rise = gas.mixture_energy(table, table.dry_air, T)[0] - gas.mixture_energy(table, table.dry_air, 300.0)[0]
    published(
        f"u of air at {T} K, computed", found=214.07 + rise / 1e3, value=u, tol=("rel", 5e-4), unit="kJ/kg", source=COMPUTED,
        mark="C",
    )  # fmt: skip


def test_enthalpy_of_air(published):
    table = tables.gas_table(fuels.named("isooctane"))
    rise = gas.mixture_enthalpy(table, table.dry_air, 1400.0) - gas.mixture_enthalpy(table, table.dry_air, 300.0)
    published(
        "h of air at 1400 K", found=300.19 + rise / 1e3, value=1515.4, tol=("rel", 0.0015), unit="kJ/kg",
        source=f"{MORAN}, Table A-22", mark="R",
    )  # fmt: skip


@pytest.mark.parametrize(
    ("T", "vr"),
    [
        (290, 676.1),
        (2100, 2.356),
        (660, 81.89),
        (670, 78.61),
        (1180, 15.241),
        (1200, 14.470),
        (2000, 2.776),
        (2200, 2.012),
    ],
)
def test_isentropic_compression_of_air(published, T, vr):
    """Volume ratio from 300 K by the integral of cv dT / (R T): 1 % at the top, where 0.15 % of u has added up."""
    table = tables.gas_table(fuels.named("isooctane"))
    grid = np.linspace(300.0, T, 2001)
    cv = np.array([gas.mixture_energy(table, table.dry_air, t)[1] for t in grid])
    found = 621.2 * np.exp(-np.trapezoid(cv / grid, grid) / gas.mixture_gas_constant(table, table.dry_air))
    published(
        f"vr of air at {T} K", found=found, value=vr, tol=("rel", 0.01), unit="-", source=f"{MORAN}, Table A-22", mark="R",
    )  # fmt: skip


@pytest.mark.parametrize(
    ("T", "pr"), [(660, 23.13), (670, 24.46), (1180, 222.2), (1200, 238.0), (1400, 450.5), (2100, 2559), (2200, 3138)]
)
def test_isentropic_pressure_of_air(published, T, pr):
    """Pressure ratio from 300 K by the integral of cp dT / (R T): 1 % at the top, as the volume ratio."""
    table = tables.gas_table(fuels.named("isooctane"))
    r = gas.mixture_gas_constant(table, table.dry_air)
    grid = np.linspace(300.0, T, 2001)
    cp = np.array([gas.mixture_energy(table, table.dry_air, t)[1] for t in grid]) + r
    published(
        f"pr of air at {T} K", found=1.386 * np.exp(np.trapezoid(cp / grid, grid) / r), value=pr, tol=("rel", 0.01), unit="-",
        source=f"{MORAN}, Table A-22", mark="R",
    )  # fmt: skip


# --------------------------------------------------------------- equilibrium (a.3, a.4)


def dissociation(table, T, p):
    """Share of CO2 dissociated, from the gas constant of burned CO: each CO2 lost makes half a molecule more."""
    kmol = burned(table, 1.0, T, p)[3] / R
    carbon = table.fuel_chon[0] / (1 + table.afr_stoich)
    cold = carbon + table.dry_air[gas.N2] * table.afr_stoich / (1 + table.afr_stoich) * table.gas_constant[gas.N2] / R
    return 2 * (kmol - cold) / carbon, carbon / kmol


@pytest.mark.parametrize(
    ("o2_share", "p", "values"),
    [
        (1.0, ATM, {"CO": 0.121, "O2": 0.061, "CO2": 0.818}),
        (1.0, 10 * ATM, {"CO": 0.060, "O2": 0.030, "CO2": 0.910}),
        (1 / 4.76, ATM, {"CO": 0.059, "O2": 0.0295, "CO2": 0.278, "N2": 0.634}),
    ],
    ids=["1 atm", "10 atm", "with nitrogen"],
)
def test_carbon_monoxide_burned_at_2500_k(published, o2_share, p, values):
    """The book leaves out O atoms and NO, and so does this table."""
    z, carbon = dissociation(special("carbon_monoxide", o2_share, NO_ATOMS), 2500.0, p)
    found = {"CO": z * carbon, "O2": z * carbon / 2, "CO2": (1 - z) * carbon}
    found["N2"] = 1 - sum(found.values())
    for name, value in values.items():
        published(
            f"y of {name}, CO burned at 2500 K, {p / ATM:.0f} atm", found=found[name], value=value, tol=("abs", 0.0015),
            unit="-", source=f"{MORAN}, Ex. 14.2-14.3 p. 690-691", mark="R+C",
        )  # fmt: skip


def test_temperature_from_carbon_monoxide_found(published):
    """CO + 1/2 O2 at 1 atm, a mole fraction of CO of 0.298 measured in equilibrium."""
    table = special("carbon_monoxide", 1.0, NO_ATOMS)
    T = root(lambda T: np.prod(dissociation(table, T, ATM)) - 0.298, 2000.0, 3400.0)
    published(
        "temperature where y of CO is 0.298", found=T, value=2881.0, tol=("abs", 8.0), unit="K",
        source=f"{MORAN}, Ex. 14.4 p. 692", mark="R+C",
    )  # fmt: skip


@pytest.mark.parametrize(
    ("T", "log_k", "source", "tol"),
    [
        (2000.0, -2.884, f"{MORAN}, Ex. 14.1 p. 688", 0.01),
        (2500.0, -1.44, f"{MORAN}, Table A-27", 0.01),
        (3200.0, -0.189, f"{MORAN}, Table A-27", 0.01),
    ],
)
def test_equilibrium_constant(published, T, log_k, source, tol):
    """CO2 <-> CO + 1/2 O2, from the dissociation our table shows at 1 atm."""
    z, carbon = dissociation(special("carbon_monoxide", 1.0, NO_ATOMS), T, ATM)
    found = np.log10(z / (1 - z) * np.sqrt(z * carbon / 2))
    published(
        f"log10 K of CO2 at {T:.0f} K", found=found, value=log_k, tol=("abs", tol), unit="-", source=source, mark="R"
    )


def test_dissociation_of_carbon_dioxide(published):
    """The book's own constant, ln K = 1.117, differs from today's by 0.4 points of dissociation."""
    z, _ = dissociation(special("carbon_monoxide", 1.0, NO_ATOMS), 3000.0, ATM)
    published(
        "CO2 dissociated at 3000 K, 1 atm", found=100 * z, value=44.3, tol=("abs", 0.6), unit="%",
        source=f"{GUPTA}, Ex. 3.18 p. 98", mark="R+C",
    )  # fmt: skip


@pytest.mark.parametrize(
    ("T", "log_k", "source"),
    [
        (2000.0, 2.884, f"{MORAN}, Ex. 14.1 p. 688"), (2500.0, 1.44, f"{MORAN}, Table A-27"), (3200.0, 0.189, f"{MORAN}, Table A-27"),
        (3000.0, 1.117 / np.log(10.0), f"{GUPTA}, Ex. 3.18 p. 98"), (4000.0, -1.593 / np.log(10.0), f"{GUPTA}, Ex. 3.18 p. 98"),
    ],
)  # fmt: skip
def test_equilibrium_constant_of_the_closed_form(published, T, log_k, source):
    """CO + 1/2 O2 <-> CO2 of the composition that nitric oxide is made from."""
    found = np.log10(equilibrium.constant("CO2", np.array([T]))[0])
    published(f"log10 K, CO burning, {T:.0f} K, closed form", found=found, value=log_k, tol=("abs", 0.015), unit="-", source=source, mark="R")  # fmt: skip


@pytest.mark.parametrize(
    ("inert", "T", "atm", "values", "source"),
    [
        (0.0, 2500.0, 1.0, {"CO": 0.121, "O2": 0.061, "CO2": 0.818}, f"{MORAN}, Ex. 14.2-14.3 p. 690-691"),
        (0.0, 2500.0, 10.0, {"CO": 0.060, "O2": 0.030, "CO2": 0.910}, f"{MORAN}, Ex. 14.2-14.3 p. 690-691"),
        (
            3.76,
            2500.0,
            1.0,
            {"CO": 0.059, "O2": 0.0295, "CO2": 0.278},
            f"{MORAN}, Ex. 14.2-14.3 p. 690-691",
        ),
        (0.0, 2881.0, 1.0, {"CO": 0.298}, f"{MORAN}, Ex. 14.4 p. 692"),
    ],
)
def test_carbon_monoxide_burned_by_the_closed_form(published, inert, T, atm, values, source):
    """The book leaves out O and NO, worth 0.004 of these where there is nitrogen or at 2881 K; N2 itself loses more to NO."""
    o2 = 0.5
    mass = 12.011 + 15.999 * 2.0 + 14.007 * inert
    atoms = equilibrium.Atoms(1.0 / mass, 1e-12, (1.0 + 2.0 * o2) / mass, inert / mass, 0.0)
    found = equilibrium.composition(np.array([T]), np.array([atm * ATM]), atoms)
    for name, value in values.items():
        published(
            f"y of {name}, CO burned at {T:.0f} K, {atm:.0f} atm, N2 {inert:g}, closed form", found=found[name][0], value=value,
            tol=("abs", 0.004), unit="-", source=source, mark="R+C",
        )  # fmt: skip


def test_heat_to_dissociate_carbon_dioxide(published):
    """CO2 enters at 298 K and leaves in equilibrium at 3200 K, 1 atm."""
    table = special("carbon_monoxide", 1.0, NO_ATOMS)
    u, _, _, r, _, _ = burned(table, 1.0, 3200.0, ATM)
    per_kmol = 44.009 * (u + r * 3200.0) / 1e3
    published(
        "heat to bring CO2 to 3200 K", found=per_kmol - molar(table, gas.CO2, T0), value=322385.0, tol=("rel", 0.005),
        unit="kJ/kmol", source=f"{MORAN}, Ex. 14.5 p. 692", mark="R",
    )  # fmt: skip


# --------------------------------------------------- flame temperature without dissociation (a.5)


@pytest.mark.parametrize(
    ("name", "phi", "T_in", "co", "value", "tol", "mark", "source"),
    [
        ("n_octane", 1.0, T0, 0.0, 2395.0, 5.0, "R+C", f"{MORAN}, Ex. 13.8 p. 643; {CENGEL}, Ex. 15-8 p. 771"),
        ("n_octane", 0.25, T0, 0.0, 962.0, 2.0, "R+C", f"{MORAN}, Ex. 13.8 p. 643"),
        pytest.param(
            "n_octane", 1 / 0.9, T0, 0.0, 2236.0, 12.0, "M-med", f"{CENGEL}, Ex. 15-8 (90 % air), from memory",
            marks=pytest.mark.xfail(
                strict=True,
                reason="5.5 CO2 + 2.5 CO + 9 H2O + 42.3 N2 balance at 2285 K by the book's own tables; 2236 K is from memory",
            ),
        ),
        ("propane", 0.5, T0, 0.0, 1510.0, 5.0, "R+C", f"{GUPTA}, Ex. 3.14 p. 87"),
        ("methane", 1.0, 600.0, 0.0, 2550.0, 8.0, "R+C", f"{GUPTA}, Ex. 3.15a p. 89"),
        ("methane", 1 / 1.5, 600.0, 0.0, 2027.6, 8.0, "R+C", f"{GUPTA}, Ex. 3.16a p. 91"),
        ("methane", 1 / 0.8, 600.0, 0.8, 2311.0, 12.0, "R", f"{GUPTA}, Ex. 3.16b (its interpolation is worth 0.4 %)"),
    ],
)  # fmt: skip
def test_flame_without_dissociation(published, name, phi, T_in, co, value, tol, mark, source):
    """Constant pressure. Liquid octane cools the charge; the gases enter at T_in, fuel and air alike."""
    table = special(name)
    charge = fresh(table, phi)
    h = gas.mixture_enthalpy(table, charge, T_in)
    if name == "n_octane":
        h = gas.fresh_enthalpy(table, phi, 0.0, T_in, T_in, 1.0)
    products = complete(table, phi, co * charge[gas.FUEL] * table.fuel_chon[0])
    T = root(lambda T: gas.mixture_enthalpy(table, products, T) - h, 300.0, 3500.0)
    published(
        f"flame without dissociation, {name}, phi {phi:.3g}, {T_in:.0f} K", found=T, value=value, tol=("abs", tol),
        unit="K", source=source, mark=mark,
    )  # fmt: skip


# ------------------------------------------------------ flame temperature with dissociation (a.6)


def constant_pressure_flame(table, phi=1.0):
    h = gas.mixture_enthalpy(table, fresh(table, phi), T0)

    def surplus(T):
        u, _, _, r, _, _ = burned(table, phi, T, ATM)
        return u + r * T - h

    return root(surplus, 1000.0, 3400.0)


def constant_volume_flame(table, phi=1.0):
    """Temperature and pressure ratio; the pressure follows from the gas constants."""
    charge = fresh(table, phi)
    u0, _ = gas.mixture_energy(table, charge, T0)
    r0 = gas.mixture_gas_constant(table, charge)
    ratio = 9.0
    for _ in range(12):
        T = root(lambda T, p=ratio * ATM: burned(table, phi, T, p)[0] - u0, 1000.0, 3450.0)
        ratio = burned(table, phi, T, ratio * ATM)[3] * T / (r0 * T0)
    return T, ratio


FLAMES = [
    ("methane", 2225.1, 2586.1, 8.799),
    ("propane", 2265.6, 2629.2, 9.329),
    ("n_heptane", 2273.9, 2638.4, 9.511),
    ("n_octane", 2274.7, 2639.2, 9.529),
    ("isooctane", 2271.1, 2635.4, 9.513),
    ("toluene", 2328.2, 2690.4, 9.428),
    ("ethanol", 2236.2, 2592.9, 9.414),
    ("methanol", 2220.8, 2571.7, 9.296),
]


@pytest.mark.parametrize(("name", "T_p", "T_v", "ratio"), FLAMES)
def test_flame_in_book_air_computed(published, name, T_p, T_v, ratio):
    table = special(name)
    say = {"source": COMPUTED, "mark": "C"}
    found, (found_v, found_ratio) = constant_pressure_flame(table), constant_volume_flame(table)
    published(f"flame at constant p, {name}", found=found, value=T_p, tol=("abs", 0.5), unit="K", **say)
    published(f"flame at constant v, {name}", found=found_v, value=T_v, tol=("abs", 0.6), unit="K", **say)
    published(
        f"pressure ratio at constant v, {name}", found=found_ratio, value=ratio, tol=("rel", 3e-4), unit="-", **say
    )


@pytest.mark.parametrize(
    ("name", "value", "mark"),
    [
        ("methane", 2226.0, "M-high"),
        ("propane", 2267.0, "M-high"),
        ("n_octane", 2275.0, "M-high"),
        ("n_heptane", 2274.0, "M-med"),
    ],
)
def test_flame_in_book_air(published, name, value, mark):
    found = constant_pressure_flame(special(name))
    published(f"flame, {name}", found=found, value=value, tol=("abs", 3.0), unit="K", source=TURNS, mark=mark)


@pytest.mark.parametrize(("name", "T_p", "T_v", "ratio"), [row for row in FLAMES if row[0] in fuels.COMPONENTS])
def test_flame_in_our_air_computed(published, name, T_p, T_v, ratio):
    """The tables a case uses: 3.773 N2 + Ar to one O2; more inert gas cools, argon warms; 0.6 and 1.7 K remain."""
    table = tables.gas_table(fuels.named(name))
    say = {"source": f"{COMPUTED}, in air without argon", "mark": "C"}
    found, (found_v, found_ratio) = constant_pressure_flame(table), constant_volume_flame(table)
    published(f"flame in our air at constant p, {name}", found=found, value=T_p, tol=("abs", 1.5), unit="K", **say)
    published(f"flame in our air at constant v, {name}", found=found_v, value=T_v, tol=("abs", 2.5), unit="K", **say)
    published(f"pressure ratio in our air, {name}", found=found_ratio, value=ratio, tol=("rel", 0.002), unit="-", **say)


# ---------------------------------------------------------------- frozen rich exhaust (a.7)


def frozen(table, phi, p=5e5):
    out = np.empty(7)
    gas.frozen_composition(table, phi, 0.0, np.log(p), out)
    return out


HIGHER = pytest.mark.xfail(
    strict=True,
    reason="3.7 is the equilibrium of 1770 K, 3.8 of some 1790 K; the tables freeze at 1700 K, where it is 3.42",
)
WATER_GAS_SOURCES = [
    pytest.param(3.5, 0.1, "Spindt, as used by Heywood (1988) sec. 4.9.2, from memory", "M-med", id="Spindt"),
    pytest.param(
        3.7, 0.1, "MIT OpenCourseWare 2.61, Spring 2017, Related Resources", "R", id="MIT",
        marks=HIGHER,
    ),
    pytest.param(3.8, 0.1, "D'Alleva, as Heywood (1988) sec. 4.9.2 quotes, from memory", "M-med", id="D'Alleva", marks=HIGHER),
]  # fmt: skip


@pytest.mark.parametrize("phi", [1.05, 1.25, 1.4])
@pytest.mark.parametrize(("value", "tol", "source", "mark"), WATER_GAS_SOURCES)
def test_water_gas_constant(published, phi, value, tol, source, mark):
    """Sources differ: 3.5 (Spindt), 3.7, 3.8 (D'Alleva); ours is that of the freezing temperature."""
    table = tables.gas_table(fuels.named("isooctane"))
    kmol = frozen(table, phi) * table.gas_constant
    found = kmol[gas.H2O] * kmol[gas.CO] / (kmol[gas.CO2] * kmol[gas.H2])
    name = f"water-gas constant, phi {phi}"
    published(name, found=found, value=value, tol=("abs", tol), unit="-", source=source, mark=mark)


def test_nitrogen_to_oxygen_of_air(published):
    table = tables.gas_table(fuels.named("isooctane"))
    kmol = table.dry_air * table.gas_constant
    published(
        "N2/O2 of air by mole", found=kmol[gas.N2] / kmol[gas.O2], value=3.773, tol=("rel", 0.0005), unit="-",
        source="MIT OpenCourseWare 2.61, Spring 2017, Related Resources", mark="R",
    )  # fmt: skip


@pytest.mark.parametrize(
    ("phi", "value"), [(0.80, 0.9997), (1.00, 0.996), (1.135, 0.842), (1.21, 0.770), (1.36, 0.650), (1.51, 0.556)]
)
def test_combustion_efficiency_limited_by_oxygen(published, phi, value):
    """Heating value left in CO and H2 at 298 K. Computed there at a freezing temperature of 1740 K, here 1700 K."""
    table = tables.gas_table(fuels.named("isooctane"))
    y, charge = frozen(table, phi), fresh(table, phi)
    left = y[gas.CO] * (molar(table, gas.CO, T0) - molar(table, gas.CO2, T0)) / 28.010
    left += y[gas.H2] * -molar(table, gas.H2O, T0) / 2.016
    found = 1 - left * 1e3 / (charge[gas.FUEL] * (table.lhv_liquid + table.heat_of_vaporisation))
    published(
        f"combustion efficiency, phi {phi}", found=found, value=value, tol=("abs", 0.003), unit="-", source=COMPUTED, mark="C",
    )  # fmt: skip


# ----------------------------------------------------------------- engine balance (c.6)


def test_engine_balance(published):
    """Liquid octane, theoretical air, all at 25 degC; 1.8e-3 kg/s of fuel, 37 kW, products at 890 K."""
    table = special("n_octane")
    flow = 1.8e-3 * (1 + table.afr_stoich)
    h_in = gas.fresh_enthalpy(table, 1.0, 0.0, T0, T0, 1.0)
    h_out = gas.mixture_enthalpy(table, complete(table, 1.0), 890.0)
    say = {"source": f"{MORAN}, Ex. 13.4 p. 633", "mark": "R+C"}
    found = (37e3 + flow * (h_out - h_in)) / 1e3
    published("engine heat transfer", found=found, value=-23.2, tol=("abs", 0.15), unit="kW", **say)
    T = root(
        lambda T: flow * (gas.mixture_enthalpy(table, complete(table, 1.0), T) - h_in) + 37e3 + 23.2e3, 300.0, 2000.0
    )
    published("exhaust temperature from the balance", found=T, value=890.0, tol=("abs", 5.0), unit="K", **say)
