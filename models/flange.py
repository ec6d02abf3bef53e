"""The turbine flange's bolted joint: torque to preload, conical washers, and the clamp left hot and after cooling.

A joint is a loop of springs. What tightening stretches and squeezes together is the interference; heat adds to it the
difference of the parts' growth over the stud's, settling and yielding take from it, and the force follows. Forces and
compliances are those of one stud.
"""

import math
from typing import NamedTuple

import numpy as np
from numpy.typing import ArrayLike

TAN_CONE = math.tan(math.radians(30.0))  # pressure cone, J. E. Shigley, Mechanical Engineering Design, sec. 8-5 [-]
THROUGH, TAPPED = 0, 1  # a nut behind the joint, or a thread in the housing

# Nut factor, and the share by which it may lie either way under a torque wrench. Factors: Shigley, Table 8-15, from
# memory, confidence high; "pasted" is his anti-seize row. Scatter: common practice, no source (+-25 % and more).
NUT_FACTOR = {
    "dry": (0.30, 0.30),
    "zinc plated": (0.20, 0.25),
    "oiled": (0.18, 0.25),
    "cadmium plated": (0.16, 0.25),
    "pasted": (0.12, 0.25),
}
# Friction coefficient of thread and head (low, usual, high): VDI 2230 friction classes, from memory, confidence med.
FRICTION = {"dry": (0.14, 0.20, 0.30), "oiled": (0.08, 0.12, 0.16), "pasted": (0.06, 0.09, 0.12)}

_IN = 0.0254
# Nominal diameter and pitch [m]: ISO 261 coarse and common fine; ASME B1.1 unified coarse (UNC) and fine (UNF).
THREADS = {
    f"M{d:g}" + (f"x{p:g}" if fine else ""): (1e-3 * d, 1e-3 * p)
    for fine, sizes in (
        (False, ((5, 0.8), (6, 1.0), (8, 1.25), (10, 1.5), (12, 1.75), (14, 2.0), (16, 2.0), (18, 2.5), (20, 2.5))),
        (True, ((8, 1.0), (10, 1.0), (10, 1.25), (12, 1.25), (12, 1.5), (14, 1.5), (16, 1.5), (18, 1.5), (20, 1.5))),
    )
    for d, p in sizes
} | {
    f"{name}-{turns} {series}": (_IN * inch, _IN / turns)
    for name, inch, coarse, fine_turns in (
        ("1/4", 0.25, 20, 28),
        ("5/16", 0.3125, 18, 24),
        ("3/8", 0.375, 16, 24),
        ("7/16", 0.4375, 14, 20),
        ("1/2", 0.5, 13, 20),
        ("9/16", 0.5625, 12, 18),
        ("5/8", 0.625, 11, 18),
        ("3/4", 0.75, 10, 16),
    )
    for series, turns in (("UNC", coarse), ("UNF", fine_turns))
}
# Washer-face diameter of a hexagon (ISO 4014) and medium clearance hole (ISO 273) [m]; from memory, confidence high.
HEXAGON = {
    nominal * 1e-3: (face * 1e-3, hole * 1e-3)
    for nominal, face, hole in (
        (5, 6.88, 5.5),
        (6, 8.88, 6.6),
        (8, 11.63, 9.0),
        (10, 14.63, 11.0),
        (12, 16.63, 13.5),
        (14, 19.64, 15.5),
        (16, 22.49, 17.5),
        (18, 25.34, 20.0),
        (20, 28.19, 22.0),
    )
}
# Settling of one surface by its roughness Rz (up to 10, 40, 160 um): thread, head or nut face, each inner interface [m].
# VDI 2230 Table 5, tension and compression, from memory, confidence med.
SETTLING = {10e-6: (3.0e-6, 2.5e-6, 1.5e-6), 40e-6: (3.0e-6, 3.0e-6, 2.0e-6), 160e-6: (3.0e-6, 4.0e-6, 3.0e-6)}


# --- threads ---------------------------------------------------------------------------------------------------------


def pitch_diameter(diameter: float, pitch: float) -> float:
    """Basic pitch diameter of the 60-degree profile, ISO 724: d2 = d - 3 sqrt(3)/8 P.

    diameter : float, nominal diameter [m]
    pitch : float, thread pitch [m]
    Returns the pitch diameter [m]
    """
    return diameter - 0.375 * math.sqrt(3.0) * pitch


def root_diameter(diameter: float, pitch: float) -> float:
    """Minor diameter of the external thread with its rounded root, ISO 68-1: d3 = d - 17 sqrt(3)/24 P.

    diameter : float, nominal diameter [m]
    pitch : float, thread pitch [m]
    Returns the root diameter [m]
    """
    return diameter - 17.0 / 24.0 * math.sqrt(3.0) * pitch


def nut_minor_diameter(diameter: float, pitch: float) -> float:
    """Basic minor diameter of the internal thread, ISO 724: D1 = d - 5 sqrt(3)/8 P.

    diameter : float, nominal diameter [m]
    pitch : float, thread pitch [m]
    Returns the minor diameter [m]
    """
    return diameter - 0.625 * math.sqrt(3.0) * pitch


def stress_area(diameter: float, pitch: float, unified: bool = False) -> float:
    """Tensile stress area, on the mean of pitch and root diameter.

    Metric: ISO 898-1, pi/4 ((d2 + d3)/2)^2. Unified: ASME B1.1, pi/4 (d - 0.9743 P)^2, whose root is a little deeper.

    diameter : float, nominal diameter [m]
    pitch : float, thread pitch [m]
    unified : bool, inch thread of ASME B1.1 [-]
    Returns the stress area [m2]
    """
    metric = 0.5 * (pitch_diameter(diameter, pitch) + root_diameter(diameter, pitch))
    return 0.25 * math.pi * (diameter - 0.9743 * pitch if unified else metric) ** 2


def strip_force(
    diameter: float, pitch: float, engagement: float, shear_strength: float, internal: bool = True
) -> float:
    """Axial force that shears the engaged threads, every turn sharing alike.

    Basic profile, shear areas as in FED-STD-H28/2B: internal thread at the stud's crests, pi d L (7/8); external at the
    housing's crests, pi D1 L (3/4). From memory, confidence high; tolerances cost a few per cent.

    diameter : float, nominal diameter [m]
    pitch : float, thread pitch [m]
    engagement : float, length of full threads engaged [m]
    shear_strength : float, of the thread that is asked about, near 0.58 x tensile strength [Pa]
    internal : bool, the housing's thread; else the stud's [-]
    Returns the stripping force [N]
    """
    area = 0.875 * diameter if internal else 0.75 * nut_minor_diameter(diameter, pitch)
    return math.pi * area * engagement * shear_strength


# --- tightening ------------------------------------------------------------------------------------------------------


def torque_short(preload: float, nut_factor: float, diameter: float) -> float:
    """Tightening torque, T = K F d.

    preload : float, stud force [N]
    nut_factor : float, K, NUT_FACTOR holds usual ones [-]
    diameter : float, nominal diameter [m]
    Returns the torque [Nm]
    """
    return nut_factor * preload * diameter


def preload_band(torque: float, nut_factor: float, scatter: float, diameter: float) -> tuple[float, float, float]:
    """Preload a torque leaves, and what scatter of the friction makes of it: F = T / (K d).

    torque : float, tightening torque [Nm]
    nut_factor : float, K [-]
    scatter : float, share by which K may lie either way, 0 to below 1 [-]
    diameter : float, nominal diameter [m]
    Returns (lowest, nominal, highest) preload [N]
    """
    nominal = torque / (nut_factor * diameter)
    return nominal / (1.0 + scatter), nominal, nominal / (1.0 - scatter)


def torque_long(
    preload: float, diameter: float, pitch: float, bearing_diameter: float, mu_thread: float, mu_head: float
) -> float:
    """Tightening torque from its three parts, VDI 2230: pitch, thread friction, head friction.

    M = F [0.16 P + 0.58 d2 mu_G + (D_Km / 2) mu_K]; from memory, confidence high.

    preload : float, stud force [N]
    diameter : float, nominal diameter [m]
    pitch : float, thread pitch [m]
    bearing_diameter : float, mean diameter of the nut's or head's face, (outer + hole)/2 [m]
    mu_thread : float, friction coefficient of the thread [-]
    mu_head : float, friction coefficient under the turning face [-]
    Returns the torque [Nm]
    """
    d2 = pitch_diameter(diameter, pitch)
    return preload * (0.16 * pitch + 0.58 * d2 * mu_thread + 0.5 * bearing_diameter * mu_head)


def yield_preload(
    diameter: float, pitch: float, yield_stress: float, mu_thread: float, utilisation: float = 0.9, waist: float = 0.0
) -> float:
    """Assembly preload that takes a share of yield in tension and torsion together, VDI 2230.

    F = nu Rp02 A0 / sqrt(1 + 3 [1.5 (d2/d0)(P/(pi d2) + 1.155 mu_G)]^2), from memory, confidence high.

    diameter : float, nominal diameter [m]
    pitch : float, thread pitch [m]
    yield_stress : float, Rp0.2 [Pa]
    mu_thread : float, friction coefficient of the thread [-]
    utilisation : float, share of yield [-]
    waist : float, diameter of a waisted shank thinner than the thread; 0 if none [m]
    Returns the preload [N]
    """
    d2 = pitch_diameter(diameter, pitch)
    d0 = waist or 0.5 * (d2 + root_diameter(diameter, pitch))
    torsion = 1.5 * d2 / d0 * (pitch / (math.pi * d2) + 1.155 * mu_thread)
    return utilisation * yield_stress * 0.25 * math.pi * d0**2 / math.sqrt(1.0 + 3.0 * torsion**2)


def turn_angle(preload: float, compliance: float, pitch: float) -> float:
    """Turn of the nut past snug that gives a preload: elongation over pitch.

    preload : float, stud force [N]
    compliance : float, of everything that the turn stretches or squeezes [m/N]
    pitch : float, thread pitch [m]
    Returns the angle [rad]
    """
    return 2.0 * math.pi * preload * compliance / pitch


def wrench_setting(torque: float, length: float, extension: float, angle: float) -> float:
    """Torque wrench setting with a crowfoot adapter: set = target L / (L + E cos(angle)); from memory, confidence high.

    torque : float, torque wanted at the nut [Nm]
    length : float, middle of the grip to the wrench's own square [m]
    extension : float, square to the nut [m]
    angle : float, of the adapter from straight ahead; a right angle needs no correction [rad]
    Returns the setting [Nm]
    Raises ValueError where the adapter reaches back to the hand.
    """
    reach = length + extension * math.cos(angle)
    if reach <= 0.0:
        raise ValueError(f"the adapter reaches back past the grip: effective length {reach:.4f} m")
    return torque * length / reach


# --- conical washers -------------------------------------------------------------------------------------------------


class Disc(NamedTuple):
    """A conical disc spring without ground faces, EN 16984."""

    outer: float  # [m]
    inner: float  # [m]
    thickness: float  # [m]
    cone: float  # free height of the cone, h0 [m]
    modulus: float = 206e9  # [Pa]
    poisson: float = 0.3  # [-]


class Stack(NamedTuple):
    """Discs nested (parallel) in packets, packets opposed (series); none when `opposed` is 0."""

    disc: Disc
    nested: int
    opposed: int
    friction: float = 0.0  # of each inner face of a packet, w_M of EN 16984: 0.01-0.03 [-]


NO_STACK = Stack(Disc(1.0, 0.5, 1.0, 1.0), 0, 0)


def _disc_factor(disc: Disc) -> float:
    """4 E / (1 - nu^2) t^4 / (K1 De^2), the force scale of EN 16984 [N]."""
    d = disc.outer / disc.inner
    k1 = ((d - 1.0) / d) ** 2 / ((d + 1.0) / (d - 1.0) - 2.0 / math.log(d)) / math.pi
    return 4.0 * disc.modulus / (1.0 - disc.poisson**2) * disc.thickness**4 / (k1 * disc.outer**2)


def _within(disc: Disc, deflection: float) -> float:
    """Deflection over thickness [-]; ValueError past flat."""
    if not 0.0 <= deflection <= disc.cone * (1.0 + 1e-12):
        raise ValueError(f"deflection {1e3 * deflection:.4f} mm: the disc is flat at {1e3 * disc.cone:.4f} mm")
    return deflection / disc.thickness


def disc_force(disc: Disc, deflection: float) -> float:
    """Force of one disc, EN 16984 (J. O. Almen and A. Laszlo, Trans. ASME 58 (1936) 305).

    disc : Disc, the spring [-]
    deflection : float, from free, up to flat [m]
    Returns the force [N]
    Raises ValueError past flat.
    """
    x, h = _within(disc, deflection), disc.cone / disc.thickness
    return _disc_factor(disc) * x * ((h - x) * (h - 0.5 * x) + 1.0)


def disc_rate(disc: Disc, deflection: float) -> float:
    """Spring rate of one disc, EN 16984: it falls on the way to flat, and below zero where h0/t > sqrt(2).

    disc : Disc, the spring [-]
    deflection : float, from free, up to flat [m]
    Returns the rate dF/ds [N/m]
    Raises ValueError past flat.
    """
    x, h = _within(disc, deflection), disc.cone / disc.thickness
    return _disc_factor(disc) / disc.thickness * (h * h - 3.0 * h * x + 1.5 * x * x + 1.0)


def disc_stress(disc: Disc, deflection: float) -> float:
    """Reference stress at the middle of the upper face, sigma_OM of EN 16984; flat it must stay under 1600 MPa.

    Formula and limit (for the usual chromium-vanadium steel) from memory, confidence med.

    disc : Disc, the spring [-]
    deflection : float, from free, up to flat [m]
    Returns the stress, compression negative [Pa]
    Raises ValueError past flat.
    """
    return -_disc_factor(disc) * _within(disc, deflection) / disc.thickness**2 * 3.0 / math.pi


def stack_force(stack: Stack, deflection: float) -> float:
    """Force of a loaded stack: packets share the travel, the discs of a packet add force, friction helps them.

    stack : Stack, the arrangement [-]
    deflection : float, of the whole stack [m]
    Returns the force [N]
    Raises ValueError past flat.
    """
    one = disc_force(stack.disc, deflection / stack.opposed)
    return stack.nested * one / (1.0 - stack.friction * (stack.nested - 1))


def stack_deflection(stack: Stack, force: float) -> tuple[float, bool]:
    """Travel of a stack under a force, and whether it is flat: past its flat load it is solid.

    stack : Stack, the arrangement; of falling rate (h0/t > sqrt(2)) is refused [-]
    force : float, axial force [N]
    Returns (deflection [m], flat [-])
    Raises ValueError for a disc that can snap through.
    """
    if stack.opposed == 0 or stack.nested == 0:
        return 0.0, False
    disc = stack.disc
    if disc.cone > math.sqrt(2.0) * disc.thickness:
        raise ValueError(f"disc with h0/t = {disc.cone / disc.thickness:.3f} can snap through; 1.414 at most")
    if force >= stack_force(stack, stack.opposed * disc.cone):
        return stack.opposed * disc.cone, True
    low, high = 0.0, disc.cone
    for _ in range(60):
        middle = 0.5 * (low + high)
        low, high = (middle, high) if stack_force(stack, stack.opposed * middle) < force else (low, middle)
    return stack.opposed * 0.5 * (low + high), False


# --- the joint -------------------------------------------------------------------------------------------------------


def stud_compliance(
    diameter: float,
    pitch: float,
    lengths: ArrayLike,
    sections: ArrayLike,
    modulus: float,
    holding: int = THROUGH,
    headed: bool = False,
) -> float:
    """Stretch of a stud or bolt per force: its free lengths, then what gives way inside nut, thread and head.

    VDI 2230 substitute lengths: engaged thread 0.5 d on the root section; nut 0.4 d, tapped hole 0.33 d and hexagon
    head 0.5 d on the nominal section; from memory, confidence high.

    diameter : float, nominal diameter [m]
    pitch : float, thread pitch [m]
    lengths : array, free lengths between the holding ends [m]
    sections : array, cross section of each [m2]
    modulus : float, of the stud at its temperature [Pa]
    holding : int, THROUGH (nut) or TAPPED for the far end [-]
    headed : bool, a bolt with a head; else a stud with a nut at the near end [-]
    Returns the compliance [m/N]
    """
    thread = 0.5 * diameter / (0.25 * math.pi * root_diameter(diameter, pitch) ** 2)
    nominal = diameter / (0.25 * math.pi * diameter**2)
    near = 0.5 * nominal if headed else thread + 0.4 * nominal
    far = thread + (0.4 if holding == THROUGH else 0.33) * nominal
    free = float(np.sum(np.asarray(lengths, float) / np.asarray(sections, float)))
    return (free + near + far) / modulus


def parts_compliance(
    thickness: ArrayLike, modulus: ArrayLike, face: float, hole: float, edge: float, holding: int = THROUGH
) -> float:
    """Squeeze of the clamped layers per force: a hollow cone of 30 degrees from each face, cut off by the part's edge.

    Shigley, sec. 8-5 (after J. Wileman et al., 1991): one pair of cones meeting half-way under a nut; from a single face
    where the far layer holds the thread. Integrated along the grip, layer by layer.

    thickness : array, layers in order from the nut's face [m]
    modulus : array, of each layer at its temperature [Pa]
    face : float, outer diameter of the nut's or washer's face [m]
    hole : float, clearance hole [m]
    edge : float, diameter of metal there is around the stud [m]
    holding : int, THROUGH or TAPPED [-]
    Returns the compliance [m/N]
    """
    bounds = np.concatenate(([0.0], np.cumsum(np.asarray(thickness, float))))
    grip, total = bounds[-1], 0.0
    for start, end, e in zip(bounds[:-1], bounds[1:], np.asarray(modulus, float), strict=True):
        z = np.linspace(start, end, 801)
        depth = np.minimum(z, grip - z) if holding == THROUGH else z
        cone = np.minimum(face + 2.0 * TAN_CONE * depth, edge)
        total += float(np.trapezoid(1.0 / (0.25 * math.pi * (cone**2 - hole**2) * e), z))
    return total


class Joint(NamedTuple):
    """One stud's joint, cold (as tightened) and hot; forces and travels of one stud."""

    cold_compliance: float  # stud, layers and gasket in series [m/N]
    hot_compliance: float  # the same with the hot moduli [m/N]
    growth: float  # growth of the clamped parts less that of the stud, from cold to hot [m]
    settling: float  # flattening of the surfaces, taken once [m]
    cold_yield_force: float  # stress area x yield of the stud cold [N]
    hot_yield_force: float  # the same hot [N]
    stack: Stack = NO_STACK  # conical washers
    stack_modulus_ratio: float = 1.0  # modulus of the washers hot over cold [-]


class Clamp(NamedTuple):
    """Stud force through one heat cycle."""

    tightened: float  # right after tightening [N]
    settled: float  # cold, surfaces settled [N]
    hot: float  # [N]
    cooled: float  # cold again [N]
    plastic: float  # lasting stretch of the stud from yielding [m]
    hot_gap: float  # opening when nothing is left to clamp [m]
    cold_gap: float  # the same after cooling [m]
    washers_flat: bool  # the washers went solid at some state [-]


def growth_difference(lengths: ArrayLike, strains: ArrayLike, stud_strain: float) -> float:
    """How much more the clamped parts grow than the stud over the same grip.

    lengths : array, thickness of each clamped layer [m]
    strains : array, thermal strain of each layer from cold to hot [-]
    stud_strain : float, thermal strain of the stud over the grip [-]
    Returns the difference, positive where heating tightens [m]
    """
    length = np.asarray(lengths, float)
    return float(np.sum(length * (np.asarray(strains, float) - stud_strain)))


def interference(force: float, compliance: float, stack: Stack = NO_STACK) -> float:
    """What tightening must take up to bring a joint to a force.

    force : float, stud force [N]
    compliance : float, stud, layers and gasket in series [m/N]
    stack : Stack, conical washers in the grip [-]
    Returns the interference [m]
    """
    return force * compliance + stack_deflection(stack, force)[0]


def force_of(amount: float, compliance: float, stack: Stack = NO_STACK) -> float:
    """Stud force of an interference: the inverse of `interference`, by bisection; zero where a gap is left.

    amount : float, interference, negative for a gap [m]
    compliance : float, stud, layers and gasket in series [m/N]
    stack : Stack, conical washers in the grip [-]
    Returns the stud force [N]
    """
    low, high = 0.0, max(amount, 0.0) / compliance
    for _ in range(80):
        middle = 0.5 * (low + high)
        low, high = (middle, high) if interference(middle, compliance, stack) < amount else (low, middle)
    return 0.5 * (low + high)


def _yielded(amount: float, compliance: float, stack: Stack, yield_force: float) -> tuple[float, float]:
    """Force [N] and lasting stretch [m] of an elastic, perfectly plastic stud; torsion left by tightening not counted."""
    force = force_of(amount, compliance, stack)
    if force <= yield_force:
        return force, 0.0
    return yield_force, amount - interference(yield_force, compliance, stack)


def clamp_cycle(joint: Joint, preload: float) -> Clamp:
    """Stud force tightened, settled, hot and cold again, with yielding of the stud where its hot strength asks for it.

    The interference of tightening loses the settling, gains the growth while hot, and loses for good what the stud
    stretched. Elastic, perfectly plastic stud, no creep: time at heat takes more (a hot yield margin is no promise).

    joint : Joint, compliances, growth, settling, strengths, washers [-]
    preload : float, stud force wanted by tightening; held at the cold yield force [N]
    Returns a Clamp, forces in N and travels in m [-]
    Raises ValueError for a preload that is not positive.
    """
    if not preload > 0.0:
        raise ValueError(f"preload {preload:g} N: a joint is tightened with a positive force")
    cold, hot = joint.cold_compliance, joint.hot_compliance
    warm_disc = joint.stack.disc._replace(modulus=joint.stack.disc.modulus * joint.stack_modulus_ratio)
    warm_stack = joint.stack._replace(disc=warm_disc)
    tightened = min(preload, joint.cold_yield_force)
    taken = interference(tightened, cold, joint.stack) - joint.settling
    settled = force_of(taken, cold, joint.stack)
    hot_force, plastic = _yielded(taken + joint.growth, hot, warm_stack, joint.hot_yield_force)
    cooled = force_of(taken - plastic, cold, joint.stack)
    flat = stack_deflection(joint.stack, max(tightened, cooled))[1] or stack_deflection(warm_stack, hot_force)[1]
    gaps = (max(0.0, -taken - joint.growth), max(0.0, plastic - taken))
    return Clamp(tightened, settled, hot_force, cooled, plastic, *gaps, flat)


def stud_margin(force: float, area: float, stress: float) -> float:
    """What is left of a stud to its yield or proof stress at its temperature; negative past it.

    force : float, stud force [N]
    area : float, stress area [m2]
    stress : float, yield or proof stress [Pa]
    Returns the margin as a share of what it bears [-]
    """
    return 1.0 - force / (area * stress)


def gas_force(gauge_pressure: float, area: float) -> float:
    """Force by which exhaust pressure parts the flange.

    gauge_pressure : float, peak exhaust pressure above the air outside [Pa]
    area : float, inside the sealing line [m2]
    Returns the parting force of the whole flange [N]
    """
    return gauge_pressure * area


def clamp_left(stud_force: float, studs: int, parting_force: float, stud_share: float = 0.0) -> float:
    """Clamp left on the sealing face; the parts give up what the studs do not take of the parting force.

    stud_force : float, of one stud [N]
    studs : int, how many [-]
    parting_force : float, of the whole flange [N]
    stud_share : float, share of the parting force that goes into the studs, see load_factor; 0 is the safe side [-]
    Returns the clamp of the whole flange, negative where it opens [N]
    """
    return studs * stud_force - (1.0 - stud_share) * parting_force


def roughness_settling(roughness: float, threads: int, faces: int, interfaces: int) -> float:
    """Settling of one stud's joint, VDI 2230 Table 5 for tension and compression (from memory, confidence med).

    roughness : float, Rz of the surfaces, up to 160e-6 [m]
    threads : int, engaged threads [-]
    faces : int, head and nut faces [-]
    interfaces : int, faces between layers, washers and gasket included [-]
    Returns the settling [m]
    Raises ValueError for rougher surfaces than the table holds.
    """
    for limit, (thread, face, interface) in SETTLING.items():
        if roughness <= limit:
            return threads * thread + faces * face + interfaces * interface
    raise ValueError(f"roughness Rz {1e6 * roughness:.0f} um: the table ends at 160 um")


def load_factor(stud: float, parts: float) -> float:
    """Share of an outside force that a preloaded stud takes, force entering at the faces (VDI 2230).

    stud : float, stud compliance, conical washers included [m/N]
    parts : float, clamped parts' compliance, gasket included [m/N]
    Returns the share [-]
    """
    return parts / (stud + parts)
