"""Friction against the published curve (published values d.3), all of it from memory; formulas written out again are guards."""

import functools
import math

import pytest
from hotside.models import friction
from hotside.sim import load, predict

BARNES_MOSS = "D. Barnes-Moss, IMechE C343/73 (1975), as Heywood (1988) eq. 13.6"
PATTON = "Patton, Nitschke & Heywood, SAE 890836 (1989)"
B = S = 86.0  # mm
RC, CYLINDERS = 9.0, 4


def engine(model):
    """A 2.0-litre four in the range of the published curve."""
    return friction.for_engine(model, CYLINDERS, 1e-3 * B, 1e-3 * S, RC)


@pytest.mark.parametrize(
    ("speed", "value"), [(1000, 1.17), (2000, 1.47), (3000, 1.87), (4000, 2.37), (5000, 2.97), (6000, 3.67)]
)
def test_motored_total_friction(published, speed, value):
    found = friction.barnes_moss(float(speed)) / 1e5
    published(
        f"total motored fmep at {speed} rpm",
        found=found,
        value=value,
        tol=("abs", 0.005),
        unit="bar",
        source=BARNES_MOSS,
        mark="M-high",
        guard=True,
    )


def test_chen_flynn(published):
    """A + B pmax + C Sp with the often-quoted constants, 60 bar and 12 m/s."""
    record = engine(friction.CHEN_FLYNN)
    found = friction.fmep(record, 12.0 * 30.0 / (1e-3 * S), 60e5, 1.0) / 1e5
    value = 0.137 + 0.005 * 60.0 + 0.162 * 12.0
    published(
        "fmep at 60 bar, 12 m/s, written out again",
        found=found,
        value=value,
        tol=("rel", 1e-9),
        unit="bar",
        source="Chen & Flynn, SAE 650733 (1965)",
        mark="M-med",
        guard=True,
    )


@pytest.mark.parametrize("speed", [1000.0, 3000.0, 6000.0])
def test_patton_terms(published, speed):
    """The published terms in their own units (kPa, mm, rpm, m/s), written out again."""
    parts = [part / 1e3 for part in friction.breakdown(engine(friction.PATTON), speed, 1.0)]
    Db, Lb, nb = 0.65 * B, 0.26 * B, 5
    Dr, Lr = 0.55 * B, 0.24 * B
    Sp = 2e-3 * S * speed / 60.0
    per = B**2 * S * CYLINDERS
    values = (
        (
            "crankshaft",
            1.22e5 * Db / per + 3.03e-4 * speed * Db**3 * Lb * nb / per + 1.35e-10 * Db**2 * speed**2 * nb / CYLINDERS,
        ),
        (
            "reciprocating",
            2.94e2 * Sp / B + 4.06e4 * (1 + 1000 / speed) / B**2 + 3.03e-4 * speed * Dr**3 * Lr * CYLINDERS / per,
        ),
        ("gas load", 6.89 * (0.088 * RC + 0.182 * RC ** (1.33 - 0.0238 * Sp))),
    )
    for (name, value), found in zip(values, parts[:3], strict=True):
        published(
            f"{name} at {speed:.0f} rpm, written out again",
            found=found,
            value=value,
            tol=("rel", 1e-9),
            unit="kPa",
            source=PATTON,
            mark="M-high",
            guard=True,
        )
    published(
        f"auxiliaries at {speed:.0f} rpm, written out again",
        found=parts[4],
        value=6.23 + 5.22e-3 * speed - 1.79e-7 * speed**2,
        tol=("rel", 1e-9),
        unit="kPa",
        source=PATTON,
        mark="M-high",
        guard=True,
    )


def test_sandoval_auxiliaries(published):
    found = friction.auxiliaries(4000.0, friction.SANDOVAL) / 1e3
    value = 8.32 + 1.86e-3 * 4000.0 + 7.45e-7 * 4000.0**2
    published(
        "auxiliaries at 4000 rpm, written out again",
        found=found,
        value=value,
        tol=("rel", 1e-9),
        unit="kPa",
        source="Sandoval & Heywood, SAE 2003-01-0725",
        mark="M-med",
        guard=True,
    )


@pytest.mark.parametrize("speed", [1000.0, 2000.0, 3000.0, 4000.0, 5000.0, 6000.0])
@pytest.mark.parametrize("model", [friction.PATTON, friction.SANDOVAL])
def test_components_with_pumping_against_barnes_moss(published, model, speed):
    """The curve is of engines of 1975 and holds the pumping; the model is of later engines and leaves it out.

    Pumping of a motored engine at full throttle is added as 0.178 kPa Sp^2 for the exhaust (Patton et al. 1989, from
    memory, confidence medium) and as much again for valves and intake (an assumption). Later engines lie up to a quarter
    below: "engine friction fell 25 % over 30 years", E. K. Nam & J. Sorab, SAE 2004, which is the tolerance.
    """
    piston_speed = 2e-3 * S * speed / 60.0
    found = friction.fmep(engine(model), speed, 4e6, 1.0) + 2.0 * 178.0 * piston_speed**2
    published(
        f"{('', 'Patton', 'Sandoval')[model]} with pumping at {speed:.0f} rpm",
        found=found / 1e5,
        value=friction.barnes_moss(speed) / 1e5,
        tol=("rel", 0.25),
        unit="bar",
        source=BARNES_MOSS,
        mark="M-med",
    )


@pytest.mark.parametrize("speed", [2000.0, 4000.0, 6000.0])
def test_models_agree_among_themselves_within_their_scatter(speed):
    values = [friction.fmep(engine(model), speed, 4e6, 1.0) for model in (friction.PATTON, friction.SANDOVAL)]
    assert math.isclose(values[0], values[1], rel_tol=0.15)


SPEEDS = (1000, 2000, 3000, 4000, 5000, 6000)
FOUR = {
    "engine": {
        "cylinders": 4, "bore": "78 mm", "stroke": "84 mm", "compression_ratio": 9.5,
        "intake_valve": {"count": 2, "diameter": "30 mm", "lift": "9 mm", "opens": "10 deg BTDC", "closes": "48 deg ABDC"},
        "exhaust_valve": {"count": 2, "diameter": "26 mm", "lift": "8.5 mm", "opens": "48 deg BBDC", "closes": "8 deg ATDC"},
    },
    "fuel": {"name": "gasoline_98"},
}  # fmt: skip


@functools.cache
def with_pumping(model, rpm):
    """Friction and the pumping that is solved beside it, at full throttle [bar]."""
    run = {
        "speed": f"{rpm} rpm", "lambda": 1.0, "spark_advance": "20 deg", "intake_pressure": "100 kPa",
        "intake_temperature": "310 K", "exhaust_pressure": "105 kPa",
    }  # fmt: skip
    found = predict(load(FOUR | {"run": run, "friction": {"model": model}}))
    return (found.fmep_pa - found.pmep_pa) / 1e5


@pytest.mark.parametrize("rpm", SPEEDS)
def test_default_friction_is_that_of_engines_after_1975(published, rpm):
    """A quarter below the curve of 1975. Tolerance: the curve pumps motored air, not burned gas, and engines scatter.

    Why a case that names no model gets this one: Chen & Flynn's diesel constants stand 15 to 42 % above, held below.
    """
    model = load().friction.model
    published(
        f"friction with pumping, {model}, {rpm} rpm",
        found=with_pumping(model, rpm),
        value=0.75 * friction.barnes_moss(float(rpm)) / 1e5,
        tol=("rel", 0.15),
        unit="bar",
        source=f"{BARNES_MOSS}, less 25 %: E. K. Nam & J. Sorab, SAE 2004, abstract",
        mark="M-med",
    )


@pytest.mark.parametrize("rpm", SPEEDS)
def test_chen_flynn_is_the_friction_of_1975(published, rpm):
    """The curve itself, of engines of that time."""
    found = with_pumping("chen_flynn", rpm)
    published(
        f"friction with pumping, chen_flynn, {rpm} rpm",
        found=found,
        value=friction.barnes_moss(float(rpm)) / 1e5,
        tol=("rel", 0.15),
        unit="bar",
        source=BARNES_MOSS,
        mark="M-high",
    )
    assert found > 1.1 * with_pumping("sandoval", rpm) or rpm < 2000
