"""What a diagnosis means, in the trade's words: each sentence with its figure and how sure it is."""

import math
from collections.abc import Iterator, Mapping
from typing import Any

from ... import channels
from .examine import DOUBT, TOGETHER
from .result import Diagnosis
from .unknowns import NORMAL_90

Row = Mapping[str, Any]
SURE = 0.95  # chance from which a departure is said to be one
KELVIN = ("temperature",)


def sentences(d: Diagnosis) -> list[dict[str, Any]]:
    """Sentences of a diagnosis, what does not fit first: about, text, confidence (a chance, or None)."""
    found: list[dict[str, Any]] = []
    for maker in (
        _misfit,
        _let_go,
        _turbine,
        _factors,
        _timing,
        _outlet,
        _cylinders,
        _one_probe,
        _together,
        _unseen,
        _points,
    ):
        for about, text, confidence in maker(d):
            found.append({"about": about, "text": text, "confidence": None if d.doubted else confidence})
    return found


Said = Iterator[tuple[str, str, float | None]]


def percent(value: float) -> str:
    """A share as a person reads it."""
    return f"{100.0 * value:.1f} %" if abs(value) < 0.0995 else f"{100.0 * value:.0f} %"


def chance(row: Row, about: float) -> float:
    """Chance that an unknown lies on the side of `about` on which it was found."""
    distance = abs(row["value"] - about) / max(row["standard_deviation"], 1e-30)
    return 0.5 * (1.0 + math.erf(distance / math.sqrt(2.0)))


def _departs(row: Row) -> bool:
    return row["decided_by"] != "prior" and chance(row, row["prior"]) >= SURE


def _band(row: Row, about: float = 1.0) -> str:
    """The 90 % interval of a factor as per cent of departure."""
    return f"90 %: {100.0 * (row['low'] - about):+.1f} to {100.0 * (row['high'] - about):+.1f} %"


def _misfit(d: Diagnosis) -> Said:
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
    names = [*(i["name"] for i in d.let_go), *(i["name"] for i in d.suspects)][:3]
    told = (
        f" Letting go of {_list([_thing(n, d) for n in names])} helps most, and does not explain it." if names else ""
    )
    yield (
        "misfit",
        f"The model does not explain this log: {why}.{told} Something is in the engine or the gauges that no unknown here "
        f"stands for. Intervals are widened by {d.interval_widening:.1f}, and values may be shifted by more: check gauges and "
        "the inputs of the case before believing any.",
        None,
    )


def _thing(name: str, d: Diagnosis) -> str:
    """An unknown or a gauge, as the trade calls it."""
    row = d.estimate(name)
    if row is not None:
        return str(row["words"])
    return f"the gauge of {channels.words(name.removeprefix('sensor.'))}"


def _list(words: list[str]) -> str:
    return words[0] if len(words) == 1 else ", ".join(words[:-1]) + " and " + words[-1]


def _times(probability: float) -> str:
    return "more than a million" if probability < 1e-6 else f"{1.0 / probability:,.0f}"


def _let_go(d: Diagnosis) -> Said:
    if d.doubted:
        return  # named with the misfit: no single cause explains the log
    for item in d.let_go:
        row = d.estimate(item["name"])
        if row is None:
            continue
        sure = 1.0 - math.exp(-0.5 * item["fall"])
        if item["name"].startswith("sensor."):
            gauge = item["name"].removeprefix("sensor.")
            size = amount(gauge, row["value"])
            side = "high" if row["value"] > 0.0 else "low"
            yield (
                "gauge",
                f"{channels.words(gauge).capitalize()} disagrees with every explanation of the other gauges: it reads {size} "
                f"{side}. It was let go; check the gauge, its place and its wiring before anything else.",
                sure,
            )
        elif item["name"].startswith("cylinder."):
            number = item["name"].split(".")[1]
            yield (
                "gauge",
                f"Cylinder {number} departs by more than mixture usually does ({100.0 * row['value']:+.0f} % fuel would be needed): "
                "its probe, its spark or an injector is at fault; swap probes with a neighbour first.",
                sure,
            )
        else:
            yield (
                "case",
                f"{row['words'].capitalize()} is far from what is usual ({row['value']:.3g} against {row['prior']:.3g}): the log "
                "insists, so look for a wrong input of the case or a part that is not what it is taken for.",
                sure,
            )


def amount(gauge: str, value: float) -> str:
    """Size of an offset with its unit."""
    from ...showing import METRIC

    one = channels.channel(gauge)
    kind = {"pressure_gauge": "pressure", "mixture": "number", "spark": "angle"}.get(one.kind, one.kind)
    if kind == "temperature":
        return f"{abs(value):.0f} K"
    how = METRIC[kind]
    return f"{abs(value) / how.factor:.{max(how.decimals, 2)}f} {how.unit}".strip()


def _turbine(d: Diagnosis) -> Said:
    row = d.estimate("turbine.flow_scale")
    if row is None:
        return
    if d.points_wastegate_known < 2:
        yield (
            "turbine",
            "Nothing is said about the turbine's size: no steady point has the wastegate shut or its opening logged, and an open "
            "wastegate hides the turbine. Log pulls below its crack pressure, or write log.wastegate_shut_below.",
            None,
        )
        return
    link = _link(d, "turbine.flow_scale", "engine.breathing")
    if _departs(row):
        less = row["value"] < 1.0
        why = "" if less else "; a larger housing than thought, or a wastegate that does not close"
        yield (
            "turbine",
            f"The turbine swallows {percent(abs(row['value'] - 1.0))} {'less' if less else 'more'} than its size implies "
            f"({_band(row)}{link}){why}.",
            chance(row, 1.0),
        )
    elif row["decided_by"] != "prior":
        yield "turbine", f"The turbine swallows what its size implies ({_band(row)}{link}).", None


def _link(d: Diagnosis, first: str, second: str) -> str:
    for row in d.correlations:
        if {row["first"], row["second"]} == {first, second}:
            return f"; correlation to the charge {row['correlation']:+.2f}"
    return ""


def _factors(d: Diagnosis) -> Said:
    alone = d.estimate("compressor.efficiency_scale") is None
    whose = (
        "The turbo as a whole (turbine, compressor and bearings cannot be told apart here)" if alone else "The turbine"
    )
    things = {
        "turbine.efficiency_scale": (f"{whose} is", "more efficient than assumed", "less efficient than assumed"),
        "compressor.efficiency_scale": (
            "The compressor is",
            "more efficient than assumed",
            "less efficient than assumed",
        ),
        "engine.breathing": ("The engine draws", "more charge than the model", "less charge than the model"),
        "wall_heat.scale": ("Heat to the walls is", "more than assumed", "less than assumed"),
        "burn.duration_scale": ("The burn takes", "longer than assumed", "less long than assumed"),
    }
    for name, (start, more, less) in things.items():
        row = d.estimate(name)
        if row is not None and _departs(row):
            share = row["value"] / row["prior"] - 1.0
            low, high = (100.0 * (row[k] / row["prior"] - 1.0) for k in ("low", "high"))
            yield (
                name,
                f"{start} {percent(abs(share))} {more if share > 0.0 else less} (90 %: {low:+.1f} to {high:+.1f} %).",
                chance(row, row["prior"]),
            )


def _timing(d: Diagnosis) -> Said:
    row = d.estimate("engine.spark_offset")
    if row is not None and _departs(row):
        side = "earlier" if row["value"] > 0.0 else "later"
        yield (
            "timing",
            f"Timing at the crank is {abs(row['value']):.1f} deg {side} than logged (90 %: {row['low']:+.1f} to {row['high']:+.1f} "
            "deg); a timing light settles it.",
            chance(row, 0.0),
        )


def _outlet(d: Diagnosis) -> Said:
    row = d.estimate("exhaust.loss_coefficient")
    if row is not None and _departs(row):
        more = row["value"] > row["prior"]
        yield (
            "pipe",
            f"The pipe after the turbine holds back {'more' if more else 'less'} than assumed: {row['value']:.1f} velocity heads "
            f"(90 %: {row['low']:.1f} to {row['high']:.1f}) against {row['prior']:.1f}.",
            chance(row, row["prior"]),
        )


def _cylinders(d: Diagnosis) -> Said:
    for row in d.cylinders:
        figure = f"lambda {100.0 * row['lambda_departure']:+.1f} % against the others, 90 % within {100.0 * row['lambda_interval']:.1f}"
        if not row["departs"]:
            continue
        odds = {k: v for k, v in row["odds"].items() if v >= 0.01}
        list_ = ", ".join(
            f"{w} {100.0 * odds[k]:.0f} %"
            for k, w in (("fuel", "fuel"), ("air", "air"), ("spark", "timing"))
            if k in odds
        )
        word = row["named"]
        if word in ("lean", "rich"):
            text = f"Cylinder {row['cylinder']} is {word} ({figure}; cause: {list_})."
        else:
            text = f"Cylinder {row['cylinder']} is {word} ({figure} if it is fuel alone; {list_})."
        yield (
            "cylinder",
            text,
            1.0 - 0.5 * math.erfc(abs(row["lambda_departure"]) / (row["lambda_interval"] / NORMAL_90) / math.sqrt(2)),
        )
    quiet = [r for r in d.cylinders if not r["departs"]]
    if quiet:
        which = ", ".join(str(r["cylinder"]) for r in quiet)
        most = max(r["lambda_interval"] for r in quiet)
        yield (
            "cylinder",
            f"Cylinder{'s' if len(quiet) > 1 else ''} {which}: cannot tell from the others; a departure of lambda under "
            f"{100.0 * most:.1f} % would not show.",
            None,
        )


def _one_probe(d: Diagnosis) -> Said:
    if d.cylinders:
        seen = {r["cylinder"] for r in d.cylinders}
        blind = [k for k in range(1, d.case.engine.cylinders + 1) if k not in seen]
        if blind:
            yield (
                "probes",
                f"No probe stands in runner {_and(blind)}: a lean, late or hot cylinder there is not seen.",
                None,
            )
        return
    probed = [r["channel"] for r in d.channels if r["channel"].startswith("probe.")]
    places = [d.case.probe[int(c[6:]) - 1].cylinder for c in probed]
    runners = [p for p in places if isinstance(p, int)]
    n = d.case.engine.cylinders
    if not probed:
        yield "probes", "The log holds no exhaust probe: heat, burn and single cylinders are not seen.", None
    elif not runners and n > 1:
        yield (
            "probes",
            f"The probe in the collector sees the mean of {n} cylinders: one that is lean or late hides in it.",
            None,
        )
    elif n > 1:
        others = [k for k in range(1, n + 1) if k not in runners]
        yield (
            "probes",
            f"One runner is probed, {runners[0]}: what cylinder{'s' if len(others) > 1 else ''} {_and(others)} do is not seen, and "
            f"whether cylinder {runners[0]} departs from them cannot be told.",
            None,
        )


def _and(numbers: list[int]) -> str:
    text = [str(n) for n in numbers]
    return text[0] if len(text) == 1 else ", ".join(text[:-1]) + " and " + text[-1]


def _together(d: Diagnosis) -> Said:
    for row in d.correlations:
        if abs(row["correlation"]) < TOGETHER:
            break
        a, b = (d.estimate(row[k]) for k in ("first", "second"))
        if a is None or b is None or (a["decided_by"] == "data" and b["decided_by"] == "data"):
            continue
        yield (
            "cannot tell",
            f"This log cannot tell {a['words']} from {b['words']} (correlation {row['correlation']:+.2f}): only "
            f"{'their sum' if row['correlation'] < 0.0 else 'their difference'} is known well.",
            None,
        )


def _unseen(d: Diagnosis) -> Said:
    for name, best in d.extra_readings.items():
        row = d.estimate(name)
        if row is None or row["decided_by"] != "prior" or name.startswith("cylinder."):
            continue
        if name == "turbine.flow_scale":
            continue  # said with the turbine
        if best is not None:
            cure = f"{channels.words(best['channel'])} at these points would leave {100.0 * best['left_of_prior']:.0f} % of the doubt"
        else:
            cure = DIRECT.get(name, "none of the usual gauges would")
        yield (
            "not seen",
            f"This log does not see {row['words']}: the value is what was assumed before. {cure[0].upper()}{cure[1:]}.",
            None,
        )


DIRECT = {
    "engine.spark_offset": "a timing light on a marked pulley shows it at once",
    "exhaust.loss_coefficient": "a gauge in the sensor bung after the turbine shows it",
    "burn.duration_scale": "torque at several timings would show it",
    "wall_heat.scale": "rows at other loads and speeds with a probe close to the port would show it",
}


def _points(d: Diagnosis) -> Said:
    if d.points_without_answer:
        yield (
            "points",
            f"The model has no answer at {len(d.points_without_answer)} points, which are left out: {', '.join(d.points_without_answer[:6])}.",
            None,
        )
    bound = [r["words"] for r in d.estimates if r["at_bound"]]
    if bound:
        yield "bound", f"At the end of the allowed range: {', '.join(bound)}; its interval means little.", None
    if not d.converged:
        yield (
            "solver",
            "The fit had not come to rest when it was stopped: take its figures as near the answer, not as it.",
            None,
        )
