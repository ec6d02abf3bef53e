"""Random valid cases over the whole case space: each is answered, or ends in a named and explained status.

Nothing else is promised here: no trend, no figure. What is promised: no traceback, no figure that is not finite, no hang,
books that close where the answer repeats itself, and a sentence where it does not.
"""

from collections import Counter

import pytest
from cases import COUNTS, FUELS, cases, names_in
from hotside.sim.sections import SPECS
from hypothesis import HealthCheck, Phase, given, seed, settings
from toml_text import toml_text
from verdict import judge

PLAIN = settings(
    database=None, deadline=None, suppress_health_check=list(HealthCheck), phases=[Phase.explicit, Phase.generate]
)
ANSWERS = ("converged", "boost short", "boost over")


class Count:
    """How cases ended, what is wrong with them, and which inputs they gave."""

    def __init__(self):
        self.ends, self.wrong, self.names = Counter(), {}, set()

    def add(self, case):
        """Judge one case."""
        status, complained, _ = judge(case)
        self.ends[status] += 1
        self.names |= names_in(case)
        for text in complained:  # the first case of each kind of complaint is kept whole
            self.wrong.setdefault((status, text.split(" = ")[0]), f"{status}: {text}\n{toml_text(case)}")

    def check(self):
        """Print the tally; every complaint fails."""
        print(dict(self.ends.most_common()))
        assert not self.wrong, "\n\n".join(self.wrong.values())
        assert self.ends["refused"] <= 0.02 * self.ends.total(), "the strategy is to make valid cases"


@pytest.fixture(scope="module")
def three_hundred():
    """The cases of the normal run, the same in every run."""
    count = Count()

    @seed(300)
    @settings(PLAIN, max_examples=300)
    @given(cases())
    def run(case):
        count.add(case)

    run()
    return count


def test_three_hundred_random_cases(three_hundred):
    three_hundred.check()
    answered = sum(three_hundred.ends[status] for status in ANSWERS)
    assert answered > 0.7 * three_hundred.ends.total()


def test_every_input_is_drawn():
    """An input that no case gives is one that nobody tried: tests/hard/cases.py leaves out what BY_HAND names."""
    names = set()

    @seed(1)
    @settings(PLAIN, max_examples=1500)
    @given(cases(fuels=FUELS, counts=COUNTS))
    def run(case):
        names.update(names_in(case))

    run()
    assert names == set(SPECS)


@pytest.mark.slow
@pytest.mark.parametrize("part", range(10))
def test_ten_thousand_random_cases(part):
    """A thousand in each part, so that a part can be run by itself."""
    count = Count()

    @seed(10_000 + part)
    @settings(PLAIN, max_examples=1000)
    @given(cases(fuels=FUELS, counts=COUNTS))
    def run(case):
        count.add(case)

    run()
    count.check()
