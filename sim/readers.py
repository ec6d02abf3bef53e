"""Readers of inputs that are more than one number: lists, pairs, blends, curves."""

import itertools
from typing import Any

from . import angles, units
from .errors import Refused
from .schema import Reader, read_quantity

MOST_ROWS = 2000  # of a table of the burn
PETROL_AFR = 14.7  # air to petrol by mass on which many gauges are scaled; common practice, no source


def numbers(kind: str, low: float, high: float) -> Reader:
    """A list of quantities of one kind -> tuple of floats [SI]."""

    def reader(value: Any) -> tuple[float, ...]:
        found = tuple(read_quantity(kind, item) for item in _list(value))
        if not all(low <= item <= high for item in found):
            raise Refused(f"holds a value outside {low:g} to {high:g}")
        return found

    return reader


def whole_numbers(value: Any) -> tuple[int, ...]:
    """A list of cylinder numbers."""
    for item in _list(value):
        if isinstance(item, bool) or not isinstance(item, int):
            raise Refused("holds something that is not a whole number")
    return tuple(value)


def groups(value: Any) -> tuple[tuple[int, ...], ...]:
    """A list of lists of cylinder numbers."""
    return tuple(whole_numbers(item) for item in _list(value))


def table(x_kind: str, y_kind: str, x_most: float, y_most: float) -> Reader:
    """A list of pairs, the first rising -> tuple of pairs of floats [SI]."""

    def reader(value: Any) -> tuple[tuple[float, float], ...]:
        rows = []
        for item in _list(value):
            if not isinstance(item, list | tuple) or len(item) != 2:
                raise Refused("holds something that is not a pair")
            rows.append((read_quantity(x_kind, item[0]), read_quantity(y_kind, item[1])))
        if len(rows) < 2:
            raise Refused("has fewer than two pairs")
        if any(b[0] <= a[0] for a, b in itertools.pairwise(rows)):
            raise Refused("does not rise in its first column")
        if not all(0.0 <= x <= x_most and 0.0 <= y <= y_most for x, y in rows):
            raise Refused(f"holds a pair outside 0 to {x_most:g} and 0 to {y_most:g}")
        return tuple(rows)

    return reader


def burned(value: Any) -> tuple[tuple[float, float], ...]:
    """Crank angle after firing top dead centre [deg] against burned fraction: from 0 past one half, never falling."""
    rows = []
    for item in _list(value):
        if not isinstance(item, list | tuple) or len(item) != 2 or not isinstance(item[0], str):
            raise Refused('holds something that is not a pair such as ["8 deg", 0.5]')
        try:
            rows.append((angles.after_tdc_angle(item[0]), read_quantity("fraction", item[1])))
        except units.UnitError as error:
            raise Refused(f"holds an angle that {error}") from None
    if not 3 <= len(rows) <= MOST_ROWS:
        raise Refused(f"does not have 3 to {MOST_ROWS} pairs")
    if not all(b[0] > a[0] and b[1] >= a[1] for a, b in itertools.pairwise(rows)):
        raise Refused("does not rise in its crank angle, or falls in its burned fraction")
    if not (rows[0][0] >= -120.0 and rows[-1][0] <= 180.0):
        raise Refused("leaves 120 deg BTDC to 180 deg ATDC")
    if rows[0][1] != 0.0 or not 0.5 < rows[-1][1] <= 1.0:
        raise Refused("does not begin with a burned fraction of 0 and end between 0.5 and 1")
    return tuple(rows)


def swallowing(value: Any) -> tuple[tuple[float, float], ...]:
    """Pressure ratio against corrected flow [kg/s] of a turbine; the flow never falls."""
    rows = table("number", "mass_flow", 10.0, 5.0)(value)
    if rows[0][0] <= 1.0 or rows[0][1] <= 0.0:
        raise Refused("holds a pressure ratio that is not above 1, or no flow")
    if any(b[1] < a[1] for a, b in itertools.pairwise(rows)):
        raise Refused("has a corrected flow that falls as the pressure ratio rises")
    return rows


def loss(pressure_most: float = 2e5, flow_most: float = 5.0) -> Reader:
    """A pressure loss at a flow, "5 kPa at 0.2 kg/s" -> (pressure [Pa], flow [kg/s])."""

    def reader(value: Any) -> tuple[float, float]:
        if not isinstance(value, str) or len(parts := value.split(" at ")) != 2:
            raise Refused('is not written as a pressure "at" a flow')
        try:
            pressure, flow = units.parse(parts[0], "pressure"), units.parse(parts[1], "mass_flow")
        except units.UnitError as error:
            raise Refused(str(error)) from None
        if not (0.0 <= pressure <= pressure_most and 1e-4 <= flow <= flow_most):
            raise Refused(f"is outside 0 to {pressure_most / 1e3:g} kPa at 0.0001 to {flow_most:g} kg/s")
        return pressure, flow

    return reader


def blend(value: Any) -> tuple[tuple[str, float], ...]:
    """A table of fuel names and volume shares that sum to one."""
    if not isinstance(value, dict) or not value:
        raise Refused("is not a table of fuels and volume shares")
    parts = tuple((str(name), read_quantity("fraction", share)) for name, share in value.items())
    if any(not 0.0 < share <= 1.0 for _, share in parts):
        raise Refused("holds a share outside 0 to 1")
    total = sum(share for _, share in parts)
    if abs(total - 1.0) > 1e-6:
        raise Refused(f"sums to {total:g}, not to 1")
    return parts


def place(value: Any) -> int | str:
    """A cylinder number, "collector", or "collector 1" and "collector 2" behind a divided manifold."""
    if isinstance(value, int) and not isinstance(value, bool):
        return value
    if value in ("collector", "collector 1", "collector 2"):
        return str(value)
    raise Refused('is neither a cylinder number nor "collector"')


def part(value: Any) -> int | str:
    """A place as `place` reads it, or "housing" or "flange"."""
    if value in ("housing", "flange"):
        return str(value)
    try:
        return place(value)
    except Refused:
        raise Refused('is neither a cylinder number nor "collector", "housing" or "flange"') from None


def octane(value: Any) -> tuple[float, str]:
    """An octane number with its scale, "95 RON" -> (number [-], scale)."""
    words = value.split() if isinstance(value, str) else []
    if len(words) != 2 or words[1] not in ("RON", "MON", "pump"):
        raise Refused("does not name its scale: RON (research), MON (motor) or pump ((R+M)/2)")
    try:
        number = units.parse(words[0], "number")
    except units.UnitError as error:
        raise Refused(str(error)) from None
    if not 60.0 <= number <= 130.0:
        raise Refused("is outside 60 to 130")
    return number, words[1]


def _list(value: Any) -> Any:
    if not isinstance(value, list | tuple):
        raise Refused("is not a list")
    return value
