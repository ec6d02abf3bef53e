"""The collector as volumes in a row: books, symmetry, the way back to one volume, who hears whom, what is refused."""

from pathlib import Path

import numpy as np
import pytest
from hotside.sim import CaseError, collector_parts, load, predict
from hotside.sim import exchange as ex
from hotside.sim.cycle import correct
from hotside.sim.desk import desk
from hotside.sim.records import IN_ENTRY
from hotside.sim.setup import prepare
from hotside.sim.steady import answer

SIX = load(Path(__file__).resolve().parent.parent / "examples" / "tractor_six.toml").to_dict()  # firing 1-5-3-6-2-4
FOUR = {  # 1.6 litres, firing 1-3-4-2
    "engine": {
        "cylinders": 4, "bore": "78 mm", "stroke": "84 mm", "compression_ratio": 9.5,
        "intake_valve": {"count": 2, "diameter": "30 mm", "lift": "9 mm", "opens": "10 deg BTDC", "closes": "48 deg ABDC"},
        "exhaust_valve": {"count": 2, "diameter": "26 mm", "lift": "8.5 mm", "opens": "48 deg BBDC", "closes": "8 deg ATDC"},
    },
    "fuel": {"name": "gasoline_98"},
    "turbine": {"model": "hardware", "throat_area": "445 mm2", "wheel_inlet_diameter": "47 mm"},
    "wastegate": {"diameter": "28 mm"},
    "compressor": {"wheel_diameter": "49 mm"},
    "run": {"speed": "4500 rpm", "boost": "0.9 bar", "lambda": 0.85, "spark_advance": "10 deg"},
}  # fmt: skip


def chain(volumes, turbine_at="last", raw=FOUR, **changes):
    """A case with a collector of several volumes."""
    named = {k.replace("__", "."): v for k, v in changes.items()}
    return load(raw).set_all({"exhaust.collector_volumes": volumes, "exhaust.turbine_at": turbine_at} | named)


def residuals(p):
    """In hundredths of the charge."""
    return 100.0 * np.array([c["residual_fraction"] for c in p.cylinders])


@pytest.mark.parametrize(
    "changes",
    [
        {},
        {"exhaust.turbine_at": "first", "cylinder.2.fuel": -0.06},
        {"exhaust.collector_volumes": 5, "exhaust.turbine_at": "middle"},
        {"exhaust.collectors": 2, "exhaust.collector_volumes": 2},
        {"exhaust.afterburning": True, "cylinder.1.fuel": 0.25, "run.lambda": 0.95},
        {"run.speed": "1400 rpm", "engine.firing_intervals": ["150 deg", "210 deg", "150 deg", "210 deg"]},
        {"turbine.throat_area": "900 mm2", "run.boost": "1.2 bar"},  # falls short of its boost
    ],
)
def test_books_close(changes):
    """What leaves one part enters the next with the same mass, species and enthalpy, whatever the step."""
    p = predict(load(FOUR).set_all({"exhaust.collector_volumes": 4} | changes))
    assert p.status in ("converged", "boost short")
    assert p.mass_closure <= 1e-6
    assert p.energy_closure <= 1e-3


@pytest.mark.parametrize(("collectors", "volumes", "turbine_at"), [(1, 4, "last"), (1, 5, "middle"), (2, 3, "first")])
def test_elimination_along_the_chain_is_the_dense_solution(collectors, volumes, turbine_at):
    """The same linear system, once along the branches and once by factors of the whole matrix."""
    setup = prepare(chain(volumes, turbine_at, exhaust__collectors=collectors))
    engine, inputs = setup.engine, setup.inputs
    d = desk(setup.table, engine, 4, 4)
    rng, h, n = np.random.default_rng(3), 1e-4, engine.cylinders
    S, L = d.states, d.links
    S[0] = rng.uniform(0.5, 2.0, S[0].shape)
    L[:] = rng.uniform(0.5, 2.0, L.shape)
    L[:, ex.L_G] *= 1e4
    L[3 * n + 1 : 3 * n + 2 * collectors : 2, ex.L_W] = L[
        3 * n : 3 * n + 2 * collectors : 2, ex.L_W
    ]  # both leave one gas
    flows = L[:, ex.L_RHS].copy()
    ends = [(-1, j) for j in range(n)] + [(j, n + j) for j in range(n)]
    ends += [(n + j, 2 * n + int(inputs[j, IN_ENTRY])) for j in range(n)]
    ends += [(2 * n + c, -1) for c in range(collectors) for _ in range(2)]
    turbine = collector_parts.outlet(volumes, turbine_at)
    for c in range(collectors):
        row = [2 * n + collector_parts.entry(c, collectors, volumes, k, turbine) for k in range(volumes)]
        ends += [(row[k], row[k + 1 if k < turbine else k - 1]) for k in range(volumes) if k != turbine]
    size = S.shape[1]
    matrix, right = np.eye(size), np.zeros(size)
    right[:n] = -S[0, :n, ex.S_G] * S[0, :n, ex.S_P] * S[0, :n, ex.S_RATE] / S[0, :n, ex.S_V]
    g = ex.GAMMA * h * L[:, ex.L_G]
    for i, pair in enumerate(ends):
        for v, sign in zip(pair, (-1.0, 1.0), strict=True):  # what the link takes from the first it gives to the second
            if v >= 0:
                share = sign * L[i, ex.L_W] / S[0, v, ex.S_V]
                right[v] += share * flows[i]
                for other, way in zip(pair, (1.0, -1.0), strict=True):
                    if other >= 0:
                        matrix[v, other] -= share * g[i] * way
    k = np.append(np.linalg.solve(matrix, right), 0.0)
    correct(engine, inputs, S, L, d.branch, h, 1.0)
    assert L[:, ex.L_PHI] == pytest.approx([g[i] * (k[a] - k[b]) for i, (a, b) in enumerate(ends)], rel=1e-9, abs=1e-12)


def test_who_enters_where():
    assert collector_parts.places(4, 4, 3) == [0, 1, 2, 3]
    assert collector_parts.places(4, 5, 2) == [0, 1, 3, 4]
    assert collector_parts.places(4, 3, 1) == [0, 1, 1, 2]
    assert collector_parts.places(6, 4, 0) == [0, 0, 1, 2, 2, 3]  # on a border the one nearer the turbine
    for collectors in (1, 2):
        for volumes in (1, 2, 3, 5):
            for turbine in {0, volumes // 2, volumes - 1}:
                rows = [
                    collector_parts.entry(c, collectors, volumes, k, turbine)
                    for c in range(collectors)
                    for k in range(volumes)
                ]
                assert sorted(rows) == list(range(collectors * volumes))
                found = collector_parts.places_of(np.array(rows, float), collectors, volumes, turbine)
                assert found.tolist() == list(range(volumes)) * collectors


def test_one_volume_is_the_plain_collector():
    """The turbine's place is then no input, and no array is longer."""
    plain, named = load(FOUR), load(FOUR).set("exhaust.turbine_at", "first")
    assert named.unread == ("exhaust.turbine_at",)
    a, b = predict(plain).to_dict(), predict(named).to_dict()
    assert {k: v for k, v in a.items() if k != "warnings"} == {k: v for k, v in b.items() if k != "warnings"}
    assert prepare(plain).engine.alike == 1
    assert prepare(chain(2)).engine.alike == 0
    held = prepare(chain(4, run__held_backpressure="0.8 bar"))  # a plenum of fixed pressure has no parts
    assert held.engine.sections == 1


@pytest.mark.parametrize(("volumes", "raw"), [(5, FOUR), (3, FOUR), (7, SIX)])
def test_mirrored_cylinders_are_equal(volumes, raw):
    """Turbine in the middle and a firing order that, seen from the other end, is its own turn by half a cycle: cylinders at equal
    distance from the turbine meet the same pulses from the same sides."""
    p = predict(chain(volumes, "middle", raw))
    found = residuals(p)
    assert found == pytest.approx(found[::-1], abs=2e-4)
    assert np.ptp(found) > 0.01  # while those nearer the turbine differ from those at the ends
    walls = [c["runner_wall_temperature_k"] for c in p.cylinders]
    assert walls == pytest.approx(walls[::-1], abs=0.05)


def test_a_twin_about_the_turbine_has_no_difference():
    """Two cylinders, the turbine between them, firing every 360 deg: nothing can tell them apart."""
    raw = FOUR | {
        "engine": FOUR["engine"] | {"cylinders": 2},
        "turbine": {"model": "area", "area": "200 mm2", "wheel_inlet_diameter": "36 mm"},
    }
    found = residuals(predict(chain(3, "middle", raw, compressor__wheel_diameter="38 mm")))
    assert np.ptp(found) < 2e-4


def test_first_and_last_are_mirror_images():
    """The engine turned end for end: 1-3-4-2 becomes 4-2-1-3, which is the same order half a cycle later."""
    first, last = predict(chain(4, "first")), predict(chain(4, "last"))
    assert residuals(first) == pytest.approx(residuals(last)[::-1], abs=2e-3)
    assert first.turbine_inlet_temperature_k == pytest.approx(last.turbine_inlet_temperature_k, abs=0.02)
    assert first.backpressure_pa == pytest.approx(last.backpressure_pa, abs=20.0)


def test_who_hears_whose_blowdown():
    """Firing 1-3-4-2, a cylinder overlaps its valves while the next one blows down: 2 hears 1, 1 hears 3, 3 hears 4, 4 hears 2.
    In a row with the turbine at 4, the two at the far end sit beside each other: 1's pulse comes to 2 before most of it has
    gone on, so 2 keeps the most residual; 4 sits at the turbine, where 2's pulse arrives last and lowest."""
    slow = {"run.speed": "3000 rpm"}
    one, row = residuals(predict(load(FOUR).set_all(slow))), residuals(predict(chain(4, run__speed="3000 rpm")))
    assert np.ptp(one) < 1e-9
    assert row.argmax() == 1
    assert row.argmin() == 3
    assert row[3] < one[3] < row[1]  # the far end is worse off than in one volume, the near end better


def test_at_speed_the_way_to_the_turbine_decides():
    """A blowdown then lasts longer than the way between two ports; what is left is the pressure that drives gas along the row."""
    row = residuals(predict(chain(4, run__speed="6000 rpm")))
    assert np.all(np.diff(row) < -0.02)


def widened(factor):
    """Residuals where the parts are joined by links that much wider than the bore."""
    setup = prepare(chain(4), width=0.5)  # they are stiffer by as much
    return answer(setup._replace(engine=setup.engine._replace(chain_area=factor * setup.engine.chain_area)))[0]


def test_short_and_wide_it_is_one_volume():
    """Loss in a link falls with the square of its area until all parts have one pressure; only the film then knows of parts."""
    one = predict(load(FOUR), alike=False, width=0.5)
    off = [widened(f) for f in (1.0, 2.0, 4.0)]
    spread = [np.ptp(residuals(p)) for p in off]
    assert spread[1] < 0.5 * spread[0]
    assert spread[2] < 0.25 * spread[0]
    last = off[-1]
    assert residuals(last) == pytest.approx(residuals(one), abs=0.03)
    assert last.backpressure_pa == pytest.approx(one.backpressure_pa, rel=2e-3)
    assert last.exhaust_temperature_k == pytest.approx(one.exhaust_temperature_k, abs=0.5)


def test_a_narrow_log_costs_pumping_work():
    """Each link takes the dynamic head of what passes; a narrower bore takes more."""
    work = [predict(chain(4, exhaust__collector_diameter=d)).pmep_pa for d in ("34 mm", "40 mm", "50 mm")]
    assert work[0] < work[1] < work[2]


@pytest.mark.parametrize("rpm", [1500, 3000, 6000])
def test_the_step_is_short_enough_for_the_parts(rpm):
    """Their volumes are smaller than the collector, so links between them are stiffer. Limits as in test_steps.py."""
    case = chain(5, "middle", run__speed=f"{rpm} rpm")
    plain = predict(case)
    fine = predict(case, width=rpm / 15000.0)
    assert plain.exhaust_temperature_k == pytest.approx(fine.exhaust_temperature_k, abs=1.0)
    assert plain.imep_net_pa == pytest.approx(fine.imep_net_pa, rel=1e-3)
    assert residuals(plain) == pytest.approx(residuals(fine), abs=0.1)
    assert plain.turbine_inlet_temperature_k == pytest.approx(fine.turbine_inlet_temperature_k, abs=1.0)


@pytest.mark.parametrize(
    ("changes", "words"),
    [
        ({"exhaust.collector_volumes": 4, "exhaust.turbine_at": "middle"}, "no volume in the middle.*write 5"),
        ({"exhaust.collector_volumes": 4, "exhaust.collector_diameter": "150 mm"}, "shorter than a fifth of the bore"),
        ({"exhaust.collector_volumes": 14}, "outside 1 to 13"),
        ({"exhaust.turbine_at": "left"}, "not one of first, middle, last"),
    ],
)
def test_what_cannot_be(changes, words):
    with pytest.raises(CaseError, match=words):
        load(FOUR).set_all(changes)
