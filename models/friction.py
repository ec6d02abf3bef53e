"""Friction mean effective pressure of a warm four-stroke engine, pumping not included.

Switch: CHEN_FLYNN, PATTON, SANDOVAL. All constants from memory, as in the sources named at each function.

SANDOVAL is what a case gets that names none. With the pumping of a 1.6-litre four at full throttle beside it, it lies within
10 % of three quarters of Barnes-Moss's curve from 1000 to 6000 rev/min; Patton within 12 % from 2000, 23 % above at 1000; Chen &
Flynn, fitted to a diesel engine, 15 to 42 % above, where the curve itself stands, that of engines of 1975. Three quarters,
because friction has fallen by a quarter since (Nam & Sorab, SAE 2004). Held by tests/published/test_friction.py.
"""

import math
from typing import NamedTuple

from .compiled import compiled

CHEN_FLYNN, PATTON, SANDOVAL = 0, 1, 2

# Chen & Flynn, SAE 650733 (1965), as often quoted (from memory, confidence medium); fitted to a diesel engine.
CHEN_FLYNN_CONSTANT = 0.137e5  # [Pa]
CHEN_FLYNN_PRESSURE = 0.005  # [-]
CHEN_FLYNN_SPEED = 0.162e5  # [Pa s/m]
CHEN_FLYNN_SPEED_2 = 0.0  # [Pa s2/m2]

# Bearing sizes of small gasoline engines over the bore; from memory, confidence medium, +-10 %.
MAIN_DIAMETER, MAIN_LENGTH = 0.65, 0.26
ROD_DIAMETER, ROD_LENGTH = 0.55, 0.24

# Valve-train constants (flat contact, rolling contact, oscillating hydrodynamic, oscillating mixed) by layout, from
# memory, confidence medium: overhead cam direct; overhead cam with end-pivot finger; pushrod.
DIRECT, FINGER, PUSHROD = 0, 1, 2
_FLAT = (200.0, 600.0, 400.0)
_ROLLER = (0.0076, 0.0227, 0.0151)
_OSCILLATING = (0.5, 0.2, 0.5)
_MIXED = (10.7, 42.8, 32.1)


SOURCES = {
    "chen_flynn": "Chen & Flynn, SAE 650733 (1965); constants from memory, confidence medium (diesel origin)",
    "patton": "Patton, Nitschke & Heywood, SAE 890836 (1989); from memory, confidence high, valve train medium",
    "sandoval": "Sandoval & Heywood, SAE 2003-01-0725 (2003); from memory, confidence medium",
}


class Friction(NamedTuple):
    """What the friction of an engine depends on.

    model : int, CHEN_FLYNN (0), PATTON (1) or SANDOVAL (2) [-]
    chen_flynn_constant : float, constant term [Pa]
    chen_flynn_pressure : float, factor of the peak pressure [-]
    chen_flynn_speed : float, factor of the mean piston speed [Pa s/m]
    chen_flynn_speed_2 : float, factor of its square [Pa s2/m2]
    cylinders : float, number of cylinders [-]
    bore : float, bore [m]
    stroke : float, stroke [m]
    compression_ratio : float, compression ratio [-]
    main_bearings : float, number of main bearings [-]
    main_diameter : float, main journal diameter [m]
    main_length : float, main bearing length [m]
    rod_diameter : float, crank pin diameter [m]
    rod_length : float, big-end bearing length [m]
    cam_bearings : float, number of camshaft bearings [-]
    valves : float, number of valves of the engine [-]
    valve_lift : float, maximum valve lift [m]
    valve_train : int, DIRECT (0), FINGER (1) or PUSHROD (2) [-]
    roller : int, 1 with rolling followers, 0 with flat contact [-]
    viscosity_ratio : float, oil viscosity over that of the reference oil when warm; SANDOVAL only [-]
    """

    model: int
    chen_flynn_constant: float
    chen_flynn_pressure: float
    chen_flynn_speed: float
    chen_flynn_speed_2: float
    cylinders: float
    bore: float
    stroke: float
    compression_ratio: float
    main_bearings: float
    main_diameter: float
    main_length: float
    rod_diameter: float
    rod_length: float
    cam_bearings: float
    valves: float
    valve_lift: float
    valve_train: int
    roller: int
    viscosity_ratio: float


def for_engine(
    model: int,
    cylinders: int,
    bore: float,
    stroke: float,
    compression_ratio: float,
    valves_per_cylinder: int = 4,
    valve_lift: float | None = None,
    valve_train: int = DIRECT,
    roller: bool = False,
    viscosity_ratio: float = 1.0,
) -> Friction:
    """Friction record of an in-line engine, bearings scaled from the bore; `_replace` sets what is known better.

    model : int, CHEN_FLYNN (0), PATTON (1) or SANDOVAL (2) [-]
    cylinders : int, number of cylinders [-]
    bore : float, bore [m]
    stroke : float, stroke [m]
    compression_ratio : float, compression ratio [-]
    valves_per_cylinder : int, valves of a cylinder; above 2 means two camshafts [-]
    valve_lift : float or None, maximum valve lift; 0.11 of the bore where not known [m]
    valve_train : int, DIRECT (0), FINGER (1) or PUSHROD (2) [-]
    roller : bool, rolling followers [-]
    viscosity_ratio : float, oil viscosity over that of the reference oil when warm [-]
    Returns Friction [-].
    """
    bearings = float(cylinders + 1)
    return Friction(
        model=int(model),
        chen_flynn_constant=CHEN_FLYNN_CONSTANT,
        chen_flynn_pressure=CHEN_FLYNN_PRESSURE,
        chen_flynn_speed=CHEN_FLYNN_SPEED,
        chen_flynn_speed_2=CHEN_FLYNN_SPEED_2,
        cylinders=float(cylinders),
        bore=float(bore),
        stroke=float(stroke),
        compression_ratio=float(compression_ratio),
        main_bearings=bearings,
        main_diameter=MAIN_DIAMETER * bore,
        main_length=MAIN_LENGTH * bore,
        rod_diameter=ROD_DIAMETER * bore,
        rod_length=ROD_LENGTH * bore,
        cam_bearings=bearings * (2.0 if valves_per_cylinder > 2 else 1.0),
        valves=float(cylinders * valves_per_cylinder),
        valve_lift=float(0.11 * bore if valve_lift is None else valve_lift),
        valve_train=int(valve_train),
        roller=int(roller),
        viscosity_ratio=float(viscosity_ratio),
    )


@compiled
def chen_flynn(p_max, piston_speed, constant, by_pressure, by_speed, by_speed_2):
    """Friction after Chen & Flynn, SAE 650733 (1965): A + B p_max + C Sp + D Sp^2.

    p_max : float, peak cylinder pressure [Pa]
    piston_speed : float, mean piston speed [m/s]
    constant : float, A [Pa]
    by_pressure : float, B [-]
    by_speed : float, C [Pa s/m]
    by_speed_2 : float, D [Pa s2/m2]
    Returns fmep [Pa].
    """
    return constant + by_pressure * p_max + (by_speed + by_speed_2 * piston_speed) * piston_speed


@compiled
def crankshaft(engine, speed_rpm, thin):
    """Main bearings: seals, hydrodynamic film, turbulent dissipation (Patton, Nitschke & Heywood, SAE 890836, 1989).

    engine : Friction, the engine [-]
    speed_rpm : float, engine speed [rpm]
    thin : float, factor of the hydrodynamic terms for oil viscosity [-]
    Returns fmep [Pa].
    """
    B, S, nc = 1e3 * engine.bore, 1e3 * engine.stroke, engine.cylinders
    D, L, nb = 1e3 * engine.main_diameter, 1e3 * engine.main_length, engine.main_bearings
    seals = 1.22e5 * D / (B * B * S * nc)
    film = 3.03e-4 * speed_rpm * D**3 * L * nb / (B * B * S * nc)
    turbulent = 1.35e-10 * D * D * speed_rpm * speed_rpm * nb / nc
    return 1e3 * (seals + thin * film + turbulent)


@compiled
def reciprocating(engine, speed_rpm, thin, mixed):
    """Pistons, rings and big ends without gas load (Patton, Nitschke & Heywood, SAE 890836, 1989).

    engine : Friction, the engine [-]
    speed_rpm : float, engine speed [rpm]
    thin : float, factor of the hydrodynamic terms for oil viscosity [-]
    mixed : float, speed constant of mixed lubrication, 1000 or 500 [rpm]
    Returns fmep [Pa].
    """
    B, S = 1e3 * engine.bore, 1e3 * engine.stroke
    D, L = 1e3 * engine.rod_diameter, 1e3 * engine.rod_length
    piston_speed = 2.0 * engine.stroke * speed_rpm / 60.0
    skirt = 2.94e2 * piston_speed / B
    rings = 4.06e4 * (1.0 + mixed / speed_rpm) / (B * B)
    big_ends = 3.03e-4 * speed_rpm * D**3 * L / (B * B * S)  # one for each cylinder
    return 1e3 * (thin * (skirt + big_ends) + rings)


@compiled
def gas_load(engine, speed_rpm, pressure_ratio_intake, thin):
    """Ring friction by gas pressure (Patton, Nitschke & Heywood, SAE 890836, 1989).

    engine : Friction, the engine [-]
    speed_rpm : float, engine speed [rpm]
    pressure_ratio_intake : float, intake manifold over ambient pressure [-]
    thin : float, factor of the hydrodynamic term for oil viscosity [-]
    Returns fmep [Pa].
    """
    piston_speed = 2.0 * engine.stroke * speed_rpm / 60.0
    rc = engine.compression_ratio
    return 6.89e3 * pressure_ratio_intake * (0.088 * thin * rc + 0.182 * rc ** (1.33 - 0.0238 * piston_speed))


@compiled
def valve_train(engine, speed_rpm, thin, mixed):
    """Camshaft bearings, followers and valves (Patton, Nitschke & Heywood, SAE 890836, 1989; constants medium).

    engine : Friction, the engine [-]
    speed_rpm : float, engine speed [rpm]
    thin : float, factor of the hydrodynamic terms for oil viscosity [-]
    mixed : float, speed constant of mixed lubrication, 1000 or 500 [rpm]
    Returns fmep [Pa].
    """
    B, S, nc, nv = 1e3 * engine.bore, 1e3 * engine.stroke, engine.cylinders, engine.valves
    lift, kind = 1e3 * engine.valve_lift, engine.valve_train
    boundary = 1.0 + mixed / speed_rpm
    bearings = 244.0 * speed_rpm * engine.cam_bearings / (B * B * S * nc)
    if engine.roller == 1:
        followers = _ROLLER[kind] * speed_rpm * nv / (S * nc)
    else:
        followers = _FLAT[kind] * boundary * nv / (S * nc)
    oscillating = _OSCILLATING[kind] * lift**1.5 * math.sqrt(speed_rpm) * nv / (B * S * nc)
    stems = _MIXED[kind] * boundary * lift * nv / (S * nc)
    return 1e3 * (thin * (bearings + oscillating) + followers + stems + 4.12)  # 4.12 kPa: camshaft seals


@compiled
def auxiliaries(speed_rpm, model):
    """Oil pump, water pump and unloaded generator.

    Patton, Nitschke & Heywood, SAE 890836 (1989); SANDOVAL: Sandoval & Heywood, SAE 2003-01-0725 (2003).

    speed_rpm : float, engine speed [rpm]
    model : int, PATTON (1) or SANDOVAL (2) [-]
    Returns fmep [Pa].
    """
    if model == SANDOVAL:
        return 1e3 * (8.32 + 1.86e-3 * speed_rpm + 7.45e-7 * speed_rpm * speed_rpm)
    return 1e3 * (6.23 + 5.22e-3 * speed_rpm - 1.79e-7 * speed_rpm * speed_rpm)


@compiled
def breakdown(engine, speed_rpm, pressure_ratio_intake):
    """Components after Patton et al. (1989) or, with model SANDOVAL, Sandoval & Heywood (2003); they add up to fmep.

    Sandoval & Heywood multiply the hydrodynamic terms by the root of the viscosity ratio and halve the speed constant
    of mixed lubrication (from memory, confidence medium).

    engine : Friction, the engine [-]
    speed_rpm : float, engine speed [rpm]
    pressure_ratio_intake : float, intake manifold over ambient pressure [-]
    Returns crankshaft [Pa]; reciprocating [Pa]; gas load [Pa]; valve train [Pa]; auxiliaries [Pa].
    """
    thin, mixed = 1.0, 1000.0
    if engine.model == SANDOVAL:
        thin, mixed = math.sqrt(engine.viscosity_ratio), 500.0
    return (
        crankshaft(engine, speed_rpm, thin),
        reciprocating(engine, speed_rpm, thin, mixed),
        gas_load(engine, speed_rpm, pressure_ratio_intake, thin),
        valve_train(engine, speed_rpm, thin, mixed),
        auxiliaries(speed_rpm, engine.model),
    )


@compiled
def fmep(engine, speed_rpm, p_max, pressure_ratio_intake):
    """Friction mean effective pressure of the chosen model, pumping not included.

    engine : Friction, the engine and the model [-]
    speed_rpm : float, engine speed [rpm]
    p_max : float, peak cylinder pressure; CHEN_FLYNN only [Pa]
    pressure_ratio_intake : float, intake manifold over ambient pressure; PATTON and SANDOVAL only [-]
    Returns fmep [Pa].
    """
    if engine.model == CHEN_FLYNN:
        piston_speed = 2.0 * engine.stroke * speed_rpm / 60.0
        return chen_flynn(
            p_max,
            piston_speed,
            engine.chen_flynn_constant,
            engine.chen_flynn_pressure,
            engine.chen_flynn_speed,
            engine.chen_flynn_speed_2,
        )
    a, b, c, d, e = breakdown(engine, speed_rpm, pressure_ratio_intake)
    return a + b + c + d + e


@compiled
def barnes_moss(speed_rpm):
    """Motored total friction, pumping included, of 845-2000 cm3 gasoline engines at full throttle, for comparison.

    D. Barnes-Moss, IMechE C343/73 (1975), as in J. B. Heywood, Internal Combustion Engine Fundamentals (1988), eq. 13.6
    (from memory, confidence high). Valid about 1000-6000 rpm.

    speed_rpm : float, engine speed [rpm]
    Returns fmep with pumping [Pa].
    """
    n = 1e-3 * speed_rpm
    return 1e5 * (0.97 + 0.15 * n + 0.05 * n * n)
