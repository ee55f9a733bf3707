"""Affine maps: which way they go, and in which order."""

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from patterns.affine import Affine

numbers = st.floats(-1e3, 1e3)
maps = st.builds(Affine, numbers, numbers, numbers, numbers, numbers, numbers)


def test_the_inner_map_is_applied_first():
    turn_then_move = Affine.translation(10, 0) @ Affine.rotation(math.pi / 2)
    move_then_turn = Affine.rotation(math.pi / 2) @ Affine.translation(10, 0)
    assert turn_then_move.point(1, 0) == (10, 1)
    assert move_then_turn.point(1, 0) == (0, 11)


def test_quarter_turns_are_exact():
    turned = Affine.rotation(-math.pi / 2)
    assert turned.point(3, 5) == (5, -3)
    assert (turned @ turned @ turned @ turned).values() == Affine().values()


def test_a_reflection_keeps_its_line_and_swaps_the_sides():
    mirror = Affine.reflection_x(40)
    assert mirror.point(40, 7) == (40, 7)
    assert mirror.point(0, 7) == (80, 7)
    assert mirror.determinant == -1


@settings(max_examples=100, deadline=None)
@given(maps, maps, numbers, numbers)
def test_composition_is_one_map_after_the_other(outer, inner, x, y):
    np.testing.assert_allclose((outer @ inner).point(x, y), outer.point(*inner.point(x, y)), rtol=1e-9, atol=1e-3)


@settings(max_examples=100, deadline=None)
@given(st.floats(-7, 7), st.floats(0.1, 10), st.floats(0.1, 10), numbers, numbers)
def test_the_inverse_leads_back(angle, sx, sy, dx, dy):
    there = Affine.translation(dx, dy) @ Affine.rotation(angle) @ Affine.scaling(sx, sy)
    back = there.inverse()
    np.testing.assert_allclose(back.point(*there.point(12.5, -3)), (12.5, -3), atol=1e-9)
    assert there.determinant == pytest.approx(sx * sy)


def test_points_of_any_shape_are_mapped():
    points = np.arange(24, dtype=float).reshape(3, 4, 2)
    moved = Affine.translation(1, -1).apply(points)
    np.testing.assert_array_equal(moved, points + np.array([1, -1]))


def test_a_flat_map_has_no_inverse():
    with pytest.raises(ZeroDivisionError):
        Affine.scaling(1, 0).inverse()
