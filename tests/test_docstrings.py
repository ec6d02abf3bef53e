"""Every public function of models/ says what each argument is, in which unit, and what it returns. Read with ast."""

import ast
import re
from pathlib import Path

import pytest

ROOMS = Path(__file__).resolve().parent.parent / "models"
UNIT = r"\[[^\[\]]+\]"
ENTRY = re.compile(rf"^\S.* : .*{UNIT}$", re.S)


def entries(doc: str) -> dict[str, str]:
    """Argument name -> its text, continuation lines (indented) joined."""
    found: dict[str, str] = {}
    name = None
    for line in doc.splitlines():
        match = re.match(r"^(\w+(?:, \w+)*) : ", line)
        if match:
            name = match.group(1)
            found[name] = line.rstrip()
        elif name and line.startswith("    "):
            found[name] += " " + line.strip()
        else:
            name = None
    return {single: text for names, text in found.items() for single in names.split(", ")}


def returned(doc: str) -> str:
    """What follows 'Returns', to the sentence that ends it."""
    match = re.search(r"^Returns? .*", doc, re.S | re.M)
    return match.group(0) if match else ""


def gives_back(node: ast.FunctionDef) -> bool:
    """True where the function returns a value."""
    return any(isinstance(part, ast.Return) and part.value is not None for part in ast.walk(node))


def function_faults(node: ast.FunctionDef) -> list[str]:
    """What the docstring of a function lacks, in words."""
    doc = ast.get_docstring(node)
    if not doc:
        return [f"{node.name}: no docstring"]
    found = entries(doc)
    names = [arg.arg for arg in node.args.posonlyargs + node.args.args + node.args.kwonlyargs]
    wrong = [f"{node.name}: {name} has no line" for name in names if name not in found]
    wrong += [f"{node.name}: {name} ends without a unit" for name, text in found.items() if not ENTRY.match(text)]
    wrong += [f"{node.name}: {name} is no argument" for name in found if name not in names]
    said = returned(doc) if names else doc  # without arguments one sentence may say it all
    if gives_back(node) and not re.search(UNIT, said):
        wrong.append(f"{node.name}: what it returns has no unit")
    return wrong


def record_faults(node: ast.ClassDef, source: str) -> list[str]:
    """Fields that hold numbers and have no unit, neither in the docstring nor in the comment behind them."""
    doc = ast.get_docstring(node)
    if not doc:
        return [f"{node.name}: no docstring"]
    found, lines = entries(doc), source.splitlines()
    wrong = [f"{node.name}: {name} ends without a unit" for name, text in found.items() if not ENTRY.match(text)]
    for part in node.body:
        if isinstance(part, ast.AnnAssign) and re.search("float|ndarray|NDArray", ast.unparse(part.annotation)):
            comment = lines[part.lineno - 1].partition("#")[2]
            if part.target.id not in found and not re.search(UNIT, comment):
                wrong.append(f"{node.name}: {part.target.id} has no unit")
    return wrong


def faults(source: str) -> list[str]:
    """Everything missing in one room."""
    wrong = []
    for node in ast.parse(source).body:
        if isinstance(node, ast.FunctionDef) and not node.name.startswith("_"):
            wrong += function_faults(node)
        elif isinstance(node, ast.ClassDef) and not node.name.startswith("_"):
            wrong += record_faults(node, source)
    return wrong


@pytest.mark.parametrize(
    "path",
    [p for p in sorted(ROOMS.glob("*.py")) if p.stem not in ("__init__", "compiled", "kept")],
    ids=lambda p: p.stem,
)
def test_every_public_function_states_its_units(path):
    assert faults(path.read_text()) == []


def test_there_is_something_to_read():
    assert sum(path.read_text().count("\ndef ") for path in ROOMS.glob("*.py")) > 50


GOOD = '''
class Record(NamedTuple):
    """A record.

    size : float, size [m]
    """

    size: float
    width: float  # across [m]


def f(p, q):
    """Says what.

    p : float, pressure [Pa]
    q : float array (n,), flow that needs
        two lines [kg/s]
    Returns work [J].
    """
    return p
'''


@pytest.mark.parametrize(
    ("old", "new", "complaint"),
    [
        ("pressure [Pa]", "pressure", "p ends without a unit"),
        ("    p : float, pressure [Pa]\n", "", "p has no line"),
        ("work [J]", "work", "what it returns has no unit"),
        ("q : float array", "z : float array", "z is no argument"),
        ("size [m]", "size", "size ends without a unit"),
        ("    size : float, size [m]\n", "", "size has no unit"),
        ("across [m]", "across", "width has no unit"),
        ("two lines [kg/s]", "two lines", "q ends without a unit"),
    ],
)
def test_the_reader_sees_what_is_missing(old, new, complaint):
    assert faults(GOOD) == []
    assert any(complaint in fault for fault in faults(GOOD.replace(old, new)))
