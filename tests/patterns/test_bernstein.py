"""Roots of polynomials on [0, 1]: none missed, none invented."""

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from hypothesis.extra.numpy import array_shapes, arrays

from patterns import bernstein, winding
from patterns.bernstein import derivative, product, roots, value_and_slope
from patterns.curve import Curve


def rows(count):
    return st.lists(st.floats(-9, 9), min_size=count, max_size=count)


def with_roots(*places):
    """The Bernstein coefficients of the product of (u - place)."""
    row = np.array([1.0])
    for place in places:
        row = product(row, np.array([-place, 1.0 - place]))
    return row


@settings(max_examples=100, deadline=None)
@given(st.lists(st.integers(-300, 1300), min_size=1, max_size=6, unique=True))
def test_every_root_in_the_interval_is_found(thousandths):
    places = sorted(k / 1000 for k in thousandths)
    _, found = roots(with_roots(*places)[None], touching=1e-18)
    inside = [place for place in places if 0 <= place <= 1]
    assert len(found) == len(inside)
    np.testing.assert_allclose(found, inside, atol=1e-7)


@settings(max_examples=50, deadline=None)
@given(st.lists(st.floats(-1, 1), min_size=6, max_size=6))
def test_against_the_eigenvalues_of_the_companion_matrix(row):
    row = [x if abs(x) > 1e-3 else 0.5 for x in row]
    power = np.polynomial.Polynomial([0.0])
    for k, x in enumerate(row):
        power += (
            x * math.comb(5, k) * np.polynomial.Polynomial([0, 1]) ** k * np.polynomial.Polynomial([1, -1]) ** (5 - k)
        )
    _, found = roots(np.array([row]))
    for u in found:
        assert abs(power(u)) < 1e-12
    sure = [z.real for z in power.roots() if abs(z.imag) < 1e-12 and 1e-9 < z.real < 1 - 1e-9]
    changes = [z for z in sure if power(z - 1e-5) * power(z + 1e-5) < 0]
    for place in changes:
        assert np.abs(found - place).min() < 1e-6


def test_a_touch_counts_only_where_it_is_asked_for():
    touch = with_roots(0.4, 0.4)[None] + 1e-10
    assert len(roots(touch)[1]) == 0
    np.testing.assert_allclose(roots(touch, touching=1e-9)[1], [0.4], atol=1e-6)


def test_ends_and_the_polynomial_that_is_nothing():
    row, place = roots(np.array([[0.0, 1, 2], [2, 1, 0], [0, 0, 0], [1, 1, 1]]))
    assert list(zip(row, place, strict=True)) == [(0, 0.0), (1, 1.0), (2, 0.0), (2, 1.0)]


def test_a_triple_root_is_found_once():
    _, place = roots(with_roots(0.3, 0.3, 0.3)[None])
    np.testing.assert_allclose(place, [0.3], atol=1e-4)


@settings(max_examples=50, deadline=None)
@given(
    st.lists(st.floats(-9, 9), min_size=4, max_size=4),
    st.lists(st.floats(-9, 9), min_size=3, max_size=3),
    st.floats(0, 1),
)
def test_products_and_derivatives_are_those_of_the_values(first, second, u):
    a, b, at = np.array([first]), np.array([second]), np.array([u])
    (x, dx), (y, dy) = value_and_slope(a, at), value_and_slope(b, at)
    value, slope = value_and_slope(product(a, b), at)
    np.testing.assert_allclose(value, x * y, atol=1e-10)
    np.testing.assert_allclose(slope, dx * y + x * dy, atol=1e-9)
    np.testing.assert_allclose(value_and_slope(derivative(a), at)[0], dx, atol=1e-10)


@settings(max_examples=60, deadline=None)
@given(
    arrays(
        np.float64, array_shapes(min_dims=2, max_dims=2, min_side=2, max_side=7), elements=st.floats(-9, 9, width=32)
    ),
    st.booleans(),
    st.sampled_from([0.0, 1e-9, 1.0]),
)
def test_few_rows_are_solved_to_the_last_bit_as_many_are(
    coefficients: np.ndarray, whole: bool, touching: float
) -> None:
    """One number at a time or in arrays: the same steps, so that a cold and a warm run never differ."""
    asked = np.round(coefficients) if whole else coefficients
    few = bernstein._roots(asked, touching)
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(bernstein, "FEW", 0)
        many = bernstein._roots(asked, touching)
    assert [one.tobytes() for one in few] == [one.tobytes() for one in many]


@settings(max_examples=60, deadline=None)
@given(
    arrays(np.float64, (4, 4, 2), elements=st.integers(-20, 20)),
    arrays(np.float64, (5, 2), elements=st.integers(-20, 20)),
)
def test_few_points_lie_where_many_do(inner: np.ndarray, points: np.ndarray) -> None:
    inner[:, 3] = np.roll(inner[:, 0], -1, axis=0)
    turns = winding.Winding.of(Curve(inner))
    few = turns.around(points)
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(winding, "FEW", 0)
        assert turns.around(points).tolist() == few.tolist()
