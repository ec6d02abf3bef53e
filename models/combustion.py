"""Burning: laminar burning velocity, spark-driven durations scaled from a stated reference, Wiebe's curve."""

import math
from typing import NamedTuple

from .compiled import compiled

# GIVEN: a rate in kg/deg, which the inverse of the march turns until it has its pressure.
SPARK, IMPOSED, TABLE, GIVEN = range(4)
MODELS = {"spark": SPARK, "imposed": IMPOSED, "table": TABLE}
SOURCES = {
    "spark": "durations scaled after Hires, Tabaczynski & Novak, SAE 780232 (1978), with laminar burning velocity of "
    "Rhodes & Keck, SAE 850047 (1985), Metghalchi & Keck (1982) or Gulder, SAE 841000 (1984); from memory, "
    "confidence high to medium; reference durations common practice, no source",
    "imposed": "Wiebe's curve through a given CA50 and 10-90 % duration, Heywood (1988) sec. 9.2",
    "table": "burned fraction against crank angle as the case gives it, held whatever the charge",
}
GASOLINE, ISOOCTANE, METHANOL, ETHANOL = 0, 1, 2, 3
FAMILIES = {"gasoline": GASOLINE, "isooctane": ISOOCTANE, "methanol": METHANOL, "ethanol": ETHANOL}

# The reference burn: a pent-roof chamber with a central plug near full load at 3000 rev/min on slightly rich gasoline.
# Common practice, no source; what a measured burn (CA10, CA50, CA90) of the user's engine replaces.
REFERENCE_DELAY, REFERENCE_DURATION = 16.0, 22.0  # spark to 10 %, 10 to 90 % [deg]
REFERENCE_PISTON_SPEED = 8.6  # [m/s]
# The two states below are those in which the march itself finds a 2-litre four at 3000 rev/min, full load, CA50 near 8 deg:
# chosen so that the durations above come out there, not taken from a source.
EARLY_STATE = (12e5, 640.0, 0.0125)  # spark to 10 %: pressure [Pa], unburned temperature [K], volume / bore area [m]
LATE_STATE = (42e5, 850.0, 0.0118)  # 10 to 90 %: the same, half-way through a burn with CA50 at 8 deg
REFERENCE_COMPRESSION = 2.6  # unburned density half-way over that at the spark [-]
REFERENCE_PHI = 1.1  # [-]
REFERENCE_RESIDUAL = 0.05  # mole fraction [-]
ATM = 101325.0
# Range of the burning-velocity fits, Metghalchi & Keck (1982): phi [-], pressure [Pa], unburned temperature [K].
VALID = {"phi": (0.8, 1.5), "pressure_pa": (0.4 * ATM, 50.0 * ATM), "temperature_k": (298.0, 700.0)}


class Burn(NamedTuple):
    """Choice and constants of the burn."""

    model: int  # SPARK, IMPOSED or TABLE
    duration: float  # 10-90 % [deg], imposed only
    wiebe_a: float  # Wiebe's efficiency constant [-]
    wiebe_m: float  # Wiebe's shape constant [-]
    completeness: float  # share of the charge that burns at all [-]
    delay_reference: float  # spark to 10 % at the reference state [deg]
    duration_reference: float  # 10 to 90 % at the reference state [deg]
    scale: float  # factor on both [-]
    family: int  # fuel family of the burning velocity
    density_power: float = 0.0  # of the rapid burn's density ratio, 10/9 in the paper, 0 for none [-]
    water_from: float = 1.0  # water share of the charge above which it slows the flame like burned gas [-]; 1 for never


@compiled
def burning_velocity_terms(family, phi):
    """Laminar burning velocity at 298 K and 1 atm without diluent, and its exponents of temperature and pressure.

    family : int, fuel family [-]
    phi : float, fuel-air equivalence ratio [-]
    Returns (velocity, alpha, beta) [m/s, -, -] of S = S0 (T/298)^alpha (p/1 atm)^beta. Rhodes & Keck (1985) gasoline;
    Metghalchi & Keck (1982) isooctane, methanol; Gulder (1984) ethanol. Far from the fitted mixtures the parabola would
    turn negative: the velocity is kept above 0.15 of its best value, and a run says that it left the range.
    """
    if family == GASOLINE:
        best, v = 0.305, 0.305 - 0.549 * (phi - 1.21) ** 2
        alpha, beta = 2.4 - 0.271 * phi**3.51, -0.357 + 0.14 * phi**2.77
    elif family == ETHANOL:
        best, v = 0.465, 0.465 * phi**0.25 * math.exp(-6.34 * (phi - 1.075) ** 2)
        alpha, beta = 1.75, -0.17 / math.sqrt(phi)
    else:
        if family == ISOOCTANE:
            best, v = 0.2632, 0.2632 - 0.8472 * (phi - 1.13) ** 2
        else:
            best, v = 0.3692, 0.3692 - 1.4051 * (phi - 1.11) ** 2
        alpha, beta = 2.18 - 0.8 * (phi - 1.0), -0.16 + 0.22 * (phi - 1.0)
    return max(v, 0.15 * best), alpha, beta


@compiled
def dilution_factor(family, mole_fraction, mass_fraction):
    """Slowing of the flame by burned gas in the charge.

    family : int, fuel family [-]
    mole_fraction : float, residual gas by mole [-]
    mass_fraction : float, residual gas by mass [-]
    Returns the factor [-]: 1 - 2.06 x^0.77 by mole (Rhodes & Keck 1985) for gasoline, 1 - 2.1 f by mass (Metghalchi &
    Keck 1982) for the others; kept above 0.1.
    """
    if family == GASOLINE:
        factor = 1.0 - 2.06 * max(mole_fraction, 0.0) ** 0.77
    else:
        factor = 1.0 - 2.1 * mass_fraction
    return max(factor, 0.1)


@compiled
def burning_velocity(family, phi, p, T, mole_fraction, mass_fraction):
    """Laminar burning velocity at pressure, temperature and dilution.

    family : int, fuel family [-]
    phi : float, equivalence ratio [-]
    p : float, pressure [Pa]
    T : float, unburned temperature [K]
    mole_fraction : float, residual by mole [-]
    mass_fraction : float, residual by mass [-]
    Returns the velocity [m/s].
    """
    v, alpha, beta = burning_velocity_terms(family, phi)
    return v * (T / 298.0) ** alpha * (p / ATM) ** beta * dilution_factor(family, mole_fraction, mass_fraction)


@compiled
def log_durations(burn, phi, residual_mole, residual_mass, piston_speed, bore_area, density_ignition, gas_constant):
    """Durations as powers of the present state, so that each step costs one exponential.

    burn : Burn, reference durations and fuel family [deg, -]
    phi : float, equivalence ratio of the charge [-]
    residual_mole : float, residual by mole [-]
    residual_mass : float, residual by mass [-]
    piston_speed : float, mean piston speed [m/s]
    bore_area : float, area of the bore [m2]
    density_ignition : float, unburned density at the spark [kg/m3]
    gas_constant : float, of the unburned gas [J/(kg K)]
    Returns (d0, dT, dp, dV, b0, bT, bp, bV): ln(spark to 10 %) = d0 + dT ln T + dp ln p + dV ln V and likewise for 10 to
    90 % [ln deg with K, Pa, m3]. Hires, Tabaczynski & Novak (1978): the first goes as (Sp nu)^(1/3) (h/SL)^(2/3), the
    second as (rho_i/rho_u)^(10/9) times that, which they take at the state of half burned. Here both stand with the present
    values all along the burn, so that a flame that burns into an expanding, cooling chamber slows down; that is the most
    of what the density ratio does, and with it (`density_power` 10/9) 10-90 % grows by 1.4 deg for each degree of CA50, where
    engines show about half a degree (common practice, no source). So a case leaves it out, unless it says otherwise.
    nu ~ T^1.645 / p, h = V / bore area.
    """
    v, alpha, beta = burning_velocity_terms(burn.family, phi)
    v *= dilution_factor(burn.family, residual_mole, residual_mass)
    early = scaled(EARLY_STATE, v, alpha, beta, piston_speed, bore_area)
    late = scaled(LATE_STATE, v, alpha, beta, piston_speed, bore_area)
    power = burn.density_power
    scale = math.log(burn.scale)
    d0 = scale + early[0] + math.log(burn.delay_reference)
    b0 = scale + late[0] + math.log(burn.duration_reference)
    b0 += power * math.log(density_ignition * gas_constant * REFERENCE_COMPRESSION)
    return d0, early[1], early[2], early[3], b0, late[1] + power, late[2] - power, late[3]


@compiled
def scaled(state, v, alpha, beta, piston_speed, bore_area):
    """Coefficients of (Sp nu)^(1/3) (h/SL)^(2/3) over its value at a reference state, as a power law.

    state : pressure, unburned temperature and volume over bore area of the reference [Pa, K, m]
    v : float, burning velocity of the charge at 298 K and 1 atm, dilution included [m/s]
    alpha : float, its exponent of temperature [-]
    beta : float, its exponent of pressure [-]
    piston_speed : float, mean piston speed [m/s]
    bore_area : float, area of the bore [m2]
    Returns (k0, kT, kp, kV) of k0 + kT ln T + kp ln p + kV ln V [with K, Pa, m3].
    """
    p_ref, T_ref, height = state
    s_ref = burning_velocity(GASOLINE, REFERENCE_PHI, p_ref, T_ref, REFERENCE_RESIDUAL, REFERENCE_RESIDUAL)
    third, two = 1.0 / 3.0, 2.0 / 3.0
    k0 = third * (math.log(piston_speed / REFERENCE_PISTON_SPEED) - 1.645 * math.log(T_ref) + math.log(p_ref))
    k0 -= two * (math.log(bore_area * height) + math.log(v / s_ref) - alpha * math.log(298.0) - beta * math.log(ATM))
    return k0, third * 1.645 - two * alpha, -third - two * beta, two


@compiled
def wiebe_place(a, m, x):
    """Place along Wiebe's curve at which a fraction is burned.

    a : float, Wiebe's efficiency constant [-]
    m : float, Wiebe's shape constant [-]
    x : float, fraction burned [-]
    Returns y = (angle since start) / (combustion duration) [-].
    """
    return (-math.log(1.0 - x) / a) ** (1.0 / (m + 1.0))


@compiled
def wiebe(a, m, y):
    """Wiebe's curve, Heywood (1988) eq. 9.2: a = 5, m = 2 for spark ignition.

    a : float, efficiency constant [-]
    m : float, shape constant [-]
    y : float, place along the curve, may pass 1 [-]
    Returns (x, dx/dy): fraction burned and its slope [-, -].
    """
    if y <= 0.0:
        return 0.0, 0.0
    power = y**m
    left = math.exp(-a * power * y)
    return 1.0 - left, a * (m + 1.0) * power * left
