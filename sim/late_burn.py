"""Burning after the exhaust valve has opened: what is left of the charge, and what is unburnt in the manifold."""

from ..models import combustion, gas
from ..models.compiled import compiled
from . import exchange as ex
from .records import C_T, KEPT_ALIGHT, KEPT_LEFT, KEPT_MIX, KEPT_RATE, KEPT_Y, K

IGNITES = 1000.0  # gas in the manifold burns on above this; about where carbon monoxide lights, from memory, med [K]


@compiled
def burn_on(engine, kept, content, account, width, out):
    """Burning that outlasted the opening of the exhaust valve goes on, in what has not left."""
    burn = engine.burn
    total = max(out, 0.0)
    for k in range(K):
        total += content[k]
    kept[KEPT_LEFT] *= 1.0 - max(out, 0.0) / total
    x0, _ = combustion.wiebe(burn.wiebe_a, burn.wiebe_m, kept[KEPT_Y])
    kept[KEPT_Y] += kept[KEPT_RATE] * width
    x1, _ = combustion.wiebe(burn.wiebe_a, burn.wiebe_m, kept[KEPT_Y])
    burned = kept[KEPT_LEFT] * (x1 - x0) / max(1.0 - x0, 1e-12)
    for k in range(K):  # never more than is there
        change = kept[KEPT_MIX + k]
        if change < 0.0 and content[k] + burned * change < 0.0:
            burned = max(-content[k] / change, 0.0)
    kept[KEPT_LEFT] -= burned
    for k in range(K):
        content[k] += burned * kept[KEPT_MIX + k]
    account[ex.A_BURNED_LATE] += burned
    if x1 > 0.9999:
        kept[KEPT_ALIGHT] = 0.0


@compiled
def burn_out(content, v, elements):
    """Let carbon monoxide, hydrogen and fuel burn with the oxygen beside them in a volume that is hot enough.

    At once and completely: the upper bound of what afterburning can do. Energies are absolute, so the heat shows in the
    temperature by itself.
    """
    if content[v, C_T] < IGNITES:
        return
    wanted = 0.0  # oxygen atoms that complete combustion would take [kmol]
    for k in (gas.CO, gas.H2, gas.FUEL):
        need = 2.0 * elements[k, 0] + 0.5 * elements[k, 1] - elements[k, 2]
        wanted += content[v, k] * need
    there = content[v, gas.O2] * elements[gas.O2, 2]
    if wanted <= 0.0 or there <= 0.0:
        return
    share = min(1.0, there / wanted)
    carbon = hydrogen = 0.0
    for k in (gas.CO, gas.H2, gas.FUEL):
        burned = share * content[v, k]
        carbon += burned * elements[k, 0]
        hydrogen += burned * elements[k, 1]
        content[v, k] -= burned
    content[v, gas.O2] -= share * wanted / elements[gas.O2, 2]
    content[v, gas.CO2] += carbon / elements[gas.CO2, 0]
    content[v, gas.H2O] += hydrogen / elements[gas.H2O, 1]
