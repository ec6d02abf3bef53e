"""The engine marched in parts of its cycle, some for each cylinder that fires, and what stands around it brought up to date.

Everything but the walls changes: gas in cylinders and manifold, intake state, shaft speed, engine speed where the vehicle is
brought along. Walls stay as the cruise left them: they take tens of seconds to warm.
"""

import itertools
import math

import numpy as np

from ....models import air, friction, motion
from ... import closed, readings, surroundings
from ... import exchange as ex
from ...case import Case
from ...records import IN_OFFSET
from ...settle import Broken, March
from ...setup import Setup, prepare
from ...surroundings import CP_AIR, Z_INTAKE, Z_OUTLET, Z_T4, Z_WASTE
from .recent import Part, Recent, read_part


class PartedMarch:
    """An engine and its turbo, marched part by part."""

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
        self.density = air.ambient(
            pressure=case.ambient.pressure,
            temperature=case.ambient.temperature,
            relative_humidity=case.ambient.relative_humidity,
        ).density
        self.closings = closings(self.setup)
        self.fine = cuts(self.closings, self.plant.steps, case.spool.events)
        self.cut([0, self.plant.steps])

    def cut(self, cuts: list[int]) -> None:
        """March from now on in these parts of a cycle."""
        self.cuts, self.recent = cuts, Recent(len(cuts) - 1)

    # ------------------------------------------------------------------------------------------------ one part

    def part(self, begin: int, end: int) -> Part:
        """Steps begin to end of the cycle at the intake state and shaft speed that stand in z. Raises Broken."""
        s, m = self.setup, self.march
        status = surroundings.part_of_cycle(
            s.engine, self.plant, s.table, s.machine, s.areas, s.inputs, m.memory, m.desk, m.z, np.int64(begin),
            np.int64(end),
        )  # fmt: skip
        found = read_part(m.desk, readings.moist_shares(s), (end - begin) / self.plant.steps * 120.0 / self.rpm)
        if status == closed.LOST or not math.isfinite(found.drawn + found.exhaust):
            raise Broken
        return found

    def numbered(self, k: int) -> Part:
        """Part k of the cycle, its row kept; brings the pressure after the turbine up to date."""
        begin, end = self.cuts[k], self.cuts[k + 1]
        found = self.part(begin, end)
        self.recent.note(k, found, float(self.march.z[Z_INTAKE]), self.pistons(begin, end))
        self.after_turbine()
        return found

    def after_turbine(self) -> None:
        """Pressure and temperature after the turbine from the exhaust of the last cycle."""
        flow, z = self.recent.flow(), self.march.z
        if flow <= 0.0:
            return
        z[Z_T4] = self.recent.after_turbine(self.setup.table)
        loss = self.plant.outlet_loss * flow * flow
        if self.plant.outlet_by_density == 1:
            loss *= 288.0 * float(z[Z_T4]) / float(z[Z_OUTLET])
        z[Z_OUTLET] = self.plant.ambient_pressure + loss

    def pistons(self, begin: int, end: int) -> float:
        """Work of the pistons over steps begin to end, that of a closed part where its inlet shuts [J]."""
        desk = self.march.desk
        work = float(desk.account[:, [ex.A_WORK_OPEN, ex.A_WORK_PUMP]].sum())
        return work + sum(float(desk.outs[j, closed.O_WORK]) for j, at in enumerate(self.closings) if begin <= at < end)

    def brake(self) -> float:
        """Mean torque of the last cycle [Nm]."""
        s, desk = self.setup, self.march.desk
        swept = s.engine.cylinders * s.engine.geo.swept
        peak = float(desk.outs[:, closed.O_PEAK_P].mean())
        loss = self.case.friction.scale * friction.fmep(
            s.friction, self.rpm, peak, float(self.march.z[Z_INTAKE]) / self.plant.ambient_pressure
        )
        return float(self.recent.work.sum() - float(loss) * swept) / (4.0 * math.pi)

    def charge_temperature(self, work: float) -> float:
        """Charge after compressor and cooler [K]."""
        p = self.plant
        T2 = p.ambient_temperature + work / CP_AIR
        return T2 - p.cooler_effectiveness * (T2 - p.coolant_temperature)

    def gate(self, intake: float, after_compressor: float, seconds: float) -> None:
        """Where a wastegate with a law of its own stands; one that follows the boost stays shut until it is there."""
        p, z = self.plant, self.march.z
        if p.gate_model == surroundings.SET_OPENING:
            z[Z_WASTE] = p.gate_opening * p.wastegate_area
        elif p.gate_model == surroundings.SPRING:
            signal = (after_compressor if p.gate_at_compressor else intake) - p.ambient_pressure
            before = self.recent.before_turbine()
            opening = surroundings.wastegate.gate_opening(p.gate, signal, before, float(z[Z_OUTLET]))
            share = 1.0 - (1.0 - surroundings.GATE_SHARE) ** (seconds * self.rpm / 120.0)  # the same over a cycle
            z[Z_WASTE] += share * (opening * p.wastegate_area - z[Z_WASTE])


def closings(s: Setup) -> list[int]:
    """Step of the cycle at whose begin the inlet of each cylinder has shut."""
    steps = s.plant.steps
    return [math.ceil(float(row[IN_OFFSET]) * steps / 720.0 - 1e-9) % steps for row in s.inputs]


def cuts(shut: list[int], steps: int, events: int) -> list[int]:
    """Steps at which a cycle is cut: where an inlet shuts, and `events` parts from one to the next.

    What a cylinder traps is what stands in the intake when it shuts: at the end of a part, however unevenly the engine fires.
    """
    ends = [*sorted(set(shut)), steps]
    return sorted(
        {round(a + (b - a) * i / events) for a, b in itertools.pairwise(ends) for i in range(events)} | {steps}
    )
