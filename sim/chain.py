"""The collector as volumes in a row: each runner enters its own part of it, the turbine stands at one end or in the middle.

The part before the turbine is "the collector" of every other room. The others follow behind all collectors in the arrays, each
joined by one link to its neighbour towards the turbine, so that the network stays a tree: these branches are eliminated
between the runners and the turbine. A link passes the flow of a runner's mouth: a nozzle of the collector's bore, whose
velocity is lost in the next volume. Gas inertia is not in it. The metal is one piece with one temperature.
"""

from ..models.compiled import compiled, inlined
from . import exchange as ex
from . import films
from .exchange import GAMMA, L_F0, L_G, L_PHI, L_RHS, L_W, S_P, S_V


@inlined
def collector_of(net, v):
    """The collector that volume v is a part of."""
    c = v - 2 * net.cylinders
    return c if c < net.collectors else (c - net.collectors) // (net.sections - 1)


@inlined
def ends(net, c, i):
    """Of link i of collector c: its row, the volume it leaves and the one nearer the turbine that it enters."""
    first = c * (net.sections - 1)
    row = 3 * net.cylinders + 2 * net.collectors + first + i
    v = 2 * net.cylinders + net.collectors + first + i
    if i < net.outlet:
        return row, v, v + 1 if i + 1 < net.outlet else 2 * net.cylinders + c
    return row, v, v - 1 if i > net.outlet else 2 * net.cylinders + c


@inlined
def inwards(net, q):
    """The q-th link on the way from both ends to the turbine."""
    return q if q < net.outlet else net.sections - 2 + net.outlet - q


@compiled
def flows(engine, S, L, i):
    """Flows between the parts at stage i [kg/s]; at the first stage also conductances and weights."""
    for c in range(engine.collectors):
        for q in range(engine.sections - 1):
            row, a, b = ends(engine, c, q)
            f, g = ex.through_mouth(engine.chain_area, S, i, a, b)
            L[row, i] = f
            if i == 0:
                p_a, p_b = S[0, a, S_P], S[0, b, S_P]
                L[row, L_G] = ex.chord(g, f, p_a - p_b)
                L[row, L_W] = ex.upwind(p_a, p_b, ex.sound_squared(S, 0, a), ex.sound_squared(S, 0, b))


@compiled
def damp(net, S, L, h):
    """`exchange.damp` for every link between parts, once a step."""
    for c in range(net.collectors):
        for q in range(net.sections - 1):
            row, a, b = ends(net, c, q)
            ex.damp(L, row, h, 1.0 / S[0, a, S_V] + 1.0 / S[0, b, S_V])


@compiled
def heat(engine, wall, S, L):
    """Coefficient times area, and times wall temperature, of the parts that are not before the turbine."""
    for c in range(engine.collectors):
        for q in range(engine.sections - 1):
            row, a, _ = ends(engine, c, q)
            h = films.pipe_film(engine, S, a, abs(L[row, L_F0]), engine.collector_diameter)
            films.keep_film(S, a, h * engine.section_surface, wall[engine.cylinders + c])


@compiled
def eliminate(net, S, L, branch, h):
    """Eliminate the parts from both ends towards the turbine, after the runners."""
    n, gh = net.cylinders, GAMMA * h
    for c in range(net.collectors):
        for q in range(net.sections - 1):
            row, a, b = ends(net, c, inwards(net, q))
            mine, other = a - n, b - n
            w, G = L[row, L_W], gh * L[row, L_G]
            ba, kb = w * G / S[0, a, S_V], w * G / S[0, b, S_V]
            d = branch[mine, 1] + ba
            a0 = branch[mine, 0] - w * L[row, L_RHS] / S[0, a, S_V]
            branch[other, 0] += w * L[row, L_RHS] / S[0, b, S_V] + kb * a0 / d
            branch[other, 1] += kb * (1.0 - ba / d)
            branch[mine, 2], branch[mine, 3] = a0 / d, ba / d


@compiled
def substitute(net, L, branch, h):
    """Pressures of the parts from the turbine outwards, before the runners'; leaves the flow corrections in column L_PHI."""
    n, gh = net.cylinders, GAMMA * h
    for c in range(net.collectors):
        for q in range(net.sections - 2, -1, -1):
            row, a, b = ends(net, c, inwards(net, q))
            there = branch[b - n, 0] / branch[b - n, 1]
            here = branch[a - n, 2] + branch[a - n, 3] * there
            branch[a - n, 0], branch[a - n, 1] = here, 1.0
            L[row, L_PHI] = gh * L[row, L_G] * (here - there)


@compiled
def move(net, S, L, i, column, content):
    """Apply the transfers [kg] between the parts of one column, each with the upstream state at stage i."""
    for c in range(net.collectors):
        for q in range(net.sections - 1):
            row, a, b = ends(net, c, q)
            if L[row, column] != 0.0:
                ex.carry(content, a, b, S, i, L[row, column])
