"""`sweep`: designs, what the dataset says of itself, files out and back in, the command line, pictures."""

import itertools
import json
import math
import re
import subprocess
import sys
from pathlib import Path

import numpy as np
import pytest
import xarray as xr
from hotside.sim import CaseError, load, open_sweep, predict, sweep
from hotside.sim.names import RESULTS
from hotside.sim.verbs.sweep import design as designing
from hotside.sim.verbs.sweep import point, run
from hotside.sim.verbs.sweep.design import design
from hotside.sim.verbs.sweep.plot import plot

EXAMPLES = Path(__file__).resolve().parent.parent / "examples"
SIX, BENCH = EXAMPLES / "tractor_six.toml", EXAMPLES / "bench.toml"


@pytest.fixture(scope="module")
def six():
    """A grid of two inputs on the six, one of them a submodel."""
    return sweep(load(SIX), {"run.boost": "0.8:1.2:0.2 bar", "wall_heat.model": ["hohenberg", "annand"]}, workers=1)


# ----------------------------------------------------------------------------------------------------------- designs


@pytest.mark.parametrize(
    ("name", "given", "values"),
    [
        ("run.spark_advance", "0:30:10 deg", ["0 deg", "10 deg", "20 deg", "30 deg"]),
        ("run.boost", "0.6:0.8:0.1 bar", ["0.6 bar", "0.7 bar", "0.8 bar"]),
        ("run.boost", "18:12:-3 psi", ["18 psi", "15 psi", "12 psi"]),
        ("run.lambda", "0.8:0.9:0.05", [0.8, 0.85, 0.9]),
        ("run.lambda", "0.8, 0.9", [0.8, 0.9]),
        ("run.lambda", np.array([0.8, 0.9]), [0.8, 0.9]),
        ("run.boost", (np.array([0.6, 0.7]), "bar"), ["0.6 bar", "0.7 bar"]),
        ("run.boost", "0.5, 0.6 bar", ["0.5 bar", "0.6 bar"]),  # the last unit is that of all
        ("run.boost", "5e4,60000 Pa", ["5e4 Pa", "60000 Pa"]),
        ("run.lambda", "0.8, 9e-1", [0.8, 0.9]),
        ("engine.exhaust_valve.opens", "40, 50 deg BBDC", ["40 deg BBDC", "50 deg BBDC"]),
        ("wall_heat.model", "woschni, annand", ["woschni", "annand"]),
        ("engine.intake_valve.count", "1:3:1", [1, 2, 3]),
        ("cylinder.2.fuel", "-4:4:4 %", ["-4 %", "0 %", "4 %"]),
        ("exhaust.afterburning", "false, true", [False, True]),
        ("engine.exhaust_valve.opens", "40:60:10 deg BBDC", ["40 deg BBDC", "50 deg BBDC", "60 deg BBDC"]),
        ("fuel.octane", ["95 RON", "98 RON"], ["95 RON", "98 RON"]),
    ],
)
def test_how_values_are_written(name, given, values):
    assert list(design({name: given}).axes[0].values) == values


@pytest.mark.parametrize(
    ("vary", "words"),
    [
        ({}, "nothing is varied"),
        ({"run.bost": [1]}, r'did you mean "run\.boost"'),
        ({"run.boost": [0.8, 1.0]}, r"run\.boost = 0\.8 has no unit"),
        ({"run.boost": "8 psi, 0.6, 0.7 bar"}, r"run\.boost = 0\.6 has no unit"),  # whose would it be
        ({"run.boost": "0.6:1.8 bar"}, "needs a step"),
        ({"run.boost": "0.6:1.8:0 bar"}, "does not lead"),
        ({"run.boost": "0.6:1.8:-0.1 bar"}, "does not lead"),
        ({"run.boost": "0.6:1.8:0.1 miles"}, "miles"),
        ({"run.boost": "0:1e9:1e-9 Pa"}, "are the most"),
        ({"run.boost": "0.8 bar, 0.8 bar"}, "twice"),
        ({"run.boost": "80 kPa, 0.8 bar"}, "twice"),
        ({"run.lambda": "0.2:0.9:0.1"}, "outside 0.5 to 1.6"),
        ({"wall_heat.model": ["woschny"]}, "did you mean"),
        ({"run.lambda": []}, "no value"),
    ],
)
def test_what_is_refused_before_anything_is_solved(vary, words):
    with pytest.raises(CaseError, match=words):
        sweep(load(), vary)


def test_a_grid_moves_its_last_axis_fastest():
    plan = design({"run.lambda": [0.8, 0.9], "run.spark_advance": "0:2:1 deg"})
    assert plan.rows() == list(itertools.product((0.8, 0.9), ("0 deg", "1 deg", "2 deg")))
    assert plan.sizes == {"run.lambda": 2, "run.spark_advance": 3}
    assert plan.rows(2, 4) == plan.rows()[2:4]


def test_axes_in_step_must_be_equally_long():
    plan = design({"run.lambda": [0.8, 0.9], "run.boost": ["1 bar", "1.1 bar"]}, "zip")
    assert plan.rows() == [(0.8, "1 bar"), (0.9, "1.1 bar")]
    with pytest.raises(CaseError, match=r"run\.lambda has 2, run\.boost has 1"):
        design({"run.lambda": [0.8, 0.9], "run.boost": ["1 bar"]}, "zip")


def test_a_sample_fills_its_stretches_evenly_and_is_drawn_the_same_again():
    """Latin hypercube: of n points each n-th part of every stretch holds one."""
    vary = {"run.boost": "0.6:1.8 bar", "run.lambda": "0.75:0.95", "wall_heat.model": ["woschni", "annand"]}
    plan = design(vary, "sample", 40, 7)
    boost, mixture, model = (a.in_si() for a in plan.axes)
    assert sorted(int((x - 0.6e5) / 1.2e5 * 40) for x in boost) == list(range(40))
    assert sorted(int((x - 0.75) / 0.2 * 40) for x in mixture) == list(range(40))
    assert model.count("woschni") == 20
    assert plan == design(vary, "sample", 40, 7)
    assert plan != design(vary, "sample", 40, 8)
    for samples in (None, 0):
        with pytest.raises(CaseError, match="number of samples"):
            design(vary, "sample", samples)
    with pytest.raises(CaseError, match="goes with a sampled"):
        design({"run.lambda": [0.8]}, "grid", 10)


# ------------------------------------------------------------------------------------------------------------ numbers


def test_each_point_is_what_predict_gives(six):
    """The settings of a point are those of its coordinates: nothing is shifted, nothing is shared that should not be.

    Here the numbers may come from other processes, hence rounding.
    """
    for boost, model in ((0.8e5, "annand"), (1.2e5, "hohenberg")):
        case = load(SIX).set_si({"run.boost": boost}).set("wall_heat.model", model)
        here, there = predict(case), six.sel({"run.boost": boost, "wall_heat.model": model}, method=None)
        for name in ("power_w", "backpressure_pa", "octane_required", "exhaust_temperature_k", "knock_margin_deg"):
            value = getattr(here, name)
            assert float(there[name]) == pytest.approx(math.nan if value is None else value, rel=1e-4, nan_ok=True)
        assert there["cylinder_imep_net_pa"].values == pytest.approx(
            [c["imep_net_pa"] for c in here.cylinders], rel=1e-4
        )
        assert there["probe_reading_k"].values == pytest.approx([p["reading_k"] for p in here.probes], rel=1e-4)
        margins = {m["name"]: m["margin"] for m in here.margins}
        assert dict(zip(there["limit"].values, there["limit_margin"].values, strict=True)) == pytest.approx(
            margins, rel=1e-3
        )
        assert str(there["warnings"].values) == "\n".join(here.warnings)
        assert point.STATUSES[int(there["status"])] == here.status


def test_one_variable_for_each_result(six):
    """Every name of a prediction that is a number or a flag is there, and nothing is nameless."""
    values = predict(load(SIX)).to_dict()
    scalars = {n for n, v in values.items() if v is None or isinstance(v, bool | int | float)}
    assert {n for n in scalars if n not in RESULTS or RESULTS[n].kind != "list"} <= set(six.data_vars)
    assert (six["message"] == "").all()
    assert all(six[name].attrs.get("long_name") for name in six.variables)


def test_tables_within_a_prediction_are_laid_out_too():
    """What hangs in tables and lists has its place whatever it is called, and nothing can stop a point for its shape."""
    values = {"a": 1, "b": None, "tap": {"x_pa": 2.0, "ok": True, "rows": [{"x": 1.0}, {"x": 2.0, "deep": [1]}]}}
    row = values | {"parts": [{"part": "collector", "surface_k": 900.0}], "odd": [1, 2], "status": "converged"}
    chunk = point.packed([row, row | {"tap": None, "parts": []}, point.lost("failed", "why")])
    first, second, third = (dict(zip(chunk.names, line.tolist(), strict=True)) for line in chunk.numbers)
    assert {k: v for k, v in first.items() if v == v and k != "status"} == {
        "a": 1, "tap_x_pa": 2.0, "tap_ok": True, "tap_rows:1:x": 1.0, "tap_rows:2:x": 2.0, "parts:collector:surface_k": 900.0,
    }  # fmt: skip
    assert {k for k, v in second.items() if v == v} == {"a", "status"}
    assert {k for k, v in third.items() if v == v} == {"status"}
    assert [line[chunk.text_names.index("odd")] for line in chunk.texts] == ["1\n2", "1\n2", ""]
    assert chunk.flags == ("tap_ok",)
    assert chunk.texts[2][chunk.text_names.index("message")] == "why"


def test_more_boost_and_less_wall_heat_do_what_they_must(six):
    """More boost burns more fuel: more power, more backpressure. Annand takes less heat from the gas than Hohenberg with
    its factor here, and what the walls do not take goes out of the exhaust, or into work."""
    for name in ("power_w", "backpressure_pa", "fuel_flow_kg_s"):
        assert (six[name].diff("run.boost") > 0.0).all()
    less = six.sel({"wall_heat.model": "annand"}), six.sel({"wall_heat.model": "hohenberg"})
    heat, hot = (less[0][n] - less[1][n] for n in ("wall_heat_fraction", "exhaust_temperature_k"))
    assert ((heat > 0) == (hot < 0)).all()
    assert (abs(heat) > 1e-3).all()


def test_a_bench_has_no_turbo_and_says_so():
    found = sweep(load(BENCH), {"run.speed": "1500:3500:500 rpm"}, workers=2)
    assert found.sizes["run.speed"] == 5
    assert "probe_reading_k" not in found
    assert (found["status"] == point.STATUSES.index("converged")).all()
    assert found["run.speed"].values == pytest.approx(np.arange(1500, 3501, 500) * math.pi / 30.0)
    assert found["speed_rpm"].values == pytest.approx(np.arange(1500, 3501, 500))
    assert np.isfinite(found["imep_net_pa"]).all()


def test_a_zip_and_a_sample_lie_along_points():
    case = load(BENCH)
    zipped = sweep(case, {"run.lambda": [0.9, 1.0], "burn.ca50": ["8 deg ATDC", "12 deg ATDC"]}, how="zip", workers=1)
    assert dict(zipped.sizes)["point"] == 2
    assert zipped["burn.ca50"].dims == ("point",)
    assert zipped["burn.ca50"].values == pytest.approx([8.0, 12.0])
    drawn = sweep(
        case, {"run.lambda": "0.85:1.1", "run.speed": "1500:3000 rpm"}, how="sample", samples=5, seed=3, workers=1
    )
    assert drawn["power_w"].dims == ("point",)
    assert json.loads(drawn.attrs["design"])["note"] == "Latin hypercube of 5 points, seed 3"


# -------------------------------------------------------------------------------------------------- points that fail


def test_a_combination_that_is_no_case_keeps_its_place():
    """The wheel diameters fit one another in one corner of the grid only."""
    vary = {"turbine.wheel_inlet_diameter": ["40 mm", "60 mm"], "turbine.wheel_outlet_diameter": ["44 mm", "60 mm"]}
    case = load().set("turbine.wheel_inlet_diameter", "60 mm")
    found = sweep(case, vary, workers=1)
    status = [[point.STATUSES[int(s)] for s in line] for line in found["status"].values]
    assert status[0][1] == "not a case"
    assert "wheel_outlet_diameter is more than 1.2" in str(found["message"].values[0, 1])
    assert np.isnan(found["power_w"].values[0, 1])
    assert np.isfinite(found["power_w"].values[[0, 1, 1], [0, 0, 1]]).all()
    assert found["boost_reached"].values[0, 1] == -1


def test_where_no_point_is_a_case_the_sweep_is_refused():
    with pytest.raises(CaseError, match=r"wheel_outlet_diameter is more than"):
        sweep(load(), {"turbine.wheel_inlet_diameter": ["40 mm"], "turbine.wheel_outlet_diameter": ["60 mm", "70 mm"]})


def test_a_point_that_breaks_is_said_and_kept_apart(monkeypatch):
    """Whatever is raised for a point stays in its row."""
    read = point.steady.read

    def failing(march, ending, *more):
        if march.setup.plant.speed_rpm == 2000.0:
            raise ZeroDivisionError("something nobody thought of")
        if march.setup.plant.speed_rpm == 2500.0:
            raise point.steady.SolveError("the gas left the range of the property tables.")
        return read(march, ending, *more)

    monkeypatch.setattr(point.steady, "read", failing)
    monkeypatch.setattr(run, "touch", lambda case: None)
    found = sweep(load(BENCH), {"run.speed": "1500:3000:500 rpm"}, workers=2)
    assert [point.STATUSES[int(s)] for s in found["status"]] == ["converged", "failed", "broken", "converged"]
    assert str(found["message"].values[1]) == "ZeroDivisionError: something nobody thought of"
    assert str(found["message"].values[2]).startswith("the gas left the range")
    assert np.isfinite(found["power_w"].values).tolist() == [True, False, False, True]


# ------------------------------------------------------------------------------------------------------------- files


@pytest.mark.parametrize("ending", ["nc", "csv"])
def test_out_and_back_in(six, tmp_path, ending):
    from hotside.sim.verbs.sweep import store

    path = tmp_path / f"map.{ending}"
    store.write(six, path)
    xr.testing.assert_identical(open_sweep(path), six)
    assert [p.name for p in tmp_path.iterdir()] == [path.name]


def test_points_without_answer_come_back_too(tmp_path, monkeypatch):
    vary = {"turbine.wheel_inlet_diameter": ["40 mm", "60 mm"], "turbine.wheel_outlet_diameter": ["44 mm", "60 mm"]}
    found = sweep(load(), vary, workers=1, out=tmp_path / "map.csv")
    xr.testing.assert_identical(open_sweep(tmp_path / "map.csv"), found)
    again = sweep(load(), vary, workers=1, out=tmp_path / "map.nc")
    xr.testing.assert_identical(open_sweep(tmp_path / "map.nc"), again)


def test_plain_xarray_understands_the_file(six, tmp_path):
    """Elsewhere, with nothing of ours: units, meanings, sources, versions, the design and the case."""
    from hotside.sim.verbs.sweep import store

    store.write(six, tmp_path / "map.nc")
    code = """
import json, sys, xarray as xr
with xr.open_dataset(sys.argv[1]) as d:
    assert not any(name.startswith("hotside") for name in sys.modules)
    print(json.dumps({"attrs": {k: v for k, v in d.attrs.items()}, "sizes": dict(d.sizes),
        "units": {n: v.attrs.get("units") for n, v in d.variables.items()},
        "names": {n: v.attrs.get("long_name") for n, v in d.variables.items()},
        "types": {n: v.dtype.kind for n, v in d.variables.items()},
        "flags": [d.status.attrs["flag_values"].tolist(), d.status.attrs["flag_meanings"]],
        "hot": float(d.exhaust_temperature_k.sel({"run.boost": 1e5, "wall_heat.model": "annand"}))}))
"""
    done = subprocess.run(
        [sys.executable, "-c", code, str(tmp_path / "map.nc")], capture_output=True, text=True, cwd=tmp_path
    )
    assert done.returncode == 0, done.stderr
    told = json.loads(done.stdout)
    attrs = told["attrs"]
    assert load(json.loads(attrs["case"])) == load(SIX)
    assert json.loads(attrs["design"])["axes"]["run.boost"] == ["0.8 bar", "1.0 bar", "1.2 bar"]
    assert {"hotside", "sources", "numpy", "numba", "cantera", "python"} <= set(json.loads(attrs["versions"]))
    assert json.loads(attrs["constants"])["knock.EXPONENT"] == 3.402
    inputs = json.loads(attrs["inputs_si"])
    assert inputs["engine.bore"] == 0.098
    assert inputs["run.boost"] == "varied"
    assert inputs["cylinder.6.fuel"] if "cylinder.6.fuel" in inputs else inputs["engine.cylinders"] == 6
    assert attrs["submodel_wall_heat"].count("SAE 790825") == 1  # both of the models it was run with
    assert "Annand" in attrs["submodel_wall_heat"]
    assert "submodel_bad_cycle" in attrs
    assert all(re.fullmatch(r"[A-Za-z]\w*", name) for name in attrs)  # CF conventions, section 2.3
    assert attrs["Conventions"].startswith("CF-")
    assert told["units"]["power_w"] == "W"
    assert told["units"]["run.boost"] == "Pa"
    assert told["units"]["air_flow_kg_s"] == "kg s-1"
    assert told["sizes"].items() >= {"run.boost": 3, "wall_heat.model": 2, "cylinder": 6, "probe": 1}.items()
    numbers = [n for n, kind in told["types"].items() if kind == "f"]
    without = {n for n in numbers if not told["units"][n]}
    assert without == {"limit_value", "limit_limit", "limit_margin"}  # limit_units says
    assert all(told["names"].values())
    values, meanings = told["flags"]
    assert dict(zip(values, meanings.split(), strict=True))[0] == "converged"
    assert told["hot"] == float(six["exhaust_temperature_k"].sel({"run.boost": 1e5, "wall_heat.model": "annand"}))


def test_every_kind_of_unit_has_its_spelling():
    from hotside.sim.verbs.sweep.words import UDUNITS

    assert {row.kind for row in RESULTS.values()} - {"flag", "list"} <= set(UDUNITS)


@pytest.mark.parametrize(
    ("name", "content", "words"),
    [
        ("map.txt", "", "neither .nc"),
        ("map.csv", "a,b\n1,2\n", "not a file of a sweep"),
        ("map.nc", "not netCDF at all", "not a file of a sweep"),
        ("gone.nc", None, "cannot be read"),
    ],
)
def test_files_that_are_none(tmp_path, name, content, words):
    if content is not None:
        (tmp_path / name).write_text(content)
    with pytest.raises(CaseError, match=words):
        open_sweep(tmp_path / name)


def test_a_cut_csv_is_noticed(six, tmp_path):
    from hotside.sim.verbs.sweep import store

    path = tmp_path / "map.csv"
    store.write(six, path)
    lines = path.read_text().splitlines(keepends=True)
    path.write_text("".join(lines[:-1]))
    with pytest.raises(CaseError, match="5 whole rows where 6 belong"):
        open_sweep(path)


# ---------------------------------------------------------------------------------------------- pictures, command line


def test_pictures_of_one_and_two_inputs(six):
    figure = plot(six, ["power_w", "probe_reading_k"], "us")
    axes = [a for a in figure.axes if a.get_xlabel()]
    assert [a.get_xlabel() for a in axes] == ["boost [psi]"] * 2
    assert [a.get_ylabel() for a in axes] == ["power [hp]", "exhaust probe reads [degF]"]
    assert [t.get_text() for t in axes[0].get_legend().get_texts()] == ["hohenberg", "annand"]
    assert axes[0].get_lines()[1].get_ydata() == pytest.approx(six["power_w"].values[:, 1] / 745.7, rel=1e-4)
    one = plot(six.sel({"wall_heat.model": "annand"}), ["power_w"], "metric")
    assert one.axes[0].get_xlabel() == "boost [bar]"
    with pytest.raises(CaseError, match="power is no result"):
        plot(six, ["power"])


def test_a_map_shades_every_point_where_it_belongs():
    found = sweep(load(BENCH), {"run.speed": "1500:3500:1000 rpm", "run.lambda": [0.9, 1.0]}, workers=2)
    figure = plot(found, ["imep_net_pa"])
    shade = figure.axes[0].collections[0]
    assert np.asarray(shade.get_array()).reshape(2, 3) == pytest.approx(found["imep_net_pa"].values.T / 1e5)
    assert (figure.axes[0].get_xlabel(), figure.axes[0].get_ylabel()) == ("speed [rpm]", "lambda")


def command(*arguments, folder):
    return subprocess.run(
        [sys.executable, "-m", "hotside.sim.cli", "sweep", *map(str, arguments)],
        capture_output=True, text=True, cwd=folder, timeout=300,
    )  # fmt: skip


def test_the_command(tmp_path):
    """File, picture, table; a second run does nothing; another sweep does not write over it."""
    vary = ("--vary", "run.speed=2000:3000:500 rpm", "--vary", "wall_heat.model=woschni, annand")
    done = command(BENCH, *vary, "--out", "map.nc", "--plot", "map.png", folder=tmp_path)
    assert done.returncode == 0, done.stderr
    assert "6 points" in done.stdout
    assert "not a measurement" in done.stdout
    assert sorted(p.name for p in tmp_path.iterdir()) == ["map.nc", "map.png"]
    assert (tmp_path / "map.png").read_bytes().startswith(b"\x89PNG")
    before = (tmp_path / "map.nc").stat().st_mtime_ns, (tmp_path / "map.nc").read_bytes()
    again = command(BENCH, *vary, "--out", "map.nc", folder=tmp_path)
    assert again.returncode == 0
    assert "nothing to do" in again.stderr
    assert again.stdout == done.stdout
    assert ((tmp_path / "map.nc").stat().st_mtime_ns, (tmp_path / "map.nc").read_bytes()) == before
    other = command(BENCH, "--vary", "run.lambda=0.9,1.0", "--out", "map.nc", folder=tmp_path)
    assert other.returncode == 2
    assert "map.nc is there already" in other.stderr
    assert (tmp_path / "map.nc").read_bytes() == before[1]


@pytest.mark.parametrize(
    ("arguments", "words"),
    [
        ((), "nothing is varied"),
        (("--vary", "run.lambda"), "not NAME=VALUES"),
        (("--vary", "run.lambda=0.8", "--vary", "run.lambda=0.9"), "given twice"),
        (("--vary", "run.lambda=0.8,0.9", "--out", "map.dat"), "neither .nc"),
        (("--vary", "run.lambda=0.8,0.9", "--out", "no/where/map.nc"), "no directory"),
        (("--vary", "wall_heat.model=woschni,annand", "--plot", "map.png"), "one varied input of numbers"),
        (("--vary", "run.lambda=0.8,0.9", "--workers", "0"), "--workers 0"),
        (("--vary", "run.lambda=0.8:0.9", "--samples", "4", "--zip"), "exclude each other"),
    ],
)
def test_a_bad_wish_gets_one_sentence(tmp_path, arguments, words):
    done = command(BENCH, *arguments, folder=tmp_path)
    assert done.returncode == 2
    assert words in done.stderr
    assert done.stderr.count("\n") == 1
    assert list(tmp_path.iterdir()) == []


def test_the_cut_depends_on_the_number_of_points_alone():
    """Stretches hold every point once, none more than 128 of them."""
    for size in (1, 7, 8, 9, 100, 1000, 10_000):
        plan = designing.Design("zip", (designing.Axis("run.lambda", tuple([0.9] * size)),))
        cut = run.Stretches.of(plan)
        assert cut.length == point.stretch_length(size) <= 128
        assert sum(cut.sizes().values()) == size
        rows = cut.rows(set(cut.sizes()))
        assert sum(map(len, rows.values())) == size
        assert {k: len(r) for k, r in rows.items()} == cut.sizes()


def test_the_command_of_the_page(tmp_path):
    """The line of the developers' page, on the case that `new` writes."""
    page = (EXAMPLES.parent / "DEVELOPERS.md").read_text()
    line = next(line for line in page.splitlines() if line.startswith("hotside sweep"))
    subprocess.run(
        [sys.executable, "-m", "hotside.sim.cli", "new", "my.toml"], cwd=tmp_path, check=True, capture_output=True
    )
    words = [word.replace('="', "=").strip('"') for word in re.findall(r'[^\s"]*"[^"]*"|\S+', line)]
    done = command(*words[2:], folder=tmp_path)
    assert done.returncode == 0, done.stderr
    assert sorted(p.name for p in tmp_path.iterdir()) == ["map.nc", "map.png", "my.toml"]
    assert open_sweep(tmp_path / "map.nc").sizes["run.boost"] == 7
