"""The exhaust probe as a record: kinds, sizes and the convection correlation it goes with."""

from typing import NamedTuple

BARE, SHEATHED, SHIELDED = 0, 1, 2  # kinds of probe
MOFFAT, SCADRON_WARSHAWSKY, CHURCHILL_BERNSTEIN = 0, 1, 2  # convection correlations
REYNOLDS_RANGE = {  # validity of each correlation, Reynolds number on the diameter [-]; from memory, confidence med
    MOFFAT: (100.0, 10e3),
    SCADRON_WARSHAWSKY: (250.0, 30e3),
    CHURCHILL_BERNSTEIN: (0.3, 1e7),
}


TURBULENCE = 0.08  # share of the stream's mean velocity that goes on between pulses; see in_stream [-]
DRAUGHT = 0.3  # velocity of hot gas along a cooler wall where nothing flows, sqrt(g D dT/T); judgement [m/s]


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
    velocity 5 m/s, that of a stream of 60 m/s: `in_stream` fits it to another.

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


def in_stream(probe: Probe, speed: float) -> Probe:
    """The probe with the turbulence that its own stream leaves between pulses as its floor velocity.

    Turbulence feeds on the mean flow, so it is a share of it, not a speed: 0.16 Re^(-1/8), or 4 %, in a long pipe at a
    Reynolds number of 5e4 (from memory, confidence high), more behind a valve's jet, less where a pulse has had time to
    die away. Twice the pipe's share is a judgement.

    probe : Probe, the thermocouple [-]
    speed : float, of the gas at the probe, mean over a cycle whichever way it goes [m/s]
    Returns the same probe with its floor velocity [m/s]
    """
    return probe._replace(floor_velocity=max(TURBULENCE * speed, DRAUGHT))
