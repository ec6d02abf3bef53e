"""Makes the helper modules of this folder importable by its tests, and has tables and kernels there before they begin."""

import sys
from pathlib import Path

import pytest

sys.path.insert(0, str(Path(__file__).parent))


@pytest.fixture(scope="session", autouse=True)
def _warm():
    """Solve one case with every fuel, so that the guard against hangs sees no compiler."""
    from cases import QUICK
    from hotside.sim import load, predict

    for fuel in QUICK:
        predict(load().set("fuel.name" if isinstance(fuel, str) else "fuel.blend", fuel))
