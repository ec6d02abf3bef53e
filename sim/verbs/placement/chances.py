"""Every placement of the probes on the same draws of all cylinders: how often it misses the hottest one, and by how much."""

from collections.abc import Sequence
from itertools import combinations
from math import comb
from typing import Any, NamedTuple

import numpy as np

from ...errors import CaseError
from ...records import Array
from .surface import GAS, REACH, READING, Response

MOST_PLACEMENTS = 3000
TIE_ERRORS, TIE_SHARE = (
    2.0,
    0.02,
)  # paired errors, or share of pulls, within which two placements are as good as each other
Placement = tuple[int, ...]  # rows of the places


class Draws(NamedTuple):
    """Departures drawn, and what they make of every place."""

    feed: Array  # (draws, cylinders, 3)
    reading: Array  # what an exact probe would show (draws, places) [K]
    needle: Array  # with the error of each probe's class (draws, places) [K]
    gas: Array  # flow-weighted (draws, places) [K]
    cylinders: int


def feeds(rng: np.random.Generator, mean: Array, spreads: Array, draws: int) -> Array:
    """Departures of every cylinder: normal about the case's own, none beyond REACH standard deviations."""
    return mean + spreads * np.clip(rng.standard_normal((draws, *mean.shape)), -REACH, REACH)


def draw(rng: np.random.Generator, response: Response, spreads: Array, tolerance: Array, draws: int) -> Draws:
    """Sample all cylinders and all probes; a class is a pair of limits, so errors are drawn evenly between them.

    tolerance : half-width of the class at each place [K]
    """
    feed = feeds(rng, response.mean, spreads, draws)
    answers = response.at(feed)
    reading = answers[..., READING]
    needle = reading + tolerance * rng.uniform(-1.0, 1.0, reading.shape)
    return Draws(feed, reading, needle, answers[..., GAS], response.mean.shape[0])


def offsets(response: Response) -> Array:
    """What a collector shows beyond the hottest runner while all are fed alike, 0 for runners, (places, 2) [K].

    It is known beforehand, so a person allows for it, and so do the chances.
    """
    n = response.mean.shape[0]
    found = np.zeros_like(response.alike)
    found[n:] = response.alike[n:] - response.alike[:n].max(axis=0)
    return found


def placements(places: int, probes: int) -> list[Placement]:
    """All ways to put the probes; raises CaseError where they do not fit or are too many to rank."""
    if not 1 <= probes <= places:
        raise CaseError(
            f"--probes {probes}: this engine has {places} places, runners and collectors; write 1 to {places}."
        )
    if comb(places, probes) > MOST_PLACEMENTS:
        raise CaseError(
            f"--probes {probes} makes {comb(places, probes)} placements, more than {MOST_PLACEMENTS}; ask for fewer."
        )
    return list(combinations(range(places), probes))


def misses(draws: Draws, offset: Array, placement: Placement) -> tuple[Array, Array]:
    """The hottest runner above the hottest probed place in each draw: by needles, and by gas without probe errors [K]."""
    rows, n = list(placement), draws.cylinders
    seen = (draws.needle[:, rows] - offset[rows, READING]).max(axis=1)
    there = (draws.gas[:, rows] - offset[rows, GAS]).max(axis=1)
    return draws.reading[:, :n].max(axis=1) - seen, draws.gas[:, :n].max(axis=1) - there


def chance(miss: Array, above: float, doubt: float) -> tuple[float, float]:
    """Share of draws missed by more than `above`, and its standard error.

    doubt : how far the surface may be off [K]; it counts as a shift of the bar, beside the error of sampling
    """
    p = float(np.mean(miss > above))
    spread = 0.5 * float(np.mean(miss > above - doubt) - np.mean(miss > above + doubt))
    return p, float(np.sqrt(p * (1.0 - p) / len(miss) + spread**2))


def apart(one: Array, other: Array, above: float) -> tuple[float, float]:
    """How much oftener the first misses on the same draws, and the standard error of that."""
    difference = (one > above).astype(float) - (other > above)
    return float(difference.mean()), float(difference.std() / np.sqrt(len(difference)))


def ranked(draws: Draws, offset: Array, rows: Sequence[Placement], above: float, doubt: float) -> list[dict[str, Any]]:
    """Placements by rising chance of a miss, each with how it stands to the first on the same draws."""
    found: list[dict[str, Any]] = []
    for placement in rows:
        needle, gas = misses(draws, offset, placement)
        p, error = chance(needle, above, doubt)
        found.append({"rows": placement, "miss": needle, "chance": p, "chance_error": error,
                      "chance_gas": float(np.mean(gas > above)), "miss_mean_k": float(needle.mean()),
                      "miss_95_k": float(np.quantile(needle, 0.95))})  # fmt: skip
    found.sort(key=lambda row: (row["chance"], row["rows"]))
    first = found[0]["miss"]
    for row in found:
        more, error = apart(row["miss"], first, above)
        row |= {"worse_by": more, "worse_by_error": error, "ties": more <= max(TIE_ERRORS * error, TIE_SHARE)}
    return found


def hottest(draws: Draws) -> Array:
    """How often each runner is the hottest [-]."""
    return np.bincount(draws.reading[:, : draws.cylinders].argmax(axis=1), minlength=draws.cylinders) / len(draws.feed)
