"""Threads, tightening and conical washers against standards and printed examples."""

import math

import pytest
from hotside.models import flange, tightening

INCH, POUND, PSI = 0.0254, 4.4482216, 6894.757
POUND_INCH = INCH * POUND
DISC_SOURCE = "DIN EN 16983 table of disc springs, F at 0.75 h0, from memory; EN 16984 formula"
DISCS = [
    ("A8", 8, 4.2, 0.4, 0.2, 210), ("A25", 25, 12.2, 1.5, 0.55, 2910), ("A50", 50, 25.4, 3, 1.1, 12000),
    ("B8", 8, 4.2, 0.3, 0.25, 119), ("B10", 10, 5.2, 0.4, 0.3, 213), ("B12.5", 12.5, 6.2, 0.5, 0.35, 291),
    ("B16", 16, 8.2, 0.6, 0.45, 412), ("B20", 20, 10.2, 0.8, 0.55, 745), ("B25", 25, 12.2, 0.9, 0.7, 868),
    ("B31.5", 31.5, 16.3, 1.25, 0.9, 1920), ("B40", 40, 20.4, 1.5, 1.15, 2620), ("B50", 50, 25.4, 2, 1.4, 4760),
    ("B63", 63, 31, 2.5, 1.75, 7180), ("B80", 80, 41, 3, 2.3, 10500), ("B100", 100, 51, 3.5, 2.8, 13100),
    ("C20", 20, 10.2, 0.5, 0.65, 254), ("C50", 50, 25.4, 1.25, 1.6, 1550),
]  # fmt: skip


def disc(outer, inner, thickness, cone):
    return flange.Disc(1e-3 * outer, 1e-3 * inner, 1e-3 * thickness, 1e-3 * cone)


@pytest.mark.parametrize(("name", "outer", "inner", "thickness", "cone", "force"), DISCS)
def test_disc_spring_table(published, name, outer, inner, thickness, cone, force):
    one = disc(outer, inner, thickness, cone)
    published(
        f"disc {name} at 0.75 h0", found=flange.disc_force(one, 0.75 * one.cone), value=force, tol=("rel", 0.02),
        unit="N", source=DISC_SOURCE, mark="M+C",
    )  # fmt: skip


@pytest.mark.parametrize(("share", "force"), [(0.25, 1949), (0.5, 3491), (0.75, 4762), (1.0, 5898)])
def test_disc_spring_curve(published, share, force):
    one = disc(50, 25.4, 2, 1.4)
    published(
        f"disc B50 at {share:g} h0", found=flange.disc_force(one, share * one.cone), value=force, tol=("rel", 5e-4),
        unit="N", source="EN 16984 formula, worked by hand", mark="C", guard=True,
    )  # fmt: skip


AREAS = [
    ("M5", 14.2), ("M6", 20.1), ("M8", 36.6), ("M10", 58.0), ("M12", 84.3), ("M14", 115), ("M16", 157), ("M18", 192),
    ("M20", 245), ("M8x1", 39.2), ("M10x1.25", 61.2), ("M12x1.25", 92.1), ("M12x1.5", 88.1), ("M16x1.5", 167),
]  # fmt: skip
INCH_AREAS = [
    ("1/4-20 UNC", 0.0318), ("5/16-18 UNC", 0.0524), ("3/8-16 UNC", 0.0775), ("7/16-14 UNC", 0.1063),
    ("1/2-13 UNC", 0.1419), ("9/16-12 UNC", 0.182), ("5/8-11 UNC", 0.226), ("3/4-10 UNC", 0.334),
    ("1/4-28 UNF", 0.0364), ("5/16-24 UNF", 0.0580), ("3/8-24 UNF", 0.0878), ("7/16-20 UNF", 0.1187),
    ("1/2-20 UNF", 0.1599), ("9/16-18 UNF", 0.203), ("5/8-18 UNF", 0.256), ("3/4-16 UNF", 0.373),
]  # fmt: skip


@pytest.mark.parametrize(("name", "area"), AREAS)
def test_metric_stress_area(published, name, area):
    found = 1e6 * flange.stress_area(*flange.THREADS[name])
    published(
        f"stress area {name}", found=found, value=area, tol=("rel", 0.005), unit="mm2",
        source="ISO 898-1, tables of stress areas, from memory", mark="M+C",
    )  # fmt: skip


@pytest.mark.parametrize(("name", "area"), INCH_AREAS)
def test_unified_stress_area(published, name, area):
    found = flange.stress_area(*flange.THREADS[name], unified=True) / INCH**2
    published(
        f"stress area {name}", found=found, value=area, tol=("rel", 0.004), unit="in2",
        source="ASME B1.1 tables, as in Shigley Table 8-2, from memory", mark="M+C",
    )  # fmt: skip


@pytest.mark.parametrize(
    ("name", "pitch", "root"), [("M6", 5.350, 4.773), ("M10", 9.026, 8.160), ("M12", 10.863, 9.853)]
)
def test_thread_diameters(published, name, pitch, root):
    source = "ISO 724, d2 = d - 0.6495 P; ISO 68-1, d3 = d - 1.2269 P; table values from memory"
    for what, function, value in (("pitch", flange.pitch_diameter, pitch), ("root", flange.root_diameter, root)):
        published(
            f"{what} diameter {name}", found=1e3 * function(*flange.THREADS[name]), value=value, tol=("abs", 1e-3),
            unit="mm", source=source, mark="M+C",
        )  # fmt: skip


def test_torque_of_wentzell(published):
    preload = 0.85 * 85e3 * PSI * flange.stress_area(*flange.THREADS["3/4-10 UNC"], unified=True)
    published(
        "torque 3/4-10 UNC, K 0.20", found=flange.torque_short(preload, 0.20, 0.75 * INCH) / POUND_INCH, value=3619.7,
        tol=("rel", 0.002), unit="lb in", source="T. H. Wentzell, Machine Design, Ex. 6.1 p. 120 (area to 3 digits)",
        mark="R",
    )  # fmt: skip
    area = flange.stress_area(1.25 * INCH, INCH / 12.0, unified=True)
    published(
        "torque 1.25 in stud, K 0.15", found=flange.torque_short(0.9 * 120e3 * PSI * area, 0.15, 1.25 * INCH) / POUND_INCH,
        value=21728.0, tol=("rel", 0.001), unit="lb in", source="T. H. Wentzell, Machine Design, Ex. 6.4 p. 124", mark="R",
    )  # fmt: skip


def test_turn_of_wentzell(published):
    area = flange.stress_area(*flange.THREADS["3/4-10 UNC"], unified=True)
    compliance = 5.0 * INCH / (area * 30e6 * PSI)
    angle = flange.turn_angle(0.85 * 85e3 * PSI * area, compliance, INCH / 10.0)
    published(
        "turn of the nut over a 5 in grip", found=math.degrees(angle), value=43.35, tol=("rel", 5e-4), unit="deg",
        source="T. H. Wentzell, Machine Design, Ex. 6.2", mark="R",
    )  # fmt: skip


@pytest.mark.parametrize(
    ("surface", "value"),
    [("dry", 0.30), ("zinc plated", 0.20), ("oiled", 0.18), ("cadmium plated", 0.16), ("pasted", 0.12)],
)
def test_nut_factors(published, surface, value):
    published(
        f"nut factor, {surface}", found=tightening.NUT_FACTOR[surface][0], value=value, tol=("abs", 1e-9), unit="-",
        source="Shigley, Mechanical Engineering Design, Table 8-15, from memory", mark="M-high", guard=True,
    )  # fmt: skip


def test_torque_of_a_metric_bolt(published):
    diameter, pitch = flange.THREADS["M12"]
    preload = 0.7 * 580e6 * flange.stress_area(diameter, pitch)
    source = "ISO 898-1 proof stress 580 MPa, 70 %, K 0.2, worked by hand"
    published(
        "preload M12",
        found=1e-3 * preload,
        value=34.23,
        tol=("rel", 1e-3),
        unit="kN",
        source=source,
        mark="C",
        guard=True,
    )
    published(
        "torque M12", found=flange.torque_short(preload, 0.2, diameter), value=82.1, tol=("rel", 1e-3), unit="Nm",
        source=source, mark="C", guard=True,
    )  # fmt: skip


@pytest.mark.parametrize(
    ("name", "friction", "kilonewton", "torque"),
    [
        ("M6", 0.12, 10.2, 10.2),
        ("M8", 0.12, 18.6, 24.6),
        ("M10", 0.12, 29.6, 48.0),
        ("M12", 0.12, 43.1, 84.0),
        ("M10", 0.10, None, 42.6),
        ("M12", 0.10, None, 73.5),
    ],
)
def test_assembly_preload_of_vdi(published, name, friction, kilonewton, torque):
    diameter, pitch = flange.THREADS[name]
    face, hole = flange.HEXAGON[diameter]
    preload = flange.yield_preload(diameter, pitch, 640e6, friction)
    source = "VDI 2230 table A1, strength class 8.8, from memory"
    if kilonewton:
        published(
            f"preload {name} at mu {friction:g}", found=1e-3 * preload, value=kilonewton, tol=("rel", 0.01), unit="kN",
            source=source, mark="M+C",
        )  # fmt: skip
    found = flange.torque_long(preload, diameter, pitch, 0.5 * (face + hole), friction, friction)
    published(
        f"torque {name} at mu {friction:g}", found=found, value=torque, tol=("rel", 0.015), unit="Nm", source=source,
        mark="M+C",
    )  # fmt: skip


@pytest.mark.parametrize(("degrees", "value"), [(0.0, 44.4444), (45.0, 45.9397), (90.0, 50.0)])
def test_torque_wrench_adapter(published, degrees, value):
    found = flange.wrench_setting(50.0, 0.40, 0.05, math.radians(degrees))
    published(
        f"wrench setting, adapter at {degrees:g} deg", found=found, value=value, tol=("abs", 1e-3), unit="Nm",
        source="set = target L / (L + E cos(angle)), common practice, L 400 mm, E 50 mm", mark="M-high", guard=True,
    )  # fmt: skip


@pytest.mark.parametrize(("diameter", "grip"), [(0.008, 0.016), (0.010, 0.020), (0.012, 0.050)])
def test_clamped_stiffness_of_shigley(published, diameter, grip):
    """Two like plates, washer face 1.5 d, hole taken at d: the closed form, eq. 8-22."""
    half = 0.5774
    value = half * math.pi * 207e9 * diameter
    value /= 2.0 * math.log(5.0 * (half * grip + 0.5 * diameter) / (half * grip + 2.5 * diameter))
    halves = [0.5 * grip, 0.5 * grip]
    found = 1.0 / flange.parts_compliance(halves, [207e9, 207e9], 1.5 * diameter, diameter, 1.0)
    published(
        f"clamped stiffness, d {1e3 * diameter:g} mm, grip {1e3 * grip:g} mm", found=1e-9 * found, value=1e-9 * value,
        tol=("rel", 1e-3), unit="N/nm", source="Shigley, Mechanical Engineering Design, eq. 8-22, from memory", mark="M+C",
    )  # fmt: skip
