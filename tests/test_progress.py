"""Work of more than a few seconds says how far it is."""

import re

import pytest
from hotside.sim import load, placement, uncertainty
from hotside.sim.verbs.diagnose.problem import Problem

SOLVED = re.compile(r"(\d+)( of \d+)? points solved")


def counted(said):
    return [int(m[1]) for m in map(SOLVED.match, said) if m]


def test_uncertainty_counts_the_points_of_every_stage():
    said = []
    uncertainty(load(), samples=16, progress=said.append)
    stages = [k for k, one in enumerate(said) if not SOLVED.match(one)]
    for begins, ends in zip(stages, [*stages[1:], len(said)], strict=True):
        assert counted(said[begins:ends]) == sorted(counted(said[begins:ends]))
    assert len(counted(said)) > 10


def test_placement_says_when_it_has_solved_and_weighs():
    said = []
    placement(load(), probes=1, samples=100, progress=said.append)
    assert counted(said)
    assert any("weighed" in one for one in said)


def test_a_fit_counts_its_points():
    said = []

    class Spot:
        reads = 0

        def solve(self, x):
            Spot.reads += 4
            return True

    problem = object.__new__(Problem)
    problem.spots, problem.dropped, problem.say, problem.solved_at = [Spot(), Spot()], [], said.append, None
    problem.solve(pytest.importorskip("numpy").zeros(1))
    assert len(said) == 2
    assert counted(said)[-1] > 0
