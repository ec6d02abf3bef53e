"""What a log or a gauge can show: the channels by name, what each means, its error where none is stated, its units.

Errors are common practice, no source, unless one stands beside them. A channel is a condition (where the engine ran), a
reading (what the model predicts) or the clock.
"""

import re
from typing import Any, NamedTuple

from . import units
from .errors import Refused
from .readers import PETROL_AFR
from .units import RPM

CONDITION, READING, CLOCK = "condition", "reading", "clock"


class Channel(NamedTuple):
    """One quantity of a log, in SI."""

    kind: str  # of units.UNITS, or fraction, mixture, spark
    role: str
    meaning: str
    low: float  # below and above these a figure is taken for a mistake
    high: float
    error: float = 0.0  # standard deviation where none is stated
    share: float = 0.0  # and as a share of the figure; the greater one holds
    words: tuple[str, ...] = ()  # what a column may be called


CHANNELS: dict[str, Channel] = {
    "time": Channel("time", CLOCK, "time", -1e9, 1e12, words=("t", "seconds", "timestamp")),
    "speed": Channel("rotation", CONDITION, "engine speed", 300 * RPM, 20000 * RPM, 10 * RPM, words=("rpm", "engine speed", "revs")),
    "boost": Channel("pressure_gauge", CONDITION, "boost after the cooler", -1.0e5, 6e5, 500.0, 0.01, ("map", "manifold pressure", "boost pressure")),
    "lambda": Channel("mixture", CONDITION, "lambda", 0.5, 1.6, 0.01, words=("afr", "lambda1", "wideband", "air fuel ratio")),
    "spark_advance": Channel("spark", CONDITION, "spark advance as commanded", -40.0, 70.0, 0.2, words=("timing", "ignition", "spark", "advance", "ignition advance")),
    "wastegate_opening": Channel("fraction", CONDITION, "wastegate opening", 0.0, 1.0, 0.01, words=("wastegate", "wastegate position")),
    "backpressure": Channel("pressure_gauge", READING, "backpressure before the turbine", -1e4, 1.0e6, 1e3, 0.01, ("emap", "exhaust pressure", "back pressure", "pre turbine pressure")),
    "outlet_pressure": Channel("pressure_gauge", READING, "pressure after the turbine", -1e4, 2e5, 500.0, 0.01, ("post turbine pressure", "downpipe pressure")),
    "air_flow": Channel("mass_flow", READING, "air flow", 1e-3, 5.0, 0.0, 0.02, ("maf", "airflow")),
    "fuel_flow": Channel("fuel_flow", READING, "fuel flow", 1e-8, 1e-3, 0.0, 0.02, ("fuel",)),
    "torque": Channel("torque", READING, "torque at the flywheel", -500.0, 5e3, 2.0, 0.02, ("engine torque",)),
    "shaft_speed": Channel("rotation", READING, "turbo shaft speed", 1e3 * RPM, 4e5 * RPM, 0.0, 0.005, ("turbo speed",)),
    "intake_temperature": Channel("temperature", READING, "charge in the intake manifold", 233.0, 500.0, 2.0, words=("iat", "act", "charge temperature", "manifold temperature")),
    "compressor_temperature": Channel("temperature", READING, "air after the compressor", 233.0, 600.0, 2.0, words=("compressor outlet temperature", "t2")),
    "turbine_outlet_temperature": Channel("temperature", READING, "gas after the turbine", 400.0, 1500.0, 8.0, words=("post turbine temperature",)),
}  # fmt: skip
PROBE = Channel("temperature", READING, "exhaust probe", 350.0, 1600.0, 1.5)  # beside the tolerance of its class
MIXTURES = {"lambda": 1.0, "afr petrol": PETROL_AFR}
BRACKETS = re.compile(r"^(.*?)\s*[\[(]([^\])]*)[\])]\s*$")
PROBE_WORDS = re.compile(r"(?:egt|probe|exhaust temp(?:erature)?)[\s_.#-]*(?:cyl(?:inder)?)?[\s_.#-]*(\d{0,2})$")


def channel(name: str) -> Channel:
    """A channel by its name, probe.N the N-th [[probe]] of the case; raises Refused for a name that is none."""
    if re.fullmatch(r"probe\.\d{1,2}", name):
        return PROBE
    if name not in CHANNELS:
        import difflib

        near = difflib.get_close_matches(name, CHANNELS, 1, 0.5)
        known = (
            f'did you mean "{near[0]}"?' if near else f"channels are {', '.join(CHANNELS)} and probe.1, probe.2, ..."
        )
        raise Refused(f'names a channel "{name}", which is none; {known}')
    return CHANNELS[name]


def words(name: str) -> str:
    """What the trade calls a channel."""
    return f"probe {name[6:]}" if name.startswith("probe.") else channel(name).meaning


def recognised(heading: str) -> str | None:
    """The channel that a column's heading most likely means; None where it is none of ours."""
    bare = " ".join(BRACKETS.sub(r"\1", heading).replace("_", " ").casefold().split())
    found = PROBE_WORDS.search(bare)
    if found:
        return f"probe.{int(found[1] or 1)}"
    for name, one in CHANNELS.items():
        if bare in (name.replace("_", " "), *one.words):
            return name
    return None


def own_unit(name: str, heading: str) -> str:
    """The unit that a heading is by its own name, as "RPM" and "Lambda" are; empty where it is none."""
    bare = heading.strip().casefold()
    return {"rotation": "rpm", "mixture": "lambda"}.get(channel(name).kind, "") if bare in ("rpm", "lambda") else ""


def heading_unit(heading: str) -> tuple[str, str]:
    """Name and unit of a heading such as "MAP [kPa absolute]"; the unit is empty where there is none."""
    found = BRACKETS.match(heading.strip())
    return (found[1].strip(), found[2].strip()) if found else (heading.strip(), "")


class Scale(NamedTuple):
    """How a column's figures become SI: `factor` times them plus `offset`, above ambient where `absolute`."""

    factor: float
    offset: float
    absolute: bool = False  # an absolute pressure: the ambient's comes off
    inverse: bool = False  # phi: lambda is one over it


def scale(name: str, unit: str, stoichiometric: float) -> Scale:
    """The scale of a unit for a channel; `stoichiometric` is the fuel's own air-fuel ratio. Raises Refused."""
    kind = channel(name).kind
    if kind == "mixture":
        return _mixture(unit, stoichiometric)
    if kind == "spark":
        return _spark(unit)
    if kind == "fraction":
        if unit not in ("%", "", "-", "0..1"):
            raise Refused(f'has the unit "{unit}"; write "%", or "-" for 0 to 1')
        return Scale(0.01 if unit == "%" else 1.0, 0.0)
    absolute = False
    if kind == "pressure_gauge":
        bare = units.ABSOLUTE.sub("", unit)
        absolute, unit = bare != unit, bare
    if not unit:
        raise Refused(f"has no unit ({units.allowed(kind)})")
    try:
        zero = units.parse(f"0 {unit}", kind)
        return Scale(units.parse(f"1 {unit}", kind) - zero, zero, absolute)
    except units.UnitError as error:
        raise Refused(str(error).replace("is written", "names a unit")) from None


def _mixture(unit: str, stoichiometric: float) -> Scale:
    bare = unit.casefold().strip()
    if bare in ("phi", "equivalence ratio"):
        return Scale(1.0, 0.0, inverse=True)
    if bare == "afr fuel":
        return Scale(1.0 / stoichiometric, 0.0)
    if bare in MIXTURES:
        return Scale(1.0 / MIXTURES[bare], 0.0)
    raise Refused(
        'does not say its scale: "lambda", "afr petrol" (14.7 at lambda 1 on any fuel), "afr fuel" (the fuel\'s own) or "phi"'
    )


def _spark(unit: str) -> Scale:
    bare = unit.casefold().replace("°", "deg").strip()
    if bare in ("deg", "deg btdc", "degrees", "btdc"):
        return Scale(1.0, 0.0)
    if bare in ("deg atdc", "atdc"):
        return Scale(-1.0, 0.0)
    raise Refused('has no unit; write "deg BTDC"')


def log_columns(value: Any) -> tuple[tuple[str, str, str, str | None], ...]:
    """The table [log.columns] -> rows of channel, column, unit (empty: the heading says it), error as text or None."""
    if not isinstance(value, dict) or not value:
        raise Refused("is not a table of channels and columns")
    rows = []
    for name, said in _flat(value):
        channel(name)
        entry = {"column": said} if isinstance(said, str) else said
        if not isinstance(entry, dict) or not isinstance(entry.get("column"), str):
            raise Refused(f"does not name the column of {name}")
        extra = set(entry) - {"column", "unit", "error"}
        if extra or not all(isinstance(v, str) for v in entry.values()):
            raise Refused(f"holds for {name} something other than the texts column, unit and error")
        rows.append((name, entry["column"], entry.get("unit", ""), entry.get("error")))
    return tuple(rows)


def _flat(table: dict[str, Any]) -> Any:
    """Entries of the table; `probe.1 = ...` without quotes makes a table within."""
    for name, said in table.items():
        if name == "probe" and isinstance(said, dict) and all(str(k).isdigit() for k in said):
            yield from ((f"probe.{k}", v) for k, v in said.items())
        else:
            yield str(name), said
