"""One plain sentence of what a choice trades, and what each sweep of boost found."""

from .runaway import Runaway

DRAW = {  # difference below which two rivals are called alike
    "power_w": 0.005, "threshold_rpm": 15.0, "time_to_90_s": 0.02, "backpressure_ratio": 0.01,
    "exhaust_temperature_k": 1.0, "residual_fraction": 5e-4, "knock_margin_deg": 0.1,
}  # fmt: skip


def trade(names: list[str], point: dict[str, list[float | None]]) -> str:
    """What the choice between the quickest and the strongest rival trades."""
    if all(len(set(values)) < 2 for values in point.values()):
        return "All of them give the same here: what was changed is not read, or does not count at this point."
    power, lag = point["power_w"], point["time_to_90_s"]
    known = [i for i, t in enumerate(lag) if t is not None]
    strong = max(range(len(names)), key=lambda i: power[i] or 0.0)
    if not known:
        return f'"{names[strong]}" gives most power; none of them gets to 90 % of its boost in the time marched.'
    quick = min(known, key=lambda i: lag[i] or 0.0)
    if quick == strong:
        return f'"{names[quick]}" gives most power here and spools soonest too: nothing is traded between these at this point.'
    gains, costs = _spool(point, quick, strong), _breath(point, quick, strong)
    return f'"{names[quick]}" {gains}; "{names[strong]}" {costs}.'


def _spool(point: dict[str, list[float | None]], quick: int, strong: int) -> str:
    here, there = point["time_to_90_s"][quick], point["time_to_90_s"][strong]
    words = "gets to its boost, which the other does not in the time marched"
    if here is not None and there is not None:
        words = f"spools {there - here:.2f} s sooner"
    a, b = point["threshold_rpm"][quick], point["threshold_rpm"][strong]
    if a is not None and b is not None and b - a > DRAW["threshold_rpm"]:
        words += f", with boost from {a:.0f} instead of {b:.0f} rpm"
    return words


def _breath(point: dict[str, list[float | None]], quick: int, strong: int) -> str:
    parts = [f"gives {((point['power_w'][strong] or 0.0) - (point['power_w'][quick] or 0.0)) / 1e3:.1f} kW more"]
    for name, text in (
        ("backpressure_ratio", "{:.2f} less backpressure to boost"),
        ("exhaust_temperature_k", "exhaust {:.0f} K cooler"),
        ("residual_fraction", "{:.1%} less residual gas"),
    ):
        a, b = point[name][quick], point[name][strong]
        if a is not None and b is not None and a - b > DRAW[name]:
            parts.append(text.format(a - b))
    a, b = point["knock_margin_deg"][quick], point["knock_margin_deg"][strong]
    if a is not None and b is not None and b - a > DRAW["knock_margin_deg"]:
        parts.append(f"{b - a:.1f} deg more knock margin")
    return parts[0] + (" with " + ", ".join(parts[1:]) if len(parts) > 1 else "")


def runaway_words(name: str, found: Runaway) -> str:
    """What one sweep of boost found."""
    bar = lambda p: f"{p / 1e5:.2f} bar"  # noqa: E731
    parts = []
    if found.choke_boost_pa is not None:
        parts.append(f"the turbine chokes at {bar(found.choke_boost_pa)}")
    else:
        parts.append(f"the turbine does not choke up to {bar(found.stopped_boost_pa)}")
    if found.doubled_boost_pa is not None:
        parts.append(f"from {bar(found.doubled_boost_pa)} a bar of boost costs twice the backpressure it did at first")
    else:
        parts.append("the cost of a bar of boost never doubles")
    text = (
        f'"{name}": {", ".join(parts)}; what stops the boost, at {bar(found.stopped_boost_pa)}, is {found.stopped_by}.'
    )
    if found.first_limits:
        shown = ", ".join(f"{label} at {bar(at)}" for at, label in found.first_limits[:4])
        text += f" Limits passed on the way, first seen: {shown}."
    return text
