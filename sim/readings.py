"""Per-cylinder values, from the records of the last cycle."""

from typing import Any

import numpy as np

from ..models import gas
from ..models.compiled import plain
from . import closed, surroundings
from . import exchange as ex
from .knock_limit import required
from .records import IN_OFFSET, IN_PHI, IN_SPARK, IN_Y, Array, K
from .settle import March
from .setup import Setup


def moist_air_constant(setup: Setup) -> float:
    """Specific gas constant of the air that enters [J/(kg K)]."""
    air = setup.inputs[0, IN_Y : IN_Y + K].copy()
    air[gas.FUEL] = 0.0
    return float((air * setup.table.gas_constant).sum() / air.sum())


def mixed_temperature(table: gas.GasTable, masses: Array, enthalpy: float) -> float:
    """Temperature at which gas of these masses [kg] has this enthalpy [J]; a kernel is handed the three arrays it reads [K]."""
    arrays = table.energy, table.cv, table.gas_constant
    return float(gas.enthalpy_temperature(*arrays, masses, enthalpy, surroundings.MEAN_GUESS))


def leaving_temperature(march: March, j: int) -> float:
    """Flow-weighted mean of the gas that leaves cylinder j (counted from 0) [K]."""
    row = march.desk.account[j]
    return mixed_temperature(march.setup.table, row[ex.A_SPECIES : ex.A_SPECIES + K], float(row[ex.A_OUT_ENTHALPY]))


def valve_time_mean(march: March) -> float:
    """Time mean of the gas in cylinder 1 from exhaust opening to the end of its stroke, for a bench without runners [K]."""
    record = march.desk.record
    used = record[record[:, closed.R_P] > 0.0]
    opens = march.setup.engine.exhaust_opens
    late = used[(used[:, closed.R_ANGLE] >= opens) & (used[:, closed.R_ANGLE] <= 360.0)]
    return float(late[:, closed.R_T].mean()) if len(late) else leaving_temperature(march, 0)


def cylinders(march: March) -> list[dict[str, Any]]:
    """The values of each cylinder, by its number."""
    s, desk = march.setup, march.desk
    n, swept = s.engine.cylinders, s.engine.geo.swept
    shares = moist_shares(s)
    leaving = [leaving_temperature(march, j) for j in range(1 if s.engine.alike else n)]
    rows = []
    for j in range(n):
        i = 0 if s.engine.alike else j
        out, acc = desk.outs[i], desk.account[i]
        own = desk.account[j]
        fresh = acc[ex.A_FRESH]
        rows.append(
            {
                "cylinder": j + 1,
                "fires_at_deg": float(s.inputs[j, IN_OFFSET]),
                "lambda_ratio": float(1.0 / s.inputs[j, IN_PHI]),
                "spark_advance_deg": float(s.inputs[j, IN_SPARK]),
                "air_per_cycle_kg": float(fresh * shares[j]),
                "residual_fraction": float(out[closed.O_RESIDUAL]),
                "ca50_deg": None if out[closed.O_CA50] >= closed.NEVER else float(out[closed.O_CA50]),
                "imep_gross_pa": float((out[closed.O_WORK] + acc[ex.A_WORK_OPEN]) / swept),
                "imep_net_pa": float((out[closed.O_WORK] + acc[ex.A_WORK_OPEN] + acc[ex.A_WORK_PUMP]) / swept),
                "peak_pressure_pa": float(out[closed.O_PEAK_P]),
                "exhaust_temperature_k": leaving[i],
                "runner_pressure_pa": float(own[ex.A_RUNNER_P] / 720.0),
                "runner_gas_time_mean_k": float(own[ex.A_RUNNER_T] / 720.0),
                "runner_wall_temperature_k": float(march.memory.wall[j]),
                "octane_required": required(march.setup, out),
            }
        )
    if march.setup.plant.kind == surroundings.BENCH:
        for row in rows:
            for name in ("runner_gas_time_mean_k", "runner_wall_temperature_k"):
                row.pop(name)
    return rows


def moist_shares(s: Setup) -> Array:
    """Share of moist air in each cylinder's fresh charge, fuel and injected water left out [-]."""
    return np.asarray(plain(surroundings.moist_share)(s.plant, s.table, s.inputs.T))
