"""The integer drawing: strokes cut at the windows and rounded once, and its way through SVG and PDF."""

from __future__ import annotations

from collections.abc import Sequence

import handmade
import numpy as np
import pytest
import shapely
from hypothesis import example, given, settings
from hypothesis import strategies as st

from patterns.affine import Affine
from patterns.curve import Curve
from patterns.pattern import Role, Stroke
from tiling import operators
from tiling.form import SheetForm
from tiling.lattice import Lattice
from tiling.operators import DrawingLost, through_pdf
from tiling.paper import paper
from tiling.segments import GROWN, Segments, lines_of, map_to_drawing, segments_of
from tiling.units import UNITS_PER_MM, to_units

LATTICE = Lattice(SheetForm(paper("A4")), (1234, -777))
coordinates = st.floats(-2500, 2500)
points = st.tuples(coordinates, coordinates)
beziers = st.lists(points, min_size=4, max_size=4).map(lambda p: Curve(np.array([p])))


def drawn(*strokes: Stroke, turn: int = 0) -> Segments:
    return segments_of(lines_of(strokes, map_to_drawing(turn, Affine())), LATTICE)


def cut(curve: Curve) -> Stroke:
    return Stroke(Role.CUT, curve)


def apart(rows: Sequence[np.ndarray], others: Sequence[np.ndarray]) -> float:
    """The greatest distance (mm) of a point on some Béziers from the nearest of others, both flattened."""
    lines = [Curve(row[None]).flattened(0.001) for row in others]
    tree = shapely.STRtree(shapely.linestrings([pair for line in lines for pair in np.stack([line[:-1], line[1:]], 1)]))
    points = np.concatenate([Curve(row[None]).point(np.linspace(0, 1, 40)) for row in rows])
    return float(tree.query_nearest(shapely.points(points), all_matches=False, return_distance=True)[1].max())


@settings(max_examples=60, deadline=None)
@given(beziers)
@example(Curve(np.array([[(100.0, 0.0), (0.0, 0.0), (0.0, 100.0), (100.0, 0.0)]])))
@example(Curve(np.array([[(0.0, 0.0), (900.0, 0.0), (-300.0, 0.0), (500.0, 0.0)]])))
@example(Curve(np.array([[(0.0, 0.0), (0.0, 0.0), (0.0, 1.0), (0.0, 1e-68)]])))
def test_pieces_together_are_the_curve(curve: Curve) -> None:
    """Both ways: a rounding of half a unit in each coordinate is 0.001 mm. A loop, and a line that doubles back, too."""
    if curve.length < 0.1:
        return
    pieces = drawn(cut(curve)).points / UNITS_PER_MM
    assert apart(pieces, curve.beziers) < 0.003
    assert apart(curve.beziers, pieces) < 0.003


@settings(max_examples=60, deadline=None)
@given(beziers, st.sampled_from([0, 90]))
def test_no_piece_crosses_the_rim_of_a_window(curve: Curve, turn: int) -> None:
    segments = drawn(cut(curve), turn=turn)
    half = LATTICE.form.overlap // 2 + GROWN
    for axis in (0, 1):
        step, phase = LATTICE.form.step[axis], LATTICE.phase[axis]
        for rim in (phase - half, phase + half):
            ends = (segments.points[:, [0, 3], axis] - rim) / step
            low, high = ends.min(axis=1), ends.max(axis=1)
            assert (np.ceil(high - 1.5 / step) - np.floor(low + 1.5 / step) <= 1).all()


@settings(max_examples=60, deadline=None)
@given(beziers)
@example(Curve(np.array([[(0.0, 0.0), (0.0, 1.4419138836024702e-190), (1.0, 0.0), (0.0, 0.0)]])))
def test_direction_does_not_matter(curve: Curve) -> None:
    one, other = drawn(cut(curve)), drawn(cut(curve.reversed()))
    assert len(one) == len(other)
    assert np.abs(one.points - other.points).max(initial=0) <= 1


@settings(max_examples=40, deadline=None)
@given(points, points)
def test_a_straight_line_is_the_same_whichever_way_it_is_drawn(start: tuple, end: tuple) -> None:
    one, other = drawn(cut(Curve.line(start, end))), drawn(cut(Curve.line(end, start)))
    assert np.array_equal(one.points, other.points)


def test_float_noise_changes_nothing_on_inch_fractions() -> None:
    """Places on a rule's divisions, to 1/64 in and to 0.5 mm, disturbed by 1e-12 mm, round to the same units."""
    random = np.random.default_rng(3)
    divisions = np.concatenate([np.arange(0, 4000) * 25.4 / 64, np.arange(0, 4000) * 0.5])
    noise = random.uniform(-1e-12, 1e-12, (20, len(divisions)))
    rounded = np.rint((divisions + noise) * UNITS_PER_MM)
    assert (rounded == rounded[0]).all()


def test_a_far_end_that_moves_leaves_the_pieces_of_a_line_near_the_other_end_alone() -> None:
    """A straight edge 2 m long, at a slope, whose end moves along it: all pieces but the last are the same."""
    direction = np.array([2000.0, 310.0])
    one, other = (drawn(cut(Curve.line((3.3, 7.7), np.array([3.3, 7.7]) + direction * k))) for k in (1.0, 1.04))
    same = sum(any(np.array_equal(row, also) for also in other.points) for row in one.points)
    assert same >= len(one) - 1
    assert len(one) > 8


@pytest.mark.parametrize("turn", [0, 90])
def test_turning_maps_the_part_as_it_says(turn: int) -> None:
    assert map_to_drawing(turn, Affine()).point(10, 0) == pytest.approx(
        (0, 10 * UNITS_PER_MM) if turn == 90 else (10 * UNITS_PER_MM, 0)
    )


@pytest.mark.parametrize(
    "shape",
    [
        handmade.arched_panel(900, 1000, 150),
        handmade.flowing_rail(12_000, (22.0, 260.0, 35.0, 171.5, 44.0, 12.0, 118.0), 45.0),
        handmade.arched_panel(11_900, 9_000, 2_000),
    ],
    ids=["panel", "12 m rail", "12 m by 9 m panel"],
)
def test_cairo_gives_back_the_integers_that_were_sent(shape: handmade.Handmade) -> None:
    sent = segments_of(lines_of(shape.pattern.strokes, map_to_drawing(0, Affine())), LATTICE)
    back = through_pdf(sent)
    assert np.array_equal(back.points, sent.points)
    assert np.array_equal(back.role, sent.role)
    assert np.array_equal(back.straight, sent.straight)
    assert len(sent) > 20


@settings(max_examples=25, deadline=None)
@given(st.lists(st.tuples(beziers, st.sampled_from([Role.CUT, Role.MARK, Role.GRAIN])), min_size=1, max_size=5))
def test_any_drawing_comes_back_as_it_was_sent(strokes: list[tuple[Curve, Role]]) -> None:
    sent = drawn(*[Stroke(role, curve) for curve, role in strokes])
    back = through_pdf(sent)
    assert np.array_equal(back.points, sent.points) and np.array_equal(back.straight, sent.straight)


def test_a_library_that_changes_its_ways_is_noticed(monkeypatch: pytest.MonkeyPatch) -> None:
    """Were cairo to drop or move a line, no sheet would be printed."""
    sent = drawn(cut(Curve.line((0, 0), (300, 40))))
    written = operators.drawing_svg

    def moved(segments: Segments) -> tuple[str, tuple[int, int]]:
        svg, corner = written(segments)
        return svg, (corner[0] + 1, corner[1])

    monkeypatch.setattr(operators, "drawing_svg", moved)
    with pytest.raises(DrawingLost):
        through_pdf(sent)


def test_units_are_a_256th_of_a_point() -> None:
    assert to_units(25.4) == 72 * 256
    assert to_units(25.4 / 64) == 288
