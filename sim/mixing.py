"""Faster repetition: mixing the last few marches so that the next one starts nearer to the periodic answer.

Anderson mixing (D. G. Anderson, J. ACM 12 (1965) 547-560; the least-squares form of Walker & Ni, SIAM J. Numer. Anal. 49
(2011) 1715-1735; both from memory, confidence high) over everything one march hands to the next. It changes where marches
start, never what a march does, so a settled answer is the same with and without it.
"""

from typing import NamedTuple

import numpy as np

from ..models.compiled import compiled
from .records import C_ENERGY, Array, K, Memory, copy_row, finite
from .surroundings import Z_AIR, Z_INTAKE, Z_OUTLET, Z_WASTE

DEPTH = 20  # marches remembered, found by trial: fewer cost a chain of neighbours marches, a cold start needs no more than 9
LARGEST = 0.3  # no mixing while the change is above this: the first marches are far from linear
# What a change may grow by from march to march, and a move be larger than the change, before all is forgotten; and below what
# either may be: a balance neared slowly asks for long moves from small changes.
GROWTH = 3.0
SMALL_CHANGE, SMALL_MOVE = 0.03, 0.05
ENERGY = 1e6  # energy that counts like a unit of mass [J/kg]
WALLS = 1e4  # walls follow the gas and matter little [K]
DAMPING = 1e-10  # keeps nearly parallel marches from being weighed against each other
# Rows of Mix.vectors.
SCALE, NOW, END, CHANGE, LAST, LAST_CHANGE = range(6)
N_VECTORS = 6
# Places of Mix.counts.
HELD, NEXT, FRESH = range(3)  # differences held, where the next one goes, 1 while there is no last march


class Mix(NamedTuple):
    """What is remembered of the last marches, each written as one vector."""

    vectors: Array  # N_VECTORS x length
    moved: Array  # depth x length, differences between the starts of successive marches
    turned: Array  # and between their changes
    products: Array  # depth x depth, of the differences of changes with each other
    normal: Array  # depth x (depth + 1), the least-squares system
    counts: Array


def empty_mix(memory: Memory) -> Mix:
    """A mix for this memory that remembers nothing."""
    cylinders = memory.kept.shape[0]
    length = (memory.content.shape[0] + cylinders) * (K + 1) + 4 + memory.wall.shape[0]
    return Mix(
        np.zeros((N_VECTORS, length)),
        np.zeros((DEPTH, length)),
        np.zeros((DEPTH, length)),
        np.zeros((DEPTH, DEPTH)),
        np.zeros((DEPTH, DEPTH + 1)),
        np.zeros(3),
    )


@compiled
def scale(mix, memory, z, waste_scale):
    """Measure every number by what is there now: masses by the mass of their volume, energies by 1 MJ for each kilogram."""
    mix.vectors[SCALE] = 1.0
    place = 0
    largest = 0.0
    for v in range(memory.content.shape[0]):
        mass = 0.0
        for k in range(K):
            mass += memory.content[v, k]
        if v < memory.kept.shape[0]:
            largest = max(largest, mass)
        for k in range(K + 1):
            mix.vectors[SCALE, place] = mass * ENERGY if k == C_ENERGY else mass
            place += 1
    for _ in range(memory.kept.shape[0]):
        for k in range(K + 1):
            mix.vectors[SCALE, place] = 0.1 * largest * (ENERGY if k == K else 1.0)
            place += 1
    for value in (z[Z_AIR], z[Z_OUTLET], z[Z_INTAKE], waste_scale):
        mix.vectors[SCALE, place] = max(value, 1e-12)
        place += 1
    mix.vectors[SCALE, place:] = WALLS
    forget(mix)


@compiled
def read(mix, memory, z, row):
    """Write what is handed from march to march into one row of the vectors, scaled."""
    x = mix.vectors[row]
    place = 0
    for v in range(memory.content.shape[0]):
        for k in range(K + 1):
            x[place] = memory.content[v, k]
            place += 1
    for j in range(memory.kept.shape[0]):
        for k in range(K + 1):
            x[place] = memory.kept[j, k]
            place += 1
    for value in (z[Z_AIR], z[Z_OUTLET], z[Z_INTAKE], z[Z_WASTE]):
        x[place] = value
        place += 1
    for i in range(memory.wall.shape[0]):
        x[place] = memory.wall[i]
        place += 1
    for i in range(x.shape[0]):
        x[i] /= mix.vectors[SCALE, i]


@compiled
def write(mix, memory, z, row):
    """The way back."""
    x = mix.vectors[row]
    for i in range(x.shape[0]):
        x[i] *= mix.vectors[SCALE, i]
    place = 0
    for v in range(memory.content.shape[0]):
        for k in range(K + 1):
            memory.content[v, k] = x[place]
            place += 1
    for j in range(memory.kept.shape[0]):
        for k in range(K + 1):
            memory.kept[j, k] = x[place]
            place += 1
    z[Z_AIR], z[Z_OUTLET], z[Z_INTAKE], z[Z_WASTE] = x[place], x[place + 1], x[place + 2], x[place + 3]
    for i in range(memory.wall.shape[0]):
        memory.wall[i] = x[place + 4 + i]


@compiled
def forget(mix):
    """Drop what was remembered: the aim has changed."""
    mix.counts[HELD], mix.counts[NEXT], mix.counts[FRESH] = 0.0, 0.0, 1.0


def again(mix: Mix) -> None:
    """Forget the last march but keep what differences taught: for a start elsewhere, not far from where they were learnt."""
    mix.counts[FRESH] = 1.0


@compiled
def dot(a, b):
    """Sum of products."""
    total = 0.0
    for i in range(a.shape[0]):
        total += a[i] * b[i]
    return total


@compiled
def largest(x):
    """Largest magnitude."""
    most = 0.0
    for i in range(x.shape[0]):
        most = max(most, abs(x[i]))
    return most


@compiled
def weigh(mix, held):
    """Weights of the remembered differences, least squares by the normal equations; False where there are none."""
    a, change = mix.normal, mix.vectors[CHANGE]
    last = a.shape[0]  # the column of the right-hand side
    for i in range(held):
        for j in range(held):
            a[i, j] = mix.products[i, j]
        a[i, i] *= 1.0 + DAMPING
        a[i, last] = dot(mix.turned[i], change)
    for i in range(held):  # symmetric and positive, so elimination needs no pivot
        if not a[i, i] > 0.0:
            return False
        for j in range(i + 1, held):
            share = a[j, i] / a[i, i]
            for k in range(i, held):
                a[j, k] -= share * a[i, k]
            a[j, last] -= share * a[i, last]
    for i in range(held - 1, -1, -1):
        for k in range(i + 1, held):
            a[i, last] -= a[i, k] * a[k, last]
        a[i, last] /= a[i, i]
    return True


@compiled
def remember(mix):
    """Add the difference between this march and the last to what is held."""
    now, change = mix.vectors[NOW], mix.vectors[CHANGE]
    last, last_change = mix.vectors[LAST], mix.vectors[LAST_CHANGE]
    place = int(mix.counts[NEXT])
    for i in range(now.shape[0]):
        mix.moved[place, i] = now[i] - last[i]
        mix.turned[place, i] = change[i] - last_change[i]
    depth = mix.moved.shape[0]
    mix.counts[NEXT] = float((place + 1) % depth)
    mix.counts[HELD] = min(mix.counts[HELD] + 1.0, float(depth))
    for i in range(int(mix.counts[HELD])):
        mix.products[i, place] = mix.products[place, i] = dot(mix.turned[i], mix.turned[place])


@compiled
def mix_in(mix, memory, z, most_waste):
    """Replace the end of a march by a better start of the next.

    mix : Mix, whose row NOW was read before the march; memory, z : changed in place
    most_waste : float, largest wastegate area [m2]
    """
    read(mix, memory, z, END)
    end, change = mix.vectors[END], mix.vectors[CHANGE]
    for i in range(end.shape[0]):
        change[i] = end[i] - mix.vectors[NOW, i]
    size = largest(change)
    fresh = mix.counts[FRESH] == 1.0
    if size > LARGEST or (not fresh and size > max(GROWTH * largest(mix.vectors[LAST_CHANGE]), SMALL_CHANGE)):
        forget(mix)
        return
    if not fresh:
        remember(mix)
    mix.counts[FRESH] = 0.0
    copy_row(mix.vectors[LAST], mix.vectors[NOW])
    copy_row(mix.vectors[LAST_CHANGE], change)
    held = int(mix.counts[HELD])
    if held == 0:
        return
    good = weigh(mix, held)
    x = mix.vectors[NOW]
    moved = 0.0
    if good:
        for i in range(x.shape[0]):
            x[i] = end[i]
            for k in range(held):
                x[i] -= mix.normal[k, mix.normal.shape[0]] * (mix.moved[k, i] + mix.turned[k, i])
            moved = max(moved, abs(x[i] - end[i]))
            good = good and finite(x[i])
    if not good or moved > max(GROWTH * size, SMALL_MOVE):
        forget(mix)
        return
    write(mix, memory, z, NOW)
    z[Z_WASTE] = min(max(z[Z_WASTE], 0.0), most_waste)
