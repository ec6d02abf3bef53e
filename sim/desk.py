"""The working arrays of a march: one desk, handed to the outermost kernel only, that may serve march after march."""

from typing import NamedTuple

import numpy as np

from ..models import gas
from . import closed, recording, zones
from . import exchange as ex
from .records import N_CONTENT, Array, Engine, K

# Written before they are read, so that they need no clearing.
WRITTEN = {"plane", "blend", "record", "manifold_record", "breathing"}


class Desk(NamedTuple):
    """Working arrays of one march and its accounts; handed to the outermost kernel only."""

    states: Array  # 2 x volumes x N_STATE
    links: Array
    branch: Array
    stream: Array
    predicted: Array  # content of the volumes at the end of the step, first guess
    account: Array  # cylinders x N_ACCOUNT
    collector: Array  # collectors x N_COLLECTOR
    outs: Array  # cylinders x closed.N_OUT
    blend: Array
    plane: Array  # burned gas for the charge of each cylinder; the first serves all where they are alike
    blended: Array  # equivalence ratio and water each was blended for
    frozen: Array
    work: Array
    before: Array  # what the last cycle gave, to see the change
    trapped: Array  # content of each cylinder at inlet closing
    saved: Array  # state of cylinder 0 at exhaust opening, for its likes
    record: Array
    manifold_record: Array
    breathing: Array  # steps x cylinders x N_BREATHING


def desk(table: gas.GasTable, engine: Engine, steps: int, rows: int, old: Desk | None = None) -> Desk:
    """Working arrays for an engine; `steps` of the manifold record and `rows` of the crank record.

    old : those of another march, no longer needed: they serve again, cleared, where they are of the same shapes. Fresh memory is a
        twentieth of a point that has neighbours
    """
    cylinders, collectors = engine.cylinders, engine.collectors
    parts = collectors * engine.sections
    volumes, links = 2 * cylinders + parts, 3 * cylinders + collectors + parts
    shapes: dict[str, tuple[int, ...]] = {
        "states": (2, volumes, ex.N_STATE),
        "links": (links, ex.N_LINK),
        "branch": (cylinders + parts, 4),
        "stream": (cylinders, ex.N_STREAM),
        "predicted": (volumes, N_CONTENT),
        "account": (cylinders, ex.N_ACCOUNT),
        "collector": (collectors, ex.N_COLLECTOR),
        "outs": (cylinders, closed.N_OUT),
        "blend": (table.energy.shape[0], 2),
        "plane": (cylinders, *table.burned_r.shape[2:4], gas.N_SLOTS),
        "blended": (cylinders, 2),
        "frozen": (K,),
        "work": (7, zones.N_STATE),
        "before": (cylinders, 5),
        "trapped": (cylinders, N_CONTENT),
        "saved": (N_CONTENT + 4 + K,),
        "record": (rows, closed.N_RECORD),
        "manifold_record": (steps, cylinders + collectors, recording.N_MANIFOLD),
        "breathing": (steps, cylinders, recording.N_BREATHING),
    }
    if old is None or any(getattr(old, name).shape != shape for name, shape in shapes.items()):
        return Desk(**{name: np.zeros(shape) for name, shape in shapes.items()})
    for name, array in old._asdict().items():
        if name not in WRITTEN:
            array[:] = 0.0
    return old
