"""The step-up card as a section of a page."""

from ...report.page import Section
from ...report.tables import Table
from ...style import scale
from .plot import draw
from .result import PlanResult
from .table import KINDS, _band, _lift, _moving, _room, ends, gauge
from .words import notes


def card(r: PlanResult, family: str) -> Section:
    """The card of a plan: what to set and read, when to lift, and a picture of the probe in each pull."""
    from ...report.living import living  # matplotlib takes half a second: only for a page

    return Section(
        "Step-up card",
        [ends(r, family), _reads(r, family), _lifts(r, family), living(draw(r, family)), notes(r, family)],
    )


def _unit(name: str, family: str) -> str:
    return scale(KINDS[name], family)[1]


def _reads(r: PlanResult, family: str) -> Table:
    pressure, warm = _unit("boost_pa", family), _unit("probe_k", family)
    heads = (
        "pull",
        f"boost [{pressure}]",
        "lambda",
        "spark [deg]",
        f"probe [{warm}]",
        f"before turbine [{pressure}]",
        "next",
    )
    rows = [
        (str(p["pull"]), _band(gauge(p, "boost_pa"), family), f"{p['lambda_ratio']:.3f}", f"{p['spark_advance_deg']:.1f}",
         _band(gauge(p, "probe_k"), family), _band(gauge(p, "backpressure_pa"), family), p["next"])
        for p in r.pulls
    ]  # fmt: skip
    return Table("set this, and read this", heads, rows)


def _lifts(r: PlanResult, family: str) -> Table:
    heads = (
        "pull",
        "boost",
        "lambda",
        "probe, held",
        "probe, in a pull",
        "before turbine",
        "fuel pressure",
        "knock room",
    )
    rows = []
    for p in r.pulls:
        lean, probe = gauge(p, "lambda_ratio"), gauge(p, "probe_k")
        lift = (_lift(gauge(p, n), family) for n in ("backpressure_pa", "fuel_pressure_pa"))
        rows.append((str(p["pull"]), _lift(gauge(p, "boost_pa"), family), "-" if lean is None else f"{lean['lift']:.3f}",
                     _lift(probe, family), _moving(probe, family), *lift, _room(p)))  # fmt: skip
    return Table("lift at, or above; fuel pressure at, or below", heads, rows)
