"""How far two lines are apart: closed forms, GEOS, and what every distance between shapes has to obey."""

from __future__ import annotations

import math

import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st

from patterns.affine import Affine
from patterns.apart import ACCURACY_MM, farthest, hausdorff
from patterns.curve import Curve
from patterns.fitting import closed_through

SAGITTA_MM = 0.0005
SMALL_MM = 0.05
"""Of the chords' length: between two of its points a distance changes by half of it at most."""

seeds = st.integers(0, 10_000)


def segmental(span: float, rise: float) -> Curve:
    """An arch from (-span/2, 0) to (span/2, 0): its radius from the chord, as any handbook has it."""
    radius = (span * span / 4 + rise * rise) / (2 * rise)
    half = math.asin(span / 2 / radius)
    return Curve.arc((0.0, rise - radius), radius, math.pi / 2 - half, math.pi / 2 + half)


def box(x0: float, y0: float, x1: float, y1: float) -> Curve:
    return Curve.polyline([(x0, y0), (x1, y0), (x1, y1), (x0, y1)], closed=True)


def blob(seed: int, count: int = 9, size: float = 100.0) -> Curve:
    """A freehand closed curve: out and in by up to a quarter of its size."""
    far = size * (1.0 + np.random.default_rng(seed).uniform(-0.25, 0.25, count))
    turn = np.arange(count) * 2.0 * math.pi / count
    return closed_through(list(zip(far * np.cos(turn), far * np.sin(turn), strict=True)))


def scribble(seed: int, count: int = 3) -> Curve:
    """Béziers end to end with handles anywhere: loops and cusps are among them."""
    points = np.random.default_rng(seed).uniform(0.0, 100.0, (3 * count + 1, 2))
    return Curve(np.stack([points[3 * k : 3 * k + 4] for k in range(count)]))


def by_geos(line: Curve, other: Curve) -> float:
    """GEOS's discrete Hausdorff distance of the flattened lines, with points between the chords' ends."""
    a, b = (shapely.LineString(curve.flattened(SAGITTA_MM)) for curve in (line, other))
    return float(shapely.hausdorff_distance(shapely.segmentize(a, SMALL_MM * 10), shapely.segmentize(b, SMALL_MM * 10)))


# -------------------------------------------------------------------- closed forms


def test_of_two_concentric_circles_all_is_as_far_as_their_radii_differ() -> None:
    found = farthest(Curve.circle((0, 0), 500.0), Curve.circle((0, 0), 506.35))[0]
    assert found.distance == pytest.approx(6.35, abs=1e-5)
    assert found.even and found.average == pytest.approx(6.35, abs=1e-5)


@settings(max_examples=12, deadline=None)
@given(st.floats(200, 1500), st.floats(0.05, 0.3), st.floats(0.01, 12))
def test_two_segmental_arches_on_one_span_are_farthest_apart_at_their_crowns(
    span: float, share: float, more: float
) -> None:
    low, high = segmental(span, span * share), segmental(span, span * share + more)
    for line, other, rise in ((low, high, span * share), (high, low, span * share + more)):
        found = farthest(line, other)[0]
        assert found.distance == pytest.approx(more, abs=0.005)
        assert math.dist(found.at, (0.0, rise)) < max(2.0, span * 0.005)


def test_the_crown_is_met_to_a_hundredth_of_a_millimetre_though_the_hill_is_flat() -> None:
    found = farthest(segmental(900, 60), segmental(900, 66.35))[0]
    assert found.distance == pytest.approx(6.35, abs=1e-6)
    assert found.at == pytest.approx((0.0, 60.0), abs=0.5)


def test_a_board_made_longer_is_off_along_its_whole_end() -> None:
    short, long = box(0, 0, 1000, 100), box(0, 0, 1025.4, 100)
    sides = farthest(long, short, [1, 1, 1, 1])
    assert [side.distance for side in sides] == pytest.approx([25.4, 25.4, 25.4, 0.0], abs=1e-9)
    assert [side.even for side in sides] == [False, True, False, False]
    assert sides[1].at == pytest.approx((1025.4, 50.0)) and sides[1].nearest == pytest.approx((1000.0, 50.0))
    assert sides[0].average < 2.0


def test_a_corner_cut_off_is_as_far_as_its_height_over_the_chamfer() -> None:
    whole = box(0, 0, 100, 50)
    cut = Curve.polyline([(0, 0), (90, 0), (100, 10), (100, 50), (0, 50)], closed=True)
    assert hausdorff(whole, cut) == pytest.approx(10 / math.sqrt(2), abs=1e-9)
    assert farthest(whole, cut)[0].at == pytest.approx((100.0, 0.0), abs=1e-9)
    assert farthest(cut, whole)[0].distance == pytest.approx(5.0, abs=1e-9)


@settings(max_examples=12, deadline=None)
@given(seeds, st.floats(-20, 20), st.floats(-20, 20))
def test_a_shape_moved_is_nowhere_farther_than_it_was_moved(seed: int, dx: float, dy: float) -> None:
    shape = blob(seed)
    moved = shape.transformed(Affine.translation(dx, dy))
    assert hausdorff(shape, moved) <= math.hypot(dx, dy) + 1e-9


@settings(max_examples=12, deadline=None)
@given(st.floats(-30, 30), st.floats(-30, 30), st.floats(20, 60), st.integers(3, 9))
def test_a_convex_shape_moved_is_exactly_as_far_as_it_was_moved(dx: float, dy: float, size: float, count: int) -> None:
    """Its point that lies farthest along the move is as far past the old shape: the difference of their supports."""
    turn = np.arange(count) * 2.0 * math.pi / count
    polygon = Curve.polyline(size * np.stack([np.cos(turn), 0.4 * np.sin(turn)], axis=1), closed=True)
    for shape in (Curve.circle((0, 0), size), polygon):
        moved = shape.transformed(Affine.translation(dx, dy))
        assert hausdorff(shape, moved) == pytest.approx(math.hypot(dx, dy), abs=ACCURACY_MM)


# -------------------------------------------------------------------- against GEOS, and any distance's rules


@settings(max_examples=12, deadline=None)
@given(seeds, seeds)
def test_freehand_shapes_are_as_far_apart_as_geos_says(first: int, second: int) -> None:
    a, b = blob(first), blob(second)
    assert hausdorff(a, b) == pytest.approx(by_geos(a, b), abs=2 * SAGITTA_MM + SMALL_MM * 5 + ACCURACY_MM)


@settings(max_examples=12, deadline=None)
@given(seeds, seeds)
def test_lines_with_loops_and_cusps_as_well(first: int, second: int) -> None:
    a, b = scribble(first), scribble(second)
    assert hausdorff(a, b) == pytest.approx(by_geos(a, b), abs=2 * SAGITTA_MM + SMALL_MM * 5 + ACCURACY_MM)


@settings(max_examples=12, deadline=None)
@given(seeds, seeds)
def test_no_point_of_a_line_is_farther_than_the_one_named(first: int, second: int) -> None:
    a, b = scribble(first), blob(second)
    named = farthest(a, b, [1] * len(a))
    other = shapely.LineString(b.flattened(SAGITTA_MM))
    for k, found in enumerate(named):
        places = shapely.points(a.point(np.linspace(k, k + 1, 300)))
        assert float(shapely.distance(places, other).max()) <= found.distance + ACCURACY_MM + SAGITTA_MM
        assert math.dist(found.at, found.nearest) == pytest.approx(found.distance, abs=1e-9)
        assert shapely.distance(shapely.Point(found.at), other) == pytest.approx(found.distance, abs=2 * SAGITTA_MM)


@settings(max_examples=12, deadline=None)
@given(seeds, seeds)
def test_it_is_the_same_both_ways_and_nothing_from_itself(first: int, second: int) -> None:
    a, b = blob(first), blob(second)
    assert hausdorff(a, b) == hausdorff(b, a)
    assert hausdorff(a, a) == 0.0
    again = Curve(np.concatenate([a.beziers[4:], a.beziers[:4]])).reversed()  # begun elsewhere, run the other way
    assert hausdorff(a, again) <= 1e-9


@settings(max_examples=12, deadline=None)
@given(seeds, seeds, seeds)
def test_by_way_of_a_third_shape_it_is_no_shorter(first: int, second: int, third: int) -> None:
    a, b, c = blob(first), blob(second), blob(third)
    assert hausdorff(a, c) <= hausdorff(a, b) + hausdorff(b, c) + 2 * ACCURACY_MM


@settings(max_examples=12, deadline=None)
@given(seeds, seeds, st.floats(0, 7), st.floats(0.2, 5))
def test_it_turns_and_grows_with_what_is_measured(first: int, second: int, angle: float, scale: float) -> None:
    a, b = blob(first), blob(second)
    by = Affine.translation(31.0, -7.0) @ Affine.rotation(angle) @ Affine.scaling(scale)
    allowed = ACCURACY_MM * max(1.0, scale)
    assert hausdorff(a.transformed(by), b.transformed(by)) == pytest.approx(scale * hausdorff(a, b), abs=allowed)


def test_where_a_line_is_cut_into_beziers_does_not_matter() -> None:
    a, b = blob(3), blob(4)
    finer = Curve.chain([a.between(t, t + 0.25) for t in np.arange(0.0, len(a), 0.25)])
    assert hausdorff(finer, b) == pytest.approx(hausdorff(a, b), abs=ACCURACY_MM)
    assert hausdorff(finer, a) <= 1e-9


def test_stretches_have_to_make_up_the_line() -> None:
    with pytest.raises(ValueError, match="stretches of 3 Béziers are not a line of 4"):
        farthest(box(0, 0, 1, 1), box(0, 0, 2, 2), [1, 2])
