"""Parallel curves: at their distance, trimmed where they can't be, joined at corners."""

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from patterns.affine import Affine
from patterns.crossings import nearest_to_each, self_crossings
from patterns.curve import Curve
from patterns.outline import Outline, signed_area
from patterns.parallel import TOLERANCE_MM, parallel


def rectangle(x0, y0, x1, y1):
    return Curve.polyline([(x0, y0), (x1, y0), (x1, y1), (x0, y1)], closed=True)


def bezier(*controls):
    return Curve(np.array([controls], dtype=float))


def distances(curve, result):
    points = np.concatenate([part.point(np.linspace(0, len(part), 40 * len(part) + 1)) for part in result.curves])
    return nearest_to_each(curve, points)[1]


@pytest.mark.parametrize("distance", [-20.0, -3.0, 3.0, 9.0, 25.0])
def test_every_point_of_a_parallel_has_its_distance(zoo, distance):
    """At every curve of the zoo, cusps and loops included, and nothing is left that crosses itself by its own fault."""
    for name, curve in zoo.items():
        result = parallel(curve, distance)
        assert result.deviation <= TOLERANCE_MM, name
        if result.curves:
            off = distances(curve, result) - abs(distance)
            assert np.abs(off).max() <= TOLERANCE_MM + 1e-9, name
        for part in result.curves:
            assert part.is_closed or not curve.is_closed, name
            if name != "loop":
                assert self_crossings(part) == [], name


@pytest.mark.parametrize("tolerance", [0.5, 0.005, 1e-5])
def test_the_tolerance_asked_for_is_met_and_the_deviation_measured(zoo, tolerance):
    for name in ("ellipse", "wave", "ten metres", "ogee"):
        curve = zoo[name]
        result = parallel(curve, -8.0, tolerance)
        worst = np.abs(distances(curve, result) - 8).max()
        assert worst <= tolerance, name
        assert worst <= 1.05 * result.deviation + 1e-9, "what is reported is what is measured"


def test_positive_is_to_the_left():
    (line,) = parallel(Curve.line((0, 0), (100, 0)), 5).curves
    np.testing.assert_allclose(line.beziers[:, :, 1], 5)
    (line,) = parallel(Curve.line((0, 0), (100, 0)), -5).curves
    np.testing.assert_allclose(line.beziers[:, :, 1], -5)


def test_the_parallel_of_an_arc_is_an_arc():
    arc = Curve.arc((10, 20), 300, 0.2, 1.5)
    for distance in (-700.0, -3.0, 50.0, 299.0):
        (part,) = parallel(arc, distance).curves
        radius = np.hypot(*(part.point(np.linspace(0, len(part), 500)) - [10, 20]).T)
        np.testing.assert_allclose(radius, 300 - distance, atol=0.001 * max(1, abs(distance) / 300))


def test_a_panel_with_an_allowance():
    """A rectangle grown by d: rounded corners add pi d², sharp ones 4 d² (Steiner's formula)."""
    for joins, corner_area in (("round", math.pi * 100), ("sharp", 400)):
        result = parallel(rectangle(0, 0, 300, 200), -10, joins=joins)
        (grown,) = result.curves
        assert signed_area(grown) == pytest.approx(300 * 200 + 10 * 1000 + corner_area, rel=1e-7)
        assert result.trimmed == ()


def test_a_panel_shrunk_keeps_its_corners_and_tells_what_they_lost():
    result = parallel(rectangle(0, 0, 300, 200), 10)
    (shrunk,) = result.curves
    assert Outline(shrunk).bounds == pytest.approx((10, 10, 290, 190))
    assert signed_area(shrunk) == pytest.approx(280 * 180)
    assert [lost.at for lost in result.trimmed] == [(300, 0), (300, 200), (0, 200), (0, 0)]
    assert {lost.radius for lost in result.trimmed} == {0.0}
    last = result.trimmed[-1]
    assert last.start < 4 < last.end, "it runs over the seam"


def test_a_hollow_tighter_than_the_distance_is_cut_away_and_told():
    """An ellipse of 100 by 40 is tightest, 16, at its ends: no parallel inside at 30 there, but one at 15."""
    ellipse = Curve.circle((0, 0), 100).transformed(Affine.scaling(1, 0.4))
    assert parallel(ellipse, 15).trimmed == ()
    result = parallel(ellipse, 30)
    (lens,) = result.curves
    assert [lost.radius for lost in result.trimmed] == pytest.approx([16, 16], rel=1e-3)
    assert [lost.at[0] for lost in result.trimmed] == pytest.approx([-100, 100], abs=0.01)
    assert Outline(lens).problems() == ()
    assert parallel(ellipse, 41).curves == ()
    assert parallel(ellipse, 41).trimmed[0].end - parallel(ellipse, 41).trimmed[0].start == 16


def test_a_distance_equal_to_the_radius_leaves_nothing():
    assert parallel(Curve.circle((0, 0), 100), 100).curves == ()
    slot = Curve.chain(
        [Curve.line((0, 90), (0, 30)), Curve.arc((30, 30), 30, math.pi, 2 * math.pi), Curve.line((60, 30), (60, 90))]
    )
    assert parallel(slot, 31).curves == ()
    (inside,) = parallel(slot, 29.9).curves
    assert inside.bounds[1] == pytest.approx(29.9, abs=0.01)


def test_a_shape_with_a_waist_falls_in_two():
    half = [(0, 0), (60, 0), (60, 25), (100, 25), (100, 0), (160, 0)]
    dumb_bell = Curve.polyline([*half, *((x, 60 - y) for x, y in reversed(half))], closed=True)
    assert len(parallel(dumb_bell, 4).curves) == 1
    result = parallel(dumb_bell, 6)
    assert len(result.curves) == 2
    assert all(part.is_closed for part in result.curves)
    bounds = sorted(part.bounds for part in result.curves)
    point = math.sqrt(6**2 - 5**2)  # the arcs round the waist's corners, 6 from both, meet on its middle
    np.testing.assert_allclose(bounds, [(6, 6, 60 - point, 54), (100 + point, 6, 154, 54)], atol=0.005)


def test_where_a_curve_comes_near_itself_the_parallel_ends():
    """A hook whose tip comes within 20 of its stem: a parallel at 12 on the stem's side can't pass between."""
    hook = Curve.polyline([(0, 0), (0, 200), (100, 200), (100, 100), (20, 100)])
    result = parallel(hook, 12)
    assert np.abs(distances(hook, result) - 12).max() <= TOLERANCE_MM
    result = parallel(hook, -12)
    assert np.abs(distances(hook, result) - 12).max() <= TOLERANCE_MM
    assert any(math.isinf(lost.radius) for lost in result.trimmed)
    assert len(result.curves) == 2


def test_a_sharp_point_is_rounded_where_its_tip_would_run_away():
    needle = Curve.polyline([(0, 0), (100, 1), (0, 2)])
    (part,) = parallel(needle, -5, joins="sharp").curves
    assert part.bounds[2] == pytest.approx(105, abs=1e-3)


def test_no_distance_no_change():
    curve = Curve.circle((0, 0), 10)
    assert parallel(curve, 0).curves == (curve,)
    assert parallel(Curve(np.zeros((1, 4, 2))), 5).curves == ()


def test_a_distance_that_is_no_number_is_refused():
    for bad in (math.nan, math.inf):
        with pytest.raises(ValueError):
            parallel(Curve.circle((0, 0), 10), bad)
    for bad in (0.0, -1.0, math.nan):
        with pytest.raises(ValueError):
            parallel(Curve.circle((0, 0), 10), 1.0, tolerance_mm=bad)


@settings(max_examples=25, deadline=None)
@given(st.floats(0.3, 1.0), st.floats(0, 3), st.floats(1, 60))
def test_there_and_back_again_is_the_curve_itself(flatness, angle, distance):
    """Out from an ellipse and in again: outside nothing is lost."""
    ellipse = Curve.circle((0, 0), 150).transformed(Affine.rotation(angle) @ Affine.scaling(1, flatness))
    (out,) = parallel(ellipse, -distance).curves
    (back,) = parallel(out, distance).curves
    points = back.point(np.linspace(0, len(back), 300))
    assert nearest_to_each(ellipse, points)[1].max() <= 2 * TOLERANCE_MM
    assert signed_area(back) == pytest.approx(signed_area(ellipse), rel=1e-3)


@settings(max_examples=25, deadline=None)
@given(st.lists(st.tuples(st.integers(-60, 60), st.integers(-60, 60)), min_size=2, max_size=2), st.floats(2, 40))
def test_scaling_the_curve_scales_its_parallel(handles, distance):
    curve = bezier((0, 0), (30 + handles[0][0], handles[0][1]), (70 + handles[1][0], handles[1][1]), (100, 0))
    if curve.length < 90:
        return
    small, large = (
        parallel(curve, distance),
        parallel(curve.transformed(Affine.scaling(10)), 10 * distance, 10 * TOLERANCE_MM),
    )
    assert len(small.curves) == len(large.curves)
    total, tenfold = (sum(part.length for part in result.curves) for result in (small, large))
    assert tenfold == pytest.approx(10 * total, rel=1e-4, abs=0.5)


@settings(max_examples=30, deadline=None)
@given(st.lists(st.tuples(st.integers(-80, 180), st.integers(-80, 80)), min_size=2, max_size=2), st.floats(-40, 40))
def test_any_cubic_at_any_distance_keeps_it(handles, distance):
    curve = bezier((0, 0), *handles, (100, 0))
    if abs(distance) < 0.5:
        return
    result = parallel(curve, distance)
    assert result.deviation <= TOLERANCE_MM
    if result.curves:
        assert np.abs(distances(curve, result) - abs(distance)).max() <= 2.5 * TOLERANCE_MM
