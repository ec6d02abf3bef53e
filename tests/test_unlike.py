"""Which of several cylinders departs, on figures whose answer is known: no engine is solved."""

import itertools

import numpy as np
import pytest
from hotside.sim.verbs.diagnose import unlike

WIDE = np.full(4, 0.03)
ERROR = 0.008  # of each cylinder's figure
LEVEL = np.eye(4) - 0.25  # what all have in common is not seen


def seen(departures, error=ERROR):
    information = LEVEL / error**2
    return unlike.weighed(information, information @ np.asarray(departures), WIDE)


def test_one_lean_cylinder_does_not_make_the_others_rich():
    """A mean over all would put three at +1 %; the likeliest is that three are alike."""
    found = seen([-0.04, 0.0, 0.0, 0.0])
    assert found.chance[0] > 0.9
    assert (found.chance[1:] < 0.5).all()
    assert found.departure[0] == pytest.approx(-0.04, abs=0.005)
    assert found.odds > unlike.ODDS


def test_alike_cylinders_are_alike():
    found = seen([0.003, -0.003, 0.002, -0.002])
    assert (found.chance < 0.5).all()
    assert found.odds < 1.0


def test_of_two_that_differ_neither_is_named():
    """Nothing says which of two is the healthy one."""
    information = (np.eye(2) - 0.5) / ERROR**2
    found = unlike.weighed(information, information @ np.array([-0.06, 0.0]), WIDE[:2])
    assert found.chance == pytest.approx([found.chance[0]] * 2)
    assert found.chance[0] < 0.75
    assert found.odds > unlike.ODDS
    assert found.departure[0] < -0.03 < 0.03 < found.departure[1]


def test_two_of_four_are_both_found():
    found = seen([-0.08, 0.0, 0.0, 0.08])
    assert (found.chance[[0, 3]] > 0.95).all()
    assert (found.chance[[1, 2]] < 0.5).all()


def test_the_size_said_to_be_named_is_named_as_often_as_said():
    """95 of 100 logs: figures drawn at that size with their error, weighed each."""
    information, rng = LEVEL / ERROR**2, np.random.default_rng(1)
    size = unlike.named_from(information, 0, WIDE)
    logs = [seen(np.array([-size, 0, 0, 0]) + ERROR * rng.normal(size=4)).chance for _ in range(2000)]
    named = np.array(logs) >= unlike.SURE
    assert 0.92 < named[:, 0].mean() < 0.97  # the errors of the other three cost two of a hundred
    assert named[:, 1:].mean() < 0.02  # healthy ones


def test_better_figures_name_smaller_departures_down_to_what_is_called_alike():
    sizes = [unlike.named_from(LEVEL / error**2, 0, WIDE) for error in (0.016, 0.008, 0.004, 1e-5)]
    assert all(a > b for a, b in itertools.pairwise(sizes))
    assert sizes[-1] > unlike.ALIKE
