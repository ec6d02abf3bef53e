"""The far corners one by one and two by two: each is answered, or says in a sentence why not.

An extreme alone, on an engine that stands it, must be answered; two at once may end in any named status.
"""

import itertools

import pytest
from hotside.sim import load, predict
from verdict import judge

ENGINE = {  # a three-cylinder of 1.1 litres that turns fast enough for 12,000 rpm
    "cylinders": 3, "bore": "82 mm", "stroke": "68 mm", "compression_ratio": 8.5,
    "intake_valve": {"count": 2, "diameter": "32 mm", "lift": "9.5 mm", "opens": "18 deg BTDC", "closes": "60 deg ABDC"},
    "exhaust_valve": {"count": 2, "diameter": "27 mm", "lift": "9 mm", "opens": "62 deg BBDC", "closes": "16 deg ATDC"},
}  # fmt: skip
BASE = {
    "engine": ENGINE,
    "fuel": {"name": "gasoline_98"},
    "turbine": {"model": "area", "area": "360 mm2", "wheel_inlet_diameter": "45 mm"},
    "wastegate": {"diameter": "30 mm"},
    "run": {"speed": "6500 rpm", "boost": "0.8 bar", "lambda": 0.85, "spark_advance": "16 deg"},
}
OVERLAP = {
    "none": {"engine.intake_valve.opens": "10 deg ATDC", "engine.exhaust_valve.closes": "10 deg BTDC"},
    "100 deg": {"engine.intake_valve.opens": "50 deg BTDC", "engine.exhaust_valve.closes": "50 deg ATDC"},
}
EXTREMES = {
    "500 rpm": {"run.speed": "500 rpm", "run.boost": "0 bar"},
    "12,000 rpm": {"run.speed": "12000 rpm"},
    "one cylinder": {"engine.cylinders": 1, "turbine.area": "120 mm2"},
    "twelve cylinders": {"engine.cylinders": 12, "turbine.area": "1440 mm2", "wastegate.diameter": "60 mm"},
    "lambda 0.6": {"run.lambda": 0.6},
    "lambda 1.4": {"run.lambda": 1.4, "run.spark_advance": "35 deg"},
    "4 bar": {"run.boost": "4 bar"},
    "-40 degC": {"ambient.temperature": "-40 degC"},
    "60 degC": {"ambient.temperature": "60 degC"},
    "4,000 m": {"ambient.altitude": "4000 m"},
    "methanol": {"fuel.name": "methanol"},
    "no overlap": OVERLAP["none"],
    "100 deg overlap": OVERLAP["100 deg"],
    "turbine nearly shut": {"turbine.area": "40 mm2"},
    "turbine far too large": {"turbine.area": "4000 mm2"},
    "divided, cylinders apart": {"exhaust.collectors": 2, "exhaust.cylinders_to": [[1], [2, 3]]},
    "bench at 8 bar": {},  # built below
}
ANSWERS = ("converged", "boost short", "boost over")


def with_extremes(*names):
    """The base case with some extremes applied."""
    if "bench at 8 bar" in names:
        run = BASE["run"] | {"intake_pressure": "800 kPa", "intake_temperature": "320 K", "exhaust_pressure": "800 kPa"}
        run.pop("boost")
        case = load({"engine": ENGINE, "fuel": BASE["fuel"], "run": run})
        skip = ("turbine.", "wastegate.", "run.boost", "exhaust.")
    else:
        case, skip = load(BASE), ()
    changes = {}
    for name in names:
        changes |= {k: v for k, v in EXTREMES[name].items() if not k.startswith(skip or ("-",))}
    if changes.get("engine.cylinders") in (1, 12):
        changes.pop("exhaust.collectors", None), changes.pop("exhaust.cylinders_to", None)
    return (case.set_all(changes) if changes else case).to_dict()


@pytest.mark.parametrize("name", EXTREMES)
def test_one_extreme_is_answered(name):
    status, wrong, found = judge(with_extremes(name))
    assert not wrong
    assert status in ANSWERS, found and found.warnings


def test_two_extremes_at_once_end_in_a_named_status():
    wrong, ends = [], {}
    for pair in itertools.combinations(EXTREMES, 2):
        ends[pair], complained, _ = judge(with_extremes(*pair))
        wrong += [f"{' and '.join(pair)} ({ends[pair]}): {text}" for text in complained]
    counted = {status: list(ends.values()).count(status) for status in sorted(set(ends.values()))}
    print(counted, [pair for pair, status in ends.items() if status in ("not periodic", "solve error", "refused")])
    assert not wrong, "\n".join(wrong)
    assert "refused" not in counted


def test_a_compressor_past_its_choke_is_no_standing_wheel():
    """Both make no pressure. The choked one turns fast in the stream it holds back, so that its balance may lie below ambient;
    a standing one would be set going by the gas."""
    _status, wrong, found = judge(with_extremes("twelve cylinders"))
    assert not wrong
    assert found.status == "boost short"
    assert found.compressor_pressure_ratio == 1.0
    assert found.boost_pa < -0.1e5
    assert found.shaft_speed_rad_s > 1000.0
    assert any("past the compressor's choke" in text for text in found.warnings)


def test_a_peak_past_the_gas_tables_says_so():
    """Burned gas is tabulated to 250 bar; far above that no gas is perfect either, so the figures are a rough guess."""
    changes = {
        "run.boost": "4 bar", "run.spark_advance": "36 deg", "engine.compression_ratio": 13.0, "wastegate.diameter": "60 mm",
    }  # fmt: skip
    wild, mild = predict(load().set_all(changes)), predict(load())
    assert wild.peak_pressure_pa > 250e5 > mild.peak_pressure_pa
    assert any("tables of burned gas end" in line for line in wild.warnings)
    assert not any("tables of burned gas end" in line for line in mild.warnings)
