"""Blanks: how stations and depths lie on each edge, and blanks that can't be worked from."""

from __future__ import annotations

import math

import pytest

from patterns.blank import Blank, problems
from patterns.piece import BlankSpec, Given

SIDES = ("bottom", "right", "top", "left")
CORNERS = ("bottom_left", "bottom_right", "top_right", "top_left")


def rectangle(length: float, width: float) -> BlankSpec:
    corners = ((0.0, 0.0), (length, 0.0), (length, width), (0.0, width))
    figures = (
        ("length", Given(length, str(length), "blank, length")),
        ("width", Given(width, str(width), "blank, width")),
    )
    return BlankSpec("rectangle", corners, SIDES, CORNERS, figures, "blank")


def polygon(*corners: tuple[float, float]) -> BlankSpec:
    names = tuple(f"edge_{k + 1}" for k in range(len(corners)))
    return BlankSpec("polygon", corners, names, tuple(f"corner_{k + 1}" for k in range(len(corners))), (), "blank")


@pytest.mark.parametrize(
    ("edge", "point"),
    [("bottom", (30, 5)), ("top", (30, 95)), ("left", (5, 30)), ("right", (295, 30))],
)
def test_stations_run_rightward_and_upward_and_depths_go_into_the_wood(edge: str, point: tuple[float, float]) -> None:
    """A rule laid from the left, or from the bottom, 30 along and 5 in."""
    found = Blank.of(rectangle(300, 100)).edge(edge)
    assert found is not None
    assert found.to_part.point(30, 5) == pytest.approx(point, abs=1e-12)


def test_stations_of_a_polygon_run_counter_clockwise() -> None:
    blank = Blank.of(polygon((0, 0), (100, 0), (100, 80), (0, 80)))
    top = blank.edge("edge_3")
    assert top is not None
    assert top.to_part.point(30, 5) == pytest.approx((70, 75), abs=1e-12)


def test_depth_is_square_to_a_sloping_edge() -> None:
    trapezoid = BlankSpec("trapezoid", ((0, 0), (60, 0), (80, 40), (-20, 40)), SIDES, CORNERS, (), "blank")
    left = Blank.of(trapezoid).edge("left")
    assert left is not None
    x, y = left.to_part.point(10, 7)
    on_edge = left.to_part.point(10, 0)
    assert math.dist((x, y), on_edge) == pytest.approx(7)
    assert (x - on_edge[0]) * -20 + (y - on_edge[1]) * 40 == pytest.approx(0, abs=1e-9)
    assert x > on_edge[0]


def test_a_sound_blank_has_no_problems() -> None:
    assert problems(rectangle(300, 100)) == []
    assert problems(polygon((0, 0), (300, 0), (100, 80))) == []


@pytest.mark.parametrize(
    ("spec", "place", "words"),
    [
        (rectangle(0, 100), "blank, length", "more than 0"),
        (rectangle(300, -2), "blank, width", "more than 0"),
        (rectangle(20_000, 100), "blank, length", "is the unit right?"),
        (polygon((0, 0), (0, 80), (100, 80), (100, 0)), "blank", "clockwise"),
        (polygon((0, 0), (100, 80), (100, 0), (0, 80)), "blank", "crosses"),
        (polygon((0, 0), (50, 0), (100, 0)), "blank", "no area"),
        (polygon((0, 0), (100, 0), (100, 0), (0, 80)), "blank", "same point"),
    ],
)
def test_an_impossible_blank_is_told_with_its_place(spec: BlankSpec, place: str, words: str) -> None:
    found = problems(spec)
    assert found[0].place == place
    assert words in found[0].what
