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

from . import dotted, efficiencies, flange_inputs
from .consistency import problems
from .errors import CaseError
from .guesses import notes
from .schema import Section, places
from .sections import Sections
from .sections_engine import Burn, Cylinder, Engine, Friction, Fuel, Knock, WallHeat
from .sections_flange import Boss, Flange
from .sections_gauges import Fitting, PressureTap, Probe
from .sections_injection import Injection
from .sections_log import Log
from .sections_pull import Pull, Vehicle
from .sections_spool import Spool
from .sections_spreads import Spreads
from .sections_turbo import (
    Ambient,
    Compressor,
    Cooler,
    Exhaust,
    Limits,
    Report,
    Run,
    Turbine,
    Wastegate,
)
from .sentences import sentences, written_name
from .standins import displacement, fill

DEMO = Path(__file__).with_name("demo.toml")
FIELDS = tuple(Sections.model_fields)
LARGEST_FILE = 1_000_000  # [bytes] a case file has a few thousand


@dataclass(frozen=True)
class Case:
    """One engine at one operating point. Build it with `load`; change it with `set`, which gives a new one.

    `guesses` maps the dotted name of every stand-in to the tip how to measure it; `unread` names what was given and is
    not read by the chosen submodels.
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
    injection: Injection | None
    ambient: Ambient
    run: Run
    cylinder: tuple[Cylinder, ...]
    probe: tuple[Probe, ...]
    pressure_tap: PressureTap | None
    fitting: tuple[Fitting, ...]
    flange: Flange | None
    boss: Boss | None
    vehicle: Vehicle | None
    pull: Pull | None
    spool: Spool | None
    spreads: Spreads | None
    log: Log | None
    limits: Limits
    report: Report
    guesses: Mapping[str, str] = field(compare=False, repr=False)
    unread: tuple[str, ...] = field(compare=False, repr=False)
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
        """The case with several inputs changed at once, each written as in a case file; raises CaseError.

        What says the same in another way is dropped: setting run.lambda forgets run.afr, a new fuel the old octane.
        """
        return build(dotted.changed(dict(self.raw), values))

    def set_si(self, values: Mapping[str, float]) -> "Case":
        """The case with quantities changed, each a float in SI (angles in degrees); raises CaseError."""
        return self.set_all({name: dotted.in_si(name, value, self) for name, value in values.items()})

    def get(self, name: str) -> Any:
        """The value of a dotted input name in SI; raises CaseError for an unknown name."""
        return dotted.find(self, name)

    def to_dict(self) -> dict[str, Any]:
        """What was written, as nested tables; `load` reads it back to an equal case."""
        return copy.deepcopy(dict(self.raw))

    def to_si(self) -> dict[str, Any]:
        """Every value in SI as nested tables, stand-ins included."""
        sections = {name: getattr(self, name) for name in FIELDS}
        return {name: _plain(value) for name, value in sections.items()}

    def _repr_html_(self) -> str:
        """What was written and what is guessed, as tables for a notebook."""
        from .notebook import case_html

        return case_html(self)

    @property
    def digest(self) -> str:
        """Name of the physics of this case: equal for equal cases, whatever units they were written in."""
        values = {k: v for k, v in self.to_si().items() if k not in ("title", "report", "log")}
        return hashlib.sha256(json.dumps(values, sort_keys=True).encode()).hexdigest()[:16]


def load(source: str | Path | Mapping[str, Any] | None = None) -> Case:
    """Read a case from a TOML file or a nested dict; without a source the embedded demo. Raises CaseError."""
    if isinstance(source, Mapping):
        return build(copy.deepcopy(dict(source)))
    path = DEMO if source is None else Path(source)
    return build(read_toml(path), path.parent)


def read_toml(path: Path) -> dict[str, Any]:
    """The tables of a case file; raises CaseError in one sentence for anything that is not one."""
    name = written_name(str(path), 200)
    text = _text(path, name)
    if not text.strip():
        raise CaseError(f'{name} is empty; "hotside new" writes a starting case.')
    try:
        return tomllib.loads(text)
    except (tomllib.TOMLDecodeError, RecursionError) as error:
        reason = " ".join(str(error).split()) if isinstance(error, tomllib.TOMLDecodeError) else "nested too deep"
        raise CaseError(f"{name} is not valid TOML: {reason}.") from None


def _text(path: Path, name: str) -> str:
    """Text of a file; raises CaseError for what is none."""
    try:
        if path.is_dir():
            raise CaseError(f"{name} is a directory; name a case file such as my.toml.")
        if path.exists() and path.stat().st_size > LARGEST_FILE:
            raise CaseError(f"{name} is too large for a case file ({path.stat().st_size / 1e6:.1f} MB).")
        return path.read_bytes().decode("utf-8-sig")
    except UnicodeDecodeError:
        raise CaseError(f'{name} is not a text file; "hotside new my.toml" writes a starting case.') from None
    except OSError as error:
        raise CaseError(f"{name} cannot be read: {error.strerror or error}.") from None
    except ValueError as error:
        raise error if isinstance(error, CaseError) else CaseError(f"{name} cannot be read: no such name.") from None


def build(raw: dict[str, Any], folder: Path | None = None) -> Case:
    """Check the tables, fill in the stand-ins; raises CaseError with the first thing wrong and the number of others."""
    _read_files(raw, folder)
    sections = checked(with_turbo(raw))
    return finished(sections, raw, notes(sections))


def checked(tables: Mapping[str, Any]) -> Sections:
    """The sections of tables, read and consistent; a table may be a section already. Raises CaseError."""
    try:
        sections = Sections.model_validate(tables)
    except ValidationError as error:
        raise complaint(sentences(error, Sections)) from None
    wrong = problems(sections) + flange_inputs.problems(sections)
    if wrong:
        raise complaint(wrong)
    return sections


def finished(
    sections: Sections,
    raw: dict[str, Any],
    noted: tuple[dict[str, str], tuple[str, ...]],
    values: Sections | None = None,
) -> Case:
    """The case of checked sections, its stand-ins filled in; `noted` as `guesses.notes` gives it. Raises CaseError.

    values : the sections filled in by `fill`, where that is done already
    """
    values = flange_inputs.fill(values or fill(sections))
    wrong = list(efficiencies.problems(values))
    if wrong:
        raise complaint(wrong)
    return Case(**{name: getattr(values, name) for name in FIELDS}, guesses=noted[0], unread=noted[1], raw=raw)


def with_turbo(raw: dict[str, Any]) -> dict[str, Any]:
    """A turbo case has a compressor and a cooler even where nothing is said about them."""
    if "turbine" not in raw:
        return raw
    return {"compressor": {}, "cooler": {}} | raw


def complaint(wrong: list[str]) -> CaseError:
    """The error for a list of sentences: the first, and how many more there are."""
    return CaseError(wrong[0] + (f" (and {len(wrong) - 1} more)" if len(wrong) > 1 else ""))


def _read_files(raw: dict[str, Any], folder: Path | None) -> None:
    """Replace the name of a file with a curve or map by what stands in it, so that a case is whole in itself."""
    for section, key in (("burn", "table"), ("turbine", "curve"), ("turbine", "map"), ("compressor", "map")):
        table = raw.get(section)
        if not isinstance(table, dict) or not isinstance(table.get(key), str):
            continue
        raw[section] = table | {key: _read_file(section, key, (folder or Path()) / table[key])}


def _read_file(section: str, key: str, path: Path) -> Any:
    """What a case writes for the curve, map or table in a file; raises CaseError."""
    if key == "curve":
        from .curve_file import read_curve

        return read_curve(path)
    if key == "table":
        from .burned import read_burned

        return read_burned(path)
    from .maps import read_map

    return read_map(path, f"{section}.{key}")


def _plain(value: Any) -> Any:
    """Nested tables and lists of a section's values."""
    if isinstance(value, Section):
        return {key: _plain(getattr(value, name)) for name, key, _ in places(type(value))}
    if isinstance(value, tuple):
        return [_plain(item) for item in value]
    return None if isinstance(value, float) and value != value else value
