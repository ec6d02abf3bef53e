"""Every example is run: each case solved, each script started as a reader would start it."""

import importlib.util
import itertools
import math
import re
import subprocess
import sys
from pathlib import Path

import pytest
from hotside.sim import load, predict

FOLDER = Path(__file__).resolve().parent.parent / "examples"
CASES = sorted(FOLDER.glob("*.toml"))
SCRIPTS = {  # script -> cases it is started with, what it must say
    "first_steps.py": (("", "uneven.toml"), ("spark 4 deg later", "knock_margin_deg", "an edge")),
    "feedback.py": (("", "uneven.toml"), ("loop adds", "with the fresh air held", "Russ")),
    "walk_through.py": (("", "uneven.toml"), ("of boost", "3 deg later", "pull 1:")),
    "pressure_errors.py": (("", "tractor_six.toml"), ("noise of 1 %", "phase -1 deg", "--peg compression")),
    "submodel_spread.py": (
        ("", "divided_four.toml"),
        ("as it stands", "friction.model = patton", "from lowest to highest"),
    ),
}

STUDIES = {  # study -> a case that is not the demo, what it must say of itself
    "retard_study.py": ("divided_four.toml", ("K/deg", "Heywood", "from memory")),
    "backpressure_study.py": ("tractor_six.toml", ("fresh air held", "SAE 960497", "from memory")),
    "wall_heat_study.py": ("bench.toml", ("SAE 670931", "1607 W/m2K", "from memory")),
}
HELPERS = {"beside.py"}


def started(script: str, *arguments: str) -> subprocess.CompletedProcess:
    return subprocess.run(
        [sys.executable, str(FOLDER / script), *arguments], capture_output=True, text=True, cwd=FOLDER, timeout=300
    )


def module(script: str):
    """A script as a module, so that its numbers can be looked at."""
    sys.path[:0] = [] if str(FOLDER) in sys.path else [str(FOLDER)]  # as it is for a script that is started
    spec = importlib.util.spec_from_file_location(f"example_{Path(script).stem}", FOLDER / script)
    assert spec is not None
    assert spec.loader is not None
    loaded = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(loaded)
    return loaded


def test_every_example_is_known_here():
    assert {path.name for path in FOLDER.glob("*.py")} == set(SCRIPTS) | set(STUDIES) | HELPERS
    assert {path.suffix for path in FOLDER.iterdir() if path.is_file()} == {".py", ".toml", ".csv", ".md"}


# ------------------------------------------------------------------------------------------------------------- cases


def numbers(value):
    """Every number in a nested result."""
    if isinstance(value, dict):
        return [x for inner in value.values() for x in numbers(inner)]
    if isinstance(value, list | tuple):
        return [x for inner in value for x in numbers(inner)]
    return [value] if isinstance(value, float) else []


@pytest.mark.parametrize("path", CASES, ids=lambda p: p.stem)
def test_every_case_settles_and_closes(path):
    p = predict(load(path))
    assert p.converged, p.warnings
    assert p.status == "converged"
    assert p.mass_closure < 1e-6
    assert p.energy_closure < 1e-3
    assert all(math.isfinite(x) for x in numbers(p.to_dict()))
    assert p.power_w > 0.0


def test_the_cases_differ_in_kind():
    """A bench, a divided housing, an area, a curve, cylinders that differ: each door of a case is used by one."""
    cases = [load(path) for path in CASES]
    assert {case.turbine.model for case in cases if case.turbine} == {"area", "hardware", "curve"}
    assert any(case.is_bench for case in cases)
    assert any(case.exhaust.collectors == 2 for case in cases if not case.is_bench)
    assert any(case.cylinder for case in cases)


# ----------------------------------------------------------------------------------------------------------- scripts


@pytest.mark.parametrize(("script", "case"), [(s, c) for s, (cases, _) in SCRIPTS.items() for c in cases])
def test_every_script_runs(script, case):
    done = started(script, *([case] if case else []))
    assert (done.returncode, done.stderr) == (0, "")
    for words in (*SCRIPTS[script][1], load(FOLDER / case if case else None).title):
        assert words in done.stdout
    assert not re.search(r"\bnan\b|\binf\b|Traceback", done.stdout)


@pytest.mark.parametrize("script", STUDIES)
def test_every_study_runs(script, tmp_path):
    """On another case than its picture shows: what it finds beside what is reported, and a picture."""
    case, words = STUDIES[script]
    done = started(script, case, "--quick", "--picture", str(tmp_path / "study.png"))
    assert done.returncode == 0, done.stderr
    for word in (*words, load(FOLDER / case).title, "Beside the literature", "not a measurement"):
        assert word in done.stdout
    assert "agrees" in done.stdout
    assert not set(re.findall(r"[\w.]+", done.stdout)) & {"nan", "inf", "Traceback"}  # annand is a name
    assert (tmp_path / "study.png").read_bytes().startswith(b"\x89PNG")
    assert (FOLDER / "pictures" / script.replace(".py", ".png")).exists()


def test_retard_study_finds_the_trends():
    """Later burning leaves less time to expand, so gas leaves hotter, ever more steeply; a rich mixture burns cooler."""
    retard = module("retard_study.py")
    found = retard.study(load(FOLDER / "divided_four.toml"), quick=True)
    near, late = (retard.slope(found, "exhaust_temperature_k", *ends) for ends in ((0.0, 6.0), (10.0, 20.0)))
    assert (near > 1.0).all()
    assert (late > 1.5 * near).all()
    hot = retard.at_retard(found, "exhaust_temperature_k", 0.0)
    assert (hot[1:] - hot[:-1] > 20.0).all()
    assert 0.0 < 1.0 - retard.at_retard(found, "torque_nm", 10.0)[1] / retard.best(found)[1][1] < 0.06


def test_backpressure_study_holds_the_air_and_asks_for_octane():
    """With the fresh air held, backpressure adds hot residual gas to the same charge: more octane than at fixed pressure."""
    backpressure = module("backpressure_study.py")
    found = backpressure.study(load(FOLDER / "tractor_six.toml"), quick=True)
    fixed, fresh = backpressure.lines(found)
    air = fresh["air_flow_kg_s"].dropna(backpressure.BACK).values
    assert len(air) >= 4
    assert air == pytest.approx([air[0]] * len(air), rel=2e-3)
    assert backpressure.slope(found, fixed, "air_flow_kg_s", 1.0) < 0.0
    rises = [backpressure.slope(found, line, "octane_required", backpressure.STEP) for line in (fixed, fresh)]
    assert 0.5 < rises[1] < 2.0
    assert abs(rises[0]) < 0.5 * rises[1]
    assert backpressure.slope(found, fixed, "pmep_pa", 1.0) < 0.0


def test_wall_heat_study_trades_wall_for_exhaust():
    """Energy is kept: what a model takes to the walls is missing in the exhaust; a factor of 1.4 takes more."""
    walls = module("wall_heat_study.py")
    maps = walls.study(load(FOLDER / "bench.toml"), quick=True)
    assert walls.cooler(maps)
    bare, full = (walls.at_best(maps[k], "wall_heat_fraction") for k in (walls.PUBLISHED, walls.DEFAULT))
    assert (full[:2] > 1.2 * bare[:2]).all()
    assert full[2] == pytest.approx(bare[2], rel=1e-9)  # Annand's factor is 1 by default


def test_feedback_refuses_a_bench():
    done = started("feedback.py", "bench.toml")
    assert done.returncode != 0
    assert done.stderr.strip() == "this example needs a case with a turbo"


def test_feedback_asks_for_less_where_the_turbine_makes_no_more(capsys):
    feedback = module("feedback.py")
    points = feedback.loop(load().set_all({"run.speed": "2500 rpm", "run.boost": "1.8 bar"}))
    assert "makes no more than" in capsys.readouterr().out
    now, more = points["now, loop"], points["more, loop"]
    assert now.boost_reached
    assert more.boost_pa > now.boost_pa


@pytest.fixture(scope="module", params=["", "uneven.toml", "divided_four.toml"], ids=lambda c: c or "demo")
def chain(request):
    """The example's own numbers for one case."""
    feedback = module("feedback.py")
    case = load(FOLDER / request.param if request.param else None)
    points = feedback.loop(case)
    return points, *feedback.steps(case, points["now, loop"])


def test_the_loop_adds_what_no_open_calculation_shows(chain):
    """More boost raises the manifold pressure, and that alone costs residual, heat, knock, pumping and power."""
    points = chain[0]
    held, more_held, now, more = (points[name] for name in ("now, held", "more, held", "now, loop", "more, loop"))
    assert more.boost_pa == pytest.approx(more_held.boost_pa, abs=1.0)
    assert more.backpressure_pa > now.backpressure_pa + 5e3
    assert more_held.backpressure_pa == pytest.approx(held.backpressure_pa, abs=1.0)

    def adds(name):
        return (getattr(more, name) - getattr(now, name)) - (getattr(more_held, name) - getattr(held, name))

    assert adds("residual_fraction") > 1e-3
    assert adds("exhaust_temperature_k") > 1.0
    assert adds("octane_required") > 0.1
    assert adds("pmep_pa") < -3e3
    assert adds("power_w") < -1e3
    assert adds("air_flow_kg_s") < -1e-3


def test_backpressure_and_knock(chain):
    """Fresh air held: 0.5 to 2 octane for each 30 kPa (published about 1, S. Russ, SAE 960497, 1996, abstract).

    At fixed intake pressure it nearly cancels, and is less than that in any case.
    """
    _, fixed, fresh = chain
    per_step = module("feedback.py").octane_per_step
    assert 0.5 <= per_step(fresh) <= 2.0
    assert abs(per_step(fixed)) < 0.5 * per_step(fresh)
    for points in (fixed, fresh):
        rise = [b.backpressure_pa - a.backpressure_pa for a, b in itertools.pairwise(points)]
        assert rise == pytest.approx([30e3] * 4, abs=1.0)
        residual = [p.residual_fraction for p in points]
        assert residual == sorted(residual)
    assert [p.air_flow_kg_s for p in fresh] == pytest.approx([fresh[0].air_flow_kg_s] * 5, rel=1e-5)
    assert [p.boost_pa for p in fixed] == pytest.approx([fixed[0].boost_pa] * 5, abs=1.0)


@pytest.mark.parametrize("case", ["tractor_six.toml", "uneven.toml"])
def test_submodel_spread(case, tmp_path):
    """Each rival moves what it may and nothing else; the page holds the same tables."""
    one = module("submodel_spread.py")
    rows = dict(one.spread(load(FOLDER / case)))
    now, patton = rows["as it stands"], rows["friction.model = patton"]
    assert patton.power_w != pytest.approx(now.power_w, rel=1e-3)
    assert patton.exhaust_temperature_k == pytest.approx(now.exhaust_temperature_k, rel=1e-3)
    bare = rows["wall_heat.scale = 1, as published"]
    assert bare.exhaust_temperature_k > now.exhaust_temperature_k + 10.0  # less heat to the walls leaves hotter gas
    later = rows["knock.window_end = evo"]
    assert later.octane_required > now.octane_required  # a longer window can only add
    imposed = rows["burn.model = imposed"]
    assert imposed.ca50_deg == pytest.approx(now.ca50_deg, abs=2.0)  # the same place and length of the burn
    turbine = next(p for words, p in rows.items() if words.startswith("turbine.model"))
    assert turbine.backpressure_pa == pytest.approx(now.backpressure_pa, rel=0.3)  # the same flow at most
    page = tmp_path / "spread.md"
    assert started("submodel_spread.py", case, "--page", str(page)).returncode == 0
    assert "| from lowest to highest |" in page.read_text()


def test_submodel_spread_refuses_a_bench():
    done = started("submodel_spread.py", "bench.toml")
    assert done.returncode == 2
    assert done.stderr.strip().endswith("this example needs a case with a turbo")


def test_first_steps_later_spark():
    """What the example shows: later spark, hotter exhaust, more knock margin, less torque."""
    case = load()
    now, later = predict(case), predict(case.set("run.spark_advance", "13 deg"))
    assert later.exhaust_temperature_k > now.exhaust_temperature_k + 5.0
    assert later.knock_margin_deg > now.knock_margin_deg + 2.0
    assert later.torque_nm < now.torque_nm
