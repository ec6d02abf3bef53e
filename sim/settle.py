"""The loops around the cycle: periodicity, shaft balance, wastegate, the boost that can be made."""

from __future__ import annotations

import math
from dataclasses import dataclass, field

import numpy as np

from . import alternation, closed, cycle, surroundings
from .mixing import Mixer
from .records import Array, Memory, empty_memory
from .setup import Setup
from .surroundings import (
    TURBO,
    Z_AIR,
    Z_CHANGE,
    Z_INTAKE,
    Z_MASS,
    Z_POWER_C,
    Z_POWER_T,
    Z_SLOPE,
    Z_SURPLUS,
    Z_WASTE,
)

# How a march can end; the sentences the user reads are in `sentences_of`.
CONVERGED, BOOST_SHORT, BOOST_OVER, NOT_PERIODIC, NO_FIRE, BROKEN, NO_AIR, ALTERNATES = range(8)
LAW = 8  # on the way: the wastegate follows a law of its own, and the boost is what comes of it
AT_ONCE = 1e-3  # relative change below which the coarse march hands over to the fine one
SLOW = 8e-7  # of mass in and out: what is left in an intake port changes over many cycles
RECORD_ROWS = 4000
SHUT, OPEN, TIRED = "shut", "open", "tired"


def balanced(goal: float) -> float:
    """Share of the compressor's power to which the turbine's must agree, where cycles must agree to `goal` [-]."""
    return min(100.0 * goal, 0.01)


class Broken(ArithmeticError):
    """The kernel left the range of physical states."""


@dataclass
class March:
    """One operating point being solved: the set-up and all that changes while it is."""

    setup: Setup
    memory: Memory
    desk: cycle.Desk
    z: Array = field(default_factory=lambda: np.zeros(surroundings.N_LOOP))
    status: int = closed.DONE
    mixing: bool = True
    coarse_allowed: bool = True
    pair: alternation.Pair | None = None  # the two answers of a point that goes to and fro between them

    @staticmethod
    def of(setup: Setup) -> March:
        """A march that has not begun."""
        e = setup.engine
        desk = cycle.desk(setup.table, e.cylinders, e.collectors, setup.plant.fine_steps, RECORD_ROWS)
        return March(setup, empty_memory(e.cylinders, e.collectors), desk)

    def begin(self) -> None:
        """Fill every volume with a first guess."""
        s = self.setup
        surroundings.begin(s.engine, s.plant, s.chart, s.table, s.inputs, self.memory, self.z)

    def turn(self, coarse: bool, keep: bool = False) -> float:
        """One engine cycle; returns the surplus of turbine power. Raises Broken."""
        s = self.setup
        coarse = coarse and self.coarse_allowed
        self.status = surroundings.one_cycle(
            s.engine, s.plant, s.table, s.machine, s.chart, s.areas, s.inputs, self.memory, self.desk, self.z, coarse,
            keep,
        )  # fmt: skip
        if self.status == closed.LOST or not math.isfinite(self.z[Z_MASS]):
            raise Broken
        self.z[Z_SURPLUS] = self.surplus() if s.plant.kind == TURBO else 0.0
        return float(self.z[Z_SURPLUS])

    def surplus(self) -> float:
        """Turbine over compressor power, as a share of the latter (of the heat in the air where that is small)."""
        z, p = self.z, self.setup.plant
        scale = max(z[Z_POWER_C], 0.02 * z[Z_AIR] * surroundings.CP_AIR * p.ambient_temperature)
        return float((z[Z_POWER_T] - z[Z_POWER_C]) / scale) if scale > 0.0 else 0.0

    def draws_nothing(self) -> bool:
        """Whether next to no fresh charge comes in: exhaust gas fills the cylinders backwards."""
        e, p, z = self.setup.engine, self.setup.plant, self.z
        full = z[Z_INTAKE] / (287.0 * 320.0) * e.cylinders * e.geo.swept * p.speed_rpm / 120.0
        return bool(z[Z_AIR] < 0.1 * full)

    @property
    def turbine_area(self) -> float:
        """Effective area that passes the turbine's greatest flow, each collector's part [m2]."""
        return self.setup.plant.swallowing / 0.67

    def march(self, coarse: bool, goal: float, most: int) -> str | None:
        """Cycles until periodicity within `goal`, the wastegate moved until the powers balance.

        Returns None when settled, SHUT or OPEN where the wastegate stays at an end stop, TIRED after `most` cycles.
        """
        z, p = self.z, self.setup.plant
        wastegate = Wastegate(self.turbine_area, p.wastegate_area)
        mixer = self.mixer()
        stuck = 0
        for i in range(most):
            mixer.start()
            gap = self.turn(coarse)
            if i > 0 and z[Z_CHANGE] < goal and abs(gap) < balanced(goal) and abs(z[Z_MASS]) < max(goal, SLOW):
                return None
            if p.kind == TURBO and not (coarse and i < 2):
                stop = wastegate.steer(z, gap)
                stuck = stuck + 1 if stop else 0
                if stuck >= 3 and z[Z_CHANGE] < 20.0 * max(goal, 1e-3):
                    return stop
                if stop:
                    mixer.forget()
                    continue
            mixer.mix(p.wastegate_area)
        return TIRED

    def mixer(self) -> Mixer:
        """A mixer for cycles from here on."""
        return Mixer(self.memory, self.z, self.turbine_area, self.mixing)

    def rest(self, coarse: bool, goal: float, most: int) -> float:
        """Cycles with nothing steered until the change is below `goal`; returns the surplus."""
        mixer = self.mixer()
        gap = 0.0
        for i in range(most):
            mixer.start()
            gap = self.turn(coarse)
            if i > 0 and self.z[Z_CHANGE] < goal and abs(self.z[Z_MASS]) < max(goal, SLOW):
                break
            mixer.mix(self.setup.plant.wastegate_area)
        return gap

    def balance(
        self, coarse: bool, goal: float, most: int, bracket: Bracket | None = None, cap: float = 0.06
    ) -> str | None:
        """Intake pressure at which the powers balance, the wastegate where it is: secant steps, each on a settled point.

        The surplus falls with boost at a stable balance; its slope is kept in z for the next call and for the reader.
        Returns None when settled, else TIRED.
        """
        z = self.z
        within = bracket or Bracket()
        slope = min(float(z[Z_SLOPE]), -0.15) if z[Z_SLOPE] < 0.0 else -2.0
        before = gap_before = None
        for _ in range(most):
            level = math.log(z[Z_INTAKE])
            gap = self.rest(coarse, max(goal, min(1e-3, 0.05 * abs(float(z[Z_SURPLUS])))), 12)
            if abs(gap) < balanced(goal) and z[Z_CHANGE] < 3.0 * goal and abs(z[Z_MASS]) < max(goal, SLOW):
                return None
            if before is not None and gap_before is not None and abs(level - before) > 1e-6:
                slope = min(max((gap - gap_before) / (level - before), -30.0), -0.1)
            z[Z_SLOPE] = slope
            before, gap_before = level, gap
            within.learn(level, gap)
            z[Z_INTAKE] = math.exp(within.keep(level + min(max(-gap / slope, -cap), cap)))
        return TIRED

    def climb(self) -> Bracket | None:
        """Raise the boost from nothing with the wastegate shut until the turbine no longer carries it.

        Returns the last level carried and the first not carried, or None where the boost asked for was reached with
        turbine power to spare all the way.
        """
        z, p = self.z, self.setup.plant
        z[Z_WASTE] = 0.0
        aim = p.intake_pressure
        # the wheels must turn before the turbine gives anything: start from a few hundredths of boost, with the losses
        # of the flow that goes with it
        flow = z[Z_AIR] * min(p.ambient_pressure / z[Z_INTAKE], 1.0)
        lost = (p.inlet_loss + p.cooler_loss) * flow**2
        z[Z_INTAKE] = min(max(1.03 * p.ambient_pressure - lost, 0.2 * p.ambient_pressure), aim)
        z[Z_AIR] = flow
        found = Bracket()
        for i in range(80):
            gap = 0.0
            for _ in range(5 if i == 0 else 2):
                gap = self.turn(True)
            if gap <= 0.0:
                gap = self.rest(True, AT_ONCE, 8)
            found.learn(math.log(z[Z_INTAKE]), gap)
            if gap <= 0.0:
                return found
            if z[Z_INTAKE] >= aim:
                return None
            z[Z_INTAKE] = min(z[Z_INTAKE] * (1.0 + min(max(0.25 * gap, 0.01), 0.06)), aim)
        return found

    def settle(self) -> int:
        """Solve the point; returns how it ended."""
        try:
            return self._settle()
        except Broken:
            # a mixed start can be unphysical where a plain march is not, and a coarse step too long
            self.mixing, self.coarse_allowed = False, False
            self.begin()
        try:
            return self._settle()
        except Broken:
            return BROKEN

    def _settle(self) -> int:
        p, z = self.setup.plant, self.z
        reached = self._approach()
        end = None
        if reached != CONVERGED:
            end = self.balance(False, p.tolerance, 14)
            if reached == BOOST_SHORT and z[Z_INTAKE] >= p.intake_pressure:  # finer steps: it just gets there
                z[Z_INTAKE] = p.intake_pressure
                reached = CONVERGED
        if reached == CONVERGED:
            end = self.march(False, p.tolerance, p.most_cycles)
            if end in (SHUT, OPEN):
                reached = BOOST_SHORT if end == SHUT else BOOST_OVER
                end = self.balance(False, p.tolerance, 14)
                z[Z_INTAKE] = min(z[Z_INTAKE], p.intake_pressure) if reached == BOOST_SHORT else z[Z_INTAKE]
        reached = CONVERGED if reached == LAW else reached
        if end:
            reached = self._restless(reached)
        if self.status == closed.MISFIRE and reached != ALTERNATES:
            return NO_FIRE
        if self.draws_nothing():
            return NO_AIR
        return reached

    def calm(self) -> bool:
        """Bring a point to rest whose cycles go to and fro; whether it then stands at its balance."""
        goal = self.setup.plant.tolerance
        try:
            return alternation.calmed(self, goal, max(goal, SLOW)) and abs(self.z[Z_SURPLUS]) < balanced(goal)
        except Broken:
            return False

    def _restless(self, reached: int) -> int:
        """How a point ends whose cycles did not come to rest: it may alternate."""
        if self.calm():
            return reached
        self.pair = alternation.pair(self)
        return ALTERNATES if self.pair else NOT_PERIODIC

    def _approach(self) -> int:
        """Coarse steps to the neighbourhood of the answer, and which kind of answer it is."""
        if self.setup.plant.kind == TURBO and self.setup.plant.gate_model != surroundings.SET_BOOST:
            self.balance(True, AT_ONCE, 20, self.climb())
            return LAW
        end = self.march(True, AT_ONCE, 25)
        if self.setup.plant.kind != TURBO:
            return CONVERGED
        if end == OPEN:
            self.balance(True, AT_ONCE, 40, cap=0.12)  # wherever it started from, however far the boost creeps
            return BOOST_OVER
        # the first balance met from below decides, so look there whenever there is little to spare
        if end == SHUT or self.z[Z_WASTE] < 0.1 * self.turbine_area:
            found = self.climb()
            if found is not None:
                self.balance(True, AT_ONCE, 12, found)
                return BOOST_SHORT
            self.march(True, AT_ONCE, 25)
        return CONVERGED


@dataclass
class Bracket:
    """Logarithms of intake pressure between which a stable balance lies."""

    low: float = -math.inf  # the turbine carries this
    high: float = math.inf  # and not this

    def learn(self, level: float, gap: float) -> None:
        """Note on which side of the balance a level lies."""
        if gap > 0.0 and level < self.high:
            self.low = max(self.low, level)
        elif gap < 0.0 and level > self.low:
            self.high = min(self.high, level)

    def keep(self, level: float) -> float:
        """The level if it lies inside, else the middle, or what it is where one side is unknown."""
        if self.low < level < self.high or math.isinf(self.high - self.low):
            return level
        return 0.5 * (self.low + self.high)


class Wastegate:
    """Moves the wastegate until turbine and compressor power agree.

    A bypass beside the turbine takes flow and pressure from it: power goes about as (turbine / (turbine + bypass))^2.2,
    which gives the slope of a Newton step.
    """

    def __init__(self, turbine_area: float, most: float) -> None:
        self.turbine_area, self.most = turbine_area, most

    def steer(self, z: Array, gap: float) -> str | None:
        """Change the area in z; returns the end stop at which it stands, if any."""
        area = z[Z_WASTE]
        open_area = self.turbine_area + area
        step = gap * open_area / (2.2 * max(1.0 + gap, 0.1))
        wanted = area + min(max(step, -0.35 * open_area), 0.35 * open_area)
        z[Z_WASTE] = min(max(wanted, 0.0), self.most)
        if wanted < 0.0 and gap < 0.0:
            return SHUT
        return OPEN if wanted > self.most and gap > 0.0 else None
