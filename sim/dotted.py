"""One dotted name for each input: finding its value, writing it into a case's tables, a float in SI as text."""

from collections.abc import Mapping
from typing import TYPE_CHECKING, Any

from . import angles, units
from .errors import CaseError
from .schema import Spec
from .sections import SPECS, Sections
from .sentences import unknown, written

if TYPE_CHECKING:
    from .case import Case

LISTED = {
    "cylinder": "number",
    "probe": None,
    "fitting": None,
}  # tables that repeat, and the key that numbers them (else their place)


RIVALS = {  # setting the first drops the others, which say the same in another way or belong to what is replaced
    "run.lambda": ("run.afr", "run.afr_scale"),
    "run.afr": ("run.lambda",),
    "burn.table": ("burn.ca50", "burn.duration_10_90"),
    "fuel.name": ("fuel.blend", "fuel.octane"),
    "fuel.blend": ("fuel.name", "fuel.octane"),
    "fuel.pump_flow": ("fuel.pump_curve",),
    "fuel.pump_curve": ("fuel.pump_flow",),
    "wastegate.diameter": ("wastegate.area",),
    "wastegate.area": ("wastegate.diameter",),
    "ambient.altitude": ("ambient.pressure",),
    "ambient.pressure": ("ambient.altitude",),
    "turbine.a_over_r": ("turbine.throat_area",),
    "turbine.throat_area": ("turbine.a_over_r",),
    "exhaust.restriction": ("exhaust.downpipe_diameter", "exhaust.loss_coefficient"),
    "exhaust.downpipe_diameter": ("exhaust.restriction",),
    "exhaust.loss_coefficient": ("exhaust.restriction",),
    "injection.alcohol_by_volume": ("injection.alcohol_by_mass",),
    "injection.alcohol_by_mass": ("injection.alcohol_by_volume",),
    "injection.share": ("injection.flow",),
    "injection.flow": ("injection.share",),
    "engine.breathing": ("engine.volumetric_efficiency_measured",),
    "engine.volumetric_efficiency_measured": ("engine.breathing",),
}


def changed(raw: dict[str, Any], values: Mapping[str, Any]) -> dict[str, Any]:
    """New nested tables with values under dotted names, their rivals dropped; raises CaseError."""
    for name, value in values.items():
        raw = placed(raw, name, value)
        for rival in RIVALS.get(name, ()):
            if rival not in values:
                raw = _dropped(raw, *rival.split("."))
    if "exhaust.collectors" in values and "exhaust.cylinders_to" not in values:
        raw = _undealt(raw, values["exhaust.collectors"])
    return raw


def _undealt(raw: dict[str, Any], collectors: Any) -> dict[str, Any]:
    """Without the dealing of cylinders to collectors where that is for another number of them."""
    dealt = raw["exhaust"].get("cylinders_to")
    return _dropped(raw, "exhaust", "cylinders_to") if isinstance(dealt, list) and len(dealt) != collectors else raw


def _dropped(raw: dict[str, Any], section: str, key: str) -> dict[str, Any]:
    table = raw.get(section)
    if not isinstance(table, dict) or key not in table:
        return raw
    return raw | {section: {k: v for k, v in table.items() if k != key}}


def name_spec(name: str) -> Spec:
    """What is known about a dotted input name; raises CaseError for a name that is none."""
    parts = name.split(".")
    if len(parts) > 1 and parts[0] in LISTED and parts[1].isdigit():
        parts[1] = "N"
    spec = SPECS.get(".".join(parts))
    if spec is None or "N" in name.split(".")[1:2]:
        raise CaseError(unknown(name, Sections))
    return spec


def placed(raw: dict[str, Any], name: str, value: Any) -> dict[str, Any]:
    """New nested tables with a value under a dotted name, shared with `raw` where nothing changes; raises CaseError."""
    name_spec(name)
    return _placed(raw, name.split("."), value, name)


def _placed(table: dict[str, Any], parts: list[str], value: Any, name: str) -> dict[str, Any]:
    first, rest = parts[0], parts[1:]
    if not rest:
        return table | {first: value}
    if first in LISTED:
        return table | {first: _listed(table.get(first, []), int(rest[0]), rest[1:], value, name)}
    inner = table.get(first, {})
    if not isinstance(inner, dict):
        raise CaseError(f"{name} cannot be set: {first} is not a table.")
    return table | {first: _placed(inner, rest, value, name)}


def _listed(items: Any, number: int, rest: list[str], value: Any, name: str) -> list[Any]:
    """The list of cylinders or probes with one of them changed; a cylinder without departures gets an entry."""
    section = name.split(".")[0]
    key = LISTED[section]
    found = [k for k, item in enumerate(items, 1) if (item.get(key) if key else k) == number]
    if not found:
        if key is None:
            raise CaseError(f"{name}: this case has {len(items)} [[{section}]], numbered from 1.")
        return [*items, _placed({key: number}, rest, value, name)]
    return [_placed(item, rest, value, name) if k == found[0] else item for k, item in enumerate(items, 1)]


def find(case: "Case", name: str) -> Any:
    """The value of a dotted name in SI; None where its section is absent, 0 for a cylinder without departures."""
    name_spec(name)
    value: Any = case
    parts = name.split(".")
    if parts[0] in LISTED:
        items, key, number = getattr(case, parts[0]), LISTED[parts[0]], int(parts[1])
        chosen = [i for k, i in enumerate(items, 1) if (getattr(i, key) if key else k) == number]
        if not chosen:
            return 0.0 if key and name_spec(name).need == "setting" else None
        value, parts = chosen[0], parts[2:]
    for part in parts:
        if value is None:
            return None
        value = getattr(value, _attribute(type(value), part))
    return value


def _attribute(owner: type, key: str) -> str:
    """Name of the attribute that holds a key; they differ where the key is a word of Python."""
    fields = getattr(owner, "model_fields", {})
    return next((f for f, info in fields.items() if info.alias == key), key)


def in_si(name: str, value: float, case: "Case") -> Any:
    """How a float in SI is written in a case file, without loss; raises CaseError where the input is no number."""
    kind = name_spec(name).kind
    if isinstance(value, bool) or not isinstance(value, int | float):
        raise CaseError(f"{name} = {written(value)} is not a number in SI.")
    if kind in ("number", "fraction"):
        return float(value)
    if kind == "integer":
        return int(value) if value == int(value) else value
    if kind == "event":
        return angles.event_text(float(value))
    if kind in ("spark", "after_tdc"):
        return f"{float(value)!r} deg"
    if kind == "octane":
        return f"{float(value)!r} {case.fuel.octane[1] if case.fuel.octane else 'RON'}"
    if kind not in units.SI:
        raise CaseError(f"{name} = {written(value)} is no quantity that can be set to a number.")
    return units.exact(float(value), kind)
