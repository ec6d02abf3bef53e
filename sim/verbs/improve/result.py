"""What `improve` gives."""

from dataclasses import dataclass, fields
from typing import Any


@dataclass(frozen=True)
class ImproveResult:
    """Changes toward one target, the better ones first; in SI, the ending of a name is its unit.

    Each row of `changes` and `pairs`: names, inputs (as a case file writes them) and set (as options of the command line), share
    (how far of the way a change is taken to go), meets, value (of the reading wanted; None for a knock margin without end), costs (readings there), prediction (the
    whole of it, equal to `predict` of the changed case), passed, worse and cleared (limits), creeps (the boost runs past what is set), warnings (that the case itself
    does not give), binds_first and binds_at_share (about).
    """

    title: str
    target: str
    reading: str
    wanted: float
    now: float | None  # None for a knock margin without end, met already
    met_already: bool
    met_by_single: bool
    here: dict[str, Any]  # the readings of the case itself
    changes: list[dict[str, Any]]
    pairs: list[dict[str, Any]]
    sensitivities: list[dict[str, Any]]
    points_solved: int

    def to_dict(self) -> dict[str, Any]:
        """The same as a plain dict, equal to the JSON output."""
        return {f.name: getattr(self, f.name) for f in fields(self)}
