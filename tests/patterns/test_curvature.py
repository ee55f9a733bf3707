"""How tightly curves turn, where they turn the other way, and where they break."""

import math

import numpy as np
import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from patterns.affine import Affine
from patterns.curvature import corners, inflections, least_radius, signed_curvature, straight_pieces
from patterns.curve import Curve

thousandths = st.integers(0, 200_000).map(lambda k: k / 1000)
points = st.tuples(thousandths, thousandths)
places = st.integers(0, 1000).map(lambda k: k / 1000)
beziers = st.lists(points, min_size=4, max_size=4).map(lambda p: Curve(np.array([p])))


def bezier(*controls):
    return Curve(np.array([controls], dtype=float))


def circle_through(curve, t, h=1e-4):
    """The radius of the circle through three near points: curvature without a derivative."""
    a, b, c = curve.point(t - h), curve.point(t), curve.point(t + h)
    sides = math.dist(a, b) * math.dist(b, c) * math.dist(c, a)
    twice_area = (b[0] - a[0]) * (c[1] - a[1]) - (b[1] - a[1]) * (c[0] - a[0])
    return sides / (2 * twice_area)


@pytest.mark.parametrize("name", ["arc", "circle", "clockwise circle", "ellipse", "wave", "loop", "ten metres"])
def test_curvature_against_the_circle_through_three_points(zoo, name):
    curve = zoo[name]
    for t in (0.13, 0.31, 0.77):
        assert 1 / float(signed_curvature(curve, t)) == pytest.approx(circle_through(curve, t), rel=1e-4)


def test_an_ellipse_is_tightest_at_the_ends_of_its_long_axis():
    """b² / a, any geometry text; the cubic arcs that draw it are off by a few parts in a hundred thousand."""
    ellipse = Curve.circle((0, 0), 1).transformed(Affine.scaling(400, 100))
    tight = least_radius(ellipse)
    assert tight.radius == pytest.approx(25, rel=2e-4)
    assert abs(tight.at[0]) == pytest.approx(400, abs=0.05)
    assert abs(tight.at[1]) < 1
    assert tight.turning == "left"
    assert least_radius(ellipse, "right") is None


def test_a_parabola_is_tightest_at_its_vertex():
    """y = x² has radius (1 + 4 x²)^(3/2) / 2: a half at the vertex."""
    curve = bezier((-1, 1), (-1 / 3, -1 / 3), (1 / 3, -1 / 3), (1, 1))
    tight = least_radius(curve)
    assert tight.radius == pytest.approx(0.5, rel=1e-12)
    assert tight.t == pytest.approx(0.5, abs=1e-9)
    assert 1 / signed_curvature(curve, 1.0) == pytest.approx(0.5 * 5**1.5, rel=1e-12)


@settings(max_examples=80, deadline=None)
@given(beziers)
def test_no_place_is_tighter_than_the_least_radius(curve):
    k = signed_curvature(curve, np.linspace(0, 1, 2001))
    for turning, side in (("left", k), ("right", -k), (None, np.abs(k))):
        tight = least_radius(curve, turning)
        most = side[np.isfinite(side)].max(initial=0.0)
        if tight is None:
            assert most < 1e-6 or straight_pieces(curve).all()
        elif tight.radius > 0:
            assert most * tight.radius <= 1 + 1e-9
            assert abs(float(signed_curvature(curve, tight.t))) * tight.radius == pytest.approx(1, rel=1e-6)


@settings(max_examples=50, deadline=None)
@given(beziers, places)
def test_a_reversed_curve_turns_the_other_way(curve, t):
    assume(not straight_pieces(curve).all())
    here, there = signed_curvature(curve, t), signed_curvature(curve.reversed(), 1 - t)
    np.testing.assert_allclose(here, -there, rtol=1e-5, atol=1e-9)


@settings(max_examples=50, deadline=None)
@given(beziers, st.floats(0.01, 100))
def test_scaling_the_curve_scales_its_radius(curve, factor):
    small, large = least_radius(curve), least_radius(curve.transformed(Affine.scaling(factor)))
    if small is not None and large is not None:
        assert large.radius == pytest.approx(factor * small.radius, rel=1e-6, abs=1e-9)


def test_each_side_of_a_wave_has_its_own_least_radius(zoo):
    left, right = least_radius(zoo["wave"], "left"), least_radius(zoo["wave"], "right")
    assert left.radius == pytest.approx(right.radius)
    assert left.t == pytest.approx(1 - right.t)
    assert left.t > 0.5, "it turns right first"


def test_straight_lines_have_no_radius(zoo):
    for name in ("line", "line of unequal handles", "line with a point in it", "square"):
        assert least_radius(zoo[name]) is None, name
    assert least_radius(bezier((0, 0), (1, 3), (2, 6), (1000, 3000))) is None


def test_a_cusp_has_radius_zero_and_is_a_corner_of_half_a_turn(zoo):
    tight = least_radius(zoo["cusp"])
    assert tight.radius == 0
    assert tight.at == pytest.approx((50, 75))
    (corner,) = corners(zoo["cusp"])
    assert corner.at == pytest.approx((50, 75))
    assert abs(corner.turn) == pytest.approx(math.pi)


def test_a_tight_joint_is_seen_from_both_pieces():
    """A radius of 20 that ends at a joint with a radius of 300 must not be lost to the wide side."""
    tight_then_wide = Curve.chain([Curve.arc((0, 0), 20, -math.pi / 2, 0), Curve.arc((-280, 0), 300, 0, 0.5)])
    assert least_radius(tight_then_wide.between(2.5, 6)).radius == pytest.approx(20, rel=1e-4)
    assert least_radius(tight_then_wide.reversed()).radius == pytest.approx(20, rel=1e-4)


def test_a_reverse_curve_is_inflected_where_its_arcs_meet(zoo):
    ogee = zoo["ogee"]
    np.testing.assert_allclose(inflections(ogee), [4])
    with_line = Curve.chain(
        [
            Curve.arc((0, 0), 50, math.pi, math.pi / 2),
            Curve.line((0, 50), (80, 50)),
            Curve.arc((80, 100), 50, -math.pi / 2, 0),
        ]
    )
    (t,) = inflections(with_line)
    np.testing.assert_allclose(with_line.point(t), [40, 50])


def test_the_inflection_of_a_wave(zoo):
    np.testing.assert_allclose(inflections(zoo["wave"]), [0.5])
    for name in ("arc", "circle", "clockwise circle", "ellipse", "square", "line", "cusp", "loop", "ten metres"):
        assert len(inflections(zoo[name])) == 0, name


def test_a_closed_curve_may_be_inflected_at_its_seam():
    """A figure of eight of two circles is inflected once at each passing of the middle; a seam there is no end."""
    eight = Curve.chain(
        [Curve.arc((50, 0), 50, math.pi, 3 * math.pi), Curve.arc((-50, 0), 50, 0, -2 * math.pi)]
    ).closed_up()
    np.testing.assert_allclose(inflections(eight), [0, 16])


def test_corners_of_a_square_are_quarter_turns(zoo):
    found = corners(zoo["square"])
    assert [corner.t for corner in found] == [0, 1, 2, 3]
    assert [corner.turn for corner in found] == pytest.approx([math.pi / 2] * 4)
    assert [corner.turn for corner in corners(zoo["square"].reversed())] == pytest.approx([-math.pi / 2] * 4)


def test_smooth_curves_have_no_corners(zoo):
    for name in ("circle", "ellipse", "ogee", "arc", "wave", "line with a point in it"):
        assert corners(zoo[name]) == (), name
    slight = Curve.polyline([(0, 0), (100, 0), (200, 1)])
    assert len(corners(slight)) == 1
    assert corners(slight, angle_tolerance=0.02) == ()


def test_a_line_that_doubles_back_has_a_corner_at_each_turn():
    found = corners(bezier((0, 0), (150, 0), (-50, 0), (100, 0)))
    assert [abs(corner.turn) for corner in found] == pytest.approx([math.pi, math.pi])
