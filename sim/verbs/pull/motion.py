"""When each speed of the pull is reached: the vehicle's acceleration in its gear, or the dyno's ramp."""

from typing import NamedTuple

import numpy as np

from ....models import air, motion
from ...case import Case
from ...errors import CaseError
from ...records import Array
from ...units import RPM
from .grid import Point, along

FINE = 801  # speeds at which the time is summed up


class Motion(NamedTuple):
    """Time of each speed of the pull, both rising; road speed is NaN on a dyno."""

    time: Array  # [s]
    speed: Array  # crank [rad/s]
    road: Array  # [m/s]

    @property
    def duration(self) -> float:
        """Length of the pull [s]."""
        return float(self.time[-1])

    def speed_at(self, time: float) -> float:
        """Crank speed at a time [rad/s]."""
        return float(np.interp(time, self.time, self.speed))

    def time_of(self, speed: Array) -> Array:
        """Time at which a crank speed is reached [s]."""
        return np.interp(speed, self.speed, self.time)


def motion_of(case: Case, points: list[Point]) -> Motion:
    """The motion through the pull; raises CaseError where the vehicle does not get there."""
    assert case.pull is not None
    speed = np.linspace(points[0].speed, points[-1].speed, FINE)
    if case.pull.by == "dyno":
        return Motion((speed - speed[0]) / case.pull.ramp, speed, np.full(FINE, np.nan))
    body = body_of(case)
    outside = air.ambient(
        pressure=case.ambient.pressure,
        temperature=case.ambient.temperature,
        relative_humidity=case.ambient.relative_humidity,
    )
    torque = along(points, lambda p: p.prediction.torque_nm)(speed)
    rate = np.array(
        [
            motion.crank_acceleration(body, float(t), float(w), outside.density)
            for t, w in zip(torque, speed, strict=True)
        ]
    )
    if rate.min() <= 0.0:
        where = float(speed[np.argmax(rate <= 0.0)])
        raise CaseError(
            f"pull: in this gear the vehicle gets no faster than {where / RPM:.0f} rpm, "
            f"{3.6 * motion.road_speed(body, where):.0f} km/h; write a lower pull.ends or a larger vehicle.gear_ratio."
        )
    pace = 1.0 / rate
    time = np.concatenate(([0.0], np.cumsum(0.5 * (pace[1:] + pace[:-1]) * np.diff(speed))))
    return Motion(time, speed, np.array([motion.road_speed(body, float(w)) for w in speed]))


def body_of(case: Case) -> motion.Vehicle:
    """The vehicle of a case as the physics takes it."""
    v = case.vehicle
    assert v is not None
    return motion.Vehicle(
        mass=v.mass,
        ratio=v.gear_ratio * v.final_drive,
        radius=v.tyre_radius,
        drag_area=v.drag_area,
        rolling=v.rolling_resistance,
        efficiency=v.driveline_efficiency,
        wheel_inertia=v.wheel_inertia,
        engine_inertia=v.engine_inertia,
        slope=v.slope,
    )
