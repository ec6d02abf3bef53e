"""Points begun from their neighbours answer as from cold, in fewer marches, and leave what they cannot tell to a cold start."""

from pathlib import Path

import numpy as np
import pytest
from hotside.sim import load, mixing, surroundings
from hotside.sim.near import FAR, Near, Trail, footing, numbers, settle_near
from hotside.sim.records import empty_memory
from hotside.sim.settle import March
from hotside.sim.setup import prepare
from hotside.sim.steady import answer, solve
from hotside.sim.surroundings import Z_CYCLES

EXAMPLES = Path(__file__).resolve().parent.parent / "examples"
READINGS = ("power_w", "exhaust_temperature_k", "residual_fraction", "turbine_inlet_temperature_k", "backpressure_pa")


def line(name, count=6):
    """An example at mixtures in even steps."""
    case = load(EXAMPLES / f"{name}.toml")
    return [case.set("run.lambda", 0.8 + 0.02 * i) for i in range(count)]


def solved(case):
    """A case settled from cold."""
    return solve(prepare(case))[0]


@pytest.mark.parametrize("name", ["tractor_six", "uneven", "divided_four"])
def test_the_answer_is_that_of_a_cold_start_and_comes_sooner(name):
    """The march maps a state to the next whatever it begins from; only where it begins changes. Measured 1e-6 to 1.2e-5."""
    trail, warm_cycles, cold_cycles = Trail(), 0.0, 0.0
    for i, case in enumerate(line(name)):
        warm, march = answer(prepare(case), trail=trail)
        cold, other = answer(prepare(case))
        assert warm.status == cold.status == "converged"
        for reading in READINGS:
            assert getattr(warm, reading) == pytest.approx(getattr(cold, reading), rel=1e-4), reading
        if i >= 2:  # two behind it, and what their marches taught
            warm_cycles += march.z[Z_CYCLES]
            cold_cycles += other.z[Z_CYCLES]
    assert warm_cycles < 0.75 * cold_cycles


def test_too_little_power_to_spare_is_left_to_a_cold_start():
    """The first balance met from below decides there, which a neighbour's state may lie beyond."""
    case = load(EXAMPLES / "tractor_six.toml")
    foot = footing(solved(case))
    slow = case.set("run.speed", "2400 rpm")
    assert not settle_near(March.of(prepare(slow)), Near((foot,)))
    cold, near = solve(prepare(slow)), solve(prepare(slow), Near((foot,)))
    assert near[1] == cold[1]
    assert np.array_equal(near[0].z, cold[0].z)


def test_another_engine_is_no_neighbour():
    foot = footing(solved(load(EXAMPLES / "tractor_six.toml")))
    assert not settle_near(March.of(prepare(load(EXAMPLES / "divided_four.toml"))), Near((foot,)))


def test_what_did_not_settle_at_the_boost_asked_for_is_no_guide():
    short = solved(load(EXAMPLES / "tractor_six.toml").set("run.speed", "2000 rpm"))
    assert footing(short) is None


def test_a_footing_stays_as_it_was():
    """It is copied: the march it came from goes on without it."""
    march = solved(load(EXAMPLES / "uneven.toml"))
    foot = footing(march)
    before = foot.state.copy()
    march.whole_cycle()
    march.memory.content[:] = 0.0
    assert np.array_equal(foot.state, before)


def test_a_trail_puts_a_point_on_the_line_through_two():
    """Twice the way is two strides; off the line, behind it or too far along there is a neighbour and no line."""
    cases = line("uneven", 2)
    trail, places = Trail(), [numbers(prepare(case)) for case in cases]
    assert trail.near(places[0]) is None
    for place, case in zip(places, cases, strict=True):
        trail.add(place, solved(case))
    way = places[1] - places[0]
    ahead = trail.near(places[1] + 2.0 * way)
    assert ahead.weights == pytest.approx((3.0, -2.0), rel=1e-6)
    assert ahead.feet[0] is trail.feet[1]
    assert ahead.feet[1] is trail.feet[0]
    aside = way.copy()
    aside[int(np.flatnonzero(way == 0.0)[0])] = 1.0
    for place in (places[1] + aside, places[1] + 2.0 * FAR * way):
        assert len(trail.near(place).feet) == 1


def test_three_on_a_line_give_the_parabola():
    """What is a parabola of the place is foretold exactly, whatever the steps; of four points the oldest is left out."""
    foot = footing(solved(line("uneven", 1)[0]))
    trail, start = Trail(), numbers(prepare(line("uneven", 1)[0]))
    way = np.where(start != 0.0, 1e-6 * start, 0.0)
    steps = (0.0, 1.0, 2.5, 3.5)
    for s in steps:
        trail.feet.append(foot._replace(state=np.array([s])))
    trail.places = np.array([start + s * way for s in steps])
    near = trail.near(start + 4.0 * way)
    came = [float(f.state[0]) for f in near.feet]
    assert came == [3.5, 2.5, 1.0]
    for power in range(3):
        assert sum(w * s**power for w, s in zip(near.weights, came, strict=True)) == pytest.approx(4.0**power, rel=1e-4)


def test_a_march_from_a_parabola_starts_at_rest():
    """In a fine map the answers lie on a parabola but for less than marches may change, so two marches find a point; the line took three."""
    case = load()
    trail, marches = Trail(), []
    for i in range(12):
        point = case.set("run.spark_advance", f"{10 + 0.2 * i} deg")
        _, march = answer(prepare(point), trail=trail)
        marches.append(march.z[Z_CYCLES] * march.setup.plant.parts - 1.0)  # but the one that is read
    assert marches[0] > 10.0
    assert np.median(marches[5:]) <= 2.0


def test_a_mixed_start_that_is_no_number_is_not_taken():
    """`math.isfinite` is x - x, which a compiler that may reorder sums folds to nought: the start was taken, and all was lost a march
    later."""
    memory, z = empty_memory(1, 1, 1), np.zeros(surroundings.N_LOOP)
    for array in memory:
        array[:] = 1.0
    mix = mixing.empty_mix(memory)
    mix.vectors[mixing.SCALE] = 1.0
    mixing.read(mix, memory, z, mixing.NOW)
    mix.vectors[mixing.NOW] += 0.01
    mix.vectors[mixing.LAST], mix.vectors[mixing.LAST_CHANGE] = mix.vectors[mixing.NOW] - 0.1, 0.02
    mix.counts[mixing.HELD], mix.counts[mixing.NEXT] = 1.0, 1.0
    mix.moved[0] = mix.turned[0] = 0.5
    mix.moved[0, 3] = np.nan
    mix.products[0, 0] = mix.turned[0] @ mix.turned[0]
    mixing.mix_in(mix, memory, z, 1.0)
    assert all(np.isfinite(array).all() for array in memory)
    assert mix.counts[mixing.HELD] == 0.0
