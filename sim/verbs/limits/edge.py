"""Where the first limit is met along one axis: out from the inside, or back in from the outside."""

from contextlib import suppress
from functools import partial
from itertools import pairwise
from typing import Any, NamedTuple

from .points import OVER, SHORT, Point, Points, Slack, none, scale
from .settings import AXES, Setting

AIM = 2e-5  # share of a limit at which the search ends on its near side


class Bound(NamedTuple):
    """The last point before a limit along an axis, or the first behind it on the way back in."""

    axis: str
    direction: int  # of the search from the start, +1 or -1
    inward: bool  # the start is outside, and this is where it comes in again
    point: Point
    limit: str  # name of the margin or end that binds there
    beyond: list[tuple[str, float]]  # further limits in that direction and about where, by straight lines


class Ray(NamedTuple):
    """A line through a setting along one axis."""

    points: Points
    start: Setting
    axis: str
    direction: int
    slack: Slack = none
    near: float | None = None  # about where the end is looked for first, where a neighbour has told

    def at(self, value: float) -> Point:
        """The point at a value of the axis."""
        return self.points.at(self.start.moved(self.axis, value))

    def share(self, value: float) -> float:
        """Distance to the nearest limit there."""
        return self.at(value).least(self.slack).share

    def walk(self) -> list[float]:
        """Values of the axis from the start to its end, in steps that grow."""
        how = AXES[self.axis]
        value, step, end = self._begin(), how.step, how.high if self.direction > 0 else how.low
        found = [value]
        if self.near is not None and (self.near - value) * self.direction > 2.0 * step:
            value = self.near - self.direction * step
            found.append(value)
        while (end - value) * self.direction > 1e-9:
            value += self.direction * min(step, abs(end - value))
            step = min(1.8 * step, how.longest)
            found.append(self._made(value))
            if found[-1] != value:  # the boost ends there
                break
        return found

    def _begin(self) -> float:
        value = getattr(self.start, self.axis)
        assert value is not None
        return float(value)

    def _made(self, value: float) -> float:
        """The value itself, or the boost that is made where the turbine or the wastegate cannot hold it."""
        if self.axis != "boost":
            return value
        name, made = self.at(value).least(none).name, self._boost(value)
        ends = {SHORT: 1, OVER: -1}
        if made is None or ends.get(name) != self.direction:
            return value
        inner = made - self.direction * 2.0  # two pascal inside, where it is made
        return inner if (inner - self._begin()) * self.direction > 0.0 else value

    def _boost(self, value: float) -> float | None:
        prediction = self.at(value).prediction
        return None if prediction is None else prediction.boost_pa


def bound(ray: Ray, further: bool = True) -> Bound | None:
    """Where the inside ends along a ray, or begins where its start is outside; None where neither happens.

    further : whether to look on for the limits behind the first
    """
    inward = ray.share(ray._begin()) < 0.0
    walked: list[float] = []
    crossing = None
    for value in ray.walk():
        walked.append(value)
        if crossing is None and len(walked) > 1 and (ray.share(value) >= 0.0) == inward:
            crossing = len(walked) - 1
            if inward or not further:
                break
    if crossing is not None:
        inside, outside = walked[crossing - 1], walked[crossing]
        if inward:
            inside, outside = outside, inside
    elif inward:
        inside, outside = _between(ray, walked)
        if ray.share(inside) < 0.0:
            return None
    else:
        return _made_end(ray, walked)
    value = refined(ray, inside, outside)
    name = binding(ray, value, outside)
    return Bound(ray.axis, ray.direction, inward, ray.at(value), name, [] if inward else _beyond(ray, walked, name))


def _between(ray: Ray, walked: list[float]) -> tuple[float, float]:
    """The best value near the best one walked, where the inside may have been stepped over, and the one walked before it."""
    from scipy.optimize import minimize_scalar

    best = max(range(len(walked)), key=lambda k: ray.share(walked[k]))
    before, after = walked[max(best - 1, 0)], walked[min(best + 1, len(walked) - 1)]
    tried = [walked[best]]

    def below(value: float) -> float:
        tried.append(value)
        if ray.share(value) >= 0.0:
            raise StopIteration
        return -ray.share(value)

    with suppress(StopIteration):
        minimize_scalar(below, bounds=sorted((before, after)), method="bounded", options={"maxiter": 12})
    return max(tried, key=ray.share), before


def _made_end(ray: Ray, walked: list[float]) -> Bound | None:
    """The end of the boost that can be made or held, where everything up to it is inside."""
    if ray.axis != "boost":
        return None
    outer = ray.at(walked[-1] + ray.direction * AXES["boost"].step).least(none)
    if outer.name in (SHORT, OVER):
        return Bound(ray.axis, ray.direction, False, ray.at(walked[-1]), outer.name, [])
    return None


def refined(ray: Ray, inside: float, outside: float) -> float:
    """The value between the two at which the nearest limit is met, on its near side."""
    from scipy.optimize import brentq

    if ray.share(inside) <= AIM:  # it is there already
        return inside
    grain = 10.0 ** -AXES[ray.axis].places
    value = float(brentq(partial(_aimed, ray), inside, outside, xtol=grain, rtol=1e-12))
    back = 1.0 if inside > outside else -1.0
    for k in (0, 1, 2, 4, 8, 16, 64):
        trial = value + back * k * grain
        if (inside - trial) * back <= 0.0:
            break
        if ray.share(trial) >= 0.0:
            return round(trial, AXES[ray.axis].places)
    return inside


def _aimed(ray: Ray, value: float) -> float:
    """Distance to the limit less what is aimed at; nothing where it is as near as that already."""
    share = ray.share(value)
    return 0.0 if 0.0 <= share <= 2.0 * AIM else share - AIM


def binding(ray: Ray, value: float, outside: float) -> str:
    """Name of the limit that is met at a value: of those met there the one most exceeded behind it."""
    met = [gap.name for gap in ray.at(value).gaps(ray.slack) if gap.share < 1e-3]
    behind = ray.at(outside).gaps(ray.slack)
    return next((gap.name for gap in behind if gap.name in met), (met or [behind[0].name])[0])


def _beyond(ray: Ray, walked: list[float], first: str) -> list[tuple[str, float]]:
    """Other limits crossed further out, each about where a straight line between two points crosses it."""
    found: dict[str, float] = {}
    for a, b in pairwise(walked):
        before, after = ray.at(a).rows, ray.at(b).rows
        for name in before.keys() & after.keys() - {first, *found}:
            low, high = (_clear(rows[name], ray.slack) for rows in (before, after))
            if low >= 0.0 > high:
                found[name] = a + (b - a) * low / (low - high)
    return sorted(found.items(), key=lambda item: item[1] * ray.direction)


def _clear(row: dict[str, Any], slack: Slack) -> float:
    return float(row["margin"] - slack(row)) / scale(row)
