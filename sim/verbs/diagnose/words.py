"""What a diagnosis means, in the trade's words: each sentence with its figure and how sure it is."""

from typing import Any

from ... import channels
from .cylinder_words import cylinders_said, probes_said
from .doubts import alike_said, let_go_said, misfit_said
from .examine import TOGETHER
from .phrases import Said, band, chance, departs, percent
from .result import Diagnosis


def sentences(d: Diagnosis) -> list[dict[str, Any]]:
    """Sentences of a diagnosis, what does not fit first: about, text, confidence (a chance, or None)."""
    found: list[dict[str, Any]] = []
    for maker in (
        misfit_said,
        let_go_said,
        _turbine,
        _factors,
        _timing,
        _outlet,
        alike_said,
        cylinders_said,
        probes_said,
        _together,
        _unseen,
        _points,
    ):
        for about, text, confidence in maker(d):
            found.append({"about": about, "text": text, "confidence": confidence if _holds(d, about) else None})
    return found


def _holds(d: Diagnosis, about: str) -> bool:
    """Whether what is said can be given a chance: the model is not doubted, and stands without two faults at once beside it."""
    return not d.doubted and (len(d.let_go) < 2 or about in ("gauge", "wastegate", "case"))


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
    if departs(row):
        less = row["value"] < 1.0
        why = "" if less else "; a larger housing than thought"
        yield (
            "turbine",
            f"The turbine swallows {percent(abs(row['value'] - 1.0))} {'less' if less else 'more'} than its size implies "
            f"({band(row)}{link}){why}.",
            chance(row, 1.0),
        )
    elif row["decided_by"] != "prior":
        yield "turbine", f"The turbine swallows what its size implies ({band(row)}{link}).", None


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
        if row is not None and departs(row):
            share = row["value"] / row["prior"] - 1.0
            low, high = (100.0 * (row[k] / row["prior"] - 1.0) for k in ("low", "high"))
            yield (
                name,
                f"{start} {percent(abs(share))} {more if share > 0.0 else less} (90 %: {low:+.1f} to {high:+.1f} %).",
                chance(row, row["prior"]),
            )


def _timing(d: Diagnosis) -> Said:
    row = d.estimate("engine.spark_offset")
    if row is not None and departs(row):
        side = "earlier" if row["value"] > 0.0 else "later"
        yield (
            "timing",
            f"Timing at the crank is {abs(row['value']):.1f} deg {side} than logged (90 %: {row['low']:+.1f} to {row['high']:+.1f} "
            "deg); a timing light settles it.",
            chance(row, 0.0),
        )


def _outlet(d: Diagnosis) -> Said:
    row = d.estimate("exhaust.loss_coefficient")
    if row is not None and departs(row):
        more = row["value"] > row["prior"]
        yield (
            "pipe",
            f"The pipe after the turbine holds back {'more' if more else 'less'} than assumed: {row['value']:.1f} velocity heads "
            f"(90 %: {row['low']:.1f} to {row['high']:.1f}) against {row['prior']:.1f}.",
            chance(row, row["prior"]),
        )


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
