"""The sections of a case that describe the turbine flange with its studs, and the boss of a probe.

Both may stay out of a case: nothing but `hotside flange` reads them. Stand-ins and bands are from memory, confidence
medium, unless a source stands beside them; what a flange and its studs lag behind the wall is common practice, no source.
"""

# fmt: off
import difflib
from collections.abc import Iterable
from typing import Any

from ..models import boss, threads, tightening
from . import readers
from .errors import Refused
from .schema import SIMPLE, Reader, Section, Spec, given, guess, option, setting

STUD_METALS = ("8.8", "10.9", "42CrMo4", "A2-70", "A4-80", "660", "718")
FLANGE_METALS = ("grey iron", "silicon-molybdenum ductile iron", "austenitic ductile iron", "carbon steel", "304", "321",
    "cast 25-20 steel")
WASHER_METALS = ("51CrV4", "X10CrNi18-8", "660", "718")
PASTES = ("aluminium", "copper", "nickel", "metal-free")
MARKS = "marked on the end of the stud or the head"


def _named(meaning: str, choices: tuple[str, ...], *, to: str, tip: str) -> Any:
    """A guess among designations, some of which look like numbers: 8.8 is taken for "8.8"."""
    chosen = Spec("choice", meaning, choices=choices)

    def reader(value: Any) -> str:
        if isinstance(value, int | float) and not isinstance(value, bool):
            value = f"{value:g}"
        if not isinstance(value, str):
            raise Refused(f"is not one of {', '.join(choices)}")
        return str(SIMPLE["choice"](chosen, value))

    return guess("choice", meaning, choices=choices, to=to, tip=tip, reader=reader)


def thread_reader(known: Iterable[str]) -> Reader:
    """A reader for a thread's designation."""

    def reader(value: Any) -> str:
        if value in known:
            return str(value)
        near = difflib.get_close_matches(str(value), known, 3, 0.5)
        raise Refused("is no known thread" + (f"; did you mean {' or '.join(near)}?" if near else ""))

    return reader


class Washers(Section):
    """[flange.washers]: conical washers (disc springs) under each nut or head."""

    outer_diameter: float = guess("length", "of one washer", "6 mm", "90 mm", rule="2.3 x thread diameter", tip="caliper",
        band=0.02, like='"23 mm"')
    inner_diameter: float = guess("length", "of one washer", "4 mm", "45 mm", rule="1.05 x thread diameter", tip="caliper",
        band=0.02, like='"10.5 mm"')
    thickness: float = guess("length", "of one washer's metal", "0.2 mm", "12 mm", rule="0.25 x thread diameter, near DIN 6796",
        tip="caliper, at the rim", band=0.03, like='"2.5 mm"')
    cone: float = guess("length", "free height of one washer less its thickness", "0.02 mm", "6 mm",
        rule="0.03 x thread diameter, near the least of DIN 6796", tip="caliper over the whole washer, thickness taken off",
        band=0.1, like='"0.3 mm"')
    nested: int = guess("integer", "washers the same way up in each packet: their forces add", 1, 12, to=1, tip="look at it")
    opposed: int = guess("integer", "packets face to face: their travels add", 1, 16, to=2, tip="look at it")
    metal: str = _named("spring material", WASHER_METALS, to="718", tip="the supplier's sheet")
    friction: float = guess("fraction", "of each inner face of a packet", 0.0, 0.05, to=0.02, band=0.5,
        tip="never required; EN 16984 gives 0.01 to 0.03")


class Gasket(Section):
    """[flange.gasket]: the gasket between the flanges."""

    thickness: float = given("length", "as clamped", "0.1 mm", "6 mm", like='"1.2 mm"', band=0.05)
    modulus: float = guess("pressure", "stress over strain of the clamped gasket", "50 MPa", "210000 MPa", to="20000 MPa",
        tip="never required; a single sheet of steel 200000 MPa, graphite a few hundred", band=0.5)
    settling: float = guess("length", "what it flattens for good in the first heats, beside faces and threads", "0 mm",
        "1 mm", to="0.01 mm", tip="the gasket's sheet; the turn it takes to reach the torque again, cold, after the first heat",
        band=0.5)


class Adapter(Section):
    """[flange.adapter]: a crowfoot or other offset piece on the torque wrench."""

    wrench_length: float = given("length", "middle of the grip to the wrench's own square", "80 mm", "1500 mm", like='"380 mm"')
    extension: float = given("length", "wrench's square to the nut", "0 mm", "500 mm", like='"45 mm"')
    angle: float = setting("angle", "of the adapter from straight ahead; 90 deg needs no correction", "0 deg", "180 deg",
        to="0 deg")


class Flange(Section):
    """[flange]: the bolted flange between manifold and turbine, for "hotside flange"."""

    place: int | str = setting("place", 'where its wall temperature is taken: "collector", or the runner of a cylinder',
        to="collector", reader=readers.place)
    studs: int = guess("integer", "studs or bolts of the flange", 2, 24, to=4, tip="count")
    thread: str = guess("thread", "thread of the studs, as ISO 261 or ASME B1.1 write it", to="M10",
        reader=thread_reader(tuple(threads.THREADS)), hint='write for example "M10", "M10x1.25" or "3/8-16 UNC"',
        tip="caliper and thread gauge")
    stud_metal: str = _named("strength class or material of the studs", STUD_METALS, to="8.8", tip=MARKS)
    shank_diameter: float = guess("length", "of the free length between the flanges' outer faces", "3 mm", "25 mm", band=0.05,
        rule="that of the thread's stress area: threaded all along", tip="caliper", like='"8.6 mm"')
    holding: str = setting("choice", "what holds the far end: a nut behind both flanges, or a tapped far flange", to="nut",
        choices=("nut", "tapped"))
    headed: bool = setting("flag", "a bolt with a head; else a stud with a nut", to=False)
    engagement: float = guess("length", "full thread in a tapped far flange", "2 mm", "80 mm", rule="1.5 x thread diameter",
        tip="depth of the hole less what the thread leaves out", like='"15 mm"', band=0.1)
    near_thickness: float = guess("length", "flange under the nut or head", "3 mm", "80 mm", to="12 mm", tip="caliper", band=0.1)
    near_metal: str = _named("its metal", FLANGE_METALS, to="silicon-molybdenum ductile iron", tip="magnet, spark, maker's sheet")
    far_thickness: float = guess("length", "flange behind it", "3 mm", "80 mm", to="12 mm", tip="caliper", band=0.1)
    far_metal: str = _named("its metal", FLANGE_METALS, to="304", tip="magnet, spark, maker's sheet")
    face_diameter: float = guess("length", "outside of the face that nut or head bears on", "6 mm", "60 mm", band=0.05,
        rule="hexagon of ISO 4014; 1.5 x thread diameter for inch threads", tip="caliper", like='"14.6 mm"')
    hole_diameter: float = guess("length", "clearance hole", "5 mm", "40 mm", tip="caliper", like='"11 mm"', band=0.03,
        rule="medium row of ISO 273; 1.1 x thread diameter for inch threads")
    edge_diameter: float = guess("length", "of the metal there is around a stud", "8 mm", "200 mm", tip="ruler: twice the "
        "distance from the hole's centre to the nearest edge", rule="2.5 x thread diameter", like='"25 mm"', band=0.2)
    roughness: float = guess("length", "Rz of the faces", "0.001 mm", "0.16 mm", to="0.025 mm", tip="never required; milled "
        "0.01 to 0.04 mm, cast or flame-cut rougher", band=0.5)
    opening_area: float = guess("area", "inside the sealing line, all openings together", "50 mm2", "60000 mm2", band=0.25,
        rule="2 x bore area of a runner", tip="the gasket laid on squared paper", like='"2400 mm2"')
    lubrication: str = guess("choice", "threads and faces as they are tightened", choices=tuple(tightening.NUT_FACTOR),
        to="pasted", tip="look at them; a mixture counts as the more slippery")
    paste: str | None = option("choice", "kind of anti-seize paste", choices=PASTES, like='"nickel"', tip="its tin")
    nut_factor: float | None = option("number", "torque over force and thread diameter, instead of the usual one", 0.05, 0.6,
        like="0.13", tip="the paste's sheet")
    scatter: float | None = option("fraction", "share by which the nut factor may lie either way, instead of the usual one",
        0.0, 0.6, like="0.20")
    utilisation: float = guess("fraction", "share of yield that the slipperiest friction may take the studs to", 0.3, 0.95,
        to=0.9, tip="never required; 0.9 is the usual one of VDI 2230", band=0.05)
    torque: float | None = option("torque", "torque to be checked, instead of the one proposed", "0.5 Nm", "1000 Nm",
        like='"25 Nm"', tip="the maker's sheet, for threads in the state it names")
    clamp_factor: float = guess("number", "clamp wanted over the parting force of the gas", 1.0, 20.0, to=3.0, band=0.3,
        tip="never required; for the turbo's weight, shaking and bending, which are not calculated")
    sealing_force: float | None = option("force", "clamp the gasket asks for besides, whole flange", "0 N", "500000 N",
        like='"6 kN"', tip="the gasket's sheet")
    flange_rise: float = guess("fraction", "rise of the flanges over the air outside as a share of the wall's", 0.2, 1.1,
        to=0.9, band=0.1, tip="heat-marking crayon on the flange after a long pull")
    stud_rise: float = guess("fraction", "rise of the studs likewise", 0.2, 1.1, to=0.75, band=0.15,
        tip="heat-marking crayon on the nut after a long pull")
    wall_temperature: float | None = option("temperature", "of the manifold's wall at the flange, instead of the predicted",
        "230 K", "1500 K", like='"650 degC"')
    flange_temperature: float | None = option("temperature", "of the flanges, instead of following from the wall", "230 K",
        "1500 K", like='"600 degC"')
    stud_temperature: float | None = option("temperature", "of the studs, instead of following from the wall", "230 K",
        "1500 K", like='"500 degC"')
    gas_pressure: float | None = option("pressure_gauge", "peak pressure in the flange above the air outside, instead of the "
        "predicted", "0 bar", "15 bar", like='"2.2 bar"')
    washers: Washers | None = None
    gasket: Gasket | None = None
    adapter: Adapter | None = None


class Boss(Section):
    """[boss]: a hole tapped into a runner or collector for a probe or a pressure line, for "hotside flange"."""

    place: int | str = setting("place", 'runner of this cylinder, or "collector"', to="collector", reader=readers.place)
    thread: str = guess("thread", "its thread, parallel or taper pipe", to="1/8-27 NPT", tip="the fitting",
        reader=thread_reader((*threads.THREADS, *boss.TAPERS)), hint='write for example "1/8-27 NPT", "R 1/8" or "M12x1.5"')
    wall: float = guess("length", "wall thickness there", "0.5 mm", "30 mm", to="3 mm", tip="caliper at an opening", band=0.2)
    metal: str = _named("of the wall or boss", FLANGE_METALS, to="304", tip="magnet, spark, maker's sheet")
    inner_diameter: float = guess("length", "bore of the pipe there", "8 mm", "200 mm", tip="caliper", band=0.05,
        rule="diameter of the runner, or of the collector", like='"39 mm"')
    height: float | None = option("length", "flat boss above the pipe's crown, none where it is tapped into the bare wall",
        "0.5 mm", "60 mm", like='"10 mm"')
    offset: float = setting("length", "hole's axis beside the pipe's axis", "0 mm", "80 mm", to="0 mm")
    edge: float | None = option("length", "hole's centre to the nearest edge, weld or other hole", "1 mm", "300 mm",
        like='"20 mm"')
