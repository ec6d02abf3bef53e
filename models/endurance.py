"""What temperature generic things around the turbine stand: rings, hoses, sealants, pastes, sheaths, gauges, washers.

Data alone, no law and no heavy import: the case file's choices are read from here.
"""

from typing import NamedTuple


class Limit(NamedTuple):
    """What temperature a material stands."""

    continuous: float  # [K]
    brief: float  # minutes at a time [K]
    source: str  # how it is known


def _limit(continuous_celsius: float, brief_celsius: float, source: str = "common practice, no source") -> Limit:
    return Limit(continuous_celsius + 273.15, brief_celsius + 273.15, source)


_MAKERS = "common practice, no source: grades differ, the maker's sheet decides"
_DISC = "EN 16983 and EN 16984, spring materials; from memory, confidence med"

LIMITS = {
    # elastomer and polymer rings, hoses
    "nitrile rubber ring": _limit(100.0, 120.0, _MAKERS),
    "hydrogenated nitrile rubber ring": _limit(150.0, 165.0, _MAKERS),
    "ethylene-propylene rubber ring": _limit(130.0, 150.0, _MAKERS),
    "acrylic rubber ring": _limit(150.0, 175.0, _MAKERS),
    "fluorosilicone ring": _limit(175.0, 200.0, _MAKERS),
    "fluoroelastomer ring": _limit(200.0, 230.0, _MAKERS),
    "silicone ring": _limit(200.0, 230.0, _MAKERS),
    "perfluoroelastomer ring": _limit(300.0, 320.0, _MAKERS),
    "PTFE ring or tape": _limit(260.0, 280.0, "common practice, no source: it gives off toxic fumes past it"),
    "silicone hose": _limit(180.0, 220.0, _MAKERS),
    # sealants
    "anaerobic thread sealant": _limit(150.0, 180.0, _MAKERS),
    "high-temperature anaerobic thread sealant": _limit(200.0, 230.0, _MAKERS),
    "silicone sealant": _limit(230.0, 260.0, _MAKERS),
    "copper-filled silicone sealant": _limit(260.0, 370.0, _MAKERS),
    "sodium silicate exhaust paste": _limit(1000.0, 1100.0, _MAKERS),
    "graphite gasket": _limit(450.0, 550.0, "common practice, no source: air burns it"),
    "multilayer stainless gasket": _limit(800.0, 900.0, _MAKERS),
    # anti-seize pastes
    "aluminium anti-seize paste": _limit(870.0, 870.0, _MAKERS),
    "copper anti-seize paste": _limit(980.0, 980.0, _MAKERS),
    "nickel anti-seize paste": _limit(1315.0, 1315.0, _MAKERS),
    "metal-free anti-seize paste": _limit(1315.0, 1315.0, "common practice, no source: near 2400 degF"),
    # probe sheaths and leads
    "304 sheath": _limit(870.0, 900.0, "scaling in air; from memory, confidence med"),
    "316 sheath": _limit(870.0, 925.0, "scaling in air; from memory, confidence med"),
    "310 sheath": _limit(1100.0, 1150.0, "scaling in air; from memory, confidence med"),
    "alloy 600 sheath": _limit(1100.0, 1150.0, "scaling in air; from memory, confidence med"),
    "type K wire, 0.8 mm": _limit(980.0, 1090.0, "ASTM E230 upper limits by wire size; from memory, confidence med"),
    "PTFE lead": _limit(250.0, 260.0),
    "glass-fibre lead": _limit(400.0, 480.0),
    "silica-fibre lead": _limit(870.0, 1000.0),
    # gauge ends of a pressure tap
    "electronic pressure sender": _limit(105.0, 125.0, _MAKERS),
    "mechanical pressure gauge": _limit(60.0, 80.0, _MAKERS),
    "soft-soldered joint": _limit(120.0, 150.0),
    "brass fitting": _limit(200.0, 260.0),
    # conical washers
    "51CrV4 conical washer": _limit(200.0, 250.0, _DISC),
    "X10CrNi18-8 conical washer": _limit(300.0, 350.0, _DISC),
    "660 conical washer": _limit(550.0, 600.0, _DISC),
    "718 conical washer": _limit(600.0, 700.0, _DISC),
}
