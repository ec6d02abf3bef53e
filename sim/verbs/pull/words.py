"""What a pull says in sentences: what is not in it, what is doubtful, its cautions, its sources."""

from typing import Any

from ...case import Case
from ...cautions import GENERAL, HOT_SIDE, PRESSURE_TAP, PULLS
from ...showing import shown
from .grid import Point

HOW_TO_READ = (
    "Gas there: as it passes, beside walls that are still warming. If held: what the probe would read were that speed held until "
    "probe and walls have settled. Lift at: what the lagging needle would show at that speed if the held reading were just at the "
    "ceiling. Backed off: less the probe's tolerance class and what the needle climbs in 0.7 s of reaction."
)
NOT_IN_IT = (
    "Every speed is a settled point: the turbo's own lag is left out, so the real boost comes later and the first part of the "
    "pull is milder than shown. Mixture, spark and boost asked for are those of [run] at every speed."
)


def wall_words(case: Case, walls: list[dict[str, Any]], family: str) -> str:
    """How the manifold's walls were taken."""
    assert case.pull is not None
    hottest = max(walls, key=lambda row: row["end_k"])
    start, end, rest = (shown(hottest[name], "temperature", family) for name in ("start_k", "end_k", "settled_k"))
    if case.pull.wall == "held":
        return (
            f"The manifold's walls are held as the cruise left them ({hottest['part']} {start}); in a long pull they would go "
            f"towards {rest}."
        )
    return (
        f"The manifold's walls warm in the pull: {hottest['part']} from {start} to {end}, on the way to {rest}. Until "
        "they have settled they cool gas and probe."
    )


def lost(points: list[tuple[float, str]]) -> list[str]:
    """What is said of speeds that have no settled answer: (speed [rpm], why)."""
    if not points:
        return []
    named = ", ".join(f"{speed:.0f} rpm ({why})" for speed, why in points)
    return [f"No settled answer at {named}: the curves pass over it, and a pull ends where its last answer is."]


def warnings_of(case: Case, points: list[Point], probes: list[dict[str, Any]], duration: float) -> list[str]:
    """Sentences about what is doubtful or past an edge, the graver first."""
    found = []
    knocking = [p.prediction for p in points if (p.prediction.knock_margin_deg or 0.0) < 0.0]
    if knocking:
        found.append(
            f"The mean cycle knocks with the spark of [run] from {min(p.speed_rpm for p in knocking):.0f} to "
            f"{max(p.speed_rpm for p in knocking):.0f} rpm: a real map has less spark there, which makes the exhaust hotter."
        )
    short = [p.prediction for p in points if p.prediction.status == "boost short"]
    if short:
        found.append(
            f"Up to {max(p.speed_rpm for p in short):.0f} rpm the turbine cannot make the boost asked for; what it makes is shown."
        )
    past = [p for p in probes if p["ceiling_reached"]]
    for probe in past:
        found.append(
            f"The probe in {probe['location']} would settle past its ceiling from {probe['lift_at_rpm']:.0f} rpm on, while its needle "
            f"still shows {shown(probe['lift_k'], 'temperature', case.report.units)}."
        )
    slow = [p for p in probes if 3.0 * p["time_constant_s"][-1] > duration]
    if slow:
        places = " and ".join(str(p["location"]) for p in slow)
        found.append(
            f"No probe in {places} settles in {duration:.1f} s: it would need {3.0 * max(p['time_constant_s'][-1] for p in slow):.0f} s "
            "for 95 % of a change."
        )
    return found


def cautions(case: Case) -> list[str]:
    """The cautions that go with a pull."""
    return [GENERAL, PULLS, HOT_SIDE] + ([PRESSURE_TAP] if case.pressure_tap is not None else [])


def models_used(case: Case, engine: dict[str, str]) -> dict[str, str]:
    """Submodels of the points, and what the pull adds."""
    assert case.pull is not None
    moved = "the dyno's ramp" if case.pull.by == "dyno" else "mass, gear and road load; no wheel slip"
    wall = (
        "held as at the cruise"
        if case.pull.wall == "held"
        else "one temperature for each runner and collector, heat capacity of its metal; gas follows its wall as in a stirred volume"
    )
    return engine | {
        "motion": moved,
        "walls in the pull": wall,
        "probe's lag": "first order, film and radiation at the junction, renewed at every speed; the stem's own lag is left out",
        "tube's lag": "first order, laminar resistance times the gas behind it",
    }
