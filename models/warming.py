"""A manifold wall on its way to the temperature it would settle at, and how much cooler it leaves the gas meanwhile."""

import numpy as np
from numpy.typing import NDArray

Values = NDArray[np.float64]  # one for each volume

HEAT_CAPACITY = 4.9e6  # of iron and steel at 300-700 degC by volume, 7800 kg/m3 x 630 J/kgK; from memory, med [J/m3K]


def wall_share(h_area: float, flow: float, specific_heat: float) -> float:
    """How far the gas of a stirred volume follows its wall: hA / (m cp + hA), from m cp (Tin - T) = hA (T - Tw).

    h_area : float, cycle mean of film coefficient times inside area [W/K]
    flow : float, gas through the volume [kg/s]
    specific_heat : float, of the gas at constant pressure [J/kgK]
    Returns the share of a wall's deficit that the gas lacks too [-]
    """
    return h_area / (flow * specific_heat + h_area)


def heat_in(
    h_area: Values, settled_gas: Values, settled_wall: Values, wall: Values, share: Values, gas_deficit: Values
) -> Values:
    """Heat from the gas to a wall that has not settled yet.

    The gas is what it is beside a settled wall, less what a colder inlet and this colder wall take from it.

    h_area : array, cycle mean of film coefficient times inside area [W/K]
    settled_gas : array, mean of the gas weighted with the film, beside the settled wall [K]
    settled_wall : array, wall that settles at this point [K]
    wall : array, wall now [K]
    share : array, of wall_share [-]
    gas_deficit : array, what the gas that comes in lacks already [K]
    Returns the heat flow [W]
    """
    gas = settled_gas - deficit(share, gas_deficit, settled_wall - wall)
    return h_area * (gas - wall)


def deficit(share: Values, inlet: Values, wall: Values) -> Values:
    """What the gas of a stirred volume lacks where inlet gas and wall lack something of their settled temperatures.

    share : array, of wall_share [-]
    inlet : array, what the gas that comes in lacks [K]
    wall : array, what the wall lacks [K]
    Returns what the gas lacks [K]
    """
    return (1.0 - share) * inlet + share * wall
