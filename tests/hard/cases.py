"""Hypothesis strategies for whole valid cases: every section and option of the case file, numbers in any unit.

What must fit together (bore and valves, turbine and displacement) is drawn by hand below. Everything else follows from the
specs of the tree: an optional input is written near its stand-in or anywhere in its allowed range.
"""

import copy
import math
from functools import cache
from pathlib import Path

from chance import chances
from hotside.sim import dotted, load
from hotside.sim.errors import CaseError
from hotside.sim.maps import read_map
from hotside.sim.sections import SPECS
from spelling import between, event, example, quantity, written

EXAMPLES = Path(__file__).resolve().parents[2] / "examples"
BLENDS = (  # volume shares; each composition costs a table, so they are few
    {"gasoline_95": 0.7, "ethanol": 0.3},
    {"isooctane": 0.5, "toluene": 0.3, "n_heptane": 0.2},
    {"methanol": 0.5, "gasoline_93_e10": 0.5},
    {"e98": 0.4, "race_100": 0.6},
)
QUICK = ("gasoline_98", "gasoline_95", "e85", "methanol", "isooctane", BLENDS[0])  # tables other tests need as well
FUELS = (
    "gasoline_98", "gasoline_95", "gasoline_87", "gasoline_91_e10", "race_100", "e85", "e98", "methanol", "ethanol",
    "isooctane", "toluene", "n_heptane", *BLENDS,
)  # fmt: skip
SPRAYED = ("gasoline_98", "gasoline_95")  # with alcohol in what is sprayed: every 10 % of it in the fuel costs a table
SMALL = (1, 1, 2, 2, 3, 3, 4, 4, 4, 5, 6, 8, 12)
COUNTS = (*SMALL, 7, 9, 10, 11, 12, 13, 14, 15, 16)
BENCH, HELD, TURBO = "bench", "held", "turbo"
BY_HAND = {  # drawn below, or in pairs that exclude each other
    "title",
    "engine.cylinders",
    "engine.firing_order",
    "engine.firing_intervals",
    "engine.bore",
    "engine.stroke",
    "engine.compression_ratio",
    "engine.intake_valve.discharge_table",
    "engine.exhaust_valve.discharge_table",
    "fuel.name",
    "fuel.blend",
    "burn.ca50",
    "burn.table",
    "burn.duration_10_90",
    "burn.model",
    "exhaust.collectors",
    "exhaust.cylinders_to",
    "turbine.model",
    "turbine.area",
    "turbine.a_over_r",
    "turbine.throat_area",
    "turbine.curve",
    "turbine.map",
    "compressor.map",
    "compressor.model",
    "turbine.reference_pressure",
    "turbine.reference_temperature",
    "turbine.wheel_inlet_diameter",
    "wastegate.diameter",
    "wastegate.area",
    "run.speed",
    "run.boost",
    "run.lambda",
    "run.afr",
    "run.afr_scale",
    "run.spark_advance",
    "run.held_backpressure",
    "run.intake_pressure",
    "run.intake_temperature",
    "run.exhaust_pressure",
    "cylinder.N.number",
    "cylinder.N.air",
    "cylinder.N.fuel",
    "cylinder.N.spark",
    "pressure_tap.cylinder",
} | {
    f"engine.{side}_valve.{k}"
    for side in ("intake", "exhaust")
    for k in ("count", "diameter", "lift", "opens", "closes")
}
BY_HAND |= {name for name in SPECS if name.startswith("probe.")}  # fmt: skip
PROBE_KEYS = [name.split(".")[2] for name in SPECS if name.startswith("probe.N.") and name != "probe.N.cylinder"]
OPTIONAL = [name for name in SPECS if name not in BY_HAND]
TURBO_ONLY = ("turbine.", "wastegate.", "compressor.", "cooler.")
FITTED = ("flange.", "boss.")  # sizes that must fit each other: only near the stand-ins
APART = (  # any two of these fix the third, and any of those excludes the others
    {"exhaust.runner_volume", "exhaust.runner_length", "exhaust.runner_diameter"},
)
ALONE = (
    *({name, rival} for name, rivals in dotted.RIVALS.items() for rival in rivals if rival != "fuel.octane"),
    {"flange.paste", "flange.lubrication"},
)


# ---------------------------------------------------------------------------------------------------- drawn by hand


def valve(draw, side, bore):
    """Head, lift and events of one side: from no overlap to more than 100 degrees of it, seldom nearly shut."""
    count = draw.pick((2, 1, 3, 4))
    widest = 0.72 * bore / math.sqrt(count) if count > 1 else 0.46 * bore
    size = widest * between(draw, 0.7, 1.0) * (1.0 if side == "intake" else 0.87)
    early, late = ("opens", "closes") if side == "intake" else ("closes", "opens")
    # about gas-exchange dead centre, and about the dead centre at the bottom
    middle = {"opens": 360.0 - between(draw, -20.0, 60.0), "closes": 360.0 + between(draw, -25.0, 60.0)}[early]
    bottom = 540.0 + between(draw, 15.0, 85.0) if side == "intake" else 180.0 - between(draw, 20.0, 85.0)
    events = {early: middle, late: bottom}
    found = {
        "count": count,
        "diameter": quantity(draw, "length", size),
        "lift": quantity(draw, "length", size * between(draw, 0.15, 0.38)),
        **{name: event(draw, events[name], side) for name in ("opens", "closes")},
    }
    if draw.likely(0.15):
        rows = [0.0, 0.08, 0.17, 0.30]
        found["discharge_table"] = [[x, round(between(draw, 0.3, 0.9), 3)] for x in rows]
    return found


def engine(draw, counts):
    """A motor from a single upwards, even or uneven in its firing."""
    bore = between(draw, 0.045, 0.115)
    n = draw.pick(counts)
    stroke = bore * between(draw, 0.7, 1.35)
    found = {
        "cylinders": n,
        "bore": quantity(draw, "length", bore),
        "stroke": quantity(draw, "length", stroke),
        "compression_ratio": round(between(draw, 6.0, 14.0), 2),
        "intake_valve": valve(draw, "intake", bore),
        "exhaust_valve": valve(draw, "exhaust", bore),
    }
    if n > 1 and draw.likely(0.15):
        found["firing_order"] = draw.order(range(1, n + 1))
    if n > 1 and draw.likely(0.15):
        shares = [0.1 + draw.share() for _ in range(n)]
        gaps = [round(720.0 * x / sum(shares), 6) for x in shares[:-1]]
        found["firing_intervals"] = [f"{gap!r} deg" for gap in [*gaps, 720.0 - sum(gaps)]]
    return found, bore, stroke


def operating(draw, stroke):
    """Speed, mixture, spark: 500 to 12,000 rpm as far as the piston allows, lambda 0.6 to 1.4, spark far early to far late."""
    fastest = min(12000.0, 26.0 / (2.0 * stroke) * 60.0)
    speed = between(draw, 500.0, fastest, True) * math.pi / 30.0
    mixture = round(between(draw, 0.6, 1.4), 4)
    found = {"speed": quantity(draw, "rotation", speed)}
    if draw.likely(0.2):
        found |= {"afr": round(14.7 * mixture, 4), "afr_scale": "petrol"}
    else:
        found["lambda"] = mixture
    found["spark_advance"] = written(draw, SPECS["run.spark_advance"], -20.0, 45.0)
    return found


def plenums(draw):
    """What a bench case breathes between, from hard throttling to a choked exhaust."""
    intake = between(draw, 20e3, 500e3, True)
    exhaust = min(max(intake * between(draw, 0.3, 3.0, True), 12e3), 1100e3)
    return {
        "intake_pressure": quantity(draw, "pressure_absolute", intake),
        "intake_temperature": written(draw, SPECS["run.intake_temperature"], 240.0, 420.0),
        "exhaust_pressure": quantity(draw, "pressure_absolute", exhaust),
    }


def turbine(draw, litres):
    """A housing from nearly shut to far too large, by its area, by its hardware or by its curve."""
    wheel = min(max(0.05 * math.sqrt(litres / 1.8) * between(draw, 0.6, 1.6), 0.022), 0.22)
    area = min(max(330e-6 * litres * draw.pick((1.0, 1.0, 2.0, 0.5, 0.25, 4.0)), 25e-6), 15000e-6)
    model = draw.pick(SPECS["turbine.model"].choices)
    found = {"model": model, "wheel_inlet_diameter": quantity(draw, "length", wheel)}
    if model == "area":
        return found | {"area": quantity(draw, "area", area)}
    if model == "hardware":
        if draw.likely(0.5):
            return found | {"throat_area": quantity(draw, "area", 1.3 * area)}
        return found | {"a_over_r": quantity(draw, "length", min(max(1.3 * area / (0.8 * wheel), 1.6e-3), 0.079))}
    if model == "map":
        return found | {"map": scaled_map("housings/turbine_56_small.csv", area / 600e-6, wheel / 0.056)}
    assert model == "curve", f"teach tests/hard/cases.py the turbine model {model}"
    temperature, pressure = between(draw, 280.0, 1100.0), between(draw, 90e3, 120e3)
    scale = area * pressure / math.sqrt(287.0 * temperature)
    flows = [scale * x for x in (0.34, 0.52, 0.62, 0.66, 0.68, 0.685)]
    return found | {
        "curve": [[x, f"{y:.8f} kg/s"] for x, y in zip((1.1, 1.3, 1.6, 2.0, 2.5, 3.0), flows, strict=True)],
        "reference_pressure": quantity(draw, "pressure_absolute", pressure),
        "reference_temperature": quantity(draw, "temperature", temperature),
    }


@cache
def _map(name):
    return read_map(EXAMPLES / name, "turbine.map" if "turbine" in name else "compressor.map")


def scaled_map(name, factor, wheel):
    """A map of the examples for a machine that passes so many times as much, its wheel so many times as large and as much slower."""
    table = copy.deepcopy(_map(name))
    for point in table["points"]:
        k = next(k for k, cell in enumerate(point) if isinstance(cell, str) and "rad/s" in cell)
        point[k] = f"{float(point[k].split()[0]) / wheel:.8g} rad/s"
        k = next(k for k, cell in enumerate(point) if isinstance(cell, str) and "kg/s" in cell)
        point[k] = f"{factor * float(point[k].split()[0]):.8g} kg/s"
    return table


def compressor(draw, litres):
    """The wheel, a measured map that suits the engine more or less, or one efficiency."""
    model = draw.pick(SPECS["compressor.model"].choices)
    found = {"model": model}
    if model == "map":
        factor = 0.5 * litres * draw.pick((1.0, 2.0, 0.5))
        size = min(max(factor, 0.2), 9.0) ** 0.5
        found |= {
            "map": scaled_map("compressor_58.csv", factor, size),
            "wheel_diameter": f"{58.0 * size:.2f} mm",
        }
    return found


def wastegate(draw, litres):
    """From none to a bypass larger than the turbine."""
    size = min(0.02 * math.sqrt(litres) * draw.pick((1.0, 1.5, 2.5, 0.5, 0.0)), 0.0999)
    if draw.likely(0.5):
        return {"area": quantity(draw, "area", math.pi / 4.0 * size**2)}
    return {"diameter": quantity(draw, "length", size)}


def sprayed(draw, case):
    """The case, now and then with alcohol in the water that is sprayed in: inputs of which none is of use alone."""
    if case["fuel"].get("name") not in SPRAYED or not draw.likely(0.25):
        return case
    kept = {k: v for k, v in case.get("injection", {}).items() if k in ("temperature", "evaporation_share")}
    amount = draw.pick(("alcohol_by_volume", "alcohol_by_mass"))
    tried = case | {
        "injection": kept
        | {
            "alcohol": draw.pick(("methanol", "ethanol")),
            amount: written(draw, SPECS[f"injection.{amount}"], 0.05, 0.9),
            "share": written(draw, SPECS["injection.share"], 0.02, 0.6),
        }
    }
    return tried if _is_valid(tried) else case


def departures(draw, n):
    """Cylinders that are not like the others."""
    numbers = draw.some(range(1, n + 1), 3)
    return [
        {
            "number": k,
            "air": written(draw, SPECS["cylinder.N.air"], -0.15, 0.15),
            "fuel": written(draw, SPECS["cylinder.N.fuel"], -0.2, 0.2),
            "spark": written(draw, SPECS["cylinder.N.spark"], -10.0, 10.0),
        }
        for k in numbers
    ]


def places(n, collectors):
    """Where a gauge may stand."""
    return ("collector", *range(1, n + 1), *[f"collector {k}" for k in range(1, collectors + 1)])


def probe(draw, n, collectors):
    """One exhaust probe with some of its inputs."""
    found = {"cylinder": draw.pick(places(n, collectors))}
    for key in PROBE_KEYS:
        if draw.likely(0.4):
            most = 0.012 if key == "immersion" else None  # short enough for any pipe
            found[key] = written(draw, SPECS[f"probe.N.{key}"], None, most, logarithmic=True)
    return found


def burned(draw):
    """What is burned against crank angle, in as uneven steps as a measured trace may give."""
    angle, x, rows = between(draw, -60.0, 20.0), 0.0, []
    while x < 1.0 and angle < 150.0:
        rows.append([f"{angle!r} deg", x])
        angle, x = angle + between(draw, 0.1, 12.0), min(x + between(draw, 0.0, 0.3), 1.0)
    return [*rows, [f"{angle + 1.0!r} deg", max(x, 0.6)]]


# ---------------------------------------------------------------------------------------------------- a whole case


def case_from(draw, fuels=QUICK, counts=SMALL, kinds=(TURBO, TURBO, TURBO, BENCH, HELD)):
    """One valid case as a nested dict, as a person could write it."""
    kind = draw.pick(kinds)
    motor, bore, stroke = engine(draw, counts)
    n = motor["cylinders"]
    litres = n * math.pi / 4.0 * bore**2 * stroke * 1e3
    chosen = draw.pick(fuels)
    case = {
        "engine": motor,
        "fuel": {"name": chosen} if isinstance(chosen, str) else {"blend": chosen},
        "run": operating(draw, stroke),
    }
    collectors = 1
    if kind == BENCH:
        case["run"] |= plenums(draw)
    else:
        collectors = around(draw, case, kind, litres)
    if n > 1 and draw.likely(0.25):
        case["cylinder"] = departures(draw, n)
    if draw.likely(0.3):
        case["probe"] = [probe(draw, n, collectors) for _ in range(draw.pick(range(3)))]
    if draw.likely(0.2):
        case["burn"] = {
            "model": "imposed",
            "ca50": written(draw, SPECS["burn.ca50"], 0.0, 50.0),
            "duration_10_90": written(draw, SPECS["burn.duration_10_90"], 10.0, 80.0),
        }
    elif draw.likely(0.05):
        case["burn"] = {"model": "table", "table": burned(draw)}
    if draw.likely(0.5):
        case["title"] = written(draw, SPECS["title"])
    return sprayed(draw, with_options(draw, case, kind))


def cases(**how):
    """A strategy for whole cases; `how` goes to `case_from`."""
    return chances().map(lambda draw: case_from(draw, **how))


def around(draw, case, kind, litres):
    """Turbo, wastegate, boost and manifold of a case that is no bench; returns the number of collectors."""
    n = case["engine"]["cylinders"]
    case["turbine"], case["wastegate"] = turbine(draw, litres), wastegate(draw, litres)
    if draw.likely(0.5):
        case["compressor"] = compressor(draw, litres)
    boost = draw.pick((1.0, 1.0, 0.4, 0.0)) * between(draw, 0.0, 4e5)
    case["run"]["boost"] = quantity(draw, "pressure_gauge", boost)
    if kind == HELD:
        held = min(boost * between(draw, 0.4, 3.0), 9.9e5)
        case["run"]["held_backpressure"] = quantity(draw, "pressure_gauge", held)
    if n == 1 or not draw.likely(0.35):
        return 1
    case["exhaust"] = {"collectors": 2}
    if draw.likely(0.5):
        order, cut = draw.order(range(1, n + 1)), draw.pick(range(1, n))
        case["exhaust"]["cylinders_to"] = [sorted(order[:cut]), sorted(order[cut:])]
    return 2


def with_options(draw, case, kind):
    """The case with some of all the inputs that it could give as well."""
    names = [name for name in OPTIONAL if kind != BENCH or not name.startswith(TURBO_ONLY)]
    chosen = draw.some(names, 12)
    if not chosen:
        return case
    try:
        filled = load(case)
    except CaseError:
        return case  # the judge will say why
    wild = draw.likely(0.5)
    options = [(n, written(draw, SPECS[n], *bounds(n, filled, wild))) for n in chosen]
    tried = _with_all(case, options)
    return tried if _is_valid(tried) else _with_those_that_fit(case, options)


def _with_all(case, options):
    """A copy of the case with every option that may stand beside the others."""
    tried = copy.deepcopy(case)
    for name, value in options:
        if _may(tried, name):
            _put(tried, name, value)
    return tried


def _with_those_that_fit(case, options):
    """The same one by one, without those that contradict what is there: the tree knows more rules than this file."""
    for option in options:
        tried = _with_all(case, [option])
        case = tried if _is_valid(tried) else case
    return case


def _is_valid(case):
    try:
        load(case)
    except CaseError:
        return False
    return True


def _may(case, name):
    """Whether an input may stand beside what is written already."""
    there = {n for n in SPECS if "N" not in n.split(".") and _holds(case, n)}
    if any(name in group and there & (group - {name}) for group in ALONE):
        return False
    return not any(name in group and len(there & group) >= 2 for group in APART)


def _holds(case, name):
    value = case
    for part in name.split("."):
        if not isinstance(value, dict) or part not in value:
            return False
        value = value[part]
    return True


def bounds(name, filled, wild):
    """Between what an optional input is drawn [SI]; None leaves the bounds to the spec."""
    spec = SPECS[name]
    if spec.low is None or spec.kind == "octane":
        return None, None
    if name.endswith("at_lift"):
        valve_of = getattr(filled.engine, name.split(".")[1])
        return 0.0, 0.4 * valve_of.lift
    usual = _stand_in(filled, name)
    if usual is None or (wild and not name.startswith(FITTED)):
        low, high = spec.low, spec.high
    elif usual == 0.0:
        low, high = spec.low, spec.low + 0.3 * (spec.high - spec.low)
    else:
        spread = 0.05 if name.startswith(FITTED) or spec.kind == "temperature" else 0.4
        low, high = sorted(((1.0 - spread) * usual, (1.0 + spread) * usual))
    if name == "engine.rod_length":
        low = max(low, 1.06 * filled.engine.stroke)
    if name in ("turbine.wheel_outlet_diameter", "turbine.hub_diameter") and wild:
        high = min(high, (1.15 if "wheel" in name else 0.55) * filled.turbine.wheel_inlet_diameter)
    low = max(low, spec.low)
    return low, max(min(high, spec.high), low)


def _stand_in(filled, name):
    found = None if ".N." in name else filled.get(name)
    if found is None and name.startswith(FITTED):
        found = _fitted().get(name)
    return found if isinstance(found, float | int) and math.isfinite(found) else None


@cache
def _fitted():
    """A whole flange and a boss, for inputs of sections that the case has not."""
    made = load().set_all(
        {"flange.thread": "M10", "flange.washers.nested": 1, "flange.gasket.thickness": "1.2 mm", "boss.wall": "3 mm",
         "flange.adapter.wrench_length": "300 mm", "flange.adapter.extension": "40 mm", "boss.inner_diameter": "40 mm"}
    )  # fmt: skip
    return {name: made.get(name) for name in SPECS if name.startswith(FITTED)}


def _put(case, name, value):
    """Write a value under its dotted name, with whatever else its table needs."""
    path, key = name.rsplit(".", 1)
    table = _table(case, path.split("."))
    for other, spec in SPECS.items():
        if other.startswith(path + ".") and "." not in other[len(path) + 1 :] and spec.need == "given":
            table.setdefault(other.rsplit(".", 1)[1], example(spec))
    table[key] = value
    if name == "flange.paste":
        table["lubrication"] = "pasted"


def _table(case, path):
    for part, after in zip(path, [*path[1:], ""], strict=True):
        if part != "N":
            case = case.setdefault(part, [{}] if after == "N" else {})
        else:
            if not case:  # a case may list none of them
                case.append({})
            case = case[0]
    return case


def names_in(case):
    """Dotted names of the inputs that a case gives, N for the number of a table that repeats."""
    return set(_names(case, ""))


def _names(table, prefix):
    for key, value in table.items():
        name = prefix + key
        if name in SPECS:
            yield name
        elif isinstance(value, dict):
            yield from _names(value, name + ".")
        elif isinstance(value, list):
            for item in value:
                yield from _names(item, name + ".N.")
