"""Where the numbers come from: versions, a digest of our own sources, the constants of the physics, what decides a sweep."""

import hashlib
import importlib
import importlib.metadata
import json
from functools import cache
from pathlib import Path
from typing import Any

from ...case import Case
from .design import Design
from .point import LEAST, MOST, SHARES

LIBRARIES = ("numpy", "scipy", "numba", "llvmlite", "cantera", "CoolProp")
PACKAGE = Path(__file__).resolve().parents[3]


@cache
def versions() -> dict[str, str]:
    """Version of this package and of the libraries that decide the numbers."""
    import platform

    try:
        own = importlib.metadata.version("hotside")
    except importlib.metadata.PackageNotFoundError:  # run from its sources
        own = "not installed"
    found = {name: importlib.metadata.version(name) for name in LIBRARIES}
    return {"hotside": own, "sources": sources(), "python": platform.python_version()} | found


@cache
def sources() -> str:
    """Digest of every source file of the physics and of the core; words of the verbs do not count."""
    digest = hashlib.sha256()
    files = [*sorted((PACKAGE / "models").rglob("*.py")), *sorted((PACKAGE / "sim").glob("*.py"))]
    for path in (*files, Path(__file__).with_name("point.py")):
        digest.update(path.name.encode() + path.read_bytes())
    return digest.hexdigest()[:16]


@cache
def constants() -> dict[str, float]:
    """Every named constant of the physics rooms: room.NAME -> value, units and sources where it stands in the source."""
    found = {}
    base = __name__.rsplit(".", 4)[0] + ".models"
    for path in sorted((PACKAGE / "models").glob("*.py")):
        room = importlib.import_module(f"{base}.{path.stem}") if path.stem != "__init__" else None
        for name, value in vars(room).items() if room else ():
            if name.isupper() and isinstance(value, float):
                found[f"{path.stem}.{name}"] = value
    return found


def key(case: Case, design: Design) -> str:
    """Digest of everything that decides the result file: the case as written, the points, the sources, the libraries."""
    parts = (case.to_dict(), design.to_dict(), versions(), (LEAST, SHARES, MOST))
    return hashlib.sha256(json.dumps(parts, sort_keys=True, default=str).encode()).hexdigest()[:32]


def varied(case: Case, design: Design) -> dict[str, Any]:
    """Every input in SI, stand-ins included, by dotted name; those that vary say so."""
    found: dict[str, Any] = {}

    def walk(value: Any, name: str) -> None:
        if isinstance(value, dict):
            for k, v in value.items():
                walk(v, f"{name}.{k}" if name else k)
        elif isinstance(value, list) and value and all(isinstance(item, dict) for item in value):
            for k, item in enumerate(value, 1):
                walk(item, f"{name}.{item.get('number', k)}")
        elif value is not None:
            found[name] = value

    walk(case.to_si(), "")
    return found | dict.fromkeys(design.names, "varied")
