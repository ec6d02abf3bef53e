"""How figures of a diagnosis are printed: unit and scale by channel or unknown, in the family of units of the case."""

from ... import channels
from ...showing import FAMILIES
from .suspects import LEAK
from .unknowns import ALL_PROBES

RPM = 3.141592653589793 / 30.0
METRIC = {
    "pressure_gauge": (1e3, "kPa"), "temperature": (1.0, "K"), "mass_flow": (1e-3, "g/s"), "fuel_flow": (1e-6 / 60.0, "cc/min"),
    "torque": (1.0, "Nm"), "rotation": (RPM, "rpm"), "fraction": (0.01, "%"),
}  # fmt: skip
US = METRIC | {
    "pressure_gauge": (6894.757293168, "psi"), "temperature": (1.0 / 1.8, "degF"),
    **{k: (FAMILIES["us"][k].factor, FAMILIES["us"][k].unit) for k in ("mass_flow", "fuel_flow", "torque")},
}  # fmt: skip
DIFFERENCES = {"metric": METRIC, "us": US}


def channel_look(name: str, family: str = "metric") -> tuple[float, str]:
    """SI units in one, and the unit, in which differences of a channel are printed."""
    if name == "balance":
        return 0.01, "%"
    kind = "temperature" if name == ALL_PROBES else channels.channel(name).kind
    return DIFFERENCES[family].get(kind, (1.0, ""))


def look(name: str, family: str = "metric") -> tuple[float, str]:
    """SI units in one, and the unit, in which an unknown is printed."""
    if name == "engine.spark_offset" or name.endswith(".spark"):
        return 1.0, "deg"
    if name.startswith("sensor."):
        return channel_look(name.removeprefix("sensor."), family)
    if name == LEAK:
        return FAMILIES[family]["area"].factor, FAMILIES[family]["area"].unit
    return (0.01, "%") if name.startswith("cylinder.") else (1.0, "")


def amount(gauge: str, value: float, family: str = "metric") -> str:
    """Size of an offset of a gauge, with its unit."""
    scale, unit = channel_look(gauge, family)
    size = abs(value) / scale
    return f"{size:.{0 if size >= 20.0 else 1 if size >= 1.0 else 3}f} {unit}".strip()


def gap(value: float, family: str = "metric") -> str:
    """An area with its unit."""
    scale, unit = look(LEAK, family)
    return f"{value / scale:.{0 if family == 'metric' else 3}f} {unit}"


def reading(name: str, value: float, family: str = "metric") -> str:
    """A reading with its unit."""
    if name == "balance":
        return f"{100.0 * value:.1f} %"
    kind = channels.channel(name).kind
    how = FAMILIES[family].get("pressure" if kind == "pressure_gauge" else kind)
    return f"{value:.3g}" if how is None else f"{(value - how.offset) / how.factor:.{how.decimals}f} {how.unit}"
