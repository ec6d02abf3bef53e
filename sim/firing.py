"""From one firing to the next, where all cylinders are alike: what one march says of the whole cycle."""

from ..models.compiled import allocating, compiled
from . import exchange as ex
from .records import IN_COLLECTOR, IN_NEXT, copy_row


@compiled
def fold(engine, desk):
    """Make the accounts from one firing to the next those of a whole cycle.

    Where all cylinders are alike and fire evenly, what passes at all of them between two firings passes at each in a cycle.
    """
    n, collectors = engine.cylinders, engine.collectors
    for k in range(ex.N_ACCOUNT):
        total = 0.0
        for j in range(n):
            total += desk.account[j, k]
        desk.account[:, k] = total
    for k in range(ex.N_COLLECTOR):
        total = 0.0
        for c in range(collectors):
            total += desk.collector[c, k]
        desk.collector[:, k] = total * n / collectors


@allocating
def rotate(engine, inputs, memory, desk):
    """Give every cylinder the state of the one that fires next, after a march from one firing to the next."""
    n = engine.cylinders
    content, kept, stream = memory.content.copy(), memory.kept.copy(), desk.stream.copy()
    last = desk.states[0, :, ex.S_LAST].copy()
    for j in range(n):
        i = int(inputs[j, IN_NEXT])
        copy_row(memory.content[j], content[i])
        copy_row(memory.content[n + j], content[n + i])
        copy_row(memory.kept[j], kept[i])
        copy_row(desk.stream[j], stream[i])
        desk.states[0, j, ex.S_LAST], desk.states[0, n + j, ex.S_LAST] = last[i], last[n + i]
        a, b = 2 * n + int(inputs[j, IN_COLLECTOR]), 2 * n + int(inputs[i, IN_COLLECTOR])
        copy_row(memory.content[a], content[b])
        desk.states[0, a, ex.S_LAST] = last[b]
