"""The import arrow: examples, tests, benchmarks -> sim -> models -> numerical libraries. Read with ast, not by trust."""

import ast
import sys
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parent.parent
# Base rooms, which every other room may lean on, and what each of them may lean on itself.
BASES: dict[str, set[str]] = {
    "kept": set(),
    "within": {"kept"},
    "compiled": {"within"},
    "gas_table": {"compiled"},
    "mixture": {"compiled", "gas_table"},
    "composition": {"compiled", "gas_table", "mixture"},
    "burned": {"compiled", "gas_table", "composition"},
    "gas": {"gas_table", "mixture", "composition", "burned"},
    "flow": {"compiled"},
    "threads": set(),
    "discs": set(),
    "typek": set(),
    "endurance": set(),
    "transport": {"compiled"},
    "speed_line": set(),
}
# Parts of one room, which alone may lean on them.
PARTS: dict[str, dict[str, set[str]]] = {
    "turbine": {"expansion": {"compiled"}, "swallowing": {"compiled"}, "turbine_map": {"expansion", "speed_line"}},
    "compressor": {"compression": {"compiled"}, "wheel": {"compiled", "flow"}, "chart": {"compiled", "speed_line"}},
    "nitric_oxide": {"equilibrium": set()},
    "flange": {"tightening": {"threads"}, "compliance": {"threads"}},
    "gauges": {"probe": set(), "junction": {"compiled", "probe", "transport"}},
    "tap": {"line_heat": {"compiled", "transport"}, "line_sound": {"compiled", "transport"}},
}
NUMERICAL = {"numpy", "scipy", "cantera", "CoolProp", "numba"}
HELPER_ONLY = {"platformdirs", "os", "pathlib", "hashlib", "llvmlite"}  # the keeper of kernels alone touches files
BARE = {"models", "sim", "tests", "benchmarks", "examples"}


def imports(source: str) -> set[tuple[int, str]]:
    """Every import as (number of leading dots, dotted name down to what is imported)."""
    found = set()
    for node in ast.walk(ast.parse(source)):
        if isinstance(node, ast.Import):
            found |= {(0, alias.name) for alias in node.names}
        elif isinstance(node, ast.ImportFrom):
            base = f"{node.module}." if node.module else ""
            found |= {(node.level, base + alias.name) for alias in node.names}
    return found


def wrong_in_models(room: str, source: str) -> set[str]:
    """Imports a room of models/ may not have."""
    allowed_rooms = set(BASES) | set(PARTS.get(room, ()))
    for known in (BASES, {"__init__": set()}, *PARTS.values()):
        allowed_rooms = known.get(room, allowed_rooms)
    allowed = NUMERICAL | (sys.stdlib_module_names - HELPER_ONLY) | (HELPER_ONLY if room == "kept" else set())
    wrong = set()
    for dots, name in imports(source):
        top = name.split(".")[0]
        if not (top in allowed if dots == 0 else dots == 1 and top in allowed_rooms):
            wrong.add("." * dots + name)
    return wrong


def wrong_in_sim(source: str, depth: int = 0) -> set[str]:
    """sim/ reaches its own rooms and models/ by relative imports, and nothing that leans on sim.

    depth : how many folders below sim/ the file lies
    """
    wrong = set()
    for dots, name in imports(source):
        top = name.split(".")[0]
        if (
            dots > 2 + depth
            or (dots == 2 + depth and top != "models")
            or (dots == 0 and top in BARE | {"hotside", "pytest"})
        ):
            wrong.add("." * dots + name)
    return wrong


def wrong_outside(source: str) -> set[str]:
    """Tests, examples and benchmarks use the installed name only."""
    wrong = set()
    for dots, name in imports(source):
        parts = name.split(".")
        stray = parts[0] == "hotside" and len(parts) > 1 and parts[1] not in ("sim", "models")
        if dots or parts[0] in BARE or stray:
            wrong.add("." * dots + name)
    return wrong


def files(folder: str) -> list[Path]:
    return sorted((ROOT / folder).rglob("*.py"))


@pytest.mark.parametrize("path", files("models"), ids=lambda p: p.stem)
def test_models_lean_on_numerical_libraries_and_base_rooms_only(path):
    assert wrong_in_models(path.stem, path.read_text()) == set()


@pytest.mark.parametrize("path", files("sim"), ids=lambda p: str(p.relative_to(ROOT)))
def test_sim_leans_on_models_only(path):
    assert wrong_in_sim(path.read_text(), len(path.relative_to(ROOT / "sim").parts) - 1) == set()


@pytest.mark.parametrize(
    "path", files("tests") + files("examples") + files("benchmarks"), ids=lambda p: str(p.relative_to(ROOT))
)
def test_the_outer_ring_uses_the_installed_name(path):
    assert wrong_outside(path.read_text()) == set()


def test_there_is_something_to_walk():
    assert {path.stem for path in files("models")} >= set(BASES).union(*PARTS.values())
    assert files("sim")


@pytest.mark.parametrize(
    "line",
    [
        "from ..sim import cycle",
        "from ..sim.cycle import run",
        "from . import wastegate",
        "from .valves import area",
        "import hotside.sim",
        "from hotside.models import gas",
        "import pandas",
        "import pathlib",
        "def f():\n    from .knock import delay",
    ],
)
def test_the_walker_sees_a_room_that_breaks_the_arrow(line):
    assert wrong_in_models("turbine", line)


def test_the_walker_lets_pass_what_is_allowed():
    fine = "import math\nimport numpy as np\nfrom scipy.optimize import brentq\nfrom . import gas, flow\nfrom .compiled import compiled"
    assert wrong_in_models("turbine", fine) == set()
    assert wrong_in_models("gas", "from .turbine import x") == {".turbine.x"}
    assert wrong_in_models("flow", "from . import gas") == {".gas"}
    assert wrong_in_models("gas_table", "from .burned import x") == {".burned.x"}
    assert wrong_in_models("turbine", "from .swallowing import x") == set()
    assert wrong_in_models("wastegate", "from .swallowing import x") == {".swallowing.x"}
    assert wrong_in_models("swallowing", "from .turbine import x") == {".turbine.x"}


def test_base_rooms_lean_one_way():
    """Sorted so that each leans on earlier ones only: no import comes round in a circle."""
    done: set[str] = set()
    left = dict(BASES)
    while left:
        free = {room for room, needs in left.items() if needs <= done}
        assert free, f"a circle among {sorted(left)}"
        done |= free
        left = {room: needs for room, needs in left.items() if room not in free}


@pytest.mark.parametrize(
    "line", ["from models import gas", "import sim", "from tests.x import y", "from ..benchmarks import z"]
)
def test_the_walker_sees_bare_and_outward_imports(line):
    assert wrong_in_sim(line)
    assert wrong_outside(line)


@pytest.mark.parametrize("path", sorted((ROOT / "sim").glob("*.py")), ids=lambda p: p.stem)
def test_the_core_does_not_lean_on_a_verb(path):
    """But for the two doors, which load a verb when it is asked for."""
    if path.stem not in ("cli", "__init__"):
        assert [name for _, name in imports(path.read_text()) if name.startswith("verbs")] == []
