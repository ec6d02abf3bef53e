"""Cylinders and probes, said: who departs, what the probes of a log cannot see."""

import math

from .phrases import Said, listed
from .result import Diagnosis
from .unknowns import NORMAL_90


def cylinders_said(d: Diagnosis) -> Said:
    """Which cylinder departs from the others, and what would not show."""
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
            f"One runner is probed, {runners[0]}: what cylinder{'s' if len(others) > 1 else ''} {numbered(others)} do is not seen, and "
            f"whether cylinder {runners[0]} departs from them cannot be told.",
            None,
        )


def numbered(numbers: list[int]) -> str:
    """Numbers one after the other."""
    return listed([str(n) for n in numbers])
