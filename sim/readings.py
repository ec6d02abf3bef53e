"""Per-cylinder values and what each exhaust probe reads, from the records of the last cycle."""

import math
from typing import Any

import numpy as np

from ..models import gas, gauges, knock
from . import closed, cycle, surroundings
from . import exchange as ex
from .records import IN_OFFSET, IN_PHI, IN_SPARK, IN_Y, Array, K
from .settle import March
from .setup import Setup

PROBE_KINDS = {"bare": gauges.BARE, "sheathed": gauges.SHEATHED, "shielded": gauges.SHIELDED}


def moist_air_constant(setup: Setup) -> float:
    """Specific gas constant of the air that enters [J/(kg K)]."""
    air = setup.inputs[0, IN_Y : IN_Y + K].copy()
    air[gas.FUEL] = 0.0
    return float((air * setup.table.gas_constant).sum() / air.sum())


def leaving_temperature(march: March, j: int) -> float:
    """Flow-weighted mean of the gas that leaves cylinder j (counted from 0) [K]."""
    row = march.desk.account[j]
    mix = row[ex.A_SPECIES : ex.A_SPECIES + K].copy()
    return float(surroundings.mean_temperature(march.setup.table, mix, float(row[ex.A_OUT_ENTHALPY])))


def valve_time_mean(march: March) -> float:
    """Time mean of the gas in the open cylinders' exhaust, for a bench without runners [K]."""
    record = march.desk.record
    used = record[record[:, closed.R_P] > 0.0]
    opens = march.setup.engine.exhaust_opens
    late = used[(used[:, closed.R_ANGLE] >= opens) & (used[:, closed.R_ANGLE] <= 360.0)]
    return float(late[:, closed.R_T].mean()) if len(late) else leaving_temperature(march, 0)


def cylinders(march: March) -> list[dict[str, Any]]:
    """The values of each cylinder, by its number."""
    s, desk = march.setup, march.desk
    n, swept = s.engine.cylinders, s.engine.geo.swept
    rows = []
    for j in range(n):
        i = 0 if s.engine.alike else j
        out, acc = desk.outs[i], desk.account[i]
        own = desk.account[j]
        fresh = acc[ex.A_FRESH]
        fuel = fresh * s.inputs[j, IN_Y + gas.FUEL]
        rows.append(
            {
                "cylinder": j + 1,
                "fires_at_deg": float(s.inputs[j, IN_OFFSET]),
                "lambda_ratio": float(1.0 / s.inputs[j, IN_PHI]),
                "spark_advance_deg": float(s.inputs[j, IN_SPARK]),
                "air_per_cycle_kg": float(fresh - fuel),
                "residual_fraction": float(out[closed.O_RESIDUAL]),
                "ca50_deg": None if out[closed.O_CA50] >= closed.NEVER else float(out[closed.O_CA50]),
                "imep_gross_pa": float((out[closed.O_WORK] + acc[ex.A_WORK_OPEN]) / swept),
                "imep_net_pa": float((out[closed.O_WORK] + acc[ex.A_WORK_OPEN] + acc[ex.A_WORK_PUMP]) / swept),
                "peak_pressure_pa": float(out[closed.O_PEAK_P]),
                "exhaust_temperature_k": leaving_temperature(march, i),
                "runner_pressure_pa": float(own[ex.A_RUNNER_P] / 720.0),
                "runner_gas_time_mean_k": float(own[ex.A_RUNNER_T] / 720.0),
                "runner_wall_temperature_k": float(march.memory.wall[j]),
                "octane_required": float(knock.octane_required(out[closed.O_KNOCK])),
            }
        )
    if march.setup.plant.kind == surroundings.BENCH:
        for row in rows:
            for name in ("runner_gas_time_mean_k", "runner_wall_temperature_k"):
                row.pop(name)
    return rows


def probes(march: March) -> list[dict[str, Any]]:
    """Gas temperature and reading at each exhaust probe of the case."""
    return [_probe(march, probe) for probe in march.setup.case.probe] if _has_runners(march) else []


def _has_runners(march: March) -> bool:
    return march.setup.plant.kind != surroundings.BENCH


def _probe(march: March, wanted: Any) -> dict[str, Any]:
    place, location = _place(march, wanted.cylinder)
    record = march.desk.manifold_record[:, place]
    kind = PROBE_KINDS[wanted.kind]
    probe = gauges.default_probe(kind, 0.0, float(wanted.immersion))
    size = float(wanted.junction_diameter)
    stem = 0.5 * size if kind == gauges.BARE else size
    probe = probe._replace(junction_diameter=size, stem_diameter=stem, emissivity=float(wanted.emissivity))
    e, n = march.setup.engine, march.setup.engine.cylinders
    diameter = e.runner_diameter if place < n else e.collector_diameter
    pressure = np.ascontiguousarray(record[:, cycle.M_P])
    T = np.ascontiguousarray(record[:, cycle.M_T])
    velocity = _velocity(march, record, place, diameter, pressure, T)
    steps = len(T)
    dt = np.full(steps, 120.0 / march.setup.plant.speed_rpm / steps)
    found = gauges.probe_reading(probe, dt, T, velocity, pressure, float(march.memory.wall[place]))
    flow = np.abs(record[:, cycle.M_IN_FLOW])
    return {
        "cylinder": wanted.cylinder,
        "location": location,
        "kind": wanted.kind,
        "gas_temperature_k": float((flow * T).sum() / flow.sum()) if flow.sum() > 0.0 else float(T.mean()),
        "gas_time_mean_k": float(T.mean()),
        "slow_junction_k": float(found.ideal),
        "reading_k": float(found.temperature),
        "radiation_error_k": float(found.radiation_error),
        "conduction_error_k": float(found.conduction_error),
        "time_constant_s": float(found.time_constant),
        "wall_temperature_k": float(march.memory.wall[place]),
        "velocity_mean_m_s": float(np.abs(velocity).mean()),
    }


def _velocity(march: March, record: Array, place: int, diameter: float, pressure: Array, T: Array) -> Array:
    """Gas velocity where the probe stands: mean of what enters and leaves the volume, over the pipe's area [m/s]."""
    n = march.setup.engine.cylinders
    r = (
        gas.mixture_gas_constant(march.setup.table, march.memory.content[n + place, :K])
        / march.memory.content[n + place, :K].sum()
    )
    flow = 0.5 * (record[:, cycle.M_IN_FLOW] + record[:, cycle.M_OUT_FLOW])
    if place >= n:
        flow = record[:, cycle.M_IN_FLOW] + record[:, cycle.M_OUT_FLOW]
    return np.ascontiguousarray(flow * r * T / (pressure * math.pi / 4.0 * diameter**2))


def _place(march: March, cylinder: Any) -> tuple[int, str]:
    """Row of the manifold record for a probe's place, and its name."""
    n = march.setup.engine.cylinders
    if isinstance(cylinder, str):
        number = cylinder.removeprefix("collector").strip()
        return n + (int(number) - 1 if number else 0), cylinder
    return int(cylinder) - 1, f"runner {cylinder}"
