"""The closed cycle's own right-hand side under scipy's adaptive eighth-order method, against the kernel's fixed steps.

The equations are the kernel's (sim/zones.py, compiled), so this proves the marching alone: step, events, sums of work, heat
and leak. That the equations are right is shown by the march that shares no code with them.
"""

import numpy as np
import pytest
from bench_case import bench
from hotside.models import gas
from hotside.sim import closed, steady, surroundings, zones
from hotside.sim.records import N_INPUT, K, Point
from hotside.sim.setup import prepare
from scipy.integrate import solve_ivp

BOOSTED = {
    "fuel.name": "gasoline_98", "burn.model": "spark", "run.spark_advance": "12 deg", "run.intake_pressure": "180 kPa",
    "run.exhaust_pressure": "200 kPa", "run.lambda": 0.85, "run.speed": "5000 rpm",
}  # fmt: skip
CASES = {
    "imposed, hohenberg": {},
    "spark, woschni, boosted": BOOSTED | {"wall_heat.model": "woschni"},
    "spark, annand, blow-by": BOOSTED
    | {"wall_heat.model": "annand", "engine.blow_by_area": "1 mm2", "run.speed": "2000 rpm"},
    "slow, lean": {"run.speed": "900 rpm", "run.lambda": 1.3},
}


class ClosedCycle:
    """Cylinder 1 of a case, ready at inlet closing with what a settled cycle traps."""

    def __init__(self, case):
        self.march, _ = steady.solve(prepare(case))
        self.march.whole_cycle()
        s, d = self.march.setup, self.march.desk
        self.engine, self.row = s.engine, s.inputs[0]
        self.point = Point(s.plant.speed_rpm, s.plant.octane, float(self.march.z[surroundings.Z_OUTLET]), 0.0, 0.0)
        width = 720.0 / len(d.manifold_record)
        self.start = float(np.ceil(s.engine.intake_closes / width - 1e-9) * width)
        self.end = 720.0 + s.engine.exhaust_opens
        self.scratch = (d.blend, d.plane[0], d.blended[0], d.frozen)

    def kernel(self):
        """Its report, and its last crank record."""
        s, d = self.march.setup, self.march.desk
        out, content = np.zeros(closed.N_OUT), d.trapped[0].copy()
        _, rows = closed.closed_cycle(
            self.engine, self.point, s.table, self.row, content, self.start, self.end, s.plant.closed_width, *self.scratch,
            d.work, out, d.record, np.int64(0), closed.WORK_ONLY,
        )  # fmt: skip
        return out, d.record[rows - 1]

    def scipy(self):
        """State at exhaust opening: through spark, first burned gas and 10 % burned, each met by an event."""
        s, d = self.march.setup, self.march.desk
        out, content = np.zeros(closed.N_OUT), d.trapped[0].copy()
        charge, T, p = closed.prepare(
            self.engine, self.point, s.table, self.row, content, self.start, *self.scratch, out
        )
        places = closed.places_of(self.engine.burn)
        state = np.zeros(zones.N_STATE)
        state[zones.P], state[zones.TU], state[zones.MU] = p, T, content[:K].sum()
        spark = closed.first_angle(charge, places, self.row, self.start)
        state, angle = self.leg(charge, state, self.start, spark, zones.WAITING, None)
        state, angle = self.leg(charge, state, angle, self.end, zones.DEVELOPING, places.light)
        zones.light(self.engine, charge, d.blend, d.plane[0], state)
        for phase, goal in zip(range(zones.GROWING, zones.OVER), places[1:4], strict=True):
            state, angle = self.leg(charge, state, angle, self.end, phase, goal)
        return self.leg(charge, state, angle, self.end, zones.OVER, None)[0]

    def leg(self, charge, state, start, end, phase, goal):
        """From start to end, or to where the burn has come to its goal."""
        d = self.march.desk

        def slope(angle, y):
            out = np.empty(zones.N_STATE)
            zones.slopes(
                self.engine,
                charge,
                d.blend,
                d.plane[0],
                self.row[N_INPUT:],
                angle,
                zones.crank(self.engine, charge, angle),
                np.ascontiguousarray(y),
                phase,
                gas.ANYWHERE,
                out,
            )
            return out

        def reached(_angle, y):
            return y[zones.Y] - goal

        reached.terminal = True
        scale = np.array([1e5, 1e3, 1e3, 1e-3, 1e-3, 1.0, 1e3, 1e3, 1e3])
        run = solve_ivp(
            slope, (start, end), state, method="DOP853", rtol=1e-9, atol=1e-10 * scale, max_step=2.0,
            events=None if goal is None else reached,
        )  # fmt: skip
        assert run.success
        return run.y[:, -1].copy(), float(run.t[-1])


@pytest.mark.parametrize("name", CASES)
def test_marching_is_as_good_as_an_adaptive_method(name):
    """Work to 2 in ten thousand, temperatures to 0.3 and 0.5 K, what leaked to 1 % of it."""
    cycle = ClosedCycle(bench(CASES[name]))
    out, last = cycle.kernel()
    state = cycle.scipy()
    assert out[closed.O_WORK] == pytest.approx(state[zones.WORK], rel=2e-4)
    assert out[closed.O_HEAT] == pytest.approx(state[zones.HEAT], rel=5e-4)
    assert last[closed.R_P] == pytest.approx(state[zones.P], rel=2e-4)
    assert last[closed.R_TB] == pytest.approx(state[zones.TB], abs=0.3)
    assert last[closed.R_TU] == pytest.approx(state[zones.TU], abs=0.5)
    assert last[closed.R_M] == pytest.approx(state[zones.MU] + state[zones.MB], rel=1e-5)
    assert out[closed.O_Y_END] == pytest.approx(state[zones.Y], rel=1e-3)
