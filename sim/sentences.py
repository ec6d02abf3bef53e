"""The one sentence a user reads for each thing wrong: dotted name, value, what is allowed, what to write."""

import difflib
from typing import Any

from pydantic import ValidationError

from .schema import Section, places, section_in, walk


def sentences(error: ValidationError, root: type[Section]) -> list[str]:
    """One sentence for each thing pydantic found wrong."""
    return [_sentence(item, root) for item in error.errors(include_url=False)]


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


def written_name(name: str) -> str:
    """A name as the user wrote it, shortened."""
    name = " ".join("".join(c if c.isprintable() else " " for c in name[:200]).split())
    return name if len(name) <= 60 else name[:57] + "..."


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
    general = ".".join("N" if part.isdigit() else part for part in name.split("."))
    last = general.rsplit(".", 1)[-1]
    tables = list(dict.fromkeys(n.rsplit(".", 1)[0] for n in known))
    near = (
        difflib.get_close_matches(general, [*known, *tables], 1, 0.8)
        or [n for n in known if n.rsplit(".", 1)[-1] == last]
        or difflib.get_close_matches(last, [n.rsplit(".", 1)[-1] for n in known], 1, 0.75)
        or difflib.get_close_matches(general, known, 1, 0.6)
    )
    near = [n for n in known if near and (n == near[0] or n.rsplit(".", 1)[-1] == near[0])] or near
    return f"{written_name(name)} is no known input" + (
        f'; did you mean "{near[0]}"?' if near else '; "hotside explain" lists them.'
    )
