"""What explains a log as well, on a linear problem whose answer is known: no engine is solved."""

import numpy as np
import pytest
from hotside.sim.verbs.diagnose import suspects, table
from hotside.sim.verbs.diagnose.unknowns import Unknown

BURN = Unknown("burn.duration_scale", "burn duration", 1.0, 0.1, 0.4, 1.6)
TIMING = Unknown("engine.spark_offset", "timing", 0.0, 1.2, -7.2, 7.2)


def seen(*, burn, timing, late, rows=12, noise=0.3):
    """A log of a gauge that answers both unknowns; rows at late timing tell the two apart by `late`."""
    rng = np.random.default_rng(2)
    shift = late * np.linspace(-1.0, 1.0, rows)
    columns = -np.stack([2.0 + 0.0 * shift, -0.6 + shift], axis=1)
    lin = suspects.Linear.__new__(suspects.Linear)
    truth = np.array([(burn - 1.0) / 0.1, timing / 1.2])
    measured = -columns @ truth + noise * rng.normal(size=rows)
    step, *_ = np.linalg.lstsq(np.vstack([columns, np.eye(2)]), np.append(-measured, [0.0, 0.0]), rcond=None)
    lin.unknowns, lin.columns, lin.at, lin.extras = [BURN, TIMING], columns, step, {}
    lin.r = measured + columns @ step
    return lin


def test_what_the_log_does_not_see_is_named_where_it_explains_a_departure_as_well():
    """A late spark and a slow burn both burn late: a gauge that cannot part them cannot blame one."""
    lin = seen(burn=1.0, timing=-5.0, late=0.0)
    assert lin.least().values["burn.duration_scale"] > 1.1, "the narrower prior takes the blame"
    assert suspects.instead(lin, BURN.name, ()) == []
    [(name, value)] = suspects.instead(lin, BURN.name, (), [TIMING.name])
    assert name == TIMING.name
    assert value == pytest.approx(-5.0, abs=1.0)


def test_what_the_rows_tell_apart_is_no_rival():
    lin = seen(burn=1.2, timing=0.0, late=1.0)
    assert suspects.instead(lin, BURN.name, (), [TIMING.name]) == []


def test_no_rival_lies_beyond_its_bounds():
    lin = seen(burn=1.4, timing=-5.0, late=0.0)
    assert suspects.instead(lin, BURN.name, (), [TIMING.name]) == []


@pytest.mark.parametrize(
    ("sure", "told"), [(0.9857, "98 %"), (0.99, "99.0 %"), (0.9939, "99.3 %"), (1.0, "99.9 %"), (0.951, "95 %")]
)
def test_no_more_is_claimed_than_is_known(sure, told):
    assert table.said({"text": "So it is.", "confidence": sure}) == f"- So it is. [{told} sure]"
