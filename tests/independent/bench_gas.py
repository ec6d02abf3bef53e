"""Gas of the independent march: every property asked of Cantera at the moment it is needed, nothing tabulated.

Seven lumps, as the documentation of `hotside.models.gas` defines them: O2, N2 (with argon), CO2, H2O, CO, H2, fuel.
"""

import cantera as ct
import numpy as np

LUMPS = ("O2", "N2", "CO2", "H2O", "CO", "H2", "FUEL")
O2, N2, CO2, H2O, CO, H2, FUEL = range(7)
BURNED = ("CO2", "CO", "H2O", "H2", "O2", "N2", "NO", "OH", "O", "H", "N", "Ar")
T_FREEZE = 1700.0
T_REF = 298.15
_SPECIES = {s.name: s for s in ct.Species.list_from_file("nasa_gas.yaml")}


def solution(names):
    """Ideal gas of the named species of Cantera's NASA polynomials."""
    return ct.Solution(thermo="ideal-gas", species=[_SPECIES[name] for name in names])


class FrozenGas:
    """Mixture of the seven lumps whose composition does not react. `fuel` maps Cantera species to mass fraction."""

    def __init__(self, fuel, o2_in_air=0.2095, n2_parts=78.09, ar_parts=0.93):
        names = ["O2", "N2", "Ar", "CO2", "H2O", "CO", "H2", *fuel]
        self.cantera = solution(names)
        weights = self.cantera.molecular_weights
        self.share = np.zeros((7, len(names)))  # mass of each species in a lump
        for row, column in ((O2, 0), (CO2, 3), (H2O, 4), (CO, 5), (H2, 6)):
            self.share[row, column] = 1.0
        self.share[N2, 1:3] = np.array([n2_parts, ar_parts]) * weights[1:3]
        self.share[FUEL, 7:] = list(fuel.values())
        self.share /= self.share.sum(axis=1, keepdims=True)
        kmol = self.share / weights
        self.r = ct.gas_constant * kmol.sum(axis=1)  # [J/(kg K)]
        self.atoms = np.array([[kmol[i] @ self._atoms_of(e) for e in "CHO"] for i in range(7)])  # [kmol/kg]
        air = np.zeros(7)
        air[O2], air[N2] = o2_in_air / self.r[O2], (1.0 - o2_in_air) / self.r[N2]
        self.dry_air = air / air.sum()
        c, h, o = self.atoms[FUEL]
        self.afr_stoich = (c + h / 4 - o / 2) / (self.dry_air[O2] * self.atoms[O2, 2] / 2)
        self._to_lumps = self.share * (ct.gas_constant / weights)

    def _atoms_of(self, element):
        return np.array([s.composition.get(element, 0.0) for s in self.cantera.species()])

    def enthalpies(self, T):
        """Absolute enthalpy [J/kg] and heat capacity [J/(kg K)] of each lump."""
        self.cantera.TP = T, ct.one_atm
        return (
            self._to_lumps @ self.cantera.standard_enthalpies_RT * T,
            self._to_lumps @ self.cantera.standard_cp_R,
        )

    def temperature(self, masses, *, enthalpy=None, energy=None, guess=1000.0):
        """Temperature [K] of a mixture from its absolute enthalpy or internal energy [J]."""
        T = guess
        for _ in range(50):
            h, cp = self.enthalpies(T)
            r = 0.0 if energy is None else self.r
            target = enthalpy if energy is None else energy
            step = (target - masses @ (h - r * T)) / (masses @ (cp - r))
            T += step
            if abs(step) < 1e-9 * T:
                return T
        raise ArithmeticError("no temperature found")


class BurnedGas:
    """Twelve species with the atoms of a charge: in equilibrium from T_FREEZE up, frozen below as at T_FREEZE."""

    def __init__(self, frozen, masses):
        self.cantera = solution(BURNED)
        self.frozen = frozen
        self.y = masses / masses.sum()
        c, h, o = self.y @ frozen.atoms
        n2, ar = (self.y[N2] * frozen.share[N2] / frozen.cantera.molecular_weights)[1:3]
        self.start = {"CO": c, "H2": h / 2, "O2": (o - c) / 2, "N2": n2, "Ar": ar}  # any gas of these atoms will do
        self.atoms, self.nitrogen = (c, h, o), self.y[N2]

    def react(self, T, p):
        """Set the composition that belongs to temperature and pressure, then the state."""
        self.cantera.TPX = max(T, T_FREEZE), p, self.start
        self.cantera.equilibrate("TP", rtol=1e-10)
        if T < T_FREEZE:
            self.cantera.TP = T, p

    def u_r(self, T, p):
        """Internal energy [J/kg] and gas constant [J/(kg K)]."""
        self.react(T, p)
        return self.cantera.int_energy_mass, ct.gas_constant / self.cantera.mean_molecular_weight

    def with_slopes(self, T, p):
        """(u, du/dT, du/dp, R, dR/dT, dR/dp) by differences; below T_FREEZE those by T are exact."""
        dp, dT = 1e-3 * p, 0.5
        u2, r2 = self.u_r(T, p + dp)
        u1, r1 = self.u_r(T, p - dp)
        u, r = self.u_r(T, p)
        if T < T_FREEZE:
            return u, self.cantera.cv_mass, (u2 - u1) / (2 * dp), r, 0.0, (r2 - r1) / (2 * dp)
        low = max(T - dT, T_FREEZE)  # never across the freezing temperature, where the slope breaks
        (u4, r4), (u3, r3) = self.u_r(T + dT, p), self.u_r(low, p)
        span = T + dT - low
        return u, (u4 - u3) / span, (u2 - u1) / (2 * dp), r, (r4 - r3) / span, (r2 - r1) / (2 * dp)

    def flame_temperature(self, enthalpy, p):
        """Temperature [K] of adiabatic burning at constant pressure from the given enthalpy [J/kg]."""
        self.react(2400.0, p)
        self.cantera.HP = enthalpy, p
        self.cantera.equilibrate("HP", rtol=1e-10)
        return self.cantera.T

    def lumps(self, p):
        """Mass fractions of the seven lumps once frozen: CO and H2 kept, the rest by the balance of atoms.

        Radicals are lumped into the stable species; where oxygen then falls short, CO and H2 share the lack.
        """
        self.react(T_FREEZE, p)
        kmol = dict(zip(BURNED, self.cantera.X / self.cantera.mean_molecular_weight, strict=True))
        c, h, o = self.atoms
        co, h2 = kmol["CO"], kmol["H2"]
        lack = (2 * c + h / 2 - o) / (co + h2)
        if lack > 1.0:
            co, h2 = co * lack, h2 * lack
        out = np.zeros(7)
        mass = {"O2": (o - 2 * c + co - h / 2 + h2) / 2, "CO2": c - co, "H2O": h / 2 - h2, "CO": co, "H2": h2}
        for k, name in enumerate(LUMPS):
            if name in mass:
                out[k] = max(mass[name], 0.0) * ct.gas_constant / self.frozen.r[k]
        out[N2] = self.nitrogen
        return out
