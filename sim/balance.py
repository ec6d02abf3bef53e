"""Marches until they repeat, the wastegate moved in between until the turbine gives what the compressor takes, or the boost."""

from typing import NamedTuple

from ..models import gas
from ..models.compiled import compiled, inlined, plain
from ..models.kept import on_disk
from ..models.turbine import Turbine
from . import closed, surroundings
from .desk import Desk
from .mixing import NOW, Mix, forget, mix_in, read, scale
from .records import Array, Engine, Memory, finite
from .surroundings import (
    TURBO,
    Z_AIR,
    Z_CHANGE,
    Z_INTAKE,
    Z_LAST,
    Z_MASS,
    Z_POWER_C,
    Z_POWER_T,
    Z_RATIO_C,
    Z_SHAFT,
    Z_STATUS,
    Z_SURPLUS,
    Z_WASTE,
    Plant,
)

# How a run of marches can end.
SETTLED, TIRED, SHUT, OPEN, REACHED, LOST = range(6)
# What is moved between marches.
NOTHING, WASTEGATE, BOOST, CLIMB = range(4)  # CLIMB: boost, as far as the one asked for
SOON = 3.0  # times the goal, from where one more march is enough
ROUGHLY = 1e-3  # relative change at which it shows on which side of a balance the engine is
SLOW = 5e-7  # of mass in and out: what is left in an intake port changes over many cycles
STANDING = 0.1  # surplus of wheels at rest: enough to be no balance, small enough to be led gently
# At rest: pressure ratio of the compressor [-] and tip speed of the turbine's wheel [m/s], less than both.
RESTING, IDLE = 1.01, 20.0
THERE = 2  # cycles with power to spare at the boost asked for, after which a climb has got there


class Job(NamedTuple):
    """Everything a point needs to be settled, in one argument."""

    engine: Engine
    plant: Plant
    table: gas.GasTable
    machine: Turbine
    chart: Array
    areas: Array
    inputs: Array
    memory: Memory
    desk: Desk
    z: Array
    mix: Mix


@inlined
def stands(plant, z):
    """Whether the wheels all but stand: no pressure made, and hardly turning."""
    return z[Z_RATIO_C] < RESTING and 0.5 * z[Z_SHAFT] * plant.turbine_diameter < IDLE


@inlined
def surplus(plant, z):
    """Turbine over compressor power as a share of the latter, or of the heat in the air where that is small.

    Wheels at rest give and take no power, which looks like a balance and is none: gas that blows on a standing wheel turns it.
    A standing compressor therefore counts as having power to spare; one that makes no pressure because it is past its choke
    turns fast, and does not.
    """
    if z[Z_RATIO_C] <= 1.0 and stands(plant, z):
        return STANDING
    at_least = max(z[Z_POWER_C], 0.02 * z[Z_AIR] * surroundings.CP_AIR * plant.ambient_temperature)
    return (z[Z_POWER_T] - z[Z_POWER_C]) / at_least if at_least > 0.0 else 0.0


@inlined
def turning(plant, z, wanted):
    """The intake pressure to try next: not so low that the compressor stands, which is approached by halves."""
    least = plant.ambient_pressure - (plant.inlet_loss + plant.cooler_loss) * z[Z_AIR] * z[Z_AIR]
    if wanted > least or not stands(plant, z):
        return wanted
    return least + 0.5 * max(z[Z_INTAKE] - least, 0.01 * plant.ambient_pressure)


@compiled
def steer_wastegate(z, open_area, most):
    """Move the wastegate towards equal powers; returns the end stop at which it stands, or SETTLED.

    A bypass beside the turbine takes flow and pressure from it: power goes about as (turbine / (turbine + bypass))^2.2,
    which gives the slope of a Newton step.
    """
    gap = z[Z_SURPLUS]
    step = gap * open_area / (2.2 * max(1.0 + gap, 0.1))
    wanted = z[Z_WASTE] + min(max(step, -0.35 * open_area), 0.35 * open_area)
    z[Z_WASTE] = min(max(wanted, 0.0), most)
    if wanted < 0.0 and gap < 0.0:
        return SHUT
    return OPEN if wanted > most and gap > 0.0 else SETTLED


@compiled
def repeats(z, goal):
    """Whether the next march, the one that is read, changes by less than the goal: as this one does, or as it will at its pace.

    Mass that comes in and goes out may differ by half of that, since books are asked to close to the goal itself. Where changes
    fall they go on falling about so; one far above the goal may have dipped by chance.
    """
    change = z[Z_CHANGE]
    soon = change < SOON * goal and change * change < goal * z[Z_LAST]
    return (change < goal or soon) and abs(z[Z_MASS]) < max(0.5 * goal, SLOW)


@compiled
def settled(z, goal):
    """Whether marches repeat within the goal, and powers within a hundred times that."""
    return repeats(z, goal) and abs(z[Z_SURPLUS]) < min(100.0 * goal, 0.01)


@compiled
def run(job, what, goal, most, mixing, fresh, keep):
    """March until settled within `goal`, moving the wastegate or the boost in between.

    what : int, NOTHING, WASTEGATE, BOOST or CLIMB
    goal : float, largest relative change [-]; from ROUGHLY on more marches are to follow, which go on as if nothing had been asked
    most : int, cycles
    mixing : bool, whether to speed the repetition up
    fresh : int, 1 to begin to learn anew; 0 to go on with what the last run learnt, its aim the same
    keep : int, what is recorded: surroundings.NOTHING_KEPT, CYCLE_KEPT for whole cycles marched, MARCH_KEPT
    Returns how it ended. With BOOST and CLIMB the intake pressure follows the surplus as a shaft would: up while the turbine has
    power to spare, so that from below it comes to rest at the first balance met; a CLIMB ends with REACHED where it would
    pass the boost asked for, BOOST where it would pass the most that is followed.
    """
    z, p = job.z, job.plant
    turbine_area = p.swallowing / 0.67
    if fresh == 1:
        scale(job.mix, job.memory, z, turbine_area)
    stuck = 0
    gain, cap, before = 0.2, 0.04, 0.0
    if p.parts == 1:  # a whole cycle between two moves
        gain, cap = 0.6, 0.1
    for i in range(round(most * p.parts)):
        read(job.mix, job.memory, z, NOW)
        z[Z_STATUS] = surroundings.one_cycle(
            job.engine, p, job.table, job.machine, job.chart, job.areas, job.inputs, job.memory, job.desk, z, keep
        )
        if z[Z_STATUS] == closed.LOST or not finite(z[Z_MASS]):
            return LOST
        z[Z_SURPLUS] = surplus(p, z) if p.kind == TURBO else 0.0
        done = i > 0 and (settled(z, goal) if what != NOTHING else repeats(z, goal))
        if done and goal < ROUGHLY:
            return SETTLED
        told = fresh == 0 or i >= p.parts - 1  # powers of the first marches are those of the guess
        if what == WASTEGATE and p.kind == TURBO and told:
            stop = steer_wastegate(z, turbine_area + z[Z_WASTE], p.wastegate_area)
            stuck = stuck + 1 if stop != SETTLED else 0
            if stuck >= 3 * p.parts and z[Z_CHANGE] < 0.02:
                return stop
            if stop != SETTLED:
                forget(job.mix)
                if done:
                    return SETTLED
                continue
        if what in (BOOST, CLIMB) and told:
            gap = z[Z_SURPLUS]
            if gap * before < 0.0:
                gain *= 0.7
            before = gap
            z[Z_INTAKE] = turning(p, z, z[Z_INTAKE] * (1.0 + min(max(gain * gap, -cap), cap)))
            # rising boost carries past a balance: power to spare must last at the most that is wanted
            end = p.intake_pressure if what == CLIMB else p.ambient_pressure + surroundings.MOST_BOOST
            above = z[Z_INTAKE] > end
            z[Z_INTAKE] = min(z[Z_INTAKE], end)
            stuck = stuck + 1 if above and gap > 0.0 else 0
            if stuck >= THERE * p.parts:
                return REACHED
        if mixing:
            mix_in(job.mix, job.memory, z, p.wastegate_area)
        if done:
            return SETTLED
    return TIRED


def kept() -> bool:
    """Whether the march was compiled before and kept, or is not compiled at all: else the first one takes most of a minute."""
    return plain(run) is run or on_disk(run.__name__)
