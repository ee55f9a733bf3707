"""What is kept follows from its key: an answer that is kept is the answer that asking again would give."""

from collections.abc import Sequence

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from hypothesis.extra.numpy import arrays

from patterns import answers, freespace, meetings, shortgrain
from patterns.answers import kept, kept_of_each
from patterns.curve import Curve
from patterns.freespace import FreeSpace
from patterns.outline import Outline
from patterns.stationmarks import Around

ARCH = Curve.arc((0, 0), 100, 0.0, 2.0)


def test_a_curve_with_the_same_control_points_is_asked_about_once() -> None:
    asked: list[float] = []

    @kept
    def reach(curve: Curve, share: float) -> float:
        asked.append(share)
        return curve.length * share

    again = Curve(ARCH.beziers.copy())
    assert reach(ARCH, 0.5) == reach(again, 0.5) == ARCH.length / 2
    assert asked == [0.5]
    assert reach(again.reversed(), 0.5) == pytest.approx(ARCH.length / 2)
    assert reach(ARCH, 0.25) == ARCH.length / 4
    assert asked == [0.5, 0.5, 0.25]


def test_of_many_curves_only_new_ones_are_asked_about(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(answers, "MOST_KEPT", 3)
    asked: list[int] = []

    @kept_of_each
    def ends(curves: Sequence[Curve]) -> list[float]:
        asked.append(len(curves))
        return [float(curve.end[0]) for curve in curves]

    lines = [Curve.line((0, 0), (k, 0)) for k in range(1, 6)]
    assert ends([lines[1], lines[0], lines[1]]) == [2, 1, 2]
    assert ends(lines) == [1, 2, 3, 4, 5]
    assert asked == [2, 3]
    assert ends(lines[2:]) == [3, 4, 5], "the latest are still known"
    assert ends(lines[:1]) == [1], "and what was forgotten is asked for again"
    assert asked == [2, 3, 1]


@settings(max_examples=60, deadline=None)
@given(arrays(np.float64, (3, 2, 4, 2), elements=st.integers(-30, 30)))
def test_few_pairs_meet_where_many_do_to_the_last_bit(pairs: np.ndarray) -> None:
    few = meetings.meetings(pairs[:, 0], pairs[:, 1])
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(meetings, "FEW", 0)
        many = meetings.meetings(pairs[:, 0], pairs[:, 1])
    assert [one.tobytes() for one in few] == [one.tobytes() for one in many]


@settings(max_examples=40, deadline=None)
@given(
    st.lists(st.tuples(*[st.floats(0, 400)] * 4), min_size=1, max_size=12),
    st.tuples(*[st.floats(0, 400)] * 2, st.floats(1, 80), st.floats(1, 9), st.floats(-2, 2)),
)
def test_as_much_is_covered_whether_or_not_points_were_sorted(strokes: list[tuple[float, ...]], box: tuple) -> None:
    def covered(most: int) -> int:
        with pytest.MonkeyPatch.context() as patch:
            patch.setattr(freespace, "MOST_RECENT", most)
            space = FreeSpace()
            for x0, y0, x1, y1 in strokes:
                space.take(Curve.arc((x0, y0), 1 + x1, 0.0, 1 + y1 / 100))
                space.take_line((x0, y0), (x1, y1))
                space.covered((x0, y0), 5.0, 5.0)
        return space.covered(box[:2], *box[2:])

    assert covered(0) == covered(10**9)


@settings(max_examples=60, deadline=None)
@given(st.floats(5, 900), st.floats(5, 900), st.lists(st.tuples(st.floats(-50, 950), st.floats(-50, 950)), min_size=1))
def test_a_plain_board_holds_what_its_outline_contains(
    length: float, width: float, points: list[tuple[float, float]]
) -> None:
    corners = [(0.0, 0.0), (length, 0.0), (length, width), (0.0, width)]
    wood = Outline(Curve.polyline(corners, closed=True))
    around = Around(wood, (length / 2, width / 3))
    assert around._is_box
    inside = [0 < x < length and 0 < y < width for x, y in points]
    assert [a for a, on in zip(around.holds_each(points), inside, strict=True) if on] == [True] * sum(inside)
    assert around.holds_each(corners) == [True] * 4, "what is on the very edge is over the wood"
    assert not Around(Outline(Curve.circle((0, 0), 9)), (0.0, 0.0))._is_box
    assert not Around(Outline(Curve.polyline([*corners[:3], (1.0, width)], closed=True)), (9.0, 9.0))._is_box


def test_the_wood_is_as_wide_where_only_some_places_are_looked_at() -> None:
    bow = Curve.chain([Curve.arc((0, 0), 100, 0.1, 3.0), Curve.arc((0, 0), 60, 3.0, 0.1)][:1])
    ends = bow.start, bow.end
    shape = Outline(Curve.chain([bow, Curve.polyline([ends[1], (-40, 9), (40, 9), ends[0]])]).closed_up())
    loops = shortgrain._Loops.of(shape, 60.0)
    every, some = loops.flank(0), np.arange(3, len(loops.each[0].points), 7)
    few = loops.flank(0, some)
    for name in ("width", "across", "facing", "by_hole"):
        np.testing.assert_array_equal(getattr(few, name), getattr(every, name)[some])
