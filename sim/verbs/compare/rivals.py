"""The rivals of a comparison: the case, and the case with what each `--with` changes."""

from collections.abc import Mapping
from pathlib import Path
from typing import Any

from ... import dotted
from ...case import Case, build, load, read_toml
from ...errors import CaseError
from ...options import toml_value

FIRST = "as it is"


def rivals(case: Case, choices: list[str]) -> dict[str, Case]:
    """Name -> case, the given case first; raises CaseError."""
    if not choices:
        raise CaseError(
            'compare: nothing to compare with; say --with larger.toml or --with "turbine.a_over_r=0.82 in".'
        )
    found = {FIRST: case}
    for choice in choices:
        name, rival = one(case, choice)
        if name in found:
            raise CaseError(f"compare: --with {choice} is given twice; give it once.")
        found[name] = rival
    for name, rival in found.items():
        if rival.is_bench or rival.run.held_backpressure is not None:
            raise CaseError(
                f"compare: {name}: there is no turbo loop to compare in a bench case or with held_backpressure."
            )
    return found


def one(case: Case, choice: str) -> tuple[str, Case]:
    """Name and case of one choice: NAME=VALUE, a file with the tables that change, or a whole case file."""
    if "=" in choice and not choice.endswith(".toml"):
        name, _, text = (part.strip() for part in choice.partition("="))
        return choice.strip(), case.set(name, toml_value(text))
    path = Path(choice)
    tables = read_toml(path)
    if "engine" in tables and "run" in tables:
        return path.stem, load(path)
    return path.stem, changed(case, tables, path.parent)


def changed(case: Case, tables: Mapping[str, Any], folder: Path) -> Case:
    """The case with the inputs of some tables changed; a table that names its `model` takes the whole place of the old one."""
    raw = case.to_dict()
    values: dict[str, Any] = {}
    for name, table in tables.items():
        if isinstance(table, dict) and "model" in table:
            raw[name] = table
        else:
            values |= flat(name, table)
    return build(dotted.changed(raw, values), folder)


def flat(name: str, value: Any) -> dict[str, Any]:
    """Dotted names of what stands in a table and below it."""
    if not isinstance(value, dict) or name in ("fuel.blend",):
        return {name: value}
    return {k: v for key, inner in value.items() for k, v in flat(f"{name}.{key}", inner).items()}
