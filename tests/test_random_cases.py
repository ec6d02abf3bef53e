"""Random valid cases over the whole case space: each is answered, or ends in a named and explained status.

Nothing else is promised here: no trend, no figure. What is promised: no traceback, no figure that is not finite, no hang,
books that close where the answer repeats itself, and a sentence where it does not.
"""

import math
import time
from collections import Counter

import numpy as np
import pytest
from hotside.sim import load, predict
from hotside.sim.errors import CaseError
from hotside.sim.steady import STATUS, SolveError

FUELS = ("gasoline_98", "gasoline_95", "e85", "methanol", "ethanol", "isooctane")
CHATTER = (319,)  # healthy engines with far too large a turbo at low speed: expected failures of their own
LONGEST = 5.0  # a point may take [s], tables and kernels being there


def valves(rng, bore):
    """Cam and valves: from no overlap at all to more than 100 degrees of it."""
    count = int(rng.integers(1, 3))
    intake = bore * rng.uniform(0.32, 0.40) * (1.0 if count == 2 else 1.15)
    exhaust = intake * rng.uniform(0.8, 0.95)
    return {
        "intake_valve": {
            "count": count,
            "diameter": f"{intake:.2f} mm",
            "lift": f"{intake * rng.uniform(0.2, 0.38):.2f} mm",
            "opens": f"{rng.uniform(-20.0, 55.0):.1f} deg BTDC",
            "closes": f"{rng.uniform(25.0, 80.0):.1f} deg ABDC",
            "at_lift": f"{rng.choice([0.0, 0.2, 1.0])} mm",
        },
        "exhaust_valve": {
            "count": count,
            "diameter": f"{exhaust:.2f} mm",
            "lift": f"{exhaust * rng.uniform(0.2, 0.38):.2f} mm",
            "opens": f"{rng.uniform(25.0, 80.0):.1f} deg BBDC",
            "closes": f"{rng.uniform(-20.0, 50.0):.1f} deg ATDC",
            "at_lift": f"{rng.choice([0.0, 0.2, 1.0])} mm",
        },
    }


def signed(text):
    """A cam angle without a minus sign: -5 deg BTDC is 5 deg ATDC."""
    number, unit, mark = text.split()
    if float(number) >= 0.0:
        return text
    return f"{-float(number):.1f} {unit} " + {"BTDC": "ATDC", "ATDC": "BTDC"}[mark]


def engine(rng):
    """A motor from a single to a twelve."""
    bore = rng.uniform(50.0, 110.0)
    part = {
        "cylinders": int(rng.integers(1, 13)),
        "bore": f"{bore:.1f} mm",
        "stroke": f"{bore * rng.uniform(0.7, 1.3):.1f} mm",
        "compression_ratio": round(float(rng.uniform(6.5, 14.0)), 2),
        **valves(rng, bore),
    }
    for side, event in (("intake_valve", "opens"), ("exhaust_valve", "closes")):
        part[side][event] = signed(part[side][event])
    if rng.random() < 0.3:
        part["blow_by_area"] = f"{rng.uniform(0.1, 2.0):.2f} mm2"
    if rng.random() < 0.15 and part["cylinders"] > 1:
        cut = np.sort(rng.uniform(0.0, 720.0, part["cylinders"] - 1))
        gaps = np.diff(np.concatenate(([0.0], cut, [720.0])))
        part["firing_intervals"] = [f"{gap:.9f} deg" for gap in gaps]
    return part


def turbo(rng, case, litres):
    """Turbine from nearly shut to far too large, wastegate from none to huge, and what else a turbo case holds."""
    wheel = 50.0 * math.sqrt(litres / 1.8) * rng.uniform(0.6, 1.6)
    wheel = min(max(wheel, 22.0), 230.0)
    size = litres * rng.choice([0.25, 1.0, 1.0, 1.0, 2.0, 4.0])
    kind = rng.choice(["area", "hardware", "curve"])
    turbine = {"model": str(kind), "wheel_inlet_diameter": f"{wheel:.1f} mm"}
    area = min(max(330.0 * size, 25.0), 15000.0)
    if kind == "area":
        turbine["area"] = f"{area:.1f} mm2"
    elif kind == "hardware":
        turbine["throat_area"] = f"{1.3 * area:.1f} mm2"
    else:
        ratio = [1.1, 1.3, 1.6, 2.0, 2.5, 3.0]
        flow = [area * 1e-6 * 101325.0 / math.sqrt(287.0 * 288.0) * x for x in (0.34, 0.52, 0.62, 0.66, 0.68, 0.685)]
        turbine |= {
            "curve": [[a, f"{b:.7f} kg/s"] for a, b in zip(ratio, flow, strict=True)],
            "reference_pressure": "101.325 kPa",
            "reference_temperature": "288 K",
        }
    case["turbine"] = turbine
    case["wastegate"] = {"diameter": f"{rng.choice([0.0, 0.4, 0.7, 1.0]) * wheel * 0.7:.1f} mm"}
    case["compressor"] = {"model": "constant", "efficiency": round(float(rng.uniform(0.5, 0.8)), 3)}
    case["cooler"] = {"effectiveness": round(float(rng.uniform(0.0, 0.9)), 3)}
    boost = 0.0 if rng.random() < 0.05 else rng.uniform(0.0, 4.0) * rng.choice([0.4, 1.0])
    case["run"]["boost"] = f"{boost:.3f} bar"
    if rng.random() < 0.15:
        case["run"]["held_backpressure"] = f"{boost * rng.uniform(0.4, 3.0):.3f} bar"
    if case["engine"]["cylinders"] > 1 and rng.random() < 0.35:
        case["exhaust"] = {"collectors": 2}


def departures(rng, case):
    """Now and then a cylinder that is not like the others."""
    if rng.random() < 0.25:
        n = case["engine"]["cylinders"]
        case["cylinder"] = [
            {
                "number": int(rng.integers(1, n + 1)),
                "fuel": round(float(rng.uniform(-0.2, 0.2)), 3),
                "air": round(float(rng.uniform(-0.15, 0.15)), 3),
                "spark": f"{rng.uniform(-10.0, 10.0):.1f} deg",
            }
        ]


def random_case(seed):
    """One valid case as a nested dict; the seed alone tells which."""
    rng = np.random.default_rng(seed)
    motor = engine(rng)
    bore, stroke = (float(motor[x].split()[0]) for x in ("bore", "stroke"))
    litres = motor["cylinders"] * math.pi / 4.0 * bore**2 * stroke * 1e-6
    fastest = min(12000.0, 24.0 / (2.0 * stroke * 1e-3) * 60.0)
    case = {
        "engine": motor,
        "fuel": {"name": str(rng.choice(FUELS))},
        "wall_heat": {"model": str(rng.choice(["woschni", "hohenberg", "annand"]))},
        "friction": {"model": str(rng.choice(["chen_flynn", "patton", "sandoval"]))},
        "knock": {"window_end": str(rng.choice(["ca90", "evo"]))},
        "run": {
            "speed": f"{500.0 * (fastest / 500.0) ** rng.random():.1f} rpm",
            "lambda": round(float(rng.uniform(0.6, 1.4)), 3),
            "spark_advance": f"{rng.uniform(-20.0, 45.0):.1f} deg",
        },
    }
    if case["run"]["spark_advance"].startswith("-"):
        case["run"]["spark_advance"] = case["run"]["spark_advance"][1:] + " ATDC"
    if rng.random() < 0.2:
        case["burn"] = {
            "model": "imposed",
            "ca50": f"{rng.uniform(0.0, 50.0):.1f} deg ATDC",
            "duration_10_90": f"{rng.uniform(10.0, 80.0):.1f} deg",
        }
    if rng.random() < 0.2:
        intake = 10 ** rng.uniform(math.log10(20.0), math.log10(500.0))
        case["run"] |= {
            "intake_pressure": f"{intake:.1f} kPa",
            "intake_temperature": f"{rng.uniform(240.0, 400.0):.1f} K",
            "exhaust_pressure": f"{min(max(intake * rng.uniform(0.3, 3.0), 12.0), 1100.0):.1f} kPa",
        }
    else:
        turbo(rng, case, litres)
        case["ambient"] = {
            "altitude": f"{rng.uniform(0.0, 4000.0):.0f} m",
            "temperature": f"{rng.uniform(-40.0, 60.0):.1f} degC",
            "relative_humidity": round(float(rng.uniform(0.0, 1.0)), 2),
        }
    departures(rng, case)
    return case


def unfinite(value, name=""):
    """Dotted names of figures that are not finite, anywhere in a nested result."""
    if isinstance(value, dict):
        return [n for k, v in value.items() for n in unfinite(v, f"{name}.{k}")]
    if isinstance(value, list):
        return [n for i, v in enumerate(value) for n in unfinite(v, f"{name}.{i}")]
    if isinstance(value, float) and not math.isfinite(value):
        return [name]
    return []


def one_sentence(text):
    """Whether a refusal is a sentence a person can read."""
    return text.strip().endswith(".") and "\n" not in text and "Traceback" not in text and len(text) > 30


def judge(seed):
    """How one case ended, and what is wrong with that ending (nothing, it is hoped)."""
    case = random_case(seed)
    try:
        built = load(case)
    except CaseError as error:
        return "refused", [] if one_sentence(str(error)) else [f"refusal is no sentence: {error}"]
    begun = time.perf_counter()
    try:
        found = predict(built)
    except SolveError as error:
        return "solve error", [] if one_sentence(str(error)) else [f"refusal is no sentence: {error}"]
    except Exception as error:  # a traceback is just what is looked for
        return "traceback", [f"{type(error).__name__}: {error}"]
    taken = time.perf_counter() - begun
    return found.status, complaints(found, taken, "blow_by_area" in case["engine"])


def complaints(found, taken, leaky):
    """What a user would not accept in a result; `leaky` where gas blows by, whose fuel is a bug with a test of its own."""
    wrong = [
        f"{name} is not finite" for name in unfinite(found.to_dict()) if found.fuel_flow_kg_s > 0.0 or name != ".afr"
    ]
    if taken > LONGEST:
        wrong.append(f"took {taken:.1f} s")
    if found.status not in STATUS.values():
        wrong.append(f"unknown status {found.status}")
    if found.status != "converged" and not found.warnings:
        wrong.append(f"{found.status} without a sentence")
    if found.converged:
        if found.mass_closure > 1e-6:
            wrong.append(f"mass closure {found.mass_closure:.1e}")
        if found.energy_closure > 1e-3:
            wrong.append(f"energy closure {found.energy_closure:.1e}")
        wrong += [text for text in impossible(found) if not (leaky and text.startswith("energy_unburned"))]
    return wrong


def impossible(found):
    """Figures that cannot be, whatever the case."""
    bounds = {
        "residual_fraction": (0.0, 1.0),
        "air_flow_kg_s": (0.0, 20.0),
        "fuel_flow_kg_s": (0.0, 2.0),
        "exhaust_temperature_k": (200.0, 2600.0),
        "peak_pressure_pa": (1e4, 6e7),
        "energy_unburned": (-1e-6, 1.001),
        "fmep_pa": (0.0, 2e6),
    }
    wrong = [
        f"{n} = {getattr(found, n):.4g}" for n, (low, high) in bounds.items() if not low <= getattr(found, n) <= high
    ]
    for name in ("wastegate_opening", "turbine_choked_share", "turbine_efficiency"):
        value = getattr(found, name)
        if value is not None and not -1e-9 <= value <= 1.0 + 1e-9:
            wrong.append(f"{name} = {value:.4g}")
    return wrong


def run_all(seeds):
    """Tally of endings and every complaint with its seed."""
    tally, wrong = Counter(), []
    for seed in seeds:
        status, complained = judge(seed)
        tally[status] += 1
        wrong += [f"seed {seed} ({status}): {text}" for text in complained]
    print(dict(tally))
    return tally, wrong


@pytest.fixture(scope="module", autouse=True)
def warm():
    """Tables and kernels built beforehand, so that the clock sees the solution alone."""
    for fuel in FUELS:
        predict(load().set("fuel.name", fuel))


def test_sixty_random_cases():
    tally, wrong = run_all(range(60))
    assert not wrong, "\n".join(wrong)
    assert tally["refused"] <= 6, "the generator is to make valid cases"
    assert tally["converged"] + tally["boost short"] + tally["boost over"] > 40


def healthy_case(seed):
    """An engine as people build them, at full load: nothing in it is out of the ordinary."""
    rng = np.random.default_rng(seed)
    n, bore = int(rng.integers(2, 9)), rng.uniform(66.0, 95.0)
    stroke = bore * rng.uniform(0.85, 1.15)
    litres = n * math.pi / 4.0 * bore**2 * stroke * 1e-6
    head, wheel = bore * rng.uniform(0.36, 0.40), 50.0 * math.sqrt(litres / 1.8)

    def valve(diameter, opens, closes):
        a, b = rng.uniform(0.0, 25.0), rng.uniform(35.0, 65.0)
        early, late = (a, b) if opens == "BTDC" else (b, a)
        return {
            "count": 2,
            "diameter": f"{diameter:.2f} mm",
            "lift": f"{head * rng.uniform(0.25, 0.32):.2f} mm",
            "opens": f"{early:.1f} deg {opens}",
            "closes": f"{late:.1f} deg {closes}",
            "at_lift": "0.2 mm",
        }

    return {
        "engine": {
            "cylinders": n,
            "bore": f"{bore:.1f} mm",
            "stroke": f"{stroke:.1f} mm",
            "compression_ratio": round(float(rng.uniform(8.0, 10.5)), 2),
            "intake_valve": valve(head, "BTDC", "ABDC"),
            "exhaust_valve": valve(0.86 * head, "BBDC", "ATDC"),
        },
        "fuel": {"name": "gasoline_98"},
        "turbine": {
            "model": "hardware",
            "throat_area": f"{255.0 * litres * rng.uniform(0.7, 1.6):.1f} mm2",
            "wheel_inlet_diameter": f"{wheel:.1f} mm",
        },
        "wastegate": {"diameter": f"{wheel * rng.uniform(0.4, 0.8):.1f} mm"},
        "compressor": {"efficiency_peak": round(float(rng.uniform(0.65, 0.76)), 3)},
        "exhaust": {"collectors": int(rng.integers(1, 3))},
        "run": {
            "speed": f"{rng.uniform(1000.0, 7500.0):.1f} rpm",
            "boost": f"{rng.uniform(0.2, 2.0):.3f} bar",
            "lambda": round(float(rng.uniform(0.75, 1.05)), 3),
            "spark_advance": f"{rng.uniform(3.0, 28.0):.1f} deg",
        },
    }


@pytest.fixture(scope="module")
def healthy():
    """How four hundred healthy points ended, by seed."""
    ends = {}
    for seed in range(400):
        try:
            ends[seed] = predict(load(healthy_case(seed)))
        except SolveError as error:
            ends[seed] = error
    return ends


def test_healthy_engines_are_answered(healthy):
    """An ordinary engine at full load never leaves the range of physical states."""
    broken = [seed for seed, end in healthy.items() if isinstance(end, SolveError)]
    assert not broken


def test_healthy_engines_repeat_themselves(healthy):
    """An ordinary engine at full load settles: converged, boost short or boost over, and its books close."""
    found = {seed: end for seed, end in healthy.items() if not isinstance(end, SolveError)}
    restless = [seed for seed, end in found.items() if not end.converged and seed not in CHATTER]
    open_books = [seed for seed, end in found.items() if end.converged and end.mass_closure > 1e-6]
    assert not restless, f"not periodic: {restless}"
    assert not open_books, f"mass closure above 1e-6: {open_books}"


@pytest.mark.xfail(
    strict=True,
    reason="at next to no boost the turbine's own spin holds its flow back; the flow starts and stops within the cycle and "
    "cycles repeat only to a ten-thousandth",
)
@pytest.mark.parametrize("seed", CHATTER)
def test_a_spinning_turbine_that_passes_next_to_nothing_settles(healthy, seed):
    assert healthy[seed].converged


@pytest.mark.slow
def test_two_thousand_random_cases():
    tally, wrong = run_all(range(1000, 3000))
    assert not wrong, "\n".join(wrong)
    assert tally["refused"] <= 200
