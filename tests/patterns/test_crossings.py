"""Where curves cross lines, each other and themselves, and what is nearest."""

import math

import numpy as np
import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from patterns.affine import Affine
from patterns.crossings import at_x, at_y, between, nearest, nearest_to_each, self_crossings
from patterns.curve import Curve

thousandths = st.integers(0, 200_000).map(lambda k: k / 1000)
points = st.tuples(thousandths, thousandths)
beziers = st.lists(points, min_size=4, max_size=4).map(lambda p: Curve(np.array([p])))


def motion(angle, dx, dy):
    return Affine.translation(dx, dy) @ Affine.rotation(angle)


motions = st.builds(motion, st.floats(0, 7), st.floats(-200, 200), st.floats(-9, 9))


def bezier(*controls):
    return Curve(np.array([controls], dtype=float))


def places(curve, found):
    return [tuple(curve.point(t).round(6)) for t, _ in found]


# ---------------------------------------------------------------- lines


def test_a_circle_and_its_upright_lines(zoo):
    circle = Curve.circle((0, 0), 100)
    assert at_x(circle, 0).tolist() == [4, 12]
    assert at_x(circle, 100).tolist() == [0], "a touch at the seam counts once, as 0"
    assert at_x(circle, -100).tolist() == [8]
    assert at_y(circle, 0).tolist() == [0, 8]
    assert len(at_x(circle, 100.001)) == 0
    np.testing.assert_allclose(circle.point(at_y(circle, 60))[:, 0], [80, -80], atol=1e-5)


@settings(max_examples=80, deadline=None)
@given(beziers, thousandths)
def test_every_crossing_of_a_line_is_found(curve, x):
    found = at_x(curve, x)
    np.testing.assert_allclose(curve.point(found)[..., 0], x, atol=1e-8)
    side = np.sign(np.round(curve.point(np.linspace(0, 1, 501))[:, 0] - x, 8))
    assert len(found) >= np.count_nonzero(side[1:] * side[:-1] < 0)


def test_a_line_along_the_line_gives_its_ends(zoo):
    assert at_x(zoo["square"], 60).tolist() == [1, 2]
    assert at_y(zoo["square"], 0).tolist() == [0, 1]
    assert at_y(zoo["square"], 30).tolist() == [1.5, 3.5]


def test_a_joint_on_the_line_counts_once():
    assert at_x(Curve.polyline([(0, 0), (10, 5), (20, 0)]), 10).tolist() == [1]
    assert at_y(Curve.polyline([(0, 0), (10, 5), (20, 0)]), 5).tolist() == [1]


# ---------------------------------------------------------------- two curves


def test_two_circles_cross_where_geometry_says():
    """Circles of 100, 150 apart: x = 75, y = ± sqrt(100² - 75²)."""
    one, other = Curve.circle((0, 0), 100), Curve.circle((150, 0), 100)
    found = between(one, other)
    np.testing.assert_allclose(places(one, found), [(75, 66.143783), (75, -66.143783)], atol=1e-5)
    for t, u in found:
        np.testing.assert_allclose(one.point(t), other.point(u), atol=1e-9)


def test_circles_that_touch_meet_once_and_circles_apart_never():
    circle = Curve.circle((0, 0), 100)
    assert between(circle, Curve.circle((200, 0), 100)) == [(0, 8)]
    assert between(circle, Curve.circle((50, 0), 50)) == [(0, 0)]
    assert between(circle, Curve.circle((200.00001, 0), 100)) == []
    assert between(circle, Curve.circle((0, 0), 50)) == []


def test_a_touch_inside_both_pieces():
    parabola = bezier((-100, 100), (-100 / 3, -100 / 3), (100 / 3, -100 / 3), (100, 100))
    ((t, u),) = between(parabola, Curve.line((-70, 0), (30, 0)))
    assert (t, u) == pytest.approx((0.5, 0.7), abs=1e-6)
    ((t, u),) = between(parabola, parabola.transformed(Affine.scaling(1, -1)))
    assert (t, u) == pytest.approx((0.5, 0.5), abs=1e-6)
    below = between(parabola, Curve.line((-70, 1e-4), (30, 1e-4)))
    np.testing.assert_allclose(sorted(parabola.point(t)[0] for t, _ in below), [-0.1, 0.1], rtol=1e-6)


@settings(max_examples=80, deadline=None)
@given(beziers, beziers)
def test_what_meets_meets(curve, other):
    for t, u in between(curve, other):
        assert math.dist(curve.point(t), other.point(u)) < 1e-7


@settings(max_examples=60, deadline=None)
@given(beziers, st.floats(0.05, 0.95), st.floats(0.05, 0.95), st.floats(0.3, 1.2))
def test_a_crossing_made_on_purpose_is_found(curve, t, u, angle):
    """Another Bézier is laid so that it crosses the first at a known place and at an honest angle."""
    other = bezier((0, 0), (60, 40), (130, -30), (200, 20))
    assume(curve.length > 1)
    turn = math.atan2(*curve.tangent(t)[::-1]) - math.atan2(*other.tangent(u)[::-1]) + angle
    placed = other.transformed(Affine.rotation(turn))
    placed = placed.transformed(Affine.translation(*(curve.point(t) - placed.point(u))))
    target = curve.point(t)
    assert any(math.dist(curve.point(a), target) < 1e-7 for a, _ in between(curve, placed))


def _angle(curve, other, t, u):
    """The sine of the angle between them."""
    return abs(np.cross([*curve.tangent(t), 0], [*other.tangent(u), 0])[2])


@settings(max_examples=40, deadline=None)
@given(beziers, beziers, motions)
def test_moving_both_curves_moves_the_crossings(curve, other, moved):
    here = between(curve, other)
    there = between(curve.transformed(moved), other.transformed(moved))
    if min((_angle(curve, other, t, u) for t, u in here + there), default=1) > 1e-3:
        np.testing.assert_allclose(here, there, atol=1e-6)


@settings(max_examples=40, deadline=None)
@given(beziers, beziers)
def test_the_order_of_asking_does_not_matter(curve, other):
    """But for curves that all but lie along each other: how many places they share is a matter of rounding."""
    here, there = between(curve, other), between(other, curve)
    met = [*here, *((t, u) for u, t in there)]
    if min((_angle(curve, other, t, u) for t, u in met), default=1) > 1e-3:
        assert len(here) == len(there)


def test_shared_ends_count_once():
    assert between(Curve.line((0, 0), (10, 0)), Curve.line((10, 0), (20, 5))) == [(1, 0)]
    assert between(Curve.polyline([(0, 0), (10, 0), (10, 10)]), Curve.polyline([(20, 0), (10, 0), (10, -9)])) == [
        (1, 1)
    ]


def test_curves_that_run_along_each_other_give_the_ends_of_the_run():
    line = Curve.line((0, 0), (100, 0))
    np.testing.assert_allclose(between(line, Curve.line((30, 0), (150, 0))), [(0.3, 0), (1, 7 / 12)])
    np.testing.assert_allclose(between(line, Curve.line((70, 0), (20, 0))), [(0.2, 1), (0.7, 0)])
    assert between(line, Curve.line((30, 1e-5), (150, 1e-5))) == []
    arc = Curve.arc((0, 0), 100, 0, 0.3)
    np.testing.assert_allclose(between(arc, arc.between(0.25, 0.75)), [(0.25, 0), (0.75, 1)], atol=1e-6)
    wave = bezier((0, 0), (50, 100), (50, -100), (100, 0))
    np.testing.assert_allclose(between(wave.between(0, 0.6), wave.between(0.4, 1)), [(2 / 3, 0), (1, 1 / 3)], atol=1e-6)


def test_nearly_the_same_circle_twice_does_not_explode():
    circle = Curve.circle((0, 0), 1000)
    found = between(circle, circle.transformed(Affine.rotation(0.1)))
    assert len(found) < 200
    for t, u in found:
        assert math.dist(circle.point(t), circle.transformed(Affine.rotation(0.1)).point(u)) < 1e-7


@pytest.mark.parametrize("size", [1e-3, 1.0, 1e4])
def test_the_number_of_crossings_does_not_depend_on_size(zoo, size):
    scale = Affine.scaling(size)
    one = bezier((0, 0), (2, 4), (-1, 4), (1, 0)).transformed(scale)
    other = bezier((-1, 1), (4, 3), (-3, 1), (2, 2)).transformed(scale)
    assert (
        len(between(one, other))
        == len(between(one.transformed(scale.inverse()), other.transformed(scale.inverse())))
        > 2
    )


def test_a_curve_that_is_only_a_point_meets_nothing():
    assert between(Curve(np.ones((1, 4, 2))), Curve.line((0, 0), (2, 2))) == []


# ---------------------------------------------------------------- itself


def test_the_zoo_and_its_self_crossings(zoo):
    crossing = {name: len(self_crossings(curve)) for name, curve in zoo.items()}
    assert {name for name, count in crossing.items() if count} == {"loop"}
    ((t, u),) = self_crossings(zoo["loop"])
    np.testing.assert_allclose(zoo["loop"].point(t), zoo["loop"].point(u), atol=1e-9)
    assert t == pytest.approx(1 - u)


def test_a_bow_tie_crosses_itself_once():
    tie = Curve.polyline([(0, 0), (100, 100), (100, 0), (0, 100)], closed=True)
    assert self_crossings(tie) == [(0.5, 2.5)]


def test_pieces_that_double_back_are_told():
    assert self_crossings(Curve.polyline([(0, 0), (100, 0), (40, 0), (40, 50)])) == [(pytest.approx(0.4), 2)]
    ((t, u), (v, w)) = self_crossings(bezier((0, 0), (150, 0), (-50, 0), (100, 0)))
    assert t < u and v < w


def test_points_among_the_pieces_hide_no_joint(zoo):
    doubled = Curve.polyline([(0, 0), (50, 0), (50, 0), (50, 50), (0, 50), (0, 0)])
    assert self_crossings(doubled) == []


def test_a_corner_touched_by_another_stretch_is_told():
    touching = Curve.polyline([(0, 0), (100, 0), (50, 50), (100, 100), (0, 100), (50, 50)], closed=True)
    assert places(touching, self_crossings(touching)) == [(50, 50)]


def test_a_long_wavy_outline_is_clean():
    angles = np.arange(400) / 400 * 2 * math.pi
    radius = 100 * (1 + 0.2 * np.cos(40 * angles))
    outline = Curve.polyline(np.stack([radius * np.cos(angles), radius * np.sin(angles)], axis=1), closed=True)
    assert self_crossings(outline) == []


# ---------------------------------------------------------------- nearest


@settings(max_examples=60, deadline=None)
@given(beziers, st.tuples(st.floats(-300, 500), st.floats(-300, 500)))
def test_nothing_is_nearer_than_the_nearest(curve, point):
    t, distance = nearest(curve, point)
    assert math.dist(curve.point(t), point) == pytest.approx(distance, abs=1e-9)
    others = np.hypot(*(curve.point(np.linspace(0, 1, 2001)) - point).T)
    assert distance <= others.min() + 1e-9


def test_nearest_to_lines_and_circles():
    assert nearest(Curve.line((0, 0), (100, 0)), (30, -4)) == pytest.approx((0.3, 4))
    assert nearest(Curve.line((0, 0), (100, 0)), (130, 40)) == pytest.approx((1, 50))
    assert nearest(Curve.circle((0, 0), 100), (0, 150))[1] == pytest.approx(50, abs=1e-5)


def test_many_points_at_once_are_the_points_one_by_one(any_curve):
    x0, y0, x1, y1 = any_curve.bounds
    points = np.random.default_rng(5).uniform((x0 - 1, y0 - 1), (x1 + 1, y1 + 1), (40, 2))
    t, distance = nearest_to_each(any_curve, points)
    assert [nearest(any_curve, point)[1] for point in points] == pytest.approx(distance.tolist(), abs=1e-12)
    np.testing.assert_allclose(np.hypot(*(any_curve.point(t) - points).T), distance, atol=1e-9)
    assert nearest_to_each(any_curve, np.zeros((0, 2)))[0].shape == (0,)
