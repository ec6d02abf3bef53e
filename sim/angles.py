"""Crank angles as a cam card or a timing light gives them, 0 at firing top dead centre in the tree."""

import re

from .units import UnitError, parse

EVENT = re.compile(r"(.*?)\s*(BTDC|ATDC|BBDC|ABDC|TDC|BDC)\s*$", re.IGNORECASE)
GAS_EXCHANGE_TDC = 360.0
BDC = {"intake": 540.0, "exhaust": 180.0}


def valve_event(text: str, side: str) -> float:
    """Crank angle [deg], 0 at firing top dead centre, of a cam-card event such as "15 deg BTDC"; side intake/exhaust."""
    match = EVENT.match(text)
    if not match:
        raise UnitError('names no dead centre: end it with "BTDC", "ATDC", "BBDC" or "ABDC"')
    centre = match[2].upper()
    angle = parse(match[1], "angle") if match[1] or len(centre) > 3 else 0.0
    if angle < 0.0:
        raise UnitError("is negative: turn BTDC into ATDC (or BBDC into ABDC) and write it positive")
    origin = GAS_EXCHANGE_TDC if centre.endswith("TDC") else BDC[side]
    return origin - angle if centre.startswith("B") and len(centre) == 4 else origin + angle


def spark_angle(text: str) -> float:
    """Spark advance [deg], positive before firing top dead centre, of "18 deg", "18 deg BTDC" or "3 deg ATDC"."""
    return _signed(text, positive="BTDC", negative="ATDC")


def after_tdc_angle(text: str) -> float:
    """Crank angle after firing top dead centre [deg] of "8 deg", "8 deg ATDC" or "2 deg BTDC"."""
    return _signed(text, positive="ATDC", negative="BTDC")


def _signed(text: str, positive: str, negative: str) -> float:
    match = EVENT.match(text)
    if not match:
        return parse(text, "angle")
    centre, angle = match[2].upper(), parse(match[1], "angle")
    if centre not in (positive, negative):
        raise UnitError("is referred to the wrong dead centre: the firing top dead centre is meant")
    if angle < 0.0:
        raise UnitError(f'is negative and says "{match[2]}": write it positive')
    return angle if centre == positive else -angle


def event_text(angle: float) -> str:
    """A valve event at a crank angle [deg], referred to gas-exchange top dead centre."""
    shift = angle - GAS_EXCHANGE_TDC
    return f"{abs(shift)!r} deg {'BTDC' if shift < 0.0 else 'ATDC'}"


def card_text(angle: float, side: str) -> str:
    """The same as a cam card has it, to hundredths: referred to the dead centre that is nearer; side intake/exhaust."""
    bottom = BDC[side]
    shift = round(angle - bottom, 2)
    if abs(shift) < abs(angle - GAS_EXCHANGE_TDC):
        return f"{abs(shift)!r} deg {'BBDC' if shift < 0.0 else 'ABDC'}"
    shift = round(angle - GAS_EXCHANGE_TDC, 2)
    return f"{abs(shift)!r} deg {'BTDC' if shift < 0.0 else 'ATDC'}"
