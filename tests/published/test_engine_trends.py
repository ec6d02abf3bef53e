"""Trends of whole engines against published sensitivities: octane requirement, phasing, mixture, intake temperature.

Octane sensitivities are S. Russ's review (SAE 960497, 1996; abstract read): single-cylinder engine with production heads,
agreed there with the literature. An engine of another shape scatters about them, so half to twice is the tolerance, and
wider where the review itself gives a range. Every figure found is printed beside the published one.
"""

import functools
import math

import numpy as np
import pytest
from hotside.sim import load, predict
from scipy.optimize import brentq, minimize_scalar

RUSS = "S. Russ, SAE 960497 (1996), abstract"
ENGINE = {
    "cylinders": 4, "bore": "78 mm", "stroke": "84 mm", "compression_ratio": 9.5,
    "intake_valve": {"count": 2, "diameter": "30 mm", "lift": "9 mm", "opens": "10 deg BTDC", "closes": "48 deg ABDC"},
    "exhaust_valve": {"count": 2, "diameter": "26 mm", "lift": "8.5 mm", "opens": "48 deg BBDC", "closes": "8 deg ATDC"},
}  # fmt: skip
POINTS = [(kpa, rpm) for kpa in (100, 140, 180, 220) for rpm in (1500, 3000, 5000)]


def bench(kpa, rpm, **changes):
    """The 1.6-litre four between two plenums, spark-driven burn, exhaust a little above the intake."""
    run = {
        "speed": f"{rpm} rpm", "lambda": 0.9, "spark_advance": "10 deg", "intake_pressure": f"{kpa} kPa",
        "intake_temperature": "310 K", "exhaust_pressure": f"{1.05 * kpa:.2f} kPa",
    }  # fmt: skip
    case = load({"engine": ENGINE, "fuel": {"name": "gasoline_98"}, "run": run})
    return case.set_all({k.replace("__", "."): v for k, v in changes.items()})


@functools.cache
def octane(kpa, rpm, **changes):
    """Octane required at the same exhaust pressure, whatever is changed."""
    return predict(bench(kpa, rpm, **changes)).octane_required


def slope(kpa, rpm, name, low, high):
    """Change of octane required from `low` to `high`, all else held."""
    return octane(kpa, rpm, **{name: high}) - octane(kpa, rpm, **{name: low})


def within(published, name, kpa, rpm, found, value, low, high, unit):
    """Hold a sensitivity against the published one; the tolerance is the way to `low` or to `high`, as the side asks."""
    published(
        f"{name}, {kpa / 100:g} bar {rpm} rpm",
        found=found,
        value=value,
        tol=("abs", value - low if found < value else high - value),
        unit=unit,
        source=RUSS,
        mark="R-abs",
    )


@pytest.mark.parametrize(("kpa", "rpm"), POINTS)
def test_octane_over_spark(published, kpa, rpm):
    """1 octane number a degree."""
    found = slope(kpa, rpm, "run__spark_advance", "8 deg", "12 deg") / 4.0
    within(published, "octane over spark", kpa, rpm, found, 1.0, 0.5, 2.0, "ON/deg")


@pytest.mark.parametrize(("kpa", "rpm"), POINTS)
def test_octane_over_intake_temperature(published, kpa, rpm):
    """1 octane number for 7 K of intake air."""
    found = slope(kpa, rpm, "run__intake_temperature", "306.5 K", "313.5 K")
    within(published, "octane over intake air", kpa, rpm, found, 1.0, 0.5, 2.0, "ON/7 K")


@pytest.mark.parametrize(("kpa", "rpm"), POINTS)
def test_octane_over_intake_pressure(published, kpa, rpm):
    """3 to 4 octane numbers for 10 kPa; measured below and about the atmosphere, so less is expected at high boost, where
    10 kPa are a smaller share: 1.5 to 8."""
    found = slope(kpa, rpm, "run__intake_pressure", f"{kpa - 5} kPa", f"{kpa + 5} kPa")
    within(published, "octane over intake pressure", kpa, rpm, found, 3.5, 1.5, 8.0, "ON/10 kPa")


@pytest.mark.parametrize(("kpa", "rpm"), POINTS)
def test_octane_over_compression_ratio(published, kpa, rpm):
    """5 octane numbers for a unit of compression ratio."""
    found = slope(kpa, rpm, "engine__compression_ratio", 9.0, 10.0)
    within(published, "octane over compression ratio", kpa, rpm, found, 5.0, 2.5, 10.0, "ON/unit")


MIXTURE_WEAK = {(100, 3000), (100, 5000), (140, 5000), (180, 5000)}
MIXTURE = (
    "at one spark a richer charge also burns faster (the velocity peaks at phi 1.21), so that its CA50 comes 1.0 to 1.6 deg "
    "earlier and takes back half to two thirds of what the cooler charge gains; burned at one phasing the same points give "
    "1.7 to 2.9, held below. Which of the two the review held is not in its abstract"
)


@pytest.mark.parametrize(
    ("kpa", "rpm"),
    [
        pytest.param(*p, marks=pytest.mark.xfail(strict=True, reason=MIXTURE)) if p in MIXTURE_WEAK else p
        for p in POINTS
    ],
)
def test_octane_over_mixture(published, kpa, rpm):
    """About 2 octane numbers for a unit of air-fuel ratio about a peak 5 % rich: lambda 0.95 to 0.85 is 1.46 units, -2.9;
    at least half of that."""
    found = slope(kpa, rpm, "run__lambda", 0.95, 0.85)
    within(published, "octane over mixture", kpa, rpm, -found, 2.9, 1.4, 8.0, "ON, lambda 0.95 to 0.85")


def phased(kpa, rpm, lam):
    """Octane required with half burned 12 deg after top dead centre, whatever spark that takes."""

    def run(advance):
        return predict(bench(kpa, rpm, run__lambda=lam, run__spark_advance=f"{advance:.4f} deg"))

    return run(brentq(lambda s: run(s).ca50_deg - 12.0, -15.0, 40.0, xtol=0.01)).octane_required


@pytest.mark.parametrize(("kpa", "rpm"), POINTS)
def test_octane_over_mixture_at_one_phasing(published, kpa, rpm):
    """The same with the spark moved so that the burn stays where it is: what mixture alone does, by the heat that evaporates
    more fuel, the heat capacity of the charge and its cooler flame. At least half, as above."""
    found = phased(kpa, rpm, 0.95) - phased(kpa, rpm, 0.85)
    within(published, "octane over mixture at one CA50", kpa, rpm, found, 2.9, 1.4, 8.0, "ON, lambda 0.95 to 0.85")


@pytest.mark.parametrize(("kpa", "rpm"), [(140, 3000), (180, 3000)])
def test_octane_peaks_rich(published, kpa, rpm):
    """The requirement peaks about 5 % rich of stoichiometric, at one spark."""
    lams = [0.85, 0.90, 0.95, 1.0, 1.05]
    found = [octane(kpa, rpm, run__lambda=lam) for lam in lams]
    peak = np.polyfit(lams, found, 2)
    published(
        f"lambda of greatest octane need, {kpa / 100:g} bar {rpm} rpm", found=-peak[1] / (2.0 * peak[0]), value=0.95,
        tol=("abs", 0.06), unit="-", source=RUSS, mark="R-abs",
    )  # fmt: skip


def held(rpm, back, boost=0.9):
    """The turbocharged engine with its exhaust pressure held by hand."""
    return predict(
        load(
            {
                "engine": ENGINE,
                "fuel": {"name": "gasoline_98"},
                "turbine": {"model": "hardware", "throat_area": "445 mm2", "wheel_inlet_diameter": "47 mm"},
                "wastegate": {"diameter": "28 mm"},
                "compressor": {"wheel_diameter": "49 mm"},
                "run": {
                    "speed": f"{rpm} rpm", "boost": f"{boost:.6f} bar", "lambda": 0.85, "spark_advance": "10 deg",
                    "held_backpressure": f"{back} bar",
                },
            }
        )
    )  # fmt: skip


def air_held(rpm, back, target):
    """The point at another backpressure whose fresh air is the same, found by secant steps on the boost."""
    x0, x1 = 0.9, 0.95
    f0, f1 = (held(rpm, back, x).air_flow_kg_s / target - 1.0 for x in (x0, x1))
    for _ in range(8):
        x0, x1, f0 = x1, x1 - f1 * (x1 - x0) / (f1 - f0), f1
        found = held(rpm, back, x1)
        f1 = found.air_flow_kg_s / target - 1.0
        if abs(f1) < 1e-6:
            return found
    raise AssertionError("air flow could not be held")


@pytest.mark.parametrize("rpm", [2500, 4500, 6000])
def test_octane_over_backpressure(published, rpm):
    """1 octane number for 30 kPa of exhaust pressure with the fresh air held; at fixed intake pressure it nearly cancels,
    because the residual gas takes the place of charge."""
    before = held(rpm, 0.9)
    with_air, with_pressure = air_held(rpm, 1.5, before.air_flow_kg_s), held(rpm, 1.5)
    found, fixed = ((r.octane_required - before.octane_required) / 2.0 for r in (with_air, with_pressure))
    within(published, f"octane over backpressure, air held; {fixed:.2f} at fixed intake pressure;", 190, rpm, found, 1.0, 0.5, 2.0, "ON/30 kPa")  # fmt: skip
    assert 0.0 < fixed < 0.6 * found


def test_hot_intake_air_costs_power(published):
    """Full throttle, fixed pressures: power falls faster than the root of the absolute temperature."""
    cold, hot = (
        predict(bench(100, 3000, run__intake_temperature=f"{T} K", run__spark_advance="20 deg")) for T in (280, 355)
    )
    found = 1.0 - hot.power_w / cold.power_w
    published(
        "power lost from 280 to 355 K (more than 11 %)", found=found, value=0.5 * (0.11 + 0.30), tol=("abs", 0.5 * 0.19),
        unit="-", source="Gardiner & Schey, NACA TR 277: faster than 1/sqrt(T)", mark="R-abs",
    )  # fmt: skip
    assert found > 1.0 - math.sqrt(280.0 / 355.0)


def test_power_follows_density(published):
    """Indicated power against barometric pressure at one temperature is a line of slope 1 in logarithms."""
    pressures = np.array([55.0, 70.0, 85.0, 100.0])
    imep = [predict(bench(p, 2000, run__spark_advance="18 deg")).imep_gross_pa for p in pressures]
    published(
        "exponent of indicated power over density", found=np.polyfit(np.log(pressures), np.log(imep), 1)[0], value=1.0,
        tol=("abs", 0.08), unit="-", source="V. R. Gage, NACA TR 46", mark="R-abs",
    )  # fmt: skip


def best(case, low, high):
    """Prediction at the spark of best torque."""

    def run(advance):
        return predict(case.set("run.spark_advance", f"{advance:.4f} deg"))

    return run(
        minimize_scalar(lambda s: -run(s).bmep_pa, bounds=(low, high), method="bounded", options={"xatol": 0.1}).x
    )


@pytest.fixture(scope="module")
def mixture_loop():
    """Best-torque power and consumption over the fuel-air ratio, fixed throttle."""
    ratios = np.arange(0.054, 0.0901, 0.004)
    one = predict(bench(100, 2000))
    found = []
    for ratio in ratios:
        lam = one.lambda_ratio * (1.0 / ratio) / one.afr
        found.append(best(bench(100, 2000, run__lambda=round(lam, 5)), 8.0, 40.0))
    return ratios, found


def test_power_peaks_rich(published, mixture_loop):
    """Maximum power at 0.07 to 0.08 of fuel to air."""
    ratios, found = mixture_loop
    power = np.array([r.power_w for r in found])
    k = int(power.argmax())
    near = slice(max(k - 1, 0), k + 2)
    fit = np.polyfit(ratios[near], power[near], 2)
    published(
        "fuel-air ratio of greatest power", found=-fit[1] / (2.0 * fit[0]), value=0.075, tol=("abs", 0.005), unit="-",
        source="S. W. Sparrow, NACA TR 189", mark="R-abs",
    )  # fmt: skip


def test_consumption_is_least_where_power_is_95_per_cent(published, mixture_loop):
    """Leaning from best power, consumption is near its minimum when power is down to 95 %."""
    _, found = mixture_loop
    power, bsfc = np.array([r.power_w for r in found]), np.array([r.bsfc_kg_j for r in found])
    lean = np.arange(power.argmax() + 1)
    at_95 = np.interp(0.95 * power.max(), power[lean], bsfc[lean])
    published(
        "consumption at 95 % power over the least", found=at_95 / bsfc.min(), value=1.0, tol=("abs", 0.04), unit="-",
        source="S. W. Sparrow, NACA TR 189", mark="R-abs",
    )  # fmt: skip


EARLY = pytest.mark.xfail(
    strict=True,
    reason="CA50 3.9 deg where 4 to 12 is asked: one mean cycle without blow-by. Friction that grows with peak pressure moves it "
    "1.0 deg later (Chen & Flynn's 0.005), wall heat scaled by 1.8 instead of 1.4 0.8, a leak of 0.3 mm2 past the rings 0.2",
)


@pytest.mark.parametrize(("kpa", "rpm"), [(100, 2500), (180, 3000), pytest.param(180, 5000, marks=EARLY)])
def test_best_torque_phasing(published, kpa, rpm):
    """Half burned about 10 deg after top dead centre, greatest pressure at about 16, at best torque."""
    found = best(bench(kpa, rpm), 5.0, 32.0)
    source = "Heywood, Internal Combustion Engine Fundamentals (1988) sec. 9.1; modern practice 8-10, down to 5"
    published(
        f"CA50 of best torque, {kpa / 100:g} bar {rpm} rpm", found=found.ca50_deg, value=8.0, tol=("abs", 4.0), unit="deg",
        source=source, mark="M-med",
    )  # fmt: skip
    published(
        f"peak pressure of best torque, {kpa / 100:g} bar {rpm} rpm", found=found.peak_pressure_deg, value=14.0,
        tol=("abs", 4.0), unit="deg", source=source, mark="M-high",
    )  # fmt: skip
