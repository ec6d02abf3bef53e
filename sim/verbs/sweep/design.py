"""Which points a sweep solves, in which order: the grid of all axes, the axes in step, or a sample of their ranges."""

import itertools
import math
from collections.abc import Mapping
from typing import Any, NamedTuple

from ...errors import CaseError
from .axes import Axis, axis, checked, stretch

GRID, ZIP, SAMPLE = "grid", "zip", "sample"
POINT = "point"  # dimension of designs that are no grid
MOST_POINTS = 5_000_000


class Design(NamedTuple):
    """The points of a sweep. In a grid each axis is a dimension, the last moving fastest; else all axes lie along one."""

    how: str
    axes: tuple[Axis, ...]
    note: str = ""  # how a sample was drawn

    @property
    def names(self) -> tuple[str, ...]:
        """The varied inputs."""
        return tuple(a.name for a in self.axes)

    @property
    def sizes(self) -> dict[str, int]:
        """Length of each dimension of points."""
        if self.how == GRID:
            return {a.name: len(a.values) for a in self.axes}
        return {POINT: len(self.axes[0].values)}

    @property
    def size(self) -> int:
        """Number of points."""
        return math.prod(self.sizes.values())

    def rows(self, first: int = 0, last: int | None = None) -> list[tuple[Any, ...]]:
        """The values of the points from `first` to before `last`, in order."""
        values = [a.values for a in self.axes]
        every = itertools.product(*values) if self.how == GRID else zip(*values, strict=True)
        return list(itertools.islice(every, first, last))

    def to_dict(self) -> dict[str, Any]:
        """The design as plain values."""
        return {"how": self.how, "note": self.note, "axes": {a.name: list(a.values) for a in self.axes}}


def design(vary: Mapping[str, Any], how: str = GRID, samples: int | None = None, seed: int = 0) -> Design:
    """The design of what a user varies; raises CaseError.

    vary : dotted name -> values (see `axes.axis`); in a sample also stretches "0.6:1.8 bar"
    how : "grid", "zip" or "sample"
    samples, seed : number of points and random seed of a sample
    """
    if how not in (GRID, ZIP, SAMPLE):
        raise CaseError(f'how = "{how}" is not one of grid, zip, sample.')
    if not vary:
        raise CaseError('nothing is varied; write for example run.spark_advance="0:30:1 deg".')
    if how == SAMPLE:
        return _sampled(vary, samples, seed)
    if samples is not None:
        raise CaseError(f'a number of samples goes with a sampled design, not with how = "{how}".')
    found = Design(how, tuple(axis(name, given) for name, given in vary.items()))
    if how == GRID:
        _check_grid(found)
    elif len({len(a.values) for a in found.axes}) > 1:
        lengths = ", ".join(f"{a.name} has {len(a.values)}" for a in found.axes)
        raise CaseError(f"axes taken in step must be equally long: {lengths}.")
    return found


def _check_grid(found: Design) -> None:
    """Raise CaseError for a value given twice on one axis, and for more points than anybody means."""
    for a in found.axes:
        values = a.in_si()
        if len(set(values)) < len(values):
            twice = next(w for w, x in zip(a.values, values, strict=True) if values.count(x) > 1)  # type: ignore[arg-type]
            raise CaseError(f"{a.name} is given {twice} twice; a grid takes each value once.")
    if found.size > MOST_POINTS:
        raise CaseError(f"a grid of {found.size} points is more than {MOST_POINTS}; take fewer values, or a sample.")


def _sampled(vary: Mapping[str, Any], samples: int | None, seed: int) -> Design:
    """A Latin hypercube over stretches; lists are drawn from evenly."""
    if samples is None or not 1 <= samples <= MOST_POINTS:
        raise CaseError(f"a sampled design needs the number of samples, 1 to {MOST_POINTS}.")
    from scipy.stats import qmc

    shares = qmc.LatinHypercube(len(vary), rng=seed).random(samples)
    axes = []
    for (name, given), column in zip(vary.items(), shares.T, strict=True):
        found = stretch(name, given)
        if found is not None:
            values = tuple(found.at(float(share)) for share in column)
        else:
            listed = axis(name, given).values
            values = tuple(listed[min(int(share * len(listed)), len(listed) - 1)] for share in column)
        axes.append(checked(Axis(name, values)))
    return Design(SAMPLE, tuple(axes), f"Latin hypercube of {samples} points, seed {seed}")
