"""The working arrays of a march: one desk, handed to the outermost kernel only."""

from typing import NamedTuple

import numpy as np

from ..models import gas
from . import closed, recording, zones
from . import exchange as ex
from .records import N_CONTENT, Array, Engine, K


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
    open: Array  # bool[cylinders], which of them takes part in gas exchange
    local: Array  # crank angle of each at the begin of a step
    later: Array  # and at its end [deg]
    record: Array
    manifold_record: Array
    breathing: Array  # steps x cylinders x N_BREATHING


def desk(table: gas.GasTable, engine: Engine, steps: int, rows: int) -> Desk:
    """Working arrays for an engine; `steps` of the manifold record and `rows` of the crank record."""
    cylinders, collectors = engine.cylinders, engine.collectors
    parts = collectors * engine.sections
    volumes, links = 2 * cylinders + parts, 3 * cylinders + collectors + parts
    return Desk(
        states=np.zeros((2, volumes, ex.N_STATE)),
        links=np.zeros((links, ex.N_LINK)),
        branch=np.zeros((cylinders + parts, 4)),
        stream=np.zeros((cylinders, ex.N_STREAM)),
        predicted=np.zeros((volumes, N_CONTENT)),
        account=np.zeros((cylinders, ex.N_ACCOUNT)),
        collector=np.zeros((collectors, ex.N_COLLECTOR)),
        outs=np.zeros((cylinders, closed.N_OUT)),
        blend=np.zeros((table.energy.shape[0], 2)),
        plane=np.zeros((cylinders, *table.burned_r.shape[2:4], gas.N_SLOTS)),
        blended=np.zeros((cylinders, 2)),
        frozen=np.zeros((K,)),
        work=np.zeros((7, zones.N_STATE)),
        before=np.zeros((cylinders, 5)),
        trapped=np.zeros((cylinders, N_CONTENT)),
        saved=np.zeros((N_CONTENT + 4 + K,)),
        open=np.zeros(cylinders, np.bool_),
        local=np.zeros(cylinders),
        later=np.zeros(cylinders),
        record=np.zeros((rows, closed.N_RECORD)),
        manifold_record=np.zeros((steps, cylinders + collectors, recording.N_MANIFOLD)),
        breathing=np.zeros((steps, cylinders, recording.N_BREATHING)),
    )
