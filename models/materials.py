"""Generic materials around the turbine: strength, stiffness and growth of metals; endurance.py says what heat each thing stands.

Data, not laws. Designations are those of open standards; every row says how it is known. Hot strength is short-time
strength: nothing here holds for creep over hours at the limit.
"""

from typing import NamedTuple

import numpy as np

from .endurance import LIMITS as LIMITS
from .endurance import Limit as Limit

ROOM = 293.15  # reference of the mean expansion coefficients [K]
GRID = tuple(273.15 + t for t in (20.0, 100.0, 200.0, 300.0, 400.0, 500.0, 600.0, 700.0, 900.0))  # [K]


PROOF_SHARE = 0.90  # proof over yield stress; ISO 898-1: 0.91 for class 8.8, 0.88 for 10.9, from memory, high [-]


class Metal(NamedTuple):
    """A metal against temperature, each row on GRID."""

    yield_mpa: tuple[float, ...]  # Rp0.2 [MPa]
    modulus_gpa: tuple[float, ...]  # [GPa]
    expansion_ppm: tuple[float, ...]  # mean from 20 degC [1e-6/K]
    tensile_mpa: float  # at room temperature [MPa]
    limit: float  # usual service limit under load or in exhaust gas [K]
    source: str  # how the row is known


_FERRITIC_E = (205.0, 201.0, 194.0, 186.0, 178.0, 168.0, 157.0, 140.0, 100.0)
_FERRITIC_A = (11.1, 11.1, 12.1, 12.9, 13.5, 13.9, 14.1, 14.4, 14.6)  # VDI 2230, from memory
_AUSTENITIC_E = (200.0, 194.0, 186.0, 179.0, 172.0, 165.0, 157.0, 149.0, 132.0)  # EN 10088-1, from memory
_AUSTENITIC_A = (16.0, 16.0, 16.5, 17.0, 17.5, 18.0, 18.3, 18.6, 19.0)  # EN 10088-1, from memory

_QT = "ISO 898-1 (1999) annex A to 300 degC, then reduction factors of EN 1993-1-2 annex D; from memory, confidence med"
_A = "ISO 3506-1: 85, 80, 75, 70 % of room yield at 100 to 400 degC; from memory, confidence med; annealed above, low"

STUDS = {  # generic stud and bolt materials, by strength class or number
    "8.8": Metal(
        (640, 590, 540, 480, 412, 292, 117, 53, 17), _FERRITIC_E, _FERRITIC_A, 800.0, 573.15, _QT
    ),
    "10.9": Metal(
        (940, 875, 790, 705, 605, 429, 172, 78, 26), _FERRITIC_E, _FERRITIC_A, 1040.0, 573.15, _QT
    ),
    "42CrMo4": Metal(
        (730, 702, 640, 562, 475, 375, 200, 80, 25), _FERRITIC_E, _FERRITIC_A, 860.0, 773.15,
        "EN 10269, quenched and tempered; from memory, confidence med to 500 degC, low above",
    ),
    "A2-70": Metal((450, 382, 360, 337, 315, 250, 150, 110, 50), _AUSTENITIC_E, _AUSTENITIC_A, 700.0, 673.15, _A),
    "A4-80": Metal((600, 510, 480, 450, 420, 300, 160, 120, 55), _AUSTENITIC_E, _AUSTENITIC_A, 800.0, 673.15, _A),
    "660": Metal(
        (600, 580, 560, 540, 520, 490, 430, 300, 60),
        (201.0, 196.0, 188.0, 181.0, 173.0, 165.0, 156.0, 147.0, 125.0),
        (16.5, 16.5, 16.8, 17.1, 17.4, 17.6, 17.8, 18.2, 19.0),
        900.0, 923.15, "EN 10269 X6NiCrTiMoVB25-15-2 +AT+P; from memory, confidence med to 600 degC, low above",
    ),
    "718": Metal(
        (1030, 1000, 970, 950, 930, 910, 880, 740, 150),
        (200.0, 195.0, 190.0, 184.0, 178.0, 172.0, 165.0, 156.0, 135.0),
        (12.8, 13.0, 13.5, 13.8, 14.1, 14.4, 14.8, 15.4, 16.5),
        1240.0, 923.15, "nickel alloy, aged; from memory, confidence med",
    ),
}  # fmt: skip

CASTINGS = {  # generic flange, manifold and housing materials; yield of grey iron is its tensile strength
    "grey iron": Metal(
        (250, 245, 240, 235, 210, 160, 100, 60, 15),
        (110.0, 108.0, 104.0, 98.0, 90.0, 80.0, 65.0, 50.0, 25.0),
        (10.0, 10.5, 11.0, 11.5, 12.0, 12.5, 13.0, 13.5, 14.0),
        250.0, 873.15, "from memory, confidence low",
    ),
    "silicon-molybdenum ductile iron": Metal(
        (370, 350, 330, 310, 290, 240, 140, 60, 20),
        (160.0, 157.0, 152.0, 146.0, 138.0, 128.0, 115.0, 98.0, 60.0),
        (11.0, 11.2, 11.8, 12.4, 12.9, 13.2, 13.5, 13.8, 14.5),
        500.0, 1093.15, "EN 16124 class; from memory, confidence low",
    ),
    "austenitic ductile iron": Metal(
        (210, 200, 190, 185, 180, 170, 150, 110, 50),
        (115.0, 113.0, 110.0, 107.0, 103.0, 98.0, 92.0, 85.0, 65.0),
        (12.9, 13.0, 13.5, 14.2, 14.8, 15.3, 15.7, 16.0, 16.8),
        380.0, 1173.15, "EN 13835, 35 % nickel, 5 % silicon; from memory, confidence low",
    ),
    "carbon steel": Metal(
        (235, 220, 200, 160, 130, 105, 60, 30, 12), _FERRITIC_E, _FERRITIC_A, 360.0, 698.15,
        "EN 10025 S235, hot yield as pressure-vessel plate; from memory, confidence med",
    ),
    "304": Metal(
        (210, 157, 127, 110, 98, 92, 87, 80, 45), _AUSTENITIC_E, _AUSTENITIC_A, 520.0, 1143.15,
        "EN 10028-7 1.4301 to 500 degC; from memory, confidence high to 500 degC, low above",
    ),
    "321": Metal(
        (200, 176, 157, 136, 125, 119, 113, 100, 50), _AUSTENITIC_E, _AUSTENITIC_A, 500.0, 1143.15,
        "EN 10028-7 1.4541 to 500 degC; from memory, confidence high to 500 degC, low above",
    ),
    "cast 25-20 steel": Metal(
        (220, 200, 180, 165, 155, 145, 135, 120, 75),
        (185.0, 180.0, 172.0, 165.0, 157.0, 150.0, 142.0, 135.0, 118.0),
        (16.0, 16.0, 16.5, 17.0, 17.3, 17.6, 17.9, 18.2, 18.8),
        450.0, 1323.15, "EN 10295 1.4848; from memory, confidence low",
    ),
}  # fmt: skip


def _row(row: tuple[float, ...], temperature: float) -> float:
    """Linear in temperature along GRID; ValueError outside, for a held end value would flatter."""
    if not GRID[0] - 100.0 <= temperature <= GRID[-1]:
        raise ValueError(f"metal at {temperature:.1f} K: its table holds from 193 to {GRID[-1]:.0f} K")
    return float(np.interp(temperature, GRID, row))


def yield_stress(metal: Metal, temperature: float) -> float:
    """Short-time 0.2 % yield stress; the cold end of the table holds below it.

    metal : Metal, a row of STUDS or CASTINGS [-]
    temperature : float, metal temperature [K]
    Returns Rp0.2 [Pa]
    Raises ValueError outside 193-1173 K.
    """
    return 1e6 * _row(metal.yield_mpa, temperature)


def proof_stress(metal: Metal, temperature: float) -> float:
    """Stress a stud bears without lasting stretch: PROOF_SHARE of its yield.

    metal : Metal, a row of STUDS [-]
    temperature : float, metal temperature [K]
    Returns the proof stress [Pa]
    Raises ValueError outside 193-1173 K.
    """
    return PROOF_SHARE * yield_stress(metal, temperature)


def modulus(metal: Metal, temperature: float) -> float:
    """Modulus of elasticity.

    metal : Metal, a row of STUDS or CASTINGS [-]
    temperature : float, metal temperature [K]
    Returns the modulus [Pa]
    Raises ValueError outside 193-1173 K.
    """
    return 1e9 * _row(metal.modulus_gpa, temperature)


def thermal_strain(metal: Metal, temperature: float, reference: float = ROOM) -> float:
    """Growth per length from one temperature to another.

    metal : Metal, a row of STUDS or CASTINGS [-]
    temperature : float, metal temperature [K]
    reference : float, temperature of tightening [K]
    Returns the strain [-]
    Raises ValueError outside 193-1173 K.
    """
    grown, before = (1e-6 * _row(metal.expansion_ppm, t) * (t - ROOM) for t in (temperature, reference))
    return grown - before


def shear_strength(metal: Metal, temperature: float) -> float:
    """Shear strength of a thread, 0.58 x tensile strength, which is taken to fall with temperature as yield does.

    metal : Metal, a row of STUDS or CASTINGS [-]
    temperature : float, metal temperature [K]
    Returns the shear strength [Pa]
    Raises ValueError outside 193-1173 K.
    """
    return 0.58e6 * metal.tensile_mpa * _row(metal.yield_mpa, temperature) / metal.yield_mpa[0]


def temperature_margin(limit: float, temperature: float) -> float:
    """What is left to a limit; negative past it.

    limit : float, temperature the material stands [K]
    temperature : float, its own [K]
    Returns the margin [K]
    """
    return limit - temperature
