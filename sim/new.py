"""A complete starting case in words: every input, what it means, which are guesses and how to measure them.

The text is made from the declarations of the sections and the values of the embedded demo, so it cannot fall behind
them. A guess is written as a comment: it takes effect, and stops being a guess, when its # is taken away.
"""

from collections.abc import Iterator, Mapping
from pathlib import Path
from textwrap import wrap
from typing import Any

from . import showing
from .case import Case, load
from .files import write_whole
from .schema import QUANTITIES, Section, Spec, places, section_in
from .sections import Sections

WIDTH = 40
LONGEST = 120
HEAD = """\
# A starting case. The values are those of an invented engine: put yours in their place.
#
# 1. Fill in the {count} lines that begin without #, at the top of each section. To hand: a tape measure and a caliper, the cam
#    card, the plates of injectors, pump and turbo, and what you mean to run. Numbers carry their units ("86 mm", "18 psi",
#    "0.63 in"); lambda, ratios and factors carry none.
# 2. Then:  hotside predict {name}
# 3. Lines marked guess hold a stand-in; the line below each says where it comes from and how to measure it. Take the first #
#    away and write your value when you know it: "hotside predict" names those worth most. Lines marked option may stay
#    out, those marked default are choices. The part at the end is for other commands only.
"""
LATER = """
# ---------------------------------------------------------------------------------------------------------------------
# From here on for other commands only; each section stays out until the # before its lines are taken away.
"""
ORDER = ("given", "guess", "option", "setting")  # in a section: first what has to be filled in
STAYS_OUT = " May stay out; to put it in, take one # from each line below."
EXCLUDED = {  # inputs that stand instead of another one, left out of the starting case
    "fuel.blend", "fuel.pump_curve", "run.afr", "run.afr_scale", "run.intake_pressure", "run.intake_temperature", "run.exhaust_pressure",
}  # fmt: skip


def write_new(path: Path, force: bool = False) -> None:
    """Write the starting case; raises CaseError where the file is there already or cannot be written."""
    write_whole(path, starting_case(path.name), force)


def starting_case(name: str = "my.toml") -> str:
    """The text of the starting case."""
    case = load()
    now, later = [f'title = "{case.title}"  # every print and page begins with it: name your engine'], [LATER]
    for place in places(Sections):
        inner = section_in(Sections.model_fields[place.attribute].annotation)
        if inner:
            raw = case.to_dict().get(place.key)
            absent = _left_out(Sections, place.attribute, raw)
            (later if absent else now).extend(_section(inner[0], place.key, inner[1], case, raw, absent))
    count = sum(line[0] not in "#[\n" for line in now)
    return "\n".join([HEAD.format(name=name, count=count), *now, *later]) + "\n"


def _left_out(owner: type[Section], attribute: str, raw: Any) -> bool:
    """Whether a section may be absent, and is."""
    return raw is None and owner.model_fields[attribute].default is None


def _section(
    section: type[Section], name: str, listed: bool, case: Case, raw: Any, absent: bool = False
) -> Iterator[str]:
    """The lines of one section; a table that repeats is written once for each entry, an absent one as a comment."""
    document = (section.__doc__ or "").strip()
    if listed:
        mark, more = ("", "") if raw else ("#", STAYS_OUT)
        yield f"\n# {document}{more}"
        for number, item in enumerate(raw or [{}], 1):
            yield f"{mark}[[{name}]]"
            for line in _inputs(section, f"{name}.{number}", case, item):
                yield from (mark + part for part in line.splitlines())
        return
    mark, more = ("#", STAYS_OUT) if absent else ("", "")
    yield f"\n# {document}{more}\n{mark}[{name}]"
    for line in _inputs(section, name, case, raw or {}):
        yield from (mark + part for part in line.splitlines())
    for place in places(section):
        inner = section_in(section.model_fields[place.attribute].annotation)
        if inner:
            below = (raw or {}).get(place.key)
            gone = absent or _left_out(section, place.attribute, below)
            yield from _section(inner[0], f"{name}.{place.key}", inner[1], case, below, gone)


def _inputs(section: type[Section], name: str, case: Case, raw: Mapping[str, Any]) -> Iterator[str]:
    kept = [(p.key, p.spec) for p in places(section) if p.spec is not None and f"{name}.{p.key}" not in EXCLUDED]
    for key, spec in sorted(kept, key=lambda one: (raw.get(one[0]) is None, ORDER.index(one[1].need))):
        yield _line(key, spec, raw.get(key), _standing(case, f"{name}.{key}"))


def _standing(case: Case, name: str) -> Any:
    """The value that stands in the demo, in SI."""
    return None if name.startswith("cylinder.") else case.get(name)


def _line(key: str, spec: Spec, given: Any, standing: Any) -> str:
    """One input with its value and its comment."""
    if given is not None or (spec.need == "given" and spec.like):
        line = _commented(f"{key} = {toml(given) if given is not None else spec.like}", _words(spec))
        return line + _below(spec.tip, spec.hint)
    role = {"setting": "default"}.get(spec.need, spec.need)
    line = _commented(f"# {key} = {stand_in_text(standing, spec)}", f"{role}: {_words(spec)}")
    if role == "default":
        return line + _below(spec.hint)
    return line + _below("" if literal(spec) or not spec.rule else f"stand-in: {spec.rule}", spec.tip, spec.hint)


def _below(*parts: str) -> str:
    """What stands under an input: where its stand-in comes from, how to measure it."""
    words = "; ".join(part for part in parts if part)
    lines = wrap(words, LONGEST - WIDTH - 4)
    return "".join(f"\n# {'':<{WIDTH}}  {line}" for line in lines)


def _commented(assignment: str, words: str) -> str:
    return f"{assignment:<{WIDTH}}  # {words}"


def _words(spec: Spec) -> str:
    return spec.meaning + (f" ({', '.join(spec.choices)})" if spec.choices else "")


def literal(spec: Spec) -> bool:
    """Whether the rule of a stand-in is the value itself, not a rule in words."""
    try:
        spec.read(spec.rule if spec.kind in QUANTITIES - {"number", "fraction"} else float(spec.rule))
    except ValueError:
        return False
    return True


def stand_in_text(value: Any, spec: Spec) -> str:
    """A stand-in as it would be written, rounded to what a stand-in is worth; the example where there is none."""
    if literal(spec):
        return spec.like
    kind = "pressure" if spec.kind in ("pressure_gauge", "pressure_absolute") else spec.kind
    if kind == "loss" and value:
        return f'"{value[0] / 1e3:.3g} kPa at {value[1]:.3g} kg/s"'
    if kind == "area" and value:
        return f'"{value * 1e4:.4g} cm2"'
    if kind in ("number", "fraction") and isinstance(value, float):
        return f"{value:.3g}"
    if kind in ("list", "table") and value:
        return toml([f"{v:g} deg" if isinstance(v, float) else v for v in value])
    if kind in ("integer", "flag", "choice") and value is not None:
        return toml(value)
    how = showing.METRIC.get(kind)
    if how is None or not isinstance(value, float):
        return spec.like
    return f'"{three_digits((value - how.offset) / how.factor)} {how.unit}"'


def three_digits(value: float) -> str:
    """A number to three digits, without an exponent where it is large."""
    return f"{value:.3g}" if abs(value) < 1000.0 else f"{float(f'{value:.3g}'):.0f}"


def toml(value: Any) -> str:
    """A value in TOML."""
    if isinstance(value, bool):
        return str(value).lower()
    if isinstance(value, str):
        return '"' + value.replace("\\", "\\\\").replace('"', '\\"') + '"'
    if isinstance(value, Mapping):
        return "{ " + ", ".join(f"{k} = {toml(v)}" for k, v in value.items()) + " }"
    if isinstance(value, list | tuple):
        return "[" + ", ".join(toml(item) for item in value) + "]"
    return repr(value)
