"""The last cycle of a march in time, a row for each of its parts: what a cycle's means and sums are read from.

Gauges, pipe and wastegate answer to a cycle and not to a firing. A row is overwritten when its part comes round again, so the
rows always span one cycle, however finely it is cut.
"""

from typing import NamedTuple

import numpy as np

from ....models.gas import GasTable
from ... import exchange as ex
from ...desk import Desk
from ...readings import mixed_temperature
from ...records import Array, K

LEAST_BREATH = 1e-12  # [kg/(s Pa)] of an engine that draws nothing


class Part(NamedTuple):
    """What engine and turbine did in one part of a cycle."""

    seconds: float
    drawn: float  # moist air [kg]
    turbine_work: float  # of the gas [J]
    exhaust: float  # through turbine and wastegate [kg]
    left: float  # enthalpy it has behind the turbine [J]
    pressure: float  # before the turbine, over the part, mean of the collectors [Pa deg]
    species: Array  # of the exhaust [kg]


class Course(NamedTuple):
    """Where a speed stands and how it rises."""

    now: float  # [rad/s]
    rate: float  # [rad/s2]


def read_part(desk: Desk, shares: Array, seconds: float) -> Part:
    """From the accounts of the part just marched, `shares` those of moist air in each cylinder's fresh charge [-]."""
    b = desk.collector.sum(axis=0)
    return Part(
        seconds,
        float((desk.account[:, ex.A_FRESH] * shares).sum()),
        float(b[ex.B_TURBINE_WORK]),
        float(b[ex.B_TURBINE_MASS] + b[ex.B_WASTE_MASS]),
        float(b[ex.B_TURBINE_ENTHALPY] + b[ex.B_WASTE_ENTHALPY] - b[ex.B_TURBINE_WORK]),
        float(desk.collector[:, ex.B_P].mean()),
        b[ex.B_SPECIES : ex.B_SPECIES + K].copy(),
    )


class Recent:
    """Parts of the last cycle, the intake pressure from which each drew, and the work of its pistons."""

    def __init__(self, parts: int) -> None:
        self.seconds, self.swept, self.exhaust, self.left, self.pressure, self.work = np.zeros((6, parts))
        self.species = np.zeros((parts, K))
        self.shaft, self.shaft_from = np.zeros((2, parts))

    def note(self, k: int, part: Part, intake: float, work: float) -> None:
        """Part k of the cycle has been marched, the intake at a pressure [Pa]; its pistons did work [J]."""
        self.seconds[k], self.swept[k] = part.seconds, part.drawn / intake
        self.exhaust[k], self.left[k], self.species[k] = part.exhaust, part.left, part.species
        self.pressure[k], self.work[k] = part.pressure, work

    def spun(self, k: int, begin: float, end: float) -> None:
        """Over part k the shaft went from one speed to another [rad/s]."""
        self.shaft[k], self.shaft_from[k] = 0.5 * (begin + end), begin

    def shaft_rise(self, k: int) -> float:
        """How far the shaft had risen by the middle of part k, a cycle ago: pulses come again with the cycle [rad/s]."""
        return float(self.shaft[k] - self.shaft_from[k])

    def shaft_without_pulses(self, k: int, now: float) -> Course:
        """Course of the shaft without the pulses of the turbine; part k is the next to be marched, `now` its speed [rad/s].

        Mean of the last cycle, and on from its middle as it gained over it: pulses, which come again with the cycle, are in
        neither, and what rises evenly is met without lag.
        """
        cycle = float(self.seconds.sum())
        gained = now - float(self.shaft_from[k])
        return Course(float(self.seconds @ self.shaft) / cycle + 0.5 * gained, gained / cycle)

    def breathing(self) -> float:
        """Moist air into the engine for each pascal in the intake [kg/(s Pa)].

        It hardly changes from cycle to cycle: so taken, the flow follows the pressure at once and does not sway from stroke to
        stroke, as the manifold of `predict` does not.
        """
        return max(float(self.swept.sum() / self.seconds.sum()), LEAST_BREATH)

    def flow(self) -> float:
        """Exhaust [kg/s]."""
        return float(self.exhaust.sum() / self.seconds.sum())

    def before_turbine(self) -> float:
        """Mean pressure before the turbine [Pa]."""
        return float(self.pressure.sum()) / 720.0

    def after_turbine(self, table: GasTable) -> float:
        """Temperature of what has left, turbine and wastegate mixed [K]."""
        return mixed_temperature(table, self.species.sum(axis=0), float(self.left.sum()))
