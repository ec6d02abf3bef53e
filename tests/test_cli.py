"""The command line: what it prints, what it refuses, what it writes."""

import ast
import csv
import io
import json
import os
import re
import subprocess
import sys
import time
import tomllib
import types
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from hotside.sim import Case, CaseError, cli, explaining, files, load, names, showing, table_print
from hotside.sim.sections import SPECS

DESIGN = ["speed_rpm", "boost_pa", "intake_pressure_pa", "intake_temperature_k", "pre_turbine_pressure_pa", "backpressure_pa", "backpressure_ratio", "pressure_ratio_exhaust_intake", "pressure_ratio_turbine", "lambda_ratio", "afr", "spark_advance_deg", "ca10_deg", "ca50_deg", "ca90_deg", "air_flow_kg_s", "fuel_flow_kg_s", "exhaust_flow_kg_s", "volumetric_efficiency", "residual_fraction", "exhaust_temperature_k", "exhaust_temperature_time_mean_k", "turbine_inlet_temperature_k", "turbine_outlet_temperature_k", "probes", "imep_gross_pa", "imep_net_pa", "pmep_pa", "fmep_pa", "bmep_pa", "torque_nm", "power_w", "bsfc_kg_j", "peak_pressure_pa", "peak_pressure_deg", "unburned_temperature_max_k", "knock_integral", "knock_onset_deg", "octane_required", "knock_margin_deg", "knock_limited_spark_deg", "turbine_efficiency", "compressor_efficiency", "shaft_speed_rad_s", "wastegate_opening", "boost_reached", "turbine_choked", "margins", "cylinders", "mass_closure", "energy_closure", "cycles", "converged", "warnings", "models"]  # fmt: skip
SPECIAL: dict[str, Any] = {
    "probes": [{"cylinder": 3, "location": "runner", "gas_temperature_k": 1180.0, "reading_k": 1130.0}],
    "margins": [
        {"name": "probe_temperature", "value": 1130.0, "limit": 1172.0, "margin": 42.0, "exceeded": False},
        {"name": "knock_margin", "value": -1.5, "limit": 0.0, "margin": -1.5, "exceeded": True},
        {"name": "backpressure_ratio", "value": 1.4, "limit": 2.0, "margin": 0.6, "exceeded": False},
    ],
    "cylinders": [{"cylinder": k, "exhaust_temperature_k": 1180.0 + k, "residual_fraction": 0.05} for k in (1, 2, 3, 4)],
    "warnings": ["The turbine is near its greatest flow."],
    "models": {"wall_heat": ("hohenberg", "Hohenberg, SAE 790825")},
    "boost_reached": True, "turbine_choked": False, "converged": True, "knock_onset_deg": None, "cycles": 7,
}  # fmt: skip


class Answer:
    """What a solver would hand back, with numbers of our own."""

    def __init__(self, trace: bool) -> None:
        self.trace = {"crank_deg": [0.0, 1.0], "pressure_pa": [1e5, 2e5]} if trace else None

    def to_dict(self) -> dict[str, Any]:
        return {name: SPECIAL.get(name, 1000.0) for name in DESIGN} | {"turbine_choked_share": float("nan")}


@pytest.fixture
def solved(monkeypatch: pytest.MonkeyPatch) -> list[Case]:
    """The cases handed to a stand-in solver: these tests are about the command line, not about the physics."""
    seen: list[Case] = []

    def predict(case: Case, *, trace: bool = False, progress: Callable[[str], None] | None = None) -> Answer:
        seen.append(case)
        if progress is not None:
            progress("building tables")
        return Answer(trace)

    module = types.ModuleType("hotside.sim.steady")
    module.predict = predict  # type: ignore[attr-defined]
    monkeypatch.setitem(sys.modules, "hotside.sim.steady", module)
    return seen


# ------------------------------------------------------------------------------------------------ names


def test_every_name_of_the_design_is_explained_and_printed(solved: list[Case], run: Any) -> None:
    assert set(DESIGN) <= set(names.RESULTS)
    status, out, _ = run("predict")
    assert status == 0
    for name in DESIGN:
        row = names.RESULTS[name]
        assert "\n".join(explaining.explained(name)).startswith(f"{name}: {row.label}")
        assert row.kind in {*showing.METRIC, "flag", "list", "small"}
        assert row.kind == "list" or f"{row.label} " in out
    for words in (
        "margins",
        "EXCEEDED",
        "cylinder 3",
        "857 degC",
        "907 degC",
        "+42 degC",
        "hohenberg",
        "near its greatest",
    ):
        assert words in out
    assert "carbon monoxide" in out  # the demo has a pressure tap
    assert "inputs are stand-ins" in out
    assert solved == [load()]


def test_units_of_a_result_agree_with_the_ending_of_its_name() -> None:
    for name, row in names.RESULTS.items():
        endings = [kind for ending, kind in names.SUFFIXES.items() if name.endswith(ending)]
        assert not endings or row.kind in endings or row.kind in ("flag", "list"), name


def test_no_line_of_the_table_is_wider_than_a_terminal(
    solved: list[Case], run: Any, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("COLUMNS", "80")
    assert max(len(line) for line in run("predict")[1].splitlines()) <= 80


def test_us_units(solved: list[Case], run: Any) -> None:
    out = run("predict", "--units", "us")[1]
    assert "psi" in out
    assert "1574 degF" in out
    assert "+76 degF" in out  # a difference carries no offset
    assert "degC" not in out


def test_json_is_the_dict_with_null_for_what_is_no_number(solved: list[Case], run: Any) -> None:
    status, out, err = run("predict", "--json")
    found = json.loads(out)
    assert status == 0
    assert list(found) == [*DESIGN, "turbine_choked_share"]
    assert found["turbine_choked_share"] is None
    assert found["knock_onset_deg"] is None
    assert found["boost_reached"] is True
    assert "building tables" in err
    assert "building" not in out


def test_set_takes_what_a_case_file_takes(solved: list[Case], run: Any) -> None:
    changes = [
        "run.boost=18 psi",
        "run.lambda=0.85",
        'fuel.name="e85"',
        "fuel.octane=105 RON",
        "engine.firing_order=[1,2,4,3]",
    ]
    status, _, err = run("predict", *(part for change in changes for part in ("--set", change)), "--json")
    assert status == 0, err
    case = solved[0]
    assert case.run.boost == pytest.approx(124105.6, abs=0.1)
    assert case.run.lambda_ratio == 0.85
    assert case.fuel.name == "e85"
    assert case.engine.firing_order == (1, 2, 4, 3)


# ------------------------------------------------------------------------------------------------ refusing


@pytest.mark.parametrize(
    ("arguments", "says"),
    [
        (["predict", "none.toml"], "none.toml cannot be read"),
        (["predict", "."], "is a directory"),
        (["predict", "--set", "run.boost"], "is not NAME=VALUE"),
        (["predict", "--set", "run.boost="], "is not NAME=VALUE"),
        (["predict", "--set", "run.boost=1 bar", "--set", "run.boost=2 bar"], "given twice"),
        (["predict", "--set", "run.boost=18"], "run.boost = 18 has no unit"),
        (["predict", "--set", "run.boost=nan"], "has no unit"),
        (["predict", "--set", "run.bost=18 psi"], 'did you mean "run.boost"'),
        (["predict", "--set", "turbine.a_over_r=.63"], "a casting marked .63"),
        (["predict", "--set", "turbine.a_over_r=0.63"], "a casting marked .63"),
        (["predict", "--set", "run.lambda=0.1"], "run.lambda = 0.1 is outside"),
        (["predict", "--units", "imperial"], 'neither "us" nor "metric"'),
        (["predict", "--colour"], "No such option"),
        (["predit"], "predit"),
        (["explain", "boost_bar"], "neither a result nor an input"),
        (["predict", "--trace", "."], "is a directory"),
        (["predict", "--trace", "none/x.csv"], "is no directory"),
        (["new", "none/my.toml"], "is no directory"),
        (["new"], "FILE"),
    ],
    ids=lambda v: " ".join(v)[:40] if isinstance(v, list) else "",
)
def test_a_mistake_gets_one_sentence_and_status_2(
    arguments: list[str], says: str, solved: list[Case], run: Any, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(tmp_path)
    status, out, err = run(*arguments)
    assert status == 2
    assert says in err
    assert err.startswith("hotside: ")
    assert len(err.strip().splitlines()) == 1
    assert out == ""
    assert solved == []
    assert list(tmp_path.iterdir()) == []


def test_an_interrupt_ends_without_traceback(run: Any, monkeypatch: pytest.MonkeyPatch) -> None:
    def interrupted(*_: Any, **__: Any) -> None:
        raise KeyboardInterrupt

    module = types.ModuleType("hotside.sim.steady")
    module.predict = interrupted  # type: ignore[attr-defined]
    monkeypatch.setitem(sys.modules, "hotside.sim.steady", module)
    assert run("predict") == (130, "", "hotside: stopped.\n")


# ------------------------------------------------------------------------------------------------ writing


def test_new_writes_a_case_that_loads_and_overwrites_nothing(run: Any, tmp_path: Path) -> None:
    path = tmp_path / "my.toml"
    status, out, _ = run("new", str(path))
    assert status == 0
    assert str(path) in out
    assert load(path) == load()
    path.write_text("mine")
    status, _, err = run("new", str(path))
    assert status == 2
    assert "there already" in err
    assert path.read_text() == "mine"
    assert run("new", str(path), "--force")[0] == 0
    assert load(path) == load()
    assert list(tmp_path.iterdir()) == [path]


def test_a_trace_is_written_whole_and_overwrites_nothing(solved: list[Case], run: Any, tmp_path: Path) -> None:
    path = tmp_path / "trace.csv"
    assert run("predict", "--trace", str(path))[0] == 0
    rows = list(csv.reader(io.StringIO(path.read_text())))
    assert rows == [["crank_deg", "pressure_pa"], ["0", "100000"], ["1", "200000"]]
    assert run("predict", "--trace", str(path))[0] == 2
    assert len(solved) == 1  # refused before anything was simulated


def test_a_write_that_fails_leaves_nothing(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    def fail(*_: Any) -> None:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(os, "replace", fail)
    with pytest.raises(CaseError, match="No space left"):
        files.write_whole(tmp_path / "a.txt", "text")
    assert list(tmp_path.iterdir()) == []


# ------------------------------------------------------------------------------------------------ as a process


def test_alone_it_says_what_it_does_and_the_first_commands(run: Any) -> None:
    status, out, _ = run()
    assert status == 0
    assert out.count("\n  hotside ") == 3
    assert all(len(line) <= 120 for line in out.splitlines())


def test_explain(run: Any) -> None:
    assert "how to measure: caliper" in run("explain", "turbine.wheel_inlet_diameter")[1]
    assert "cylinder.N.fuel" in run("explain", "cylinder.3.fuel")[1]
    assert "turbine.area" in run("explain", "turbine")[1]
    listed = run("explain")[1]
    assert all(f"  {name}: " in listed for name in [*names.RESULTS, *SPECS])


@pytest.mark.parametrize("verb", [v for v in cli.VERBS if v not in ("burn", "diagnose", "compare", "sweep")])
@pytest.mark.parametrize("option", ["--plot", "--report"])
def test_no_verb_replaces_a_file_unasked(run: Any, verb: str, option: str, tmp_path: Path) -> None:
    """And it says so before anything is calculated, as of a file with the wrong ending."""
    file = tmp_path / ("a.png" if option == "--plot" else "a.html")
    file.write_text("mine")
    status, _, said = run(verb, option, str(file))
    assert (status, file.read_text()) == (2, "mine")
    assert "is there already" in said
    assert "write for example " + option in run(verb, option, str(tmp_path / "a.txt"))[2]


def test_without_a_verb_nothing_heavy_is_loaded() -> None:
    code = (
        "import sys; sys.argv=['hotside','explain','run.boost']\n"
        "from hotside.sim import cli\n"
        "try: cli.main()\nexcept SystemExit: pass\n"
        "print([m for m in ('numba','scipy','numpy','pint','cantera','CoolProp','matplotlib') if m in sys.modules])"
    )
    out = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True).stdout
    assert out.splitlines()[-1] == "[]"


def test_import_of_the_package_is_cheap() -> None:
    code = "import sys, hotside.sim; print([m for m in ('pydantic','numba','numpy','typer') if m in sys.modules])"
    out = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True).stdout
    assert out.strip() == "[]"


def test_loading_a_case_is_quick() -> None:
    load()
    best = min(_timed(load) for _ in range(5))
    assert best < 0.02  # measured 1.5 ms; room for a busy machine


def _timed(work: Callable[[], Any]) -> float:
    start = time.perf_counter()
    work()
    return time.perf_counter() - start


def test_a_reader_that_goes_away_is_no_error(tmp_path: Path) -> None:
    command = f'"{sys.executable}" -m hotside.sim.cli explain | head -1'
    done = subprocess.run(["bash", "-c", command], capture_output=True, text=True, check=True, cwd=tmp_path)
    assert done.stdout == "results:\n"
    assert done.stderr == ""


def test_the_command_line_holds_no_physics() -> None:
    tree = ast.parse(Path(cli.__file__).read_text())
    imported = [node.module or "" for node in ast.walk(tree) if isinstance(node, ast.ImportFrom)]
    assert not any("models" in name for name in imported)
    assert max(len(ast.unparse(n).splitlines()) for n in ast.walk(tree) if isinstance(n, ast.FunctionDef)) < 40


def test_the_real_solver_end_to_end(tmp_path: Path) -> None:
    pytest.importorskip("hotside.sim.steady")
    command = [sys.executable, "-m", "hotside.sim.cli", "predict", "--json"]
    done = subprocess.run(command, capture_output=True, text=True, cwd=tmp_path)
    assert done.returncode == 0, done.stderr
    found = json.loads(done.stdout)
    assert set(DESIGN) <= set(found)
    assert found["converged"] is True
    assert "Traceback" not in done.stderr


def test_margins_are_printed_in_the_unit_of_their_limit() -> None:
    for name, kind in (
        ("probe_temperature", "temperature"),
        ("knock_margin", "angle"),
        ("knock_margin_deg", "angle"),
        ("peak_pressure", "pressure"),
        ("turbine_inlet_temperature_k", "temperature"),
        ("shaft_speed", "rotation"),
        ("tip_speed", "speed"),
        ("backpressure_ratio", "number"),
        ("injector_duty", "fraction"),
    ):
        assert table_print.margin_kind(name) == kind, name


def test_the_starting_case_says_what_is_a_guess(run: Any, tmp_path: Path) -> None:
    run("new", str(tmp_path / "a.toml"))
    text = (tmp_path / "a.toml").read_text()
    assert text.count("# guess: ") > 30
    assert "fill with water" in text
    tomllib.loads(text)


def test_a_point_without_an_answer_is_one_sentence(monkeypatch, capsys):
    from hotside.sim import cli, errors, steady

    def lost(*_, **__):
        raise errors.SolveError("no periodic answer at 500 rpm.")

    monkeypatch.setattr(steady, "solve", lost)
    monkeypatch.setattr("sys.argv", ["hotside", "predict"])
    with pytest.raises(SystemExit) as ended:
        cli.main()
    assert ended.value.code == 2
    assert capsys.readouterr().err.splitlines()[-1] == "hotside: no periodic answer at 500 rpm."


@pytest.mark.parametrize("verb", [["predict"], ["spool"]])
def test_sentences_are_said_in_the_units_asked_for(verb, tmp_path):
    """Warnings and what is said of the tap too, not only tables: no bar, degC or mm for a reader of psi, degF and inches."""
    case = str(Path(__file__).resolve().parent.parent / "examples" / "divided_four.toml")
    words = [*verb, case, "--units", "us", "--set", "run.speed=2300 rpm", "--set", "run.boost=1.3 bar"]
    words += ["--set", "pressure_tap.bore=3 mm", "--set", "pressure_tap.length=600 mm"]
    done = subprocess.run(
        [sys.executable, "-m", "hotside.sim", *words], capture_output=True, text=True, cwd=tmp_path, timeout=300
    )
    assert done.returncode == 0, done.stderr
    assert "psi" in done.stdout
    assert not re.search(r"\d (bar|degC|mm|kPa|K|kW|Nm)\b", done.stdout.split("submodels")[0])


def test_a_prediction_that_draws_nothing_loads_no_drawing() -> None:
    """Matplotlib and Plotly take half a second of a run; a page or a picture asks for them."""
    code = (
        "import sys; from hotside.sim.cli import main\n"
        "sys.argv = ['hotside', 'predict']\n"
        "try: main()\n"
        "except SystemExit: pass\n"
        "print([m for m in sys.modules if m.split('.')[0] in ('matplotlib', 'plotly')][:3])"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, timeout=600)
    assert done.returncode == 0, done.stderr
    assert done.stdout.strip().endswith("[]")


def test_a_warm_prediction_loads_no_linear_algebra() -> None:
    """Kernels that lean on sums of arrays import it where they are loaded from the cache: a tenth of a second of each run."""
    code = "import sys; from hotside.sim import load, predict; predict(load()); print([m for m in sys.modules if m == 'scipy.linalg'])"
    for _ in range(2):  # the first may compile
        done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, timeout=600)
        assert done.returncode == 0, done.stderr
    assert done.stdout.strip() == "[]"


RING = """
import atexit, gc
from hotside.sim.garbage import SELDOM, seldom

class Ring:
    def __init__(self):
        self.me = self
    def __del__(self):
        print("looked for garbage")

{begin}
atexit.register(print, "done at the end")
assert gc.isenabled() and gc.get_threshold()[0] == SELDOM
Ring()
"""


@pytest.mark.parametrize(
    ("begin", "said"),
    [("seldom()", "done at the end\n"), ("gc.set_threshold(SELDOM)", "done at the end\nlooked for garbage\n")],
)
def test_the_end_of_a_process_looks_for_no_garbage(begin, said):
    """A fifth of a second of every command went there; what others have asked for at the end is done all the same."""
    done = subprocess.run([sys.executable, "-c", RING.format(begin=begin)], capture_output=True, text=True, check=True)
    assert done.stdout == said
