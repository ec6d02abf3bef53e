"""Flows, mean pressures, torque, turbine and compressor: what the last cycle gives of the engine as a whole."""

import math
from typing import Any

from ..models import compressor, friction, gas, knock
from . import closed, probes, readings, settle, surroundings
from . import exchange as ex
from .errors import SolveError
from .knock_limit import required
from .records import C_T, IN_SPARK, IN_Y
from .settle import March


def gauges(march: March) -> dict[str, Any]:
    """One more cycle with the records kept, and what is read from it alone; raises SolveError."""
    try:
        march.last_cycle()
    except settle.Broken:
        raise SolveError("the last cycle left the range of physical states.") from None
    return {
        **whole_engine(march),
        **_hot_side(march),
        "probes": probes.probes(march),
        "cylinders": readings.cylinders(march),
    }


def _angle(value: float) -> float | None:
    return None if value >= closed.NEVER else float(value)


def _opening(area: float, most: float) -> float:
    """Wastegate opening; less than a millionth is shut, which a spring's valve comes to by halves."""
    return float(area / most) if area > 1e-6 * most else 0.0


def whole_engine(march: March) -> dict[str, Any]:
    """Flows, mean pressures, torque and the burn of the engine as a whole."""
    s, desk, case = march.setup, march.desk, march.setup.case
    e, n, geo = s.engine, s.engine.cylinders, s.engine.geo
    outs, acc = (desk.outs[:1], n * desk.account[:1]) if e.alike else (desk.outs[:n], desk.account[:n])
    per_second = s.plant.speed_rpm / 120.0
    swept = n * geo.swept
    fresh, total, mean = acc[:, ex.A_FRESH], acc.sum(axis=0), outs.mean(axis=0).tolist()
    fuel = float(fresh @ s.inputs[: len(acc), IN_Y + gas.FUEL]) * per_second
    air = float(fresh @ readings.moist_shares(s)[: len(acc)]) * per_second
    gross = (n * mean[closed.O_WORK] + float(total[ex.A_WORK_OPEN])) / swept
    pumping = float(total[ex.A_WORK_PUMP]) / swept
    peak = mean[closed.O_PEAK_P]
    z = march.z
    loss = case.friction.scale * friction.fmep(
        s.friction, s.plant.speed_rpm, peak, float(z[surroundings.Z_INTAKE]) / s.ambient.pressure
    )
    brake = gross + pumping - loss
    torque = brake * swept / (4.0 * math.pi)
    power = torque * s.plant.speed_rpm * math.pi / 30.0
    worst = int(outs[:, closed.O_KNOCK].argmax())
    density = z[surroundings.Z_INTAKE] / (readings.moist_air_constant(s) * z[surroundings.Z_T_INTAKE])
    mix = total[ex.A_SPECIES : ex.A_SPECIES + gas.N_SPECIES]
    leaving = readings.mixed_temperature(s.table, mix, float(total[ex.A_OUT_ENTHALPY]))
    dry = 1.0 / (1.0 + s.ambient.humidity)
    held_spark = case.run.spark_advance is not None and case.burn.model == "spark"
    return {
        "speed_rpm": float(s.plant.speed_rpm),
        "lambda_ratio": float(case.run.lambda_ratio),
        "afr": air * dry / fuel if fuel > 1e-9 else None,
        "spark_advance_deg": float(s.inputs[:, IN_SPARK].mean()) if held_spark else None,
        "ca10_deg": _angle(mean[closed.O_CA10]),
        "ca50_deg": _angle(mean[closed.O_CA50]),
        "ca90_deg": _angle(mean[closed.O_CA90]),
        "air_flow_kg_s": air,
        "fuel_flow_kg_s": fuel,
        "exhaust_flow_kg_s": float(total[ex.A_OUT_MASS]) * per_second,
        "volumetric_efficiency": float(air / (density * swept * per_second)),
        "residual_fraction": mean[closed.O_RESIDUAL],
        "exhaust_temperature_k": leaving,
        "exhaust_temperature_time_mean_k": float(desk.account[:, ex.A_RUNNER_T].mean() / 720.0)
        if s.plant.kind != surroundings.BENCH
        else readings.valve_time_mean(march),
        "imep_gross_pa": gross,
        "imep_net_pa": gross + pumping,
        "pmep_pa": pumping,
        "fmep_pa": float(loss),
        "bmep_pa": brake,
        "torque_nm": torque,
        "power_w": power,
        "bsfc_kg_j": fuel / power if power > 0.0 else None,
        "peak_pressure_pa": peak,
        "peak_pressure_deg": mean[closed.O_PEAK_ANGLE],
        "unburned_temperature_max_k": float(outs[:, closed.O_TU_MAX].max()),
        "knock_integral": float(knock.integral_at(outs[worst, closed.O_KNOCK], s.plant.octane)),
        "knock_onset_deg": _angle(outs[worst, closed.O_ONSET]),
        "octane_required": required(s, outs[worst]),
    }


def _hot_side(march: March) -> dict[str, Any]:
    """Pressures, turbine, compressor, wastegate."""
    s, desk, z, case = march.setup, march.desk, march.z, march.setup.case
    ambient = s.ambient.pressure
    intake = float(z[surroundings.Z_INTAKE])
    bench = s.plant.kind == surroundings.BENCH
    held = s.plant.kind == surroundings.HELD
    before = s.plant.exhaust_pressure if bench or held else float(desk.collector[:, ex.B_P].mean() / 720.0)
    boost, back = intake - ambient, before - ambient
    common = {
        "boost_pa": None if bench else boost,
        "intake_pressure_pa": intake,
        "intake_temperature_k": float(z[surroundings.Z_T_INTAKE]),
        "pre_turbine_pressure_pa": before,
        "backpressure_pa": back,
        "backpressure_ratio": back / boost if boost > 5e3 and not bench else None,
        "pressure_ratio_exhaust_intake": before / intake,
        **_cold_side(march),
    }
    if bench or held:
        nothing = (
            "pressure_ratio_turbine", "turbine_inlet_temperature_k", "turbine_outlet_temperature_k",
            "turbine_efficiency", "wastegate_opening", "turbine_choked", "turbine_choked_share",
            "backpressure_turbine_pa", "backpressure_wastegate_pa", "backpressure_pipe_pa",
        )  # fmt: skip
        return common | dict.fromkeys(nothing) | {"boost_reached": None if bench else True}
    b = desk.collector.sum(axis=0)
    mass = b[ex.B_TURBINE_MASS] + b[ex.B_WASTE_MASS]
    inlet = march.memory.content[2 * s.engine.cylinders, C_T]  # of the gas that stands there, where none passes
    if mass > 0.0:
        enthalpy = float(b[ex.B_TURBINE_ENTHALPY] + b[ex.B_WASTE_ENTHALPY])
        inlet = readings.mixed_temperature(s.table, b[ex.B_SPECIES :], enthalpy)
    share = float(b[ex.B_CHOKED_MASS] / b[ex.B_TURBINE_MASS]) if b[ex.B_TURBINE_MASS] > 0.0 else 0.0
    most = s.plant.wastegate_area
    return common | {
        **_backpressure_shares(before, float(z[surroundings.Z_OUTLET]), ambient, b),
        "pressure_ratio_turbine": before / float(z[surroundings.Z_OUTLET]),
        "turbine_inlet_temperature_k": float(inlet),
        "turbine_outlet_temperature_k": float(z[surroundings.Z_T4]),
        "turbine_efficiency": float(b[ex.B_TURBINE_WORK] / b[ex.B_TURBINE_IDEAL]) if b[ex.B_TURBINE_IDEAL] > 0 else 0.0,
        "wastegate_opening": _opening(z[surroundings.Z_WASTE], most),
        "boost_reached": s.plant.gate_model != surroundings.SET_BOOST or bool(boost >= (case.run.boost or 0.0) - 50.0),
        "turbine_choked": share > 0.5,
        "turbine_choked_share": share,
    }


def _backpressure_shares(before: float, after: float, ambient: float, sums: Any) -> dict[str, float]:
    """Backpressure as what turbine, wastegate passage and the pipe behind them take of it; they add up to it.

    Turbine and wastegate stand side by side, so one pressure stands over both: it is dealt out by the gas that each passes.

    before, after, ambient : pressures [Pa]; sums : a cycle's accounts, of all collectors together
    """
    mass = float(sums[ex.B_TURBINE_MASS] + sums[ex.B_WASTE_MASS])
    waste = float(sums[ex.B_WASTE_MASS]) / mass if mass > 0.0 else 0.0
    return {
        "backpressure_turbine_pa": (1.0 - waste) * (before - after),
        "backpressure_wastegate_pa": waste * (before - after),
        "backpressure_pipe_pa": after - ambient,
    }


def _cold_side(march: March) -> dict[str, Any]:
    """The compressor: efficiency, pressure ratio, place between surge and choke, shaft speed."""
    s, z, p = march.setup, march.z, march.setup.plant
    names = (
        "compressor_efficiency", "compressor_pressure_ratio", "surge_margin_fraction", "choke_margin_fraction",
        "shaft_speed_rad_s",
    )  # fmt: skip
    if p.kind == surroundings.BENCH:
        return dict.fromkeys(names)
    flow, ratio, T2 = (float(z[i]) for i in (surroundings.Z_AIR, surroundings.Z_RATIO_C, surroundings.Z_T2))
    p1, gamma = p.ambient_pressure - p.inlet_loss * flow**2, surroundings.GAMMA_AIR
    T1 = p.ambient_temperature
    surge, choke = compressor.limits(p.compressor, s.chart, ratio, T1, p1, surroundings.R_AIR, gamma)
    known = p.compressor.model != compressor.CONSTANT and flow > 0.0
    found = (
        compressor.efficiency_from_temperatures(T1, T2, ratio, gamma) if T2 > T1 else None,
        ratio,
        1.0 - surge / flow if known else None,
        1.0 - flow / choke if known else None,
        float(z[surroundings.Z_SHAFT]),
    )  # fmt: skip
    return dict(zip(names, found, strict=True))
