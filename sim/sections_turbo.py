"""The sections of a case that describe the exhaust, the turbo, the surroundings, the operating point and its limits.

Stand-ins and bands are from memory, confidence medium, unless a source stands beside them.
"""

# fmt: off
from . import angles, maps, readers, units
from .schema import Section, angle_reader, filled, given, guess, option, setting

FILL = "fill with water and measure it"


class Exhaust(Section):
    """[exhaust]: ports, runners, collectors and what follows the turbine."""

    runner_diameter: float = guess("length", "inside diameter of a runner", "8 mm", "150 mm", tip="caliper", band=0.03,
        rule="1.05 x exhaust valve diameter x sqrt(count)", like='"38 mm"')
    runner_length: float = guess("length", "port flange to collector", "20 mm", "2000 mm", tip="string along the pipe",
        rule="runner volume / bore area", band=0.25, like='"260 mm"')
    runner_volume: float = guess("volume", "volume of one runner", "5 cc", "10 l", tip=FILL + ", or length times bore",
        rule="length x bore area; 0.55 x cylinder displacement where the length is unknown", band=0.25, like='"290 cc"')
    runner_surface: float = guess("area", "inside surface of one runner", "5 cm2", "10000 cm2", tip="girth times length",
        rule="circumference x length", band=0.25, like='"310 cm2"')
    port_volume: float = guess("volume", "volume of one cylinder's exhaust port", "1 cc", "3 l", tip=FILL, band=0.3,
        rule="a pipe of the runner's bore, two bores long", like='"80 cc"')
    port_surface: float = guess("area", "inside surface of one cylinder's exhaust port", "1 cm2", "3000 cm2", band=0.3,
        rule="a pipe of the runner's bore, two bores long", tip="girth times length", like='"90 cm2"')
    collectors: int = setting("integer", "separate collectors, 2 for a divided housing", 1, 2, to=1)
    cylinders_to: tuple[tuple[int, ...], ...] = guess("list", "cylinders of each collector", to=(), like="[[1, 4], [2, 3]]",
        rule="every other cylinder of the firing order", tip="look into the manifold", reader=readers.groups)
    collector_volume: float = guess("volume", "volume of one collector and its part of the turbine inlet", "5 cc", "20 l",
        rule="0.25 x engine displacement / collectors", tip=FILL, band=0.4, like='"500 cc"')
    collector_surface: float = guess("area", "inside surface of one collector", "5 cm2", "20000 cm2", band=0.4,
        rule="a pipe two bores long of that volume", tip="girth times length", like='"290 cm2"')
    collector_diameter: float = guess("length", "inside diameter of a collector at its outlet", "8 mm", "300 mm", tip="caliper",
        band=0.15, rule="area of as many runners as have their exhaust valve open at once: 3/8 of those it gathers, at least one",
        like='"48 mm"')
    collector_volumes: int = setting("integer", "volumes in a row that make up a collector, cylinders along it by number; 1 lets all runners "
        "meet in one", 1, 13, to=1)
    turbine_at: str = setting("choice", "where along a collector of several volumes the turbine stands: beside its first cylinder, in the middle "
        "or beside its last", choices=("first", "middle", "last"), to="last")
    outer_emissivity: float = guess("fraction", "emissivity of the manifold's outside", 0.05, 1.0, to=0.8, band=0.2,
        tip="never required; oxidised iron 0.8, new stainless 0.3, coated or wrapped lower")
    outer_coefficient: float = guess("heat_transfer", "convection from the manifold to the engine bay", "2 W/m2/K",
        "300 W/m2/K", to="30 W/m2/K", tip="never required; more in a strong fan's wind", band=0.5)
    outer_area_ratio: float = guess("number", "outside over inside surface of the manifold", 1.0, 3.0, to=1.3,
        tip="never required; wall thickness and flanges", band=0.15)
    downpipe_diameter: float = guess("length", "inside diameter after the turbine", "15 mm", "300 mm", tip="caliper",
        rule="1.6 x runner diameter", band=0.05, like='"63 mm"')
    loss_coefficient: float = guess("number", "total loss after the turbine, in velocity heads of the downpipe; 0 without friction", 0.0, 60.0,
        to=3.0, tip="a gauge in the sensor bung after the turbine at full load; then write restriction", band=0.6)
    restriction: tuple[float, float] | None = option("loss", "measured pressure after the turbine at an exhaust flow, "
        "instead of downpipe and loss coefficient", like='"12 kPa at 0.20 kg/s"', reader=readers.loss())
    afterburning: bool = setting("flag", "mixtures of lean and rich gas burn in the manifold", to=False)


class Turbine(Section):
    """[turbine]: the restriction that pays for the boost."""

    model: str = given(
        "choice", "what is known of the housing", like='"hardware"', choices=("area", "hardware", "curve", "map")
    )
    area: float | None = option(
        "area", "effective flow area, model area", "20 mm2", "20000 mm2", like='"620 mm2"', band=0.1
    )
    a_over_r: float | None = option("length", "the housing's A/R, a length, model hardware", "1.5 mm", "80 mm",
        like='"0.63 in"', hint='a casting marked .63 is written "0.63 in"', band=0.03)
    throat_radius: float = guess("length", "shaft axis to the middle of the volute's throat", "8 mm", "200 mm",
        rule="0.8 x wheel inlet diameter", tip="caliper at the tongue", band=0.1, like='"43 mm"')
    throat_area: float | None = guess("area", "passage area at the tongue, instead of a_over_r", "20 mm2", "20000 mm2", to=None, rule="a_over_r x throat_radius",
        tip="housings marked by area give it; else a paper template at the tongue", band=0.1, like='"690 mm2"')
    wheel_inlet_diameter: float = guess("length", "turbine wheel where gas enters", "20 mm", "250 mm", tip="caliper",
        rule="compressor wheel diameter / 1.05", band=0.05, like='"54 mm"')
    wheel_outlet_diameter: float = guess("length", "turbine wheel where gas leaves, over the blades", "15 mm", "240 mm",
        rule="0.85 x wheel inlet diameter", tip="caliper", band=0.04, like='"46 mm"')
    hub_diameter: float = guess("length", "hub at the wheel's outlet", "4 mm", "120 mm", rule="0.28 x wheel inlet diameter",
        tip="caliper", band=0.1, like='"15 mm"')
    exit_angle: float = guess("angle", "blade angle at the wheel's outlet, from the axis", "20 deg", "80 deg", to="58 deg",
        tip="sight along the blades with a protractor", band="4 deg")
    curve: tuple[tuple[float, float], ...] | None = option("curve", "measured swallowing: pressure ratio against corrected "
        "flow, as pairs or a CSV file with two columns, model curve", like='"my_turbine.csv"',
        reader=readers.swallowing)
    reference_pressure: float | None = option("pressure_absolute", "reference of the curve's corrected flow", "50 kPa",
        "200 kPa", like='"101.3 kPa"', hint="the curve's sheet states it")
    reference_temperature: float | None = option("temperature", "reference of the curve's corrected flow", "250 K", "1300 K",
        like='"288 K"', hint="the curve's sheet states it")
    map: maps.Map | None = option("map", "measured turbine map, a CSV file: speed, corrected flow, pressure ratio, efficiency; "
        "model map", like='"my_turbine_map.csv"', reader=maps.turbine_map)
    efficiency_peak: float = guess("fraction", "peak total-to-static efficiency", 0.3, 0.9, rule="by wheel size, 0.64 to 0.75",
        tip="never required; fitted from a log", band=0.06, like="0.68")
    blade_speed_ratio_peak: float = guess("number", "blade-speed ratio of the peak", 0.4, 0.9, to=0.70, band=0.04,
        tip="never required; radial wheels peak near 0.7 (Int. J. Rotating Machinery 2012, art. 589720)")
    unequal_admission_loss: float = guess("fraction", "share of efficiency lost while one of two entries passes nothing, divided "
        "housings; judgement from memory, 0.05 to 0.25, no published figure", 0.0, 0.5, to=0.15, band=0.67, tip="never required; fitted from a log")
    entry_share: float = guess("fraction", "share of the throat, and of the wheel, behind collector 1 in a divided housing", 0.2, 0.8,
        to=0.5, band=0.04, tip="paper templates of both passages at the tongue: area of the first over both", like="0.55")
    inertia: float = guess("inertia", "shaft with both wheels, for the spool", "1e-7 kg m2", "0.1 kg m2", band=0.4, like='"30 kg mm2"',
        rule="30 kg mm2 for a wheel of 55 mm, with the fifth power of its size", tip="hang it on two threads and time its swing")
    mechanical_efficiency: float = guess("fraction", "shaft power after the bearings", 0.7, 1.0, to=0.95, band=0.03,
        tip="never required; fitted from a log")
    flow_scale: float = guess("number", "factor on what the turbine swallows", 0.4, 2.5, to=1.0, band=0.08,
        tip="never required; fitted from a log, on rows with the wastegate shut")
    efficiency_scale: float = guess("number", "factor on the turbine's efficiency", 0.5, 1.5, to=1.0, band=0.06,
        tip="never required; fitted from a log")


class Wastegate(Section):
    """[wastegate]: the bypass around the turbine."""

    model: str = setting("choice", "what moves it: whatever run.boost asks for, a fixed opening, or spring and diaphragm",
        to="boost", choices=("boost", "opening", "spring"))
    diameter: float | None = option(
        "length", "bore of the wastegate's seat, 0 for none", "0 mm", "100 mm", like='"28 mm"'
    )
    area: float = guess("area", "flow area fully open, instead of the bore", "0 mm2", "8000 mm2", rule="bore area", tip="caliper",
        like='"615 mm2"', band=0.1)
    discharge: float = guess(
        "number", "discharge coefficient fully open", 0.2, 1.0, to=0.7, tip="never required", band=0.2
    )
    leak_area: float = setting("area", "what it passes where it should be shut, as an effective area: a valve that does not close",
        "0 mm2", "1000 mm2", to="0 mm2")
    opening: float | None = option("fraction", "how far it stands open, model opening", 0.0, 1.0, like='"30 %"')
    crack_pressure: float | None = option("pressure_gauge", "pressure on the diaphragm at which the rod first moves, engine off, "
        "model spring", "0.05 bar", "4 bar", like='"0.6 bar"', band=0.05, tip="hand pump with a gauge")
    full_pressure: float = guess("pressure_gauge", "pressure on the diaphragm at which the valve stands a quarter of its bore "
        "open, engine off, model spring", "0.06 bar", "6 bar", rule="crack_pressure + 0.4 bar", band=0.15, like='"1.0 bar"',
        tip="hand pump with a gauge, until the rod has moved that far")
    diaphragm_diameter: float = guess("length", "diaphragm, effective, model spring", "10 mm", "150 mm", band=0.1, like='"50 mm"',
        rule="1.7 x seat bore", tip="can, less its rim; middle of the fold")
    lever_ratio: float = guess("number", "valve arm over rod arm, 1 for a direct valve, model spring", 0.2, 3.0, to=1.0, band=0.1,
        tip="ruler")
    signal: str = setting("choice", "where the diaphragm's hose is, model spring", to="compressor", choices=("compressor",
        "intake"))


class Compressor(Section):
    """[compressor]: what the turbine drives."""

    model: str = setting("choice", "by wheel size, by a measured map, or one efficiency", to="wheel",
        choices=("wheel", "map", "constant"))
    wheel_diameter: float = guess("length", "compressor wheel, largest diameter", "20 mm", "250 mm", tip="caliper",
        rule="1.05 x turbine wheel inlet diameter", band=0.05, like='"57 mm"')
    inducer_diameter: float = guess("length", "compressor wheel where air enters, over the blades; model wheel", "10 mm",
        "240 mm", tip="caliper; a trim of 56 is 0.75 of the wheel (100 x the ratio squared)", band=0.04,
        rule="0.75 x compressor wheel diameter", like='"43 mm"')
    efficiency_peak: float = guess("fraction", "greatest isentropic efficiency; model wheel", 0.4, 0.88, band=0.04,
        rule="by wheel size, 0.70 to 0.78", tip="compressor map", like="0.74")
    map: maps.Map | None = option("map", "measured compressor map, a CSV file: speed, corrected flow, pressure ratio, "
        "efficiency; model map", like='"my_compressor_map.csv"', reader=maps.compressor_map)
    efficiency: float = guess("fraction", "isentropic efficiency at every point; model constant", 0.4, 0.85, to=0.72, band=0.05,
        tip="compressor map, or temperatures before and after it")
    efficiency_scale: float = guess("number", "factor on the compressor's efficiency", 0.5, 1.4, to=1.0, band=0.05,
        tip="never required; fitted from a log that holds the temperature after the compressor")
    work_coefficient: float = guess("number", "specific work over tip speed squared; models wheel and constant", 0.4, 1.0,
        to=0.68, band=0.08, tip="never required; shaft speed sensor")
    throat_ratio: float = guess("number", "inducer throat over its annulus, sets where it chokes; model wheel; from memory, "
        "and within what blade angles of 55 to 60 deg leave", 0.45, 0.85, to=0.645,
        band=0.08, tip="never required; a compressor map tells")


class Cooler(Section):
    """[cooler]: the charge cooler; effectiveness 0 where there is none."""

    effectiveness: float = guess("fraction", "temperature drop over the greatest possible, 0 without a cooler", 0.0, 1.0,
        to=0.70, tip="thermometer before and after it, and the outside air", band=0.12)
    coolant_temperature: float = guess("temperature", "air or water that cools it", "240 K", "380 K", band="8 K",
        rule="ambient temperature", tip="thermometer before its face", like='"35 degC"')
    pressure_loss: tuple[float, float] = guess("loss", "pressure loss at a flow", to=(), reader=readers.loss(), band=0.5,
        rule="6 kPa at 0.1 kg/s for each litre", tip="boost at both ends", like='"6 kPa at 0.2 kg/s"')
    volume: float = guess("volume", "pipes, cooler and plenum from compressor to intake valves, for the spool", "0.1 l", "300 l",
        rule="4 x engine displacement", tip="lengths times bores, and the cooler by water", band=0.4, like='"8 l"')


class Ambient(Section):
    """[ambient]: the air outside."""

    altitude: float | None = option(
        "length", "height above the sea, instead of a barometer", "-500 m", "6000 m", like='"300 m"'
    )
    pressure: float = guess("pressure_absolute", "barometer as read on the spot, instead of altitude", "45 kPa", "110 kPa", band=0.01,
        rule="standard atmosphere at the altitude, or at the sea", like='"98 kPa"',
        tip="altitude is safer: weather reports are corrected to the sea")
    temperature: float = guess(
        "temperature", "air at the intake", "-40 degC", "60 degC", to="25 degC", tip="thermometer", band="8 K"
    )
    relative_humidity: float = guess("fraction", "relative humidity", 0.0, 1.0, to=0.5, tip="weather report", band=0.4)
    inlet_pressure_loss: tuple[float, float] = guess("loss", "loss of filter and duct before the compressor at a flow", to=(),
        rule="2 kPa at 0.1 kg/s for each litre", tip="vacuum gauge before the compressor", band=0.5,
        like='"2 kPa at 0.2 kg/s"', reader=readers.loss())


class Run(Section):
    """[run]: the operating point."""

    speed: float = given("rotation", "engine speed", "300 rpm", "20000 rpm", like='"6000 rpm"')
    boost: float | None = option("pressure_gauge", "boost in the intake manifold after the cooler, above ambient", "0 bar",
        "6 bar", like='"1.2 bar"', band=0.02,
        tip="where is the gauge tapped? before the cooler it reads the cooler's loss too")
    lambda_ratio: float = filled("number", "air over stoichiometric air", 0.5, 1.6, alias="lambda", like="0.82",
        rule="from run.afr", tip="wideband probe on its lambda scale", band=0.02)
    afr: float | None = option("number", "air-fuel ratio by mass, instead of lambda", 3.0, 25.0, like="11.8", band=0.02)
    afr_scale: str | None = option("choice", "scale of afr: petrol (14.7 at lambda 1) or the fuel's own", like='"petrol"',
        choices=("petrol", "fuel"))
    spark_advance: float | None = option("spark", "ignition before firing top dead centre", "40 deg ATDC", "70 deg BTDC", like='"18 deg"',
        reader=angle_reader(angles.spark_angle), band="2 deg", tip="uncertain by 2 deg until checked with a timing light")
    held_backpressure: float | None = option("pressure_gauge", "backpressure held by hand, the turbine loop opened, above "
        "ambient", "-0.1 bar", "10 bar", like='"1.5 bar"')
    intake_pressure: float | None = option("pressure_absolute", "absolute intake pressure of a bench case", "10 kPa", "800 kPa",
        like='"100 kPa"')
    intake_temperature: float | None = option(
        "temperature", "intake temperature of a bench case", "-40 degC", "500 K", like='"310 K"'
    )
    exhaust_pressure: float | None = option("pressure_absolute", "absolute exhaust pressure of a bench case", "10 kPa",
        "1200 kPa", like='"105 kPa"')

    @property
    def speed_rpm(self) -> float:
        """Engine speed [rev/min]."""
        return round(self.speed / units.RPM, 9)  # 6200 rpm reads 6200


class Limits(Section):
    """[limits]: what the readings are held against; a limit is an edge, not a promise."""

    probe_temperature: float = setting("temperature", "ceiling for the exhaust probe's reading (common practice, no source)",
        "600 K", "1400 K", to="1650 degF")
    knock_margin: float = setting("angle", "spark degrees to keep from the knock limit of the mean cycle", "0 deg", "20 deg", to="0 deg")
    knock_margin_bad_cycle: float = setting("angle", "the same for the bad cycle; negative lets it knock by so much",
        "-20 deg", "20 deg", to="0 deg")
    peak_pressure: float | None = option(
        "pressure_absolute", "ceiling for cylinder pressure", "20 bar", "300 bar", like='"100 bar"'
    )
    turbine_inlet_temperature: float = guess("temperature", "ceiling before the turbine", "600 K", "1400 K", to="950 degC",
        tip="the turbo's plate or sheet")
    shaft_speed: float | None = option(
        "rotation", "ceiling for the turbo shaft", "10000 rpm", "400000 rpm", like='"150000 rpm"'
    )
    tip_speed: float = guess("speed", "ceiling for the compressor wheel's rim", "100 m/s", "700 m/s", to="500 m/s",
        tip="the turbo's sheet; aluminium wheels about 500 m/s")
    backpressure_ratio: float = guess("number", "ceiling for gauge backpressure over boost", 0.3, 10.0, to=2.0,
        tip="common practice: near 1 is free breathing, past 2 the housing is small for the job")


class Report(Section):
    """[report]: how results are printed."""

    units: str = setting("choice", "unit family of tables", to="metric", choices=("metric", "us"))
    nitric_oxide: str = setting("choice", "thermal nitric oxide of cylinder 1, by these rate constants", to="none",
        choices=("none", "gri", "heywood", "hanson_salimian"))
    nitric_oxide_zone: str = setting("choice", "whether its burned gas lies in layers that do not mix, or is mixed",
        to="layered", choices=("layered", "mixed"))
