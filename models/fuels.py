"""Fuels: pure components, named grades and blends by volume.

A pump grade is a toluene reference surrogate (iso-octane, n-heptane, toluene) that stands for its stoichiometry, energy
and density; the octane numbers stated are the grade's own, not the surrogate's.
"""

from collections.abc import Mapping
from typing import NamedTuple

ATOMIC_WEIGHT = {"C": 12.011, "H": 1.008, "O": 15.999, "N": 14.007, "Ar": 39.95}
O2_IN_AIR_BY_MOLE = 0.2095
NITROGEN_PARTS = {"N2": 78.09, "Ar": 0.93}

# Families of laminar burning velocity, one integer for the combustion room's switch.
GASOLINE, ISOOCTANE, METHANOL, ETHANOL = range(4)
FLAME_FAMILIES = ("gasoline", "isooctane", "methanol", "ethanol")


class Component(NamedTuple):
    """One pure liquid.

    species : str, name in Cantera's nasa_gas.yaml [-]
    c, h, o : int, atoms in a molecule [-]
    density : float, of the liquid at 20 degC [kg/m3]
    heat_of_vaporisation : float, at 298 K [J/kg]
    boiling_point : float, at 1 atm [K]
    liquid_cp : float, heat capacity of the liquid at 298 K [J/(kg K)]
    ron, mon : float, research and motor octane number [-]
    source : str, whence the numbers, with an honesty mark [-]
    """

    species: str
    c: int
    h: int
    o: int
    density: float
    heat_of_vaporisation: float
    boiling_point: float
    liquid_cp: float
    ron: float
    mon: float
    source: str

    @property
    def molar_mass(self) -> float:
        """Molar mass [kg/kmol]."""
        return self.c * ATOMIC_WEIGHT["C"] + self.h * ATOMIC_WEIGHT["H"] + self.o * ATOMIC_WEIGHT["O"]


_SCALE = (
    "density, heat of vaporisation and boiling point: B. Hamilton, Gasoline FAQ part 3 v1.12 (1996) sec. 6.1; octane by "
    "definition of the scale; heat capacity from memory, confidence high"
)
_HANDBOOK = (
    "density, heat of vaporisation, boiling point and heat capacity: handbook values from memory, confidence high; octane: "
    "Florian & Liming's table as carried by the chemicals library"
)

COMPONENTS: dict[str, Component] = {
    "isooctane": Component("C8H18,isooctane", 8, 18, 0, 691.9, 308e3, 372.4, 2090.0, 100.0, 100.0, _SCALE),
    "n_heptane": Component("C7H16,n-heptane", 7, 16, 0, 684.0, 365e3, 371.5, 2240.0, 0.0, 0.0, _SCALE),
    "toluene": Component("C7H8", 7, 8, 0, 867.0, 412.5e3, 383.8, 1705.0, 120.1, 103.5, _HANDBOOK),
    "ethanol": Component("C2H5OH", 2, 6, 1, 789.3, 919e3, 351.4, 2440.0, 108.6, 89.7, _HANDBOOK),
    "methanol": Component("CH3OH", 1, 4, 1, 791.4, 1168e3, 337.7, 2530.0, 108.7, 88.6, _HANDBOOK),
}


class Fuel(NamedTuple):
    """One fuel, pure or blended.

    name : str, its name [-]
    mass_fractions : tuple (5,), of the components in the order of COMPONENTS [-]
    molar_mass : float, mean [kg/kmol]
    c, h, o : float, atoms in a mean molecule [-]
    density : float, of the liquid at 20 degC, volumes taken as additive [kg/m3]
    heat_of_vaporisation : float, at 298 K [J/kg]
    liquid_cp : float, heat capacity of the liquid [J/(kg K)]
    ron, mon : float, research and motor octane number [-]
    flame : int, family of laminar burning velocity [-]
    source : str, whence the composition and the octane numbers [-]
    """

    name: str
    mass_fractions: tuple[float, ...]
    molar_mass: float
    c: float
    h: float
    o: float
    density: float
    heat_of_vaporisation: float
    liquid_cp: float
    ron: float
    mon: float
    flame: int
    source: str

    @property
    def pump_octane(self) -> float:
        """Anti-knock index (RON + MON) / 2 [-]."""
        return 0.5 * (self.ron + self.mon)


def dry_air_molar_mass() -> float:
    """Molar mass of dry air: 20.95 % O2, rest N2 and Ar as 78.09 to 0.93, the trace of CO2 counted as N2 [kg/kmol]."""
    return O2_IN_AIR_BY_MOLE * 2 * ATOMIC_WEIGHT["O"] + (1.0 - O2_IN_AIR_BY_MOLE) * nitrogen_molar_mass()


def nitrogen_molar_mass() -> float:
    """Molar mass of atmospheric nitrogen, N2 + Ar [kg/kmol]."""
    n2, ar = NITROGEN_PARTS["N2"], NITROGEN_PARTS["Ar"]
    return (n2 * 2 * ATOMIC_WEIGHT["N"] + ar * ATOMIC_WEIGHT["Ar"]) / (n2 + ar)


def stoichiometric_afr(fuel: Fuel) -> float:
    """Dry air needed to burn the fuel to CO2 and H2O, by the balance of atoms.

    fuel : Fuel, any [-]
    Returns air-fuel ratio by mass [kg/kg].
    """
    oxygen = fuel.c + 0.25 * fuel.h - 0.5 * fuel.o
    return oxygen / O2_IN_AIR_BY_MOLE * dry_air_molar_mass() / fuel.molar_mass


def flame_family(mass_fractions: tuple[float, ...]) -> int:
    """Family of laminar burning velocity that stands for a blend: an alcohol from half the mass on.

    mass_fractions : tuple (5,), of the components in the order of COMPONENTS [-]
    Returns GASOLINE, ISOOCTANE, METHANOL or ETHANOL [-].
    """
    share = dict(zip(COMPONENTS, mass_fractions, strict=True))
    if share["methanol"] >= 0.5:
        return METHANOL
    if share["ethanol"] >= 0.5:
        return ETHANOL
    return ISOOCTANE if share["isooctane"] + share["n_heptane"] >= 0.95 else GASOLINE


def blend(parts: Mapping[str, float], name: str = "") -> Fuel:
    """Blend components and named fuels by volume.

    Octane: hydrocarbon parts count by volume (which is how iso-octane and n-heptane define the scale), parts that
    carry alcohol by mole: J. E. Anderson et al., Energy Fuels 24 (2010) 6576 and Fuel 97 (2012) 585, from memory,
    confidence med, with the alcohols' neat octane numbers. An estimate, good to about +-2.

    parts : mapping of component or fuel name to volume share; the shares are scaled to sum to one [-]
    name : str, name of the blend, made from the parts if empty [-]
    Returns the Fuel [-].
    Raises ValueError for an unknown name, a negative or non-finite share, or no fuel at all.
    """
    for key, share in parts.items():
        if key not in FUELS:
            raise ValueError(f"unknown fuel {key!r}; known are {', '.join(FUELS)}")
        if not 0.0 <= share < float("inf"):
            raise ValueError(f"share of {key} is {share}; it must be a volume fraction, 0 or more")
    total = sum(parts.values())
    if total <= 0.0:
        raise ValueError("a fuel blend needs at least one part with a share above 0")
    volumes = {key: share / total for key, share in parts.items() if share > 0.0}
    label = name or " + ".join(f"{100 * share:g}% {key}" for key, share in volumes.items())
    ron, mon = _blended_octane(volumes)
    masses = [0.0] * len(COMPONENTS)
    for key, volume in volumes.items():
        for i, fraction in enumerate(FUELS[key].mass_fractions):
            masses[i] += volume * FUELS[key].density * fraction
    return _from_masses(label, masses, ron, mon, "blend by volume; octane by mole for alcohols, an estimate")


def _blended_octane(volumes: Mapping[str, float]) -> tuple[float, float]:
    """RON and MON of a blend: hydrocarbons by volume among themselves, then by mole with the parts that hold alcohol."""
    base = {key: v for key, v in volumes.items() if FUELS[key].o == 0.0}
    volume = sum(base.values())
    groups = []  # kmol, ron, mon
    if base:
        kmol = sum(v * FUELS[key].density / FUELS[key].molar_mass for key, v in base.items())
        ron = sum(v * FUELS[key].ron for key, v in base.items()) / volume
        mon = sum(v * FUELS[key].mon for key, v in base.items()) / volume
        groups.append((kmol, ron, mon))
    for key, v in volumes.items():
        if key not in base:
            fuel = FUELS[key]
            groups.append((v * fuel.density / fuel.molar_mass, fuel.ron, fuel.mon))
    total = sum(g[0] for g in groups)
    return sum(g[0] * g[1] for g in groups) / total, sum(g[0] * g[2] for g in groups) / total


def joined(fuel: Fuel, other: Fuel, ratio: float) -> Fuel:
    """A fuel and another that is sprayed in beside it, as the one fuel that the charge holds.

    fuel : Fuel, from the tank, its octane numbers as they are sold [-]
    other : Fuel, sprayed beside it [-]
    ratio : float, mass of the other over mass of the first [kg/kg]
    Returns the Fuel; octane by mole, as `blend` counts parts with alcohol [-].
    """
    masses = [a + ratio * b for a, b in zip(fuel.mass_fractions, other.mass_fractions, strict=True)]
    kmol, more = 1.0 / fuel.molar_mass, ratio / other.molar_mass
    ron, mon = ((kmol * a + more * b) / (kmol + more) for a, b in ((fuel.ron, other.ron), (fuel.mon, other.mon)))
    name = f"{fuel.name} with {100.0 * ratio:.3g} % of its mass {other.name}"
    return _from_masses(name, masses, ron, mon, f"{fuel.source}; with what is sprayed in, octane by mole, an estimate")


def _from_masses(name: str, masses: list[float], ron: float, mon: float, source: str) -> Fuel:
    """A Fuel from the masses of the components."""
    total = sum(masses)
    fractions = tuple(m / total for m in masses)
    parts = list(zip(fractions, COMPONENTS.values(), strict=True))
    kmol = sum(y / c.molar_mass for y, c in parts)
    return Fuel(
        name=name,
        mass_fractions=fractions,
        molar_mass=1.0 / kmol,
        c=sum(y / c.molar_mass * c.c for y, c in parts) / kmol,
        h=sum(y / c.molar_mass * c.h for y, c in parts) / kmol,
        o=sum(y / c.molar_mass * c.o for y, c in parts) / kmol,
        density=1.0 / sum(y / c.density for y, c in parts),
        heat_of_vaporisation=sum(y * c.heat_of_vaporisation for y, c in parts),
        liquid_cp=sum(y * c.liquid_cp for y, c in parts),
        ron=ron,
        mon=mon,
        flame=flame_family(fractions),
        source=source,
    )


def _pure(name: str) -> Fuel:
    masses = [1.0 if key == name else 0.0 for key in COMPONENTS]
    return _from_masses(name, masses, COMPONENTS[name].ron, COMPONENTS[name].mon, COMPONENTS[name].source)


def _grade(name: str, ron: float, mon: float, toluene: float, ethanol: float = 0.0) -> Fuel:
    """A pump grade: toluene as typical of aromatics, n-heptane so that the base reaches RON by volume."""
    isooctane = (ron - toluene * COMPONENTS["toluene"].ron) / 100.0
    base = {"isooctane": isooctane, "n_heptane": 1.0 - isooctane - toluene, "toluene": toluene}
    volumes = {key: v * (1.0 - ethanol) for key, v in base.items()} | {"ethanol": ethanol}
    fuel = blend(volumes, name)
    source = "toluene reference surrogate; octane as the grade is sold, common practice, no source"
    return fuel._replace(ron=ron, mon=mon, source=source)


# gasoline_87, _91 and _93 are named by the pump's (RON + MON) / 2; gasoline_95 and _98 by RON (EN 228 grades 95/85 and
# 98/88, from memory, confidence high). race_100 is named by (RON + MON) / 2. Aromatics by volume: typical, no source.
FUELS: dict[str, Fuel] = {key: _pure(key) for key in COMPONENTS}
FUELS |= {
    "gasoline_87": _grade("gasoline_87", 91.5, 82.5, 0.27),
    "gasoline_91": _grade("gasoline_91", 95.5, 86.5, 0.30),
    "gasoline_93": _grade("gasoline_93", 98.0, 88.0, 0.32),
    "gasoline_95": _grade("gasoline_95", 95.0, 85.0, 0.32),
    "gasoline_98": _grade("gasoline_98", 98.0, 88.0, 0.34),
    "gasoline_91_e10": _grade("gasoline_91_e10", 95.5, 86.5, 0.25, 0.10),
    "gasoline_93_e10": _grade("gasoline_93_e10", 98.0, 88.0, 0.27, 0.10),
    "gasoline_95_e10": _grade("gasoline_95_e10", 95.0, 85.0, 0.27, 0.10),
    "race_100": _grade("race_100", 105.0, 95.0, 0.36),
}
FUELS |= {
    "e85": blend({"ethanol": 0.85, "gasoline_95": 0.15}, "e85"),
    "e98": blend({"ethanol": 0.98, "gasoline_95": 0.02}, "e98"),
}


def named(name: str) -> Fuel:
    """A pure component or a named fuel.

    name : str, a key of FUELS [-]
    Returns the Fuel [-].
    Raises ValueError with the known names for an unknown one.
    """
    if name not in FUELS:
        raise ValueError(f"unknown fuel {name!r}; known are {', '.join(FUELS)}")
    return FUELS[name]
