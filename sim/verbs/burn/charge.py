"""What the engine has trapped: the closed cycle of one cylinder of a settled point, ready to be asked."""

from typing import Any, NamedTuple

import numpy as np

from ....models import combustion, gas
from ... import closed, steady, surroundings
from ...case import Case
from ...errors import CaseError, SolveError
from ...records import Array, K, Point
from ...settle import AT_REST
from ...setup import prepare
from ...zones import Charge, burned_gas, unburned_energy
from .kernel import N_ROW, burned, compression
from .trace import Cycle

COLD = 300.0  # at which the heat of the burn is taken [K]


class Trapped(NamedTuple):
    """The charge of one cylinder at inlet closing, and the gas it is before and after burning."""

    engine: Any
    charge: Charge
    blend: Array
    plane: Array
    mass: float  # [kg]
    pressure: float  # at inlet closing [Pa]
    closes: float  # inlet, local [deg after firing top dead centre]
    begins: float  # the case's own burn [deg]
    opens: float  # exhaust [deg]
    heat: float  # of burning all that burns, at 300 K and constant volume [J]
    own: Cycle  # the case's own pressure from inlet closing to exhaust opening

    def line(self, start: float, width: float, count: int, p: float) -> Array:
        """Pressure of compression alone [Pa], from p at `start` on [deg]."""
        found = np.zeros(count)
        compression(self.engine, self.charge, self.blend, self.plane, 720.0 + start, width, p, self.mass, found)
        return found

    def burn(self, start: float, width: float, pressure: Array) -> Array:
        """Rows of kernel.burned for a pressure that begins at `start` [deg]; raises CaseError."""
        rows = np.zeros((len(pressure), N_ROW))
        args = (self.engine, self.charge, self.blend, self.plane, 720.0 + start, width)
        if not burned(*args, np.ascontiguousarray(pressure), self.mass, rows):
            raise CaseError(
                "the trace is no pressure of this engine at this point: no burn gives it; check units, pegging and phase."
            )
        return rows


def trapped(case: Case, cylinder: int) -> Trapped:
    """Settle the case and take what a cylinder has trapped; raises CaseError."""
    try:
        march, ending = steady.solve(prepare(case))
        march.whole_cycle()
    except SolveError as error:
        raise CaseError(f"the point of the case itself has no answer: {error}") from None
    if ending not in AT_REST:
        raise CaseError(f"the point of the case itself does not settle ({steady.STATUS[ending]}); mend that first.")
    s, d = march.setup, march.desk
    j = 0 if s.engine.alike else cylinder - 1
    width = 720.0 / len(d.manifold_record)
    start = float(np.ceil(s.engine.intake_closes / width - 1e-9) * width)
    point = Point(s.plant.speed_rpm, s.plant.octane, float(march.z[surroundings.Z_OUTLET]), 0.0, 0.0)
    out, content, row = np.zeros(closed.N_OUT), d.trapped[j].copy(), s.inputs[cylinder - 1].copy()
    blend, plane, blended = d.blend.copy(), d.plane[j].copy(), np.full(2, -1.0)
    scratch = (blend, plane, blended, d.frozen)
    _, rows = closed.closed_cycle(
        s.engine, point, s.table, row, d.trapped[j].copy(), start, 720.0 + s.engine.exhaust_opens, s.plant.closed_width, *scratch,
        d.work, out, d.record, np.int64(0), closed.WORK_ONLY,
    )  # fmt: skip
    own = Cycle(d.record[:rows, closed.R_ANGLE] - 720.0, d.record[:rows, closed.R_P].copy())
    charge, _, p = closed.prepare(s.engine, point, s.table, row, content, start, *scratch, out)
    begins = float(closed.first_angle(charge, closed.places_of(s.engine.burn), row, start)) - 720.0
    cold = unburned_energy(blend, COLD)[0] - burned_gas(plane, COLD, float(np.log(1e5)), gas.COLD)[0]
    if charge.burnable <= 0.0:
        raise CaseError("the case has no fuel to burn.")
    return Trapped(
        s.engine, charge._replace(model=combustion.GIVEN), blend, plane, float(content[:K].sum()), float(p), start - 720.0,
        begins, float(s.engine.exhaust_opens), float(cold * charge.burnable), own,
    )  # fmt: skip
