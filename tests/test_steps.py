"""Error of the steps: the default setting against one eight times finer, and the order at which errors die out."""

import functools

import numpy as np
import pytest
from hotside.sim import closed as closed_part
from hotside.sim import load, predict
from hotside.sim.setup import prepare
from hotside.sim.steady import solve

ENGINE = {
    "cylinders": 4, "bore": "78 mm", "stroke": "84 mm", "compression_ratio": 9.5,
    "intake_valve": {"count": 2, "diameter": "30 mm", "lift": "9 mm", "opens": "10 deg BTDC", "closes": "48 deg ABDC"},
    "exhaust_valve": {"count": 2, "diameter": "26 mm", "lift": "8.5 mm", "opens": "48 deg BBDC", "closes": "8 deg ATDC"},
}  # fmt: skip
TURBO = {
    "engine": ENGINE,
    "fuel": {"name": "gasoline_98"},
    "turbine": {"model": "hardware", "throat_area": "445 mm2", "wheel_inlet_diameter": "47 mm"},
    "wastegate": {"diameter": "34 mm"},
    "compressor": {"wheel_diameter": "49 mm"},
    "run": {"speed": "4000 rpm", "boost": "0.9 bar", "lambda": 0.85, "spark_advance": "10 deg"},
}
BENCH = {
    "engine": ENGINE,
    "fuel": {"name": "gasoline_98"},
    "run": {
        "speed": "3000 rpm", "lambda": 0.9, "spark_advance": "16 deg", "intake_pressure": "140 kPa",
        "intake_temperature": "315 K", "exhaust_pressure": "150 kPa",
    },
}  # fmt: skip
SPARK = {1000: "4 deg", 1500: "6 deg", 2000: "8 deg", 4000: "12 deg", 8000: "18 deg"}


def case_of(kind, rpm):
    """A bench, a held or a turbocharged case whose boost is reached at the speed."""
    if kind == "bench":
        return load(BENCH).set_all({"run.speed": f"{rpm} rpm", "run.spark_advance": SPARK[rpm]})
    changes = {"run.speed": f"{rpm} rpm", "run.spark_advance": SPARK[rpm]}
    if kind == "held":
        return load(TURBO).set_all(changes | {"run.held_backpressure": "0.9 bar"})
    if rpm <= 2000:  # a housing that can make some boost down there
        changes |= {"run.boost": f"{0.25 * rpm / 1000.0} bar", "turbine.throat_area": f"{0.2 * rpm} mm2"}
    return load(TURBO).set_all(changes)


@functools.cache
def default_width(rpm):
    """Step the default setting takes at this speed [deg]."""
    return 720.0 / prepare(case_of("bench", rpm)).plant.steps


def readings(found):
    """What the step-size limits speak of."""
    runner = np.mean([c["runner_pressure_pa"] for c in found.cylinders])
    return {
        "exhaust_temperature_k": found.exhaust_temperature_k,
        "imep_net_pa": found.imep_net_pa,
        "residual_fraction": found.residual_fraction,
        "runner_pressure_pa": runner,
    }


def check(kind, rpm):
    """Default against an eighth of it; closed steps are shortened along, being no longer than those of gas exchange."""
    case = case_of(kind, rpm)
    plain, fine = predict(case), predict(case, width=default_width(rpm) / 8.0)
    assert plain.status == "converged", plain.status
    a, b = readings(plain), readings(fine)
    egt = a["exhaust_temperature_k"] - b["exhaust_temperature_k"]
    imep = a["imep_net_pa"] / b["imep_net_pa"] - 1.0
    residual = a["residual_fraction"] - b["residual_fraction"]
    pressure = a["runner_pressure_pa"] / b["runner_pressure_pa"] - 1.0
    inlet = (plain.turbine_inlet_temperature_k or 0.0) - (fine.turbine_inlet_temperature_k or 0.0)
    print(
        f"{kind} {rpm} rpm, {default_width(rpm):g} deg: exhaust {egt:+.3f} K, imep {imep:+.4%}, residual {100 * residual:+.4f} "
        f"points, runner pressure {pressure:+.4%}, before the turbine {inlet:+.2f} K; fine run {fine.status} after {fine.cycles} cycles"
    )
    assert abs(egt) <= 1.0
    assert abs(imep) <= 1e-3
    assert abs(residual) <= 1e-3
    assert abs(pressure) <= 2e-3
    assert abs(inlet) <= 1.0  # steps too long for the runners' mouths show here first: gas ripples to and fro and cools


@pytest.mark.parametrize("rpm", [1000, 2000, 4000, 8000])
@pytest.mark.parametrize("kind", ["bench", "turbo"])
def test_default_step(kind, rpm):
    """EGT 1 K, IMEP 0.1 %, residual 0.1 point, mean runner pressure 0.2 %, gas before the turbine 1 K."""
    check(kind, rpm)


@pytest.mark.slow
@pytest.mark.parametrize("rpm", [1000, 1500, 2000, 4000, 8000])
def test_default_step_held_backpressure(rpm):
    """The same with runners before a held pressure."""
    check("held", rpm)


def errors_over(case, widths, finest, pick):
    """Distance of one reading from that of the finest step, for each width."""
    exact = pick(predict(case, width=finest))
    return np.array([abs(pick(predict(case, width=w)) - exact) for w in widths])


def order(widths, errors):
    """Slope of the logarithm of the error over that of the step."""
    return np.polyfit(np.log(widths), np.log(errors), 1)[0]


@pytest.mark.parametrize("reading", ["air_flow_kg_s", "pmep_pa"])
def test_gas_exchange_is_of_second_order(reading):
    """Halving the step quarters the error: measured on a smooth case, 4, 2 and 1 deg against 0.125."""
    case = load(BENCH).set_all(
        {"run.speed": "5000 rpm", "burn.model": "imposed", "burn.ca50": "9 deg ATDC", "burn.duration_10_90": "24 deg"}
    )
    widths = np.array([4.0, 2.0, 1.0, 0.5])
    errors = errors_over(case, widths, 0.125, lambda r: getattr(r, reading))
    print(f"{reading}: errors {errors}, order {order(widths, errors):.2f}")
    assert 1.5 < order(widths, errors) < 2.9
    assert errors[0] > errors[1] > errors[2]


def drift(case, width):
    """Energy that the closed part gains or loses by its steps, as a share of what it turns into work."""
    setup = prepare(case)
    setup = setup._replace(plant=setup.plant._replace(closed_width=width))
    march, _ = solve(setup)
    out = march.desk.outs[0]
    return abs(out[closed_part.O_ENERGY_DRIFT]) / abs(out[closed_part.O_WORK])


def test_energy_drift_of_the_closed_part_falls():
    """Runge and Kutta's method of fourth order loses ever less energy with shorter steps, since none crosses a place where the
    right-hand side jumps; what wide steps lose also goes with where the marks between steps of two widths fall (3 deg: 7e-5, 2.5: 4e-4).
    """
    case = load(BENCH).set_all({"burn.model": "imposed", "burn.ca50": "9 deg ATDC", "burn.duration_10_90": "24 deg"})
    widths = (8.0, 4.0, 2.0, 1.0, 0.5)
    drifts = np.array([drift(case, w) for w in widths])
    print("drift over work  " + "  ".join(f"{w:g} deg: {d:.1e}" for w, d in zip(widths, drifts, strict=True)))
    assert (np.diff(drifts) < 0.0).all()
    assert drifts[3] < drifts[2] / 8.0
    assert drifts[4] < min(drifts[3] / 8.0, 1e-6)
    assert order(np.array(widths), drifts) > 3.0


def test_a_step_changes_no_book():
    """Mass and energy close at any step, since every flow leaves one volume and enters another."""
    for width in (4.0, 1.0):
        found = predict(case_of("turbo", 4000), width=width)
        assert found.mass_closure < 1e-6
        assert found.energy_closure < 1e-3


def test_readings_move_smoothly():
    """A thousandth more or less of an input moves a reading by its slope, not by noise: what sweeps and fits rely on."""
    base = case_of("bench", 4000)
    found = [predict(base.set("run.spark_advance", f"{12.0 + 0.01 * i:.3f} deg")) for i in range(9)]
    for name, scale in (("exhaust_temperature_k", 0.01), ("imep_net_pa", 2.0), ("octane_required", 0.002)):
        values = np.array([getattr(r, name) for r in found])
        bend = np.abs(np.diff(values, 2)).max()
        print(f"{name}: greatest second difference {bend:.2e}")
        assert bend < scale, name


@pytest.mark.parametrize("rpm", [500, 800, 1000, 1400, 2000, 2800, 5000])
def test_gas_before_the_turbine_does_not_ripple(rpm):
    """Where each step by speed is longest in time, with runners as short as a cast manifold's: 2 K against finer steps."""
    case = load().set_all(
        {
            "run.speed": f"{rpm} rpm",
            "run.boost": "0.2 bar",
            "run.spark_advance": "10 deg",
            "exhaust.runner_length": "150 mm",
        }
    )
    found = predict(case).turbine_inlet_temperature_k - predict(case, width=0.2).turbine_inlet_temperature_k
    print(f"{rpm} rpm: {found:+.2f} K")
    assert abs(found) < 2.0


def test_cylinders_between_plenums_do_not_know_of_each_other():
    """Fixed plenums carry nothing from one cylinder to another: two that fire 180 and 540 deg apart, both shut for a
    while, answer each like one alone."""
    engine = ENGINE | {"cylinders": 1}
    engine["intake_valve"] = ENGINE["intake_valve"] | {"opens": "5 deg BTDC", "closes": "30 deg ABDC"}
    engine["exhaust_valve"] = ENGINE["exhaust_valve"] | {"opens": "30 deg BBDC", "closes": "5 deg ATDC"}
    pair = {"cylinders": 2, "firing_order": [1, 2], "firing_intervals": ["180 deg", "540 deg"]}
    (alone,) = predict(load(BENCH | {"engine": engine})).cylinders
    for one in predict(load(BENCH | {"engine": engine | pair})).cylinders:
        for name in (
            "air_per_cycle_kg",
            "residual_fraction",
            "imep_net_pa",
            "peak_pressure_pa",
            "exhaust_temperature_k",
        ):
            assert one[name] == pytest.approx(alone[name], rel=1e-6)
