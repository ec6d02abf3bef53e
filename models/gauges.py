"""Exhaust thermocouple: what the probe reads, the gas it stands in, and the three errors between them.

Heat balance of a junction at the tip of a stem: convection from the gas, radiation to the runner wall (or to a shield),
conduction along the stem to its root in the wall. Radiation of the gas itself is left out: a pipe of 40 mm is optically
thin. The signs follow the trade: an error is what the reading lacks, gas minus reading.
"""

from typing import NamedTuple

import numpy as np
from numpy.polynomial import polynomial

from .compiled import compiled

STEFAN_BOLTZMANN = 5.670374419e-8  # [W/m2K4]
ICE_POINT = 273.15  # [K]

BARE, SHEATHED, SHIELDED = 0, 1, 2  # kinds of probe
MOFFAT, SCADRON_WARSHAWSKY, CHURCHILL_BERNSTEIN = 0, 1, 2  # convection correlations
REYNOLDS_RANGE = {  # validity of each correlation, Reynolds number on the diameter [-]; from memory, confidence med
    MOFFAT: (100.0, 10e3),
    SCADRON_WARSHAWSKY: (250.0, 30e3),
    CHURCHILL_BERNSTEIN: (0.3, 1e7),
}

# Burned gas of a hydrocarbon, fitted here to Cantera's GRI-Mech 3.0 mixture-averaged transport, 500-1500 K, equivalence
# ratio 0.9-1.2: viscosity within 3 %, conductivity within 5 % (hydrogen of rich gas raises it), Prandtl 0.67-0.71.
PRANDTL = 0.70  # [-]
GAS_CONSTANT = 297.0  # [J/kgK], 293 lean to 306 at equivalence ratio 1.2
SPECIFIC_HEAT = 1320.0  # [J/kgK], at 1000-1200 K; only the velocity error uses it

IEC_CLASS_1, IEC_CLASS_2, ASTM_SPECIAL, ASTM_STANDARD = 0, 1, 2, 3
# (floor [K], share of the temperature in degC [-], lowest [K], highest [K] of the class), IEC 60584, ASTM E230/E230M-12
TOLERANCE = {
    IEC_CLASS_1: (1.5, 0.004, ICE_POINT - 40.0, ICE_POINT + 1000.0),
    IEC_CLASS_2: (2.5, 0.0075, ICE_POINT - 40.0, ICE_POINT + 1200.0),
    ASTM_SPECIAL: (1.1, 0.004, ICE_POINT, ICE_POINT + 1260.0),
    ASTM_STANDARD: (2.2, 0.0075, ICE_POINT, ICE_POINT + 1260.0),
}

# Type K on ITS-90, 0-1372 degC: G. W. Burns et al., NIST Monograph 175 (1993). [mV] and [degC]
# fmt: off
_EMF = np.array([
    -0.176004136860e-1, 0.389212049750e-1, 0.185587700320e-4, -0.994575928740e-7, 0.318409457190e-9,
    -0.560728448890e-12, 0.560750590590e-15, -0.320207200030e-18, 0.971511471520e-22, -0.121047212750e-25,
])
_EMF_BELL = (0.1185976, -0.1183432e-3, 126.9686)
_INVERSE_LOW = np.array([  # to 20.644 mV
    0.0, 2.508355e1, 7.860106e-2, -2.503131e-1, 8.315270e-2, -1.228034e-2, 9.804036e-4, -4.413030e-5, 1.057734e-6,
    -1.052755e-8,
])
_INVERSE_HIGH = np.array([-1.318058e2, 4.830222e1, -1.646031, 5.464731e-2, -9.650715e-4, 8.802193e-6, -3.110810e-8])
# fmt: on
TYPE_K_RANGE = (ICE_POINT, ICE_POINT + 1372.0)  # [K]


class Probe(NamedTuple):
    """A thermocouple in a runner: what it is made of and how far it reaches in."""

    kind: int  # BARE, SHEATHED or SHIELDED [-]
    convection: int  # MOFFAT, SCADRON_WARSHAWSKY or CHURCHILL_BERNSTEIN [-]
    junction_diameter: float  # bead, or closed tip of the sheath [m]
    stem_diameter: float  # one wire of a bare pair, or the sheath [m]
    immersion: float  # from the inside of the wall to the junction [m]
    emissivity: float  # of junction and stem [-]
    conductivity: float  # along the stem, mean over its section [W/mK]
    density: float  # of the junction, mean over its section [kg/m3]
    specific_heat: float  # of the junction [J/kgK]
    recovery: float  # share of the gas's velocity head that the junction feels as heat [-]
    floor_velocity: float  # turbulence left when the mean flow stands between pulses, above zero [m/s]
    shield_emissivity: float  # both faces of the shield [-]
    shield_ratio: float  # inner diameter of the shield over junction diameter [-]
    shield_flow: float  # velocity inside the shield over velocity outside [-]


class Reading(NamedTuple):
    """What a slow junction settles at, and why it is not the gas temperature."""

    temperature: float  # the reading [K]
    ideal: float  # slow junction without any loss: gas temperature weighted with the film coefficient [K]
    film: float  # cycle-mean convection coefficient at the junction [W/m2K]
    radiation_error: float  # [K]
    conduction_error: float  # [K]
    time_constant: float  # of the junction, convection and radiation [s]
    velocity_error: float  # incomplete recovery of the velocity head [K]
    reynolds: float  # cycle-mean Reynolds number on the junction diameter [-]


def default_probe(kind: int, stem_diameter: float = 0.0, immersion: float = 0.0) -> Probe:
    """A usual exhaust probe of its kind; zero asks for the usual size.

    Bare: type K wires of 0.8 mm with a bead of twice that, conductivity and density of the wire pair. Sheathed and
    shielded: 3.2 mm (1/8 in) nickel alloy over packed magnesia, properties weighted by section. Half-way immersion of a
    40 mm runner. Sizes common practice, no source; properties from memory, confidence med. Moffat's recovery factor
    0.68 normal to the flow; a shield that slows the gas recovers about 0.95 (from memory, confidence med). Floor
    velocity 5 m/s: a tenth of a pulse near 100 m/s, half decayed (judgement, no source).

    kind : int, BARE, SHEATHED or SHIELDED [-]
    stem_diameter : float, one wire or the sheath [m]
    immersion : float, reach inside the wall [m]
    Returns the record of the probe, SI inside [-]
    Raises ValueError for another kind or a negative size.
    """
    if kind not in (BARE, SHEATHED, SHIELDED) or stem_diameter < 0.0 or immersion < 0.0:
        raise ValueError(f"no probe of kind {kind}, diameter {stem_diameter:g} m, immersion {immersion:g} m")
    bare = kind == BARE
    stem = float(stem_diameter) or (0.8e-3 if bare else 3.2e-3)
    return Probe(
        kind=kind,
        convection=MOFFAT if bare else CHURCHILL_BERNSTEIN,
        junction_diameter=2.0 * stem if bare else stem,
        stem_diameter=stem,
        immersion=float(immersion) or 0.020,
        emissivity=0.85,
        conductivity=33.0 if bare else 14.0,
        density=8700.0 if bare else 5500.0,
        specific_heat=540.0 if bare else 780.0,
        recovery=0.95 if kind == SHIELDED else 0.68,
        floor_velocity=5.0,
        shield_emissivity=0.6,
        shield_ratio=2.0,
        shield_flow=0.5,
    )


def type_k_emf(temperature: float) -> float:
    """Voltage of a type K junction against an ice-point reference, NIST Monograph 175 (1993), ITS-90.

    temperature : float, junction temperature [K]
    Returns the emf [V]
    Raises ValueError outside 0-1372 degC.
    """
    t = temperature - ICE_POINT
    if not -1e-9 <= t <= 1372.0 + 1e-9:
        raise ValueError(f"type K junction at {temperature:.2f} K: the function holds from 273.15 to 1645.15 K")
    height, slope, centre = _EMF_BELL
    return 1e-3 * float(polynomial.polyval(t, _EMF) + height * np.exp(slope * (t - centre) ** 2))


def type_k_temperature(emf: float) -> float:
    """Junction temperature from a type K voltage against an ice-point reference: the published inverse, within 0.06 K.

    emf : float, thermocouple voltage [V]
    Returns the junction temperature [K]
    Raises ValueError outside 0-54.886 mV.
    """
    e = 1e3 * emf
    if not -1e-6 <= e <= 54.887:
        raise ValueError(f"type K voltage {e:.4f} mV: the inverse holds from 0 to 54.886 mV")
    return ICE_POINT + float(polynomial.polyval(e, _INVERSE_LOW if e < 20.644 else _INVERSE_HIGH))


def class_tolerance(temperature: float, standard: int) -> float:
    """Half-width of a tolerance class of type K; TOLERANCE holds the range each class is defined for.

    temperature : float, junction temperature [K]
    standard : int, IEC_CLASS_1, IEC_CLASS_2 (IEC 60584), ASTM_SPECIAL or ASTM_STANDARD (ASTM E230/E230M-12) [-]
    Returns the permitted deviation, plus or minus [K]
    """
    floor, share, _, _ = TOLERANCE[standard]
    return max(floor, share * abs(temperature - ICE_POINT))


@compiled
def viscosity(temperature):
    """Viscosity of burned gas, power law fitted to Cantera's GRI-Mech 3.0 transport (see above).

    temperature : float, film temperature [K]
    Returns the dynamic viscosity [Pa s]
    """
    return 4.10e-5 * (temperature / 1000.0) ** 0.715


@compiled
def conductivity(temperature):
    """Thermal conductivity of burned gas, power law fitted to Cantera's GRI-Mech 3.0 transport (see above).

    temperature : float, film temperature [K]
    Returns the thermal conductivity [W/mK]
    """
    return 0.0770 * (temperature / 1000.0) ** 0.90


@compiled
def nusselt(convection, reynolds, prandtl):
    """Mean Nusselt number of a wire or cylinder across the stream.

    R. J. Moffat (1962), 0.44 Re^0.5 (+-0.06 on the factor), from memory, confidence high; M. D. Scadron and I.
    Warshawsky, NACA TN 2599 (1952), 0.478 Re^0.5 Pr^0.3, confidence med; S. W. Churchill and M. Bernstein, J. Heat
    Transfer 99 (1977) 300, eq. 9, confidence high. REYNOLDS_RANGE holds the validity.

    convection : int, MOFFAT, SCADRON_WARSHAWSKY or CHURCHILL_BERNSTEIN [-]
    reynolds : float, Reynolds number on the diameter [-]
    prandtl : float, Prandtl number at film temperature [-]
    Returns the Nusselt number on the diameter [-]
    """
    root = np.sqrt(reynolds)
    if convection == MOFFAT:
        return 0.44 * root
    if convection == SCADRON_WARSHAWSKY:
        return 0.478 * root * prandtl**0.3
    blend = (1.0 + (0.4 / prandtl) ** (2.0 / 3.0)) ** 0.25
    return 0.3 + 0.62 * root * np.cbrt(prandtl) / blend * (1.0 + (reynolds / 282000.0) ** 0.625) ** 0.8


@compiled
def film_coefficient(probe, t_gas, t_junction, velocity, pressure):
    """Convection coefficient at the junction, properties at film temperature, and its Reynolds number.

    probe : Probe, the thermocouple [-]
    t_gas : float, gas temperature [K]
    t_junction : float, junction temperature [K]
    velocity : float, gas velocity at the probe, |mass flow| / (density x runner area), either sign [m/s]
    pressure : float, gas pressure, absolute [Pa]
    Returns (convection coefficient [W/m2K], Reynolds number on the junction diameter [-])
    """
    speed = np.sqrt(velocity * velocity + probe.floor_velocity**2)
    if probe.kind == SHIELDED:
        speed *= probe.shield_flow
    t_film = 0.5 * (t_gas + t_junction)
    density = pressure / (GAS_CONSTANT * t_film)
    reynolds = density * speed * probe.junction_diameter / viscosity(t_film)
    h = nusselt(probe.convection, reynolds, PRANDTL) * conductivity(t_film) / probe.junction_diameter
    return h, reynolds


@compiled
def radiating_junction(t_gas, t_surround, h, emissivity):
    """Temperature of a junction between convection from the gas and radiation to what surrounds it.

    Root of h (Tg - T) = e sigma (T^4 - Ts^4) by Newton's rule; grey junction, small against its surroundings.

    t_gas : float, gas temperature, recovery included [K]
    t_surround : float, wall or shield temperature [K]
    h : float, convection coefficient [W/m2K]
    emissivity : float, of the junction [-]
    Returns the junction temperature [K]
    """
    r = emissivity * STEFAN_BOLTZMANN
    t = max(t_gas, t_surround)  # from above the convex side: no overshoot
    for _ in range(50):
        step = (h * (t - t_gas) + r * (t**4 - t_surround**4)) / (h + 4.0 * r * t**3)
        t -= step
        if abs(step) < 1e-9 * t:
            break
    return t


@compiled
def gas_temperature(t_junction, t_surround, h, emissivity):
    """Gas temperature from a junction's: the radiation correction.

    F. Kreith, R. M. Manglik and M. S. Bohn, Principles of Heat Transfer, 7th ed., Ex. 9.18.

    t_junction : float, junction temperature [K]
    t_surround : float, wall or shield temperature [K]
    h : float, convection coefficient [W/m2K]
    emissivity : float, of the junction [-]
    Returns the gas temperature [K]
    """
    return t_junction + emissivity * STEFAN_BOLTZMANN * (t_junction**4 - t_surround**4) / h


@compiled
def shield_temperature(probe, t_gas, t_junction, t_wall, h):
    """Temperature of a thin tube around the junction, gas on both faces, the wall outside and the junction inside.

    Grey, diffuse, concentric cylinders (network of two surfaces); both faces take the junction's film coefficient
    scaled with diameter^-0.5, as laminar films go.

    probe : Probe, the thermocouple [-]
    t_gas : float, gas temperature, recovery included [K]
    t_junction : float, junction temperature [K]
    t_wall : float, runner wall temperature [K]
    h : float, convection coefficient at the junction [W/m2K]
    Returns (shield temperature [K], exchange factor junction to shield [-])
    """
    e, ratio = probe.shield_emissivity, probe.shield_ratio
    exchange = 1.0 / (1.0 / probe.emissivity + (1.0 - e) / (e * ratio))
    h_faces = 2.0 * h / np.sqrt(ratio)
    inward = exchange / ratio * STEFAN_BOLTZMANN
    outward = e * STEFAN_BOLTZMANN
    t = t_gas
    for _ in range(50):
        gain = h_faces * (t - t_gas) + outward * (t**4 - t_wall**4) + inward * (t**4 - t_junction**4)
        step = gain / (h_faces + 4.0 * (outward + inward) * t**3)
        t -= step
        if abs(step) < 1e-9 * t:
            break
    return t, exchange


@compiled
def _radiation_only(probe, t_gas, t_wall, h):
    """Junction temperature [K], surroundings it sees [K] and exchange factor [-] without stem conduction."""
    if probe.kind != SHIELDED:
        return radiating_junction(t_gas, t_wall, h, probe.emissivity), t_wall, probe.emissivity
    t, surround, exchange = t_gas, t_wall, probe.emissivity
    for _ in range(20):
        surround, exchange = shield_temperature(probe, t_gas, t, t_wall, h)
        t = radiating_junction(t_gas, surround, h, exchange)
    return t, surround, exchange


@compiled
def stem_tip(probe, t_stem, t_tip, t_root, h_stem, h_tip):
    """Temperature of a junction at the end of its stem: a fin whose tip carries the junction's own exchange.

    Stem: k A T'' = P h (T - t_stem). At the tip the wires, or the one sheath, bring what the junction's free surface
    loses; at the root the wall. With h_tip = 0 this is the textbook fin 1/cosh(mL); Incropera et al., Fundamentals of
    Heat and Mass Transfer, sec. 3.6.2, cases A and B. Radiation along the stem is linear about the tip's temperature.

    probe : Probe, the thermocouple [-]
    t_stem : float, where the stem would settle without conduction [K]
    t_tip : float, where the junction would settle without conduction [K]
    t_root : float, wall temperature [K]
    h_stem : float, exchange coefficient of the stem, convection and radiation [W/m2K]
    h_tip : float, exchange coefficient of the junction [W/m2K]
    Returns the junction temperature [K]
    """
    d, section = probe.stem_diameter, 0.25 * np.pi * probe.stem_diameter**2
    stems = 2.0 if probe.kind == BARE else 1.0
    if probe.kind == BARE:  # a bead less the feet of its two wires
        surface = max(np.pi * probe.junction_diameter**2 - stems * section, stems * section)
    else:
        surface = section  # end cap of the sheath
    m = np.sqrt(4.0 * h_stem / (probe.conductivity * d))
    tip = h_tip * surface / (stems * probe.conductivity * section * m)
    reach = np.exp(-m * probe.immersion)  # cosh and sinh divided by exp(mL): a long stem must not overflow
    cosh, sinh = 0.5 * (1.0 + reach * reach), 0.5 * (1.0 - reach * reach)
    return (t_stem * (cosh - reach) + t_root * reach + tip * sinh * t_tip) / (cosh + tip * sinh)


@compiled
def junction_inertia(probe):
    """Heat capacity of the junction per surface: a sphere when bare, a cylinder when sheathed.

    probe : Probe, the thermocouple [-]
    Returns density x specific heat x volume / surface [J/m2K]
    """
    shape = 6.0 if probe.kind == BARE else 4.0
    return probe.density * probe.specific_heat * probe.junction_diameter / shape


@compiled
def _cycle_means(probe, dt, t_gas, velocity, pressure, t_junction):
    """Means over the records: h [W/m2K], h-weighted gas and recovered temperature [K], Reynolds number [-]."""
    time, h_sum, gas, head, re_sum = 0.0, 0.0, 0.0, 0.0, 0.0
    for i in range(dt.size):
        h, reynolds = film_coefficient(probe, t_gas[i], t_junction, velocity[i], pressure[i])
        time += dt[i]
        h_sum += h * dt[i]
        gas += h * dt[i] * t_gas[i]
        head += h * dt[i] * velocity[i] ** 2
        re_sum += reynolds * dt[i]
    lost = (1.0 - probe.recovery) * head / (2.0 * SPECIFIC_HEAT * h_sum)
    return h_sum / time, gas / h_sum, gas / h_sum - lost, re_sum / time


@compiled
def probe_reading(probe, dt, t_gas, velocity, pressure, t_wall):
    """What a junction far slower than the pulses settles at, over one cycle of gas records.

    mean[h (Tr - T)] = radiation + stem conduction, with Tr the gas temperature less the unrecovered velocity head. The
    slow junction therefore weighs the gas with its film coefficient, about mass flux^0.5: it stands between the time
    mean and the flow-weighted mean. Film properties follow the reading, so the balance is repeated until it rests.
    Order of the errors: velocity, then radiation alone, then conduction takes the rest; they add up to ideal - reading.

    probe : Probe, the thermocouple [-]
    dt : array (n), duration of each record [s]
    t_gas : array (n), gas temperature, total: a stirred runner has no velocity of its own [K]
    velocity : array (n), gas velocity at the probe, either sign [m/s]
    pressure : array (n), gas pressure, absolute [Pa]
    t_wall : float, runner wall temperature at the probe [K]
    Returns a Reading, fields in K, W/m2K and s [-]
    """
    t = np.sum(t_gas * dt) / np.sum(dt)
    for _ in range(20):
        film, ideal, recovered, reynolds = _cycle_means(probe, dt, t_gas, velocity, pressure, t)
        radiated, surround, exchange = _radiation_only(probe, recovered, t_wall, film)
        h_rad = exchange * STEFAN_BOLTZMANN * (t * t + surround * surround) * (t + surround)
        settled = (film * recovered + h_rad * surround) / (film + h_rad)
        h_stem = film * np.sqrt(probe.junction_diameter / probe.stem_diameter)
        settled_stem = (h_stem * recovered + h_rad * surround) / (h_stem + h_rad)
        before = t
        t = stem_tip(probe, settled_stem, settled, t_wall, h_stem + h_rad, film + h_rad)
        if abs(t - before) < 0.01:
            break
    tau = junction_inertia(probe) / (film + h_rad)
    return Reading(t, ideal, film, recovered - radiated, radiated - t, tau, ideal - recovered, reynolds)


@compiled
def junction_step(t_junction, dt, t_gas, h, sink, inertia):
    """One exact step of inertia dT/dt = h (Tg - T) - sink with everything but T held over the step.

    t_junction : float, junction temperature before [K]
    dt : float, duration [s]
    t_gas : float, gas temperature, recovery included [K]
    h : float, convection coefficient [W/m2K]
    sink : float, heat lost by radiation and conduction per surface [W/m2]
    inertia : float, heat capacity per surface, density x specific heat x volume / surface [J/m2K]
    Returns the junction temperature after the step [K]
    """
    settled = t_gas - sink / h
    return settled + (t_junction - settled) * np.exp(-h * dt / inertia)


@compiled
def junction_ripple(probe, dt, t_gas, velocity, pressure, reading):
    """Periodic junction temperature through the cycle: what an instrument fast enough would see at the wires.

    The loss to wall and stem is held at its cycle mean; each record is an exact exponential step, so the whole cycle is
    a straight line in the starting temperature and the periodic start follows from one pass.

    probe : Probe, the thermocouple [-]
    dt : array (n), duration of each record [s]
    t_gas : array (n), gas temperature [K]
    velocity : array (n), gas velocity at the probe [m/s]
    pressure : array (n), gas pressure, absolute [Pa]
    reading : Reading, of the same probe and records [-]
    Returns array (n), junction temperature at the end of each record [K]
    """
    sink = reading.film * (reading.radiation_error + reading.conduction_error)
    inertia = junction_inertia(probe)
    h = np.empty(dt.size)
    t = np.empty(dt.size)
    last, decay = reading.temperature, 1.0
    for i in range(dt.size):
        h[i], _ = film_coefficient(probe, t_gas[i], reading.temperature, velocity[i], pressure[i])
        recovered = t_gas[i] - (1.0 - probe.recovery) * velocity[i] ** 2 / (2.0 * SPECIFIC_HEAT)
        last = junction_step(last, dt[i], recovered, h[i], sink, inertia)
        decay *= np.exp(-h[i] * dt[i] / inertia)
        t[i] = last
    offset = (last - reading.temperature) / (1.0 - decay)  # what the first start lacked of the periodic one
    for i in range(dt.size):
        offset *= np.exp(-h[i] * dt[i] / inertia)
        t[i] += offset
    return t
