"""The march in time: from a cruise through a tip-in, the shaft and the pipes moving between the parts of the engine's cycle."""

from typing import NamedTuple

from ....models import motion
from ... import beginning, surroundings
from ...case import Case
from ...settle import Broken
from ...steady import SolveError
from ...surroundings import R_AIR, Z_AIR, Z_INTAKE, Z_SHAFT, Z_T_INTAKE, Z_WASTE
from ...units import RPM
from . import shaft
from .parted import PartedMarch
from .recent import Course, Part

CRUISE_CYCLES = 60  # to the cruise's own balance
CRUISE_HASTE = 6.0  # how much lighter the shaft is on the way there
AHEAD = 0.12  # how far the filling of the pipes looks, of the time in which the engine empties them
SOON = 0.25  # and at most of the time since the throttle opened
FINER = 4  # pieces of a part at first
SETTLED = 5e-5  # relative rise of boost over a cycle below which the march has arrived,
TURNING = 1e-3  # that of the shaft over four being below this


class Moment(NamedTuple):
    """The state at the end of a step, and what was done over it."""

    time: float  # [s]
    boost: float  # gauge [Pa]
    shaft: float  # [rad/s]
    rpm: float
    backpressure: float = 0.0  # mean before the turbine over the last cycle, gauge [Pa]
    torque: float = 0.0  # mean of the last cycle [Nm]
    compressor_flow: float = 0.0  # [kg/s]
    engine_flow: float = 0.0  # moist air drawn [kg/s]
    turbine_work: float = 0.0  # of the gas [J]
    compressor_work: float = 0.0  # [J]
    bearing_work: float = 0.0  # [J]
    surge: bool = False  # the compressor lies short of its surge line


class Spun(NamedTuple):
    """Shaft and pipes at the end of a part."""

    charge: shaft.Charge
    speed: float  # [rad/s]
    drawn: float  # by the engine, mean over the part [kg/s]
    passed: float  # by the compressor, so too [kg/s]
    taken: float  # work of the compressor [J]


class SpoolMarch(PartedMarch):
    """One tip-in being marched."""

    # ------------------------------------------------------------------------------------------------ cruise

    def cruise(self) -> float:
        """Bring the engine to its cruise, the throttle taking what the compressor makes; returns the pressure before it [Pa]."""
        s, m, z, p = self.setup, self.march, self.march.z, self.plant
        m.begin()
        z[Z_INTAKE], z[Z_WASTE] = self.options.cruise_pressure, 0.0
        z[Z_SHAFT], z[Z_T_INTAKE] = 3000.0, p.ambient_temperature
        trapped = beginning.trapped_in(s.engine, p, z) * z[Z_INTAKE] / p.intake_pressure
        beginning.fill_all(s.engine, s.table, s.inputs, m.memory, beginning.even_pressure(p, z), trapped)
        before = p.ambient_pressure
        self.cut([0, p.steps])
        for _ in range(CRUISE_CYCLES):
            part = self.numbered(0)
            surroundings.cool_walls(s.engine, s.inputs, m.desk, m.memory.wall, part.seconds)
            flow = part.drawn / part.seconds
            before, taken = shaft.unthrottled(p, s.chart, float(z[Z_SHAFT]), flow)
            gained = p.mechanical_efficiency * part.turbine_work - flow * taken * part.seconds
            z[Z_SHAFT] = shaft.turned(float(z[Z_SHAFT]), self.inertia / CRUISE_HASTE, gained)
            z[Z_AIR], z[Z_T_INTAKE] = flow, self.charge_temperature(taken)
            self.gate(self.options.cruise_pressure, before, part.seconds)
        self.cut(self.fine)
        for k in range(len(self.cuts) - 1):
            self.numbered(k)
            self.recent.spun(k, float(z[Z_SHAFT]), float(z[Z_SHAFT]))
        return before

    # ------------------------------------------------------------------------------------------------ tip-in

    def run(self, target: float) -> list[Moment]:
        """The throttle opened at time 0: moments until the boost has arrived at `target` (gauge) or stands still."""
        before, p = self.cruise(), self.plant
        share = self.options.plenum_share
        # the plenum, and the pipes before the throttle at what the compressor made, become one volume
        pressure = share * self.options.cruise_pressure + (1.0 - share) * before
        found = [Moment(0.0, pressure - p.ambient_pressure, float(self.march.z[Z_SHAFT]), self.rpm)]
        k, parts = 0, len(self.cuts) - 1
        while found[-1].time < self.options.longest:
            found.append(self.step(found[-1], found[-2] if k else found[-1], k % parts))
            k += 1
            if found[-1].boost >= target:
                break
            if k >= 8 * parts and k % parts == 0 and self.vehicle is None and self.stands(found, 4 * parts):
                break
        return found

    def stands(self, found: list[Moment], back: int) -> bool:
        """Whether boost and shaft have hardly risen over the last four cycles, `back` steps.

        A shaft that gets going from rest is there long before any boost is.
        """
        p, now, before = self.plant.ambient_pressure, found[-1], found[-1 - back]
        boost = abs((now.boost + p) / (before.boost + p) - 1.0)
        return boost < 4.0 * SETTLED and abs(now.shaft / before.shaft - 1.0) < TURNING

    def step(self, last: Moment, before: Moment, k: int) -> Moment:
        """One step, part k of the cycle, on from the last moment; the one before it tells how the intake is moving."""
        z, p = self.march.z, self.plant
        pressure = last.boost + p.ambient_pressure
        seconds = (self.cuts[k + 1] - self.cuts[k]) / p.steps * 120.0 / self.rpm
        ahead = 0.5 * seconds / (last.time - before.time) if last.time > before.time else 0.0
        z[Z_INTAKE] = pressure + ahead * (last.boost - before.boost)
        z[Z_SHAFT] = max(last.shaft + self.recent.shaft_rise(k), shaft.LEAST_SPEED)
        part = self.numbered(k)
        spun = self.spin(k, last, part)
        charge = spun.charge
        if charge.flow > 1e-3:
            z[Z_T_INTAKE] = self.charge_temperature(charge.work)
        z[Z_AIR] = spun.drawn
        self.gate(charge.intake, charge.intake + p.cooler_loss * charge.flow**2, seconds)
        torque = self.brake()
        self.drive(torque, seconds)
        surge = surroundings.compressor.limits(
            p.compressor, self.setup.chart, max(charge.ratio, 1.0), p.ambient_temperature, p.ambient_pressure,
            surroundings.R_AIR, surroundings.GAMMA_AIR,
        )[0]  # fmt: skip
        return Moment(
            last.time + seconds, charge.intake - p.ambient_pressure, spun.speed, self.rpm,
            self.recent.before_turbine() - p.ambient_pressure, torque,
            spun.passed, spun.drawn, part.turbine_work, spun.taken, (1.0 - p.mechanical_efficiency) * part.turbine_work,
            bool(charge.ratio > 1.1 and charge.flow < surge),
        )  # fmt: skip

    def spin(self, k: int, last: Moment, part: Part) -> Spun:
        """Shaft and pipes over a part, engine and turbine at their rate over it; in pieces while the pipes fill within a part."""
        pieces = FINER if last.time < part.seconds / SOON else 1
        speed, level, drawn, passed, taken = last.shaft, last.boost + self.plant.ambient_pressure, 0.0, 0.0, 0.0
        seconds = part.seconds / pieces
        gained = self.plant.mechanical_efficiency * part.turbine_work / pieces
        for _ in range(pieces):
            charge, engine = self.charged(self.recent.shaft_without_pulses(k, speed), level, last.time, seconds)
            work = charge.flow * charge.work * seconds
            speed, level = shaft.turned(speed, self.inertia, gained - work), charge.intake
            drawn, passed, taken = drawn + engine / pieces, passed + charge.flow / pieces, taken + work
        self.recent.spun(k, last.shaft, speed)
        return Spun(charge, speed, drawn, passed, taken)

    def charged(self, course: Course, level: float, time: float, seconds: float) -> tuple[shaft.Charge, float]:
        """Pipes over some seconds from a pressure on, at a time since the throttle opened; also what the engine draws [kg/s].

        The turbine's pulses make the shaft go to and fro by a hundredth; pipes of no inertia would let the compressor's flow do so
        by a fifth, past surge and back. So what fills them looks ahead, at the shaft without its pulses: where a speed line rises
        with flow, a short look finds two answers and goes from one to the other.
        """
        p, chart, breathing = self.plant, self.setup.chart, self.recent.breathing()
        stiff = R_AIR * float(self.march.z[Z_T_INTAKE]) / self.volume
        ahead = max(min(AHEAD / (stiff * breathing), SOON * time), seconds)
        there = shaft.fill(p, chart, course.now + course.rate * ahead, level, breathing, stiff * ahead)
        rise = (there.intake - level) * seconds / ahead
        middle = level + 0.5 * rise
        flow = max(breathing * middle + rise / (stiff * seconds), 0.0)
        work, ratio, _ = shaft.compressed(p, chart, flow, middle)
        return shaft.Charge(flow, work, ratio, level + rise), breathing * middle

    def drive(self, torque: float, seconds: float) -> None:
        """Let the vehicle follow, where it is brought along."""
        if self.vehicle is None:
            return
        rate = motion.crank_acceleration(self.vehicle, torque, self.rpm * RPM, self.density)
        self.rpm += rate * seconds / RPM
        self.plant = self.plant._replace(speed_rpm=float(self.rpm))


def tip_in(case: Case, vehicle: motion.Vehicle | None, target: float) -> list[Moment]:
    """March a tip-in; raises SolveError where the gas leaves the range of physical states."""
    try:
        return SpoolMarch(case, vehicle).run(target)
    except Broken:
        raise SolveError(f"the tip-in at {case.run.speed_rpm:.0f} rpm left the range of physical states.") from None
