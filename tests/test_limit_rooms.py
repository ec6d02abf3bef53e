"""Limits that often bind first, each against a hand calculation: injectors, pump, valve seats, the bad cycle."""

import math
from pathlib import Path

import pytest
from hotside.models import injectors, limits
from hotside.sim import CaseError, closed, knock_limit, load, predict, steady
from hotside.sim.setup import prepare

EXAMPLES = Path(__file__).resolve().parent.parent / "examples"
CC_MIN, LITRE_HOUR = 1e-6 / 60.0, 1e-3 / 3600.0
UNEVEN = load(EXAMPLES / "uneven.toml")
SIX = load(EXAMPLES / "tractor_six.toml")


def margin(prediction, name):
    return next(m for m in prediction.margins if m["name"] == name)


# ------------------------------------------------------------------------------------------------------------- rooms


def test_gas_force_on_a_shut_valve():
    """1.5 bar more in the port than in the cylinder, on a head of 30 mm: 7.069 cm2 x 15 N/cm2."""
    assert limits.seat_force(3.5e5, 2.0e5, 0.030) == pytest.approx(106.03, abs=0.01)
    assert limits.seat_force(2.0e5, 3.5e5, 0.030) == pytest.approx(-106.03, abs=0.01)


@pytest.mark.parametrize(("share", "deviations"), [(0.01, 2.3263), (0.05, 1.6449), (0.5, 0.0), (0.159, 0.9986)])
def test_deviations_of_the_normal_distribution(share, deviations):
    """Upper quantiles as in any table of the standard normal distribution."""
    assert limits.deviations(share) == pytest.approx(deviations, abs=1e-3)


def test_injector_flow_goes_with_the_root_of_the_drop():
    assert injectors.flow_at(550.0, 3e5, 4e5) == pytest.approx(635.1, abs=0.1)
    assert injectors.flow_at(550.0, 3e5, 0.0) == 0.0
    assert injectors.flow_at(550.0, 3e5, -1e5) == 0.0


def test_injector_duty_by_hand():
    """1200 cc/min through four injectors of 600 at 6000 rpm, 20 ms a cycle: 10 ms of flow and 1 ms dead."""
    assert injectors.duty(1200.0, 600.0, 4, 6000.0, 0.0) == pytest.approx(0.5)
    assert injectors.duty(1200.0, 600.0, 4, 6000.0, 1e-3) == pytest.approx(0.55)
    assert injectors.duty(1200.0, 0.0, 4, 6000.0, 1e-3) == math.inf


def test_pump_delivery_on_its_curve_and_past_its_ends():
    curve = ((3e5, 300.0), (5e5, 240.0), (6e5, 180.0))
    found = [injectors.delivery(curve, p * 1e5) for p in (2.0, 3.0, 4.0, 5.5, 7.0, 20.0)]
    assert found == pytest.approx([330.0, 300.0, 270.0, 210.0, 120.0, 0.0])


# ----------------------------------------------------------------------------------------------------- in a prediction


def fuel_volume(case, prediction):
    """Fuel of the engine [m3/s], at the density of the fuel's own table."""
    from hotside.models.fuels import blend

    return prediction.fuel_flow_kg_s / blend(dict(case.fuel.blend)).density


FITTED = UNEVEN.set_all(
    {"fuel.injector_flow": "440 cc/min", "fuel.pump_curve": [["3 bar", "190 l/h"], ["5 bar", "140 l/h"]]}
)


def test_duty_and_pump_at_boosted_rail_pressure():
    """Rail held 3 bar over the manifold: rated flow, and the pump works against 3 bar and the boost."""
    p = predict(FITTED)
    duty = fuel_volume(FITTED, p) / (4 * 440.0 * CC_MIN) + 1e-3 * 5200.0 / 120.0
    assert margin(p, "injector_duty_fraction")["value"] == pytest.approx(duty, rel=1e-9)
    pump = margin(p, "pump_flow_m3_s")
    assert pump["limit"] == pytest.approx((190.0 - 25.0 * p.boost_pa / 1e5) * LITRE_HOUR, rel=1e-9)
    assert pump["value"] == pytest.approx(fuel_volume(FITTED, p), rel=1e-9)


def test_a_rail_that_follows_the_open_air_loses_what_boost_takes():
    """0.8 bar of boost leave 2.2 of 3 bar of drop: the injectors pass the root of 2.2/3, the pump stays at 3 bar."""
    case = FITTED.set("fuel.rail_follows", "ambient")
    p = predict(case)
    flow = 440.0 * CC_MIN * math.sqrt((3e5 - p.boost_pa) / 3e5)
    expected = fuel_volume(case, p) / (4 * flow) + 1e-3 * 5200.0 / 120.0
    assert margin(p, "injector_duty_fraction")["value"] == pytest.approx(expected, rel=1e-9)
    assert margin(p, "pump_flow_m3_s")["limit"] == pytest.approx(190.0 * LITRE_HOUR, rel=1e-9)
    weak = predict(case.set("fuel.rail_pressure", "0.7 bar"))
    assert margin(weak, "injector_duty_fraction")["exceeded"]


def test_pump_flow_and_curve_exclude_each_other():
    with pytest.raises(CaseError, match=r"pump_flow and fuel\.pump_curve exclude"):
        load(FITTED.to_dict() | {"fuel": FITTED.to_dict()["fuel"] | {"pump_flow": "200 l/h"}})
    assert FITTED.set("fuel.pump_flow", "200 l/h").fuel.pump_curve is None


@pytest.mark.parametrize("case", [SIX, load(EXAMPLES / "divided_four.toml")], ids=lambda c: c.title)
def test_exhaust_valve_force_from_the_crank_record(case):
    """Alike cylinders: the greatest of runner less cylinder pressure while the valve is shut, times the head's area."""
    p = predict(case, trace=True)
    valve, trace = case.engine.exhaust_valve, p.trace
    shut = [  # seat to seat the valve is open a little longer than at its checking lift; a few degrees more do no harm
        i for i, a in enumerate(trace["crank_angle_deg"]) if not valve.opens - 40.0 < a % 720.0 < valve.closes + 40.0
    ]
    over = max(trace["runner_pressure_pa"][i] - trace["cylinder_pressure_pa"][i] for i in shut)
    force = over * math.pi / 4.0 * valve.diameter**2
    assert p.exhaust_valve_lifting_force_n == pytest.approx(force, rel=0.15)
    assert p.exhaust_valve_lifting_force_n >= force * (1.0 - 1e-6)


def test_valve_margin_only_where_the_seat_load_is_known():
    """More backpressure lifts harder; a weak spring is past its limit, and the case reads the input."""
    p = predict(UNEVEN)
    assert not any("valve" in m["name"] for m in p.margins)
    load_n = 0.5 * p.exhaust_valve_lifting_force_n
    weak = UNEVEN.set("engine.exhaust_valve.seat_load", f"{load_n} N")
    assert weak.unread == UNEVEN.unread
    row = margin(predict(weak), "exhaust_valve_lifting_force_n")
    assert row["exceeded"]
    assert row["margin"] == pytest.approx(-load_n, rel=1e-6)
    held = predict(UNEVEN.set("run.held_backpressure", "1.6 bar"))
    freer = predict(UNEVEN.set("run.held_backpressure", "0.4 bar"))
    assert held.exhaust_valve_lifting_force_n > freer.exhaust_valve_lifting_force_n + 20.0


# --------------------------------------------------------------------------------------------------------- bad cycle


@pytest.mark.parametrize("case", [UNEVEN, SIX], ids=lambda c: c.title)
def test_without_spread_the_bad_cycle_is_the_mean_one(case):
    p = predict(case.set("burn.cyclic_spread", "0 deg"))
    assert p.octane_required_bad_cycle == pytest.approx(p.octane_required, rel=1e-9)
    assert p.knock_margin_bad_cycle_deg == pytest.approx(p.knock_margin_deg, abs=1e-9)
    if case is SIX:  # elsewhere the worst cylinder is not the mean
        assert p.peak_pressure_bad_cycle_pa == pytest.approx(p.peak_pressure_pa, rel=1e-9)


def test_the_bad_cycle_burns_like_an_earlier_spark():
    """Spark moved earlier by what separates the two margins brings CA50 forward by 1.645 deviations of 2 deg.

    The margin differs by that spark; the octane and the peak pressure agree but for what the earlier spark changes in
    residual gas and trapped charge, which the bad cycle does not: it is one among many of the same engine.
    """
    p = predict(SIX)
    shift = p.knock_margin_deg - p.knock_margin_bad_cycle_deg
    earlier = predict(SIX.set("run.spark_advance", f"{p.spark_advance_deg + shift} deg"))
    assert p.ca50_deg - earlier.ca50_deg == pytest.approx(1.6449 * 2.0, abs=0.15)
    assert earlier.octane_required == pytest.approx(p.octane_required_bad_cycle, abs=0.3)
    assert earlier.peak_pressure_pa == pytest.approx(p.peak_pressure_bad_cycle_pa, rel=0.01)
    assert earlier.knock_margin_deg == pytest.approx(p.knock_margin_bad_cycle_deg, abs=0.4)


@pytest.mark.parametrize("name", ["tractor_six", "divided_four", "uneven"])
def test_the_bad_cycle_is_as_early_as_its_spread_asks(name):
    """With the trapped charge held, its CA50 stands 1.645 deviations before the mean one's, within a hundredth of that."""
    case = load(EXAMPLES / f"{name}.toml")
    _, march = steady.answer(prepare(case))
    j = int(march.desk.outs[:, closed.O_KNOCK].argmax())
    *_, out = knock_limit.limits_held(march, j)
    assert march.desk.outs[j, closed.O_CA50] - out[closed.O_CA50] == pytest.approx(1.6449 * 2.0, rel=0.01)


def test_more_spread_and_a_rarer_cycle_are_nearer_to_knock():
    margins = [
        predict(UNEVEN.set_all({"burn.cyclic_spread": f"{s} deg", "knock.bad_cycle": b})).knock_margin_bad_cycle_deg
        for s, b in ((1, "5 %"), (2, "5 %"), (2, "1 %"), (4, "1 %"))
    ]
    assert margins == sorted(margins, reverse=True)


def test_the_stated_peak_pressure_holds_for_both_cycles():
    p = predict(UNEVEN.set("limits.peak_pressure", "105 bar"))
    rows = {m["name"]: m for m in p.margins if m["name"].startswith("peak")}
    worst = max(c["peak_pressure_pa"] for c in p.cylinders)
    assert rows["peak_pressure_pa"]["margin"] == pytest.approx(105e5 - worst)
    assert rows["peak_pressure_bad_cycle_pa"]["margin"] == pytest.approx(105e5 - p.peak_pressure_bad_cycle_pa)
    assert rows["peak_pressure_bad_cycle_pa"]["margin"] < rows["peak_pressure_pa"]["margin"]


def test_an_imposed_burn_has_a_bad_cycle_too():
    """CA50 itself moves: 1.645 deviations, so that the margins differ by just that."""
    p = predict(load(EXAMPLES / "bench.toml"))
    assert p.knock_margin_deg - p.knock_margin_bad_cycle_deg == pytest.approx(1.6449 * 2.0, abs=1e-3)
