"""Sound and lag in a line of gas that stands still: friction and heat exchange at its wall, pieces of one temperature."""

import cmath
import math

import numpy as np

from .compiled import allocating, compiled
from .transport import PRANDTL, air_viscosity

GAS_CONSTANT = 287.05  # air; burned gas is 2 to 6 % higher [J/kgK]
GAMMA = 1.38  # cool burned gas [-]
THICK = 24.0  # bore radius over the wall layer's thickness from which the series for thin layers serves [-]


def _thin_layer(terms: int = 14) -> tuple[float, ...]:
    """Coefficients of I1(s)/I0(s) in powers of 1/s, from its Riccati equation w' = 1 - w/s - w^2."""
    c = [1.0]
    for n in range(1, terms):
        c.append(0.5 * ((n - 2) * c[n - 1] - sum(c[j] * c[n - j] for j in range(1, n))))
    return tuple(c)


SERIES = _thin_layer()


@compiled
def wall_layer(stokes):
    """Share of a round bore that its oscillating wall layer takes, 2 J1(z) / (z J0(z)) at z = stokes sqrt(-i).

    With s = i z it is 2 I1(s) / (s I0(s)): power series (NIST Digital Library of Mathematical Functions 10.25.2), whose terms go
    round by a quarter turn, or where the layer is thin the asymptotic series. Within 1e-12 of library Bessel functions.

    stokes : float, radius x sqrt(density x angular frequency / viscosity) [-]
    Returns complex share, 1 in a bore that is all layer [-]
    """
    if stokes < THICK:
        square = 0.25 * stokes * stokes
        even, odd, even_share, odd_share = 1.0, 0.0, 1.0, 0.0  # real and imaginary parts of I0(s) and of 2 I1(s) / s
        term = 1.0  # without its quarter turns
        for k in range(1, 12 + int(1.4 * stokes), 2):
            term *= square / (k * k)
            odd += term
            odd_share += term / (k + 1.0)
            term *= -square / ((k + 1.0) * (k + 1.0))
            even += term
            even_share += term / (k + 2.0)
        return complex(even_share, odd_share) / complex(even, odd)
    inverse = (1.0 - 1j) * math.sqrt(0.5) / stokes
    total = complex(0.0)
    for k in range(len(SERIES) - 1, -1, -1):
        total = total * inverse + SERIES[k]
    return 2.0 * inverse * total


@compiled
def line_constants(omega, bore, temperature, pressure):
    """What a length of line does to sound, friction and heat exchange with its wall included.

    omega : float, angular frequency [1/s]
    bore : float, inner diameter [m]
    temperature : float, of gas and wall [K]
    pressure : float, mean, absolute [Pa]
    Returns (series impedance per length [Pa s/m4], shunt admittance per length [m2/Pa s], Rott's share d ln U / d ln T [-])
    """
    density, area = pressure / (GAS_CONSTANT * temperature), 0.25 * math.pi * bore * bore
    stokes = 0.5 * bore * math.sqrt(density * omega / air_viscosity(temperature))
    viscous, thermal = wall_layer(stokes), wall_layer(stokes * math.sqrt(PRANDTL))
    series = 1j * omega * density / (area * (1.0 - viscous))
    shunt = 1j * omega * area / (GAMMA * pressure) * (1.0 + (GAMMA - 1.0) * thermal)
    return series, shunt, (thermal - viscous) / ((1.0 - viscous) * (1.0 - PRANDTL))


@compiled
def passed(omega, bores, lengths, temperatures, pressure, volume, displacement):
    """Pressure at the gauge over pressure at the boss at one frequency; what it is stands in `tap.transmission`.

    omega : float, angular frequency [1/s]
    bores : array (n), inner diameter of each piece from the boss on [m]
    lengths : array (n), of each piece [m]
    temperatures : array (n), gas temperature of each piece [K]
    pressure : float, mean, absolute [Pa]
    volume : float, of the gauge's cavity [m3]
    displacement : float, volume the gauge's element gives way per pressure [m3/Pa]
    Returns complex ratio [-]
    """
    ratio, cooler_share = complex(1.0), complex(0.0)
    load = 1j * omega * (volume / pressure + displacement)
    cooler = temperatures[-1]
    for k in range(bores.size - 1, -1, -1):
        series, shunt, share = line_constants(omega, bores[k], temperatures[k], pressure)
        load *= cmath.exp(0.5 * (share + cooler_share) * math.log(temperatures[k] / cooler))
        constant = cmath.sqrt(series * shunt)
        once = cmath.exp(-constant * lengths[k])  # hyperbolic functions by it: a long piece must not overflow
        twice, impedance = once * once, series / constant
        sink = (1.0 + twice) + impedance * load * (1.0 - twice)
        ratio *= 2.0 * once / sink
        load = (load * (1.0 + twice) + (1.0 - twice) / impedance) / sink
        cooler, cooler_share = temperatures[k], share
    return ratio


@allocating
def spectrum_passed(frequency, bores, lengths, temperatures, pressure, volume, displacement):
    """`passed` at each frequency.

    frequency : array (m), above zero [Hz]
    bores, lengths, temperatures : arrays (n), as there [m, m, K]
    pressure, volume, displacement : float, as there [Pa, m3, m3/Pa]
    Returns array (m), complex ratio [-]
    """
    found = np.empty(frequency.size, dtype=np.complex128)
    for i in range(frequency.size):
        omega = 2.0 * math.pi * frequency[i]
        found[i] = passed(omega, bores, lengths, temperatures, pressure, volume, displacement)
    return found


@compiled
def time_constant(bores, lengths, temperatures, pressure, volume, displacement):
    """Laminar resistance of each piece times the gas capacity behind it; what it is stands in `tap.lag`.

    bores, lengths, temperatures : arrays (n), as in `passed` [m, m, K]
    pressure, volume, displacement : float, as there [Pa, m3, m3/Pa]
    Returns the time constant [s]
    """
    last = temperatures.size - 1
    behind = volume / (GAS_CONSTANT * temperatures[last]) + displacement * pressure / (
        GAS_CONSTANT * temperatures[last]
    )
    total = 0.0
    for k in range(last, -1, -1):
        t, square = temperatures[k], bores[k] * bores[k]
        resistance = (
            128.0 * air_viscosity(t) * lengths[k] * GAS_CONSTANT * t / (math.pi * square * square * pressure)
        )  # [Pa s/kg]
        own = 0.25 * math.pi * square * lengths[k] / (GAS_CONSTANT * t)  # [kg/Pa]
        total += resistance * (behind + 0.5 * own)
        behind += own
    return total
