"""SI values as a person reads them, in one of two families of units."""

from typing import NamedTuple

from .units import UNITS


class Show(NamedTuple):
    """How a kind is printed: unit, SI units in one, offset in SI, decimals."""

    unit: str
    factor: float
    offset: float
    decimals: int


def _show(kind: str, unit: str, decimals: int) -> Show:
    return Show(unit, UNITS[kind][unit], 0.0, decimals)


METRIC = {
    "length": _show("length", "mm", 1), "area": _show("area", "mm2", 0), "volume": _show("volume", "cc", 0),
    "pressure": _show("pressure", "bar", 2), "mass_flow": _show("mass_flow", "kg/s", 4),
    "volume_flow": _show("volume_flow", "l/h", 0), "fuel_flow": _show("fuel_flow", "cc/min", 0),
    "rotation": _show("rotation", "rpm", 0), "speed": _show("speed", "m/s", 0), "force": _show("force", "N", 0),
    "torque": _show("torque", "Nm", 0), "power": _show("power", "kW", 1),
    "specific_consumption": _show("specific_consumption", "g/kWh", 0), "ppm": Show("ppm", 1.0, 0.0, 0),
    "specific_emission": _show("specific_consumption", "g/kWh", 2),
    "time": _show("time", "s", 2),
    "temperature": Show("degC", 1.0, 273.15, 0), "angle": Show("deg", 1.0, 0.0, 1), "mass": _show("mass", "kg", 1),
    "heat_transfer": _show("heat_transfer", "W/m2/K", 0), "inertia": _show("inertia", "kg mm2", 1),
    "rotation_rate": _show("rotation_rate", "rpm/s", 0),
    "pressure_per_speed": _show("pressure_per_speed", "kPa s/m", 2),
    "pressure_per_speed2": _show("pressure_per_speed2", "Pa s2/m2", 1),
    "fraction": Show("%", 0.01, 0.0, 1), "number": Show("", 1.0, 0.0, 3), "rpm": Show("rpm", 1.0, 0.0, 0),
    "count": Show("", 1.0, 0.0, 0), "octane": Show("", 1.0, 0.0, 1),
}  # fmt: skip
US = METRIC | {
    "length": _show("length", "in", 3), "area": _show("area", "in2", 3), "volume": _show("volume", "cu in", 1),
    "pressure": _show("pressure", "psi", 1), "mass_flow": _show("mass_flow", "lb/min", 2),
    "fuel_flow": _show("fuel_flow", "lb/hr", 1), "speed": _show("speed", "ft/s", 0),
    "force": _show("force", "lbf", 0), "torque": _show("torque", "lb ft", 0), "power": _show("power", "hp", 0),
    "specific_consumption": _show("specific_consumption", "lb/hp h", 3),
    "temperature": Show("degF", 1.0 / 1.8, 273.15 - 32.0 / 1.8, 0), "mass": _show("mass", "lb", 1),
}  # fmt: skip
FAMILIES = {"metric": METRIC, "us": US}


def kelvins(difference: float, family: str = "metric", decimals: int = 0) -> str:
    """A difference of two temperatures as a person reads it."""
    value, unit = (1.8 * difference, "degF") if family == "us" else (difference, "K")
    return f"{value:.{decimals}f} {unit}"


def shown(value: float, kind: str, family: str = "metric") -> str:
    """A value in SI as a person reads it, with its unit, in the family "metric" or "us"."""
    how = FAMILIES[family]["pressure" if kind in ("pressure_gauge", "pressure_absolute") else kind]
    number = f"{(value - how.offset) / how.factor:.{how.decimals}f}"
    return f"{number} {how.unit}".strip()
