"""The sections of a case that describe the engine, its fuel and its burn.

Stand-ins and bands are from memory, confidence medium, unless a source stands beside them.
"""

# fmt: off
from . import angles, readers
from .schema import Section, angle_reader, given, guess, option, setting


def _event(side: str, what: str, low: str, high: str, like: str) -> float:
    reader = angle_reader(lambda text: angles.valve_event(text, side))
    return given("event", f"crank angle at which it {what}", low, high, like=f'"{like}"', reader=reader, band="2 deg")


class IntakeValve(Section):
    """[engine.intake_valve]: the intake valves of one cylinder."""

    count: int = given("integer", "intake valves on each cylinder", 1, 4, like="2")
    diameter: float = given("length", "head diameter", "8 mm", "120 mm", like='"34 mm"', band=0.005)
    lift: float = given("length", "greatest lift at the valve", "1 mm", "40 mm", like='"9.5 mm"', band=0.03,
        tip="lift at the valve, lash taken off: cam lift times rocker ratio less lash")
    opens: float = _event("intake", "opens", "120 deg BTDC", "90 deg ATDC", "15 deg BTDC")
    closes: float = _event("intake", "closes", "70 deg BBDC", "140 deg ABDC", "50 deg ABDC")
    at_lift: float = guess("length", "lift at which the two events are taken", "0 mm", "3 mm", to="0 mm",
        tip="the cam card names its checking lift, often 1 mm or 0.050 in", band="0.1 mm")
    discharge: float = guess("number", "factor on the discharge coefficient curve", 0.3, 1.6, to=1.0, band=0.10,
        tip="flow bench at several lifts, then write discharge_table")
    discharge_table: tuple[tuple[float, float], ...] | None = option("table", "lift over diameter against discharge "
        "coefficient on the curtain area", like="[[0.0, 0.70], [0.1, 0.66], [0.25, 0.50]]",
        reader=readers.table("number", "number", 1.0, 1.2))
    seat_load: float | None = option("force", "spring force with the valve shut", "10 N", "3000 N", like='"280 N"',
        tip="spring tester at the installed height")


class ExhaustValve(IntakeValve):
    """[engine.exhaust_valve]: the exhaust valves of one cylinder."""

    count: int = given("integer", "exhaust valves on each cylinder", 1, 4, like="2")
    diameter: float = given("length", "head diameter", "8 mm", "120 mm", like='"29 mm"', band=0.005)
    opens: float = _event("exhaust", "opens", "120 deg BBDC", "40 deg ABDC", "50 deg BBDC")
    closes: float = _event("exhaust", "closes", "60 deg BTDC", "110 deg ATDC", "12 deg ATDC")


def _wall(part: str, to: str) -> float:
    return guess("temperature", f"mean surface temperature of the {part}", "300 K", "900 K", to=to, band="50 K",
        tip="never required; coolant plus 80 to 130 K at full load")


class Engine(Section):
    """[engine]: geometry, order of firing, valves."""

    cylinders: int = given("integer", "number of cylinders", 1, 16, like="4")
    firing_order: tuple[int, ...] = guess("list", "cylinder numbers in the order they fire", to=(), rule="by count",
        tip="cast on the cover or in the workshop manual", like="[1, 3, 4, 2]", reader=readers.whole_numbers)
    firing_intervals: tuple[float, ...] = guess("list", "crank degrees from each firing to the next, in firing order",
        to=(), rule="even", tip="from the crank and bank angles; even in most engines",
        like='["180 deg", "180 deg", "180 deg", "180 deg"]', reader=readers.numbers("angle", 0.0, 720.0))
    bore: float = given("length", "cylinder diameter", "20 mm", "300 mm", like='"86 mm"')
    stroke: float = given("length", "piston travel", "15 mm", "400 mm", like='"86 mm"')
    rod_length: float = guess("length", "connecting rod between centres", "30 mm", "900 mm", rule="1.65 x stroke",
        tip="measure between bearing centres", band=0.05, like='"142 mm"')
    compression_ratio: float = given("number", "largest over smallest cylinder volume", 4.0, 20.0, like="9.0",
        tip="nominal; measure chamber, gasket and deck height", band=0.03)
    intake_valve: IntakeValve
    exhaust_valve: ExhaustValve
    breathing: float = guess("number", "factor on air flow for pipe waves, which are not modelled", 0.5, 1.4, to=1.0,
        tip="measure air flow or volumetric efficiency against speed", band=0.10)
    volumetric_efficiency_measured: float | None = option("fraction", "measured volumetric efficiency at this point, on "
        "the density in the intake manifold; breathing is fitted to it", 0.3, 1.4, like="0.92")
    spark_offset: float = guess("angle", "timing at the crank against run.spark_advance, positive earlier", "-15 deg", "15 deg",
        to="0 deg", tip="timing light on a marked pulley; fitted from a log")
    blow_by_area: float = setting("area", "leak area past the rings of one cylinder, 0 for none", "0 mm2", "5 mm2",
        to="0 mm2", tip="leak-down test; 0.1 to 0.5 mm2 is a healthy ring pack")
    head_temperature: float = _wall("head", "500 K")
    piston_temperature: float = _wall("piston crown", "520 K")
    liner_temperature: float = _wall("liner", "430 K")
    exhaust_port_temperature: float = _wall("exhaust port", "470 K")


class Fuel(Section):
    """[fuel]: what is in the tank and how it gets in."""

    name: str | None = option("text", "a named fuel, instead of a blend", like='"gasoline_98"')
    blend: tuple[tuple[str, float], ...] = guess("table", "named fuels and their shares by volume", to=(), like=
        "{ gasoline_95 = 0.7, ethanol = 0.3 }", rule="all of fuel.name", tip="the pump's label", reader=readers.blend)
    octane: tuple[float, str] | None = option("octane", "octane number with its scale; the fuel's own where absent",
        like='"98 RON"', reader=readers.octane, band=0.01)
    evaporation_share: float = guess("fraction", "share of the heat of vaporisation taken from the charge, the rest from "
        "walls", 0.0, 1.0, to=0.5, tip="never required; near 1 with direct injection", band=0.5)
    temperature: float = guess("temperature", "fuel in the rail", "240 K", "400 K", rule="ambient temperature", band="15 K",
        tip="thermometer in the rail or tank", like='"300 K"')
    injector_flow: float | None = option("fuel_flow", "rated flow of one injector", "50 cc/min", "6000 cc/min",
        like='"550 cc/min"', tip="the injector's plate or a flow bench", band=0.03)
    injector_count: int = guess("integer", "number of injectors", 1, 48, to=0, rule="one each cylinder",
        tip="count them", like="4")
    injector_rated_pressure: float = guess("pressure", "pressure drop at which the rated flow was taken", "0.5 bar", "10 bar",
        to="3 bar", tip="stated with the rating; often 3 bar or 43.5 psi", band=0.02)
    injector_dead_time: float = guess("time", "time an injector is energised before it flows", "0 ms", "4 ms", to="1 ms",
        tip="the injector's sheet, at running voltage", band=0.3)
    rail_pressure: float = guess("pressure_gauge", "rail pressure above what the regulator refers to", "0.5 bar", "20 bar",
        to="3 bar", tip="fuel gauge with the vacuum hose off, engine idling", band=0.03)
    rail_follows: str = setting("choice", "what the fuel pressure regulator refers to: a hose to the intake manifold, or the "
        "open air", to="manifold", choices=("manifold", "ambient"))
    pump_flow: float | None = option("fuel_flow", "pump delivery at rail pressure plus boost", "10 l/h", "3000 l/h",
        like='"255 l/h"', tip="return hose into a measuring jug, at pressure", band=0.05)
    pump_curve: tuple[tuple[float, float], ...] | None = option("table", "pump delivery at pressures above ambient, instead "
        "of pump_flow", like='[["3 bar", "300 l/h"], ["5 bar", "240 l/h"]]',
        reader=readers.table("pressure_gauge", "fuel_flow", 3e6, 1e-2))


class Burn(Section):
    """[burn]: how the charge burns."""

    model: str = setting("choice", "spark-driven burn, an imposed one, or a table of what is burned", to="spark",
        choices=("spark", "imposed", "table"))
    table: tuple[tuple[float, float], ...] | None = option("burned", "crank angle and burned fraction, as pairs or a CSV file with two "
        "columns, model table", like='"burned.csv"', reader=readers.burned,
        tip="a measured cylinder pressure: hotside burn CASE TRACE.csv --write burned.csv")
    ca50: float | None = option("after_tdc", "crank angle of half burnt, imposed burn; a table is moved there", "40 deg BTDC", "80 deg ATDC",
        like='"8 deg ATDC"', reader=angle_reader(angles.after_tdc_angle), band="1 deg")
    duration_10_90: float | None = option("angle", "10 to 90 % burnt, imposed burn only", "5 deg", "120 deg",
        like='"25 deg"', band=0.1)
    wiebe_m: float = guess("number", "shape exponent of the burn curve", 0.5, 6.0, to=2.0, band=0.2,
        tip="never required; indicator measurement")
    completeness: float = guess("fraction", "share of the charge that burns at all", 0.7, 1.0, to=0.985, band=0.01,
        tip="never required; exhaust analyser (hydrocarbons)")
    reference_delay: float | None = option("angle", "spark to 10 % burnt at the reference state", "3 deg", "60 deg",
        like='"18 deg"', band=0.15)
    reference_duration: float | None = option("angle", "10 to 90 % burnt at the reference state", "5 deg", "80 deg",
        like='"22 deg"', band=0.15)
    duration_scale: float = guess("number", "factor on both durations", 0.3, 3.0, to=1.0, band=0.15,
        tip="never required; fitted from best-torque timing")
    density_power: float = setting("number", "power, in the 10-90 % duration, of unburned density at the spark over that of the "
        "moment; 1.111 in the paper, 0 leaves it out", 0.0, 1.5, to=0.0)
    cyclic_spread: float = guess("angle", "standard deviation of CA50 from cycle to cycle", "0 deg", "15 deg", to="2 deg",
        tip="never required; indicator measurement", band=0.5)


def _scale(what: str, band: float) -> float:
    return guess("number", f"factor on {what}", 0.2, 4.0, to=1.0, band=band, tip="never required; fitted from a log")


class WallHeat(Section):
    """[wall_heat]: heat from the gas to the cylinder walls."""

    model: str = setting("choice", "wall heat correlation", to="hohenberg", choices=("woschni", "hohenberg", "annand"))
    scale: float = guess("number", "factor on the heat transfer coefficient", 0.2, 4.0, band=0.25, like="1.4",
        rule="1.4, with annand 1.0: from exhaust temperature and best-torque timing", tip="never required; fitted from a log")


class Knock(Section):
    """[knock]: autoignition of the end gas."""

    model: str = setting("choice", "autoignition delay", to="douaud_eyzat", choices=("douaud_eyzat",))
    delay_scale: float = guess("number", "factor on the autoignition delay, for what an octane number does not tell of a fuel; its band is "
        "common practice, from memory", 0.3, 3.0, to=1.0, band=0.2,
        tip="never required; the spark at which it is first heard to knock, headphones on the block, at a known boost")
    window_end: str = setting("choice", "where the knock integral ends", to="ca90", choices=("ca90", "evo"))
    bad_cycle: float = setting("fraction", "share of cycles that burn earlier still than the bad cycle", "0.01 %", "50 %",
        to="5 %")


class Friction(Section):
    """[friction]: mechanical losses."""

    model: str = setting("choice", "friction correlation: sandoval or patton for engines of the nineties and later, chen_flynn for the "
        "friction of 1975", to="sandoval", choices=("chen_flynn", "patton", "sandoval"))
    scale: float = _scale("the friction pressure", 0.25)
    chen_flynn_constant: float | None = option("pressure", "constant term of the Chen-Flynn form", "0 bar", "2 bar",
        like='"0.4 bar"')
    chen_flynn_pressure: float | None = option("number", "factor on the peak pressure", 0.0, 0.05, like="0.005")
    chen_flynn_speed: float | None = option("pressure_per_speed", "factor on the mean piston speed", "0 kPa s/m",
        "50 kPa s/m", like='"9 kPa s/m"')
    chen_flynn_speed2: float | None = option("pressure_per_speed2", "factor on its square", "0 Pa s2/m2",
        "5000 Pa s2/m2", like='"90 Pa s2/m2"')


class Cylinder(Section):
    """[[cylinder]]: how one cylinder departs from the mean."""

    number: int = given("integer", "cylinder number", 1, 16, like="3")
    air: float = setting("fraction", "its air against the mean", -0.3, 0.3, to=0.0, like='"3 %"')
    fuel: float = setting("fraction", "its fuel against the mean", -0.3, 0.3, to=0.0, like='"-5 %"')
    spark: float = setting("angle", "its spark against run.spark_advance, positive earlier", "-30 deg", "30 deg",
        to="0 deg", like='"-2 deg"')
    runner_length: float | None = option("length", "its own runner, where it is not exhaust.runner_length; volume and surface go with it",
        "20 mm", "2000 mm", like='"310 mm"', tip="string along the pipe")
