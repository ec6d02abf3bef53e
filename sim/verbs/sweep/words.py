"""What names, units and flags of a dataset say to a reader who has nothing but the file."""

from typing import Any

from ...names import RESULTS, SUFFIXES, kind_of, label_of
from ...schema import Spec
from .point import STATUSES

UDUNITS = {  # kind -> SI unit as files of science spell it
    "pressure": "Pa", "pressure_gauge": "Pa", "pressure_absolute": "Pa", "temperature": "K", "angle": "degree", "spark": "degree",
    "after_tdc": "degree", "event": "degree", "mass_flow": "kg s-1", "volume_flow": "m3 s-1", "fuel_flow": "m3 s-1",
    "rotation": "rad s-1", "rpm": "min-1", "speed": "m s-1", "force": "N", "torque": "N m", "power": "W",
    "specific_consumption": "kg J-1", "specific_emission": "kg J-1", "ppm": "1e-6", "time": "s", "mass": "kg", "length": "m", "area": "m2", "volume": "m3",
    "heat_transfer": "W m-2 K-1", "pressure_per_speed": "Pa s m-1", "pressure_per_speed2": "Pa s2 m-2", "inertia": "kg m2",
    "number": "1", "fraction": "1", "small": "1", "octane": "1", "count": "1", "integer": "1",
}  # fmt: skip
FLAG_VALUES, FLAG_MEANINGS = (-1, 0, 1), "does_not_apply no yes"
GROUPS = {  # list of a prediction -> dimension, beginning of its variables' names, what a member is
    "cylinders": ("cylinder", "cylinder_", "cylinder"),
    "probes": ("probe", "probe_", "exhaust probe"),
    "margins": ("limit", "limit_", "limit"),
    "parts": ("part", "part_", "part of the hot side"),
}
OWN = {  # variables that no table of names lists
    "message": ("why the point has no answer", "empty where it has one"),
    "status": ("how the point ended", "only converged, boost_short and boost_over are settled answers"),
    "limit_value": ("value held against the limit", "in the SI unit that limit_units names"),
    "limit_limit": ("the limit itself", "in the SI unit that limit_units names; an edge, not a promise"),
    "limit_margin": ("margin to the limit", "positive on the near side; in the SI unit that limit_units names"),
    "limit_exceeded": ("whether the limit is passed", "the same as a margin below zero"),
}


def about_result(name: str, group: str = "", text: bool = False) -> dict[str, Any]:
    """Attributes of a variable: units, long_name, and what it means where a table says so.

    name : of the result, for a value in a list without the list's name; group : "" or the list; text : whether it is words
    """
    _, prefix, what = GROUPS.get(group, ("", "", group))
    if prefix + name in OWN:
        label, meaning = OWN[prefix + name]
        return {"long_name": label, "comment": meaning}
    found: dict[str, Any] = {}
    if group in ("", "cylinders"):  # the values of a cylinder bear the names of the whole engine's; others do not
        found["long_name"] = label_of(name)
        if name in RESULTS:
            found["comment"] = RESULTS[name].meaning
    else:
        found["long_name"] = _in_words(name)
    if what:
        found["long_name"] += f", {what.replace('_', ' ')}"
    unit = None if text else "Hz" if name.endswith("_hz") else UDUNITS.get(kind_of(name))
    return found | ({"units": unit} if unit else {})


def _in_words(name: str) -> str:
    """A name without the unit at its end."""
    ending = max((e for e in SUFFIXES if name.endswith(e) and SUFFIXES[e] != "fraction"), key=len, default="")
    return name.removesuffix(ending).replace("_", " ")


def about_input(name: str, spec: Spec, numbers: bool) -> dict[str, Any]:
    """Attributes of the coordinate of a varied input."""
    unit = UDUNITS.get(spec.kind) if numbers else None
    return {"long_name": spec.meaning, "input": name} | ({"units": unit} if unit else {})


def about_status() -> dict[str, Any]:
    """Attributes of the variable `status`: what each number means."""
    meanings = " ".join(status.replace(" ", "_") for status in STATUSES)
    values = list(range(len(STATUSES)))
    return {
        "long_name": OWN["status"][0],
        "comment": OWN["status"][1],
        "flag_values": values,
        "flag_meanings": meanings,
    }


def about_flag() -> dict[str, Any]:
    """Attributes of a variable that is yes or no."""
    return {"flag_values": list(FLAG_VALUES), "flag_meanings": FLAG_MEANINGS}
