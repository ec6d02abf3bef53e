"""`hotside explain NAME` for every input and every name of a prediction: what it means, its unit, and where a formula comes from."""

import re
from pathlib import Path

import pytest
from hotside.sim import CaseError, load, names, predict
from hotside.sim.explaining import SOURCES, explained
from hotside.sim.sections import SPECS

EXAMPLES = Path(__file__).resolve().parent.parent / "examples"
ROOT = Path(names.__file__).resolve().parent.parent


@pytest.mark.parametrize("name", SPECS)
def test_an_input_has_a_meaning_a_unit_and_a_way_to_write_it(name):
    first, *lines = explained(name)
    assert first.startswith(f"{name}: ")
    assert len(first) > len(name) + 8
    assert sum(line.startswith(("  units: ", "  no unit of its own: ")) for line in lines) == 1
    assert any(line.startswith(("  written ", "  one of: ", "  stand-in ", "  default: ")) for line in lines)
    assert any(line.startswith(("  required", "  may be left out", "  stand-in", "  default")) for line in lines)
    if SPECS[name].need == "guess":
        assert any(line.startswith("  how to measure: ") for line in lines)


@pytest.mark.parametrize("name", names.RESULTS)
def test_a_result_has_a_meaning_a_unit_and_the_source_of_its_formula(name):
    first, meaning, unit, formula = explained(name)
    assert first == f"{name}: {names.RESULTS[name].label}"
    assert len(meaning) > 20
    assert unit.startswith(("  printed in ", "  no unit: "))
    assert formula.startswith("  formula: ")
    room = names.room_of(name)
    assert (room and SOURCES[room] in formula and (ROOT / room).exists()) or "read off the solved cycle" in formula


@pytest.mark.parametrize("case", ["tractor_six", "divided_four", "bench"])
def test_every_name_inside_a_prediction_is_explained(case):
    given = predict(load(EXAMPLES / f"{case}.toml")).to_dict()
    rows = [given, *(row for v in given.values() if isinstance(v, list) for row in v if isinstance(row, dict))]
    rows += [v for k, v in given.items() if isinstance(v, dict) and k != "models"]
    found = {name for row in rows for name in row} | {m["name"] for m in given["margins"]}
    assert len(found) > 80
    for name in found:
        lines = explained(name)
        assert f"{name}: " in lines[0] or lines[0].startswith(f"[{name}] holds")
        assert len(lines) >= 2


@pytest.mark.parametrize("room", SOURCES)
def test_a_short_source_stands_in_the_docstrings_of_its_room(room):
    """Every author, year and paper number of it."""
    text = (ROOT / room).read_text()
    for part in re.findall(r"[A-Z][a-z]{3,}|\b(?:19|20)\d\d\b|\d{6}|\d{4}-\d{2}-\d{4}", SOURCES[room]):
        assert part in text, part


def test_a_name_inside_a_list_is_known_by_its_whole_name_too():
    assert explained("probes.0.reading_k") == explained("reading_k")


def test_what_is_no_name_is_refused_with_the_nearest():
    with pytest.raises(CaseError, match="did you mean"):
        explained("boost_p")
