"""Type K thermocouples: voltage and temperature on ITS-90, and what the tolerance classes permit."""

import numpy as np
from numpy.polynomial import polynomial

ICE_POINT = 273.15  # [K]

IEC_CLASS_1, IEC_CLASS_2, ASTM_SPECIAL, ASTM_STANDARD = 0, 1, 2, 3
# (floor [K], share of the temperature in degC [-], lowest [K], highest [K] of the class), IEC 60584, ASTM E230/E230M-12
TOLERANCE = {
    IEC_CLASS_1: (1.5, 0.004, ICE_POINT - 40.0, ICE_POINT + 1000.0),
    IEC_CLASS_2: (2.5, 0.0075, ICE_POINT - 40.0, ICE_POINT + 1200.0),
    ASTM_SPECIAL: (1.1, 0.004, ICE_POINT, ICE_POINT + 1260.0),
    ASTM_STANDARD: (2.2, 0.0075, ICE_POINT, ICE_POINT + 1260.0),
}

# Type K on ITS-90, 0-1372 degC: G. W. Burns et al., NIST Monograph 175 (1993). [mV] and [degC]
# fmt: off
_EMF = np.array([
    -0.176004136860e-1, 0.389212049750e-1, 0.185587700320e-4, -0.994575928740e-7, 0.318409457190e-9,
    -0.560728448890e-12, 0.560750590590e-15, -0.320207200030e-18, 0.971511471520e-22, -0.121047212750e-25,
])
_EMF_BELL = (0.1185976, -0.1183432e-3, 126.9686)
_INVERSE_LOW = np.array([  # to 20.644 mV
    0.0, 2.508355e1, 7.860106e-2, -2.503131e-1, 8.315270e-2, -1.228034e-2, 9.804036e-4, -4.413030e-5, 1.057734e-6,
    -1.052755e-8,
])
_INVERSE_HIGH = np.array([-1.318058e2, 4.830222e1, -1.646031, 5.464731e-2, -9.650715e-4, 8.802193e-6, -3.110810e-8])
# fmt: on
TYPE_K_RANGE = (ICE_POINT, ICE_POINT + 1372.0)  # [K]


def type_k_emf(temperature: float) -> float:
    """Voltage of a type K junction against an ice-point reference, NIST Monograph 175 (1993), ITS-90.

    temperature : float, junction temperature [K]
    Returns the emf [V]
    Raises ValueError outside 0-1372 degC.
    """
    t = temperature - ICE_POINT
    if not -1e-9 <= t <= 1372.0 + 1e-9:
        raise ValueError(f"type K junction at {temperature:.2f} K: the function holds from 273.15 to 1645.15 K")
    height, slope, centre = _EMF_BELL
    return 1e-3 * float(polynomial.polyval(t, _EMF) + height * np.exp(slope * (t - centre) ** 2))


def type_k_temperature(emf: float) -> float:
    """Junction temperature from a type K voltage against an ice-point reference: the published inverse, within 0.06 K.

    emf : float, thermocouple voltage [V]
    Returns the junction temperature [K]
    Raises ValueError outside 0-54.886 mV.
    """
    e = 1e3 * emf
    if not -1e-6 <= e <= 54.887:
        raise ValueError(f"type K voltage {e:.4f} mV: the inverse holds from 0 to 54.886 mV")
    return ICE_POINT + float(polynomial.polyval(e, _INVERSE_LOW if e < 20.644 else _INVERSE_HIGH))


def class_tolerance(temperature: float, standard: int) -> float:
    """Half-width of a tolerance class of type K; TOLERANCE holds the range each class is defined for.

    temperature : float, junction temperature [K]
    standard : int, IEC_CLASS_1, IEC_CLASS_2 (IEC 60584), ASTM_SPECIAL or ASTM_STANDARD (ASTM E230/E230M-12) [-]
    Returns the permitted deviation, plus or minus [K]
    """
    floor, share, _, _ = TOLERANCE[standard]
    return max(floor, share * abs(temperature - ICE_POINT))
