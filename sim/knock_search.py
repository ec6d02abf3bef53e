"""Which spark to try next on the way to the knock limit: what the trials so far say, and when they say enough.

Octane required rises with the spark, ever more slowly, and falls again where a burn is far too early. A closed cycle is dear and the
curve smooth, so a parabola through three trials is followed, never wide and never out of the bracket once there is one.
"""

import math
from typing import NamedTuple

import numpy as np

from ..models.compiled import compiled, inlined
from .records import Array, finite

ROUNDS = 30  # trials granted to one search
ROOM = 2 * ROUNDS + 3  # for those of two searches, the present cycle and the bad one's
USUAL_SLOPE = 0.9  # octane for each degree of spark, where the search begins
LEAST_SLOPE, MOST_SLOPE = 0.02, 5.0  # of what trials may say of it
WIDEST = 10.0  # step of the search [deg]
SLIGHT = 0.2  # octane by which a parabola through wide trials may miss the peak
NEAR = 0.02  # step that is taken without another closed cycle: what it leaves is of higher order [deg]
# A longer one is taken to be as wrong as it is long beside what lies between the trials it rests on, which may leave so much; of trials
# farther apart than that nothing is taken to follow. Against 636 limits by bisection it left 1.8e-3 at most, 5e-4 in 99 of 100 [deg].
CLOSE, APART = 1e-3, 2.0
TRY, FOUND, NOWHERE = np.int64(0), np.int64(1), np.int64(2)
NONE = np.int64(-1)


class Trials(NamedTuple):
    """Sparks tried, as shifts of the burn from the present one, which is the first; room for `ROOM` of them."""

    shifts: Array  # to earlier [deg]
    needs: Array  # octane required there
    alive: Array  # 1 while a trial tells of the limit that is searched


def empty_trials() -> Trials:
    """Room for trials."""
    return Trials(np.zeros(ROOM), np.zeros(ROOM), np.zeros(ROOM))


@compiled
def begin(trials, count, octane):
    """Look at the trials with another octane in mind; returns whether the present cycle knocks: then its limit is later than it."""
    knocks = trials.needs[0] >= octane
    for i in range(count):
        trials.alive[i] = 1.0 if not knocks or trials.needs[i] >= octane else 0.0
    return knocks


@compiled
def next_trial(trials, count, octane, knocks, low, high):
    """What to do next: TRY a shift, or the limit is FOUND there, or NOWHERE from low to high.

    trials, count : Trials, and how many there are
    octane : float, of the fuel; knocks : bool, as `begin` said
    low, high : float, least and greatest shift [deg]
    Returns (what, shift [deg]).

    A burn far too early requires less octane again, so trials earlier than one that knocks say nothing of where knock begins; and
    where octane falls again all that is left to look at is the summit between the trials.
    """
    past, inside = math.inf, -math.inf
    for i in range(count):
        if trials.alive[i] == 1.0 and trials.needs[i] >= octane:
            past = min(past, trials.shifts[i])
    for i in range(count):
        if trials.alive[i] == 1.0 and trials.needs[i] < octane:
            if trials.shifts[i] < past:
                inside = max(inside, trials.shifts[i])
            else:
                trials.alive[i] = 0.0
    bracketed = finite(past) and finite(inside)
    a = best(trials, count, octane, bracketed, knocks, NONE, NONE)
    b = best(trials, count, octane, bracketed, knocks, a, NONE)
    c = best(trials, count, octane, bracketed, knocks, a, b) if b != NONE else NONE
    step = way(trials, octane, a, b, c)
    told = finite(step)
    if not told:
        step = (octane - trials.needs[a]) / USUAL_SLOPE
    wanted = trials.shifts[a] + min(max(step, -WIDEST), WIDEST)
    if told and low <= wanted <= high and is_last(step, trials.shifts[a] - trials.shifts[b]):
        return FOUND, wanted
    wanted = min(max(wanted, low), high)
    if not inside < wanted < past:
        wanted = 0.5 * (inside + past)
    falls = not (bracketed or knocks) and b != NONE and trials.needs[a] < trials.needs[b]
    if falls or not low <= wanted <= high or tried(trials, count, wanted):
        wanted = math.nan if bracketed or knocks else summit(trials, count, octane)
        if not finite(wanted):
            return NOWHERE, wanted
    return TRY, wanted


@inlined
def tried(trials, count, shift):
    """Whether a shift is one of the trials."""
    found = False
    for i in range(count):
        found = found or (trials.alive[i] == 1.0 and trials.shifts[i] == shift)
    return found


@compiled
def best(trials, count, octane, bracketed, knocks, a, b):
    """The trial that tells most, beside a and b: the nearest to the octane, or before there is a bracket the one farthest on the way
    to it; NONE where there is no other. A shift tried twice counts once."""
    found, least = -1, math.inf
    for i in range(count):
        shift = trials.shifts[i]
        if trials.alive[i] == 0.0 or (a >= 0 and shift == trials.shifts[a]) or (b >= 0 and shift == trials.shifts[b]):
            continue
        key = -shift
        if bracketed:
            key = abs(trials.needs[i] - octane)
        elif knocks:
            key = shift
        if key < least:
            found, least = i, key
    return found


@compiled
def way(trials, octane, a, b, c):
    """Way from trial a to where the parabola through three meets the octane rising, or its tangent where it never does [deg].

    NaN where the trials say nothing of the kind.
    """
    if b == NONE:
        return math.nan
    start, f = trials.shifts[a], trials.needs[a] - octane
    to_b = trials.shifts[b] - start
    slope, bend = (trials.needs[b] - octane - f) / to_b, 0.0
    if c != NONE:
        to_c = trials.shifts[c] - start
        bend = ((trials.needs[c] - octane - f) / to_c - slope) / (to_c - to_b)
    slope -= bend * to_b
    square = slope * slope - 4.0 * bend * f
    if not LEAST_SLOPE < slope < MOST_SLOPE:
        return math.nan
    return -2.0 * f / (slope + math.sqrt(square)) if square > 0.0 else -f / slope


@compiled
def is_last(step, between):
    """Whether a step needs no other closed cycle, given how far apart the two best trials lie [deg]."""
    return abs(step) < NEAR or step * step < CLOSE * min(abs(between), APART)


@compiled
def summit(trials, count, octane):
    """Shift between trials that all stay below an octane at which what is required may pass it all the same, NaN where it does not."""
    k = -1
    for i in range(count):
        if trials.alive[i] == 1.0 and (k < 0 or trials.needs[i] > trials.needs[k]):
            k = i
    before = after = -1
    for i in range(count):
        shift = trials.shifts[i]
        if trials.alive[i] == 0.0:
            continue
        if shift < trials.shifts[k] and (before < 0 or shift > trials.shifts[before]):
            before = i
        if shift > trials.shifts[k] and (after < 0 or shift < trials.shifts[after]):
            after = i
    if before < 0 or after < 0:
        return math.nan
    f = trials.needs[k] - octane
    left, right = trials.shifts[k] - trials.shifts[before], trials.shifts[after] - trials.shifts[k]
    rise, fall = (trials.needs[k] - trials.needs[before]) / left, (trials.needs[after] - trials.needs[k]) / right
    bend = (fall - rise) / (left + right)
    if bend >= 0.0:
        return math.nan
    slope = rise + bend * left
    off = -0.5 * slope / bend
    return trials.shifts[k] + off if f + 0.5 * slope * off > -SLIGHT and abs(off) > NEAR else math.nan
