"""A prediction in a few sentences: what a person reads first."""

from collections.abc import Iterator, Mapping
from typing import Any

from .gauge_tables import place_text
from .names import LIMIT_KINDS, kind_of, label_of
from .table_parts import _difference, value_text


def margin_kind(name: str) -> str:
    """Kind of unit of a margin, from the ending of its name or from a word in it."""
    kind = kind_of(name)
    words = name.split("_")
    return kind if kind != "number" else next((k for word, k in LIMIT_KINDS.items() if word in words), "number")


def verdict(result: Mapping[str, Any], family: str) -> list[str]:
    """Power, boost and backpressure; what each probe reads; which limits are passed, and by how much."""
    found = [" ".join(_makes(result, family))] if result.get("power_w") is not None else []
    probes = [
        f"{place_text(p)} {value_text(p['reading_k'], 'temperature', family)}" for p in result.get("probes") or []
    ]
    if probes:
        found.append(f"Exhaust probes read: {', '.join(probes)}.")
    margins = result.get("margins") or []
    past = [
        f"{label_of(m['name'])} by {_difference(-m['margin'], margin_kind(m['name']), family).lstrip('+')}"
        for m in margins
        if m["exceeded"]
    ]
    if past:
        found.append(f"PAST ITS LIMIT: {'; '.join(past)}.")
    elif margins:
        found.append(f"Inside all {len(margins)} limits; an edge is no target.")
    return found


def _makes(result: Mapping[str, Any], family: str) -> Iterator[str]:
    yield f"{value_text(result['power_w'], 'power', family)}, {value_text(result['torque_nm'], 'torque', family)} at {result['speed_rpm']:.0f} rpm."
    boost, back = result.get("boost_pa"), result.get("backpressure_pa")
    if boost is None or back is None:
        return
    ratio = result.get("backpressure_ratio")
    times = "" if ratio is None else f", {ratio:.2f} times the boost"
    yield f"Boost {value_text(boost, 'pressure', family)}, backpressure {value_text(back, 'pressure', family)}{times}."
