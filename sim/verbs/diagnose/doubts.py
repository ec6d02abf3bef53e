"""What does not fit, said: gauges and parts that cannot be what they are taken for, and what would explain the log as well."""

import math
from typing import Any

from ... import channels
from .examine import DOUBT
from .looks import amount, gap
from .phrases import Said, listed
from .result import Diagnosis
from .suspects import AS_WELL, LEAK
from .unknowns import ALL_PROBES, WORDS

NAMED = 3  # rivals that are named
AS_ASSUMED = {
    "turbine.flow_scale": "the turbine as large as its size implies",
    "turbine.efficiency_scale": "the turbo as efficient as assumed",
    "engine.breathing": "the charge as modelled",
    "wall_heat.scale": "heat to the walls as assumed",
    "burn.duration_scale": "the burn as long as modelled",
    "engine.spark_offset": "timing as logged",
    "exhaust.loss_coefficient": "the pipe after the turbine as assumed",
}


def misfit_said(d: Diagnosis) -> Said:
    """That the model does not explain the log, and what helps most."""
    if not d.doubted:
        return
    worst = max(d.channels, key=lambda row: row["over_error"])
    where = "the power balance" if worst["channel"] == "balance" else channels.words(worst["channel"])
    if d.misfit_probability < DOUBT:
        why = (
            f"chi-square {d.sum_of_squares:.0f} over {d.freedom} readings, which chance gives once in "
            f"{_times(d.misfit_probability)}; worst is {where}, off by {worst['over_error']:.1f} times its error"
        )
    else:
        why = "it does so only with more than one thing far from what is usual at once"
    names = [*(i["name"] for i in d.let_go), *(i["name"] for i in d.suspects)][:NAMED]
    told = f" Letting go of {listed([thing(n, d) for n in names])} helps most, and does not settle it." if names else ""
    yield (
        "misfit",
        f"The model does not explain this log: {why}.{told} Something is in the engine or the gauges that no unknown here "
        f"stands for. Intervals are widened by {d.interval_widening:.1f}, and values may be shifted by more: check gauges and "
        "the inputs of the case before believing any.",
        None,
    )


def let_go_said(d: Diagnosis) -> Said:
    """What was let go, each with its size, and what else would do."""
    if d.doubted:
        return  # named with the misfit: what was let go does not explain the log
    for item in d.let_go:
        row = d.estimate(item["name"])
        if row is not None:
            yield _off(item["name"], row, d.case.report.units, 1.0 - math.exp(-0.5 * item["fall"]))
    if len(d.let_go) > 1:
        yield (
            "cannot tell",
            f"{_capital(listed([thing(i['name'], d) for i in d.let_go]))} had to be let go together: no one of them alone explains "
            "the log. Two faults at once are rare; look first for one cause behind both (a shared fitting, ground or supply, a "
            "wrong input of the case). What is said of the rest holds only if both are so.",
            None,
        )
    names = [item["name"] for item in d.let_go]
    others = [r for r in d.rivals if r["of"] == names]
    if others:
        told = [_set_words(r, names, d) for r in others[:NAMED]]
        more = f" ({len(others) - NAMED} more do)" if len(others) > NAMED else ""
        yield (
            "cannot tell",
            f"This log cannot tell that from {listed(told, 'or')}{more}: each explains it as well, within odds of "
            f"{math.exp(0.5 * AS_WELL):.0f} to 1.{_split(names + [n for r in others for n in r['names']])}",
            None,
        )


def _off(name: str, row: Any, family: str, sure: float) -> tuple[str, str, float | None]:
    if name.startswith("sensor."):
        gauge = name.removeprefix("sensor.")
        text = (
            f"{_capital(_gauge(gauge))} disagrees with every explanation of the other gauges: it reads {amount(gauge, row['value'], family)} "
            f"{'high' if row['value'] > 0.0 else 'low'}. It was let go; check the gauge, its place and its wiring before anything else."
        )
        return "gauge", text, sure
    if name == LEAK:
        text = (
            f"The wastegate does not close: a gap of {gap(row['value'], family)} stays where it should be shut (90 %: "
            f"{gap(row['low'], family)} to {gap(row['high'], family)}). A hand pump on its hose and a look at the seat settle it."
        )
        return "wastegate", text, sure
    if name.startswith("cylinder."):
        text = (
            f"Cylinder {name.split('.')[1]} departs by more than mixture usually does ({100.0 * row['value']:+.0f} % fuel would be "
            "needed): its probe, its spark or an injector is at fault; swap probes with a neighbour first."
        )
        return "gauge", text, sure
    text = (
        f"{_capital(row['words'])} is far from what is usual ({row['value']:.3g} against {row['prior']:.3g}): the log insists, so "
        "look for a wrong input of the case or a part that is not what it is taken for."
    )
    return "case", text, sure


def alike_said(d: Diagnosis) -> Said:
    """What would explain the log as well as an unknown's departure does."""
    let_go = [item["name"] for item in d.let_go]
    for name in dict.fromkeys(r["of"][0] for r in d.rivals if r["of"] != let_go):
        row = d.estimate(name)
        others = [r for r in d.rivals if r["of"] == [name] and r["of"] != let_go]
        if row is None or not others:
            continue
        told = [value_words(r["names"][0], r["values"][0], d) for r in others[:NAMED]]
        yield (
            "cannot tell",
            f"With {AS_ASSUMED.get(name, row['words'] + ' as assumed')}, {listed(told, 'or')} would explain this log as well."
            f"{_split([name, *(r['names'][0] for r in others)])}",
            None,
        )


def _split(names: list[str]) -> str:
    """What would part a gap of the wastegate from a larger turbine."""
    if LEAK not in names or not {"turbine.flow_scale", "turbine.efficiency_scale"} & set(names):
        return ""
    return (
        " A gap matters only while the wastegate should be shut, and its gas drives no wheel; a turbine's size and efficiency "
        "matter also while it is open: log its opening in both states, or the shaft's speed."
    )


def _set_words(rival: dict[str, Any], names: list[str], d: Diagnosis) -> str:
    new = [(n, v) for n, v in zip(rival["names"], rival["values"], strict=True) if n not in names]
    return " with ".join(value_words(n, v, d) for n, v in new)


def value_words(name: str, value: float, d: Diagnosis) -> str:
    """A freedom and its size."""
    if name.startswith("sensor."):
        gauge = name.removeprefix("sensor.")
        return f"{_gauge(gauge)} reading {amount(gauge, value, d.case.report.units)} {'high' if value > 0.0 else 'low'}"
    if name == LEAK:
        return f"a wastegate that leaves {gap(value, d.case.report.units)} open"
    if name == "engine.spark_offset":
        return f"timing at the crank {abs(value):.1f} deg {'earlier' if value > 0.0 else 'later'} than logged"
    return f"{thing(name, d)} at {value:.3g}"


def thing(name: str, d: Diagnosis) -> str:
    """An unknown or a gauge, as the trade calls it."""
    row = d.estimate(name)
    if name.startswith("sensor."):
        return f"the gauge of {_gauge(name.removeprefix('sensor.'))}"
    if row is not None:
        return str(row["words"])
    if name.startswith("cylinder."):
        return f"{name.split('.')[2]} of cylinder {name.split('.')[1]}"
    return WORDS.get(name, name)


def _gauge(channel: str) -> str:
    return "every probe alike" if channel == ALL_PROBES else channels.words(channel)


def _capital(text: str) -> str:
    return text[0].upper() + text[1:]


def _times(probability: float) -> str:
    return "more than a million" if probability < 1e-6 else f"{1.0 / probability:,.0f}"
