"""The sections of a case that describe its gauges: exhaust probes, the pressure tap, and fittings near the heat.

Stand-ins and bands are from memory, confidence medium, unless a source stands beside them.
"""

# fmt: off
import difflib
from typing import Any

from ..models.endurance import LIMITS
from . import readers
from .errors import Refused
from .schema import Section, given, guess, option, setting

TUBE_METALS = ("stainless steel", "steel", "copper", "nickel alloy")  # rows of models/tap.py, which is too heavy to load here
GAUGES = ("electronic pressure sender", "mechanical pressure gauge")
CAVITY = {GAUGES[0]: 0.5e-6, GAUGES[1]: 3e-6}  # gas volume of a gauge with its fittings; judgement, no source [m3]


def material(value: Any) -> str:
    """A row of the table of materials."""
    if value in LIMITS:
        return str(value)
    near = difflib.get_close_matches(str(value), LIMITS, 3, 0.4)
    raise Refused("is no material of the table" + (f"; did you mean {' or '.join(near)}?" if near else ""))


class Probe(Section):
    """[[probe]]: an exhaust thermocouple, type K."""

    cylinder: int | str = given("place", 'runner of this cylinder, or "collector"', like="1", reader=readers.place)
    kind: str = setting("choice", "bare junction, sheathed, or sheathed under a shield", to="sheathed",
        choices=("sheathed", "bare", "shielded"))
    junction_diameter: float = guess("length", "bead, or sheath where sheathed", "0.1 mm", "12 mm", band=0.1, like='"3 mm"',
        rule="3.2 mm, bare 1.6 mm", tip="caliper")
    immersion: float = guess("length", "tip beyond the wall", "1 mm", "150 mm", rule="half the runner diameter", band=0.2,
        tip="measure before it goes in", like='"19 mm"')
    emissivity: float = guess("fraction", "of the sheath or bead", 0.05, 1.0, to=0.85, tip="never required; oxidised 0.85",
        band=0.15)
    sheath: str = guess("choice", "alloy of the sheath, unless bare", to="alloy 600", choices=("304", "316", "310", "alloy 600"),
        tip="the probe's sheet")
    tolerance: str = setting("choice", "tolerance class of the thermocouple", to="IEC class 2",
        choices=("IEC class 1", "IEC class 2", "ASTM special", "ASTM standard"))


class PressureTap(Section):
    """[pressure_tap]: the line to the gauge before the turbine."""

    cylinder: int | str = given("place", 'runner of this cylinder, or "collector"', like='"collector"', reader=readers.place)
    bore: float = guess("length", "inside diameter of the tube", "0.5 mm", "12 mm", to="3 mm", tip="drill shank", band=0.1)
    length: float = guess("length", "metal tube, manifold to gauge or sender", "20 mm", "10 m", to="600 mm",
        tip="tape measure", band=0.1)
    wall: float = guess("length", "wall thickness of the tube", "0.2 mm", "4 mm", to="0.9 mm", tip="caliper", band=0.2)
    metal: str = guess("choice", "metal of the tube", to="stainless steel", choices=TUBE_METALS, tip="magnet and colour")
    air_temperature: float = guess("temperature", "air around the tube and the gauge", "233 K", "450 K", band="20 K",
        rule="ambient temperature + 40 K, as the engine bay", tip="thermometer beside the gauge after a pull", like='"65 degC"')
    gauge: str = setting("choice", "what stands at its end", to=GAUGES[0], choices=GAUGES)
    gauge_limit: float | None = option("temperature", "what the gauge stands, instead of the usual for its kind", "300 K", "700 K",
        like='"125 degC"', tip="its sheet")
    cavity: float = guess("volume", "gas inside the gauge and its fittings", "0.01 cc", "200 cc", band=0.5, like='"0.5 cc"',
        rule="sender 0.5 cc, mechanical gauge 3 cc", tip="fill with water from a syringe, then dry it")
    restrictor: float | None = option("length", "bore of a damping orifice at the gauge, 5 mm long", "0.1 mm", "6 mm",
        like='"0.5 mm"', tip="drill shank")


class Fitting(Section):
    """[[fitting]]: something that has to live near the heat: a ring, a hose, a sealed plug, a sender, a wire."""

    name: str = given("text", "what it is", like='"oil drain hose"')
    place: int | str = given("place", 'part it is nearest: runner of this cylinder, "collector", "housing" or "flange"',
        like='"housing"', reader=readers.part)
    distance: float = given("length", "from that hot surface: along the metal, or through the air", "0 mm", "2000 mm",
        like='"60 mm"')
    path: str = setting("choice", "how heat comes: along a tube or rod that stands on the part, or across the air", to="metal",
        choices=("metal", "air"))
    diameter: float = guess("length", "outside diameter of the tube or rod, path metal", "1 mm", "80 mm", to="10 mm", tip="caliper",
        band=0.1)
    wall: float | None = option("length", "wall thickness where it is a tube; a rod where left out", "0.2 mm", "20 mm",
        like='"1 mm"')
    metal: str = guess("choice", "metal of the tube or rod", to="stainless steel", choices=TUBE_METALS, tip="magnet and colour")
    material: str | None = option("material", "what has to stand the heat there, a row of the table of materials", reader=material,
        like='"fluoroelastomer ring"', hint='"hotside predict --parts" prints the table')
    limit: float | None = option("temperature", "what it stands, instead of the usual for its material", "300 K", "1600 K",
        like='"200 degC"', tip="the maker's sheet")
