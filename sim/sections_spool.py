"""The section of a case that describes a tip-in, for "hotside spool"."""

# fmt: off
from .schema import Section, guess, setting


class Spool(Section):
    """[spool]: the throttle opened at once from a cruise, for "hotside spool"."""

    cruise_pressure: float = guess("pressure_absolute", "intake manifold before the throttle opens", "15 kPa", "110 kPa",
        to="50 kPa", tip="a manifold gauge at the cruise", band=0.2)
    plenum_share: float = guess("fraction", "part of cooler.volume behind the throttle: plenum and runners", 0.05, 1.0, to=0.4,
        band=0.3, tip="fill it with water, or measure the pipes")
    longest: float = setting("time", "the march ends here", "0.2 s", "60 s", to="6 s")
    events: int = setting("integer", "steps of the march for each cylinder that fires", 1, 8, to=4)
    in_gear: bool = setting("flag", "the vehicle of [vehicle] is brought along, else engine speed is held", to=False)
