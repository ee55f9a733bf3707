"""Splines against a textbook's coefficients, a theorem, and the elastica."""

from __future__ import annotations

import itertools
import math

import numpy as np
import pytest
from scipy.integrate import quad
from scipy.interpolate import CubicSpline, PPoly

from patterns.fitting import through_offsets, through_points


def coefficients(curve):
    """Rows (a, b, c, e) of s = a + b d + c d² + e d³ on each piece, d = x - x_i, from the Béziers."""
    h = curve.beziers[:, 3, 0] - curve.beziers[:, 0, 0]
    y = curve.beziers[:, :, 1]
    b = 3 * (y[:, 1] - y[:, 0]) / h
    c = 3 * (y[:, 2] - 2 * y[:, 1] + y[:, 0]) / h**2
    e = (y[:, 3] - 3 * y[:, 2] + 3 * y[:, 1] - y[:, 0]) / h**3
    return np.stack([y[:, 0], b, c, e], axis=1)


def bending(curve):
    """The integral of s''²: s'' is linear on each piece."""
    rows, h = coefficients(curve), curve.beziers[:, 3, 0] - curve.beziers[:, 0, 0]
    p, q = 2 * rows[:, 2], 2 * rows[:, 2] + 6 * rows[:, 3] * h
    return float((h / 3 * (p * p + p * q + q * q)).sum())


def test_natural_spline_through_three_points():
    # Burden & Faires, Numerical Analysis (9th/10th ed.), section 3.5, example 1 (from memory)
    curve = through_offsets([1, 2, 3], [2, 3, 5])
    assert coefficients(curve) == pytest.approx(np.array([[2, 0.75, 0, 0.25], [3, 1.5, 0.75, -0.25]]), abs=1e-13)
    assert bending(curve) == pytest.approx(1.5)


def test_clamped_spline_through_three_points():
    # Burden & Faires, section 3.5, example 3: s'(1) = 2, s'(3) = 1 (from memory)
    curve = through_offsets([1, 2, 3], [2, 3, 5], 2.0, 1.0)
    assert coefficients(curve) == pytest.approx(np.array([[2, 2, -2.5, 1.5], [3, 1.5, 2, -1.5]]), abs=1e-13)
    assert bending(curve) == pytest.approx(14.0)


def test_natural_spline_of_the_exponential():
    # Burden & Faires, section 3.5, example 2: e^x at 0, 1, 2, 3 (from memory), printed to five decimals
    rows = coefficients(through_offsets(range(4), np.exp(range(4))))
    printed = [
        [1.0, 1.46600, 0.0, 0.25228],
        [2.71828, 2.22285, 0.75685, 1.69107],
        [7.38906, 8.80977, 5.83007, -1.94336],
    ]
    assert rows == pytest.approx(np.array(printed), abs=5.1e-6)
    e = math.e
    assert rows[1, 2] == pytest.approx((-(e**3) + 6 * e**2 - 9 * e + 4) / 5, abs=1e-12)
    assert rows[2, 2] == pytest.approx((4 * e**3 - 9 * e**2 + 6 * e - 1) / 5, abs=1e-12)


def test_the_area_under_that_spline():
    # Burden & Faires, section 3.5: 19.55229 for the integral of e^x from 0 to 3 (from memory)
    rows = coefficients(through_offsets(range(4), np.exp(range(4))))
    assert float((rows @ [1, 1 / 2, 1 / 3, 1 / 4]).sum()) == pytest.approx(19.552286, abs=1e-6)


DUCK_X = [
    0.9,
    1.3,
    1.9,
    2.1,
    2.6,
    3.0,
    3.9,
    4.4,
    4.7,
    5.0,
    6.0,
    7.0,
    8.0,
    9.2,
    10.5,
    11.3,
    11.6,
    12.0,
    12.6,
    13.0,
    13.3,
]
DUCK_Y = [
    1.3,
    1.5,
    1.85,
    2.1,
    2.6,
    2.7,
    2.4,
    2.15,
    2.05,
    2.1,
    2.25,
    2.3,
    2.25,
    1.95,
    1.4,
    0.9,
    0.7,
    0.6,
    0.5,
    0.4,
    0.25,
]
# fmt: off
DUCK_B = [0.53962, 0.42075, 1.08680, 1.29494, 0.59340, -0.02219, -0.50341, -0.47708, -0.07132, 0.26234, 0.08078, 0.01456,
          -0.13901, -0.33583, -0.53183, -0.73118, -0.49295, -0.14134, -0.17890, -0.39277]
DUCK_C = [0.0, -0.29718, 1.40726, -0.36657, -1.03652, -0.50246, -0.03223, 0.08489, 1.26764, -0.15546, -0.02611, -0.04011,
          -0.11346, -0.05056, -0.10020, -0.14898, 0.94308, -0.06405, 0.00144, -0.53613]
DUCK_E = [-0.24765, 0.94691, -2.95638, -0.44663, 0.44505, 0.17416, 0.07808, 1.31417, -1.58122, 0.04312, -0.00467, -0.02445,
          0.01747, -0.01273, -0.02033, 1.21341, -0.83927, 0.03638, -0.44797, 0.59570]
# fmt: on


def test_the_back_of_a_bird_in_flight():
    # Burden & Faires, section 3.5, illustration: 21 points (from memory); coefficients recomputed with SciPy
    rows = coefficients(through_offsets(DUCK_X, DUCK_Y))
    assert rows == pytest.approx(np.stack([DUCK_Y[:-1], DUCK_B, DUCK_C, DUCK_E], axis=1), abs=5.1e-6)


def test_no_other_curve_through_the_points_bends_less():
    # Holladay's theorem (1957), as in any text on splines: the natural spline has the least integral of s''²
    ours = bending(through_offsets(DUCK_X, DUCK_Y))
    for ends in ("not-a-knot", ((1, 0.9), (1, -0.2)), ((2, 1.0), (1, 0.0))):
        other: PPoly = CubicSpline(DUCK_X, DUCK_Y, bc_type=ends).derivative(2)
        square = sum(quad(lambda x, s=other: s(x) ** 2, a, b)[0] for a, b in itertools.pairwise(DUCK_X))
        assert square > ours * 1.0001


def elastica_arch(count: int):
    """Points of the rectangular elastica with rise 1, springing to springing, evenly along its height parameter."""
    heights = np.sin(np.linspace(0, math.pi / 2, count))
    # x = sin w takes the root out of y(x) = integral of t² / sqrt(1 - t⁴)
    across = [quad(lambda w: math.sin(w) ** 2 / math.sqrt(1 + math.sin(w) ** 2), 0, math.asin(h))[0] for h in heights]
    left = np.stack([np.array(across) - across[-1], heights], axis=1)
    return np.vstack([left, left[-2::-1] * [-1, 1]])


def test_points_of_a_bent_batten_give_the_batten():
    # Levien, The elastica: a mathematical history, UCB/EECS-2008-103: the rectangular elastica, span over rise
    # 1.19814, length over span 2.18844, integral of curvature² times rise 4.79256
    points = elastica_arch(9)
    assert points[-1, 0] - points[0, 0] == pytest.approx(1.1981402347, abs=1e-9)
    curve = through_points(100 * points)
    assert curve.length / 119.81402347 == pytest.approx(2.1884396152, rel=2e-5)
    nodes, weights = np.polynomial.legendre.leggauss(12)
    t = (np.arange(len(curve))[:, None] + (nodes + 1) / 2).ravel()
    d, dd = curve.derivative(t), curve.second_derivative(t)
    speed = np.hypot(d[:, 0], d[:, 1])
    curvature = (d[:, 0] * dd[:, 1] - d[:, 1] * dd[:, 0]) / speed**3
    energy = float((np.tile(weights / 2, len(curve)) * curvature**2 * speed).sum())
    assert energy * 100 == pytest.approx(4.7925609389, rel=2e-3)
    heads = curve.derivative(np.array([0.0, float(len(curve))]))
    assert np.degrees(np.arctan2(heads[:, 1], heads[:, 0])) == pytest.approx([90, -90], abs=0.1)
