"""A box from measurements: what fits, which one was misread, and what is still to be measured."""

from __future__ import annotations

import math
import random
from collections.abc import Sequence

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from patterns.carcass.box import ENDS, SIDES, WALLS, Box
from patterns.carcass.measured import Reading, Solved, _Problem, _start, next_to_measure, open_directions, solved
from patterns.carcass.measures import Figure, Shape, figures, names_alike
from patterns.carcass.planes import meet
from patterns.carcass.ring import Joint

INCH = 25.4
THICK = dict.fromkeys(WALLS, 19.0)
OUTSIDE, INSIDE = figures(THICK, "outside"), figures(THICK, "inside")

USUAL = (
    "bottom length", "bottom width", "top length", "top width", "height", "slant of sides", "slant of ends",
    "bottom diagonal", "top diagonal", "diagonal of sides", "diagonal of ends", "slope of sides", "slope of ends", "corner",
)  # fmt: skip
WITHIN = ("bottom length", "bottom width", "top length", "top width", "bottom diagonal", "top diagonal")
"""Measured inside as well, as one does on an antique; and the other corners and slants, which come in pairs."""
TWICE = ("corner", "corner", "corner", "slant of sides", "slant of ends")


def shape(pick: random.Random) -> Shape:
    side, end = (math.radians(pick.uniform(2.0, 14.0)) for _ in range(2))
    splays = {**dict.fromkeys(SIDES, side), **dict.fromkeys(ENDS, end)}
    return Shape(pick.uniform(300, 900), pick.uniform(200, 500), pick.uniform(150, 500), splays)


def measured(of: str, figure: Figure, true: Shape, off_mm: float, label: str = "") -> Reading:
    """What a rule that is ``off_mm`` wrong would show; of a slope the offset over the height."""
    is_slope = of.startswith("slope")
    value = figure(true) + off_mm
    return Reading(label or of, value / true.height if is_slope else value, figure, is_slope, "", "")


def antique(true: Shape, pick: random.Random, noise_mm: float) -> list[tuple[str, Figure]]:
    """Every measure taken, by a label of its own."""
    found = [(of, OUTSIDE[of]) for of in USUAL]
    found += [(f"inside {of}", INSIDE[of]) for of in WITHIN]
    return found + [(f"{of} again {k}", OUTSIDE[of]) for k, of in enumerate(TWICE)]


def test_two_hundred_boxes_with_noise_and_one_misreading() -> None:
    """Noise of up to 1/32 in either way in each of 25 measurements, and one that is 1/2 in wrong."""
    pick = random.Random(11)
    named = near = 0
    for _ in range(200):
        true = shape(pick)
        every = antique(true, pick, INCH / 32)
        wrong, sign = pick.randrange(len(every)), pick.choice((-1.0, 1.0))
        readings = [
            measured(of, figure, true, pick.uniform(-1, 1) * INCH / 32 + (sign * INCH / 2 if k == wrong else 0.0))
            for k, (of, figure) in enumerate(every)
        ]
        found = solved(readings, names_alike(USUAL))
        named += [one.of for one in found.residuals if one.left_out] == [every[wrong][0]]
        near += _is_near(found, true, INCH / 32)
    assert named >= 190, "at least 95 %"
    assert near >= 198, "the plan, the height and the top are within 1/32 in"


def _is_near(found: Solved, true: Shape, within_mm: float) -> bool:
    sizes = ("bottom length", "bottom width", "height", "top length", "top width")
    return all(abs(OUTSIDE[of](found.shape) - OUTSIDE[of](true)) <= within_mm for of in sizes)


@settings(max_examples=40, deadline=None)
@given(seed=st.integers(0, 10_000))
def test_true_measurements_give_the_true_box_and_nothing_is_called_misread(seed: int) -> None:
    pick = random.Random(seed)
    true = shape(pick)
    some = pick.sample(USUAL, 9)
    readings = [measured(of, OUTSIDE[of], true, 0.0) for of in some]
    problem = _Problem(names_alike(some))
    if open_directions(problem, _start(readings, problem.groups), readings):
        return
    found = solved(readings, problem.groups)
    assert max(abs(one.residual) for one in found.residuals) <= 1e-6
    assert not any(one.left_out for one in found.residuals)


def test_measures_are_those_of_the_box_in_space() -> None:
    """Each against distances between corners where three planes of the box meet."""
    splays = {"left_side": 0.1, "right_side": 0.2, "head_board": 0.05, "foot_board": -0.04}
    true = Shape(600.0, 300.0, 250.0, splays)
    box = Box(600.0, 300.0, dict.fromkeys(WALLS, (250.0, 250.0)), splays, THICK, Joint("mitre"))
    walls = dict(zip(WALLS, box.walls, strict=True))

    def corner(end: str, side: str, edge: str, face: str) -> Sequence[float]:
        one, other = walls[end], walls[side]
        return meet(getattr(one, face), getattr(other, face), one.bottom if edge == "bottom" else one.top_right)

    for face, known in (("outside", OUTSIDE), ("inside", INSIDE)):
        for edge in ("bottom", "top"):
            a, b, c = (
                corner(e, s, edge, face)
                for e, s in (("foot_board", "left_side"), ("foot_board", "right_side"), ("head_board", "right_side"))
            )
            assert known[f"{edge} width"](true) == pytest.approx(math.dist(a, b))
            assert known[f"{edge} length"](true) == pytest.approx(math.dist(b, c))
            assert known[f"{edge} diagonal"](true) == pytest.approx(math.dist(a, c))
    low, high = (corner("foot_board", "right_side", edge, "outside") for edge in ("bottom", "top"))
    assert OUTSIDE["corner of foot board and right side"](true) == pytest.approx(math.dist(low, high))
    far = corner("foot_board", "right_side", "top", "outside")
    near = corner("foot_board", "left_side", "bottom", "outside")
    board = box.boards[0]
    slant = board.outline[2][1]
    assert OUTSIDE["slant of foot board"](true) == pytest.approx(slant)
    assert OUTSIDE["diagonal of foot board"](true) == pytest.approx(math.dist(near, far))


def test_a_wall_measured_by_itself_leans_by_itself() -> None:
    assert names_alike(["slope of left side", "height"]) == (("left_side",), ("right_side",), ENDS)
    assert names_alike(["height"]) == (SIDES, ENDS)


def test_what_is_missing_is_asked_for_and_then_settles_all() -> None:
    true = shape(random.Random(3))
    for names in (["bottom length"], ["bottom length", "bottom width"], ["height", "top length", "top width"]):
        readings = [measured(of, OUTSIDE[of], true, 0.0) for of in names]
        problem = _Problem(names_alike(names))
        start = _start(readings, problem.groups)
        asked = next_to_measure(problem, start, readings, OUTSIDE)
        assert len(asked) == open_directions(problem, start, readings) > 0
        all_: list[Reading] = [*readings, *(measured(of, OUTSIDE[of], true, 0.0) for of in asked)]
        found = solved(all_, problem.groups)
        assert _is_near(found, true, 1e-6), names


def test_of_measurements_that_only_contradict_one_another_none_is_blamed() -> None:
    """Bottom length, top length and the slope of the ends settle two figures: with any one of them gone the rest agree.
    The top width is spare as well, but tells nothing of the ends."""
    true = Shape(600.0, 300.0, 250.0, dict.fromkeys(WALLS, math.radians(6.0)))
    some = ("bottom length", "bottom width", "height", "slope of sides", "slope of ends", "top length", "top width")
    readings = [measured(of, OUTSIDE[of], true, INCH / 2 if of == "top length" else 0.0) for of in some]
    found = solved(readings, names_alike(some))
    assert not any(one.left_out for one in found.residuals)
    assert {one.of for one in found.residuals if one.perhaps} == {"bottom length", "top length", "slope of ends"}
    more = [*readings, measured("top diagonal", OUTSIDE["top diagonal"], true, 0.0)]
    assert [one.of for one in solved(more, names_alike(some)).residuals if one.left_out] == ["top length"]
