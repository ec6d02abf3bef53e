"""A vehicle in one gear: the torque that is left over after road load, and how fast it brings the engine up."""

from typing import NamedTuple

GRAVITY = 9.80665  # [m/s2]


class Vehicle(NamedTuple):
    """What an engine has to move, in one gear."""

    mass: float  # with driver [kg]
    ratio: float  # crank turns for one of the wheels: gear times final drive [-]
    radius: float  # rolling, of the driven tyres [m]
    drag_area: float  # drag coefficient times frontal area [m2]
    rolling: float  # rolling resistance over weight [-]
    efficiency: float  # crank to wheels [-]
    wheel_inertia: float  # all wheels, tyres and brakes [kg m2]
    engine_inertia: float  # crank, flywheel, clutch [kg m2]
    slope: float  # rise over distance [-]


def road_speed(vehicle: Vehicle, crank_speed: float) -> float:
    """Speed on the road, no slip.

    vehicle : Vehicle, with its gear [-]
    crank_speed : float, of the crankshaft [rad/s]
    Returns the speed [m/s]
    """
    return crank_speed * vehicle.radius / vehicle.ratio


def road_load(vehicle: Vehicle, speed: float, air_density: float) -> float:
    """Air drag, rolling and slope: 1/2 rho CdA v^2 + m g (f + s), small slopes.

    vehicle : Vehicle, what moves [-]
    speed : float, on the road, still air [m/s]
    air_density : float, of the air outside [kg/m3]
    Returns the force against the motion [N]
    """
    return 0.5 * air_density * vehicle.drag_area * speed**2 + vehicle.mass * GRAVITY * (vehicle.rolling + vehicle.slope)


def crank_acceleration(vehicle: Vehicle, torque: float, crank_speed: float, air_density: float) -> float:
    """Angular acceleration of the crank; the vehicle's mass and inertias are brought to the crank.

    Brake torque less road load over the driveline; the engine's own inertia takes its share of brake torque.

    vehicle : Vehicle, with its gear [-]
    torque : float, brake torque [Nm]
    crank_speed : float, of the crankshaft [rad/s]
    air_density : float, of the air outside [kg/m3]
    Returns the acceleration [rad/s2]
    """
    lever = vehicle.radius / vehicle.ratio
    force = road_load(vehicle, road_speed(vehicle, crank_speed), air_density)
    moved = (vehicle.mass * vehicle.radius**2 + vehicle.wheel_inertia) / vehicle.ratio**2 / vehicle.efficiency
    return (torque - force * lever / vehicle.efficiency) / (vehicle.engine_inertia + moved)
