"""Maps of compressor and turbine: every point comes back, what is between and outside is sound, what is no map is named."""

import math
from pathlib import Path

import numpy as np
import pytest
from hotside.models import compressor, turbine
from hotside.sim import load, maps, predict
from hotside.sim.errors import CaseError, Refused
from hotside.sim.setup import prepare

EXAMPLES = Path(__file__).resolve().parent.parent / "examples"
COMPRESSORS = ["compressor_58.csv"]
TURBINES = ["housings/turbine_56_small.csv", "housings/turbine_56_large.csv"]
HEAD = "reference_pressure, 100 kPa\nreference_temperature, 298 K\nspeed [rpm], corrected_flow [kg/s], pressure_ratio, efficiency [%]\n"
LINES = """\
60000, 0.07, 1.22, 68
60000, 0.12, 1.20, 73
60000, 0.17, 1.15, 66
100000, 0.09, 1.70, 69
100000, 0.15, 1.67, 75
100000, 0.21, 1.45, 62
130000, 0.12, 2.36, 69
130000, 0.18, 2.28, 75
130000, 0.23, 1.80, 58
"""


def read(name):
    """A compressor map of examples/ as (reference T [K], p [Pa], points)."""
    return maps.compressor_map(maps.read_map(EXAMPLES / name, "compressor.map"))


def written(tmp_path, text, head=HEAD):
    """A compressor map from text."""
    path = tmp_path / "map.csv"
    path.write_text(head + text)
    return maps.compressor_map(maps.read_map(path, "compressor.map"))


def at(found, flow, ratio):
    """Efficiency and corrected shaft speed [rad/s] of a compressor map at its own reference."""
    T, p, points = found
    chart, packed = compressor.from_points(points, T, p)
    work, speed = compressor.chart_state(chart, packed, flow, ratio, T, p, 287.05, 1.4)
    return 287.05 * 3.5 * T * (ratio ** (2.0 / 7.0) - 1.0) / work, speed


@pytest.mark.parametrize("name", COMPRESSORS)
def test_every_point_of_a_compressor_map_comes_back(name):
    found = read(name)
    for speed, flow, ratio, efficiency in found[2]:
        assert at(found, flow, ratio) == pytest.approx((efficiency, speed), rel=1e-3)


@pytest.mark.parametrize("name", TURBINES)
def test_every_point_of_a_turbine_map_comes_back(name):
    T, p, points = maps.turbine_map(maps.read_map(EXAMPLES / name, "turbine.map"))
    machine = turbine.from_map(T, p, points, wheel_diameter=0.056)
    for speed, flow, ratio, efficiency in points:
        state = (ratio * p, T, 287.05)
        assert turbine.turbine_flow(machine, *state, p, 0.028 * speed)[0] / ratio == pytest.approx(flow, rel=1e-3)
        assert turbine.turbine_efficiency(machine, *state, 1.4, p, 0.028 * speed) == pytest.approx(efficiency, rel=1e-3)


@pytest.mark.parametrize("name", COMPRESSORS)
def test_leave_one_out_error_of_the_interpolation(name):
    """A point left out is found again from its neighbours: speed within 1 %, efficiency within a point and a half."""
    T, p, points = read(name)
    speed, efficiency = compressor.leave_one_out(points, T, p)
    print(
        f"{name}: {len(speed)} points left out; shaft speed rms {np.sqrt((speed**2).mean()):.2%}, worst {np.abs(speed).max():.2%}; "
        f"efficiency rms {np.sqrt((efficiency**2).mean()):.4f}, worst {np.abs(efficiency).max():.4f}"
    )
    assert len(speed) > 20
    assert np.abs(speed).max() < 0.01
    assert np.abs(efficiency).max() < 0.015


@pytest.mark.parametrize("name", TURBINES)
def test_leave_one_out_error_of_a_turbine_map(name):
    """A point left out is found again from its neighbours: flow within 2.5 %, where a line bends most, efficiency within half a
    point. Each line has seven points and each map five lines; with one left out a gap is twice as wide as any in use."""
    T, p, points = maps.turbine_map(maps.read_map(EXAMPLES / name, "turbine.map"))
    flow, efficiency = turbine.leave_one_out(T, p, points)
    print(
        f"{name}: {len(flow)} points left out; flow rms {np.sqrt((flow**2).mean()):.2%}, worst {np.abs(flow).max():.2%}; "
        f"efficiency rms {np.sqrt((efficiency**2).mean()):.4f}, worst {np.abs(efficiency).max():.4f}"
    )
    assert len(flow) == 15
    assert np.abs(flow).max() < 0.025
    assert np.abs(efficiency).max() < 0.005


def test_leave_one_out_sees_a_point_that_does_not_fit():
    T, p, points = read(COMPRESSORS[0])
    wrong = tuple((s, m, r, 0.97 * e) if k == 28 else (s, m, r, e) for k, (s, m, r, e) in enumerate(points))
    assert np.abs(compressor.leave_one_out(wrong, T, p)[1]).max() > 0.015
    T, p, points = maps.turbine_map(maps.read_map(EXAMPLES / TURBINES[0], "turbine.map"))
    wrong = tuple((s, 0.97 * m, r, 0.97 * e) if k == 17 else (s, m, r, e) for k, (s, m, r, e) in enumerate(points))
    flow, efficiency = turbine.leave_one_out(T, p, wrong)
    assert np.abs(flow).max() > 0.025
    assert np.abs(efficiency).max() > 0.015


def test_a_map_sampled_from_a_wheel_gives_the_wheel(tmp_path):
    """The parametric machine, written down as a sheet would hold it and read again, between its lines."""
    wheel = compressor.from_wheel(0.037, 0.05)
    air = (298.0, 1e5, 287.05, 1.4)
    points = []
    for ratio_at_peak in (1.15, 1.35, 1.6, 1.9, 2.3, 2.9, 3.6):
        peak = 0.5 * (
            compressor.surge_flow(wheel, ratio_at_peak, *air) + compressor.choke_flow(wheel, ratio_at_peak, *air)
        )
        speed = compressor.wheel_state(wheel, peak, ratio_at_peak, *air)[1]
        ratios = np.linspace(1.005, 4.0, 3000)
        for place in np.linspace(0.0, 1.0, 9):
            surge, choke = (
                np.array([f(wheel, x, *air) for x in ratios]) for f in (compressor.surge_flow, compressor.choke_flow)
            )
            flows = surge + place * (choke - surge)
            speeds = [compressor.wheel_state(wheel, m, x, *air)[1] for m, x in zip(flows, ratios, strict=True)]
            ratio = np.interp(speed, speeds, ratios)
            flow = np.interp(speed, speeds, flows)
            points.append((speed, flow, ratio, compressor.wheel_efficiency(wheel, flow, ratio, *air)))
    found = (298.0, 1e5, tuple((float(a), float(b), float(c), float(d)) for a, b, c, d in points))
    for ratio in (1.25, 1.5, 2.0, 2.5):
        surge, choke = (f(wheel, ratio, *air) for f in (compressor.surge_flow, compressor.choke_flow))
        for place in (0.1, 0.4, 0.7, 0.9):
            flow = surge + place * (choke - surge)
            efficiency, speed = at(found, flow, ratio)
            assert efficiency == pytest.approx(compressor.wheel_efficiency(wheel, flow, ratio, *air), abs=0.012)
            assert speed == pytest.approx(compressor.wheel_state(wheel, flow, ratio, *air)[1], rel=0.01)


def test_speed_rises_with_flow_and_with_pressure_everywhere():
    """Inside, past choke and above the lines: a point farther out needs a faster shaft (to a part in a hundred, where flow
    alone sets the speed)."""
    found = read(COMPRESSORS[0])
    for flow in np.linspace(0.12, 0.34, 12):
        speeds = [at(found, flow, ratio)[1] for ratio in np.linspace(1.05, 4.5, 40)]
        assert np.all(np.diff(speeds) > -0.01 * np.array(speeds[1:]))


def test_outside_by_name():
    """Head held short of surge, flow held past choke, similarity beyond the speed lines."""
    found = read(COMPRESSORS[0])
    line = [x for x in found[2] if abs(x[0] * 30 / math.pi - 100e3) < 1.0]
    efficiency, speed = at(found, 0.7 * line[0][1], line[0][2])
    assert speed == pytest.approx(line[0][0], rel=2e-3)
    assert efficiency < line[0][3]
    efficiency, speed = at(found, line[-1][1], 1.0 + 0.5 * (line[-1][2] - 1.0))
    assert speed == pytest.approx(line[-1][0], rel=5e-3)
    head = [x ** (2.0 / 7.0) - 1.0 for x in (1.0 + 0.5 * (line[-1][2] - 1.0), line[-1][2])]
    assert efficiency == pytest.approx(line[-1][3] * head[0] / head[1], rel=5e-3)
    top = found[2][-5]
    root = 1.2 * math.sqrt(top[2] ** (2.0 / 7.0) - 1.0)
    efficiency, speed = at(found, 1.2 * top[1], (1.0 + root**2) ** 3.5)
    assert (efficiency, speed) == pytest.approx((top[3], 1.2 * top[0]), rel=1e-6)


def test_unsorted_rows_columns_in_another_order_and_repeated_points_are_mended(tmp_path):
    plain = written(tmp_path, LINES)
    rows = [row.split(", ") for row in LINES.splitlines()]
    mixed = "\n".join(f"{e}, {r}, {s}, {m}" for s, m, r, e in [*rows[::-1], rows[4]])
    head = "# a sheet\nreference_temperature, 298 K\nreference_pressure, 1 bar\nefficiency [%], pressure_ratio, speed [rpm], corrected_flow [kg/s]\n"
    again = written(tmp_path, mixed, head)
    for flow, ratio in ((0.1, 1.3), (0.15, 1.9), (0.2, 1.2)):
        assert at(again, flow, ratio) == pytest.approx(at(plain, flow, ratio), rel=1e-12)


def test_speeds_that_a_sheet_rounds_are_one_line(tmp_path):
    rounded = written(tmp_path, LINES.replace("100000, 0.15", "100200, 0.15"))
    assert at(rounded, 0.15, 1.67)[1] == pytest.approx(at(written(tmp_path, LINES), 0.15, 1.67)[1], rel=2e-3)


def test_units_of_the_trade(tmp_path):
    rows = [row.split(", ") for row in LINES.splitlines()]
    text = "\n".join(
        f"{float(s) * math.pi / 30:.9f}, {float(m) / 0.00755987:.9f}, {r}, {float(e) / 100}" for s, m, r, e in rows
    )
    head = "reference_pressure, 14.5037738 psi\nreference_temperature, 76.73 degF\nspeed [rad/s], corrected_flow [lb/min], pressure_ratio, efficiency\n"
    found = written(tmp_path, text, head)
    assert at(found, 0.15, 1.9) == pytest.approx(at(written(tmp_path, LINES), 0.15, 1.9), rel=1e-5)


def test_one_speed_line_is_carried_on_by_similarity_and_said(tmp_path):
    path = tmp_path / "one.csv"
    path.write_text(HEAD + "".join(LINES.splitlines(keepends=True)[3:6]))
    case = load().set_all({"compressor.model": "map", "compressor.map": str(path), "run.boost": "0.6 bar"})
    found = predict(case)
    assert found.converged
    assert any("one speed line" in text for text in found.warnings)
    one = written(tmp_path, "".join(LINES.splitlines(keepends=True)[3:6]))
    root = math.sqrt(1.67 ** (2.0 / 7.0) - 1.0)
    slower = at(one, 0.5 * 0.15, (1.0 + (0.5 * root) ** 2) ** 3.5)
    assert slower == pytest.approx((0.75, 0.5 * 100e3 * math.pi / 30), rel=1e-6)


BAD = {
    "a negative efficiency": (LINES.replace("1.45, 62", "1.45, -62"), r"line 9 of .* has efficiency of -62 %"),
    "no pressure": (LINES.replace("1.67", "0.98"), r"line 8 of .* has pressure ratio of 0.98"),
    "a flow in lb/min called kg/s": (LINES.replace("0.15", "19.8"), r"line 8 of .* has corrected flow of 19.8 kg/s"),
    "a slip of the pen": (LINES.replace("1.67, 75", "1.67, 15"), "100000 rpm goes from 69 % to 15 % and back to 62 %"),
    "a point twice, otherwise": (LINES + "100000, 0.15, 1.67, 71\n", "100000 rpm has one point twice"),
    "one row": (LINES.splitlines()[0], "holds 1 points where 2 to 2000 are needed"),
    "a single point": (LINES + "150000, 0.2, 2.9, 70\n", "speed line 150000 rpm has a single point"),
    "crossing lines": (LINES.replace("130000, 0.12, 2.36", "130000, 0.12, 1.5"), "100000 rpm and 130000 rpm cross"),
}


@pytest.mark.parametrize("what", BAD)
def test_what_is_no_map_is_named(tmp_path, what):
    text, clause = BAD[what]
    with pytest.raises(CaseError, match=clause):
        written(tmp_path, text)


def test_a_table_in_a_case_is_held_to_the_same():
    """Points that stand in the case itself are named by their number."""
    table = maps.read_map(EXAMPLES / COMPRESSORS[0], "compressor.map")
    points = [[s, m, r, -0.7] if k == 5 else [s, m, r, e] for k, (s, m, r, e) in enumerate(table["points"])]
    with pytest.raises(Refused, match="has a point 6 with efficiency of -70 %"):
        maps.compressor_map(table | {"points": points})


TURBINE_LINES = """\
40000, 0.07, 1.2, 66
40000, 0.10, 1.5, 70
40000, 0.11, 1.8, 66
60000, 0.07, 1.3, 62
60000, 0.10, 1.6, 71
60000, 0.11, 2.0, 69
"""
BAD_TURBINES = {
    "a falling flow": (TURBINE_LINES.replace("0.10, 1.6", "0.13, 1.6"), "60000 rpm falls as the pressure ratio rises"),
    "a ratio twice": (TURBINE_LINES + "60000, 0.12, 1.6, 71\n", "60000 rpm has pressure ratio 1.6 twice"),
    "a slip of the pen": (TURBINE_LINES.replace("1.5, 70", "1.5, 17"), "goes from 66 % to 17 % and back to 66 %"),
}


@pytest.mark.parametrize("what", BAD_TURBINES)
def test_what_is_no_turbine_map_is_named(tmp_path, what):
    text, clause = BAD_TURBINES[what]
    path = tmp_path / "map.csv"
    path.write_text(HEAD + text)
    with pytest.raises(CaseError, match=rf"turbine\.map: .*map\.csv is no map: .*{clause}"):
        maps.read_map(path, "turbine.map")


def test_a_turbine_map_with_one_line_is_said(tmp_path):
    path = tmp_path / "map.csv"
    path.write_text(HEAD + "".join(TURBINE_LINES.splitlines(keepends=True)[3:]))
    found = predict(load().set_all({"turbine.model": "map", "turbine.map": str(path), "run.boost": "0.6 bar"}))
    assert any("turbine map has one speed line" in text for text in found.warnings)


def renamed(tmp_path, *pairs):
    """A turbine map of the examples with the speeds of its lines exchanged."""
    rows = (EXAMPLES / TURBINES[0]).read_text().splitlines()
    names = dict(pairs) | {b: a for a, b in pairs}
    path = tmp_path / "map.csv"
    path.write_text(
        "\n".join(",".join([names.get(row.split(",")[0], row.split(",")[0]), *row.split(",")[1:]]) for row in rows)
    )
    return path


@pytest.mark.parametrize(
    ("pair", "clause"),
    [
        (("30000", "45000"), "from 30000 to 45000 rpm"),
        (("45000", "60000"), "from 45000 to 60000 rpm"),
        (("60000", "90000"), "from 60000 to 75000 rpm, and from 75000 to 90000 rpm"),
    ],
)
def test_swapped_speeds_of_a_turbine_map_are_named(tmp_path, pair, clause):
    """A radial wheel that turns faster holds more back, so at one pressure ratio flow goes one way with speed: a map in which it
    goes both ways is none."""
    with pytest.raises(
        CaseError, match=rf"map\.csv is no map: at one pressure ratio its flow rises {clause}, and falls"
    ):
        maps.read_map(renamed(tmp_path, pair), "turbine.map")


def test_a_turbine_map_the_wrong_way_round_is_said(tmp_path):
    """All in order, but the faster the more it passes: another kind of wheel may, so that it is read, and said."""
    path = renamed(tmp_path, ("30000", "90000"), ("45000", "75000"))
    case = load().set_all({"turbine.model": "map", "run.boost": "0.6 bar"} | {"turbine.map": str(path)})
    assert any("the flow of the turbine map rises from 30000 to 45000 rpm" in text for text in predict(case).warnings)
    sound = predict(case.set("turbine.map", str(EXAMPLES / TURBINES[0])))
    assert not any("the flow of the turbine map rises" in text for text in sound.warnings)


def test_the_turbine_of_two_nozzles_passes_less_the_faster_it_turns():
    """The order that is asked of maps is that of the wheel from its hardware: at each expansion the flow falls with speed, until the
    housing chokes and it stays; but for a part in a thousand at a crawl, where the gas meets the blades the better."""
    for a_over_r in ("0.48 in", "0.63 in", "0.82 in"):
        flow = prepare(load().set("turbine.a_over_r", a_over_r)).machine.flow[:, 5:]
        assert np.all(np.diff(flow, axis=0) <= 1e-3 * flow.max())


@pytest.mark.parametrize("name", ["compressor", "turbine"])
@pytest.mark.parametrize(("unit", "factor"), [("rev/s", 60.0), ("rad/s", 30.0 / math.pi)])
def test_speeds_in_another_unit_do_not_go_with_the_wheel(tmp_path, name, unit, factor):
    """A column in revolutions or radians a second, headed rpm: no wheel of that size makes such pressure so slowly."""
    source = EXAMPLES / (COMPRESSORS[0] if name == "compressor" else TURBINES[0])
    table = maps.read_map(source, f"{name}.map")
    points = [[f"{float(s.split()[0]) / factor!r} rad/s", *rest] for s, *rest in table["points"]]
    values = {f"{name}.model": "map", f"{name}.map": table | {"points": points}}
    with pytest.raises(
        CaseError, match=rf"{name}\.map .*(check the unit of the column speed|outside 1000 to 500000 rpm)"
    ):
        load().set_all(values)


FILES = {
    "no reference": (
        "speed [rpm], corrected_flow [kg/s], pressure_ratio, efficiency [%]\n" + LINES,
        "reference_pressure",
    ),
    "no heading": (HEAD.rsplit("speed", 1)[0] + LINES, "headed with four columns"),
    "a word": (HEAD + LINES.replace("0.09", "much"), "line 7 of"),
    "a short row": (HEAD + LINES + "150000, 0.2\n", "line 13 of .* needs four numbers"),
    "a wrong unit": (HEAD.replace("[kg/s]", "[kPa]") + LINES, "line 4 of"),
    "nothing": ("", "reference_pressure"),
    "semicolons": ((HEAD + LINES).replace(",", ";"), "separates its columns with semicolons"),
    "tabs": ((HEAD + LINES).replace(",", "\t"), "separates its columns with tabs"),
    "decimal commas": (HEAD + LINES.replace("0.", "0,"), "line 4 of .* holds 5 cells where 4 belong"),
    "far too long": (HEAD + LINES * 8000, "is too large for a map"),
}


@pytest.mark.parametrize("what", FILES)
def test_a_file_that_is_none_is_refused_in_a_sentence(tmp_path, what):
    text, clause = FILES[what]
    path = tmp_path / "map.csv"
    path.write_text(text)
    with pytest.raises(CaseError, match=clause):
        load().set_all({"compressor.model": "map", "compressor.map": str(path)})


def test_a_missing_map_is_said():
    with pytest.raises(CaseError, match=r"compressor\.map is missing"):
        load().set("compressor.model", "map")
    with pytest.raises(CaseError, match=r"compressor\.map .*cannot be read"):
        load().set("compressor.map", "nowhere.csv")


def test_a_case_with_maps_is_whole_in_itself():
    """What stands in the files stands in the case: it goes on without them."""
    case = load().set_all({"compressor.model": "map", "compressor.map": str(EXAMPLES / COMPRESSORS[0])})
    assert load(case.to_dict()).digest == case.digest
    assert load(case.to_dict()) == case
    assert case.unread == load().unread


# --------------------------------------------------------------------------------------------- in the loop

TRIPLE = {  # 1.2 litres
    "engine": {
        "cylinders": 3, "bore": "74 mm", "stroke": "92 mm", "compression_ratio": 9.6,
        "intake_valve": {"count": 2, "diameter": "28 mm", "lift": "8.4 mm", "opens": "8 deg BTDC", "closes": "44 deg ABDC"},
        "exhaust_valve": {"count": 2, "diameter": "24 mm", "lift": "8 mm", "opens": "44 deg BBDC", "closes": "8 deg ATDC"},
    },
    "fuel": {"name": "gasoline_98"},
    "turbine": {"model": "hardware", "a_over_r": "10.5 mm", "wheel_inlet_diameter": "40 mm"},
    "wastegate": {"diameter": "24 mm"},
    "run": {"speed": "4500 rpm", "boost": "0.9 bar", "lambda": 0.85, "spark_advance": "9 deg"},
}  # fmt: skip


@pytest.mark.parametrize("model", ["wheel", "constant"])
def test_the_shaft_balance_holds_with_every_model(model):
    """Work of compression over the flow is what the shaft gives; efficiency and speed are those of the model."""
    case = load(TRIPLE).set("compressor.model", model)
    found = predict(case)
    assert found.status == "converged"
    assert (found.surge_margin_fraction is None) == (model == "constant")
    if model == "wheel":
        c = case.compressor
        wheel = compressor.from_wheel(c.inducer_diameter, c.wheel_diameter, efficiency_peak=c.efficiency_peak)
        p1 = (
            case.ambient.pressure
            - case.ambient.inlet_pressure_loss[0] * (found.air_flow_kg_s / case.ambient.inlet_pressure_loss[1]) ** 2
        )
        state = (found.air_flow_kg_s, found.compressor_pressure_ratio, case.ambient.temperature, p1, 287.14, 1.4)
        assert found.compressor_efficiency == pytest.approx(compressor.wheel_efficiency(wheel, *state), rel=2e-3)
        assert found.shaft_speed_rad_s == pytest.approx(compressor.wheel_state(wheel, *state)[1], rel=2e-3)


def test_the_wheel_takes_boost_from_low_speed_and_from_the_end():
    """With one efficiency a turbo is as good at its edges as in its middle. At low speed the flow lies short of surge, at the
    top past the best: with a wheel's efficiency less boost is made at low speed, and boost at high speed costs more ratio."""
    wheel, plain = (
        load(TRIPLE).set_all({"compressor.model": m, "run.boost": "1.6 bar"}) for m in ("wheel", "constant")
    )
    low = [predict(case.set("run.speed", "1800 rpm")).boost_pa for case in (wheel, plain)]
    print(f"1800 rpm: {low[0] / 1e5:.2f} bar with the wheel, {low[1] / 1e5:.2f} bar with one efficiency")
    assert low[0] < 0.85 * low[1]
    fast = [predict(case.set("run.speed", "6500 rpm")) for case in (wheel, plain)]
    print(f"6500 rpm, 1.6 bar: ratio {fast[0].backpressure_ratio:.2f} and {fast[1].backpressure_ratio:.2f}")
    assert fast[0].backpressure_ratio > 1.03 * fast[1].backpressure_ratio


def test_the_ratio_climbs_with_boost_once_the_compressor_is_past_its_best():
    """More boost through the same wheel leaves its best efficiency, asks for more turbine work and so for more pressure."""
    case = load(TRIPLE).set("run.speed", "6500 rpm")
    found = [predict(case.set("run.boost", f"{b} bar")) for b in (0.9, 1.2, 1.5, 1.8)]
    ratios = [r.backpressure_ratio for r in found]
    print("ratio " + ", ".join(f"{r:.2f}" for r in ratios))
    assert np.all(np.diff(ratios) > 0.0)


def test_creep_without_a_wastegate_ends_where_the_compressor_does():
    """With the gate gone boost runs away only until the compressor chokes: its margin is then all but gone or past."""
    case = load(TRIPLE).set_all({"wastegate.diameter": "0 mm", "run.speed": "6500 rpm"})
    wheel, plain = (predict(case.set("compressor.model", m)) for m in ("wheel", "constant"))
    print(
        f"no wastegate: {wheel.boost_pa / 1e5:.2f} bar with the wheel, {plain.boost_pa / 1e5:.2f} bar with one efficiency"
    )
    assert wheel.status == plain.status == "boost over"
    assert wheel.boost_pa < 0.7 * plain.boost_pa
    assert wheel.choke_margin_fraction < 0.05


def test_surge_and_choke_are_margins_and_sentences():
    surge = predict(load(TRIPLE).set_all({"run.speed": "1500 rpm", "compressor.wheel_diameter": "56 mm"}))
    assert surge.surge_margin_fraction < 0.0
    assert {m["name"]: m["exceeded"] for m in surge.margins}["surge_margin_fraction"]
    assert any("surge" in text for text in surge.warnings)
    choke = predict(
        load(TRIPLE).set_all({"run.speed": "6500 rpm", "compressor.wheel_diameter": "37 mm", "run.boost": "1.1 bar"})
    )
    assert choke.choke_margin_fraction < 0.0
    assert any("choke" in text for text in choke.warnings)


@pytest.mark.parametrize(("section", "name"), [("compressor", COMPRESSORS[0]), ("turbine", TURBINES[0])])
def test_a_map_in_another_unit_of_flow_is_named_before_it_is_marched(tmp_path, section, name):
    """kg/s under a heading of lb/min or g/s: a machine that passes a hundredth of the engine's air. (Solved, it took seconds and gave an
    intake of thousands of kelvin.) One a third as large as it should be is a choice, and solved."""
    text = (EXAMPLES / name).read_text()
    for unit in ("lb/min", "g/s"):
        path = tmp_path / "map.csv"
        path.write_text(text.replace("[kg/s]", f"[{unit}]"))
        with pytest.raises(CaseError, match=rf"{section}\.map passes .* check the unit of the column corrected_flow"):
            load().set_all({f"{section}.model": "map", f"{section}.map": str(path)})
    rows = maps.read_map(EXAMPLES / name, f"{section}.map")
    small = [[a, f"{float(b.split()[0]) / 3.0} kg/s", *c] for a, b, *c in rows["points"]]
    found = predict(load().set_all({f"{section}.model": "map", f"{section}.map": rows | {"points": small}}))
    assert found.status in ("converged", "boost short")
