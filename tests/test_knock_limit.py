"""The search for the knock limit, and the shortened closed cycle it leans on."""

import math
from pathlib import Path

import numpy as np
import pytest
from hotside.models import knock
from hotside.sim import closed, knock_limit, knock_search, knock_words, load, predict, steady
from hotside.sim.knock_search import FOUND, ROUNDS, TRY
from hotside.sim.sections import SPECS
from hotside.sim.setup import prepare
from scipy.optimize import brentq

UNEVEN = load(Path(__file__).parent.parent / "examples" / "uneven.toml")
# Octane beyond the fuel's against spark: it rises ever more slowly, and is nearly flat where the burn is early.
CURVES = {
    "usual": lambda d: 1.1 + 0.66 * d - 0.028 * d * d,
    "flat": lambda d: -1.3617 * math.exp(-d / 4.0) + 0.4,
    "far later": lambda d: 15.8 - 0.05 * (12.0 - d) ** 2 + 7.2,
    "far earlier": lambda d: -6.0 + 6.5 * (1.0 - math.exp(-(d + 1.0) / 9.0)),
    "falls again": lambda d: 8.7 - 0.035 * (d + 6.0) ** 2,
    "steep": lambda d: 3.0 * (d + 2.0) + 0.01 * (d + 2.0) ** 3,
}


def searched(curve, tried, low, high):
    """Shift at which a curve of octane beyond the fuel's is zero, None where the search finds none; `tried` are trials (shift, value)."""
    trials = knock_search.empty_trials()
    for k, (shift, value) in enumerate(tried):
        trials.shifts[k], trials.needs[k] = shift, value
    count = len(tried)
    knocks = knock_search.begin(trials, count, 0.0)
    for _ in range(ROUNDS):
        what, shift = knock_search.next_trial(trials, count, 0.0, knocks, low, high)
        if what != TRY:
            return shift if what == FOUND else None
        assert math.isfinite(shift)
        trials.shifts[count], trials.needs[count], trials.alive[count] = shift, curve(shift), 1.0
        count += 1
    return None


@pytest.mark.parametrize("name", CURVES)
@pytest.mark.parametrize("bad", [(), (3.3,), (3.3, 4.2)])
def test_the_search_finds_the_root_in_a_few_closed_cycles(name, bad):
    curve, asked = CURVES[name], []
    tried = [(d, curve(d)) for d in (0.0, *bad)]
    found = searched(lambda d: asked.append(d) or curve(d), tried, -46.0, 44.0)
    low, high = (-30.0, 0.0) if curve(0.0) > 0.0 else (0.0, 40.0)
    assert found == pytest.approx(brentq(curve, low, high), abs=2e-4)
    assert len(asked) <= 6


@pytest.mark.parametrize("curve", [lambda d: 30.0 + 0.3 * d, lambda d: -30.0 + 0.3 * d, lambda d: 1.0, lambda d: -1.0])
def test_a_limit_out_of_reach_is_none(curve):
    assert searched(curve, [(0.0, curve(0.0))], -46.0, 44.0) is None


def test_a_spark_tried_twice_is_one_trial():
    """Where the bad cycle's first trial meets its CA50 to the last bit the second is the same: no slope lies between the two."""
    tried = [(0.0, -4.0), (2.0, -2.0), (2.0, -2.0)]
    assert searched(lambda shift: shift - 4.0, tried, -30.0, 30.0) == pytest.approx(4.0)


@pytest.mark.parametrize("peak", [0.05, 0.6, 4.0])
@pytest.mark.parametrize("start", [6.0, 12.0, 20.0])
def test_a_limit_below_a_peak_between_the_trials_is_found(peak, start):
    """Octane required has a peak over the spark; where it passes the fuel's only near it, wide steps may walk over it."""

    def curve(d):
        return peak - 12.0 * (1.0 - 1.0 / math.cosh((d + start - 34.0) / 15.0))

    found = searched(curve, [(d, curve(d)) for d in (0.0, 3.3)], -46.0, 60.0 - start)
    assert found == pytest.approx(brentq(curve, -10.0, 34.0 - start), abs=0.02)


@pytest.mark.parametrize("changes", [{}, {"run.speed": "2000 rpm"}, {"knock.window_end": "evo"}], ids=str)
@pytest.mark.parametrize("case", [load(), UNEVEN], ids=lambda c: c.title)
def test_margin_against_brentq_over_whole_closed_cycles(case, changes):
    """Knock counts to 90 % burned, or to exhaust opening where the case says so; what comes after changes neither octane nor peak."""
    march, ending = steady.solve(prepare(case.set_all(changes) if changes else case))
    found = steady.read(march, ending)
    s, outs = march.setup, march.desk.outs
    j = int(outs[: 1 if s.engine.alike else s.engine.cylinders, closed.O_KNOCK].argmax())
    for shift in (-12.0, -3.0, 0.0, 4.0):
        short, whole = (
            knock_limit.closed_at(march, j, shift),
            knock_limit.closed_at(march, j, shift, closed.ALL),
        )
        for column in (closed.O_KNOCK, closed.O_PEAK_P, closed.O_CA50, closed.O_CA90):
            assert short[column] == whole[column]

    def excess(d):
        return knock_limit.required(s, knock_limit.closed_at(march, j, d, closed.ALL)) - s.octane

    assert np.sign(excess(0.0)) == -np.sign(found.knock_margin_deg)
    assert found.knock_margin_deg == pytest.approx(brentq(excess, -25.0, 12.0, xtol=1e-9), abs=2e-3)


# ------------------------------------------------------------------------------------- the delay's own factor


@pytest.mark.parametrize("case", [load(), UNEVEN, load().set("run.speed", "3000 rpm")], ids=["demo", "uneven", "slow"])
def test_a_longer_delay_leaves_more_room_and_nothing_else(case):
    """The end gas ignites later by the factor: the integral falls by it, the octane required by its root of 3.402, as the delay goes
    with that power of octane. Nothing that the engine does depends on a knock that does not happen."""
    plain = predict(case)
    for scale in (0.8, 1.2):
        p = predict(case.set("knock.delay_scale", scale))
        assert p.knock_integral == pytest.approx(plain.knock_integral / scale, rel=1e-9)
        assert p.octane_required == pytest.approx(plain.octane_required * scale ** (-1.0 / 3.402), rel=1e-9)
        assert p.power_w == plain.power_w
        assert (p.knock_limited_spark_deg > plain.knock_limited_spark_deg) == (scale > 1.0)
        early = (p.knock_onset_deg or 999.0) - (plain.knock_onset_deg or 999.0)
        assert early == 0.0 or (early > 0.0) == (scale > 1.0)


@pytest.mark.parametrize(
    "changes",
    [
        {}, {"run.spark_advance": "4 deg"}, {"run.spark_advance": "24 deg"}, {"run.speed": "3000 rpm"}, {"fuel.name": "e85"},
        {"run.boost": "0.8 bar"}, {"run.boost": "0.8 bar", "run.spark_advance": "4 deg"}, {"run.boost": "1.6 bar", "knock.window_end": "evo"},
    ],
    ids=str,
)  # fmt: skip
def test_the_limit_at_a_short_delay_is_that_of_such_a_fuel(changes):
    """What stands beside the limit is the limit of a case whose delay is 20 % shorter, at mild boost too where only that one knocks."""
    case = load().set_all(changes)
    p, short = predict(case), predict(case.set("knock.delay_scale", knock_limit.SHORT_DELAY))
    found, true = p.knock_limited_spark_short_delay_deg, short.knock_limited_spark_deg
    print(f"{p.knock_limited_spark_deg} deg, with a short delay {found} deg; solved by itself {true} deg")
    assert (found is None) == (true is None)
    if found is not None:
        assert found == pytest.approx(true, abs=0.05)
        assert p.knock_limited_spark_deg is None or found < p.knock_limited_spark_deg


def test_one_band_of_the_delay_in_the_tree():
    spec = SPECS["knock.delay_scale"]
    assert spec.half_width(1.0) == pytest.approx(knock.DELAY_BAND) == pytest.approx(1.0 - knock_limit.SHORT_DELAY)


def test_no_limit_is_said_in_one_sentence():
    """At mild boost octane required peaks below the fuel's: an ever earlier burn is over before its end gas has had the time."""
    case = load().set("run.boost", "0.8 bar")
    sparks = np.arange(20.0, 61.0, 10.0)
    required = [predict(case.set("run.spark_advance", f"{s} deg")).octane_required for s in sparks]
    peak = int(np.argmax(required))
    assert 0 < peak < len(sparks) - 1
    assert required[peak] < 98.0
    (text,) = knock_words.about_knock([vars(predict(case))])
    assert knock_words.in_place(vars(predict(case))) == "no limit"
    assert text.startswith("No spark makes this fuel knock here: octane required stays below the fuel's")
    assert knock_words.about_knock([vars(predict(load())), None]) == []
    both = knock_words.about_knock([vars(predict(load())), vars(predict(case))])
    assert len(both) == 1
    assert 'where the margin is "no limit"' in both[0]


def test_what_knocks_at_every_spark_is_said():
    case = load().set_all({"fuel.octane": "60 RON", "knock.delay_scale": 0.3, "run.spark_advance": "0 deg"})
    p = predict(case)
    assert p.knock_integral > 1.0
    assert p.knock_margin_deg is None
    assert knock_words.in_place(vars(p)) == "all knock"
    assert knock_words.about_knock([vars(p)]) == [
        "Every spark tried knocks here: no retard to 30 deg after top dead centre takes it away."
    ]


def test_trials_far_apart_do_not_let_a_long_step_be_the_last():
    """What a parabola through trials tens of degrees apart leaves is not small because they are far apart: -4.97 was told for -5.08."""
    assert not knock_search.is_last(0.1, 40.0)
    assert knock_search.is_last(0.04, -2.0)
    assert knock_search.is_last(0.01, 40.0)
