"""One plain sentence of what a choice trades, and what each sweep of boost found."""

from collections.abc import Sequence

import numpy as np

from ...showing import FAMILIES, shown
from .runaway import FROM, OVER, STEP, Runaway

DRAW = {  # difference below which two rivals are called alike
    "power_w": 0.005, "threshold_rpm": 15.0, "time_to_90_s": 0.02, "backpressure_ratio": 0.01,
    "exhaust_temperature_k": 1.0, "residual_fraction": 5e-4, "knock_margin_deg": 0.1,
}  # fmt: skip


def trade(names: list[str], point: dict[str, list[float | None]], spooled: bool, family: str = "metric") -> str:
    """What the choice between the quickest and the strongest rival trades; `spooled` where the tip-ins were marched."""
    if all(len(set(values)) < 2 for values in point.values()):
        return "All of them give the same here: what was changed is not read, or does not count at this point."
    power, lag = point["power_w"], point["time_to_90_s"]
    known = [i for i, t in enumerate(lag) if t is not None]
    strong = max(range(len(names)), key=lambda i: power[i] or 0.0)
    if not spooled:
        weak = min(range(len(names)), key=lambda i: power[i] or 0.0)
        if weak == strong:
            return "None of them gives more power than another here; spool was not marched."
        return f'"{names[strong]}" {_breath(point, weak, strong, family)} than "{names[weak]}"; spool was not marched.'
    if not known:
        return f'"{names[strong]}" gives most power; none of them gets to the boost timed.'
    quick = min(known, key=lambda i: lag[i] or 0.0)
    if quick == strong:
        return f'"{names[quick]}" gives most power here and spools soonest too: nothing is traded between these at this point.'
    gains, costs = _spool(point, quick, strong), _breath(point, quick, strong, family)
    return f'"{names[quick]}" {gains}; "{names[strong]}" {costs}.'


def _spool(point: dict[str, list[float | None]], quick: int, strong: int) -> str:
    here, there = point["time_to_90_s"][quick], point["time_to_90_s"][strong]
    words = "gets to the boost timed, which the other does not"
    if here is not None and there is not None:
        words = f"spools {there - here:.2f} s sooner"
    a, b = point["threshold_rpm"][quick], point["threshold_rpm"][strong]
    if a is not None and b is not None and b - a > DRAW["threshold_rpm"]:
        words += f", with boost from {a:.0f} instead of {b:.0f} rpm"
    return words


def _breath(point: dict[str, list[float | None]], quick: int, strong: int, family: str) -> str:
    more = (point["power_w"][strong] or 0.0) - (point["power_w"][quick] or 0.0)
    parts = [f"gives {shown(more, 'power', family)} more"]
    degree, unit = FAMILIES[family]["temperature"].factor, "K" if family == "metric" else "degF"
    for name, text, size in (
        ("backpressure_ratio", "{:.2f} less backpressure to boost", 1.0),
        ("exhaust_temperature_k", "exhaust {:.0f} " + unit + " cooler", 1.0 / degree),
        ("residual_fraction", "residual gas {:.1f} points less", 100.0),
    ):
        a, b = point[name][quick], point[name][strong]
        if a is not None and b is not None and a - b > DRAW[name]:
            parts.append(text.format(size * (a - b)))
    a, b = point["knock_margin_deg"][quick], point["knock_margin_deg"][strong]
    if a is not None and b is not None and b - a > DRAW["knock_margin_deg"]:
        parts.append(f"{b - a:.1f} deg more knock margin")
    return parts[0] + (" with " + ", ".join(parts[1:]) if len(parts) > 1 else "")


def runaway_words(name: str, found: Runaway, family: str = "metric") -> str:
    """What one sweep of boost found."""
    if not found.boost_pa:
        return f'"{name}": no boost is held at this speed: {found.ended_by.said(family)}.'
    parts = [*_least(found, family), _choke(found, family), *_cost(found, family), _stop(found, family)]
    text = f'"{name}": {"; ".join(parts)}.'
    if found.left_map_boost_pa is not None:
        left = shown(found.left_map_boost_pa, "pressure", family)
        text += f" From {left} its measured map is left: what it swallows and where it chokes is less sure."
    if found.first_limits:
        passed = ", ".join(f"{label} at {shown(at, 'pressure', family)}" for at, label in found.first_limits[:4])
        text += f" Limits passed on the way, first seen: {passed}."
    return text


def _stop(found: Runaway, family: str) -> str:
    last = _boost(found, found.stopped_boost_pa, family)
    if found.ended_by == OVER:
        return f"nothing stops the boost up to {last}, where the sweep ends"
    return f"what stops the boost, at {last}, is {found.ended_by.said(family)}"


def _least(found: Runaway, family: str) -> list[str]:
    """Where the sweep could not begin as low as others: the wastegate holds no less boost."""
    if found.boost_pa[0] < FROM + 0.5 * STEP:
        return []
    return [f"its wastegate, fully open, holds little less than {shown(found.boost_pa[0], 'pressure', family)}"]


def _choke(found: Runaway, family: str) -> str:
    if found.choke_boost_pa is None:
        return f"the turbine does not choke up to {shown(found.stopped_boost_pa, 'pressure', family)}"
    flow = shown(_at(found, found.turbine_flow_kg_s, found.choke_boost_pa), "mass_flow", family)
    if found.choke_boost_pa == found.boost_pa[0]:
        return f"the turbine is choked from the lowest boost on, {_boost(found, found.choke_boost_pa, family)}"
    return f"the turbine chokes at {_boost(found, found.choke_boost_pa, family)}, {flow} through it"


def _cost(found: Runaway, family: str) -> list[str]:
    if found.first_slope is None:
        return []
    unit = FAMILIES[family]["pressure"].unit
    end = "and never twice that"
    if found.doubled_boost_pa is not None:
        end = f"and twice that from {_boost(found, found.doubled_boost_pa, family)}"
    return [f"a {unit} of boost costs {found.first_slope:.2f} {unit} before the turbine at first {end}"]


def choke_words(sweeps: Sequence[Runaway]) -> list[str]:
    """Why a larger housing may choke at less boost, where one does."""
    known = [s for s in sweeps if s.choke_boost_pa]
    if not any(_chokes_freely(one, other) for one in known for other in known):
        return []
    return [
        "What chokes at less boost is not what passes less here: a larger throat leaves more of the expansion to the wheel, which is "
        "then at its greatest flow at a smaller expansion ratio. The ratio in brackets tells which breathes more freely."
    ]


def _chokes_freely(one: Runaway, other: Runaway) -> bool:
    """Whether one chokes at less boost than another though less pressure stands before it there."""
    here, there = one.choke_boost_pa or 0.0, other.choke_boost_pa or 0.0
    return here < there and _at(one, one.backpressure_pa, here) < _at(other, other.backpressure_pa, here)


def _boost(found: Runaway, boost: float, family: str) -> str:
    """A boost with the backpressure ratio it comes with."""
    return f"{shown(boost, 'pressure', family)} (ratio {_at(found, found.backpressure_pa, boost) / boost:.2f})"


def _at(found: Runaway, values: list[float], boost: float) -> float:
    """A column of a sweep at a boost, linear between its points."""
    return float(np.interp(boost, found.boost_pa, values))
