"""The loops around the cycle: periodicity, shaft balance, wastegate, the boost that can be made.

A march is one cycle, or the way from one firing to the next where all cylinders are alike. Between two marches either the
wastegate is moved until the turbine gives what the compressor takes, or the boost is.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, field

import numpy as np

from . import alternation, beginning, closed, recording, surroundings
from . import exchange as ex
from .balance import (
    BOOST,
    CLIMB,
    LOST,
    NOTHING,
    OPEN,
    REACHED,
    ROUGHLY,
    SETTLED,
    SHUT,
    SLOW,
    TIRED,
    WASTEGATE,
    Job,
    run,
    stands,
    steer_wastegate,
)
from .desk import Desk
from .desk import desk as new_desk
from .mixing import END, NOW, empty_mix, read, write
from .records import C_T, Array, Memory, empty_memory
from .setup import Setup
from .surroundings import (
    SET_BOOST,
    TURBO,
    Z_AIR,
    Z_INTAKE,
    Z_SLOPE,
    Z_STATUS,
    Z_SURPLUS,
    Z_WASTE,
)

# How a point can end; the sentences the user reads are in `warnings`.
CONVERGED, BOOST_SHORT, BOOST_OVER, NOT_PERIODIC, NO_FIRE, BROKEN, NO_AIR, ALTERNATES = range(8)
AT_REST = (CONVERGED, BOOST_SHORT, BOOST_OVER)
RECORD_ROWS = 4000
NUDGE = 0.005  # of the intake pressure, to learn how the surplus answers
BALANCED = 10  # moves of the wastegate granted to a point calmed in between
LITTLE = 0.1  # wastegate area over the turbine's, below which there is little power to spare


class Broken(ArithmeticError):
    """The kernel left the range of physical states."""


@dataclass
class March:
    """One operating point being solved: the set-up and all that changes while it is."""

    setup: Setup
    memory: Memory
    desk: Desk
    z: Array = field(default_factory=lambda: np.zeros(surroundings.N_LOOP))
    mixing: bool = True
    aim: int = CONVERGED  # how the point ends if it comes to rest
    ended: int = NOT_PERIODIC  # how it ended
    pair: alternation.Pair | None = None  # the two answers of a point that goes to and fro between them

    def __post_init__(self) -> None:
        self.desk.blended[:] = -1.0  # a desk taken over from another set-up may hold another fuel's planes
        self.refit(self.setup)

    def refit(self, setup: Setup) -> None:
        """Go on with another set-up of the same engine."""
        s = self.setup = setup
        self.job = Job(
            s.engine, s.plant, s.table, s.machine, s.chart, s.areas, s.inputs, self.memory, self.desk, self.z,
            empty_mix(self.memory),
        )  # fmt: skip

    @staticmethod
    def of(setup: Setup) -> March:
        """A march that has not begun."""
        e = setup.engine
        desk = new_desk(setup.table, e, setup.plant.steps, RECORD_ROWS)
        return March(setup, empty_memory(e.cylinders, e.collectors, e.sections), desk)

    def begin(self) -> None:
        """Fill every volume with a first guess."""
        s = self.setup
        beginning.begin(s.engine, s.plant, s.machine, s.chart, s.table, s.inputs, self.memory, self.desk, self.z)

    def run(self, what: int, goal: float | None = None, cycles: float | None = None, fresh: bool = True) -> int:
        """Marches until settled, see `run`; to the tolerance of the set-up, within its cycles, where not said otherwise."""
        p = self.setup.plant
        end = int(
            run(
                self.job,
                what,
                goal or p.tolerance,
                float(cycles or p.most_cycles),
                self.mixing,
                int(fresh),
                surroundings.NOTHING_KEPT,
            )
        )
        if end == LOST:
            raise Broken
        return end

    def whole_cycle(self) -> None:
        """One whole cycle with the records kept. Raises Broken."""
        self._record(surroundings.CYCLE_KEPT)

    @property
    def told(self) -> int:
        """How often the march that is read makes up a cycle: at rest, one from a firing to the next tells the whole of it."""
        return self.setup.plant.parts if self.ended in AT_REST else 1

    def last_cycle(self) -> None:
        """The cycle that is read, its records kept: one more march at rest, else a whole cycle. Raises Broken."""
        self._record(surroundings.CYCLE_KEPT if self.told == 1 else surroundings.MARCH_KEPT)

    def _record(self, keep: int) -> None:
        p = self.setup.plant
        end = run(self.job, NOTHING, 0.0, 1.0 / p.parts, False, 0, keep)
        volumes = self.setup.engine.cylinders + (self.setup.engine.collectors if p.kind == TURBO else 0)
        pressures = self.desk.manifold_record[:, :volumes, recording.M_P]
        # steps too long for what the walls take make gas of less than nothing
        if end == LOST or not pressures.min() > 0.0:
            raise Broken

    def settle(self, patient: bool = True) -> int:
        """Solve the point from where it stands; returns how it ended.

        patient : whether a point that does not come to rest is looked at more closely, see `look_closer`
        """
        self.ended = self._ending(self._attempt(), patient)
        return self.ended

    def look_closer(self) -> int:
        """A point that came to no rest brought to it, or told as going to and fro, or marched plainly; returns how it ended."""
        self.ended = self._ending(NOT_PERIODIC, True)
        return self.ended

    def _ending(self, ending: int, patient: bool) -> int:
        if ending == NOT_PERIODIC and patient:
            ending = self._restless()
        restless = ending == NOT_PERIODIC and self.z[Z_STATUS] != closed.MISFIRE and not self.draws_nothing()
        doubtful = ending == BROKEN or (restless and patient)
        if self.mixing and doubtful:  # mixed starts can be unphysical, or never rest
            self.mixing = False
            self.begin()
            again = self._attempt()
            # one that has been looked at may yet come to rest in finer steps: what it alternates between then says nothing
            ending = self._restless() if again == NOT_PERIODIC and not restless else again
        if ending == BROKEN:
            return BROKEN
        if self.z[Z_STATUS] == closed.MISFIRE and ending != ALTERNATES:
            return NO_FIRE
        return NO_AIR if self.draws_nothing() else ending

    def _attempt(self) -> int:
        """The point solved from where it stands; how it ends as far as pressures and flows tell."""
        try:
            ending = self._settle()
        except Broken:
            return BROKEN
        return BROKEN if self.beyond_tables() else ending

    def scarce(self) -> bool:
        """Whether the wastegate is all but shut, so that there is little power to spare."""
        p = self.setup.plant
        return bool(p.kind == TURBO and self.z[Z_WASTE] < LITTLE * p.swallowing / 0.67)

    def calm(self) -> bool:
        """Bring a point to rest whose cycles go to and fro; whether it then stands at its balance.

        Each rest is one of a wastegate held still; for the boost asked for it is moved from rest to rest.
        """
        p, z = self.setup.plant, self.z
        moves = BALANCED if p.kind == TURBO and p.gate_model == SET_BOOST and self.aim == CONVERGED else 1
        share = 1.0
        try:
            for _ in range(moves):
                share = alternation.calmed(self, p.tolerance, max(p.tolerance, SLOW), share)
                if share == 0.0:
                    return False
                if abs(z[Z_SURPLUS]) < min(100.0 * p.tolerance, 0.01):
                    return True
                steer_wastegate(z, p.swallowing / 0.67 + z[Z_WASTE], p.wastegate_area)
        except Broken:
            pass
        return False

    def _restless(self) -> int:
        """How a point ends whose cycles did not come to rest: it may alternate."""
        if self.calm():
            return self.aim
        try:
            self.pair = alternation.pair(self)
        except Broken:
            return NOT_PERIODIC
        return ALTERNATES if self.pair else NOT_PERIODIC

    def moved(self) -> Array:
        """What the last whole cycle changed, each part on its own scale."""
        read(self.job.mix, self.memory, self.z, END)
        vectors = self.job.mix.vectors
        return vectors[END] - vectors[NOW]

    def back(self, share: float) -> None:
        """Let the next cycle start at a share of the way from the last start to its end."""
        moved = self.moved()
        vectors = self.job.mix.vectors
        vectors[END] = vectors[NOW] + share * moved
        write(self.job.mix, self.memory, self.z, END)

    def beyond_tables(self) -> bool:
        """Whether a volume stands at an end of the gas tables: its energy then runs away while its temperature is held."""
        T = self.memory.content[:, C_T]
        return bool(T.min() <= ex.COLDEST or T.max() >= ex.HOTTEST)

    def draws_nothing(self) -> bool:
        """Whether next to no fresh charge comes in: exhaust gas fills the cylinders backwards."""
        e, p, z = self.setup.engine, self.setup.plant, self.z
        full = z[Z_INTAKE] / (287.0 * 320.0) * e.cylinders * e.geo.swept * p.speed_rpm / 120.0
        account = self.desk.account
        backwards = account[:, ex.A_BACKFLOW].sum() > account[:, ex.A_OUT_MASS].sum()
        return bool(z[Z_AIR] < 0.1 * full or backwards)

    def _settle(self) -> int:
        """The wastegate for the boost asked for, or the boost that can be made."""
        self.aim = CONVERGED
        p = self.setup.plant
        if p.kind == TURBO and p.gate_model != SET_BOOST:  # the wastegate has a law of its own: the boost comes of it
            self._low_boost()
            end = self.run(BOOST, cycles=2 * p.most_cycles)
            if end == REACHED:
                self.aim, end = BOOST_OVER, self.run(NOTHING)
            return self.aim if end == SETTLED else NOT_PERIODIC
        fresh = True
        if p.kind == TURBO:
            end = self.run(WASTEGATE, ROUGHLY)
            fresh = False
            if end == OPEN:
                return self._settle_boost(BOOST_OVER)
            # the first balance met from below decides, so look there whenever there is little to spare
            if end == SHUT or self.scarce():
                self._low_boost()
                ending = self._settle_boost(BOOST_SHORT)
                if ending != CONVERGED:
                    return ending
                fresh = True
        end = self.run(WASTEGATE, fresh=fresh)
        if end in (SHUT, OPEN):
            return self._settle_boost(BOOST_SHORT if end == SHUT else BOOST_OVER)
        return CONVERGED if end == SETTLED else NOT_PERIODIC

    def _low_boost(self) -> None:
        """Shut the wastegate and start from a few hundredths of boost: the wheels must turn before the turbine gives anything."""
        p, z = self.setup.plant, self.z
        z[Z_WASTE] = 0.0
        flow = z[Z_AIR] * min(p.ambient_pressure / z[Z_INTAKE], 1.0)
        lost = (p.inlet_loss + p.cooler_loss) * flow**2  # at the flow that goes with it
        z[Z_INTAKE] = min(max(1.03 * p.ambient_pressure - lost, 0.2 * p.ambient_pressure), p.intake_pressure)
        z[Z_AIR] = flow

    def _settle_boost(self, ending: int) -> int:
        """Settle the boost with the wastegate where it is; CONVERGED where it gets to the one asked for."""
        self.aim = ending
        what = CLIMB if ending == BOOST_SHORT else BOOST
        end = self.run(what, cycles=2 * self.setup.plant.most_cycles)
        if end == REACHED and what == CLIMB:
            self.aim = CONVERGED
            return CONVERGED
        if end == REACHED:
            end = self.run(NOTHING)
        elif end == TIRED and stands(self.setup.plant, self.z) and self.run(NOTHING) == SETTLED:
            end = SETTLED  # all but at rest the wheels have no power to balance
        elif end == SETTLED:
            self._learn_slope()
        return ending if end == SETTLED else NOT_PERIODIC

    def _learn_slope(self) -> None:
        """How the surplus answers the logarithm of intake pressure at a balance, kept in z; all else is put back."""
        changed = (*self.memory, self.z, self.desk.stream, self.desk.states)
        before = [a.copy() for a in changed]
        self.z[Z_INTAKE] *= 1.0 - NUDGE
        try:
            self.run(NOTHING, 1e-5, 12)
            slope = (before[3][Z_SURPLUS] - self.z[Z_SURPLUS]) / -math.log(1.0 - NUDGE)
        except Broken:
            slope = 0.0
        for array, old in zip(changed, before, strict=True):
            array[:] = old
        self.z[Z_SLOPE] = slope
