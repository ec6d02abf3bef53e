"""Equilibrium of burned gas with its radicals: twelve species from seven constants and the balance of atoms.

Form and constants: C. Olikara & G. L. Borman, SAE 750468 (1975), fits of the JANAF tables for 600-4000 K, from memory,
confidence high; the published checks hold each against NASA polynomials (1 to 2 %; NO 4 to 7 %, whose enthalpy of formation
was 90.3 kJ/mol then and is 91.1 now). The gas tables keep energy and molar mass only, so what needs radicals asks here.
"""

from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]
ATM = 101325.0  # [Pa]
UNIVERSAL = 8314.462618  # [J/(kmol K)]
# log10 Kp = A ln t + B/t + C + D t + E t^2, t = T/1000 K, partial pressures in atmospheres.
CONSTANTS = {
    "H": (0.432168, -11.2464, 2.67269, -0.0745744, 0.00242484),  # 1/2 H2 = H
    "O": (0.310805, -12.9540, 3.21779, -0.0738336, 0.00344645),  # 1/2 O2 = O
    "N": (0.389716, -24.5828, 3.14505, -0.0963730, 0.00585643),  # 1/2 N2 = N
    "OH": (-0.141784, -2.13308, 0.853461, 0.0355015, -0.00310227),  # 1/2 H2 + 1/2 O2 = OH
    "NO": (0.0150879, -4.70959, 0.646096, 0.00272805, -0.00154444),  # 1/2 O2 + 1/2 N2 = NO
    "H2O": (-0.752364, 12.4210, -2.60286, 0.259556, -0.0162687),  # H2 + 1/2 O2 = H2O
    "CO2": (-0.00415302, 14.8627, -4.75746, 0.124699, -0.00900227),  # CO + 1/2 O2 = CO2
}
SPECIES = ("CO2", "CO", "H2O", "H2", "O2", "N2", "NO", "OH", "O", "H", "N", "Ar")
MOST_PASSES, HALVINGS, CLOSE = 12, 40, 1e-7


class Atoms(NamedTuple):
    """What a kilogram of gas holds."""

    C: float  # [kmol/kg]
    H: float  # [kmol/kg]
    O: float  # [kmol/kg]
    N: float  # [kmol/kg]
    Ar: float  # [kmol/kg]


def constant(name: str, T: Array) -> Array:
    """Equilibrium constant of one reaction, Olikara & Borman (1975).

    name : str, of the species formed, a key of CONSTANTS [-]
    T : array, temperature, 600-4000 [K]
    Returns Kp, partial pressures in atmospheres [atm to the power of the change of moles].
    """
    a, b, c, d, e = CONSTANTS[name]
    t = 1e-3 * T
    return 10.0 ** (a * np.log(t) + b / t + c + (d + e * t) * t)


def composition(T: Array, p: Array, atoms: Atoms) -> dict[str, Array]:
    """Mole fractions in chemical equilibrium.

    What oxygen the species hold rises with the pressure of free O2, so that is found by halving; the pressure that a
    kmol in a kilogram stands for is corrected in between.

    T : array, temperature, 600-4000 [K]
    p : array, pressure [Pa]
    atoms : Atoms, of the gas [kmol/kg]
    Returns the mole fraction of each of SPECIES, arrays as T [-].
    """
    T, p = np.broadcast_arrays(np.asarray(T, dtype=float), np.asarray(p, dtype=float))
    K, total = {name: constant(name, T) for name in CONSTANTS}, p / ATM
    per_kmol = total / (atoms.C + 0.5 * (atoms.H + atoms.N) + atoms.Ar + 0.5 * abs(atoms.O - atoms.C))
    for _ in range(MOST_PASSES):
        low, high = np.full(T.shape, -60.0), 0.5 * np.log(total) + 0.1
        for _ in range(HALVINGS):
            middle = 0.5 * (low + high)
            x = _pressures(middle, per_kmol, atoms, K)
            held = x["CO"] + 2.0 * (x["CO2"] + x["O2"]) + x["H2O"] + x["NO"] + x["OH"] + x["O"]
            more = held < atoms.O * per_kmol
            low, high = np.where(more, middle, low), np.where(more, high, middle)
        found = sum(x.values())
        per_kmol = per_kmol * total / found
        if np.all(np.abs(found / total - 1.0) < CLOSE):
            break
    return {name: value / found for name, value in x.items()}


def _pressures(log_root: Array, per_kmol: Array, atoms: Atoms, K: dict[str, Array]) -> dict[str, Array]:
    """Partial pressures [atm] from the logarithm of the root of that of O2."""
    a = np.exp(log_root)
    co = atoms.C * per_kmol / (1.0 + K["CO2"] * a)
    b = _root(2.0 * (1.0 + K["H2O"] * a), K["H"] + K["OH"] * a, atoms.H * per_kmol)  # of H2
    c = _root(2.0, K["N"] + K["NO"] * a, atoms.N * per_kmol)  # of N2
    return {
        "CO2": K["CO2"] * a * co, "CO": co, "H2O": K["H2O"] * a * b * b, "H2": b * b, "O2": a * a, "N2": c * c,
        "NO": K["NO"] * a * c, "OH": K["OH"] * a * b, "O": K["O"] * a, "H": K["H"] * b, "N": K["N"] * c,
        "Ar": atoms.Ar * per_kmol,
    }  # fmt: skip


def _root(square: Array | float, linear: Array, total: Array) -> Array:
    """The positive x of square x^2 + linear x = total."""
    return 2.0 * total / (linear + np.sqrt(linear * linear + 4.0 * square * total))
