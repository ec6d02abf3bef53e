"""The sections of a case that describe a pull: the vehicle in its gear or the dyno's ramp, and what went before.

Both may stay out of a case: nothing but `hotside pull` reads them. Stand-ins are from memory, confidence medium: a small car.
"""

# fmt: off
from .schema import Section, guess, option, setting


class Vehicle(Section):
    """[vehicle]: what the engine moves in the gear of the pull, for "hotside pull"."""

    mass: float = guess("mass", "with driver and fuel", "150 kg", "60000 kg", to="1100 kg", tip="public weighbridge", band=0.05)
    gear_ratio: float = guess("number", "of the gear the pull is made in", 0.3, 20.0, to=1.3, tip="gearbox plate, or count turns",
        band=0.02)
    final_drive: float = guess("number", "crown wheel and pinion, transfer case included", 0.5, 40.0, to=4.1, tip="count teeth",
        band=0.02)
    tyre_radius: float = guess("length", "rolling, of the driven tyres", "100 mm", "1200 mm", to="300 mm", band=0.02,
        tip="roll ten turns along a tape, divide by 62.8")
    drag_area: float = guess("area", "drag coefficient times frontal area", "0.1 m2", "15 m2", to="0.7 m2", tip="coast down from "
        "a known speed", band=0.15)
    rolling_resistance: float = guess("fraction", "rolling resistance over weight", 0.003, 0.3, to=0.013, band=0.25,
        tip="coast down; soft ground ten times a road's")
    driveline_efficiency: float = guess("fraction", "crank to wheels", 0.5, 1.0, to=0.92, tip="never required", band=0.03)
    wheel_inertia: float = guess("inertia", "all wheels with tyres and brakes", "0.05 kg m2", "2000 kg m2", to="4 kg m2",
        tip="never required", band=0.3)
    engine_inertia: float = guess("inertia", "crank, flywheel and clutch", "0.005 kg m2", "30 kg m2", to="0.15 kg m2",
        tip="never required; flywheel's mass times half its radius squared", band=0.3)
    slope: float = setting("fraction", "rise of the road over its length, downhill negative", -0.3, 0.4, to=0.0)


class Pull(Section):
    """[pull]: a pull at full load from one speed to another, for "hotside pull"."""

    by: str = setting("choice", "what lets the speed rise: the vehicle in its gear, or a dyno's ramp", to="gear",
        choices=("gear", "dyno"))
    begins: float = guess("rotation", "engine speed at which the throttle opens", "300 rpm", "19000 rpm", band=0.05,
        rule="0.45 x run.speed", tip="the driver's habit", like='"2800 rpm"')
    ends: float = guess("rotation", "engine speed at which it shuts", "400 rpm", "20000 rpm", rule="run.speed", band=0.02,
        tip="the shift light", like='"6200 rpm"')
    ramp: float = guess("rotation_rate", "rise of speed on the dyno", "10 rpm/s", "5000 rpm/s", to="300 rpm/s", tip="the dyno's setting",
        band=0.1)
    points: int = setting("integer", "speeds at which the engine is solved", 4, 60, to=14)
    cruise_reading: float = guess("temperature", "what the exhaust probes show before the throttle opens", "300 K", "1200 K",
        to="550 degC", tip="read it at the cruise before a pull", band="80 K")
    cruise_wall: float | None = option("temperature", "manifold's wall before the throttle opens; where left out it lies as far "
        "between bay air and probe as at the pull's first speed", "250 K", "1200 K", like='"450 degC"',
        tip="heat-marking crayon, or a pyrometer, right after a cruise")
    wall: str = setting("choice", "manifold's wall in the pull: warming, or held as it was at the cruise", to="warming",
        choices=("warming", "held"))
    wall_thickness: float = guess("length", "of runners and collector", "0.8 mm", "20 mm", to="3.5 mm", tip="caliper at an opening; "
        "tube 1.5 to 2 mm, castings 4 to 6 mm", band=0.3)
