"""The fitted case as a case file: what was written, with each fitted value, where it comes from and its interval."""

from collections.abc import Iterator, Mapping
from pathlib import Path
from typing import Any

from ... import dotted
from ...case import Case, load
from ...files import write_whole
from ...new import toml
from .looks import look
from .result import Diagnosis


def fitted_case(d: Diagnosis) -> Case:
    """The case with every fitted input in it; offsets of gauges belong to the gauges and stay out."""
    return d.case.set_all(_values(d))


def write_fitted(d: Diagnosis, path: Path, force: bool = False) -> None:
    """Write the fitted case; raises CaseError where the file is there already or cannot be written."""
    text = fitted_text(d)
    load_back(text)
    write_whole(path, text, force)


def load_back(text: str) -> Case:
    """The case of a text; what is written must load."""
    import tomllib

    return load(tomllib.loads(text))


def _values(d: Diagnosis) -> dict[str, Any]:
    found = {}
    for row in d.estimates:
        if not row["name"].startswith("sensor."):
            value = float(f"{row['value']:.6g}")
            found[row["name"]] = (
                f"{value:g} deg" if look(row["name"])[1] == "deg" else dotted.in_si(row["name"], value, d.case)
            )
    return found


def fitted_text(d: Diagnosis) -> str:
    """The text of the fitted case."""
    raw = fitted_case(d).to_dict()
    raw["title"] = f"{d.case.title}, fitted to {d.log}"
    notes = {row["name"]: _note(row) for row in d.estimates}
    lines = [
        f"# {d.case.title}: fitted to {d.log}, {d.points} points of {d.rows_used} rows.",
        "# Lines marked fitted were found from the log; the interval holds the truth nine times in ten if the model is right.",
    ]
    if d.doubted:
        lines.append(
            f"# The model does not explain the log (chance {d.misfit_probability:.1g}; see its sentences): take fitted values with doubt."
        )
    for row in d.estimates:
        if row["name"].startswith("sensor."):
            lines.append(f"# {row['words']}: {_figures(row)}, {row['decided_by']}; not part of the case.")
    lines.append("")
    lines.extend(_table(raw, "", notes))
    return "\n".join(lines) + "\n"


def _note(row: Mapping[str, Any]) -> str:
    origin = {
        "data": "fitted",
        "both": "fitted, with what was known before",
        "prior": "not seen by the log, near what was assumed",
    }
    return f"{origin[row['decided_by']]}; {_figures(row)}"


def _figures(row: Mapping[str, Any]) -> str:
    scale, unit = look(row["name"])
    low, high, value = (f"{row[k] / scale:.4g}" for k in ("low", "high", "value"))
    return f"{value}{' ' + unit if unit else ''} (90 %: {low} to {high})"


def _table(table: Mapping[str, Any], prefix: str, notes: Mapping[str, str]) -> Iterator[str]:
    """Lines of a table: its own values first, then the tables within."""
    inner = {k: v for k, v in table.items() if _is_table(v) and not _inline(prefix + k)}
    for key, value in table.items():
        if key not in inner:
            note = notes.get(prefix + key)
            yield f"{_key(key)} = {toml(value)}" + (f"  # {note}" if note else "")
    for key, value in inner.items():
        for number, item in enumerate(value if isinstance(value, list) else [value], 1):
            listed = isinstance(value, list)
            yield f"\n[[{prefix}{key}]]" if listed else f"\n[{prefix}{key}]"
            numbered = f"{prefix}{key}.{item.get('number', number) if listed else ''}".rstrip(".") + "."
            yield from _table(item, numbered if listed else f"{prefix}{key}.", notes)


def _key(key: str) -> str:
    return key if key.replace("_", "").isalnum() and key.isascii() else toml(key)


def _is_table(value: Any) -> bool:
    return isinstance(value, Mapping) or (
        isinstance(value, list) and bool(value) and all(isinstance(v, Mapping) for v in value)
    )


def _inline(name: str) -> bool:
    """Inputs that are tables themselves, written on one line."""
    return name in ("fuel.blend", "log.columns")
