"""What gas does to heat and flow: viscosity and conductivity of air and of burned gas, for probe and tap line."""

import math

from .compiled import compiled

STEFAN_BOLTZMANN = 5.670374419e-8  # CODATA 2018 [W/m2K4]
PRANDTL = 0.70  # air at 300-1000 K; burned gas 0.67-0.71 [-]


@compiled
def air_viscosity(temperature):
    """Viscosity of air, Sutherland's law: 1.716e-5 Pa s at 273.15 K, constant 110.4 K (US Standard Atmosphere form).

    temperature : float, gas temperature [K]
    Returns the dynamic viscosity [Pa s]
    """
    share = temperature / 273.15
    return 1.716e-5 * share * math.sqrt(share) * (273.15 + 110.4) / (temperature + 110.4)


@compiled
def air_conductivity(temperature):
    """Thermal conductivity of air, Sutherland's form: 0.0241 W/mK at 273.15 K, constant 194 K (F. M. White), med.

    temperature : float, gas temperature [K]
    Returns the thermal conductivity [W/mK]
    """
    share = temperature / 273.15
    return 0.0241 * share * math.sqrt(share) * (273.15 + 194.0) / (temperature + 194.0)


# Burned gas of a hydrocarbon, fitted here to Cantera's GRI-Mech 3.0 mixture-averaged transport, 500-1500 K, equivalence
# ratio 0.9-1.2: viscosity within 3 %, conductivity within 5 % (hydrogen of rich gas raises it), Prandtl 0.67-0.71.


@compiled
def burned_viscosity(temperature):
    """Viscosity of burned gas, power law fitted to Cantera's GRI-Mech 3.0 transport (see above).

    temperature : float, film temperature [K]
    Returns the dynamic viscosity [Pa s]
    """
    return 4.10e-5 * math.exp(0.715 * math.log(temperature / 1000.0))  # a power by what both laws share


@compiled
def burned_conductivity(temperature):
    """Thermal conductivity of burned gas, power law fitted to Cantera's GRI-Mech 3.0 transport (see above).

    temperature : float, film temperature [K]
    Returns the thermal conductivity [W/mK]
    """
    return 0.0770 * math.exp(0.90 * math.log(temperature / 1000.0))
