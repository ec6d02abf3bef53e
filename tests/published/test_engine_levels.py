"""Levels and slopes of whole engines against the outside: residual gas, breathing, exhaust temperature, octane, efficiency.

Other engines than ours: what a published figure is worth here is written beside its tolerance. Slopes known only from
memory with low confidence are held to sign and order of magnitude, half to twice.
"""

import functools
import math

import numpy as np
import pytest
from hotside.models import friction, valves, wall_heat
from hotside.sim import exchange, load, predict
from hotside.sim.setup import prepare
from hotside.sim.steady import answer
from scipy.optimize import minimize_scalar

HEYWOOD = "J. B. Heywood, Internal Combustion Engine Fundamentals (1988)"
FOX = "Fox, Cheng & Heywood, SAE 931025 (1993), from memory"
FAQ = "B. Hamilton, Gasoline FAQ, in a secondary copy: traditional engines"
BORE, LIFT, VALVE = 78.0, 9.0, 30.0  # [mm]
ENGINE = {
    "cylinders": 4, "bore": "78 mm", "stroke": "84 mm", "compression_ratio": 9.5,
    "intake_valve": {"count": 2, "diameter": "30 mm", "lift": "9 mm", "opens": "10 deg BTDC", "closes": "48 deg ABDC"},
    "exhaust_valve": {"count": 2, "diameter": "26 mm", "lift": "8.5 mm", "opens": "48 deg BBDC", "closes": "8 deg ATDC"},
}  # fmt: skip
TURBO = {
    "engine": ENGINE, "fuel": {"name": "gasoline_98"},
    "turbine": {"model": "hardware", "throat_area": "600 mm2", "wheel_inlet_diameter": "52 mm"},
    "wastegate": {"diameter": "40 mm"}, "compressor": {"wheel_diameter": "54 mm"},
}  # fmt: skip


WALLS = pytest.mark.parametrize("walls", wall_heat.MODELS)


def half_to_twice(value, found):
    """Tolerance of a figure that is worth its order of magnitude."""
    return ("abs", 0.5 * value if found < value else value)


@functools.cache
def bench(kpa, rpm, spark, **changes):
    """The 1.6-litre four between plenums, stoichiometric, against 105 kPa."""
    run = {
        "speed": f"{rpm} rpm", "lambda": 1.0, "spark_advance": f"{spark:.4f} deg", "intake_pressure": f"{kpa} kPa",
        "intake_temperature": "310 K", "exhaust_pressure": "105 kPa",
    }  # fmt: skip
    case = load({"engine": ENGINE, "fuel": {"name": "gasoline_98"}, "run": run})
    return predict(case.set_all({k.replace("__", "."): v for k, v in changes.items()}))


@functools.cache
def best(kpa, rpm, **changes):
    """The same at the spark of best torque."""
    found = minimize_scalar(
        lambda s: -bench(kpa, rpm, round(float(s), 3), **changes).bmep_pa, bounds=(2.0, 45.0), method="bounded",
        options={"xatol": 0.1},
    )  # fmt: skip
    return bench(kpa, rpm, round(float(found.x), 3), **changes)


# ------------------------------------------------------------------------------------------------ residual gas (d.4)


def overlap_factor(half):
    """(D A of the intake valves + D A of the exhaust valves) / displacement [deg/m], A the lift over crank angle of either
    valve up to and from where the two lifts are equal: the correlation's own definition, from memory, confidence medium.

    Its fit 1.45/B (107 + 7.8 d + d^2) L D / B^2 stands for production cams whose events are taken at some lift; with the
    events of ours at the seat, where a valve hardly opens for 10 deg, it gives 7 times (18 deg) and twice (40 deg) as much.
    """
    angle = np.linspace(300.0, 420.0, 4801)
    exhaust = 8.5e-3 * valves.lift_shape((angle - 132.0) / (228.0 + half))
    intake = 1e-3 * LIFT * valves.lift_shape((angle - 360.0 + half) / (228.0 + half))
    opened = np.minimum(intake, exhaust)
    late = intake > exhaust
    areas = 0.025 * np.array([opened[~late].sum(), opened[late].sum()])
    swept = math.pi / 4.0 * (1e-3 * BORE) ** 2 * 84e-3
    return 2.0 * (1e-3 * VALVE * areas[0] + 26e-3 * areas[1]) / swept


def fox(factor, rpm, intake, exhaust, ratio):
    """Residual fractions of the correlation [-], by overlap and in the clearance; pressures in bar, stoichiometric."""
    swept = 1.266 * factor / (rpm / 60.0) * (intake / exhaust) ** -0.87 * math.sqrt(exhaust - intake)
    return swept, 0.632 * (intake / exhaust) ** -0.74 / ratio


@pytest.mark.xfail(
    strict=True,
    reason="0.63 to 0.73 of the correlation. With the overlap of the valves' own lifts nearly all of it is what stays in the "
    "clearance, 0.62 to 0.69 of the correlation's 0.632/rc; that would need gas of some 620 K at exhaust closing, where 810 to "
    "850 K are found and handbooks put residual gas hotter still (900 to 1400 K, from memory)",
)
@pytest.mark.parametrize("half", [9, 20])
@pytest.mark.parametrize(("kpa", "rpm"), [(50, 1500), (50, 3000), (98, 1500)])
def test_residual_of_the_correlation(published, kpa, rpm, half):
    """Tolerance: constants from memory, another engine."""
    changes = {"engine__intake_valve__opens": f"{half} deg BTDC", "engine__exhaust_valve__closes": f"{half} deg ATDC"}
    found = bench(kpa, rpm, 25.0, **changes).residual_fraction
    published(
        f"residual gas, {kpa} kPa, {rpm} rpm, overlap {2 * half} deg", found=found,
        value=sum(fox(overlap_factor(half), rpm, kpa / 100, 1.05, 9.5)), tol=("rel", 0.25), unit="-", source=FOX, mark="M-med",
    )  # fmt: skip


@pytest.mark.parametrize(("kpa", "rpm"), [(50, 1500), (50, 3000), (98, 1500)])
def test_what_overlap_adds_to_the_residual(published, kpa, rpm):
    """From 18 to 40 deg of overlap: the correlation's first part alone, order of magnitude, half to twice."""
    changes = [
        {"engine__intake_valve__opens": f"{half} deg BTDC", "engine__exhaust_valve__closes": f"{half} deg ATDC"}
        for half in (9, 20)
    ]
    less, more = (bench(kpa, rpm, 25.0, **change).residual_fraction for change in changes)
    value = np.subtract(*(fox(overlap_factor(half), rpm, kpa / 100, 1.05, 9.5)[0] for half in (20, 9)))
    published(
        f"residual gas by overlap, {kpa} kPa, {rpm} rpm", found=more - less, value=value, tol=half_to_twice(value, more - less),
        unit="-", source=FOX, mark="M-med",
    )  # fmt: skip


@pytest.mark.parametrize(("kpa", "value", "half", "tol"), [(35, 0.20, 20, 0.06), (98, 0.07, 20, 0.03)])
def test_typical_residual(published, kpa, value, half, tol):
    """Light and full load with 40 deg of overlap, which production engines of that time had."""
    changes = {"engine__intake_valve__opens": f"{half} deg BTDC", "engine__exhaust_valve__closes": f"{half} deg ATDC"}
    published(
        f"typical residual gas at {kpa} kPa", found=bench(kpa, 1500, 25.0, **changes).residual_fraction, value=value,
        tol=("abs", tol), unit="-", source=f"{HEYWOOD} sec. 6.4, from memory", mark="M-med",
    )  # fmt: skip


HUGE = {"count": 4, "diameter": "120 mm", "lift": "40 mm"}


@functools.cache
def ideal(ratio, exhaust):
    """Volumetric efficiency and residual with huge valves timed at dead centre; wall heat extrapolated to none."""
    rows = []
    for scale in (0.2, 0.4, 0.6):
        case = {
            "engine": {
                "cylinders": 1, "bore": "300 mm", "stroke": "120 mm", "rod_length": "600 mm", "compression_ratio": ratio,
                "intake_valve": HUGE | {"opens": "0 deg BTDC", "closes": "0 deg ABDC"},
                "exhaust_valve": HUGE | {"opens": "0 deg BBDC", "closes": "0 deg ATDC"},
            },
            "fuel": {"name": "isooctane"},
            "burn": {"model": "imposed", "ca50": "0 deg ATDC", "duration_10_90": "5 deg"},
            "wall_heat": {"scale": scale},
            "run": {
                "speed": "1000 rpm", "lambda": 1.0, "intake_pressure": "100 kPa", "intake_temperature": "310 K",
                "exhaust_pressure": f"{100.0 * exhaust} kPa",
            },
        }  # fmt: skip
        found = predict(load(case))
        rows.append(np.array([found.volumetric_efficiency, found.residual_fraction]))
    return 3.0 * rows[0] - 3.0 * rows[1] + rows[2]


@pytest.mark.parametrize(("ratio", "exhaust"), [(r, x) for r in (9.0, 10.0) for x in (0.5, 1.25, 1.5, 2.0)])
def test_breathing_against_exhaust_pressure(published, ratio, exhaust):
    """The bracket of the ideal cycle at gamma 1.3. It has one constant gamma; twice what 1.4 changes is the tolerance.

    Ours leans on the far side of 1.3, for a reason: hot burned gas holds 3.2 p V of energy, cold charge 2.65.
    """
    warm, usual = (ratio / (ratio - 1.0) - (exhaust + g - 1.0) / (g * (ratio - 1.0)) for g in (1.3, 1.4))
    published(
        f"breathing at exhaust over intake pressure {exhaust:g}, ratio {ratio:g}", found=ideal(ratio, exhaust)[0] / ideal(ratio, 1.0)[0],
        value=warm, tol=("abs", 2.0 * abs(warm - usual)), unit="-", source=f"{HEYWOOD} eq. 6.5, from memory; computed", mark="C",
    )  # fmt: skip


@pytest.mark.parametrize(("exhaust", "value"), [(1.5, 1.366), (2.0, 1.704)])
def test_residual_against_exhaust_pressure(published, exhaust, value):
    """(pe/pi)^(1/gamma) at fixed heat and temperature of the charge; its temperature rises by 5 % here, so 10 %."""
    published(
        f"residual gas, exhaust over intake pressure {exhaust:g} against 1", found=ideal(9.0, exhaust)[1] / ideal(9.0, 1.0)[1],
        value=value, tol=("rel", 0.10), unit="-", source=f"{HEYWOOD} eq. 5.47, from memory; computed", mark="C",
    )  # fmt: skip


# --------------------------------------------------------------------------------------- exhaust temperature (d.8, f.6)


def coupled(rpm, boost, spark):
    """Stoichiometric, with its turbine and no hand on the manifold."""
    run = {"speed": f"{rpm} rpm", "boost": f"{boost} bar", "lambda": 1.0, "spark_advance": f"{spark:.4f} deg"}
    return predict(load(TURBO | {"run": run}))


@functools.cache
def coupled_best(rpm, boost):
    found = minimize_scalar(
        lambda s: -coupled(rpm, boost, round(float(s), 2)).bmep_pa,
        bounds=(2.0, 35.0),
        method="bounded",
        options={"xatol": 0.3},
    )
    return coupled(rpm, boost, round(float(found.x), 2))


def test_exhaust_temperature_is_linear_in_flow(published):
    """At best torque and stoichiometric, before the turbine: square of the correlation with the exhaust flow."""
    points = [coupled_best(rpm, boost) for rpm in (1500, 2500, 4000, 5500) for boost in (0.0, 0.3)]
    flow, T = np.array([(p.exhaust_flow_kg_s, p.turbine_inlet_temperature_k) for p in points]).T
    published(
        "exhaust temperature over flow, square of the correlation", found=np.corrcoef(flow, T)[0, 1] ** 2, value=1.0,
        tol=("abs", 0.15), unit="-", source="L. Eriksson, SAE 2002-01-0374, abstract: adequately linear in mass flow", mark="R-abs",
    )  # fmt: skip


@WALLS
def test_exhaust_temperature_at_high_power(published, walls):
    """With the default factor; as published Hohenberg's and Woschni's constants alone leave it some 1000 degC, too hot."""
    if walls != "annand":
        bare = best(100, 6000, run__lambda=0.9, wall_heat__model=walls, wall_heat__scale=1.0)
        assert bare.exhaust_temperature_k - 273.15 > 975.0
    published(
        f"exhaust temperature at high power, {walls}",
        found=best(100, 6000, run__lambda=0.9, wall_heat__model=walls).exhaust_temperature_k - 273.15, value=900.0,
        tol=("abs", 75.0), unit="degC", source=f"{HEYWOOD} sec. 6.5, from memory: up to about 900", mark="M-high",
    )  # fmt: skip


def test_gas_during_the_exhaust_stroke(published):
    """In the cylinder half way up the exhaust stroke, full throttle."""
    run = {
        "speed": "3000 rpm", "lambda": 1.0, "spark_advance": "19 deg", "intake_pressure": "100 kPa",
        "intake_temperature": "310 K", "exhaust_pressure": "105 kPa",
    }  # fmt: skip
    trace = predict(load({"engine": ENGINE, "fuel": {"name": "gasoline_98"}, "run": run}), trace=True).trace
    angle, T = (np.array(trace[name]) for name in ("crank_angle_deg", "gas_temperature_k"))
    found = T[np.argmin(np.abs(angle - 270.0))] - 273.15
    published(
        "gas in the exhaust stroke, full throttle", found=found, value=800.0, tol=("abs", 75.0), unit="degC",
        source="book chapter (10.4324/9780080966632-9), opening: still approximately 800 C", mark="R-abs",
    )  # fmt: skip


@WALLS
def test_exhaust_temperature_over_spark(published, walls):
    """4 to 8 K for each degree near best torque, steeper when late."""
    now = best(100, 3000, wall_heat__model=walls)
    slopes = [
        (
            bench(100, 3000, now.spark_advance_deg - late, wall_heat__model=walls).exhaust_temperature_k
            - now.exhaust_temperature_k
        )
        / late
        for late in (5.0, 20.0)
    ]
    published(
        f"exhaust temperature over later spark, {walls}", found=slopes[0], value=6.0, tol=half_to_twice(6.0, slopes[0]), unit="K/deg",
        source="from memory, no table opened", mark="M-low",
    )  # fmt: skip
    assert slopes[1] > slopes[0]


LEAN = pytest.param(
    1.1, 32.5, "M-low",
    marks=pytest.mark.xfail(strict=True, reason="a lean charge carries 8 % less fuel for its mass: 80 K of 1000; 25 to 40 K is from memory, low"),
)  # fmt: skip


@pytest.mark.parametrize(("lam", "value", "mark"), [(0.9, 50.0, "M-low"), LEAN])
def test_exhaust_temperature_over_mixture(published, lam, value, mark):
    """From stoichiometric, each at its best spark: 40 to 60 K down to lambda 0.9, 25 to 40 K to 1.1."""
    found = best(100, 3000).exhaust_temperature_k - best(100, 3000, run__lambda=lam).exhaust_temperature_k
    published(
        f"exhaust temperature, lambda 1 to {lam:g}", found=found, value=value, tol=half_to_twice(value, found), unit="K",
        source="from memory, no table opened", mark=mark,
    )  # fmt: skip


@pytest.mark.parametrize(("rpm", "boost"), [(2500, 0.0), (5500, 0.0), (4000, 0.6)])
def test_mean_over_time_reads_low(published, rpm, boost):
    """At one place behind the port: flow-weighted less time mean, and what an enthalpy from the latter would lack.

    Tolerances: half to twice; and half as much again either way, since the second source is a diesel."""
    run = {"speed": f"{rpm} rpm", "boost": f"{boost} bar", "lambda": 1.0, "spark_advance": "15 deg"}
    probe = predict(load(TURBO | {"run": run, "probe": [{"cylinder": 1}]})).probes[0]
    less = probe["gas_temperature_k"] - probe["gas_time_mean_k"]
    published(
        f"mass average over time average, {rpm} rpm, {boost:g} bar", found=less, value=100.0, tol=half_to_twice(100.0, less),
        unit="K", source="Caton & Heywood (1981), Heywood fig. 6-21, from memory: about 100 K", mark="M-med",
    )  # fmt: skip
    published(
        f"exhaust enthalpy lost in a time average, {rpm} rpm, {boost:g} bar", found=less / (probe["gas_temperature_k"] - 298.15),
        value=0.165, tol=("abs", 0.08), unit="-", source="Papaioannou, Leach & Davy (2020), abstract: 15 to 18 % low", mark="R-abs",
    )  # fmt: skip


# ------------------------------------------------------------------------------------------------------ heat balance


def balance(walls):
    """Shares of the fuel's energy near greatest power, stoichiometric, no boost: to coolant and oil, and with the exhaust."""
    run = {"speed": "5500 rpm", "boost": "0 bar", "lambda": 1.0, "spark_advance": "23 deg"}
    found, march = answer(prepare(load(TURBO | {"run": run, "wall_heat": {"model": walls}})))
    fuel = march.setup.table.lhv_liquid * found.fuel_flow_kg_s
    port = march.desk.account[:, exchange.A_PORT_HEAT].sum() * 5500 / 120 / fuel
    rubbed = found.power_w * found.fmep_pa / found.bmep_pa / fuel
    return found.wall_heat_fraction + port + rubbed, found.exhaust_heat_fraction - port - found.energy_unburned


@WALLS
def test_heat_balance_near_greatest_power(published, walls):
    """The walls' default factor (models/wall_heat.py) against handbook balances: 17 to 26 % into the coolant and 3 to 10 into
    oil and surroundings, ports and friction among them; 34 to 45 with the exhaust, what burns no more not counted.

    The balance by itself does not decide: with a factor of 1 Hohenberg's and Woschni's constants give 21 to 22 %, inside it too.
    The temperature of the exhaust does, below.
    """
    cooled, exhaust = balance(walls)
    source = f"{HEYWOOD} Table 12.1, from memory: engines at greatest power"
    published(
        f"fuel energy into coolant and oil, {walls}", found=cooled, value=0.28, tol=("abs", 0.08), unit="-", source=source,
        mark="M-med",
    )  # fmt: skip
    published(
        f"fuel energy with the exhaust, {walls}", found=exhaust, value=0.395, tol=("abs", 0.055), unit="-", source=source,
        mark="M-med",
    )  # fmt: skip


# ------------------------------------------------------------------------------------------------ phasing, burn (d.7, h.1)


@pytest.mark.parametrize(("late", "value"), [(5.0, 0.01), (10.0, 0.035), (20.0, 0.11)])
def test_torque_lost_by_late_spark(published, late, value):
    now = best(100, 3000)
    found = 1.0 - bench(100, 3000, now.spark_advance_deg - late).torque_nm / now.torque_nm
    published(
        f"torque lost {late:g} deg late", found=found, value=value, tol=half_to_twice(value, found), unit="-",
        source="from memory", mark="M-low",
    )  # fmt: skip


LATER = pytest.mark.xfail(
    strict=True,
    reason="15.4 deg with Woschni's wall heat: past this engine's band, below the rule of 16 that Heywood (1988) gives",
)


@pytest.mark.parametrize("walls", ["hohenberg", "annand", pytest.param("woschni", marks=LATER)])
def test_peak_pressure_at_best_efficiency(published, walls):
    published(
        f"peak pressure at best efficiency, {walls}", found=best(70, 2000, wall_heat__model=walls).peak_pressure_deg, value=10.0, tol=("abs", 5.0), unit="deg",
        source="Journal of Combustion 2011, art. 678719, abstract: 5 to 15 deg", mark="R-abs",
    )  # fmt: skip


def test_fastest_burn(published):
    """Effective burning is quickest at a fuel-air ratio of 0.082; 10 %."""
    ratios = np.arange(0.066, 0.1021, 0.006)
    one = bench(100, 2000, 20.0)
    points = [bench(100, 2000, 20.0, run__lambda=round(one.lambda_ratio / ratio / one.afr, 5)) for ratio in ratios]
    a, b, _ = np.polyfit(ratios, [p.ca90_deg - p.ca10_deg for p in points], 2)
    published(
        "fuel-air ratio of the fastest burn", found=-0.5 * b / a, value=0.082, tol=("rel", 0.10), unit="-",
        source="Gerrish & Voss, NACA (Aug 1940), abstract", mark="R-abs",
    )  # fmt: skip


# ------------------------------------------------------------------------------------------- octane, efficiency (d.9)

COOLER = pytest.mark.xfail(
    strict=True,
    reason="only the chamber's walls are 10 K hotter here: 0.38 to 0.49 octane. Coolant heats the intake port and its charge too, "
    "whose temperature a bench holds",
)


@pytest.mark.parametrize(
    ("kpa", "rpm"),
    [
        (100, 1500), (180, 1500), (220, 1500), pytest.param(100, 3000, marks=COOLER), pytest.param(100, 5000, marks=COOLER),
        pytest.param(180, 5000, marks=COOLER),
    ],
)  # fmt: skip
def test_octane_over_coolant(published, kpa, rpm):
    """1 octane number for 10 K of coolant, half to twice: all three walls are 10 K hotter."""
    walls = {
        "engine__head_temperature": "510 K",
        "engine__piston_temperature": "530 K",
        "engine__liner_temperature": "440 K",
    }
    pressure = {"run__lambda": 0.9, "run__exhaust_pressure": f"{1.05 * kpa:.2f} kPa"}
    found = (
        bench(kpa, rpm, 10.0, **pressure, **walls).octane_required - bench(kpa, rpm, 10.0, **pressure).octane_required
    )
    published(
        f"octane over coolant, {kpa / 100:g} bar {rpm} rpm", found=found, value=1.0, tol=half_to_twice(1.0, found), unit="ON/10 K",
        source="S. Russ, SAE 960497 (1996), abstract", mark="R-abs",
    )  # fmt: skip


REQUIREMENT = {6: 81, 7: 87, 8: 92, 9: 96, 10: 100, 11: 104, 12: 108}
EFFICIENCY = {6: 0.25, 7: 0.28, 8: 0.30, 9: 0.32, 10: 0.33, 11: 0.34, 12: 0.35}


@pytest.mark.parametrize("ratio", REQUIREMENT)
def test_full_throttle_octane_and_efficiency(published, ratio):
    """At best spark, 2000 rpm, best-power mixture. Engines scatter by 8 octane numbers and 3 points of efficiency.

    Traditional engines: theirs is the friction of 1975, which Chen & Flynn's constants give (tests/published/test_friction.py).
    """
    p = best(100, 2000, engine__compression_ratio=float(ratio), run__lambda=0.95, friction__model="chen_flynn")
    published(
        f"octane required, full throttle, ratio {ratio}", found=p.octane_required, value=REQUIREMENT[ratio], tol=("abs", 8.0),
        unit="-", source=FAQ, mark="R",
    )  # fmt: skip
    heating = 43.0e6  # of that fuel as a liquid [J/kg]
    published(
        f"brake efficiency, full throttle, ratio {ratio}", found=1.0 / (p.bsfc_kg_j * heating), value=EFFICIENCY[ratio],
        tol=("abs", 0.03), unit="-", source=FAQ, mark="R",
    )  # fmt: skip


@pytest.mark.parametrize("ratio", [7, 9, 11])
def test_octane_over_compression_of_traditional_engines(published, ratio):
    """Rise for a unit of compression ratio: 4 to 5; half to twice."""
    low, high = (
        best(100, 2000, engine__compression_ratio=r, run__lambda=0.95).octane_required
        for r in (ratio - 0.5, ratio + 0.5)
    )
    value = 0.5 * (REQUIREMENT[ratio + 1] - REQUIREMENT[ratio - 1])
    published(
        f"octane for a unit of ratio at {ratio}", found=high - low, value=value, tol=half_to_twice(value, high - low),
        unit="ON/unit", source=FAQ, mark="R",
    )  # fmt: skip


# ---------------------------------------------------------------------------------------------------- friction (h.1)


@pytest.mark.parametrize("model", [friction.CHEN_FLYNN, friction.PATTON, friction.SANDOVAL])
def test_friction_is_linear_in_speed(published, model):
    """Friction torque with pumping against speed, 1200 to 2200 rpm, at one density: correlation."""
    record = friction.for_engine(model, 4, 0.078, 0.084, 9.5)
    speeds = np.linspace(1200.0, 2200.0, 6)
    torque = [friction.fmep(record, speed, 4e6, 1.0) for speed in speeds]
    published(
        f"friction over speed, correlation, {('Chen & Flynn', 'Patton', 'Sandoval')[model]}", found=np.corrcoef(speeds, torque)[0, 1],
        value=1.0, tol=("abs", 0.02), unit="-", source="V. R. Gage, NACA TR 108, abstract: linear", mark="R-abs",
    )  # fmt: skip
