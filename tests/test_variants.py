"""Variants of a case: quick, and the very case that `set_all` makes; and what neighbouring points share is made once."""

from pathlib import Path

import pytest
from hotside.sim import CaseError, load
from hotside.sim.setup import prepare
from hotside.sim.variants import Variants

FOLDER = Path(__file__).resolve().parent.parent / "examples"
CASES = [None, *sorted(FOLDER.glob("*.toml"))]
CHANGES = (
    {"run.lambda": 0.93},
    {"run.lambda": 0.95, "wall_heat.model": "annand"},
    {"engine.bore": "80 mm"},  # many stand-ins follow from it
    {"cylinder.1.fuel": "3 %"},
    {"ambient.altitude": "1500 m"},  # drops its rival, the pressure
    {"run.speed": "3000 rpm"},
)


@pytest.mark.parametrize("path", CASES, ids=lambda p: p.stem if p else "demo")
def test_a_variant_is_what_set_all_makes(path):
    case = load(path)
    variants = Variants(case)
    for values in CHANGES:
        made, plain = variants.make(values), case.set_all(values)
        assert made == plain
        assert (made.digest, made.raw, made.guesses, made.unread) == (
            plain.digest,
            plain.raw,
            plain.guesses,
            plain.unread,
        )


def test_a_variant_forgets_the_one_before():
    variants = Variants(load())
    variants.make({"run.lambda": 0.95, "engine.bore": "80 mm"})
    assert variants.make({}) == load()


def test_bad_variants_are_refused_in_the_same_words():
    case = load(FOLDER / "tractor_six.toml")
    variants = Variants(case)
    for values in ({"run.lambda": 3.0}, {"run.boost": "1.2"}, {"wall_heat.model": "thick"}, {"run.nothing": 1.0}):
        with pytest.raises(CaseError) as plain:
            case.set_all(values)
        with pytest.raises(CaseError) as quick:
            variants.make(values)
        assert str(quick.value) == str(plain.value)


def test_the_first_that_makes_a_case():
    variants = Variants(load())
    assert variants.first([{"run.lambda": 3.0}, {"run.lambda": 0.9}]).run.lambda_ratio == 0.9
    with pytest.raises(CaseError, match=r"run\.lambda = 3\.0"):
        variants.first([{"run.lambda": 3.0}, {"run.boost": "1"}])


def test_hardware_is_made_once_for_points_that_share_it():
    case = load(FOLDER / "divided_four.toml")
    here, there = prepare(case), prepare(case.set("run.spark_advance", "12 deg"))
    assert there.machine is here.machine
    assert prepare(case.set("turbine.wheel_inlet_diameter", "50 mm")).machine is not here.machine
    assert (there.areas == here.areas).all()
    lift = prepare(case.set("engine.exhaust_valve.lift", "8 mm"))
    assert lift.areas.max() == here.areas.max()  # the intake's is the larger, and is not touched
    assert lift.areas.sum() < here.areas.sum()


def test_a_table_that_the_case_leaves_out_is_read_when_a_variant_writes_it():
    """A turbo case has a cooler and a compressor even where nothing is said about them."""
    raw = {
        key: table
        for key, table in load().to_dict().items()
        if key not in ("cooler", "compressor", "ambient", "wall_heat")
    }
    case = load(raw)
    for name, value in (
        ("cooler.effectiveness", 0.85),
        ("compressor.wheel_diameter", "62 mm"),
        ("ambient.temperature", "35 degC"),
        ("wall_heat.scale", 1.2),
    ):
        assert Variants(case).make({name: value}) == case.set(name, value)
        assert Variants(case).make({name: value}).get(name) != case.get(name)
