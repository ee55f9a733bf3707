"""Roots, turns, gaps and steps of plain functions whose answers are known."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from cli.ranges import Function, course_of, least_of, negative, reaches
from cli.roots import roots_of
from cli.trials import Untried


def roots(function: Function, low: float, high: float, wanted: float = 0.0) -> list[float]:
    return list(roots_of(function, course_of(function, low, high, 33), wanted).roots)


def test_every_crossing_of_a_wave_is_found() -> None:
    assert roots(math.sin, 0.5, 20.0) == pytest.approx([math.pi * k for k in range(1, 7)], abs=1e-9)


@given(st.lists(st.floats(0.5, 9.5), min_size=1, max_size=4, unique=True))
@settings(max_examples=60, deadline=None)
def test_the_roots_of_a_polynomial_are_those_it_was_made_of(places: list[float]) -> None:
    places = sorted(places)
    assume(min(np.diff(places), default=1.0) > 0.05)
    assume(all(places[k + 2] - places[k] > 20.0 / 32 for k in range(len(places) - 2)))  # no two turns between samples
    found = roots(lambda x: math.prod(x - place for place in places), 0.0, 10.0)
    assert found == pytest.approx(places, abs=1e-6)


@pytest.mark.parametrize("place", [3.0, math.pi, 0.01, 9.99])
def test_a_curve_that_only_touches_is_met_where_it_touches(place: float) -> None:
    assert roots(lambda x: (x - place) ** 2, 0.0, 10.0) == pytest.approx([place], abs=1e-3)
    assert roots(lambda x: -((x - place) ** 2) - 0.01, 0.0, 10.0) == []


def test_two_roots_between_two_samples_are_both_found() -> None:
    assert roots(lambda x: (x - 4.01) * (x - 4.05), 0.0, 10.0) == pytest.approx([4.01, 4.05], abs=1e-9)
    assert roots(lambda x: (x - 0.01) * (x - 0.1), 0.0, 10.0) == pytest.approx([0.01, 0.1], abs=1e-9)


def test_a_jump_past_what_is_wanted_is_no_root() -> None:
    course = course_of(lambda x: x if x < 2.0 else x + 5.0, 0.0, 10.0, 33)
    found = roots_of(lambda x: x if x < 2.0 else x + 5.0, course, 4.0)
    assert found.roots == ()
    (jump,) = found.jumps
    assert (jump.x, jump.before, jump.after) == pytest.approx((2.0, -2.0, 3.0), abs=1e-6)


def gapped(x: float) -> float:
    if not 2.0 <= x < 5.0:
        raise Untried("outside")
    return math.sqrt(x - 2.0) - 1e-3


def test_a_function_is_followed_to_the_edges_of_its_gaps() -> None:
    course = course_of(gapped, 0.0, 10.0, 33)
    (stretch,) = course.stretches
    assert (stretch[0].x, stretch[-1].x) == pytest.approx((2.0, 5.0), abs=1e-6)
    assert [(gap.low, gap.high) for gap in course.gaps] == [
        pytest.approx((0.0, 2.0), abs=1e-6),
        pytest.approx((5.0, 10.0), abs=1e-6),
    ]
    assert roots(gapped, 0.0, 10.0) == pytest.approx([2.0 + 1e-6], abs=1e-8)
    assert roots(gapped, 5.0, 10.0) == []
    assert course_of(gapped, 6.0, 7.0, 5).stretches == ()


def test_least_and_most_lie_between_the_samples() -> None:
    course = course_of(math.sin, 0.0, 6.0, 7)
    least = least_of(math.sin, course.stretches)
    assert (least.x, least.y) == pytest.approx((1.5 * math.pi, -1.0), abs=1e-6)
    upright = [tuple(type(p)(p.x, -p.y) for p in stretch) for stretch in course.stretches]
    most = least_of(negative(math.sin), upright)
    assert (most.x, -most.y) == pytest.approx((0.5 * math.pi, 1.0), abs=1e-6)


def test_a_count_holds_from_edge_to_edge() -> None:
    course = course_of(lambda x: float(math.floor(x)), 0.0, 10.0, 33)
    (only,) = reaches(lambda x: float(math.floor(x)), course, 3.0, 1e-6)
    assert (only.low, only.high) == pytest.approx((3.0, 4.0), abs=1e-5)
    assert math.floor(only.low) == math.floor(only.high) == 3
    assert (only.nearest_to(2.0), only.nearest_to(3.5)) == (only.low, 3.5)
    twice = reaches(
        lambda x: float(abs(math.floor(x) - 5)),
        course_of(lambda x: float(abs(math.floor(x) - 5)), 0.0, 10.0, 33),
        2.0,
        1e-6,
    )
    assert [(reach.low, reach.high) for reach in twice] == [
        pytest.approx((3.0, 4.0), abs=1e-5),
        pytest.approx((7.0, 8.0), abs=1e-5),
    ]
