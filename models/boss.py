"""A tapped hole in a runner: how much full thread a curved wall leaves, and how much wall the hole leaves.

The drill goes straight through a tube. Across the hole the outer surface falls away and the inner surface too; thread
that is whole all around lies between the lowest point outside and the highest inside.
"""

import math

# Length of full engagement asked for, in nominal diameters [-]; common practice, no source.
ENGAGEMENT = {"steel": 1.0, "stainless steel": 1.0, "cast iron": 1.5, "aluminium": 2.0}
# Centre of a hole to an edge, weld toe or another hole's edge, in hole diameters [-]; common practice, no source.
EDGE_DISTANCE = 1.5
_IN = 0.0254
# Taper pipe threads: diameter at the small end's tap drill, pitch, hand-tight length L1, effective length L2 [m];
# ASME B1.20.1 and (R) ISO 7-1 with its gauge length and useful thread; from memory, confidence med.
TAPERS = {
    "1/8-27 NPT": (0.339 * _IN, _IN / 27.0, 0.1615 * _IN, 0.2639 * _IN),
    "1/4-18 NPT": (0.4375 * _IN, _IN / 18.0, 0.2278 * _IN, 0.4018 * _IN),
    "R 1/8": (8.4e-3, 0.907e-3, 4.0e-3, 6.5e-3),
    "R 1/4": (11.2e-3, 1.337e-3, 6.0e-3, 9.7e-3),
}


def full_thread(
    outer_radius: float, wall: float, hole: float, pitch: float, boss_height: float | None = None, offset: float = 0.0
) -> float:
    """Length of thread that is whole all around, one pitch taken off for the lead-in.

    outer_radius : float, of the runner [m]
    wall : float, thickness [m]
    hole : float, nominal thread diameter [m]
    pitch : float, thread pitch [m]
    boss_height : float or None, of a flat boss above the runner's crown; None for the bare round wall [m]
    offset : float, of the hole's axis from the runner's axis [m]
    Returns the length, 0 where no turn is whole [m]
    Raises ValueError where the hole misses the bore or the wall has no bore.
    """
    inner, reach = outer_radius - wall, abs(offset) + 0.5 * hole
    if wall <= 0.0 or inner <= 0.0 or reach >= inner:
        raise ValueError(f"hole reaching {reach:.4f} m off the axis does not enter a bore of radius {inner:.4f} m")
    round_wall = math.sqrt(outer_radius**2 - reach**2)
    outside = round_wall if boss_height is None else outer_radius + boss_height
    nearest = max(0.0, abs(offset) - 0.5 * hole)
    inside = math.sqrt(inner**2 - nearest**2)
    return max(0.0, outside - inside - pitch)


def engagement_needed(hole: float, rule: float) -> float:
    """Engagement that common practice asks for.

    hole : float, nominal thread diameter [m]
    rule : float, in diameters, see ENGAGEMENT [-]
    Returns the length [m]
    """
    return rule * hole


def boss_height_for(outer_radius: float, wall: float, hole: float, pitch: float, needed: float) -> float | None:
    """Height of a flat boss above the crown that makes the engagement whole over the length needed.

    outer_radius : float, of the runner [m]
    wall : float, thickness [m]
    hole : float, nominal thread diameter [m]
    pitch : float, thread pitch [m]
    needed : float, length of full thread [m]
    Returns the height, or None where the bare wall is enough [m]
    Raises ValueError where the hole misses the bore.
    """
    if full_thread(outer_radius, wall, hole, pitch) >= needed:
        return None
    return max(0.0, needed + pitch - wall)


def blow_out_factor(strip_force: float, gauge_pressure: float, hole: float) -> float:
    """Force that strips the thread over the force of the gas on the plug.

    strip_force : float, of the engaged thread at its temperature [N]
    gauge_pressure : float, peak exhaust pressure above the air outside [Pa]
    hole : float, nominal thread diameter [m]
    Returns the factor [-]
    """
    return strip_force / (gauge_pressure * 0.25 * math.pi * hole**2)


def section_left(outer_radius: float, wall: float, hole: float) -> float:
    """Share of the runner's round section that the hole leaves standing, on the mean radius.

    outer_radius : float, of the runner [m]
    wall : float, thickness [m]
    hole : float, drilled diameter [m]
    Returns the share [-]
    Raises ValueError for a hole as wide as the runner.
    """
    mean = outer_radius - 0.5 * wall
    if hole >= 2.0 * mean:
        raise ValueError(f"hole of {hole:.4f} m in a runner of mean diameter {2.0 * mean:.4f} m")
    return 1.0 - math.asin(0.5 * hole / mean) / math.pi


def ligament(centre_to_edge: float, hole: float) -> float:
    """Metal between a hole and the nearest edge, weld toe or other hole.

    centre_to_edge : float, along the wall [m]
    hole : float, drilled diameter [m]
    Returns the metal left, negative where it breaks out [m]
    """
    return centre_to_edge - 0.5 * hole


def ligament_margin(centre_to_edge: float, hole: float) -> float:
    """What is left to the usual edge distance of EDGE_DISTANCE diameters; negative where it is too near.

    centre_to_edge : float, along the wall [m]
    hole : float, drilled diameter [m]
    Returns the margin [m]
    """
    return centre_to_edge - EDGE_DISTANCE * hole


def hole_stress(gauge_pressure: float, outer_radius: float, wall: float) -> float:
    """Peak stress beside a small round hole in a tube under pressure: 3 hoop - axial = 2.5 p r / t.

    G. Kirsch (1898) for two directions of stress; thin closed tube. Heat stress is not in it and is often larger.

    gauge_pressure : float, peak exhaust pressure above the air outside [Pa]
    outer_radius : float, of the runner [m]
    wall : float, thickness [m]
    Returns the stress [Pa]
    """
    return 2.5 * gauge_pressure * (outer_radius - 0.5 * wall) / wall


def blockage(inner_radius: float, stem: float, immersion: float) -> float:
    """Share of the runner's section that a probe's stem stands in.

    inner_radius : float, of the runner [m]
    stem : float, probe diameter [m]
    immersion : float, reach inside the wall [m]
    Returns the share [-]
    Raises ValueError where the probe would touch the far wall.
    """
    if immersion >= 2.0 * inner_radius:
        raise ValueError(f"probe reaching {immersion:.4f} m touches the far wall of a {2.0 * inner_radius:.4f} m bore")
    return stem * immersion / (math.pi * inner_radius**2)
