"""How a person may write one input: any unit of its kind, any spelling of the number. Driven by the specs of the tree.

A new input is written without a word here: by its kind and bounds, or else as the example that its spec carries.
"""

import math
import tomllib

from hotside.sim import angles, units
from hotside.sim.schema import Spec

GAUGE, ABSOLUTE = ("", "", " gauge", " g"), ("", "", " absolute", " abs")
COMPOUND = {  # spellings on no list, which the units library has to read
    "mass_flow": {"g/min": 1e-3 / 60.0, "kg*h^-1": 1.0 / 3600.0},
    "heat_transfer": {"W/m^2/K": 1.0, "kW/m^2/K": 1e3},
    "pressure_per_speed": {"kPa*s/m": 1e3},
    "area": {"mm*mm": 1e-6},
}


def between(draw, low, high, logarithmic=False):
    """A number between bounds; with `logarithmic` small ones are as likely as large ones."""
    share = draw.share()
    if logarithmic and low > 0.0:
        return low * (high / low) ** share
    return low + (high - low) * share


def number(draw, value):
    """A number as text: plain, signed, with an exponent, with needless digits."""
    style = draw.pick(("plain", "plain", "plain", "plus", "exponent", "long", "bare"))
    if style == "exponent":
        return f"{value:.7e}"
    if style == "long":
        return f"{value:.10f}"
    text = f"{value:.8g}"
    if style == "plus" and value >= 0.0:
        return "+" + text
    return text[1:] if style == "bare" and text.startswith("0.") else text


def spellings(kind):
    """Unit text -> SI units in one, for a kind without offset."""
    base = "pressure" if kind.startswith("pressure_") and kind not in units.UNITS else kind
    return units.UNITS[base] | COMPOUND.get(base, {})


def quantity(draw, kind, value):
    """A value in SI written in some unit of its kind."""
    gap = draw.pick((" ", " ", "", "  "))
    if kind == "temperature":
        unit = draw.pick((*units.KELVIN, *units.FAHRENHEIT))
        shown = value - units.KELVIN[unit] if unit in units.KELVIN else (value - 273.15) * 1.8 + 32.0
        return f"{number(draw, shown)}{gap}{unit}"
    unit, factor = draw.pick(list(spellings(kind).items()))
    gap = " " if unit[0].isdigit() else gap  # "500 1/min" without its blank is another number
    ending = ""
    if kind in ("pressure_gauge", "pressure_absolute"):
        ending = draw.pick(GAUGE if kind == "pressure_gauge" else ABSOLUTE)
    return f"{number(draw, value / factor)}{gap}{unit}{ending}"


def angle(draw, value):
    """Degrees or radians, never negative."""
    unit, factor = draw.pick((("deg", 1.0), ("deg", 1.0), ("°", 1.0), ("rad", 180.0 / math.pi)))
    return f"{abs(value) / factor:.8g} {unit}"


def event(draw, value, side):
    """A cam-card event at a crank angle, from either dead centre."""
    middle = draw.pick(("TDC", "BDC"))
    shift = value - (angles.GAS_EXCHANGE_TDC if middle == "TDC" else angles.BDC[side])
    return f"{angle(draw, shift)} {'B' if shift < 0.0 else 'A'}{middle}"


def signed(draw, value, positive, negative):
    """A spark or burn angle with its side of firing top dead centre, or with a bare sign."""
    if draw.likely(0.5):
        return f"{value:.8g} deg"
    return f"{angle(draw, value)} {positive if value >= 0.0 else negative}"


def spelled(draw, spec: Spec, value):
    """A value in SI as a case file may write it; raises KeyError for a kind nobody taught us."""
    if spec.kind == "integer":
        return round(value)
    if spec.kind == "number":
        return float(f"{value:.8g}")
    if spec.kind == "fraction":
        return float(f"{value:.8g}") if draw.likely(0.5) else f"{100.0 * value:.8g} %"
    if spec.kind == "spark":
        return signed(draw, value, "BTDC", "ATDC")
    if spec.kind == "after_tdc":
        return signed(draw, value, "ATDC", "BTDC")
    return quantity(draw, spec.kind, value)


def written(draw, spec: Spec, low=None, high=None, logarithmic=False):
    """A value inside the bounds of a spec, or inside narrower ones [SI], as a case file may write it."""
    if spec.kind == "choice":
        return draw.pick(spec.choices)
    if spec.kind == "flag":
        return draw.likely(0.5)
    if spec.kind == "text":
        return draw.pick(("a case", "café °C ½", 'quoted "twice" \\ back'))
    if spec.kind == "thread":
        return draw.pick(("M10", "M8", "M10x1.25", "3/8-16 UNC"))
    if spec.kind == "place":
        return draw.pick((1, "collector"))
    if spec.kind == "octane":
        return f"{between(draw, low or 75.0, high or 115.0):.1f} {draw.pick(('RON', 'MON', 'pump'))}"
    if spec.kind == "loss":
        pressure, flow = between(draw, 10.0, 2e4, True), between(draw, 0.02, 0.5, True)
        return f"{quantity(draw, 'pressure', pressure)} at {quantity(draw, 'mass_flow', flow)}"
    if spec.low is None:  # a list or a curve of a kind not known here: as the tree itself shows how to write it
        return example(spec)
    low = spec.low if low is None else max(low, spec.low)
    high = spec.high if high is None else min(high, spec.high)
    value = between(draw, low, high, logarithmic)
    text = spelled(draw, spec, value)
    return text if _inside(spec, text) else _exact(spec, value)


def _inside(spec, text):
    """Whether a text still lies in the bounds: the last digit written may round past them."""
    try:
        spec.read(text)
    except ValueError:
        return False
    return True


def _exact(spec, value):
    """The same to the last bit, in the unit of the tree."""
    return f"{value!r} deg" if spec.kind in ("spark", "after_tdc") else units.exact(value, spec.kind)


def example(spec):
    """The value that a spec itself shows."""
    return tomllib.loads(f"like = {spec.like}")["like"]
