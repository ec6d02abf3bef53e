"""The march in time: the engine's own cycle in parts, one for each cylinder that fires, shaft and pipes between them.

Everything but the walls changes: gas in cylinders and manifold, intake state, shaft speed, engine speed where the vehicle is
brought along. Walls stay as the cruise left them: they take tens of seconds to warm.
"""

import math
from typing import NamedTuple

import numpy as np

from ....models import air, friction, motion
from ... import beginning, closed, readings, surroundings
from ... import exchange as ex
from ...case import Case
from ...records import IN_OFFSET
from ...settle import Broken, March
from ...setup import Setup, prepare
from ...steady import SolveError
from ...surroundings import CP_AIR, R_AIR, Z_AIR, Z_INTAKE, Z_OUTLET, Z_SHAFT, Z_T4, Z_T_INTAKE, Z_WASTE
from ...units import RPM
from . import shaft

CRUISE_CYCLES, CRUISE_HASTE = (
    60,
    6.0,
)  # cycles to the cruise's own balance, and how much lighter the shaft is on the way
FINER = 8  # steps of shaft and pipes in one part of a cycle
SETTLED = 5e-5  # relative rise of boost over a cycle below which the march has arrived


class Moment(NamedTuple):
    """The state at the end of a step, and what was done over it."""

    time: float  # [s]
    boost: float  # gauge [Pa]
    shaft: float  # [rad/s]
    rpm: float
    backpressure: float  # mean before the turbine over the last cycle, gauge [Pa]
    torque: float  # mean of the last cycle [Nm]
    compressor_flow: float  # [kg/s]
    engine_flow: float  # moist air drawn [kg/s]
    turbine_work: float  # of the gas [J]
    compressor_work: float  # [J]
    bearing_work: float  # [J]
    surge: bool  # the compressor lies short of its surge line


class SpoolMarch:
    """One tip-in being marched."""

    def __init__(self, case: Case, vehicle: motion.Vehicle | None) -> None:
        assert case.turbine is not None
        assert case.cooler is not None
        assert case.spool is not None
        self.case, self.vehicle, self.options = case, vehicle, case.spool
        self.setup: Setup = prepare(case, alike=False)
        self.march = March.of(self.setup)
        self.plant = self.setup.plant
        self.inertia, self.volume = float(case.turbine.inertia), float(case.cooler.volume)
        self.rpm = float(self.plant.speed_rpm)
        outside = air.ambient(
            pressure=case.ambient.pressure,
            temperature=case.ambient.temperature,
            relative_humidity=case.ambient.relative_humidity,
        )
        self.density = outside.density
        n = self.setup.engine.cylinders
        steps = self.plant.steps
        parts = n * case.spool.events
        self.cuts = [round(steps * k / parts) for k in range(parts + 1)]
        self.works: list[float] = []  # of the last cycle's steps [J]
        self.flows: list[float] = []  # exhaust over them [kg]
        self.backs: list[float] = []  # pressure before the turbine over them [Pa]
        self.draws: list[float] = []  # of the last firing interval's steps [kg/s]
        self.torque = 0.0

    # ------------------------------------------------------------------------------------------------ one part

    def part(self, begin: int, end: int) -> tuple[float, float, float]:
        """Steps begin to end of the cycle; returns moist air drawn [kg], turbine work [J], exhaust [kg]. Raises Broken."""
        s, m = self.setup, self.march
        status = surroundings.part_of_cycle(
            s.engine, self.plant, s.table, s.machine, s.areas, s.inputs, m.memory, m.desk, m.z, np.int64(begin),
            np.int64(end),
        )  # fmt: skip
        desk = m.desk
        fresh = float((desk.account[:, ex.A_FRESH] * readings.moist_shares(s)).sum())
        b = desk.collector.sum(axis=0)
        mass = float(b[ex.B_TURBINE_MASS] + b[ex.B_WASTE_MASS])
        if status == closed.LOST or not math.isfinite(fresh + mass):
            raise Broken
        if mass > 0.0:
            left = float(b[ex.B_TURBINE_ENTHALPY] + b[ex.B_WASTE_ENTHALPY] - b[ex.B_TURBINE_WORK])
            m.z[Z_T4] = surroundings.mean_temperature(s.table, b[ex.B_SPECIES :], left)
        return fresh, float(b[ex.B_TURBINE_WORK]), mass

    def after_turbine(self, mass: float, seconds: float) -> None:
        """Pressure after the turbine from the exhaust of the last cycle."""
        self.flows = [*self.flows, mass][-(len(self.cuts) - 1) :]
        flow, z = sum(self.flows) / (seconds * len(self.flows)), self.march.z
        loss = self.plant.outlet_loss * flow * flow
        if self.plant.outlet_by_density == 1:
            loss *= 288.0 * float(z[Z_T4]) / float(z[Z_OUTLET])
        z[Z_OUTLET] = self.plant.ambient_pressure + loss

    def brake(self, begin: int, end: int) -> float:
        """Mean torque of the last cycle [Nm], this step included."""
        s, desk = self.setup, self.march.desk
        steps, first = self.plant.steps, s.engine.intake_closes
        width = 720.0 / steps
        work = float(desk.account[:, [ex.A_WORK_OPEN, ex.A_WORK_PUMP]].sum())
        for j in range(s.engine.cylinders):
            at = round(((s.inputs[j, IN_OFFSET] + first) / width - math.ceil(first / width - 1e-9)) % steps)
            if begin <= at < end:
                work += float(desk.outs[j, closed.O_WORK])
        self.works = [*self.works, work][-(len(self.cuts) - 1) :]
        swept = s.engine.cylinders * s.engine.geo.swept
        peak = float(desk.outs[:, closed.O_PEAK_P].mean())
        loss = self.case.friction.scale * friction.fmep(
            s.friction, self.rpm, peak, float(self.march.z[Z_INTAKE]) / self.plant.ambient_pressure
        )
        whole = sum(self.works) * (len(self.cuts) - 1) / len(self.works)
        return (whole - float(loss) * swept) / (4.0 * math.pi)

    def charge_temperature(self, work: float) -> float:
        """Charge after compressor and cooler [K]."""
        p = self.plant
        T2 = p.ambient_temperature + work / CP_AIR
        return T2 - p.cooler_effectiveness * (T2 - p.coolant_temperature)

    # ------------------------------------------------------------------------------------------------ cruise

    def cruise(self) -> float:
        """Bring the engine to its cruise, the throttle taking what the compressor makes; returns the pressure before it [Pa]."""
        s, m, z, p = self.setup, self.march, self.march.z, self.plant
        m.begin()
        z[Z_INTAKE], z[Z_WASTE] = self.options.cruise_pressure, 0.0
        z[Z_SHAFT], z[Z_T_INTAKE] = 3000.0, p.ambient_temperature
        trapped = beginning.trapped_in(s.engine, p, z) * z[Z_INTAKE] / p.intake_pressure
        beginning.fill_all(s.engine, s.table, s.inputs, m.memory, beginning.even_pressure(p, z), trapped)
        seconds = 120.0 / self.rpm
        before = p.ambient_pressure
        for _ in range(CRUISE_CYCLES):
            fresh, work, mass = self.part(0, p.steps)
            self.brake(0, p.steps)
            surroundings.cool_walls(s.engine, s.inputs, m.desk, m.memory.wall, seconds)
            self.flows = []
            self.after_turbine(mass, seconds)
            flow = fresh / seconds
            before, taken = shaft.unthrottled(p, s.chart, float(z[Z_SHAFT]), flow)
            gained = p.mechanical_efficiency * work - flow * taken * seconds
            z[Z_SHAFT] = shaft.turned(float(z[Z_SHAFT]), self.inertia / CRUISE_HASTE, gained)
            z[Z_AIR], z[Z_T_INTAKE] = flow, self.charge_temperature(taken)
        self.works, self.flows, self.draws = [], [], []
        return before

    # ------------------------------------------------------------------------------------------------ tip-in

    def run(self, target: float) -> list[Moment]:
        """The throttle opened at time 0: moments until the boost has arrived at `target` (gauge) or stands still."""
        before, z, p = self.cruise(), self.march.z, self.plant
        share = self.options.plenum_share
        # the plenum, and the pipes before the throttle at what the compressor made, become one volume
        pressure = share * self.options.cruise_pressure + (1.0 - share) * before
        found = [
            Moment(
                0.0,
                pressure - p.ambient_pressure,
                float(z[Z_SHAFT]),
                self.rpm,
                0.0,
                0.0,
                0.0,
                0.0,
                0.0,
                0.0,
                0.0,
                False,
            )
        ]
        lead_p = lead_w = 0.0  # half of the last step's rise: the middle of the next is about there
        k, parts = 0, len(self.cuts) - 1
        while found[-1].time < self.options.longest:
            pressure, lead_p, lead_w, moment = self.step(found[-1], pressure, lead_p, lead_w, k % parts)
            found.append(moment)
            k += 1
            if moment.boost >= target:
                break
            if k >= 8 * parts and k % parts == 0:
                last = found[-1 - 4 * parts].boost + p.ambient_pressure
                if abs(pressure / last - 1.0) < 4.0 * SETTLED and self.vehicle is None:
                    break
        return found

    def step(
        self, last: Moment, pressure: float, lead_p: float, lead_w: float, k: int
    ) -> tuple[float, float, float, Moment]:
        """One step from a moment to the next; returns manifold pressure, half its rise, half the shaft's, and the moment."""
        s, z = self.setup, self.march.z
        begin, end = self.cuts[k], self.cuts[k + 1]
        seconds = (end - begin) / self.plant.steps * 120.0 / self.rpm
        z[Z_INTAKE], z[Z_SHAFT] = pressure + lead_p, max(last.shaft + lead_w, shaft.LEAST_SPEED)
        fresh, work, mass = self.part(begin, end)
        # drawn at the mean rate of a firing interval: the manifold of `predict` does not sway within a stroke either
        self.draws = [*self.draws, fresh / seconds][-self.options.events :]
        drawn = sum(self.draws) / len(self.draws)
        p = self.plant
        short = seconds / FINER
        stiff = R_AIR * float(z[Z_T_INTAKE]) * short / self.volume
        speed, level, passed, taken = last.shaft, pressure, 0.0, 0.0
        for _ in range(FINER):  # shaft and pipes in finer steps, engine and turbine at their rate over the part
            charge = shaft.fill(p, s.chart, speed, level, drawn, stiff)
            speed = shaft.turned(
                speed, self.inertia, p.mechanical_efficiency * work / FINER - charge.flow * charge.work * short
            )
            level = charge.intake
            passed += charge.flow / FINER
            taken += charge.flow * charge.work * short
        if charge.flow > 1e-3:
            z[Z_T_INTAKE] = self.charge_temperature(charge.work)
        z[Z_AIR] = drawn
        self.after_turbine(mass, seconds)
        back = float(self.march.desk.collector[:, ex.B_P].mean()) / ((end - begin) * 720.0 / p.steps)
        self.gate(charge, back)
        # over a cycle, as a gauge shows it: from firing to firing it goes to and fro where entries or cylinders differ
        self.backs = [*self.backs, back][-(len(self.cuts) - 1) :]
        self.torque = self.brake(begin, end)
        self.drive(seconds)
        surge = surroundings.compressor.limits(
            p.compressor, s.chart, max(charge.ratio, 1.0), p.ambient_temperature, p.ambient_pressure,
            surroundings.R_AIR, surroundings.GAMMA_AIR,
        )[0]  # fmt: skip
        moment = Moment(
            last.time + seconds, charge.intake - p.ambient_pressure, speed, self.rpm,
            sum(self.backs) / len(self.backs) - p.ambient_pressure, self.torque,
            passed, drawn, work, taken, (1.0 - p.mechanical_efficiency) * work,
            bool(charge.ratio > 1.1 and charge.flow < surge),
        )  # fmt: skip
        return charge.intake, 0.5 * (charge.intake - pressure), 0.5 * (speed - last.shaft), moment

    def gate(self, charge: shaft.Charge, before: float) -> None:
        """Where a wastegate with a law of its own stands; one that follows the boost stays shut until it is there."""
        p, z = self.plant, self.march.z
        if p.gate_model == surroundings.SET_OPENING:
            z[Z_WASTE] = p.gate_opening * p.wastegate_area
        elif p.gate_model == surroundings.SPRING:
            signal = charge.intake - p.ambient_pressure
            if p.gate_at_compressor:
                signal += p.cooler_loss * charge.flow**2
            opening = surroundings.wastegate.gate_opening(p.gate, signal, before, float(z[Z_OUTLET]))
            z[Z_WASTE] += surroundings.GATE_SHARE * (opening * p.wastegate_area - z[Z_WASTE])

    def drive(self, seconds: float) -> None:
        """Let the vehicle follow, where it is brought along."""
        if self.vehicle is None:
            return
        rate = motion.crank_acceleration(self.vehicle, self.torque, self.rpm * RPM, self.density)
        self.rpm += rate * seconds / RPM
        self.plant = self.plant._replace(speed_rpm=float(self.rpm))


def tip_in(case: Case, vehicle: motion.Vehicle | None, target: float) -> list[Moment]:
    """March a tip-in; raises SolveError where the gas leaves the range of physical states."""
    try:
        return SpoolMarch(case, vehicle).run(target)
    except Broken:
        raise SolveError(f"the tip-in at {case.run.speed_rpm:.0f} rpm left the range of physical states.") from None
