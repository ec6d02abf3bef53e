"""Divided housings: two entries, who feeds which, and what a neighbour's blowdown does to the residual."""

import numpy as np
import pytest
from hotside.models import turbine
from hotside.sim import load, predict

SIX = {  # 2.5 litres, firing 1-5-3-6-2-4
    "engine": {
        "cylinders": 6, "bore": "82 mm", "stroke": "79 mm", "compression_ratio": 9.0,
        "intake_valve": {"count": 2, "diameter": "31 mm", "lift": "9 mm", "opens": "16 deg BTDC", "closes": "50 deg ABDC"},
        "exhaust_valve": {"count": 2, "diameter": "27 mm", "lift": "8.6 mm", "opens": "50 deg BBDC", "closes": "16 deg ATDC"},
    },
    "fuel": {"name": "gasoline_98"},
    "exhaust": {"runner_length": "180 mm", "runner_diameter": "38 mm"},
    "turbine": {"model": "hardware", "a_over_r": "18 mm", "wheel_inlet_diameter": "58 mm"},
    "wastegate": {"diameter": "38 mm"},
    "run": {"speed": "3000 rpm", "boost": "0.8 bar", "lambda": 0.85, "spark_advance": "11 deg"},
}  # fmt: skip
FRONT_AND_BACK = [[1, 2, 3], [4, 5, 6]]  # each bank fires every 240 deg
MIXED = [[1, 5, 3], [6, 2, 4]]  # three firings 120 deg apart, then a long pause


def six(**exhaust):
    """The six with another manifold."""
    return predict(load(SIX).set_all({f"exhaust.{k}": v for k, v in exhaust.items()}))


@pytest.fixture(scope="module")
def manifolds():
    return {
        "open": six(),
        "divided": six(collectors=2, cylinders_to=FRONT_AND_BACK),
        "wrongly divided": six(collectors=2, cylinders_to=MIXED),
    }


def residuals(p):
    return np.array([c["residual_fraction"] for c in p.cylinders])


def test_a_divided_manifold_keeps_the_blowdown_from_the_overlap(manifolds):
    """In the open manifold a cylinder 120 deg later blows down while the valves overlap; divided, the next is 240 deg away."""
    for name, p in manifolds.items():
        print(f"{name}: residual of each cylinder " + ", ".join(f"{100 * x:.1f} %" for x in residuals(p)))
    assert all(p.converged for p in manifolds.values())
    assert residuals(manifolds["divided"]).max() < 0.9 * residuals(manifolds["open"]).max()


LONG = {  # events of valves that are open together for 70 deg
    "engine.exhaust_valve.opens": "75 deg BBDC", "engine.exhaust_valve.closes": "35 deg ATDC", "engine.intake_valve.opens": "35 deg BTDC",
}  # fmt: skip
SHORT = {  # for 20 deg
    "engine.exhaust_valve.opens": "52 deg BBDC", "engine.exhaust_valve.closes": "10 deg ATDC", "engine.intake_valve.opens": "10 deg BTDC",
}  # fmt: skip


def test_a_four_gains_by_division_with_a_long_overlap_and_pays_for_it_at_speed_with_a_short_one():
    """The next firing is 180 deg away: its blowdown reaches an overlap of 70 deg, not one of 20. And half a throat with half a manifold
    before it gets the pulse of its own cylinder, twice as high for the gas of one: at speed it lasts into the exhaust stroke."""
    four = load(SIX).set_all(
        {"engine.cylinders": 4, "engine.bore": "89 mm", "engine.stroke": "92.5 mm", "turbine.a_over_r": "16 mm"}
    )
    halves = {"exhaust.collectors": 2, "exhaust.cylinders_to": [[1, 4], [2, 3]]}

    def saved(cam, rpm):
        whole, half = (
            predict(four.set_all(cam | more | {"run.speed": f"{rpm} rpm"})).residual_fraction for more in ({}, halves)
        )
        print(f"{rpm} rpm: residual open {whole:.2%}, divided {half:.2%}")
        return whole - half

    assert saved(LONG, 3000) > 0.01
    assert saved(SHORT, 5000) < -0.005
    assert saved(LONG, 3000) > saved(LONG, 4000) > saved(LONG, 5000)


def test_firing_order_decides_who_is_disturbed(manifolds):
    """Evenly firing entries disturb nobody more than another. With three in a row on one entry the first two of each three
    meet the next one's blowdown and the last of them is left in peace."""
    assert np.ptp(residuals(manifolds["open"])) < 1e-9
    assert np.ptp(residuals(manifolds["divided"])) < 1e-9
    wrong = residuals(manifolds["wrongly divided"])
    assert np.ptp(wrong) > 0.005
    last = [MIXED[0][2] - 1, MIXED[1][2] - 1]
    assert wrong[last].max() < np.delete(wrong, last).min()


def test_unequal_admission_costs_turbine_work():
    """While one entry flows alone half of the wheel is idle: less turbine efficiency, so the wastegate opens less."""
    found = [
        predict(
            load(SIX).set_all(
                {
                    "exhaust.collectors": 2,
                    "exhaust.cylinders_to": FRONT_AND_BACK,
                    "turbine.unequal_admission_loss": loss,
                }
            )
        )
        for loss in (0.0, 0.15, 0.3)
    ]
    assert np.all(np.diff([p.turbine_efficiency for p in found]) < 0.0)
    assert np.all(np.diff([p.wastegate_opening for p in found]) < 0.0)


def test_admission_by_hand():
    machine = turbine.from_area(3e-4, 1.33, 0.05)._replace(unequal_loss=0.2)
    assert turbine.admission(machine, 0.1, 0.1) == 1.0
    assert turbine.admission(machine, 0.1, 0.0) == pytest.approx(0.8)
    assert turbine.admission(machine, 0.3, 0.1) == pytest.approx(0.95)
    assert turbine.admission(machine, 0.0, 0.0) == 1.0


# ------------------------------------------------------------------------------------------- unequal entries

UNEQUAL = {"exhaust.collectors": 2, "exhaust.cylinders_to": FRONT_AND_BACK}


@pytest.fixture(scope="module")
def split():
    """The six with 0.5, 0.44 and 0.38 of the throat behind cylinders 1 to 3."""
    return [predict(load(SIX).set_all(UNEQUAL | {"turbine.entry_share": s})) for s in (0.5, 0.44, 0.38)]


def test_entries_make_up_the_whole_machine():
    machine = turbine.from_area(3e-4, 1.33, 0.05, share=0.4)
    whole = turbine.from_area(3e-4, 1.33, 0.05)
    state = (2e5, 1100.0, 288.0, 1e5, 300.0)
    first = turbine.turbine_flow(machine, *state)[0]
    assert first * (1.0 + turbine.beside_first(machine, 1)) == pytest.approx(turbine.turbine_flow(whole, *state)[0])
    assert turbine.beside_first(machine, 0) == 1.0


def test_the_smaller_entry_holds_its_cylinders_back(split):
    """The same gas through a smaller throat: more pressure in those runners, more burnt gas left behind, and the other three
    breathe more freely. The wider apart the entries, the wider apart the cylinders."""
    for p, share in zip(split, (0.5, 0.44, 0.38), strict=True):
        assert p.converged
        assert p.mass_closure < 1e-6
        assert p.energy_closure < 1e-3
        print(f"entry of {share}: residual of each cylinder " + ", ".join(f"{100 * x:.2f} %" for x in residuals(p)))
    pressure = [np.array([c["runner_pressure_pa"] for c in p.cylinders]) for p in split]
    for values in (pressure, [residuals(p) for p in split]):
        gap = [x[:3].min() - x[3:].max() for x in values]
        assert abs(gap[0]) < 1e-6 * values[0].max()  # to which the march settles
        assert 0.0 < gap[1] < gap[2]
        assert values[2][3:].max() < values[0].min()


def test_unequal_entries_mirrored_are_the_same_engine(split):
    """Which entry is called the first means nothing: banks and shares exchanged, each cylinder has what its twin had."""
    swapped = {"exhaust.cylinders_to": FRONT_AND_BACK[::-1], "turbine.entry_share": 0.62}
    other = predict(load(SIX).set_all(UNEQUAL | swapped))
    assert residuals(other) == pytest.approx(residuals(split[2]), rel=1e-4)
    assert other.power_w == pytest.approx(split[2].power_w, rel=1e-5)
    assert other.turbine_efficiency == pytest.approx(split[2].turbine_efficiency, rel=1e-4)


def test_a_housing_with_one_entry_does_not_read_its_division():
    case = load(SIX).set("turbine.entry_share", 0.4)
    assert "turbine.entry_share" in case.unread
    assert "turbine.unequal_admission_loss" not in case.guesses
    assert "turbine.unequal_admission_loss" in case.set("exhaust.collectors", 2).guesses
