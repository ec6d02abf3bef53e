"""The checked, immutable case: everything in SI as attributes, what the user wrote kept beside it."""

import copy
import hashlib
import json
import tomllib
from collections.abc import Mapping
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from pydantic import ValidationError

from . import units
from .consistency import problems
from .schema import CaseError, Section, Spec, key_of, section_in, sentences, setting, spec_of, unknown, walk, written
from .sections_engine import Burn, Cylinder, Engine, Friction, Fuel, Knock, WallHeat
from .sections_turbo import (
    Ambient,
    Compressor,
    Cooler,
    Exhaust,
    Limits,
    PressureTap,
    Probe,
    Report,
    Run,
    Turbine,
    Wastegate,
)
from .standins import displacement, fill

DEMO = Path(__file__).with_name("demo.toml")
LARGEST_FILE = 1_000_000  # [bytes] a case file has a few thousand


class Sections(Section):
    """All sections of a case."""

    title: str = setting("text", "one line that names the case", to="untitled")
    engine: Engine
    fuel: Fuel
    burn: Burn = Burn()
    wall_heat: WallHeat = WallHeat()
    knock: Knock = Knock()
    friction: Friction = Friction()
    exhaust: Exhaust = Exhaust()
    turbine: Turbine | None = None
    wastegate: Wastegate | None = None
    compressor: Compressor | None = None
    cooler: Cooler | None = None
    ambient: Ambient = Ambient()
    run: Run
    cylinder: tuple[Cylinder, ...] = ()
    probe: tuple[Probe, ...] = ()
    pressure_tap: PressureTap | None = None
    limits: Limits = Limits()
    report: Report = Report()


@dataclass(frozen=True)
class Case:
    """One engine at one operating point. Build it with `load`; change it with `set`, which gives a new one.

    `guesses` maps the dotted name of every stand-in to the tip how to measure it.
    """

    title: str
    engine: Engine
    fuel: Fuel
    burn: Burn
    wall_heat: WallHeat
    knock: Knock
    friction: Friction
    exhaust: Exhaust
    turbine: Turbine | None
    wastegate: Wastegate | None
    compressor: Compressor | None
    cooler: Cooler | None
    ambient: Ambient
    run: Run
    cylinder: tuple[Cylinder, ...]
    probe: tuple[Probe, ...]
    pressure_tap: PressureTap | None
    limits: Limits
    report: Report
    guesses: Mapping[str, str] = field(compare=False, repr=False)
    raw: Mapping[str, Any] = field(compare=False, repr=False)

    @property
    def is_bench(self) -> bool:
        """Whether the engine breathes between two fixed plenums, without a turbo."""
        return self.turbine is None

    @property
    def displacement(self) -> float:
        """Displacement of the engine [m3]."""
        return displacement(self)  # type: ignore[arg-type]

    def set(self, name: str, value: Any) -> "Case":
        """The case with one input changed, `value` written as in a case file; raises CaseError."""
        return self.set_all({name: value})

    def set_all(self, values: Mapping[str, Any]) -> "Case":
        """The case with several inputs changed at once, each written as in a case file; raises CaseError."""
        raw = copy.deepcopy(dict(self.raw))
        for name, value in values.items():
            place(raw, name, value)
        return build(raw)

    def set_si(self, name: str, value: float) -> "Case":
        """The case with one quantity changed, given as a float in SI (angles in degrees); raises CaseError."""
        return self.set(name, in_si(name, value, self))

    def get(self, name: str) -> Any:
        """The value of a dotted input name in SI; raises CaseError for an unknown name."""
        return find(self, name)

    def to_dict(self) -> dict[str, Any]:
        """What was written, as nested tables; `load` reads it back to an equal case."""
        return copy.deepcopy(dict(self.raw))

    def to_si(self) -> dict[str, Any]:
        """Every value in SI as nested tables, stand-ins included."""
        sections = {name: getattr(self, name) for name in Sections.model_fields}
        return {name: _plain(value) for name, value in sections.items()}

    @property
    def digest(self) -> str:
        """Name of the physics of this case: equal for equal cases, whatever units they were written in."""
        values = {k: v for k, v in self.to_si().items() if k not in ("title", "report")}
        return hashlib.sha256(json.dumps(values, sort_keys=True).encode()).hexdigest()[:16]


def load(source: str | Path | Mapping[str, Any] | None = None) -> Case:
    """Read a case from a TOML file or a nested dict; without a source the embedded demo. Raises CaseError."""
    if isinstance(source, Mapping):
        return build(copy.deepcopy(dict(source)))
    path = DEMO if source is None else Path(source)
    return build(read_toml(path), path.parent)


def read_toml(path: Path) -> dict[str, Any]:
    """The tables of a case file; raises CaseError in one sentence for anything that is not one."""
    try:
        if path.is_dir():
            raise CaseError(f"{path} is a directory; name a case file such as my.toml.")
        if path.exists() and path.stat().st_size > LARGEST_FILE:
            raise CaseError(f"{path} is too large for a case file ({path.stat().st_size / 1e6:.1f} MB).")
        text = path.read_bytes().decode("utf-8")
    except UnicodeDecodeError:
        raise CaseError(f'{path} is not a text file; "hotside new my.toml" writes a starting case.') from None
    except (OSError, ValueError) as error:
        reason = getattr(error, "strerror", None) or str(error)
        raise error if isinstance(error, CaseError) else CaseError(f"{path} cannot be read: {reason}.") from None
    if not text.strip():
        raise CaseError(f'{path} is empty; "hotside new" writes a starting case.')
    try:
        return tomllib.loads(text)
    except (tomllib.TOMLDecodeError, RecursionError) as error:
        raise CaseError(f"{path} is not valid TOML: {str(error) or 'nested too deep'}.") from None


def build(raw: dict[str, Any], folder: Path | None = None) -> Case:
    """Check the tables, fill in the stand-ins; raises CaseError with the first thing wrong and the number of others."""
    _read_curve(raw, folder)
    try:
        sections = Sections.model_validate(_with_turbo(raw))
    except ValidationError as error:
        raise complaint(sentences(error, Sections, raw)) from None
    wrong = problems(sections)
    if wrong:
        raise complaint(wrong)
    guesses = dict(stand_ins(sections))
    values = fill(sections)
    return Case(**{name: getattr(values, name) for name in Sections.model_fields}, guesses=guesses, raw=raw)


def _with_turbo(raw: dict[str, Any]) -> dict[str, Any]:
    """A turbo case has a compressor and a cooler even where nothing is said about them."""
    if "turbine" not in raw:
        return raw
    return {"compressor": {}, "cooler": {}} | raw


def complaint(wrong: list[str]) -> CaseError:
    """The error for a list of sentences: the first, and how many more there are."""
    return CaseError(wrong[0] + (f" (and {len(wrong) - 1} more)" if len(wrong) > 1 else ""))


def _read_curve(raw: dict[str, Any], folder: Path | None) -> None:
    """Replace the name of a turbine curve's file by its rows, so that a case is whole in itself."""
    turbine = raw.get("turbine")
    if not isinstance(turbine, dict) or not isinstance(turbine.get("curve"), str):
        return
    from .curve import read_curve

    turbine["curve"] = read_curve((folder or Path()) / turbine["curve"])


def stand_ins(section: Section, prefix: str = "") -> Any:
    """Dotted name and tip of every stand-in in use."""
    for name in type(section).model_fields:
        value, key = getattr(section, name), prefix + key_of(type(section), name)
        if isinstance(value, Section):
            yield from stand_ins(value, key + ".")
        elif isinstance(value, tuple) and value and isinstance(value[0], Section):
            for k, item in enumerate(value, 1):
                yield from stand_ins(item, f"{key}.{getattr(item, 'number', k)}.")
        else:
            spec = spec_of(type(section), name)
            if spec and spec.need == "guess" and name not in section.model_fields_set and _matters(section, name):
                yield key, spec.tip


def _matters(section: Section, name: str) -> bool:
    """Whether a stand-in is used at all, given what else its section says."""
    if isinstance(section, Turbine):
        hardware = name in ("throat_radius", "throat_area", "wheel_outlet_diameter", "hub_diameter", "exit_angle")
        return not hardware or (section.model == "hardware" and name != "throat_area")
    if isinstance(section, Fuel):
        injectors = name.startswith("injector") or name == "rail_pressure"
        return name != "blend" and (not injectors or section.injector_flow is not None)
    if isinstance(section, Exhaust):
        replaced = name in ("downpipe_diameter", "loss_coefficient") and section.restriction is not None
        return not replaced and not (name == "cylinders_to" and section.collectors == 1)
    return not (isinstance(section, Wastegate) and name == "area")


# ------------------------------------------------------------------------------------------------ dotted names

LISTED = {"cylinder": "number", "probe": None}  # tables that repeat, and the key that numbers them (else their place)


def place(raw: dict[str, Any], name: str, value: Any) -> None:
    """Write a value under a dotted name into nested tables; raises CaseError for a name that is none."""
    if name_spec(name) is None:
        raise CaseError(unknown(name, Sections))
    parts = name.split(".")
    table: Any = raw
    if parts[0] in LISTED:
        table, parts = _listed(raw, parts[0], int(parts[1])), parts[2:]
    for part in parts[:-1]:
        table = table.setdefault(part, {})
        if not isinstance(table, dict):
            raise CaseError(f"{name} cannot be set: {part} is not a table.")
    table[parts[-1]] = value


def _listed(raw: dict[str, Any], section: str, number: int) -> dict[str, Any]:
    """The table of a numbered cylinder or probe; a cylinder without departures gets one."""
    items = raw.setdefault(section, [])
    key = LISTED[section]
    if key is None:
        if not 1 <= number <= len(items):
            raise CaseError(f"{section}.{number} is not in this case, which has {len(items)} [[{section}]].")
        return items[number - 1]  # type: ignore[no-any-return]
    for item in items:
        if item.get(key) == number:
            return item  # type: ignore[no-any-return]
    items.append({key: number})
    return items[-1]  # type: ignore[no-any-return]


def name_spec(name: str) -> Spec | None:
    """What is known about a dotted input name; None for a name that is none."""
    parts = [("N" if part.isdigit() and k == 1 else part) for k, part in enumerate(name.split("."))]
    return SPECS.get(".".join(parts))


def find(case: Case, name: str) -> Any:
    """The value of a dotted name in SI."""
    if name_spec(name) is None:
        raise CaseError(unknown(name, Sections))
    value: Any = case
    parts = name.split(".")
    if parts[0] in LISTED:
        items, key, number = getattr(case, parts[0]), LISTED[parts[0]], int(parts[1])
        chosen = [i for k, i in enumerate(items, 1) if (getattr(i, key) if key else k) == number]
        if not chosen:
            return 0.0 if key else None
        value, parts = chosen[0], parts[2:]
    for part in parts:
        if value is None:
            return None
        value = getattr(value, _attribute(type(value), part))
    return value


def _attribute(owner: type, key: str) -> str:
    fields = getattr(owner, "model_fields", {})
    return next((f for f, info in fields.items() if (info.alias or f) == key), key)


def in_si(name: str, value: float, case: Case) -> Any:
    """How a float in SI is written in a case file, without loss; raises CaseError where the input is no number."""
    spec = name_spec(name)
    if spec is None:
        raise CaseError(unknown(name, Sections))
    if spec.kind in ("number", "fraction"):
        return float(value)
    if spec.kind == "event":
        return event_text(value)
    if spec.kind in ("spark", "after_tdc"):
        return f"{float(value)!r} deg"
    if spec.kind == "octane":
        return f"{float(value)!r} {case.fuel.octane[1] if case.fuel.octane else 'RON'}"
    if spec.kind not in units.SI:
        raise CaseError(f"{name} = {written(value)} is no quantity that can be set to a number.")
    return units.exact(value, spec.kind)


def event_text(angle: float) -> str:
    """A valve event at a crank angle, referred to gas-exchange top dead centre (exact)."""
    shift = float(angle) - units.GAS_EXCHANGE_TDC
    return f"{abs(shift)!r} deg {'BTDC' if shift < 0.0 else 'ATDC'}"


def _plain(value: Any) -> Any:
    if isinstance(value, Section):
        return {key_of(type(value), name): _plain(getattr(value, name)) for name in type(value).model_fields}
    if isinstance(value, tuple):
        return [_plain(item) for item in value]
    return None if isinstance(value, float) and value != value else value


SPECS: dict[str, Spec] = dict(walk(Sections))
__all__ = ["Case", "CaseError", "Sections", "load", "section_in"]
