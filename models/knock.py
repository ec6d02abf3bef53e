"""Knock: autoignition of the end gas, from which the octane a point requires follows in closed form."""

import math

from .compiled import compiled

ATM = 101325.0
EXPONENT = 3.402  # of octane in the delay, Douaud & Eyzat (1978)
MODELS = {"douaud_eyzat": 0}
SOURCES = {"douaud_eyzat": "Douaud & Eyzat, SAE 780080 (1978); constants from memory, confidence high"}
# Range in which the correlation was fitted; outside it a run says so. From memory, confidence med.
VALID = {"octane": (80.0, 100.0), "pressure_pa": (10.0 * ATM, 60.0 * ATM)}

# Pump fuels of one octane number, and engines, differ from the correlation by so much of the delay: common practice, from memory,
# confidence medium.
DELAY_BAND = 0.20


@compiled
def delay(p, T, octane):
    """Autoignition delay of the end gas, Douaud & Eyzat (SAE 780080, 1978).

    p : float, pressure [Pa]
    T : float, unburned-gas temperature [K]
    octane : float, octane number of the fuel [-]
    Returns the delay [s]. Fitted for primary reference fuels of 80-100 octane.
    """
    return 17.68e-3 * (octane / 100.0) ** EXPONENT * (p / ATM) ** -1.7 * math.exp(3800.0 / T)


@compiled
def rate(p, T):
    """Reciprocal of the delay at octane 100, the integrand of the knock integral.

    p : float, pressure [Pa]
    T : float, unburned-gas temperature [K]
    Returns 1/delay [1/s]; octane enters as a factor (octane/100)^-3.402 and so can be applied afterwards.
    """
    return math.exp(1.7 * math.log(p / ATM) - 3800.0 / T) / 17.68e-3


@compiled
def integral_at(integral_100, octane):
    """Knock integral for a fuel, from the integral taken at octane 100.

    integral_100 : float, integral of `rate` over the window [-]
    octane : float, octane number of the fuel [-]
    Returns the integral, 1 at the edge of knock [-].
    """
    return integral_100 * (octane / 100.0) ** -EXPONENT


@compiled
def octane_required(integral_100):
    """Octane at which the integral just reaches 1: the delay is a power of octane, so no search is needed.

    integral_100 : float, integral of `rate` over the window [-]
    Returns the octane the point requires [-].
    """
    return 100.0 * integral_100 ** (1.0 / EXPONENT)


def equal_octane(octane, delay_scale):
    """Octane at which the delay is the same as that of a fuel whose delay is a multiple of the correlation's.

    octane : float, octane number of the fuel [-]
    delay_scale : float, factor on the delay, above 0 [-]
    Returns octane [-].
    """
    return octane * delay_scale ** (1.0 / EXPONENT)
