"""What the kernels read and write.

Records handed from kernel to kernel hold numbers only; arrays travel beside them, few and packed. A record that carries
arrays is copied with every number of every array's header at each call.
"""

from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from ..models import gas
from ..models.combustion import Burn
from ..models.compiled import inlined
from ..models.geometry import Geometry
from ..models.wall_heat import WallHeat

Array = NDArray[np.float64]
K = gas.N_SPECIES


class Engine(NamedTuple):
    """The metal and the chosen submodels, constant while an operating point is solved."""

    geo: Geometry
    heat: WallHeat
    burn: Burn
    cylinders: int
    collectors: int
    alike: int  # 1: the closed cycle of cylinder 0 serves all
    has_turbine: int  # 0: a bench, whose runners stand for an exhaust plenum of fixed pressure
    intake_closes: float  # at the seat, 0 to 720 [deg]
    exhaust_opens: float  # [deg]
    blow_by_area: float  # [m2]
    crankcase_pressure: float  # [Pa]
    knock_to_exhaust_opening: int  # 1: window of the integral ends there, 0: at CA90
    runner_diameter: float  # [m]
    runner_opening: float  # effective area into the collector [m2]
    port_surface: float  # [m2]
    port_temperature: float  # [K]
    pipe_heat_scale: float  # factor on the pipe correlation
    afterburning: int  # 1: rich and lean gas that meet in runners and collectors burn
    collector_volume: float  # each [m3]
    collector_surface: float  # each [m2]
    collector_diameter: float  # [m]
    sections: int  # volumes in a row that make up a collector, see chain.py
    outlet: int  # which of them is before the turbine
    section_volume: float  # each [m3]
    section_surface: float  # each [m2]
    chain_area: float  # effective area between two of them [m2]
    outer_emissivity: float
    outer_coefficient: float  # [W/(m2 K)]
    outer_area_ratio: float  # outside over inside surface [-]
    bay_temperature: float  # [K]


class Network(NamedTuple):
    """How the volumes hang together: all that what carries flows needs of the engine. A record is copied number by number at a call."""

    cylinders: int
    collectors: int
    sections: int
    outlet: int


class Point(NamedTuple):
    """One operating point as the cycle sees it."""

    speed_rpm: float
    octane: float
    outlet_pressure: float  # after the turbine, or of the exhaust plenum of a bench [Pa]
    tip_speed: float  # of the turbine wheel [m/s]
    wastegate_area: float  # effective, each collector [m2]


# Columns of the cylinder inputs, float64[cylinders, N_INPUT + n]; the last n are a burn's packed table, none for other burns.
(
    IN_OFFSET,  # global angle at which the cylinder fires [deg]
    IN_COLLECTOR,
    IN_PRESSURE,  # intake plenum as this cylinder sees it [Pa]
    IN_SPARK,  # advance [deg]
    IN_CA50,  # of an imposed burn or a table [deg]
    IN_PHI,
    IN_AIR,  # factor on the intake pressure, its share of the air [-]
    IN_RUNNER_VOLUME,  # port included [m3]
    IN_RUNNER_SURFACE,  # [m2]
    IN_H,  # enthalpy of the fresh charge [J/kg]
    IN_T,  # temperature of the fresh charge [K]
    IN_R,  # its gas constant [J/(kg K)]
    IN_NEXT,  # row of the cylinder that fires next
    IN_ENTRY,  # volume its runner enters, counted behind the runners: its collector, or another part of it
    IN_Y,  # first of its composition [-]
) = range(15)
N_INPUT = IN_Y + K

# Columns of a volume's content, float64[volumes, N_CONTENT]: species masses [kg], then these.
C_ENERGY, C_T = K, K + 1  # absolute internal energy [J], last temperature [K]
N_CONTENT = K + 2

# Columns of a cylinder's memory beside its content, float64[cylinders, N_KEPT].
KEPT_PORT = 0  # species pushed back into the intake port [kg], then their enthalpy [J]
KEPT_PORT_H = K
KEPT_LEFT = K + 1  # mass still to burn after exhaust opening [kg]
KEPT_Y = K + 2  # place on Wiebe's curve
KEPT_RATE = K + 3  # its rate [1/deg]
KEPT_ALIGHT = K + 4  # 1 while it burns on
KEPT_MIX = K + 5  # burned less unburned composition
N_KEPT = KEPT_MIX + K


class Memory(NamedTuple):
    """What one cycle hands to the next."""

    content: Array  # cylinders, then runners, then collectors, then the rest of these where they are chains x N_CONTENT
    kept: Array  # cylinders x N_KEPT
    wall: Array  # wall temperatures of runners, then collectors [K]


def empty_memory(cylinders: int, collectors: int, sections: int) -> Memory:
    """Memory of the right shapes, all zero."""
    volumes = 2 * cylinders + collectors * sections
    return Memory(np.zeros((volumes, N_CONTENT)), np.zeros((cylinders, N_KEPT)), np.zeros(cylinders + collectors))


@inlined
def finite(x):
    """Whether a number is one, within 1e300; what `math.isfinite` asks, x - x, is folded to nought where sums may be reordered."""
    return abs(x) < 1e300


@inlined
def copy_row(to, of):
    """Copy one row of numbers onto another; an assignment of arrays makes ready for overlap, and for that a third array."""
    for i in range(of.shape[0]):
        to[i] = of[i]


@inlined
def sum_of(row, count):
    """Sum of the first numbers of a row; the array's own sum makes a loaded kernel import linear algebra, a tenth of a second."""
    total = 0.0
    for i in range(count):
        total += row[i]
    return total
