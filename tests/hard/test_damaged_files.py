"""Two thousand damaged files: what is read is a case, or one sentence; what is a case is answered or ends in a named status.

Reading is cheap and done for all of them. Of those that are still cases some tens are solved in the normal run, all of them
with `-m slow`.
"""

from collections import Counter
from pathlib import Path

import pytest
from cases import QUICK, case_from
from chance import chances
from hotside.sim import load
from hotside.sim.case import DEMO
from hotside.sim.errors import CaseError
from hypothesis import given, seed, settings
from mutations import case_damaged, map_damaged, text_damaged
from test_random_cases import PLAIN
from toml_text import toml_text
from verdict import judge, one_sentence

FOLDER = Path(__file__).resolve().parents[2] / "examples"
FILES = [DEMO, *sorted(FOLDER.glob("*.toml"))]
CURVE = """# a measured swallowing curve, invented
pressure_ratio, corrected_flow [lb/min]
1.2, 9.6
1.5, 13.4
1.8, 15.2
2.2, 16.4
2.6, 16.9
"""
TURBINE = {
    "wheel_inlet_diameter": "56 mm",
    "reference_pressure": "101.3 kPa",
    "reference_temperature": "288 K",
}
BURNED = "crank_angle_deg, burned_fraction\n" + "".join(
    f"{a}, {x}\n"
    for a, x in ((-18, 0), (-12, 0.02), (-6, 0.1), (0, 0.25), (6, 0.5), (12, 0.76), (18, 0.92), (24, 0.98), (40, 0.999))
)
MAPS = {  # input that names a file -> a good file, and the table of the case that goes with it
    "turbine.curve": (CURVE, {"model": "curve", **TURBINE}),
    "turbine.map": (
        (FOLDER / "housings/turbine_56_small.csv").read_text(),
        {"model": "map", "wheel_inlet_diameter": "56 mm"},
    ),
    "burn.table": (BURNED, {"model": "table"}),
    "compressor.map": ((FOLDER / "compressor_58.csv").read_text(), {"model": "map", "wheel_diameter": "58 mm"}),
}


@pytest.fixture(scope="module")
def folder(tmp_path_factory):
    """Where the files lie that are damaged over and over."""
    return tmp_path_factory.mktemp("damaged")


def read(source):
    """The case in a file or dict, or None where it is refused; a refusal must be a sentence."""
    try:
        return load(source)
    except CaseError as error:
        refusal = str(error)
    assert one_sentence(refusal), refusal
    return None


def case_with_map(folder, name, text):
    """The file of a good case beside a map."""
    _, needed = MAPS[name]
    section, key = name.split(".")
    (folder / "map.csv").write_bytes(text.encode("utf-8", "surrogatepass"))
    raw = load(FOLDER / "divided_four.toml").to_dict()
    path = folder / "case.toml"
    path.write_text(toml_text(raw | {section: needed | {key: "map.csv"}}))
    return path


class Survivors:
    """Cases that outlived their damage, and how many did not."""

    def __init__(self):
        self.cases, self.refused = {}, 0

    def add(self, case):
        """Count a case, or None for a refusal."""
        if case is None:
            self.refused += 1
        else:
            self.cases.setdefault(case.digest, case)

    def solve(self, most=None):
        """Solve the first `most` of them, or all; returns the complaints."""
        ends, wrong = Counter(), []
        for case in list(self.cases.values())[:most]:
            status, complained, _ = judge(case.to_dict())
            ends[status] += 1
            wrong += [f"{status}: {text}\n{toml_text(case.to_dict())}" for text in complained]
        print(f"{self.refused} refused, {len(self.cases)} different cases read:", dict(ends.most_common()))
        return wrong


def damaged_text(draw, folder):
    """A case file with its text damaged."""
    text = draw.pick(FILES).read_text() if draw.likely(0.5) else toml_text(case_from(draw, fuels=QUICK))
    path = folder / "case.toml"
    path.write_bytes(text_damaged(draw, text).encode("utf-8", "surrogatepass"))
    return path


def damaged_values(draw, _folder):
    """A case with its values damaged, as a dict: TOML could not hold some of the damage."""
    return case_damaged(draw, case_from(draw, fuels=QUICK))


def damaged_map(draw, folder):
    """A good case beside a damaged map."""
    name = draw.pick(list(MAPS))
    return case_with_map(folder, name, map_damaged(draw, MAPS[name][0]))


KINDS = {"text": (damaged_text, 800), "values": (damaged_values, 800), "maps": (damaged_map, 400)}


def survivors(kind, folder, start):
    """What is left of the damaged files of a kind."""
    damage, count = KINDS[kind]
    left = Survivors()

    @seed(start)
    @settings(PLAIN, max_examples=count)
    @given(chances(1000))
    def run(draw):
        left.add(read(damage(draw, folder)))

    run()
    return left


@pytest.mark.parametrize("kind", KINDS)
def test_two_thousand_damaged_files_are_read_or_refused_in_a_sentence(kind, folder):
    left = survivors(kind, folder, 7)
    assert left.refused > 0.2 * KINDS[kind][1], "damage that harms nothing shows nothing"
    assert left.cases, "and some of it must be harmless enough to be solved"
    wrong = left.solve(most=20)
    assert not wrong, "\n".join(wrong)


@pytest.mark.slow
@pytest.mark.parametrize("kind", KINDS)
def test_what_is_still_a_case_is_answered(kind, folder):
    """The same two thousand and as many again, all of them solved."""
    wrong = [text for start in (7, 8) for text in survivors(kind, folder, start).solve()]
    assert not wrong, "\n\n".join(wrong[:10])


@pytest.mark.parametrize("name", MAPS)
def test_the_good_maps_are_good(name, folder):
    assert read(case_with_map(folder, name, MAPS[name][0])) is not None
