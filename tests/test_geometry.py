"""Slider-crank: against the linkage solved by search, its own integrals, and the limit of an endless rod."""

import math

import pytest
from hotside.models.geometry import geometry, liner_area, mean_piston_speed, volume
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.integrate import quad
from scipy.optimize import brentq

BORE, STROKE, ROD, RATIO = 0.086, 0.086, 0.1435, 9.2
GEO = geometry(BORE, STROKE, ROD, RATIO)
SWEPT = math.pi / 4.0 * BORE**2 * STROKE

angles = st.floats(-720.0, 720.0)


def pin_height(angle, crank, rod):
    """Height of the piston pin above the crank's axis: where a rod of this length reaches, found by search."""
    x, y = crank * math.sin(math.radians(angle)), crank * math.cos(math.radians(angle))
    return brentq(lambda z: math.hypot(x, z - y) - rod, y, y + 1.001 * rod, xtol=1e-15)


@settings(deadline=None)  # the first call compiles
@given(angle=angles, rod_over_stroke=st.floats(0.55, 4.0), ratio=st.floats(4.0, 20.0))
def test_volume_is_the_linkage_solved_by_search(angle, rod_over_stroke, ratio):
    geo = geometry(BORE, STROKE, rod_over_stroke * STROKE, ratio)
    down = 0.5 * STROKE + geo.rod_length - pin_height(angle, 0.5 * STROKE, geo.rod_length)
    assert volume(geo, angle)[0] == pytest.approx(geo.clearance + geo.piston_area * down, rel=1e-10)


def test_largest_over_smallest_volume_is_the_compression_ratio():
    top, bottom = volume(GEO, 0.0)[0], volume(GEO, 180.0)[0]
    assert bottom / top == pytest.approx(RATIO, rel=1e-12)
    assert bottom - top == pytest.approx(SWEPT, rel=1e-12)
    assert GEO.swept == pytest.approx(SWEPT, rel=1e-12)


@settings(deadline=None)
@given(angle=angles)
def test_rate_is_the_slope_of_the_volume(angle):
    step = 1e-3
    slope = (volume(GEO, angle + step)[0] - volume(GEO, angle - step)[0]) / (2.0 * step)
    assert volume(GEO, angle)[1] == pytest.approx(slope, rel=1e-6, abs=1e-6 * SWEPT / 180.0)


@settings(deadline=None)
@given(angle=st.floats(0.0, 360.0))
def test_up_and_down_strokes_mirror_each_other(angle):
    up, down = volume(GEO, -angle), volume(GEO, angle)
    assert up[0] == pytest.approx(down[0], rel=1e-12)
    assert up[1] == pytest.approx(-down[1], rel=1e-12, abs=1e-18)


def test_the_rate_adds_up_to_the_swept_volume_and_to_the_mean_piston_speed():
    stroke_down = quad(lambda a: volume(GEO, a)[1], 0.0, 180.0, epsabs=1e-14)[0]
    assert stroke_down == pytest.approx(SWEPT, rel=1e-9)
    speed_rpm = 3500.0
    seconds = 0.5 * 60.0 / speed_rpm  # of one stroke
    assert mean_piston_speed(GEO, speed_rpm) == pytest.approx(stroke_down / GEO.piston_area / seconds, rel=1e-9)


def test_an_endless_rod_moves_the_piston_as_a_cosine():
    geo = geometry(BORE, STROKE, 1e4 * STROKE, RATIO)
    for angle in (30.0, 60.0, 90.0, 140.0):
        cosine = geo.clearance + 0.5 * SWEPT * (1.0 - math.cos(math.radians(angle)))
        assert volume(geo, angle)[0] == pytest.approx(cosine, rel=1e-4)


def test_a_short_rod_leaves_top_dead_centre_faster():
    """The rod's lean adds to the crank's drop on the upper half of the stroke; at the bottom it takes it back."""
    at_90 = [volume(geometry(BORE, STROKE, rod, RATIO), 90.0)[0] for rod in (0.120, 0.145, 0.200, 1.0)]
    assert at_90 == sorted(at_90, reverse=True)
    near_top = [volume(geometry(BORE, STROKE, rod, RATIO), 20.0)[1] for rod in (0.120, 0.145, 0.200, 1.0)]
    assert near_top == sorted(near_top, reverse=True)
    near_bottom = [volume(geometry(BORE, STROKE, rod, RATIO), 160.0)[1] for rod in (0.120, 0.145, 0.200, 1.0)]
    assert near_bottom == sorted(near_bottom)


def test_surfaces_are_a_liner_and_two_lids():
    assert liner_area(GEO, volume(GEO, 0.0)[0]) == pytest.approx(0.0, abs=1e-12)
    assert liner_area(GEO, volume(GEO, 180.0)[0]) == pytest.approx(math.pi * BORE * STROKE, rel=1e-12)
    assert GEO.piston_area == pytest.approx(math.pi / 4.0 * BORE**2, rel=1e-12)
    flat = geometry(BORE, STROKE, ROD, RATIO, head_area_ratio=1.0)
    assert flat.head_area == pytest.approx(flat.piston_area, rel=1e-12)
    assert GEO.head_area > flat.head_area  # a roof has more surface than the hole it covers


def test_other_numbers_compile_nothing_new():
    volume(GEO, 10.0)
    before = len(volume.signatures)
    volume(geometry(1, 2, 3, 4), 10.0)  # a caller's whole numbers become floats
    assert len(volume.signatures) == before
