"""The intake port's memory: what was pushed back into it, with its temperature and mixture, is drawn first."""

from ..models import gas
from ..models.compiled import compiled, inlined
from .exchange import I_DEMAND, I_H, I_PORT, I_R, I_STALE, I_T, L_MOVE0, L_MOVE1, S_H, S_Y
from .records import IN_H, IN_R, IN_T, IN_Y, KEPT_PORT, KEPT_PORT_H, K

LEAST_STORED = 1e-9  # less than this in an intake port is nothing [kg]


@compiled
def stored_mass(kept, j):
    """Charge that waits in the intake port of cylinder j [kg]."""
    total = 0.0
    for k in range(K):
        total += kept[j, KEPT_PORT + k]
    return total


@inlined
def intake_stream(energy, cv, constants, inputs, kept, stream, j):
    """What the intake valve would draw now: first what was pushed back into the port, then fresh charge."""
    stored = stored_mass(kept, j)
    if stream[j, I_STALE] == 0.0 and stream[j, I_PORT] == 1.0 and stored > 2.0 * stream[j, I_DEMAND]:
        return  # nothing came back since, so it is still the same gas
    stream[j, I_STALE] = 0.0
    share = 0.0
    if stored > LEAST_STORED:  # the last of it is drawn half by half, so that the mixture slides over to fresh charge
        share = 1.0 if stored > 2.0 * stream[j, I_DEMAND] else 0.5 * stored / stream[j, I_DEMAND]
    if share == 0.0 and stream[j, I_PORT] == 0.0 and stream[j, I_T] == inputs[j, IN_T]:
        return
    last = stream[j, I_T]
    blend_stream(constants, inputs, kept, stream, j, share, stored)
    stream[j, I_T] = inputs[j, IN_T]
    if share > 0.0:
        guess = last if last > 0.0 else inputs[j, IN_T] + 100.0 * share
        stream[j, I_T] = gas.enthalpy_temperature(energy, cv, constants, stream[j], stream[j, I_H], guess)


@compiled
def blend_stream(constants, inputs, kept, stream, j, share, stored):
    """Composition, enthalpy and gas constant of a stream that takes `share` from the port and the rest fresh."""
    stream[j, I_PORT], stream[j, I_R], stream[j, I_H] = share, inputs[j, IN_R], inputs[j, IN_H]
    for k in range(K):
        stream[j, k] = inputs[j, IN_Y + k]
    if share > 0.0:
        r = 0.0
        for k in range(K):
            stream[j, k] += share * (kept[j, KEPT_PORT + k] / stored - stream[j, k])
            r += stream[j, k] * constants[k]
        stream[j, I_R] = r
        stream[j, I_H] += share * (kept[j, KEPT_PORT_H] / stored - stream[j, I_H])


@compiled
def ration(constants, inputs, kept, stream, L, j):
    """Where a step would draw more from the port than is there, mix in fresh charge for the rest, before it is moved."""
    drawn = max(L[j, L_MOVE0], 0.0) + max(L[j, L_MOVE1], 0.0)
    stored = stored_mass(kept, j)
    if stream[j, I_PORT] * drawn > stored and drawn > 0.0:
        share = 0.999 * stored / drawn if stored > LEAST_STORED else 0.0
        blend_stream(constants, inputs, kept, stream, j, share, stored)
        stream[j, I_STALE] = 1.0


@compiled
def settle_port(kept, stream, S, i, j, amount):
    """Book what passed the intake valve in the port's memory; returns the fresh charge drawn [kg]."""
    if amount < 0.0:
        for k in range(K):
            kept[j, KEPT_PORT + k] -= amount * S[i, j, S_Y + k]
        kept[j, KEPT_PORT_H] -= amount * S[i, j, S_H]
        stream[j, I_STALE] = 1.0
        return 0.0
    taken = amount * stream[j, I_PORT]
    if taken > 0.0:
        left = 1.0 - taken / stored_mass(kept, j)
        for k in range(KEPT_PORT_H + 1):
            kept[j, k] *= left
    return amount - taken
