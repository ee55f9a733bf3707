"""Arches against handbook tables and drafting constructions. Lengths are in the source's unit."""

from __future__ import annotations

import math

import numpy as np
import pytest
from fontTools.pens.areaPen import AreaPen

from patterns import arch_layouts
from patterns.arches import Arch, arch


def radius(struck: Arch, name: str = "radius") -> float:
    return next(each.radius for each in struck.radii if each.name == name)


def area_on_chord(struck: Arch) -> float:
    """By fontTools, an independent integral over the Béziers."""
    pen = AreaPen()
    pen.moveTo(tuple(struck.curve.start))
    for bezier in struck.curve.beziers:
        pen.curveTo(*(tuple(point) for point in bezier[1:]))
    pen.closePath()
    return abs(pen.value)


# -------------------------------------------------------------------- segmental


def test_radius_arc_and_area_from_chord_and_rise():
    # Machinery's Handbook, 31st ed. (2020), p. 79 example: chord 16, rise 6, radius 8 1/3
    struck = arch("segmental", 16.0, rise=6.0)
    assert radius(struck) == pytest.approx(8 + 1 / 3)
    assert struck.curve.length == pytest.approx(21.450037, abs=1e-6)
    assert area_on_chord(struck) == pytest.approx(70.708487, rel=1e-6)


def test_chord_from_radius_and_rise():
    # Machinery's Handbook, 31st ed., p. 79 example: radius 60, rise 8, chord 59.86 (from rounded steps; exactly 59.8665)
    struck = arch("segmental", 59.866518, radius=60.0)
    assert struck.rise == pytest.approx(8.0, abs=1e-6)
    assert radius(struck) == pytest.approx(60.0)


def test_arc_and_area_from_radius_and_rise():
    # Machinery's Handbook, 31st ed., p. 50, examples 3 and 4: radius 12, rise 2; printed 13.27, 67.13°, 14.06, 18.01
    struck = arch("segmental", 13.266499, rise=2.0)
    assert radius(struck) == pytest.approx(12.0, abs=1e-6)
    assert struck.curve.length == pytest.approx(14.06, abs=0.005)
    assert area_on_chord(struck) == pytest.approx(18.01, abs=0.005)
    assert struck.curve.length == pytest.approx(14.056453, abs=2e-6)


@pytest.mark.parametrize(
    ("degrees", "arc", "rise", "chord", "area"),
    [
        (30, 0.52360, 0.03407, 0.51764, 0.01180),
        (45, 0.78540, 0.07612, 0.76537, 0.03915),
        (60, 1.04720, 0.13397, 1.00000, 0.09059),
        (90, 1.57080, 0.29289, 1.41421, 0.28540),
        (120, 2.09440, 0.50000, 1.73205, 0.61418),
        (150, 2.61799, 0.74118, 1.93185, 1.05900),
        (180, 3.14159, 1.00000, 2.00000, 1.57080),
    ],
)
def test_the_table_of_segments_for_radius_1(degrees, arc, rise, chord, area):
    # Machinery's Handbook, table of segments of circles for radius 1 (layout from memory; values recomputed)
    struck = arch("segmental", 2 * math.sin(math.radians(degrees) / 2), radius=1.0)
    printed = pytest.approx((arc, rise, chord, area), abs=6e-6)
    assert (struck.curve.length, struck.rise, struck.span, area_on_chord(struck)) == printed


@pytest.mark.parametrize(
    ("chord", "rise", "expected", "arc", "area"),
    [
        (36.0, 6.0, 30.0, 38.610067, 147.150998),
        (48.0, 4.0, 74.0, 48.884009, 128.708315),
        (24.0, 3.0, 25.5, 24.987824, 48.594751),
        (600.0, 75.0, 637.5, 624.695591, 30371.719623),
    ],
)
def test_shop_sizes(chord, rise, expected, arc, area):
    # computed from Machinery's Handbook, 31st ed., pp. 78-79: R = (c² + 4h²) / 8h, L = Rθ, A = R²(θ - sin θ) / 2
    struck = arch("segmental", chord, rise=rise)
    assert radius(struck) == pytest.approx(expected)
    assert struck.curve.length == pytest.approx(arc, rel=2e-8)
    assert area_on_chord(struck) == pytest.approx(area, rel=1e-6)
    assert struck.radii[0].centre == pytest.approx((0.0, rise - expected))


def test_the_pocketbooks_short_formula_comes_near():
    # ICS Building Trades Pocketbook: L = (8e - c) / 3 nearly, e the chord of half the arc; 38.596 for c = 36, h = 6
    assert arch("segmental", 36.0, rise=6.0).curve.length == pytest.approx(38.596443, rel=5e-4)


# -------------------------------------------------------------------- elliptical


@pytest.mark.parametrize(
    ("a", "b", "half_perimeter", "ramanujan", "springing", "crown"),
    [(18.0, 9.0, 43.598016992, 43.598016973, 4.5, 36.0), (5.0, 3.0, 12.763499432, 12.763499431, 1.8, 8.333333333)],
)
def test_half_an_ellipse(a, b, half_perimeter, ramanujan, springing, crown):
    # analytic geometry; perimeter by quadrature and by Ramanujan's formula
    struck = arch("elliptical", 2 * a, rise=b)
    assert struck.curve.length == pytest.approx(half_perimeter, rel=1e-7)
    assert struck.curve.length == pytest.approx(ramanujan, rel=1e-7)
    assert (radius(struck, "end radius"), radius(struck, "crown radius")) == pytest.approx((springing, crown))
    assert area_on_chord(struck) == pytest.approx(math.pi * a * b / 2, rel=1e-6)


# -------------------------------------------------------------------- three-centred


def test_the_rule_that_comes_near_an_ellipse():
    # drafting texts: L = √(a² + b²), r = L(L - (a - b)) / 2a, R = L(L + (a - b)) / 2b; a = 5, b = 3
    struck = arch("three-centred", 10.0, rise=3.0)
    radii = (radius(struck, "end radius"), radius(struck, "crown radius"))
    assert radii == pytest.approx((2.233809621, 7.610317298))
    # the general formula of tangent arcs for that end radius gives the same crown radius
    given = arch("three-centred", 10.0, rise=3.0, end_radius=2.233809621)
    assert radius(given, "crown radius") == pytest.approx(7.610317298, rel=1e-8)


def test_the_basket_handle_on_thirds_of_the_span():
    # carpentry and masonry texts: the span in three, an equilateral triangle on the middle third, centres at its corners
    span = 900.0
    struck = arch("three-centred", span, rise=0.377991532 * span, end_radius=span / 3)
    assert radius(struck, "crown radius") == pytest.approx(2 * span / 3, rel=1e-7)
    ends, crown = struck.radii
    assert ends.centre == pytest.approx((-span / 6, 0.0), abs=1e-6)
    assert crown.centre == pytest.approx((0.0, -0.288675135 * span), abs=1e-4)
    heading = math.radians(90 - 60)  # after the end arc's 60 degrees
    joints = np.diff(struck.curve.beziers[:, :2], axis=1)[:, 0]
    headings = np.arctan2(joints[:, 1], joints[:, 0])
    assert np.abs(headings - heading).min() < 1e-6


# -------------------------------------------------------------------- pointed


@pytest.mark.parametrize(
    ("span", "rise", "expected"), [(30.0, 20.0, 20.833333333), (30.0, 25.980762114, 30.0), (30.0, 36.0, 50.7)]
)
def test_two_centred_gothic(span, rise, expected):
    # architecture handbooks: drop, equilateral and lancet arches (class names from memory); R = (c²/4 + h²) / c
    struck = arch("pointed", span, rise=rise)
    assert radius(struck) == pytest.approx(expected)
    assert struck.radii[0].centre == pytest.approx((expected - span / 2, 0.0))
    at_crown = np.diff(struck.curve.beziers[len(struck.curve) // 2 - 1], axis=0)[-1]
    assert at_crown[1] / at_crown[0] == pytest.approx((expected - span / 2) / rise, rel=1e-9)
    assert arch("pointed", span, radius=expected).rise == pytest.approx(rise, rel=1e-9)


# -------------------------------------------------------------------- four-centred and ogee


@pytest.mark.parametrize(
    ("turn_deg", "expected", "centre"),
    [(60.0, 84.373067, (27.186533, -67.873067)), (45.0, 27.0, (2.849242, -14.849242))],
)
def test_four_centred_tudor(turn_deg, expected, centre):
    # geometry of tangent arcs: c = 36, h = 12, r = 6, K = c/2 - r, D = (K² + h² - r²) / 2(r + K cos β - h sin β)
    half = arch_layouts.four_centred_by_turn(18.0, 12.0, 6.0, math.radians(turn_deg), "")
    assert half.radii[0].centre == pytest.approx((-12.0, 0.0))
    assert half.radii[1].radius == pytest.approx(expected, abs=1e-6)
    assert half.radii[1].centre == pytest.approx(centre, abs=1e-6)
    assert half.curve.end == pytest.approx([0.0, 12.0])


def test_the_tudor_arch_of_a_square_under_the_middle_half():
    # the masons' layout on quarters of the span: end centres at the quarter points, crown centres at the lower corners
    # of the square under the middle half, crown arcs 45 degrees on (common practice, from memory)
    c = 36.0
    rise = math.sqrt((c / 4 + c / math.sqrt(2)) ** 2 - (c / 4) ** 2) - c / 2
    half = arch_layouts.four_centred_by_turn(c / 2, rise, c / 4, math.pi / 4, "")
    assert half.radii[1].centre == pytest.approx((c / 4, -c / 2))


def test_four_centred_usual_rule():
    # carpentry and masonry texts, span and rise given: end radius two thirds of the rise, the crown's tangent aims at
    # the point as high as that over the springing (from memory)
    struck = arch("four-centred", 36.0, rise=12.0)
    assert radius(struck, "end radius") == pytest.approx(8.0)
    at_crown = np.diff(struck.curve.beziers[len(struck.curve) // 2 - 1], axis=0)[-1]
    assert at_crown[1] / at_crown[0] == pytest.approx((12.0 - 8.0) / 18.0)
    ends, crown = struck.radii
    apart = math.dist(ends.centre, crown.centre)
    assert apart == pytest.approx(crown.radius - ends.radius)
    assert math.dist(crown.centre, (0.0, 12.0)) == pytest.approx(crown.radius)


def test_ogee_of_equal_radii():
    # surveyors' reversed curve between parallel tangents: r1 + r2 = (h² + w²) / 2w; c = 30, h = 24: 26.7, each 13.35
    struck = arch("ogee", 30.0, rise=24.0)
    assert [each.radius for each in struck.radii] == pytest.approx([13.35, 13.35])
    assert struck.radii[0].centre == pytest.approx((-15.0 + 13.35, 0.0))
    assert struck.radii[1].centre == pytest.approx((-13.35, 24.0))
    # each arc turns 2 atan(w / h)
    turn = 2 * math.atan2(15.0, 24.0)
    assert struck.curve.length == pytest.approx(4 * 13.35 * turn, rel=1e-6)
