"""A log and the model as one least-squares problem: residuals of all readings, each point whitened, and the priors.

Conditions (speed, boost, lambda, timing, wastegate) are measured too. What their errors do to the readings of a point is
carried in that point's covariance, C = E + G S G', with E the readings' own variances, S the conditions' and G the
sensitivities of the model: least squares with errors in all variables, linear in the errors.
"""

from collections.abc import Callable

import numpy as np

from ...case import Case
from ...records import Array
from ...variants import Variants
from .forward import Stand, Unsolved, each
from .logged import Point
from .spot import Channels, Spot
from .unknowns import Unknown

LARGE = 30.0  # residual of a reading that the model has no answer for


class Problem:
    """Residuals and Jacobian over all points, as functions of x (n,), the unknowns in prior standard deviations."""

    def __init__(
        self, case: Case, points: list[Point], found: list[Unknown], say: Callable[[str], None] = lambda _: None
    ) -> None:
        self.case, self.unknowns, self.say = case, found, say
        # the boost is what was measured, whatever moves the wastegate
        variants = Variants(case.set_all({"wastegate.model": "boost", "run.boost": "0.5 bar"}))
        self.probes = [f"probe.{k}" for k in range(1, len(case.probe) + 1)]
        self.spots = [Spot(p, Stand(variants, case, p.opening), self.probes, found) for p in points]
        self.dropped: list[Point] = []
        self.solved_at: Array | None = None
        zero = np.zeros(len(found))

        def begun(spot: Spot) -> bool:
            try:
                spot.show(zero, keep=True)
            except Unsolved:
                return False
            return True

        self._keep(begun)

    def _keep(self, fine: Callable[[Spot], bool]) -> None:
        """Call for every spot, in threads; those of which it is False are dropped."""

        def one(spot: Spot) -> bool:
            good = fine(spot)
            self.say(f"{self.evaluations} points solved")
            return good

        found = each([lambda s=s: one(s) for s in self.spots])
        self.dropped += [s.point for s, good in zip(self.spots, found, strict=True) if not good]
        self.spots = [s for s, good in zip(self.spots, found, strict=True) if good]

    @property
    def evaluations(self) -> int:
        """How often a point was solved."""
        return sum(s.reads for s in self.spots)

    def predict(self, x: Array) -> list[Channels | None]:
        """Every channel at every point; None where the model has no answer."""

        def one(spot: Spot) -> Channels | None:
            try:
                return spot.show(x)
            except Unsolved:
                return None

        return each([lambda s=s: one(s) for s in self.spots])

    def residuals(self, x: Array) -> Array:
        """Whitened residuals, measured less predicted, then the priors (x itself)."""
        parts = [s.residual(p, LARGE) for s, p in zip(self.spots, self.predict(x), strict=True)]
        return np.concatenate([*parts, x])

    def jacobian(self, x: Array) -> Array:
        """Of the residuals, by differences on dotted names at every point."""
        self.solve(x)
        columns = [[s.whitened(s.by_unknown[u.name]) for s in self.spots] for u in self.unknowns]
        return np.vstack([np.stack([np.concatenate(c) for c in columns], axis=1), np.eye(len(self.unknowns))])

    def solve(self, x: Array) -> None:
        """Solve every point at x with all sensitivities, and start later solutions from there."""
        if self.solved_at is None or not np.array_equal(x, self.solved_at):
            self._keep(lambda s: s.solve(x))
            self.solved_at = np.array(x)

    def weigh(self, x: Array) -> None:
        """Put the errors of the conditions into the weights of the readings, with the sensitivities at x."""
        self.solve(x)
        self._keep(lambda s: s.weigh(x))

    def correct(self, x: Array) -> None:
        """Take the conditions to where they likeliest were with x, and weigh anew there."""
        self._keep(lambda s: s.move(x))
        self.solved_at = None
        self.weigh(x)
        for s in self.spots:
            s.bring_back()

    def column(self, name: str, sigma: float, x: Array) -> Array:
        """Derivative of the whitened residuals by an input that is not among the unknowns, for a step sigma."""

        def one(spot: Spot) -> Array:
            there = spot.show(x, also={name: 0.5 * sigma})
            return spot.whitened({c: (there[c] - spot.channels[c]) / 0.5 for c in there})

        parts = each([lambda s=s: one(s) for s in self.spots])
        return np.concatenate([*parts, np.zeros(len(self.unknowns))])

    def rows(self) -> list[tuple[int, str]]:
        """Point and channel of each residual that is a reading."""
        return [(i, c) for i, spot in enumerate(self.spots) for c in spot.names]
