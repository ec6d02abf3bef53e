"""The search for the knock limit, and the shortened closed cycle it leans on."""

import math
from pathlib import Path

import numpy as np
import pytest
from hotside.sim import closed, knock_limit, load, steady
from hotside.sim.setup import prepare
from scipy.optimize import brentq

UNEVEN = load(Path(__file__).parent.parent / "examples" / "uneven.toml")
# Octane beyond the fuel's against spark: it rises ever more slowly, and is nearly flat where the burn is early.
CURVES = {
    "usual": lambda d: 1.1 + 0.66 * d - 0.028 * d * d,
    "flat": lambda d: -1.3617 * math.exp(-d / 4.0) + 0.4,
    "far later": lambda d: 15.8 - 0.05 * (12.0 - d) ** 2 + 7.2,
    "far earlier": lambda d: -6.0 + 6.5 * (1.0 - math.exp(-(d + 1.0) / 9.0)),
    "falls again": lambda d: 8.7 - 0.035 * (d + 6.0) ** 2,
    "steep": lambda d: 3.0 * (d + 2.0) + 0.01 * (d + 2.0) ** 3,
}


@pytest.mark.parametrize("name", CURVES)
@pytest.mark.parametrize("bad", [(), (3.3,), (3.3, 4.2)])
def test_the_search_finds_the_root_in_a_few_closed_cycles(name, bad):
    curve, asked = CURVES[name], []
    tried = [(d, curve(d)) for d in (0.0, *bad)]
    found = knock_limit._search(lambda d: asked.append(d) or curve(d), tried, -46.0, 44.0)
    low, high = (-30.0, 0.0) if curve(0.0) > 0.0 else (0.0, 40.0)
    assert found == pytest.approx(brentq(curve, low, high), abs=2e-4)
    assert len(asked) <= 6


@pytest.mark.parametrize("curve", [lambda d: 30.0 + 0.3 * d, lambda d: -30.0 + 0.3 * d, lambda d: 1.0, lambda d: -1.0])
def test_a_limit_out_of_reach_is_none(curve):
    assert knock_limit._search(curve, [(0.0, curve(0.0))], -46.0, 44.0) is None


@pytest.mark.parametrize("changes", [{}, {"run.speed": "2000 rpm"}, {"knock.window_end": "evo"}], ids=str)
@pytest.mark.parametrize("case", [load(), UNEVEN], ids=lambda c: c.title)
def test_margin_against_brentq_over_whole_closed_cycles(case, changes):
    """Knock counts to 90 % burned, or to exhaust opening where the case says so; what comes after changes neither octane nor peak."""
    march, ending = steady.solve(prepare(case.set_all(changes) if changes else case))
    found = steady.read(march, ending)
    s, outs = march.setup, march.desk.outs
    j = int(outs[: 1 if s.engine.alike else s.engine.cylinders, closed.O_KNOCK].argmax())
    for shift in (-12.0, -3.0, 0.0, 4.0):
        short, whole = (
            knock_limit.closed_at(march, j, shift),
            knock_limit._until(march, j, shift, 720.0 + s.engine.exhaust_opens),
        )
        for column in (closed.O_KNOCK, closed.O_PEAK_P, closed.O_CA50, closed.O_CA90):
            assert short[column] == whole[column]

    def excess(d):
        return knock_limit._octane(knock_limit._until(march, j, d, 720.0 + s.engine.exhaust_opens)) - s.octane

    assert np.sign(excess(0.0)) == -np.sign(found.knock_margin_deg)
    assert found.knock_margin_deg == pytest.approx(brentq(excess, -25.0, 12.0, xtol=1e-9), abs=2e-3)
