"""Cylinders and probes, said: who departs, what the probes of a log cannot see."""

import math
from typing import Any

from .cylinders import MORE_ROWS, RICH_ENOUGH
from .phrases import Said, listed
from .result import Diagnosis
from .unknowns import NORMAL_90
from .unlike import ODDS

CAUSE_WORDS = {"fuel": "fuel", "air": "air", "spark": "timing"}


def cylinders_said(d: Diagnosis) -> Said:
    """Which cylinder departs from the others, and what would not show."""
    for row in d.cylinders:
        if row["departs"]:
            yield "cylinder", _departs(row), _sure(row)
    quiet = [r for r in d.cylinders if not r["departs"]]
    odds = d.cylinders_odds or 0.0
    if len(quiet) == len(d.cylinders) and odds >= ODDS:
        yield "cylinder", _some(quiet), odds / (1.0 + odds)
    elif quiet:
        yield "cylinder", _quiet([r["cylinder"] for r in quiet], d.cylinders_named_from), None


def _departs(row: dict[str, Any]) -> str:
    figure = f"{_lambda(row)} against the others, 90 % within {100.0 * row['lambda_interval']:.1f}"
    causes = [f"{word} {100.0 * row['odds'][k]:.0f} %" for k, word in CAUSE_WORDS.items() if row["odds"][k] >= 0.01]
    if row["named"] in ("lean", "rich"):
        return f"Cylinder {row['cylinder']} is {row['named']} ({figure}; cause: {', '.join(causes)})."
    return f"Cylinder {row['cylinder']} is {row['named']} ({figure} if it is fuel alone; {', '.join(causes)})."


def _sure(row: dict[str, Any]) -> float:
    """Chance that it departs, and to the side on which it was found."""
    spread = row["lambda_interval"] / NORMAL_90
    return float(row["chance"] * (1.0 - 0.5 * math.erfc(abs(row["lambda_departure"]) / spread / math.sqrt(2.0))))


def _lambda(row: dict[str, Any]) -> str:
    return f"lambda {100.0 * row['lambda_departure']:+.1f} %"


def _some(rows: list[dict[str, Any]]) -> str:
    """They are not alike, and which of them departs cannot be told."""
    likely = sorted((r for r in rows if r["chance"] >= 0.05), key=lambda r: -r["chance"])
    told = [
        f"{r['cylinder']} {'hot' if r['lambda_departure'] > 0.0 else 'cool'} (if fuel alone, {_lambda(r)}; {100.0 * r['chance']:.0f} %)"
        for r in likely
    ]
    which = numbered(sorted(r["cylinder"] for r in rows))
    return f"Cylinders {which} are not alike, and this log cannot tell which of them departs: {listed(told, 'or')}."


def _quiet(numbers: list[int], named_from: dict[str, float]) -> str:
    """What would not show at the others, and what would make it show."""
    start = f"Cylinder{'s' if len(numbers) > 1 else ''} {numbered(numbers)}: cannot tell from the others."
    if not named_from:
        return (
            f"{start} So near lambda 1, where the exhaust is hottest, a lean cylinder may read no hotter than the others; rows at "
            f"lambda {RICH_ENOUGH:g} or richer tell."
        )
    now, rows, matched = (f"{100.0 * named_from[k]:.1f} %" for k in ("this log", "more rows", "matched probes"))
    return (
        f"{start} Such a log names a cylinder whose "
        f"lambda alone is {now} off about 95 times in 100, a smaller departure less often; with {MORE_ROWS} times the rows it would be "
        f"{rows}, with probes compared with one another in one place {matched}."
    )


def probes_said(d: Diagnosis) -> Said:
    """What the probes of this log cannot see."""
    if d.cylinders:
        seen = {r["cylinder"] for r in d.cylinders}
        blind = [k for k in range(1, d.case.engine.cylinders + 1) if k not in seen]
        if blind:
            yield (
                "probes",
                f"No probe stands in runner {numbered(blind)}: a lean, late or hot cylinder there is not seen.",
                None,
            )
        return
    probed = [r["channel"] for r in d.channels if r["channel"].startswith("probe.")]
    places = [d.case.probe[int(c[6:]) - 1].cylinder for c in probed]
    runners = [p for p in places if isinstance(p, int)]
    n = d.case.engine.cylinders
    if not probed:
        yield "probes", f"{_unprobed(d)}: heat, burn and single cylinders are not seen.", None
    elif not runners and n > 1:
        yield (
            "probes",
            f"The probe in the collector sees the mean of {n} cylinders: one that is lean or late hides in it.",
            None,
        )
    elif len(set(runners)) > 1:
        which = numbered(sorted(set(runners)))
        yield (
            "probes",
            f"Runners {which} are probed; which of them departs was not asked, fuel of their cylinders is not fitted.",
            None,
        )
    elif n > 1:
        others = [k for k in range(1, n + 1) if k not in runners]
        yield (
            "probes",
            f"One runner is probed, {runners[0]}: what cylinder{'s' if len(others) > 1 else ''} {numbered(others)} do is not seen, and "
            f"whether cylinder {runners[0]} departs from them cannot be told.",
            None,
        )


def _unprobed(d: Diagnosis) -> str:
    """Why no exhaust probe is compared."""
    held = sorted(int(c["channel"][6:]) for c in d.columns if c["channel"].startswith("probe."))
    if not held:
        return "The log holds no exhaust probe"
    whose = f"Probe {held[0]} is" if len(held) == 1 else f"Probes {numbered(held)} are"
    if d.points_steady:
        return f"{whose} in the log without a figure that could be compared"
    return f"{whose} in the log and not compared, since a probe lags behind where nothing is held steady"


def numbered(numbers: list[int]) -> str:
    """Numbers one after the other."""
    return listed([str(n) for n in numbers])
