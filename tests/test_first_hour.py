"""The first hour: examples under every help, completion, progress on one line, tables that fit, tables in a notebook."""

import os
import re
import shlex
import subprocess
import sys
from pathlib import Path

import pytest
from hotside.sim import cli, load, options, predict
from hotside.sim.command_examples import EXAMPLES
from hotside.sim.guesses import worth_measuring
from hotside.sim.sections import SPECS
from hotside.sim.table_print import print_prediction

SIX = Path(__file__).resolve().parent.parent / "examples" / "tractor_six.toml"
COMMANDS = ["predict", "new", "explain", *cli.VERBS]
SLOW = {"uncertainty", "limits", "plan", "lookalikes", "spool", "compare", "diagnose", "placement", "improve"}


def hotside(*words, folder=None):
    return subprocess.run(
        [sys.executable, "-m", "hotside.sim.cli", *words], capture_output=True, text=True, cwd=folder, timeout=600
    )


@pytest.mark.parametrize("verb", COMMANDS)
def test_the_help_of_a_command_has_an_example(verb):
    out = hotside(verb, "--help").stdout
    assert EXAMPLES[verb]
    for line in EXAMPLES[verb]:
        assert f"\n    {line}\n" in out  # on a line of its own, not wrapped


@pytest.mark.parametrize("verb", [pytest.param(v, marks=[pytest.mark.slow] if v in SLOW else []) for v in COMMANDS])
def test_the_example_runs_in_an_empty_folder(verb, tmp_path):
    for line in dict.fromkeys((*EXAMPLES["new"], *EXAMPLES[verb])):
        words = shlex.split(line)
        assert words[0] == "hotside"
        done = hotside(*words[1:], folder=tmp_path)
        assert done.returncode == 0, done.stderr
        assert done.stdout.strip()
        for file in re.findall(r"--(?:plot|out|report) (\S+)", line):
            assert (tmp_path / file).stat().st_size > 500


def test_a_prediction_begins_with_what_matters():
    from hotside.sim.verdict import verdict

    p = predict(load(SIX)).to_dict()
    first, probes, last = verdict(p, "metric")
    assert f"{p['power_w'] / 1e3:.1f} kW" in first
    assert f"{p['backpressure_ratio']:.2f} times the boost" in first
    assert f"{p['probes'][0]['reading_k'] - 273.15:.0f} degC" in probes
    past = [m for m in p["margins"] if m["exceeded"]]
    assert last.startswith("PAST ITS LIMIT" if past else f"Inside all {len(p['margins'])} limits")
    worse = dict(p, margins=[{"name": "knock_margin_deg", "margin": -1.6, "exceeded": True}])
    assert verdict(worse, "us")[-1] == "PAST ITS LIMIT: knock margin by 1.6 deg."


def test_the_reference_is_built_without_a_word(tmp_path):
    pytest.importorskip("pdoc")
    command = [sys.executable, "-m", "pdoc", "hotside.sim", "hotside.models", "-o", str(tmp_path)]
    done = subprocess.run(command, capture_output=True, text=True, timeout=600)
    assert (done.returncode, done.stderr) == (0, "")
    page = (tmp_path / "hotside" / "sim.html").read_text()
    import hotside.sim

    assert [name for name in hotside.sim.__all__ if f'id="{name}"' not in page] == []


def test_no_file_hides_a_public_name():
    """A module loaded from inside the package becomes its attribute, in place of a verb of the same name."""
    import hotside.sim

    room = Path(hotside.sim.__file__).parent
    files = {p.stem for p in room.glob("*.py")} | {p.name for p in room.iterdir() if p.is_dir()}
    assert files & set(hotside.sim.__all__) == set()


def test_completion_knows_every_command():
    done = subprocess.run(
        [sys.executable, "-m", "hotside.sim.cli", "--help"], capture_output=True, text=True, check=True
    )
    assert "--install-completion" in done.stdout
    assert all(verb in done.stdout for verb in COMMANDS)


@pytest.mark.parametrize(
    ("typed", "wanted"),
    [
        ("hotside pl", {"plan", "placement"}),
        ("hotside predict --op", {"--operating-line"}),
        ("hotside explain knock_m", {"knock_margin_deg", "knock_margin_bad_cycle_deg"}),
        ("hotside predict --set run.bo", {"run.boost="}),
        ("hotside sweep --vary turbine.a_", {"turbine.a_over_r="}),
    ],
)
def test_a_shell_completes_commands_options_and_names(typed, wanted):
    asked = {"_HOTSIDE_COMPLETE": "complete_bash", "COMP_WORDS": typed, "COMP_CWORD": str(typed.count(" "))}
    start = "import sys; sys.argv = ['hotside']; from hotside.sim.cli import main; main()"
    done = subprocess.run([sys.executable, "-c", start], capture_output=True, text=True, env=os.environ | asked)
    assert set(done.stdout.split()) == wanted


def test_progress_is_a_line_for_each_new_thing(capsys):
    options._said.clear()
    for text in ("tables 0%", "tables 2%", "tables 100%", "solving", "point 1 of 3", "point 2 of 3"):
        options.progress(text)
    assert capsys.readouterr().err.splitlines() == ["tables 0%", "solving", "point 1 of 3"]


def test_progress_on_a_terminal_overwrites_its_line(capsys, monkeypatch):
    options._said.clear()
    monkeypatch.setattr(sys.stderr, "isatty", lambda: True, raising=False)
    for text in ("tables 0%", "tables 50%", "solving"):
        options.progress(text)
    assert capsys.readouterr().err == "tables 0%\n\x1b[1A\x1b[2Ktables 50%\nsolving\n"


@pytest.mark.parametrize("family", ["metric", "us"])
def test_the_cylinders_fit_eighty_columns_a_line_each(family):
    from rich.console import Console

    case = load(SIX)
    console = Console(width=80, highlight=False)
    with console.capture() as kept:
        print_prediction(predict(case).to_dict(), case, family, console)
    lines = kept.get().split("\ncylinders\n")[1].split("\n\n")[0].splitlines()
    assert len(lines) == 2 + 6
    assert "…" not in "".join(lines)
    assert [line.split()[0] for line in lines[2:]] == list("123456")
    assert ("degF" if family == "us" else "degC") in lines[1]


def test_guesses_are_ranked_by_the_width_of_their_bands():
    case = load(SIX)
    ranked = worth_measuring(case)
    assert set(ranked) == {name for name, tip in case.guesses.items() if not tip.startswith("never required")}

    def share(name):
        spec, value = SPECS[re.sub(r"\.\d+\.", ".N.", name)], case.get(name)
        return spec.half_width(value) / value if isinstance(value, float) and value else 0.0

    shares = [share(name) for name in ranked]
    assert shares == sorted(shares, reverse=True)
    assert shares[0] > 0.1


def test_a_notebook_shows_tables():
    case = load(SIX)
    shown = case._repr_html_()
    assert "<td>engine.bore</td><td>98 mm</td>" in shown
    assert all(tip.split()[0] in shown for tip in case.guesses.values() if tip)
    p = predict(case)
    html = p._repr_html_()
    assert f"<td>{p.power_w / 1e3:.1f} kW</td><td>power_w</td>" in html
    assert html.count("<table>") == 2


def test_explain_names_the_room_of_a_formula_and_knows_the_trades_words():
    from hotside.sim import explaining, names

    root = Path(names.__file__).resolve().parent.parent
    assert all((root / room).exists() for room in names.ROOMS.values())
    assert "formula: models/knock.py" in "\n".join(explaining.explained("knock_integral"))
    assert "formula: read off the solved cycle" in "\n".join(explaining.explained("boost_pa"))
    assert explaining.explained("timing")[0].startswith("run.spark_advance: ")
