"""The one sentence a user reads for each thing wrong: dotted name, value, what is allowed, what to write."""

import difflib
from typing import Any

from pydantic import ValidationError

from .schema import Section, places, section_in, walk

ORDER = {"extra_forbidden": 0, "missing": 2}  # a misspelt name explains the missing one, so it is said first
SYNONYMS = {  # what else the trade says -> input
    "a/r": "turbine.a_over_r", "ar": "turbine.a_over_r", "timing": "run.spark_advance", "ignition": "run.spark_advance",
    "rpm": "run.speed", "egt": "limits.probe_temperature", "map": "run.intake_pressure", "trim": "turbine.wheel_outlet_diameter",
    "inducer": "compressor.inducer_diameter", "exducer": "turbine.wheel_outlet_diameter", "backpressure": "run.held_backpressure",
}  # fmt: skip


def sentences(error: ValidationError, root: type[Section]) -> list[str]:
    """One sentence for each thing pydantic found wrong."""
    found = sorted(error.errors(include_url=False), key=lambda item: ORDER.get(item["type"], 1))
    return [_sentence(item, root) for item in found]


def written(value: Any) -> str:
    """A value as the user wrote it, shortened."""
    if isinstance(value, bool):
        return str(value).lower()
    text = f'"{value}"' if isinstance(value, str) else repr(value)
    text = " ".join("".join(c if c.isprintable() else " " for c in text[:200]).split())
    return text if len(text) <= 60 else text[:57] + "..."


def dotted(loc: tuple[Any, ...]) -> str:
    """Dotted name of a place in the case; a table that repeats counts from 1."""
    return written_name(".".join(str(part + 1) if isinstance(part, int) else str(part) for part in loc))


def written_name(name: str, most: int = 60) -> str:
    """A name as the user wrote it, shortened."""
    name = " ".join("".join(c if c.isprintable() else " " for c in name[: 2 * most]).split())
    return name if len(name) <= most else name[: most - 3] + "..."


def _owner(loc: tuple[Any, ...], root: type[Section]) -> type[Section] | None:
    """The section a place belongs to."""
    section: type[Section] | None = root
    for part in loc[:-1]:
        if section is not None and not isinstance(part, int):
            inner = (section_in(i.annotation) for f, i in section.model_fields.items() if (i.alias or f) == part)
            section = next((found[0] for found in inner if found), None)
    return section


def _sentence(item: Any, root: type[Section]) -> str:
    loc, kind, value = tuple(item["loc"]), item["type"], item["input"]
    name = dotted(loc)
    owner = _owner(loc, root)
    spec = next((p.spec for p in places(owner) if p.key == loc[-1]), None) if owner and loc else None
    if kind == "extra_forbidden":
        return unknown(name, root)
    if kind == "missing":
        return f"{name} is missing: " + (f"{spec.meaning}; {spec.advice}." if spec else f"write a table [{name}].")
    if spec is None:
        return f"{name} = {written(value)} is not a table; write it as {_table(loc, root)}."
    clause = str(item["ctx"]["error"]) if kind == "value_error" else "has the wrong type"
    return f"{name} = {written(value)} {clause}" + (f"; {spec.advice}." if spec.advice else ".")


def _table(loc: tuple[Any, ...], root: type[Section]) -> str:
    """How the table at a place is headed."""
    names = [part for part in loc if not isinstance(part, int)]
    inner = section_in(root.model_fields[names[0]].annotation) if names and names[0] in root.model_fields else None
    heading = ".".join(names)
    return f"[[{heading}]]" if inner and inner[1] else f"[{heading}]"


def unknown(name: str, root: type[Section]) -> str:
    """The sentence for a name that is no input, with the nearest that is."""
    known = [n for n, _ in walk(root)]
    inner = next((n for n in known if n.startswith(f"{name}.")), None)
    if inner is not None:
        return f'{name} is a table of inputs; name one of them, such as "{inner}".'
    near = nearest(".".join("N" if part.isdigit() else part for part in name.split(".")), known)
    return f"{written_name(name)} is no known input" + (
        f'; did you mean "{near}"?' if near else '; "hotside explain" lists them.'
    )


def nearest(name: str, known: list[str]) -> str:
    """The input or section that was most likely meant; empty where nothing is like it."""
    last = name.rsplit(".", 1)[-1].casefold()
    if last in SYNONYMS:
        return SYNONYMS[last]
    endings = {n.rsplit(".", 1)[-1]: n for n in reversed(known)}
    tables = dict.fromkeys(n.rsplit(".", 1)[0] for n in known)
    close = difflib.get_close_matches
    alike = close(name, [*known, *tables], 1, 0.8) or [endings[e] for e in close(last, endings, 1, 0.75)]
    alike = alike or close(name, known, 1, 0.6)
    return alike[0] if alike else ""
