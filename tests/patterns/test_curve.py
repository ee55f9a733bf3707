"""A curve's points, length and bounds, and the curves made from it."""

import math
from itertools import pairwise

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from patterns.affine import Affine
from patterns.crossings import nearest_to_each
from patterns.curve import Curve

coordinates = st.floats(-500, 500)
points = st.tuples(coordinates, coordinates)
beziers = st.lists(points, min_size=4, max_size=4).map(lambda p: Curve(np.array([p])))


def chord_length(curve, count=20_000):
    t = np.linspace(0, len(curve), count * len(curve) + 1)
    return np.hypot(*np.diff(curve.point(t), axis=0).T).sum()


def test_length_against_chords(any_curve):
    assert any_curve.length == pytest.approx(chord_length(any_curve), rel=1e-7)
    assert any_curve.length >= chord_length(any_curve, 500) - 1e-9


def test_the_length_of_a_cusp_is_exact():
    """x = t², y = t³ from -1 to 1: twice (13 √13 - 8) / 27 (Neile's parabola, the first curve ever rectified)."""
    t_cubed, t_squared = (-1, 1, -1, 1), (1, -1 / 3, -1 / 3, 1)
    cusp = Curve(np.array([list(zip(t_squared, t_cubed, strict=True))]))
    assert cusp.length == pytest.approx(2 * (13 * math.sqrt(13) - 8) / 27, rel=1e-9)


def test_the_length_of_a_parabola_is_exact():
    """y = x² from 0 to 1: √5 / 2 + asinh(2) / 4."""
    curve = Curve(np.array([[[0, 0], [1 / 3, 0], [2 / 3, 1 / 3], [1, 1]]]))
    assert curve.length == pytest.approx(math.sqrt(5) / 2 + math.asinh(2) / 4, rel=1e-12)


def test_bounds_hold_every_point_and_are_reached(any_curve):
    x0, y0, x1, y1 = any_curve.bounds
    along = any_curve.point(np.linspace(0, len(any_curve), 5001))
    size = max(x1 - x0, y1 - y0)
    assert (along >= np.array([x0, y0]) - 1e-12 * size).all()
    assert (along <= np.array([x1, y1]) + 1e-12 * size).all()
    np.testing.assert_allclose([*along.min(axis=0), *along.max(axis=0)], any_curve.bounds, atol=1e-5 * size)


def test_a_reversed_curve_is_as_long(any_curve):
    assert any_curve.reversed().length == pytest.approx(any_curve.length, rel=1e-11)
    np.testing.assert_array_equal(any_curve.reversed().point(0), any_curve.end)


def test_the_lengths_of_the_parts_add_up(any_curve):
    parts = any_curve.split_at([0.1, 0.37, 0.5, 0.9])
    assert sum(part.length for part in parts) == pytest.approx(any_curve.length, rel=1e-10)
    for before, after in pairwise(parts):
        np.testing.assert_allclose(before.end, after.start, atol=1e-9)


@settings(max_examples=60, deadline=None)
@given(beziers, st.floats(0.001, 1000))
def test_scaling_the_curve_scales_its_length_and_bounds(curve, factor):
    scaled = curve.transformed(Affine.scaling(factor))
    assert scaled.length == pytest.approx(factor * curve.length, rel=1e-9, abs=1e-9)
    np.testing.assert_allclose(scaled.bounds, np.array(curve.bounds) * factor, rtol=1e-9, atol=1e-9)


@settings(max_examples=60, deadline=None)
@given(beziers, st.floats(0, 1), st.floats(0, 1))
def test_a_stretch_runs_over_the_same_points(curve, a, b):
    a, b = min(a, b), max(a, b)
    if b - a < 1e-6:
        return
    stretch = curve.between(a, b)
    u = np.linspace(0, 1, 7)
    np.testing.assert_allclose(stretch.point(u), curve.point(a + u * (b - a)), atol=1e-9)


@settings(max_examples=60, deadline=None)
@given(beziers, st.floats(0, 1), st.floats(-7, 7))
def test_mapping_the_curve_maps_its_points(curve, t, angle):
    affine = Affine.translation(3, 4) @ Affine.rotation(angle)
    np.testing.assert_allclose(curve.transformed(affine).point(t), affine.apply(curve.point(t)), atol=1e-9)


def test_derivatives_against_differences(any_curve):
    t = np.linspace(0.05, len(any_curve) - 0.05, 40)
    t = t[np.abs(t - np.round(t)) > 1e-3]
    h = 1e-5
    size = np.abs(any_curve.beziers).max()
    slope = (any_curve.point(t + h) - any_curve.point(t - h)) / (2 * h)
    np.testing.assert_allclose(any_curve.derivative(t), slope, atol=1e-6 * size)
    bend = (any_curve.derivative(t + h) - any_curve.derivative(t - h)) / (2 * h)
    np.testing.assert_allclose(any_curve.second_derivative(t), bend, atol=1e-5 * size)


def test_tangents_are_unit_vectors_even_where_the_curve_stands_still(zoo):
    drawn = zoo["handle on its end"]
    np.testing.assert_allclose(drawn.tangent(0.0), np.array([1, 2]) / math.sqrt(5))
    np.testing.assert_allclose(zoo["cusp"].tangent(0.5), [0, -1], atol=1e-9)
    line = zoo["line of unequal handles"]
    np.testing.assert_allclose(line.tangent(np.array([0.0, 0.5, 1.0])), [line.tangent(0.5)] * 3, atol=1e-12)
    np.testing.assert_array_equal(Curve(np.zeros((1, 4, 2))).tangent(0.3), [0, 0])


def test_straightness(zoo):
    straight = {name for name, curve in zoo.items() if curve.is_straight}
    assert straight == {"line", "line of unequal handles", "line with a point in it"}
    assert not Curve(np.array([[[0.0, 0], [150, 0], [-50, 0], [100, 0]]])).is_straight, "it doubles back"


def test_an_arc_is_within_a_thousandth_of_its_circle():
    for radius, turn in ((1.0, 7.0), (1070.0, 0.9), (10_000.0, 3.0), (250.0, -2.0)):
        arc = Curve.arc((30, 40), radius, 0.4, 0.4 + turn)
        off = np.hypot(*(arc.point(np.linspace(0, len(arc), 3001)) - [30, 40]).T) - radius
        assert np.abs(off).max() < 0.001
        assert arc.length == pytest.approx(radius * abs(turn), rel=1e-6)


def test_a_circle_is_closed_to_the_bit():
    circle = Curve.circle((3, 4), 55)
    assert circle.is_closed
    np.testing.assert_array_equal(circle.start, circle.end)


def test_chords_stay_within_the_tolerance_asked_for(any_curve):
    chain = Curve.polyline(any_curve.flattened(0.01))
    along = any_curve.point(np.linspace(0, len(any_curve), 400))
    assert nearest_to_each(chain, along)[1].max() <= 0.01 + 1e-9


def test_bad_control_points_are_refused():
    for bad in (np.zeros((0, 4, 2)), np.zeros((1, 3, 2)), np.full((1, 4, 2), np.nan)):
        with pytest.raises(ValueError):
            Curve(bad)
    with pytest.raises(ValueError, match="gap of 1 mm"):
        Curve.chain([Curve.line((0, 0), (1, 0)), Curve.line((2, 0), (3, 0))])
    with pytest.raises(ValueError):
        Curve.line((0, 0), (1, 0)).between(0.5, 0.5)
    with pytest.raises(ValueError):
        Curve.line((0, 0), (1, 0)).closed_up()


def test_a_curve_cannot_be_changed():
    with pytest.raises(ValueError):
        Curve.line((0, 0), (1, 0)).beziers[0, 0, 0] = 5.0
