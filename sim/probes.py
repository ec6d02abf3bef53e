"""The exhaust thermocouples of a case: the gas where they stand, what they read, and what each loss takes."""

from typing import Any

from ..models import endurance, gauges
from .records import Array
from .sections_gauges import Probe
from .settle import March
from .showing import shown
from .streams import Stream, has_manifold, mean_and_swing, stream

KINDS = {"bare": gauges.BARE, "sheathed": gauges.SHEATHED, "shielded": gauges.SHIELDED}
CLASSES = {
    "IEC class 1": gauges.IEC_CLASS_1,
    "IEC class 2": gauges.IEC_CLASS_2,
    "ASTM special": gauges.ASTM_SPECIAL,
    "ASTM standard": gauges.ASTM_STANDARD,
}
SETTLED = 3.0  # time constants after which 95 % of a step is shown [-]
SOURCES = {
    "exhaust_probe": "film of a wire (Moffat, 1962) or of a cylinder (Churchill & Bernstein, 1977), radiation to wall or shield, stem "
    "as a fin; type K classes of IEC 60584 and ASTM E230"
}
WIRE = "type K wire, 0.8 mm"  # what a bare junction is held against


def probes(march: March) -> list[dict[str, Any]]:
    """Gas, reading and errors at each exhaust probe of the case; none on a bench, which has no manifold."""
    if not has_manifold(march):
        return []
    return [reading(wanted, stream(march, wanted.cylinder)) for wanted in march.setup.case.probe]


def thermocouple(wanted: Probe) -> gauges.Probe:
    """The probe of a case as the physics takes it."""
    kind, size = KINDS[wanted.kind], float(wanted.junction_diameter)
    stem = 0.5 * size if kind == gauges.BARE else size
    made = gauges.default_probe(kind, stem, float(wanted.immersion))
    return made._replace(junction_diameter=size, emissivity=float(wanted.emissivity))


def settled(probe: gauges.Probe, place: Stream) -> tuple[gauges.Reading, Array]:
    """What the probe settles at in this stream, and its junction through the cycle [K]."""
    records = (place.dt, place.temperature, place.velocity, place.pressure)
    probe = gauges.in_stream(probe, place.speed)
    found = gauges.probe_reading(probe, *records, place.wall)
    return found, gauges.junction_ripple(probe, *records, found)


def reading(wanted: Probe, place: Stream) -> dict[str, Any]:
    """One probe's row. gas_temperature_k less the four errors is reading_k.

    Order of the errors: pulsation (from the flow-weighted mean to what an ideal junction of this inertia averages),
    recovery of the velocity head, radiation, conduction.
    """
    probe = thermocouple(wanted)
    found, ripple = settled(probe, place)
    shown, swing = mean_and_swing(ripple)
    tolerance = gauges.class_tolerance(shown, CLASSES[wanted.tolerance])
    mixed = place.flow_weighted
    return {
        "cylinder": wanted.cylinder,
        "location": place.name,
        "kind": wanted.kind,
        "gas_temperature_k": mixed,
        "gas_time_mean_k": place.time_mean,
        "slow_junction_k": float(found.ideal),
        "reading_k": shown,
        "reading_low_k": shown - tolerance,
        "reading_high_k": shown + tolerance,
        "tolerance_class": wanted.tolerance,
        "pulsation_error_k": mixed - float(found.ideal) + float(found.temperature) - shown,
        "recovery_error_k": float(found.velocity_error),
        "radiation_error_k": float(found.radiation_error),
        "conduction_error_k": float(found.conduction_error),
        "junction_swing_k": swing,
        "time_constant_s": float(found.time_constant),
        "response_time_s": SETTLED * float(found.time_constant),
        "wall_temperature_k": place.wall,
        "velocity_mean_m_s": place.speed,
        "velocity_peak_m_s": place.fastest,
        "reynolds": float(found.reynolds),
    }


def material(wanted: Probe) -> str:
    """What stands in the gas: the sheath's alloy, or the wire of a bare junction; a row of endurance.LIMITS."""
    return WIRE if wanted.kind == "bare" else f"{wanted.sheath} sheath"


def doubts(rows: list[dict[str, Any]], wanted: tuple[Probe, ...], family: str) -> list[str]:
    """Sentences, in a family of units, where a reading leaves the range of its tolerance class or of its convection formula."""
    found = []
    for number, (row, one) in enumerate(zip(rows, wanted, strict=False), 1):
        top = gauges.TOLERANCE[CLASSES[one.tolerance]][3]
        if row["reading_k"] > top:
            found.append(
                f"Probe {number} reads {shown(row['reading_k'], 'temperature', family)}, past the {shown(top, 'temperature', family)} to which "
                f"{one.tolerance} is defined: its tolerance band means nothing there."
            )
        low, high = gauges.REYNOLDS_RANGE[thermocouple(one).convection]
        if not low <= row["reynolds"] <= high:
            found.append(
                f"Probe {number}: Reynolds number {row['reynolds']:.0f} on the junction is outside the {low:g} to {high:g} of its "
                "convection formula."
            )
    return found


def rating(wanted: Probe) -> endurance.Limit:
    """What temperature the probe's own material stands."""
    return endurance.LIMITS[material(wanted)]
