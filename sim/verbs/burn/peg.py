"""Absolute pressure of a trace: what the compression line of the march asks to be added to it."""

from typing import NamedTuple

import numpy as np

from ... import units
from ...errors import CaseError
from .charge import Trapped
from .signal import on_grid
from .trace import Array

NONE, COMPRESSION = "none", "compression"
CLEAR = 3.0  # before the burn that is left out [deg]
SHORTEST = 30.0  # stretch of compression that tells [deg]
LIKE = f'write --peg {NONE}, --peg {COMPRESSION} or a pressure to add such as --peg "0.12 bar"'


class Line(NamedTuple):
    """Compression of the trace against that of the march."""

    asked: float | None  # pressure to add so that the trace compresses like the march [Pa]
    applied: float  # [Pa]
    beside_case: float | None  # pressure of the trace, pegged, over that of the case before the burn [-]


def pegged(charge: Trapped, angle: Array, pressure: Array, begins: float, peg: str) -> Line:
    """What the compression asks for, and what is to be added; raises CaseError.

    The march compresses the charge of the case from the trace's first pressure: p_trace + asked = factor x p_march is fitted in
    both unknowns, each point weighted by its own pressure. A wrong compression ratio or phase is taken for a wrong peg.
    """
    before = angle < begins - CLEAR
    asked = None
    if np.any(before) and angle[before][-1] - angle[0] >= SHORTEST and pressure[0] > 0.0:
        asked = _asked(charge, angle[before], pressure[before])
    applied = _applied(peg, asked)
    if pressure[before].size == 0:
        return Line(asked, applied, None)
    own = on_grid(charge.own, angle[before], charge.engine.geo)
    return Line(asked, applied, float(np.mean((pressure[before] + applied) / own)))


def _asked(charge: Trapped, angle: Array, pressure: Array) -> float:
    offset = 0.0
    for _ in range(3):  # the exponent of compression hangs a little on the pressure itself
        first = max(float(pressure[0]) + offset, 0.2 * float(pressure[0]))
        line = charge.line(float(angle[0]), float(angle[1] - angle[0]), len(angle), first)
        sides = np.column_stack((line, -np.ones(len(line)))) / line[:, None]
        offset = float(np.linalg.lstsq(sides, pressure / line, rcond=None)[0][1])
    return offset


def _applied(peg: str, asked: float | None) -> float:
    if peg == NONE:
        return 0.0
    if peg == COMPRESSION:
        if asked is None:
            raise CaseError(
                f"--peg {COMPRESSION} needs {SHORTEST:g} deg of the trace between inlet closing and the burn; {LIKE}."
            )
        return asked
    try:
        return units.parse(peg, "pressure")
    except units.UnitError as error:
        raise CaseError(f"--peg {peg} {error}; {LIKE}.") from None
