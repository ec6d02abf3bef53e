"""What the README, the developers' page and the studies say is run: commands, code, printed output, names of files.

python tests/test_readme.py      writes what the package prints today into the marked parts of the pages
"""

import csv
import importlib.util
import os
import re
import subprocess
import sys
import tomllib
from collections import Counter
from collections.abc import Callable
from pathlib import Path

import pytest
from hotside.sim import load, predict

ROOT = Path(__file__).resolve().parent.parent
README, DEVELOPERS, STUDIES = ROOT / "README.md", ROOT / "DEVELOPERS.md", ROOT / "examples" / "STUDIES.md"
TABLE = ROOT / "tests" / "published" / "table.csv"
PAGES = [README, DEVELOPERS, STUDIES]
NUMBER = re.compile(r"[-+]?\d+(?:\.\d+)?(?:e[-+]?\d+)?")
SOLVER_LINES = ("mass closure", "energy closure", "cycles simulated")  # they may change with every better solver


# ------------------------------------------------------------------------------------------------------- marked parts


def hotside(*arguments: str, folder: Path | None = None) -> subprocess.CompletedProcess:
    """The command line in a fresh process, 80 columns wide."""
    return subprocess.run(
        [sys.executable, "-m", "hotside.sim.cli", *arguments],
        capture_output=True, text=True, cwd=folder, timeout=300, env=os.environ | {"COLUMNS": "80"},
    )  # fmt: skip


def printed() -> str:
    """What `hotside predict` prints, as a code block."""
    lines = (line.rstrip() for line in hotside("predict").stdout.strip("\n").splitlines())
    return "```text\n" + "\n".join(lines) + "\n```"


def short() -> str:
    """The begin of the same and its margins."""
    text = printed()
    begin = text[: text.index("\n\noperating point")]
    margins = re.search(r"\n\nmargins\n.*?(?=\n\n)", text, re.S)
    assert margins
    return f"{begin}{margins[0]}\n```"


def example(name: str = "feedback"):
    """A script of examples/ as a module."""
    spec = importlib.util.spec_from_file_location(f"example_{name}", ROOT / "examples" / f"{name}.py")
    assert spec is not None
    assert spec.loader is not None
    loaded = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(loaded)
    return loaded


def feedback() -> str:
    """The demo with 0.2 bar more boost, the loop opened and closed."""
    feed = example()
    points = feed.loop(load()).values()
    rows = ["| | manifold pressure held | loop closed | the loop adds |", "| --- | --- | --- | --- |"]
    for label, value, places in feed.ROWS:
        if "boost" not in label:
            a, b, c, d = (value(p) for p in points)
            pairs = f"{a:.{places}f} to {b:.{places}f} | {c:.{places}f} to {d:.{places}f}"
            rows.append(f"| {label} | {pairs} | {(d - c) - (b - a):+.{places}f} |")
    return "\n".join(rows)


def octane() -> str:
    """Octane required for each step of backpressure."""
    feed = example()
    case = load()
    fixed, fresh = (feed.octane_per_step(points) for points in feed.steps(case, predict(case)))
    return f"* {fixed:+.1f} at fixed intake pressure,\n* {fresh:+.1f} with the flow of fresh air held."


def evidence() -> str:
    """The kept table of published checks, counted by subject; `write` runs the checks and keeps it."""
    kinds = ("published", "computed apart", "guard")
    count: Counter[tuple[str, str, str]] = Counter()
    with TABLE.open() as file:
        for row in csv.DictReader(file):
            for subject in (row["subject"].replace("_", " "), "all"):
                count[subject, row["kind"], row["holds"]] += 1
    lines = ["| subject | published | computed apart | guards of a copy |", "| --- | --- | --- | --- |"]
    for subject in [*sorted({s for s, _, _ in count} - {"all"}), "all"]:
        cells = []
        for kind in kinds:
            yes, no = (count[subject, kind, holds] for holds in ("yes", "no"))
            cells.append(f"{yes} of {yes + no}" if yes + no else "")
        lines.append(f"| {subject} | {' | '.join(cells)} |")
    return "\n".join(lines)


def count() -> str:
    """How many of the kept checks hold, in a sentence."""
    held: Counter[tuple[str, bool]] = Counter()
    with TABLE.open() as file:
        for row in csv.DictReader(file):
            held[row["kind"], row["holds"] == "yes"] += 1
    yes, no = held["published", True], held["published", False]
    apart = held["computed apart", True]
    return (
        f"It is checked against the outside: {yes} of {yes + no} figures from publications come out within the tolerance stated "
        f"beside each, and {apart} of {apart + held['computed apart', False]} computed apart from us."
    )


def spread() -> str:
    """The demo with one submodel exchanged in each row."""
    one = example("submodel_spread")
    cases = [load(path or None) for path in one.CASES]
    return "\n\n".join(f"{case.title}:\n\n{one.markdown(one.spread(case))}" for case in cases)


def keep_evidence() -> None:
    """Run the published checks and keep their table."""
    subprocess.run(
        [sys.executable, "-m", "pytest", "-q", str(TABLE.parent)], cwd=ROOT, stdout=subprocess.DEVNULL, check=True,
        env=os.environ | {"PUBLISHED_TABLE": str(TABLE)},
    )  # fmt: skip


MADE: dict[str, Callable[[], str]] = {
    "short": short,
    "predict": printed,
    "feedback": feedback,
    "octane": octane,
    "count": count,
    "evidence": evidence,
    "spread": spread,
}
IN_STUDIES = ("feedback", "octane", "spread")


def page_of(name: str) -> Path:
    """The page that shows a marked part."""
    return STUDIES if name in IN_STUDIES else README


def part(text: str, name: str) -> re.Match[str]:
    """A marked part of the page."""
    found = re.search(rf"(<!-- {name} -->\n)(.*?)(\n?<!-- /{name} -->)", text, re.S)
    assert found, f"{page_of(name).name} marks no part {name}"
    return found


def write() -> None:
    """Put what is printed today into every marked part."""
    keep_evidence()
    for name, make in MADE.items():
        page = page_of(name)
        text = page.read_text()
        found = part(text, name)
        page.write_text(text[: found.end(1)] + make() + "\n" + text[found.start(3) :].lstrip("\n"))


def differences(old: str, new: str) -> list[str]:
    """Lines whose words differ, or whose numbers do by more than 1 % and two of the last figure."""
    before, now = old.strip().splitlines(), new.strip().splitlines()
    wrong = [] if len(before) == len(now) else [f"{len(before)} lines in the page, {len(now)} now"]
    for a, b in zip(before, now, strict=False):
        if not (same_words(a, b) and (any(s in b for s in SOLVER_LINES) or same_numbers(a, b))):
            wrong.append(f"page: {a.strip()}\n now: {b.strip()}")
    return wrong


def same_words(a: str, b: str) -> bool:
    return re.sub(r"[\s-]+", " ", NUMBER.sub("#", a)) == re.sub(r"[\s-]+", " ", NUMBER.sub("#", b))


def same_numbers(a: str, b: str) -> bool:
    def close(x: str, y: str) -> bool:
        last = 10.0 ** -len(x.partition(".")[2]) if "e" not in x else 0.0
        return abs(float(x) - float(y)) <= max(2.001 * last, 0.01 * abs(float(x)))

    left, right = NUMBER.findall(a), NUMBER.findall(b)
    return len(left) == len(right) and all(map(close, left, right))


@pytest.mark.parametrize("name", MADE)
def test_the_page_shows_what_is_printed(name):
    """A page that lies is a defect: `python tests/test_readme.py` writes it anew, then read it."""
    wrong = differences(part(page_of(name).read_text(), name)[2], MADE[name]())
    assert not wrong, "run python tests/test_readme.py and read README.md again:\n" + "\n".join(wrong[:8])


@pytest.mark.parametrize(
    ("a", "b", "same"),
    [
        ("power  203.7 kW", "power 204.1 kW", True),
        ("power  203.7 kW", "power  213.7 kW", False),
        ("power  203.7 kW", "torque 203.7 kW", False),
        ("knock margin  -1.9 deg", "knock margin  1.9 deg", False),
        ("knock margin  -1.9 deg", "knock margin  -2.0 deg", True),
        ("choked no", "choked yes", False),
        ("cycles simulated 24", "cycles simulated 11", True),
        ("one", "one\ntwo", False),
    ],
)
def test_the_comparison_sees_what_matters(a, b, same):
    assert (differences(a, b) == []) is same


def test_what_the_page_says_about_the_demo_is_so():
    p = predict(load())
    assert [m["name"] for m in p.margins if m["exceeded"]] == ["knock_margin_deg", "knock_margin_bad_cycle_deg"]
    assert not p.turbine_choked
    third = next(probe for probe in p.probes if probe["cylinder"] == 3)
    assert third["gas_temperature_k"] - third["reading_k"] > 30.0


# ------------------------------------------------------------------------------------------------- commands and code


def blocks(page: Path, language: str) -> list[str]:
    return re.findall(rf"^```{language}\n(.*?)^```", page.read_text(), re.S | re.M)


def test_the_two_set_up_commands():
    """Each is one line; what it installs exists; CI runs the same tests. Running them whole is what CI is for."""
    job, tests = (block.strip() for block in blocks(README, "sh")[:2])
    project = tomllib.loads((ROOT / "pyproject.toml").read_text())["project"]
    for command, package, last in (
        (job, ".", ".venv/bin/hotside predict"),
        (tests, "'.[test]'", ".venv/bin/python -m pytest"),
    ):
        assert "\n" not in command
        assert command == f"python3 -m venv .venv && .venv/bin/pip install -q {package} && {last}"
    assert "hotside" in project["scripts"]
    assert "test" in project["optional-dependencies"]
    ci = (ROOT / ".ci" / "run").read_text()
    assert ci.rstrip().endswith(tests.rpartition(".venv/bin/")[2].replace("python", '"$work/venv/bin/python"'))
    assert os.access(ROOT / ".ci" / "run", os.X_OK)


def test_the_commands_for_your_engine(tmp_path):
    """Every line of the block, in order, in an empty folder."""
    lines = blocks(README, "sh")[2].splitlines()
    assert len(lines) >= 6
    for line in lines:
        words = [w.strip('"') for w in re.findall(r'[^\s"]*"[^"]*"|\S+', line.split("#")[0].split(">")[0])]
        assert words[0] == "hotside"
        done = hotside(*(w.replace('="', "=") for w in words[1:]), folder=tmp_path)
        assert (done.returncode, line) == (0, line), done.stderr
        assert done.stdout.strip()
    assert (tmp_path / "my.toml").exists()
    assert (tmp_path / "cycle.csv").exists()


@pytest.mark.parametrize("block", blocks(README, "python"))
def test_the_code_runs(block, capsys):
    exec(compile(block, str(README), "exec"), {})
    assert "octane required" in capsys.readouterr().out


# ------------------------------------------------------------------------------------------------- names in the pages


@pytest.mark.parametrize("page", PAGES, ids=lambda p: p.name)
def test_every_file_named_is_there(page):
    text = page.read_text()
    links = {link for link in re.findall(r"\]\(([^)#]+)\)", text) if "://" not in link}
    paths = set(re.findall(r"(?<![\w/.])(?:models|sim|tests|examples|benchmarks|\.ci)/[\w/.*]*\w", text))
    missing = {name for name in paths if not (any(ROOT.glob(name)) if "*" in name else (ROOT / name).exists())}
    assert missing | {link for link in links if not (page.parent / link).exists()} == set()


def test_expected_failures_are_all_in_the_readme():
    """One row for each mark: nothing fails in silence."""
    source = "\n".join(path.read_text() for path in (ROOT / "tests").rglob("test_*.py") if path != Path(__file__))
    marks = source.count("pytest.mark.xfail(")
    table = README.read_text().split("| expected to fail | why |", 1)[1].split("\n\n", 1)[0]
    assert table.strip().count("\n") == marks
    assert source.count("strict=True") >= marks


if __name__ == "__main__":
    write()
