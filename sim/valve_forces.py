"""What the gas does to a shut valve: the greatest force that lifts it off its seat, from the records of the last cycle."""

import math

from ..models import limits
from ..models.compiled import compiled
from . import closed, recording, surroundings
from . import exchange as ex
from .records import IN_OFFSET
from .settle import March


def valve_forces(march: March) -> dict[str, float]:
    """Greatest lifting force on one exhaust and one intake valve while it is shut [N].

    Each runner's own pressure counts, against the pressure in cylinder 1 at the same angle of its cycle, whose record
    stands for all. Resonance of the spring and the bounce of the closing valve are not in it: they ask for more load.
    """
    s, desk = march.setup, march.desk
    lifting, lowest = extremes(desk.record, desk.manifold_record, s.areas, s.inputs, s.engine.intake_closes)
    intake = float(march.z[surroundings.Z_INTAKE])
    valves = s.case.engine
    return {
        "exhaust_valve_lifting_force_n": limits.seat_force(lifting, 0.0, valves.exhaust_valve.diameter),
        "intake_valve_lifting_force_n": limits.seat_force(intake, lowest, valves.intake_valve.diameter),
    }


@compiled
def extremes(record, manifold, areas, inputs, intake_closes):
    """What pulls hardest at the valves of a cycle.

    record : float64[n, N_RECORD], crank record of cylinder 1, rows without pressure unused
    manifold : float64[steps, volumes, columns], record of the manifold, whose first row is the step at inlet closing
    areas : float64[2, points], effective areas of the exhaust and the intake valve at equal steps of 0 to 720 deg
    inputs : float64[cylinders, N_INPUT]
    intake_closes : float [deg]
    Returns (greatest pressure in a runner over that in the cylinder while the exhaust valve is shut, lowest pressure in the
    cylinder while the intake valve is) [Pa]
    """
    width = 720.0 / manifold.shape[0]
    first = math.ceil(intake_closes / width - 1e-9) * width
    lifting, lowest = -math.inf, math.inf
    for row in range(record.shape[0]):
        pressure = record[row, closed.R_P]
        if pressure <= 0.0:
            continue
        angle = record[row, closed.R_ANGLE] % 720.0
        if shut(areas[ex.INTAKE], angle):
            lowest = min(lowest, pressure)
        if shut(areas[ex.EXHAUST], angle):
            for j in range(inputs.shape[0]):
                place = ((angle - first + inputs[j, IN_OFFSET]) % 720.0) / width
                lifting = max(lifting, between(manifold, place, j) - pressure)
    return lifting, lowest


@compiled
def shut(area, angle):
    """Whether a valve is on its seat at an angle from 0 to 720 deg, from its effective area at equal steps of them."""
    place = angle / 720.0 * (area.size - 1)
    k = min(int(place), area.size - 2)
    return area[k] + (place - k) * (area[k + 1] - area[k]) <= 0.0


@compiled
def between(manifold, place, j):
    """Pressure in runner j between rows of the record, which comes round [Pa]."""
    k = int(place) % manifold.shape[0]
    share, after = place - int(place), (k + 1) % manifold.shape[0]
    return (1.0 - share) * manifold[k, j, recording.M_P] + share * manifold[after, j, recording.M_P]
