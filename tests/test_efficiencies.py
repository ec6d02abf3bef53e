"""No turbine gives more work than the isentropic expansion, no compressor takes less than the isentropic one: the second law."""

from pathlib import Path

import pytest
from hotside.sim import load
from hotside.sim.efficiencies import SCALES, most
from hotside.sim.errors import CaseError
from hotside.sim.machines import turbine_of
from hotside.sim.verbs.diagnose.unknowns import unknown

EXAMPLES = Path(__file__).resolve().parent.parent / "examples"
MAPS = {
    "turbine": str(EXAMPLES / "housings" / "turbine_56_small.csv"),
    "compressor": str(EXAMPLES / "compressor_58.csv"),
}


@pytest.mark.parametrize("name", SCALES)
def test_a_factor_that_lifts_an_efficiency_past_one_is_refused(name):
    section = name.split(".")[0]
    case = load().set(f"{section}.efficiency_peak", 0.8)
    assert case.set(name, 1.249).get(name) == 1.249  # 0.999, absurd and yet possible
    with pytest.raises(CaseError, match=rf"^{name} = 1\.26 lifts an efficiency of 0\.8 past 1.*at most 1\.250\.$"):
        case.set(name, 1.26)


def test_a_stand_in_counts_as_well():
    """The case of a user who gives no efficiency: the stand-in by wheel size is multiplied all the same."""
    peak = load().turbine.efficiency_peak
    with pytest.raises(CaseError, match=r"^turbine\.efficiency_scale"):
        load().set("turbine.efficiency_scale", min(1.01 / peak, 1.5))


def test_of_one_efficiency_and_of_a_map():
    constant = load().set_all({"compressor.model": "constant", "compressor.efficiency": 0.8})
    assert most(constant, "compressor.efficiency_scale") == pytest.approx(1.25)
    for section, file in MAPS.items():
        case = load().set_all({f"{section}.model": "map", f"{section}.map": file})
        assert 1.0 < most(case, f"{section}.efficiency_scale") < 1.6


def test_a_map_carried_on_past_its_points_stays_below_one():
    case = load().set_all({"turbine.model": "map", "turbine.map": MAPS["turbine"]})
    case = case.set("turbine.efficiency_scale", 0.999 * min(most(case, "turbine.efficiency_scale"), 1.5))
    made, _ = turbine_of(case.turbine, 1)
    assert 0.9 < made.efficiency.max() <= 1.0


def test_a_fit_looks_no_further_than_that():
    case = load().set("turbine.efficiency_peak", 0.88)
    fitted = unknown(case, "turbine.efficiency_scale")
    assert fitted.high == pytest.approx(1.0 / 0.88, rel=2e-3)
    case.set("turbine.efficiency_scale", fitted.high)
