"""Areas, centroids, insides and faults of outlines."""

import math

import numpy as np
import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from patterns.affine import Affine
from patterns.curve import Curve
from patterns.outline import Outline, signed_area
from patterns.winding import Winding


def rectangle(x0, y0, x1, y1):
    return Curve.polyline([(x0, y0), (x1, y0), (x1, y1), (x0, y1)], closed=True)


def blob(radii):
    """A closed curve of cubics, one for each radius, smooth nowhere in particular."""
    angles = np.arange(len(radii)) / len(radii) * 2 * math.pi
    corners = np.stack([np.cos(angles), np.sin(angles)], axis=1) * np.array(radii)[:, None]
    following = np.roll(corners, -1, axis=0)
    out = np.stack([corners, corners * 1.3, following * 1.1, following], axis=1)
    return Curve(out).closed_up()


blobs = st.lists(st.floats(20, 200), min_size=3, max_size=7).map(blob)


def shape_of_a_panel():
    panel = Curve.chain(
        [
            Curve.line((0, 0), (400, 0)),
            Curve.line((400, 0), (400, 200)),
            Curve.arc((200, 200), 200, 0, math.pi),
            Curve.line((0, 200), (0, 0)),
        ]
    )
    return Outline(panel.closed_up(), (Curve.circle((200, 200), 50), rectangle(180, 20, 220, 60)))


def test_area_and_centroid_of_a_panel_with_holes():
    """A rectangle and a half disc less a disc and a square, by hand; arcs are cubics, right to 1e-7."""
    panel = shape_of_a_panel()
    areas = np.array([400 * 200, math.pi * 200**2 / 2, -math.pi * 50**2, -1600])
    heights = np.array([100, 200 + 4 * 200 / (3 * math.pi), 200, 40])
    assert panel.area == pytest.approx(areas.sum(), rel=1e-7)
    assert panel.centroid == pytest.approx((200, (areas * heights).sum() / areas.sum()), rel=1e-7)
    assert panel.bounds == pytest.approx((0, 0, 400, 400))
    assert panel.perimeter == pytest.approx(800 + 200 * math.pi, rel=1e-6)


def test_the_area_under_a_parabola_is_exact():
    """Archimedes: two thirds of the box."""
    cap = Curve.chain(
        [Curve(np.array([[(0, 0), (20, 40), (40, 40), (60, 0)]], dtype=float)), Curve.line((60, 0), (0, 0))]
    )
    assert Outline(cap).area == pytest.approx(60 * 30 * 2 / 3, rel=1e-14)
    assert Outline(cap).centroid == pytest.approx((30, 12), rel=1e-14)


def test_whichever_way_it_is_drawn_the_outline_is_the_same():
    square, hole = rectangle(0, 0, 60, 60), Curve.circle((30, 30), 10)
    for outer in (square, square.reversed()):
        for inner in (hole, hole.reversed()):
            outline = Outline(outer, (inner,))
            assert signed_area(outline.boundary) == pytest.approx(3600)
            assert signed_area(outline.holes[0]) == pytest.approx(-100 * math.pi, rel=1e-6)
            assert outline.area == pytest.approx(3600 - 100 * math.pi, rel=1e-6)


def test_an_outline_must_be_closed():
    with pytest.raises(ValueError, match="end where they start"):
        Outline(Curve.line((0, 0), (10, 0)))
    with pytest.raises(ValueError, match="end where they start"):
        Outline(rectangle(0, 0, 9, 9), (Curve.line((0, 0), (10, 0)),))


@settings(max_examples=50, deadline=None)
@given(blobs, st.floats(0.1, 30), st.floats(0, 7), st.floats(-500, 500))
def test_scaling_and_moving_the_outline_scales_and_moves_area_and_centroid(curve, factor, angle, dx):
    affine = Affine.translation(dx, 17) @ Affine.rotation(angle) @ Affine.scaling(factor)
    here, there = Outline(curve), Outline(curve).transformed(affine)
    assert there.area == pytest.approx(factor**2 * here.area, rel=1e-9)
    np.testing.assert_allclose(there.centroid, affine.point(*here.centroid), atol=1e-7 * factor * 200)


@settings(max_examples=50, deadline=None)
@given(blobs, st.floats(-0.9, 0.9), st.sampled_from([1.0, -1.0]), st.integers(0, 999))
def test_what_is_inside_stays_inside_under_an_affine_map(curve, shear, mirror, seed):
    affine = Affine(1.2 * mirror, 0.3, shear, 0.8, 40, -9)
    outline = Outline(curve, (Curve.circle((0, 0), 5),))
    points = np.random.default_rng(seed).uniform(-250, 250, (60, 2))
    points = points[np.abs(outline.clearance(points)) > 1e-6]
    np.testing.assert_array_equal(outline.contains(points), outline.transformed(affine).contains(affine.apply(points)))


@settings(max_examples=40, deadline=None)
@given(blobs, st.integers(0, 999))
def test_inside_against_chords(curve, seed):
    """The classic even-odd count on a fine polygon, away from its line."""
    polygon = curve.flattened(1e-4)
    outline = Outline(curve)
    points = np.random.default_rng(seed).uniform(-250, 250, (40, 2))
    points = points[np.abs(outline.clearance(points)) > 1e-3]
    x, y = polygon.T
    for px, py in points:
        straddles = (y[:-1] <= py) != (y[1:] <= py)
        with np.errstate(divide="ignore", invalid="ignore"):
            at = x[:-1] + (py - y[:-1]) / (y[1:] - y[:-1]) * (x[1:] - x[:-1])
        assert bool(np.count_nonzero(straddles & (at > px)) % 2) == bool(outline.contains(np.array([px, py])))


def test_level_corners_and_joints_are_counted_once():
    """Rays through corners, along level sides and through a circle's highest point."""
    diamond = Outline(Curve.polyline([(0, -10), (10, 0), (0, 10), (-10, 0)], closed=True))
    assert diamond.contains(np.array([[-11, 0], [-9, 0], [9, 0], [11, 0], [-1, 10], [0, -11]])).tolist() == [
        False,
        True,
        True,
        False,
        False,
        False,
    ]
    steps = Outline(Curve.polyline([(0, 0), (30, 0), (30, 10), (20, 10), (20, 20), (0, 20)], closed=True))
    assert steps.contains(np.array([[-5, 10], [5, 10], [25, 9.9], [25, 10.1], [-5, 0], [-5, 20]])).tolist() == [
        False,
        True,
        True,
        False,
        False,
        False,
    ]
    disc = Outline(Curve.circle((0, 0), 10))
    assert disc.contains(np.array([[-20, 10], [20, 10], [-20, -10], [-20, 0], [0, 0]])).tolist() == [False] * 4 + [True]


def test_points_of_any_shape_are_asked():
    disc = Outline(Curve.circle((0, 0), 10))
    points = np.zeros((3, 5, 2))
    assert disc.contains(points).shape == disc.clearance(points).shape == (3, 5)
    assert disc.contains(np.zeros((0, 2))).shape == (0,)


def test_a_curve_that_runs_round_twice_has_winding_two():
    twice = Curve.chain([Curve.circle((0, 0), 10), Curve.arc((-10, 0), 20, 0, 2 * math.pi)])
    assert int(Winding.of(twice).around(np.array([5.0, 0]))) == 2
    assert int(Winding.of(twice).around(np.array([-15.0, 0]))) == 1
    assert int(Winding.of(twice.reversed()).around(np.array([5.0, 0]))) == -2


def test_clearance_is_the_distance_to_the_nearest_line_and_negative_outside():
    outline = Outline(rectangle(0, 0, 100, 50), (Curve.circle((50, 25), 10),))
    points = np.array([[3, 20], [50, 38], [50, 25], [-4, 0], [103, 54]])
    np.testing.assert_allclose(outline.clearance(points), [3, 3, -10, -4, -5], atol=1e-6)


def test_whether_an_outline_stays_within_a_box():
    outline = shape_of_a_panel()
    assert outline.within((0, 0, 400, 400))
    assert outline.within(outline.bounds)
    assert not outline.within((0, 0, 400, 399.99))
    assert outline.within((0, 0, 400, 399.99), tolerance_mm=0.02)


def test_a_sound_outline_has_no_problems():
    assert shape_of_a_panel().problems() == ()


def faults(outline):
    return [(problem.fault, problem.holes) for problem in outline.problems()]


def test_each_fault_is_told_with_its_place():
    square = rectangle(0, 0, 100, 100)
    tie = Outline(Curve.polyline([(0, 0), (100, 100), (100, 0), (0, 50)], closed=True))
    ((x, y),) = [problem.at for problem in tie.problems()]
    assert tie.problems()[0].fault == "boundary meets itself"
    assert (x, y) == pytest.approx((100 / 3, 100 / 3))
    assert faults(Outline(square, (Curve.circle((200, 50), 10),))) == [("hole outside", (0,))]
    assert faults(Outline(square, (Curve.circle((98, 50), 10),))) == [("hole meets boundary", (0,))] * 2
    assert faults(Outline(square, (Curve.circle((90, 50), 10),))) == [("hole meets boundary", (0,))], "a touch"
    two = (Curve.circle((40, 50), 10), Curve.circle((55, 50), 10))
    assert faults(Outline(square, two)) == [("holes meet", (0, 1))] * 2
    assert faults(Outline(square, (Curve.circle((50, 50), 20), Curve.circle((50, 50), 5)))) == [
        ("hole in hole", (1, 0))
    ]
    eight = Curve.polyline([(20, 20), (40, 40), (40, 20), (20, 40)], closed=True)
    assert faults(Outline(square, (eight,))) == [("hole meets itself", (0,))]


def test_problems_are_found_where_a_hole_shares_a_stretch_of_the_boundary():
    outline = Outline(rectangle(0, 0, 100, 100), (rectangle(80, 20, 100, 60),))
    assert {problem.fault for problem in outline.problems()} == {"hole meets boundary"}
    assert {problem.at for problem in outline.problems()} == {(100, 20), (100, 60)}


@settings(max_examples=40, deadline=None)
@given(blobs)
def test_the_area_of_the_reverse_is_the_negative(curve):
    assert signed_area(curve.reversed()) == pytest.approx(-signed_area(curve), rel=1e-9)


@settings(max_examples=30, deadline=None)
@given(blobs, st.floats(-100, 100))
def test_two_parts_of_an_outline_have_its_area_between_them(curve, x):
    """Cut by an upright line where it crosses just twice: the parts' areas and moments add up."""
    from patterns.crossings import at_x

    found = at_x(curve, x)
    assume(len(found) == 2 and found[1] - found[0] < len(curve))
    one = curve.between(*found)
    ends = [
        part
        for part in (
            curve.between(found[1], len(curve)) if found[1] < len(curve) else None,
            curve.between(0, found[0]) if found[0] > 0 else None,
        )
        if part
    ]
    other = Curve.chain(ends)
    parts = [Curve.chain([part, Curve.line(part.end, part.start)]) for part in (one, other)]
    assert sum(signed_area(part) for part in parts) == pytest.approx(signed_area(curve), rel=1e-9)


def test_no_area_no_centroid():
    with pytest.raises(ValueError, match="without area"):
        _ = Outline(Curve.polyline([(0, 0), (10, 0)], closed=True)).centroid
