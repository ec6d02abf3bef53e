"""How readings answer one cylinder's departures: a surface through a few predictions, and how far it is off elsewhere.

Mixture has a coordinate of its own, the logarithm of fuel over air, which leaves air and spark nearly straight. Temperature
has a corner at lambda 1, where what is left over turns from fuel to air: where a cylinder may cross it, the surface has a
corner there too, and more levels. What the cylinders do to a place is added up.
"""

from typing import Any, NamedTuple

import numpy as np

from ...records import Array
from .engine import GAS, MOST, READING, Engine

REACH = 3.0  # standard deviations to which departures are drawn and the surface is laid [-]
STEPS, STEPS_CORNER = 4, 5  # of mixture to each side, without and with a corner
WITHIN = 0.9  # of the reach, beyond which a corner is left out: too few levels lie past it
CORNER = 0.7  # of the reach, where two coordinates are moved at once
CHECKS = 6  # draws of all cylinders at once, predicted and compared with the surface


class Surface(NamedTuple):
    """What one cylinder's departures add at every place; `coefficients` has the shape (terms, places, 2)."""

    half: Array  # reach in air [-], log of fuel over air [-], spark [deg]
    corner: float | None  # lambda 1 on the mixture's coordinate, as a share of its reach; None where it is out of reach
    coefficients: Array  # [K]
    residual: float  # of the fit, root mean square [K]

    def added(self, feed: Array) -> Array:
        """Kelvin added at each place by departures of this cylinder; (..., 3) -> (..., places, 2)."""
        return np.tensordot(terms(scaled(feed, self.half), self.corner), self.coefficients, axes=(-1, 0))

    def slopes(self, feed: Array, step: float = 1e-3) -> Array:
        """Change of each place's answers per unit of air, fuel and spark [K/-, K/-, K/deg]; (3, places, 2)."""
        ends = step * np.eye(3)
        return (self.added(feed + ends) - self.added(feed - ends)) / (2.0 * step)


def coordinates(feed: Array) -> Array:
    """Departures in air, fuel, spark -> air, log of fuel over air, spark."""
    air, fuel, spark = np.moveaxis(np.asarray(feed, float), -1, 0)
    return np.stack([air, np.log((1.0 + fuel) / (1.0 + air)), spark], axis=-1)


def scaled(feed: Array, half: Array) -> Array:
    """Coordinates as shares of their reach, 0 where there is none."""
    return np.divide(coordinates(feed), half, out=np.zeros(np.shape(feed)), where=half > 0.0)


def terms(u: Array, corner: float | None) -> Array:
    """The powers and products a surface is made of; none is constant, since nothing is added where nothing departs."""
    a, m, s = np.moveaxis(u, -1, 0)
    found = [a, a * a, m, m**2, m**3, s, s * s, m * a, m * s, a * s, m * m * s, m * m * a]
    if corner is None:
        return np.stack([*found, m**4], axis=-1)
    lean = np.maximum(corner - m, 0.0) - max(corner, 0.0)
    square = np.maximum(corner - m, 0.0) ** 2 - max(corner, 0.0) ** 2
    return np.stack([*found, lean, square, lean * s, lean * a], axis=-1)


def levels(ends: Array, steps: int) -> Array:
    """Departures at which one cylinder is predicted, mixture on that many steps to each side; (points, 3).

    ends : lowest and highest of each coordinate, (2, 3); they lie on either side of 0
    """
    c = CORNER
    shares: list[tuple[float, float, float]] = [(0, k / steps, 0) for k in range(-steps, steps + 1) if k]
    shares += [(a, 0, 0) for a in (-1, 1)] + [(0, 0, s) for s in (-1, 1)] + [(-c, 0, c), (c, 0, c)]
    shares += [(a, m, 0) for a in (-c, c) for m in (-c, c)] + [(0, m, s) for m in (-c, c) for s in (-c, c)]
    u = np.array(shares, float)
    air, mixture, spark = np.where(u < 0.0, -u * ends[0], u * ends[1]).T
    found = np.stack([air, (1.0 + air) * np.exp(mixture) - 1.0, spark], axis=-1)
    return np.unique(np.clip(found, -MOST, MOST), axis=0)


def corner_of(lambda_ratio: float, ends: Array, half: Array) -> float | None:
    """Where lambda 1 lies on the mixture's coordinate, if cylinders may cross it well before the end of their reach."""
    place = float(np.log(lambda_ratio))
    low, high = WITHIN * ends[:, 1]
    return place / half[1] if low < place < high else None


def reach(mean: Array, spreads: Array) -> Array:
    """Lowest and highest of each coordinate over all cylinders, no departure among them; (2, 3)."""
    own = REACH * np.array([spreads[0], np.hypot(spreads[0], spreads[1]), spreads[2]])
    here = coordinates(mean)
    return np.stack([np.minimum(here.min(axis=0), 0.0) - own, np.maximum(here.max(axis=0), 0.0) + own])


def fit(engine: Engine, cylinder: int, base: Array, ends: Array) -> Surface:
    """The surface of one cylinder, counted from 0; `base` are the answers with no departures."""
    half = np.abs(ends).max(axis=0)
    corner = corner_of(engine.case.run.lambda_ratio, ends, half)
    at = levels(ends, STEPS if corner is None else STEPS_CORNER)
    at = at[np.any(at != 0.0, axis=1)]
    rows = []
    for one in at:
        feed = np.zeros_like(engine.mean)
        feed[cylinder] = one
        rows.append(engine.at(feed) - base)
    matrix, answers = terms(scaled(at, half), corner), np.array(rows).reshape(len(at), base.size)
    found: Any = np.linalg.lstsq(matrix, answers, rcond=None)[0] if len(at) else np.zeros((matrix.shape[1], base.size))
    off = matrix @ found - answers
    return Surface(half, corner, found.reshape(-1, *base.shape), float(np.sqrt(np.mean(off**2))) if off.size else 0.0)


def turned(surface: Surface, to: tuple[int, ...]) -> Surface:
    """The surface of the cylinder that a symmetry carries this one to."""
    moved = np.empty_like(surface.coefficients)
    moved[:, list(to)] = surface.coefficients
    return surface._replace(coefficients=moved)


class Response(NamedTuple):
    """Answers at every place for any departures of all cylinders."""

    mean: Array  # departures of the case itself (cylinders, 3)
    alike: Array  # answers with no departures (places, 2) [K]
    here: Array  # answers of the case (places, 2) [K]
    surfaces: list[Surface]

    def at(self, feed: Array) -> Array:
        """(draws, cylinders, 3) -> (draws, places, 2) [K]."""
        found = np.broadcast_to(self.here, (*np.shape(feed)[:-2], *self.here.shape)).copy()
        for j, surface in enumerate(self.surfaces):
            found += surface.added(feed[..., j, :]) - surface.added(self.mean[j])
        return found

    def slopes(self, which: int = READING) -> Array:
        """Change of each place's reading per unit of each departure, (places, cylinders x 3)."""
        own = [s.slopes(self.mean[j])[..., which] for j, s in enumerate(self.surfaces)]
        return np.concatenate(own, axis=0).T


def respond(engine: Engine, spreads: Array) -> Response:
    """Lay the surfaces of all cylinders; those that a symmetry makes alike are laid once."""
    alike = engine.at(np.zeros_like(engine.mean))
    here = engine.at(engine.mean) if engine.mean.any() else alike
    ends = reach(engine.mean, spreads)
    known: dict[int, Surface] = {}
    found = []
    for origin, turn in engine.origins():
        if origin not in known:
            known[origin] = fit(engine, origin, alike, ends)
        found.append(turned(known[origin], turn.to))
    return Response(engine.mean, alike, here, found)


def checked(engine: Engine, response: Response, feeds: Array) -> Array:
    """Surface less prediction at departures of all cylinders at once, (draws, places, 2) [K]."""
    return response.at(feeds) - np.array([engine.at(one) for one in feeds])


__all__ = ["CHECKS", "GAS", "READING", "Response", "Surface", "checked", "respond"]
