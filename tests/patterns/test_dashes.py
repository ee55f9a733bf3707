"""Dashes stay where they are when a far end moves, and numbers are written plainly."""

from __future__ import annotations

import itertools
import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from patterns.arclength import parameters_at
from patterns.curve import Curve
from patterns.dashes import RHYTHMS, dashes_of
from patterns.numbers import decimal
from patterns.pattern import Role, Stroke

ROLES = sorted(RHYTHMS, key=str)
coordinates = st.floats(-2000, 2000)


@settings(max_examples=60, deadline=None)
@given(
    st.sampled_from(ROLES), coordinates, coordinates, st.floats(0, 2 * math.pi), st.floats(60, 900), st.floats(60, 900)
)
def test_dashes_near_the_start_do_not_move_with_the_far_end(
    role: Role, x: float, y: float, angle: float, first: float, second: float
) -> None:
    def dashes(length: float) -> list[tuple[float, ...]]:
        end = (x + length * math.cos(angle), y + length * math.sin(angle))
        found = dashes_of(Stroke(role, Curve.line((x, y), end)))
        return [(*dash.start, *dash.end) for dash in found]

    shorter = min(first, second)
    near = [d for d in dashes(first) if max(math.dist((x, y), d[:2]), math.dist((x, y), d[2:])) < shorter - 20]
    others = np.array(dashes(second))
    for dash in near:
        assert np.abs(others - np.array(dash)).max(axis=1).min() < 1e-6


@pytest.mark.parametrize("role", ROLES)
def test_dashes_of_a_curve_lie_on_it_and_have_their_lengths(role: Role) -> None:
    arc = Curve.arc((0, 0), 300, 0.2, 2.0)
    found = dashes_of(Stroke(role, arc))
    rhythm = RHYTHMS[role]
    assert [dash.length for dash in found[: len(rhythm) // 2]] == pytest.approx(rhythm[::2], abs=1e-6)
    assert all(abs(math.hypot(*point) - 300) < 1e-3 for dash in found for point in (dash.start, dash.end))


@settings(max_examples=60, deadline=None)
@given(coordinates, coordinates, st.floats(0, 2 * math.pi), st.floats(2.5, 60))
def test_a_short_line_of_the_blank_never_looks_like_one_to_cut(x: float, y: float, angle: float, length: float) -> None:
    """Beside a worked corner little of the blank is left: it shows two gaps that an eye can see, wherever it lies."""
    line = Curve.line((x, y), (x + length * math.cos(angle), y + length * math.sin(angle)))
    dashes = dashes_of(Stroke(Role.BLANK, line))
    ends = sorted(tuple(sorted(math.dist((x, y), p) for p in (dash.start, dash.end))) for dash in dashes)
    gaps = [after[0] - before[1] for before, after in itertools.pairwise([(0, 0), *ends, (length, length)])]
    assert sum(gap > 0.7 for gap in gaps) >= 2
    assert sum(end - start for start, end in ends) <= 0.82 * length + 1e-9  # at worst 13 of 16 mm


def test_cut_lines_are_not_dashed() -> None:
    line = Curve.line((0, 0), (500, 0))
    assert dashes_of(Stroke(Role.CUT, line)) == [line]


@settings(max_examples=60, deadline=None)
@given(st.lists(st.floats(0, 1), min_size=1, max_size=5))
def test_places_along_a_curve_are_at_their_distance(shares: list[float]) -> None:
    curve = Curve(np.array([[[0, 0], [10, 200], [300, -80], [320, 60]], [[320, 60], [330, 110], [500, 90], [520, 0]]]))
    for share, t in zip(shares, parameters_at(curve, [s * curve.length for s in shares]), strict=True):
        if 1e-6 < t < len(curve) - 1e-6:
            assert curve.between(0, float(t)).length == pytest.approx(share * curve.length, abs=1e-6)


@pytest.mark.parametrize(
    ("value", "text"),
    [
        (0.0, "0"),
        (-0.0, "0"),
        (-1e-9, "0"),
        (1e-7, "0"),
        (12.5, "12.5"),
        (1e6, "1000000"),
        (-3.14159265, "-3.14159"),
        (100.0, "100"),
    ],
)
def test_numbers_are_written_without_exponent_or_minus_nought(value: float, text: str) -> None:
    assert decimal(value) == text


def test_a_number_that_is_none_is_refused() -> None:
    with pytest.raises(ValueError, match="nan"):
        decimal(math.nan)
