"""`predict`: one operating point solved and read."""

import math
from collections.abc import Callable
from typing import Any

from ..models import combustion, compressor, friction, gas, knock, manifold, nitric_oxide, wall_heat
from ..models.compiled import on_disk
from . import accounts, closed, hot_parts, nitric, probes, readings, settle, surroundings, tap_line
from . import exchange as ex
from .case import Case
from .errors import SolveError as SolveError
from .knock_limit import knock_readings, required
from .margins import margins
from .near import Near, Trail, numbers, settle_near
from .prediction import Prediction
from .records import C_T, IN_AIR, IN_SPARK, IN_Y
from .settle import March
from .setup import Setup, prepare
from .trace import trace_of
from .valve_forces import valve_forces
from .warnings import warnings_of
from .water import water_readings

Progress = Callable[[str], None]
MASS_BOOKS, ENERGY_BOOKS = 1e-6, 1e-3  # to which a settled point must close [shares of flow and of the fuel's energy]
FINEST = 1.0  # step of gas exchange that is halved no further [deg]
FINEST_CLOSED = 0.15  # step of the closed part that is halved no further [deg]
BREATHING_REACH = 3.0  # factor by which fitted breathing may stand above or below the case's own [-]
STATUS = {
    settle.CONVERGED: "converged",
    settle.BOOST_SHORT: "boost short",
    settle.BOOST_OVER: "boost over",
    settle.NOT_PERIODIC: "not periodic",
    settle.NO_FIRE: "does not fire",
    settle.BROKEN: "broken",
    settle.NO_AIR: "no fresh charge",
    settle.ALTERNATES: "alternates",
}


COLLECTOR_IN_PARTS = "{} volumes in a row, each link a nozzle whose velocity is lost, no gas inertia; filling and emptying, common practice, no source"
TURBINE_EFFICIENCY = {
    False: "efficiency a parabola in blade-speed ratio (form: Guzzella & Onder)",
    True: "flow and efficiency measured, carried on by the parabola in blade-speed ratio",
}


def predict(
    case: Case,
    *,
    trace: bool = False,
    progress: Progress | None = None,
    width: float | None = None,
    alike: bool | None = None,
) -> Prediction:
    """Solve one operating point and read every gauge.

    case : Case
    trace : whether to keep the crank-resolved record of cylinder 1 and the manifold
    progress : called with a sentence while tables or kernels are built
    width : step of gas exchange [deg], the default where None
    alike : False marches every cylinder by itself even where all are alike
    Raises SolveError in one sentence where the point has no answer.
    """
    report = None if progress is None else (lambda text, share: progress(f"{text} {share:.0%}"))
    setup = prepare(case, report, width, alike)
    if progress is not None and not on_disk("one_cycle"):
        progress("solving; the first run ever compiles the kernels, about a minute")
    return answer(setup, trace)[0]


def answer(setup: Setup, trace: bool = False, trail: Trail | None = None) -> tuple[Prediction, March]:
    """A set-up solved and read, and the march that gave it; raises SolveError.

    trail : points solved before, from which this one is begun where they can serve, and to which it is added; the answer is
        that of a cold start within the tolerance of the march

    A burn that is over within some degrees is too quick for the usual step of the closed part: its energy is then lost on the
    way, which the books show, and the point is marched again in finer steps.
    """
    if trail is None:
        march, ending = solve(setup)
    else:
        place = numbers(setup)  # before the march writes into the inputs
        march, ending = solve(setup, trail.near(place))
    found = read(march, ending, trace)
    while found.status == STATUS[settle.NOT_PERIODIC] and ending in settle.AT_REST:  # it drifted on
        if march.calm():
            found = read(march, ending, trace)
            break
        finer = _finer(march.setup)  # to and fro over a jump of the march itself, as where a step just empties a port
        if finer is None:
            break
        march, ending = solve(finer)
        found = read(march, ending, trace)
    while found.converged and found.energy_closure > ENERGY_BOOKS and march.setup.plant.closed_width > FINEST_CLOSED:
        plant = march.setup.plant
        march.refit(march.setup._replace(plant=plant._replace(closed_width=0.5 * plant.closed_width)))
        found = read(march, march.settle(), trace)
    if trail is not None and found.converged:
        trail.add(place, march)
    return found, march


def solve(setup: Setup, near: Near | None = None) -> tuple[March, int]:
    """March a set-up to its balance, from cold or from its neighbours; raises SolveError.

    Where marches do not come to repeat themselves the steps may be too long for volumes as small as these: they are halved.
    """
    if near is not None and setup.case.engine.volumetric_efficiency_measured is None:
        march = March.of(setup._replace(inputs=setup.inputs.copy()))  # the march writes into them
        if settle_near(march, near):
            return march, march.ended
    march, ending = _solve(setup)
    while ending == settle.NOT_PERIODIC:
        finer = _finer(march.setup)
        if finer is None:
            break
        march, ending = _solve(finer)
    return march, ending


def _finer(setup: Setup) -> Setup | None:
    """The same point in half the steps of gas exchange, or None where they are fine already."""
    if 720.0 / setup.plant.steps <= FINEST:
        return None
    return prepare(setup.case, None, 360.0 / setup.plant.steps, bool(setup.engine.alike))


def _solve(setup: Setup) -> tuple[March, int]:
    march = March.of(setup)
    march.begin()
    ending = march.settle()
    wanted = setup.case.engine.volumetric_efficiency_measured
    if wanted is not None and ending != settle.BROKEN:
        ending = breathe(march, wanted, ending)
    if ending == settle.BROKEN:
        run = setup.case.run
        raise SolveError(
            f"no periodic answer at {run.speed_rpm:.0f} rpm: the gas left the range of the property tables "
            "(100 to 4500 K); check boost, valve timing and turbine size."
        )
    return march, ending


def breathe(march: March, wanted: float, ending: int) -> int:
    """Scale the intake until the volumetric efficiency is the measured one; returns how the last march ended.

    Steps and reach are bounded: an engine that draws nothing at all would else be asked for a thousandfold intake.
    """
    scale = 1.0
    for _ in range(6):
        found = _whole_engine(march)["volumetric_efficiency"]
        step = min(max(wanted / max(found, 1e-6), 0.5), 2.0)
        step = min(max(scale * step, 1.0 / BREATHING_REACH), BREATHING_REACH) / scale
        if abs(found / wanted - 1.0) < 1e-4 or step == 1.0 or ending in (settle.BROKEN, settle.NOT_PERIODIC):
            break
        scale *= step
        march.setup.inputs[:, IN_AIR] *= step
        march.begin()
        ending = march.settle()
    return ending


def read(march: March, ending: int, trace: bool = False) -> Prediction:
    """One more cycle with the records kept, and everything read from it."""
    before = accounts.stored(march)
    shown = gauges(march)
    s, case = march.setup, march.setup.case
    sums = accounts.closure(march, before)
    if sums.mass > MASS_BOOKS and ending in settle.AT_REST:  # it stood still for a moment only
        ending = settle.NOT_PERIODIC
    converged = ending in settle.AT_REST
    values: dict[str, Any] = {
        **shown,
        **knock_readings(march),
        **valve_forces(march),
        "pressure_tap": tap_line.pressure_tap(march),
        "parts": hot_parts.parts(march, shown["turbine_inlet_temperature_k"]),
        "mass_closure": sums.mass,
        "energy_closure": sums.energy,
        "energy_unburned": sums.unburned,
        "wall_heat_fraction": sums.walls,
        "exhaust_heat_fraction": sums.exhaust,
        "cycles": int(march.z[surroundings.Z_CYCLES]),
        "converged": converged,
        "status": STATUS[ending],
        "models": models_used(s),
        **nitric.readings(march),
        **water_readings(march, shown["fuel_flow_kg_s"]),
    }
    values["margins"] = margins(case, s, values, hot_parts.held(march, values))
    values["warnings"] = warnings_of(march, ending, values)
    return Prediction(**values, trace=trace_of(march) if trace else None)


def gauges(march: March) -> dict[str, Any]:
    """One more cycle with the records kept, and what is read from it alone; raises SolveError."""
    try:
        march.last_cycle()
    except settle.Broken:
        raise SolveError("the last cycle left the range of physical states.") from None
    return {
        **_whole_engine(march),
        **_hot_side(march),
        "probes": probes.probes(march),
        "cylinders": readings.cylinders(march),
    }


def _angle(value: float) -> float | None:
    return None if value >= closed.NEVER else float(value)


def _opening(area: float, most: float) -> float:
    """Wastegate opening; less than a millionth is shut, which a spring's valve comes to by halves."""
    return float(area / most) if area > 1e-6 * most else 0.0


def _whole_engine(march: March) -> dict[str, Any]:
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
    leaving = surroundings.mean_temperature(s.table, mix, float(total[ex.A_OUT_ENTHALPY]))
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
        "volumetric_efficiency": air / (density * swept * per_second),
        "residual_fraction": mean[closed.O_RESIDUAL],
        "exhaust_temperature_k": float(leaving),
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
        inlet = surroundings.mean_temperature(s.table, b[ex.B_SPECIES :], enthalpy)
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


def models_used(setup: Setup) -> dict[str, str]:
    """Submodel -> its name and source."""
    c = setup.case
    used = {
        "gas": "NASA polynomials through Cantera (nasa_gas.yaml); burned gas in equilibrium above 1700 K, frozen below",
        "fuel": f"{setup.fuel.name}: {setup.fuel.source}",
        "burn": f"{c.burn.model}: {combustion.SOURCES[c.burn.model]}",
        "wall_heat": f"{c.wall_heat.model}: {wall_heat.SOURCES[c.wall_heat.model]}; scale {c.wall_heat.scale:g}",
        "knock": f"{c.knock.model}, integral to {c.knock.window_end}: {knock.SOURCES[c.knock.model]}; "
        f"delay scale {c.knock.delay_scale:g}, +-{100.0 * knock.DELAY_BAND:g} % from memory",
        "bad cycle": f"CA50 spread by {c.burn.cyclic_spread:g} deg, normally; {100.0 * c.knock.bad_cycle:g} % of cycles are "
        "earlier still",
        "friction": f"{c.friction.model}, scale {c.friction.scale:g}: {friction.SOURCES[c.friction.model]}",
    }
    if c.report.nitric_oxide != "none":
        rates = nitric_oxide.SOURCES[c.report.nitric_oxide]
        used["nitric_oxide"] = (
            f"{c.report.nitric_oxide}: extended Zeldovich mechanism, burned gas {c.report.nitric_oxide_zone}; rates of {rates}"
        )
    if c.turbine is None or c.compressor is None:
        return used
    return used | {
        "exhaust_heat": manifold.SOURCES["runner_heat"],
        **({"collector": COLLECTOR_IN_PARTS.format(setup.engine.sections)} if setup.engine.sections > 1 else {}),
        "turbine": f"{c.turbine.model}; {TURBINE_EFFICIENCY[c.turbine.model == 'map']}",
        **({"unequal admission": _unequal(c.turbine.unequal_admission_loss)} if c.exhaust.collectors == 2 else {}),
        "compressor": f"{c.compressor.model}: {compressor.SOURCES[c.compressor.model]}",
        **(probes.SOURCES if c.probe else {}),
        **(tap_line.SOURCES if c.pressure_tap is not None else {}),
    }


def _unequal(loss: float) -> str:
    return f"{100.0 * loss:g} % of the efficiency lost while one entry passes nothing; judgement from memory, 5 to 25 %, no source"
