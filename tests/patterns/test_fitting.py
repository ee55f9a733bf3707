"""Splines through points, against SciPy's and against what a batten does."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.interpolate import CubicSpline

from patterns.affine import Affine
from patterns.curve import Curve
from patterns.fitting import TableError, closed_through, through_offsets, through_points, values_at

few = settings(max_examples=60, deadline=None)
amounts = st.floats(-400.0, 400.0)


@st.composite
def offset_tables(draw, least=2, most=14):
    steps = draw(st.lists(st.floats(2.0, 300.0), min_size=least - 1, max_size=most - 1))
    values = draw(st.lists(amounts, min_size=len(steps) + 1, max_size=len(steps) + 1))
    return np.concatenate([[0.0], np.cumsum(steps)]) + draw(amounts), np.array(values)


@st.composite
def walks(draw, least=3, most=10):
    """Points each of which lies off the one before by a step that does not double back."""
    count = draw(st.integers(least, most))
    steps = draw(st.lists(st.floats(20.0, 120.0), min_size=count - 1, max_size=count - 1))
    turns = np.cumsum(draw(st.lists(st.floats(-1.2, 1.2), min_size=count - 1, max_size=count - 1)))
    moves = np.array(steps)[:, None] * np.stack([np.cos(turns), np.sin(turns)], axis=1)
    return np.vstack([[0.0, 0.0], np.cumsum(moves, axis=0)])


def curvature_beside(curve: Curve, knot: int) -> tuple[float, float]:
    """Signed curvature just before and just after a joint, from the control points alone."""

    def of(b):
        d, dd = b[1] - b[0], b[2] - 2 * b[1] + b[0]
        return 2.0 / 3.0 * (d[0] * dd[1] - d[1] * dd[0]) / math.hypot(*d) ** 3

    return -of(curve.beziers[knot - 1][::-1]), of(curve.beziers[knot])


# -------------------------------------------------------------------- offsets


@few
@given(offset_tables(), st.none() | st.floats(-2, 2), st.none() | st.floats(-2, 2))
def test_offsets_agree_with_scipy_whatever_the_ends(table, start, end):
    x, y = table
    curve = through_offsets(x, y, start, end)
    ends = tuple((2, 0.0) if slope is None else (1, slope) for slope in (start, end))
    reference = CubicSpline(x, y, bc_type=ends)
    at = np.linspace(x[0] - 5.0, x[-1] + 5.0, 200)
    assert values_at(curve, at) == pytest.approx(reference(at), abs=1e-7)
    points = curve.point(np.linspace(0, len(curve), 101))
    assert points[:, 1] == pytest.approx(reference(points[:, 0]), abs=1e-7)


@few
@given(offset_tables())
def test_every_given_offset_is_met_exactly(table):
    x, y = table
    curve = through_offsets(x, y)
    met = curve.point(np.arange(len(x), dtype=float))
    assert np.abs(met - np.stack([x, y], axis=1)).max() < 1e-10


@few
@given(offset_tables(least=3), st.floats(0.2, 3.0), st.floats(-3.0, 3.0), st.floats(-1.0, 1.0))
def test_stretching_the_table_stretches_the_curve_and_a_slope_added_is_only_added(table, along, across, tilt):
    x, y = table
    plain = through_offsets(x, y)
    stretched = through_offsets(along * x, across * y + tilt * x)
    expected = plain.transformed(Affine(along, tilt, 0.0, across, 0.0, 0.0))
    assert stretched.beziers == pytest.approx(expected.beziers, abs=1e-7)


@few
@given(offset_tables(least=3), st.floats(-1, 1))
def test_a_table_read_from_the_other_end_gives_the_same_curve(table, slope):
    x, y = table
    back = through_offsets(-x[::-1], y[::-1], end=-slope)
    mirrored = through_offsets(x, y, start=slope).transformed(Affine.reflection_x(0.0)).reversed()
    assert back.beziers == pytest.approx(mirrored.beziers, abs=1e-7)


def test_a_symmetric_table_is_level_in_the_middle():
    curve = through_offsets([0, 90, 200, 310, 400], [60, 22, 4, 22, 60])
    assert curve.derivative(2.0)[1] == pytest.approx(0.0, abs=1e-12)


def test_a_parabola_with_its_own_end_slopes_is_drawn_as_it_is():
    x = np.array([0.0, 30.0, 130.0, 400.0])
    curve = through_offsets(x, x * x / 500, 0.0, 1.6)
    points = curve.point(np.linspace(0, 3, 50))
    assert points[:, 1] == pytest.approx(points[:, 0] ** 2 / 500, abs=1e-10)


def test_two_offsets_are_a_straight_line():
    assert through_offsets([0, 10], [3, 5]).is_straight


@pytest.mark.parametrize(
    ("stations", "index", "words"),
    [
        ([0, 10, 10, 20], 2, "repeats"),
        ([0, 10, 5, 20], 2, "rise"),
        ([0, 10, 10 + 1e-12, 20], 2, "repeats"),
        ([0, math.nan, 10, 20], 1, "finite"),
        ([0, 1, 2, math.inf], 3, "finite"),
    ],
)
def test_a_wrong_station_is_named(stations, index, words):
    with pytest.raises(TableError, match=words) as caught:
        through_offsets(stations, [0, 1, 2, 3])
    assert caught.value.index == index


def test_a_single_offset_or_uneven_lists_are_refused():
    with pytest.raises(TableError, match="at least 2"):
        through_offsets([3], [4])
    with pytest.raises(ValueError, match="one length"):
        through_offsets([1, 2, 3], [1, 2])


def test_a_long_table_keeps_its_precision():
    x = np.linspace(0, 5000, 2001)
    curve = through_offsets(x, 100 * np.sin(x / 200), start=0.5)
    at = np.linspace(50, 4950, 999)
    assert values_at(curve, at) == pytest.approx(100 * np.sin(at / 200), abs=1e-5)


# -------------------------------------------------------------------- points


@few
@given(walks())
def test_points_are_met_and_direction_and_curvature_run_through(points):
    curve = through_points(points)
    assert np.abs(curve.point(np.arange(len(points), dtype=float)) - points).max() < 1e-9
    for knot in range(1, len(points) - 1):
        before, after = curvature_beside(curve, knot)
        assert after == pytest.approx(before, rel=1e-6, abs=1e-9)
        arriving, leaving = np.diff(curve.beziers[knot - 1], axis=0)[-1], np.diff(curve.beziers[knot], axis=0)[0]
        cross = arriving[0] * leaving[1] - arriving[1] * leaving[0]
        assert math.atan2(cross, float(arriving @ leaving)) == pytest.approx(0.0, abs=1e-9)


@few
@given(walks())
def test_the_parameter_is_the_arc_length_of_the_curve_itself(points):
    curve = through_points(points)
    along = np.concatenate([[0.0], np.cumsum(curve.piece_lengths())])
    reference = CubicSpline(along, points, bc_type="natural")
    for k in range(len(curve)):
        at = along[k] + np.linspace(0, 1, 9) * (along[k + 1] - along[k])
        assert curve.point(k + np.linspace(0, 1, 9)) == pytest.approx(reference(at), abs=1e-6)


@few
@given(walks(), st.floats(-3, 3), st.floats(0.2, 5.0))
def test_turning_and_enlarging_the_points_turns_and_enlarges_the_curve(points, angle, scale):
    change = Affine.translation(40, -7) @ Affine.rotation(angle) @ Affine.scaling(scale)
    moved = through_points(change.apply(points))
    assert moved.beziers == pytest.approx(through_points(points).transformed(change).beziers, abs=1e-6 * max(1, scale))


@few
@given(walks())
def test_points_taken_backwards_give_the_same_curve(points):
    assert through_points(points[::-1]).reversed().beziers == pytest.approx(through_points(points).beziers, abs=1e-6)


def test_end_directions_are_kept():
    curve = through_points([[0, 0], [60, 90], [50, 170], [120, 220]], math.pi / 2, -0.3)
    first, last = np.diff(curve.beziers[0], axis=0)[0], np.diff(curve.beziers[-1], axis=0)[-1]
    assert math.atan2(first[1], first[0]) == pytest.approx(math.pi / 2)
    assert math.atan2(last[1], last[0]) == pytest.approx(-0.3)


def test_points_of_one_line_stay_on_it_unevenly_spaced():
    assert through_points([[0, 0], [1, 2], [50, 100], [51, 102]]).is_straight


@pytest.mark.parametrize("count", [12, 20])
def test_uneven_points_of_a_circle_are_rounder_than_chords_make_them(count):
    rng = np.random.default_rng(count)
    gaps = rng.uniform(0.3, 1.0, count)
    angles = np.cumsum(gaps / gaps.sum() * 2 * math.pi)
    points = 100 * np.stack([np.cos(angles), np.sin(angles)], axis=1)
    round_the_circle = np.vstack([points, points[:1]])
    chords = np.concatenate([[0.0], np.cumsum(np.hypot(*np.diff(round_the_circle, axis=0).T))])
    by_chord = CubicSpline(chords, round_the_circle, bc_type="periodic")(np.linspace(0, chords[-1], 2000))
    ours = closed_through(points).point(np.linspace(0, count, 2000))
    off, off_by_chord = (np.abs(np.hypot(*p.T) - 100).max() for p in (ours, by_chord))
    assert off < 0.6 * off_by_chord
    assert off < 0.5


# -------------------------------------------------------------------- closed


@few
@given(walks(least=3, most=9))
def test_a_closed_curve_agrees_with_scipys_periodic_spline(points):
    if math.hypot(*(points[-1] - points[0])) < 20.0:
        return
    curve = closed_through(points)
    assert curve.is_closed
    assert np.abs(curve.point(np.arange(len(points), dtype=float)) - points).max() < 1e-9
    along = np.concatenate([[0.0], np.cumsum(curve.piece_lengths())])
    reference = CubicSpline(along, np.vstack([points, points[:1]]), bc_type="periodic")
    for k in range(len(curve)):
        at = along[k] + np.linspace(0, 1, 9) * (along[k + 1] - along[k])
        assert curve.point(k + np.linspace(0, 1, 9)) == pytest.approx(reference(at), abs=1e-6)


def test_it_does_not_matter_at_which_point_a_closed_table_begins():
    points = np.array([[0, 0], [100, 40], [220, 20], [260, 110], [180, 200], [90, 140]], dtype=float)
    turned = closed_through(np.roll(points, -2, axis=0)).beziers
    assert turned == pytest.approx(np.roll(closed_through(points).beziers, -2, axis=0), abs=1e-8)


@pytest.mark.parametrize(
    ("points", "index", "words"),
    [
        ([[0, 0], [1, 0]], 1, "at least 3"),
        ([[0, 0], [9, 0], [9, 0], [3, 8]], 2, "repeats the point before"),
        ([[0, 0], [9, 0], [3, 8], [0, 0]], 3, "repeats the first"),
    ],
)
def test_closed_tables_that_cannot_be(points, index, words):
    with pytest.raises(TableError, match=words) as caught:
        closed_through(points)
    assert caught.value.index == index


def test_points_need_two_coordinates():
    with pytest.raises(ValueError, match="shape"):
        through_points([1.0, 2.0, 3.0])
