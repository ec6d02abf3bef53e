"""The kernels as compiled objects: one signature each, whatever the case."""

import importlib

import pytest
from hotside.sim import load, predict

MODULES = (
    "sim.cycle",
    "sim.closed",
    "sim.zones",
    "sim.exchange",
    "sim.port",
    "sim.films",
    "sim.surroundings",
    "models.flow",
    "models.knock",
)


def kernels():
    """Every compiled function of the march with its module's name."""
    for name in MODULES:
        module = importlib.import_module(f"hotside.{name}")
        for key, value in vars(module).items():
            if hasattr(value, "signatures") and value.py_func.__module__ == module.__name__:
                yield f"{name}.{key}", value


def test_every_kernel_is_compiled_for_one_signature():
    """An int where a float was expected, or a bare literal, would compile the kernel again in silence."""
    demo = load()
    bench = load({**_bench(demo), "title": "bench"})
    for case in (demo, demo.set("wall_heat.model", "woschni"), demo.set("run.speed", "2000 rpm"), bench):
        predict(case)
    called = list(kernels())
    called += [(f"{name} within another", kernel.part) for name, kernel in called]
    many = {name: len(kernel.signatures) for name, kernel in called if len(kernel.signatures) > 1}
    assert not many, f"compiled more than once: {many}"


def _bench(case):
    raw = case.to_dict()
    for section in ("turbine", "wastegate", "compressor", "cooler", "probe", "pressure_tap"):
        raw.pop(section, None)
    raw["run"] = {
        "speed": "3000 rpm",
        "lambda": 1.0,
        "spark_advance": "20 deg",
        "intake_pressure": "100 kPa",
        "intake_temperature": "310 K",
        "exhaust_pressure": "105 kPa",
    }
    return raw


@pytest.mark.parametrize("speed", ["5000 rpm"])
def test_same_case_gives_the_same_bits(speed):
    """Nothing is left over from one point to the next."""
    case = load().set("run.speed", speed)
    first = predict(case).to_dict()
    predict(load().set("run.boost", "0.7 bar"))
    assert predict(case).to_dict() == first
