"""What the gas does to a shut valve: the greatest force that lifts it off its seat, from the records of the last cycle."""

import numpy as np

from ..models import limits
from . import closed, cycle, surroundings
from . import exchange as ex
from .records import IN_OFFSET, Array
from .settle import March


def valve_forces(march: March) -> dict[str, float]:
    """Greatest lifting force on one exhaust and one intake valve while it is shut [N].

    Each runner's own pressure counts, against the pressure in cylinder 1 at the same angle of its cycle, whose record
    stands for all. Resonance of the spring and the bounce of the closing valve are not in it: they ask for more load.
    """
    s = march.setup
    angle, pressure = _cylinder(march)
    shut = _shut(s.areas[ex.EXHAUST], angle)
    highest = max(
        float((_runner(march, j, angle) - pressure)[shut].max(initial=-np.inf)) for j in range(s.engine.cylinders)
    )
    intake = float(march.z[surroundings.Z_INTAKE])
    lowest = float(pressure[_shut(s.areas[ex.INTAKE], angle)].min(initial=np.inf))
    valves = s.case.engine
    return {
        "exhaust_valve_lifting_force_n": limits.seat_force(highest, 0.0, valves.exhaust_valve.diameter),
        "intake_valve_lifting_force_n": limits.seat_force(intake, lowest, valves.intake_valve.diameter),
    }


def _cylinder(march: March) -> tuple[Array, Array]:
    """Angle [deg] and pressure [Pa] of cylinder 1 through its cycle, by rising angle."""
    used = march.desk.record[march.desk.record[:, closed.R_P] > 0.0]
    order = np.argsort(used[:, closed.R_ANGLE], kind="stable")
    return used[order, closed.R_ANGLE] % 720.0, used[order, closed.R_P]


def _shut(area: Array, angle: Array) -> np.ndarray:
    """Where a valve is on its seat, from its effective area at equal steps of 0 to 720 deg."""
    at = np.interp(angle, np.linspace(0.0, 720.0, len(area)), area)
    return at <= 0.0


def _runner(march: March, j: int, angle: Array) -> Array:
    """Pressure in the runner of cylinder j at angles of its own cycle [Pa]."""
    manifold, s = march.desk.manifold_record, march.setup
    width = 720.0 / len(manifold)
    first = np.ceil(s.engine.intake_closes / width - 1e-9) * width  # the record begins there
    own = (first + width * np.arange(len(manifold)) - s.inputs[j, IN_OFFSET]) % 720.0
    order = np.argsort(own)
    return np.interp(angle, own[order], manifold[order, j, cycle.M_P], period=720.0)
