"""Knock-limited spark and the bad cycle: the closed cycle run again at other timings with the trapped charge held."""

import math
from typing import Any, NamedTuple

import numpy as np

from ..models import combustion, knock, limits
from ..models.compiled import compiled
from ..models.gas import GasTable
from . import closed, surroundings
from .knock_search import FOUND, ROUNDS, TRY, begin, empty_trials, next_trial
from .records import IN_CA50, IN_SPARK, Array, Engine, Point, copy_row
from .settle import March
from .setup import Setup

EARLIEST, LATEST = 60.0, -30.0  # spark advance searched [deg]
USUAL_LEAD = 1.35  # degrees of spark for each of CA50, where the search for the bad cycle begins
LEAD, SECANT, MARGIN, SHORT = range(4)  # what a closed cycle is run for: the bad cycle, twice, and the two limits
UNKEPT, KNOCK = np.int64(-1), np.int64(closed.KNOCK_ONLY)  # bare numbers would compile twice
SHORT_DELAY = 1.0 - knock.DELAY_BAND  # of the delay: how much sooner this fuel may knock than the correlation says
NOTHING = (
    "knock_margin_deg", "knock_limited_spark_deg", "knock_limited_spark_short_delay_deg", "knock_margin_bad_cycle_deg",
    "octane_required_bad_cycle", "peak_pressure_bad_cycle_pa",
)  # fmt: skip


class Held(NamedTuple):
    """A trapped charge, and all that its closed cycle is run with at other timings."""

    engine: Engine
    point: Point
    table: GasTable
    given: Array  # the cylinder's inputs
    trapped: Array
    start: float  # of the closed part [deg]
    end: float
    width: float
    blend: Array
    plane: Array
    blended: Array
    frozen: Array
    work: Array
    row: Array  # scratch, from here on: inputs, content, record and report of one run
    content: Array
    record: Array
    out: Array


class Search(NamedTuple):
    """What is searched."""

    ca50: float  # of the mean cycle [deg]
    lead: float  # of the bad cycle's CA50 on it [deg]
    delay_scale: float
    octane: float  # of the fuel
    short: float  # of one whose delay is as long as this fuel's if it knocks sooner
    low: float  # shifts searched [deg]
    high: float


def knock_readings(march: March) -> dict[str, Any]:
    """The mean cycle's margin in spark degrees to its knock limit, the spark there, and the same of the bad cycle.

    The trapped charge is held: retarding would also change residual and boost a little, which a new `predict` shows.
    The cylinder that requires most octane decides. The closed cycles run for the bad cycle show the search for the limit
    where to begin.
    """
    s, desk = march.setup, march.desk
    j = int(desk.outs[: 1 if s.engine.alike else s.engine.cylinders, closed.O_KNOCK].argmax())
    here = desk.outs[j]
    if here[closed.O_CA50] >= closed.NEVER:
        return dict.fromkeys(NOTHING)
    spark = float(s.inputs[j, IN_SPARK])
    margin, short, lead, bad = limits_held(march, j)
    sparked = s.engine.burn.model == combustion.SPARK
    sparks = (spark + d if sparked and math.isfinite(d) else None for d in (margin, short))
    margins = (margin, margin - lead) if math.isfinite(margin) else (None, None)
    return dict(
        zip(NOTHING, (margins[0], *sparks, margins[1], required(s, bad), float(bad[closed.O_PEAK_P])), strict=True)
    )


def limits_held(march: March, j: int) -> tuple[float, float, float, Array]:
    """The limits of cylinder j with its trapped charge held, as `limits_of` finds them, and what its bad cycle reports."""
    case, octane, spark = march.setup.case, march.setup.octane, float(march.setup.inputs[j, IN_SPARK])
    here = march.desk.outs[j]
    lead = limits.deviations(case.knock.bad_cycle) * case.burn.cyclic_spread
    search = Search(
        float(here[closed.O_CA50]), float(lead), float(case.knock.delay_scale), float(octane),
        float(knock.equal_octane(octane, SHORT_DELAY)), LATEST - spark, EARLIEST - spark,
    )  # fmt: skip
    trials, bad = empty_trials(), np.zeros(closed.N_OUT)
    trials.needs[0] = required(march.setup, here)
    return *limits_of(held(march, j), search, trials, bad), bad


def required(setup: Setup, out: Array) -> float:
    """Octane that a closed cycle requires of a fuel of the case's delay scale [-]."""
    return float(knock.octane_required(out[closed.O_KNOCK] / setup.case.knock.delay_scale))


def held(march: March, j: int) -> Held:
    """The charge that cylinder j traps, held."""
    s, d = march.setup, march.desk
    width = 720.0 / len(d.manifold_record)
    return Held(
        s.engine,
        Point(s.plant.speed_rpm, s.plant.octane, float(march.z[surroundings.Z_OUTLET]), 0.0, 0.0),
        s.table,
        s.inputs[j],
        d.trapped[j],
        math.ceil(s.engine.intake_closes / width - 1e-9) * width,
        720.0 + s.engine.exhaust_opens,
        s.plant.closed_width,
        d.blend,
        d.plane[j],
        d.blended[j],
        d.frozen,
        d.work,
        np.empty_like(s.inputs[j]),
        np.empty_like(d.trapped[j]),
        d.record[:0],
        np.zeros(closed.N_OUT),
    )


def closed_at(march: March, j: int, shift: float, what: int = closed.KNOCK_ONLY) -> Array:
    """What the closed cycle of cylinder j reports with its burn `shift` degrees earlier, trapped charge held.

    what : of it is asked, see `closed_cycle`
    """
    h = held(march, j)
    earlier(h, shift)
    closed.closed_cycle(
        h.engine, h.point, h.table, h.row, h.content, h.start, h.end, h.width, h.blend, h.plane, h.blended, h.frozen, h.work,
        h.out, h.record, UNKEPT, what,
    )  # fmt: skip
    return h.out


@compiled
def earlier(held, shift):
    """Make ready for a closed cycle with its burn `shift` degrees earlier [deg], trapped charge held."""
    copy_row(held.row, held.given)
    copy_row(held.content, held.trapped)
    held.row[IN_SPARK] += shift
    held.row[IN_CA50] -= shift


@compiled
def limits_of(held, search, trials, bad):
    """Margin of the mean cycle, the same if this fuel knocks sooner, and how much earlier the bad cycle is sparked [deg].

    trials : the mean cycle is in it; all that is run here is added
    bad : float64[N_OUT], written: what the bad cycle reports
    A limit is the shift at which an octane is just required, nearest to the present spark; NaN where it is nowhere.

    Cycles are taken to differ in when their burn begins to tell, normally distributed about the mean one in CA50: the bad
    cycle burns like one sparked earlier by what moves CA50 by so many standard deviations; one secant step finds it.

    A closed cycle is broken off where knock counts no further and pressure falls: octane and peak pressure are then those of
    the whole, unless a burn given as a table rises once more past its 90 %. There is one place to run it from, since whatever
    calls it is compiled with all of it.
    """
    stage, count, left, knocks = LEAD, 1, ROUNDS, False
    octane, margin = search.octane, math.nan
    lead = shift = USUAL_LEAD * max(search.lead, 0.0)
    while True:
        earlier(held, shift)
        closed.closed_cycle(
            held.engine, held.point, held.table, held.row, held.content, held.start, held.end, held.width, held.blend,
            held.plane, held.blended, held.frozen, held.work, held.out, held.record, UNKEPT, KNOCK,
        )  # fmt: skip
        trials.shifts[count], trials.alive[count] = shift, 1.0
        trials.needs[count] = knock.octane_required(held.out[closed.O_KNOCK] / search.delay_scale)
        count += 1
        if stage < MARGIN:
            copy_row(bad, held.out)
            # little, or very much, where hardly anything burns: its phase is then the spark's
            moved = search.ca50 - bad[closed.O_CA50]
            if stage == LEAD and 0.2 * search.lead < moved < 5.0 * search.lead:
                lead = shift = shift * search.lead / moved
                stage = SECANT
                continue
            stage = MARGIN
            knocks = begin(trials, count, octane)
        what, shift = next_trial(trials, count, octane, knocks, search.low, search.high)
        left -= 1
        if stage == MARGIN and (what != TRY or left < 0):
            margin = shift if what == FOUND else math.nan
            stage, left, octane = SHORT, ROUNDS, search.short
            knocks = begin(trials, count, octane)
            what, shift = next_trial(trials, count, octane, knocks, search.low, search.high)
            left -= 1
        if what != TRY or left < 0:
            return margin, (shift if what == FOUND else math.nan), lead
