"""Arcs and segments of circles against published tables: what a rocker or an arch measures."""

import math

import numpy as np
import pytest

from patterns.curvature import least_radius
from patterns.curve import Curve
from patterns.outline import Outline, signed_area

HANDBOOK = "Machinery's Handbook, 31st ed. (2020)"


def segment(radius, angle):
    """A circle segment, its chord level: the arc and the chord."""
    arc = Curve.arc((0, 0), radius, math.pi / 2 - angle / 2, math.pi / 2 + angle / 2)
    return arc, Outline(Curve.chain([arc, Curve.line(arc.end, arc.start)]))


def angle_of(chord, rise):
    return 4 * math.atan(2 * rise / chord)


def one_cubic(angle):
    """A single cubic for the whole angle, as the published error formula has it."""
    k = 4 / 3 * math.tan(angle / 4)
    cos, sin = math.cos(angle), math.sin(angle)
    return Curve(np.array([[(1, 0), (1, k), (cos + k * sin, sin - k * cos), (cos, sin)]]))


# Goldapp, "Approximation of circular arcs by cubic polynomials", CAGD 8 (1991), and Riskus (2006): angle in degrees,
# handle 4/3 tan(angle / 4), greatest radial error as a part of the radius.
BEZIER_CIRCLE = [
    (30, 0.175536663, 3.7266e-7),
    (45, 0.265216490, 4.2455e-6),
    (60, 0.357265590, 2.3864e-5),
    (90, 0.552284750, 2.7253e-4),
    (180, 1.333333333, 1.8350e-2),
]


@pytest.mark.parametrize(("degrees", "handle", "error"), BEZIER_CIRCLE)
def test_the_published_error_of_one_cubic(degrees, handle, error):
    curve = one_cubic(math.radians(degrees))
    assert curve.beziers[0, 1, 1] == pytest.approx(handle, abs=1e-9)
    off = np.hypot(*curve.point(np.linspace(0, 1, 200_001)).T) - 1
    assert off.max() == pytest.approx(error, rel=2e-4)
    assert off.min() > -1e-12, "the error is outward only"


def test_our_arcs_are_drawn_in_pieces_that_keep_the_published_error_under_a_thousandth():
    """(2/27) sin(θ/4)^6 / cos(θ/4)^2 (Goldapp 1991) at ten metres' radius."""
    arc = Curve.arc((0, 0), 10_000, 0, math.pi)
    step = math.pi / len(arc) / 4
    published = 10_000 * 2 / 27 * math.sin(step) ** 6 / math.cos(step) ** 2
    off = np.hypot(*arc.point(np.linspace(0, len(arc), 100_001)).T) - 10_000
    assert off.max() == pytest.approx(published, rel=1e-2)
    assert off.max() < 0.001


# Machinery's Handbook, table of segments of circles for radius 1 (layout from memory, figures recomputed): angle in
# degrees, arc, rise, chord, area.
UNIT_SEGMENTS = [
    (30, 0.52360, 0.03407, 0.51764, 0.01180),
    (45, 0.78540, 0.07612, 0.76537, 0.03915),
    (60, 1.04720, 0.13397, 1.00000, 0.09059),
    (90, 1.57080, 0.29289, 1.41421, 0.28540),
    (120, 2.09440, 0.50000, 1.73205, 0.61418),
    (150, 2.61799, 0.74118, 1.93185, 1.05900),
    (180, 3.14159, 1.00000, 2.00000, 1.57080),
]


@pytest.mark.parametrize(("degrees", "length", "rise", "chord", "area"), UNIT_SEGMENTS)
def test_the_handbook_table_of_segments(degrees, length, rise, chord, area):
    arc, outline = segment(1000, math.radians(degrees))
    x0, y0, x1, y1 = outline.bounds
    assert arc.length / 1000 == pytest.approx(length, abs=6e-6)
    assert (y1 - y0) / 1000 == pytest.approx(rise, abs=6e-6)
    assert (x1 - x0) / 1000 == pytest.approx(chord, abs=6e-6)
    assert outline.area / 1e6 == pytest.approx(area, abs=6e-6)


# HANDBOOK, p. 79 (chord 16, rise 6: R = 8 1/3) and p. 50, examples 3 and 4 (R = 12, rise 2; the printed angle comes
# from rounded steps); the rest computed from the same formulas: chord, rise, radius, angle in degrees, arc, area.
WORKED = [
    (16.0, 6.0, 25 / 3, 147.479591, 21.450037, 70.708487),
    (13.266499, 2.0, 12.0, 67.114620, 14.056453, 18.006222),
    (36.0, 6.0, 30.0, 73.739795, 38.610067, 147.150998),
    (48.0, 4.0, 74.0, 37.849289, 48.884009, 128.708315),
    (24.0, 3.0, 25.5, 56.144974, 24.987824, 48.594751),
    (600.0, 75.0, 637.5, 56.144974, 624.695591, 30371.719623),
]


@pytest.mark.parametrize(("chord", "rise", "radius", "degrees", "length", "area"), WORKED)
def test_worked_examples_of_segments(chord, rise, radius, degrees, length, area):
    assert math.degrees(angle_of(chord, rise)) == pytest.approx(degrees, abs=1e-5)
    arc, outline = segment(radius, math.radians(degrees))
    assert arc.length == pytest.approx(length, rel=2e-7)
    assert outline.area == pytest.approx(area, rel=2e-6)
    assert least_radius(arc).radius == pytest.approx(radius, rel=1e-4)
    assert outline.bounds[3] - outline.bounds[1] == pytest.approx(rise, rel=1e-6)


def test_the_handbooks_printed_figures_are_met_as_printed():
    """p. 50: chord 13.27, arc 14.06, area 18.01 for R = 12, rise 2; p. 79: chord 59.86 for R = 60, rise 8 (the book
    doubles a rounded root)."""
    arc, outline = segment(12, 2 * math.acos(1 - 2 / 12))
    x0, _, x1, _ = outline.bounds
    assert round(x1 - x0, 2) == 13.27
    assert round(arc.length, 2) == 14.06
    assert round(outline.area, 2) == 18.01
    x0, _, x1, _ = segment(60, 2 * math.acos(1 - 8 / 60))[1].bounds
    assert x1 - x0 == pytest.approx(59.86, abs=0.01)


def test_the_handbooks_sector():
    """p. 78: R = 35 mm, 60 degrees: arc 36.645 (printed with 0.01745), area 641.41."""
    arc = Curve.arc((0, 0), 35, 0, math.radians(60))
    sector = Curve.chain([Curve.line((0, 0), arc.start), arc, Curve.line(arc.end, (0, 0))])
    assert arc.length == pytest.approx(36.645, abs=0.01)
    assert signed_area(sector) == pytest.approx(641.41, abs=0.005)


def test_the_centroid_of_a_segment():
    """4 R sin³(θ/2) / (3 (θ - sin θ)) from the centre: any mechanics handbook (from memory)."""
    for degrees in (40, 90, 180, 300):
        angle = math.radians(degrees)
        _, outline = segment(500, angle)
        expected = 4 * 500 * math.sin(angle / 2) ** 3 / (3 * (angle - math.sin(angle)))
        assert outline.centroid == pytest.approx((0, expected), rel=1e-6, abs=1e-6)
