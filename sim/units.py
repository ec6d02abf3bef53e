"""Numbers with units at the edge: text such as "18 psi" or "15 deg BTDC" to SI floats, and back for reading.

The list of units is closed and ours: a general units library reads `cfm` as centi-femto-metres without a word. Each
kind of quantity accepts only units of its own dimension. pint, loaded only when a text is not on the list, reads
compounds of the same units ("1.2 kg/min/m^2"), in a registry that knows no prefixes and no other unit.
"""

import math
import re
from functools import lru_cache
from typing import Any


class UnitError(ValueError):
    """A text that is not a quantity of the asked kind; the message is a clause without the input's name."""


INCH, FOOT, POUND, GRAVITY = 0.0254, 0.3048, 0.45359237, 9.80665
POUND_FORCE = POUND * GRAVITY
PSI = POUND_FORCE / INCH**2
MMHG = 101325.0 / 760.0
INHG = 25.4 * MMHG
HORSEPOWER = 550.0 * FOOT * POUND_FORCE
METRIC_HORSEPOWER = 75.0 * GRAVITY
RPM = math.pi / 30.0
PETROL_DENSITY = 720.0  # [kg/m3] turns lb/hr into cc/min (1 to 10.5) as the injector trade does; common practice

# kind -> spelling -> SI units in one; the first spelling is the one proposed. Angles stay in degrees in the whole tree.
UNITS: dict[str, dict[str, float]] = {
    "length": {
        "mm": 1e-3, "cm": 1e-2, "m": 1.0, "in": INCH, "inch": INCH, "inches": INCH, '"': INCH, "ft": FOOT,
        "thou": INCH / 1000.0,
    },
    "area": {
        "mm2": 1e-6, "mm^2": 1e-6, "mm²": 1e-6, "cm2": 1e-4, "cm^2": 1e-4, "cm²": 1e-4, "m2": 1.0, "m^2": 1.0,
        "m²": 1.0, "in2": INCH**2, "in^2": INCH**2, "in²": INCH**2, "sq in": INCH**2,
    },
    "volume": {
        "cc": 1e-6, "cm3": 1e-6, "cm^3": 1e-6, "cm³": 1e-6, "ml": 1e-6, "l": 1e-3, "L": 1e-3, "litre": 1e-3,
        "liter": 1e-3, "m3": 1.0, "m^3": 1.0, "m³": 1.0, "in3": INCH**3, "in^3": INCH**3, "cu in": INCH**3,
    },
    "angle": {"deg": 1.0, "degree": 1.0, "degrees": 1.0, "°": 1.0, "rad": 180.0 / math.pi},
    "pressure": {
        "bar": 1e5, "psi": PSI, "kPa": 1e3, "PSI": PSI, "Pa": 1.0, "hPa": 100.0, "MPa": 1e6, "mbar": 100.0,
        "atm": 101325.0, "inHg": INHG, "mmHg": MMHG, "lbf/in2": PSI, "kgf/cm2": GRAVITY * 1e4,
    },
    "mass": {"kg": 1.0, "g": 1e-3, "lb": POUND},
    "mass_flow": {
        "kg/s": 1.0, "g/s": 1e-3, "kg/min": 1.0 / 60.0, "kg/h": 1.0 / 3600.0, "kg/hr": 1.0 / 3600.0,
        "lb/min": POUND / 60.0, "lb/s": POUND, "lb/hr": POUND / 3600.0, "lb/h": POUND / 3600.0,
    },
    "volume_flow": {
        "cc/min": 1e-6 / 60.0, "l/h": 1e-3 / 3600.0, "l/hr": 1e-3 / 3600.0, "l/min": 1e-3 / 60.0, "l/s": 1e-3,
        "m3/s": 1.0, "m3/h": 1.0 / 3600.0, "m3/min": 1.0 / 60.0, "cfm": FOOT**3 / 60.0, "ft3/min": FOOT**3 / 60.0,
    },
    "fuel_flow": {  # volume flow of an injector or pump; weight ratings are read at the trade's petrol density
        "cc/min": 1e-6 / 60.0, "l/h": 1e-3 / 3600.0, "l/hr": 1e-3 / 3600.0, "l/min": 1e-3 / 60.0, "m3/s": 1.0,
        "lb/hr": POUND / 3600.0 / PETROL_DENSITY, "lb/h": POUND / 3600.0 / PETROL_DENSITY,
    },
    "rotation": {"rpm": RPM, "RPM": RPM, "1/min": RPM, "rev/min": RPM, "rad/s": 1.0},
    "speed": {"m/s": 1.0, "km/h": 1.0 / 3.6, "mph": 0.44704, "ft/s": FOOT},
    "force": {"N": 1.0, "kN": 1e3, "lbf": POUND_FORCE, "kgf": GRAVITY},
    "torque": {
        "Nm": 1.0, "N m": 1.0, "N*m": 1.0, "kgf m": GRAVITY, "lb ft": FOOT * POUND_FORCE, "lbf ft": FOOT * POUND_FORCE,
        "ft lb": FOOT * POUND_FORCE, "lb-ft": FOOT * POUND_FORCE, "ft-lb": FOOT * POUND_FORCE,
        "lb in": INCH * POUND_FORCE,
    },
    "power": {"kW": 1e3, "W": 1.0, "hp": HORSEPOWER, "HP": HORSEPOWER, "PS": METRIC_HORSEPOWER},
    "specific_consumption": {
        "g/kWh": 1e-3 / 3.6e6, "kg/kWh": 1.0 / 3.6e6, "kg/J": 1.0, "lb/hp h": POUND / HORSEPOWER / 3600.0,
        "lb/hp/hr": POUND / HORSEPOWER / 3600.0,
    },
    "time": {"s": 1.0, "ms": 1e-3, "min": 60.0, "h": 3600.0},
    "heat_transfer": {"W/m2/K": 1.0, "W/m2K": 1.0, "W/(m2 K)": 1.0},
    "pressure_per_speed": {"kPa s/m": 1e3, "Pa s/m": 1.0, "bar s/m": 1e5},
    "pressure_per_speed2": {"Pa s2/m2": 1.0, "kPa s2/m2": 1e3, "bar s2/m2": 1e5},
    "rotation_rate": {"rpm/s": RPM, "rad/s^2": 1.0},
    "inertia": {"kg m2": 1.0, "kg mm2": 1e-6, "g cm2": 1e-7, "kg cm2": 1e-4},
}  # fmt: skip

KELVIN = {"degC": 273.15, "°C": 273.15, "C": 273.15, "K": 0.0}
FAHRENHEIT = ("degF", "°F", "F")
DIMENSIONS = {  # for the reading of compounds
    "length": "m", "area": "m^2", "volume": "m^3", "pressure": "Pa", "mass": "kg", "mass_flow": "kg/s",
    "volume_flow": "m^3/s", "fuel_flow": "m^3/s", "speed": "m/s", "force": "N", "torque": "N*m", "power": "W",
    "specific_consumption": "kg/J", "time": "s", "heat_transfer": "W/m^2/K", "pressure_per_speed": "Pa*s/m",
    "pressure_per_speed2": "Pa*s^2/m^2", "inertia": "kg*m^2", "rotation": "rad/s", "rotation_rate": "rad/s^2",
}  # fmt: skip
GAUGE = re.compile(r"(?:\s+gauge|\s+g|(?<=psi)g|(?<=bar)g)$")
ABSOLUTE = re.compile(r"(?:\s+absolute|\s+abs|(?<=psi)a|(?<=bar)a)$")
NUMBER = re.compile(r"\s*([+-]?(?:\d+(?:\.\d*)?|\.\d+)(?:[eE][+-]?\d+)?)\s*(.*?)\s*$", re.DOTALL)
EXAMPLES = {
    "length": "86 mm", "area": "600 mm2", "volume": "350 cc", "angle": "18 deg", "pressure": "100 kPa",
    "pressure_gauge": "18 psi", "temperature": "870 degC", "mass_flow": "0.2 kg/s", "volume_flow": "255 l/h",
    "fuel_flow": "550 cc/min", "rotation": "6000 rpm", "speed": "500 m/s", "force": "300 N", "torque": "25 Nm",
    "power": "200 kW", "specific_consumption": "300 g/kWh", "time": "0.5 s", "mass": "1200 kg",
    "heat_transfer": "30 W/m2/K", "pressure_per_speed": "9 kPa s/m", "pressure_per_speed2": "90 Pa s2/m2",
    "inertia": "40 kg mm2", "rotation_rate": "300 rpm/s", "fraction": "3 %", "number": "1.0",
}  # fmt: skip


def allowed(kind: str) -> str:
    """The spellings a kind accepts, for an error sentence."""
    if kind == "temperature":
        return "degC, degF, K"
    table = UNITS["pressure" if kind.startswith("pressure_") and kind not in UNITS else kind]
    return ", ".join(list(dict.fromkeys(u for u in table if "^" not in u and "²" not in u and u not in '"°'))[:9])


def split(text: str) -> tuple[float, str]:
    """Number and unit text of a quantity; raises UnitError with what is wrong."""
    match = NUMBER.match(text)
    if not match:
        raise UnitError("is not a number with a unit")
    number, unit = float(match[1]), " ".join("".join(c if c.isprintable() else " " for c in match[2]).split())[:40]
    if unit.startswith(",") and unit[1:2].isdigit():
        raise UnitError("has a decimal comma where a point belongs")
    if not math.isfinite(number):
        raise UnitError("is not a finite number")
    return number, unit


@lru_cache(maxsize=4096)
def parse(text: str, kind: str) -> float:
    """SI value of a text such as "18 psi" read as `kind`; raises UnitError (a clause without the input's name)."""
    number, unit = split(text)
    if kind in ("number", "fraction"):
        return plain(number, unit, kind)
    if not unit:
        raise UnitError(f"has no unit ({allowed(kind)})")
    if kind == "temperature":
        return temperature(number, unit)
    if kind in ("pressure", "pressure_gauge", "pressure_absolute"):
        unit = reference(unit, kind)
        kind = "pressure"
    factor = UNITS[kind].get(unit)
    if factor is None:
        factor = compound(unit, kind)
    parts = round(1.0 / factor)
    return (
        number / parts if parts > 1 and parts * factor == 1.0 else number * factor
    )  # 86 mm is 0.086 m to the last bit


def plain(number: float, unit: str, kind: str) -> float:
    """A number without dimension; per cent only where a fraction is meant."""
    if not unit:
        return number
    if unit == "%" and kind == "fraction":
        return number / 100.0
    raise UnitError("is a plain number and takes no unit" if kind == "number" else 'takes a number or "%"')


def temperature(number: float, unit: str) -> float:
    """Temperature with its offset [K]."""
    if unit in KELVIN:
        return number + KELVIN[unit]
    if unit in FAHRENHEIT:
        return (number - 32.0) / 1.8 + 273.15
    raise UnitError(f'has the unit "{unit}", which is not one of {allowed("temperature")}')


def reference(unit: str, kind: str) -> str:
    """Strip "gauge" or "absolute" from a pressure unit; raises UnitError where the kind is the other one."""
    bare = GAUGE.sub("", unit)
    if bare != unit:
        if kind != "pressure_gauge":
            raise UnitError("is written as a gauge pressure where " + PRESSURE_KIND[kind] + " is meant")
        return bare
    bare = ABSOLUTE.sub("", unit)
    if bare != unit and kind != "pressure_absolute":
        raise UnitError("is written as an absolute pressure where " + PRESSURE_KIND[kind] + " is meant")
    return bare


PRESSURE_KIND = {
    "pressure": "a pressure difference",
    "pressure_gauge": "a gauge pressure, above the ambient pressure,",
    "pressure_absolute": "an absolute pressure",
}


def compound(unit: str, kind: str) -> float:
    """SI factor of a compound of listed units, by pint; raises UnitError when it is not of the asked kind."""
    complaint = UnitError(f'has the unit "{unit}", which is not one of {allowed(kind)}')
    if any(unit in table for table in UNITS.values()) or unit in KELVIN or unit in FAHRENHEIT:
        raise UnitError(f'has the unit "{unit}", which is no {kind.replace("_", " ")} unit ({allowed(kind)})')
    if kind not in DIMENSIONS or not re.search(r"[/^*]", unit):
        raise complaint
    try:
        return float(registry().Quantity(1.0, unit).to(DIMENSIONS[kind]).magnitude)
    except Exception as error:  # pint raises many kinds, some of them not its own, on noise
        raise complaint from error


@lru_cache(maxsize=1)
def registry() -> Any:
    """A pint registry that knows our units and nothing else: no prefixes, so no centi-femto-metres."""
    import pint

    known: Any = pint.UnitRegistry(None)
    for base, dimension in (("m", "length"), ("kg", "mass"), ("s", "time"), ("K", "temperature"), ("rad", "")):
        known.define(f"{base} = [{dimension}]")
    for line in ("N = kg*m/s^2", "Pa = N/m^2", "J = N*m", "W = J/s"):
        known.define(line)
    for kind, table in UNITS.items():
        for unit, factor in table.items():
            if re.fullmatch(r"[A-Za-z]+", unit) and unit not in known and kind in DIMENSIONS and kind != "rotation":
                known.define(f"{unit} = {factor!r} * {DIMENSIONS[kind]}")
    return known


SI = {
    "temperature": "K", "angle": "deg", "number": "", "fraction": "", "pressure_gauge": "Pa", "pressure_absolute": "Pa",
    "rotation": "rad/s", "specific_consumption": "kg/J",
} | {kind: next(u for u, f in table.items() if f == 1.0) for kind, table in UNITS.items() if kind not in ("angle",)}  # fmt: skip


def exact(value: float, kind: str) -> str:
    """A value in SI as a text that `parse` reads back to the very same float."""
    return f"{float(value)!r} {SI[kind]}".strip()
