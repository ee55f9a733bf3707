"""Lengths, areas, bounds, crossings, insides and parallels against geometry libraries that we do not use ourselves.

References: Shapely on GEOS (polygons with chords of a bounded sagitta), ``bezier`` (Bézier algebra and its own
intersections) and fontTools' pens; the shapes are random cubics and the letters of Noto Sans, two metres high.
"""

from __future__ import annotations

import math
from pathlib import Path

import bezier
import fontpkg_noto_sans
import numpy as np
import pytest
import shapely
from fontTools.pens.areaPen import AreaPen
from fontTools.pens.basePen import BasePen
from fontTools.pens.boundsPen import BoundsPen
from fontTools.pens.perimeterPen import PerimeterPen
from fontTools.pens.pointInsidePen import PointInsidePen
from fontTools.pens.statisticsPen import StatisticsPen
from fontTools.ttLib import TTFont

from patterns.affine import Affine
from patterns.crossings import between, nearest_to_each, self_crossings
from patterns.curve import Curve
from patterns.outline import Outline, signed_area
from patterns.parallel import parallel
from patterns.winding import Winding

SAGITTA_MM = 1e-4
GLYPHS = ["S", "O", "B", "R", "a", "e", "g", "eight", "ampersand", "at", "section", "germandbls"]
TWO_METRES = 2000.0


def random_cubics(count, seed):
    return [Curve(points[None]) for points in np.random.default_rng(seed).uniform(0, 300, (count, 4, 2))]


def as_bezier(curve):
    return bezier.Curve(np.asfortranarray(curve.beziers[0].T), degree=3)


def as_line(curve):
    return shapely.LineString(curve.flattened(SAGITTA_MM))


def as_polygon(curve):
    return shapely.Polygon(curve.flattened(SAGITTA_MM))


class CurvesPen(BasePen):
    """Collects a glyph's contours as curves of ours; quadratic pieces arrive as the cubics that they are."""

    def __init__(self, glyph_set):
        super().__init__(glyph_set)
        self.contours, self._pieces = [], []

    def _moveTo(self, point):
        self._start = point

    def _lineTo(self, point):
        here = np.array(self._getCurrentPoint(), dtype=float)
        if not np.array_equal(here, point):
            self._pieces.append(np.linspace(here, point, 4))

    def _curveToOne(self, first, second, point):
        self._pieces.append(np.array([self._getCurrentPoint(), first, second, point], dtype=float))

    def _closePath(self):
        self._lineTo(self._start)
        self.contours.append(Curve(np.array(self._pieces)))
        self._pieces = []


@pytest.fixture(scope="module")
def font():
    (path,) = (Path(fontpkg_noto_sans.ROOT) / "files").glob("NotoSans[[]*.ttf")
    with TTFont(path, lazy=True) as font:
        yield font


class Letter:
    """A glyph's contours in mm, and the same glyph in font units for fontTools' pens."""

    def __init__(self, font, name):
        self.glyph_set = font.getGlyphSet()
        self.glyph = self.glyph_set[name]
        self.scale = TWO_METRES / font["head"].unitsPerEm
        pen = CurvesPen(self.glyph_set)
        self.glyph.draw(pen)
        self.contours = [contour.transformed(Affine.scaling(self.scale)) for contour in pen.contours]

    def drawn_by(self, pen):
        self.glyph.draw(pen)
        return pen


@pytest.fixture(params=GLYPHS)
def letter(font, request):
    return Letter(font, request.param)


# ---------------------------------------------------------------- letters, against fontTools


def test_the_area_of_a_letter(letter):
    theirs = letter.drawn_by(AreaPen(letter.glyph_set)).value * letter.scale**2
    assert sum(signed_area(contour) for contour in letter.contours) == pytest.approx(theirs, rel=1e-9)


def test_the_bounds_of_a_letter(letter):
    theirs = np.array(letter.drawn_by(BoundsPen(letter.glyph_set)).bounds) * letter.scale
    boxes = np.array([contour.bounds for contour in letter.contours])
    np.testing.assert_allclose([*boxes[:, :2].min(axis=0), *boxes[:, 2:].max(axis=0)], theirs, atol=1e-9)


def test_the_length_of_a_letters_outline(letter):
    """fontTools' quadratic arc lengths are closed forms."""
    theirs = letter.drawn_by(PerimeterPen(letter.glyph_set, tolerance=1e-6)).value * letter.scale
    assert sum(contour.length for contour in letter.contours) == pytest.approx(theirs, rel=1e-7)


def test_the_centroid_of_a_letter(letter):
    pen = letter.drawn_by(StatisticsPen(letter.glyph_set))
    whole = _as_outline(letter.contours)
    np.testing.assert_allclose(whole.centroid, np.array([pen.meanX, pen.meanY]) * letter.scale, atol=1e-6)


def test_what_is_inside_a_letter(letter):
    """Points on a grid that is no multiple of the font's units, by the non-zero rule."""
    x0, y0, x1, y1 = np.array([contour.bounds for contour in letter.contours]).T
    grid = np.stack(np.meshgrid(np.linspace(x0.min(), x1.max(), 13), np.linspace(y0.min(), y1.max(), 11)), axis=-1)
    points = grid.reshape(-1, 2) + np.array([0.137, 0.291])
    ours = sum(Winding.of(contour).around(points) for contour in letter.contours) != 0
    theirs = []
    for point in points / letter.scale:
        theirs.append(bool(letter.drawn_by(PointInsidePen(letter.glyph_set, tuple(point), evenOdd=False)).getResult()))
    assert ours.tolist() == theirs


def test_a_letters_contours_are_sound(letter):
    """Letters are drawn without crossings: as outlines, outer contour and holes, they have no fault."""
    for contour in letter.contours:
        assert self_crossings(contour) == []
    assert _as_outline(letter.contours).problems() == ()


def _as_outline(contours):
    outer = max(contours, key=lambda contour: abs(signed_area(contour)))
    return Outline(outer, tuple(contour for contour in contours if contour is not outer))


# ---------------------------------------------------------------- parallels, against GEOS buffers


@pytest.mark.parametrize("distance", [-60.0, -4.0, 4.0, 25.0])
def test_the_parallels_of_a_letter(letter, distance):
    """Inside and outside the outer contour: as many parts as GEOS finds, and areas that differ by a hair's breadth round
    the outline."""
    contour = _as_outline(letter.contours).boundary
    result = parallel(contour, distance)
    theirs = as_polygon(contour).buffer(-distance, quad_segs=400)
    ours = sum(signed_area(part) for part in result.curves)
    assert ours == pytest.approx(theirs.area, abs=0.005 * (theirs.length + 10))
    outer = [part for part in result.curves if signed_area(part) > 0]
    assert len(outer) == len(getattr(theirs, "geoms", [theirs] if not theirs.is_empty else []))


def test_the_parallels_of_random_smooth_shapes():
    """Closed curves through random points, shrunk and grown: parts and areas as GEOS has them, and no crossings left."""
    rng = np.random.default_rng(9)
    for count in (3, 5, 8, 4, 6, 7):
        angles = np.arange(count) / count * 2 * math.pi
        corners = np.stack([np.cos(angles), np.sin(angles)], axis=1) * rng.uniform(60, 200, count)[:, None]
        way = (np.roll(corners, -1, axis=0) - np.roll(corners, 1, axis=0)) / 6
        following = np.roll(corners, -1, axis=0)
        shape = Curve(np.stack([corners, corners + way, following - np.roll(way, -1, axis=0), following], axis=1))
        for distance in (6.0, 45.0, -35.0):
            result = parallel(shape.closed_up(), distance)
            theirs = as_polygon(shape).buffer(-distance, quad_segs=400)
            ours = sum(signed_area(part) for part in result.curves)
            assert ours == pytest.approx(theirs.area, abs=0.005 * (theirs.length + 10))
            assert len(result.curves) == (0 if theirs.is_empty else len(shapely.get_parts(theirs)))
            assert all(part.is_closed and self_crossings(part) == [] for part in result.curves)


def test_parallels_of_random_cubics_keep_their_distance_from_geos():
    for curve in random_cubics(25, seed=11):
        for distance in (7.0, -30.0):
            line = as_line(curve)
            for part in parallel(curve, distance).curves:
                points = shapely.points(part.point(np.linspace(0, len(part), 60)))
                off = shapely.distance(points, line) - abs(distance)
                assert np.abs(off).max() < 0.0051


# ---------------------------------------------------------------- random cubics


def test_lengths_points_and_halves_against_bezier():
    for curve in random_cubics(40, seed=1):
        theirs = as_bezier(curve)
        assert curve.length == pytest.approx(theirs.length, rel=1e-9)
        s = np.linspace(0, 1, 9)
        np.testing.assert_allclose(curve.point(s).T, theirs.evaluate_multi(s), atol=1e-10)
        np.testing.assert_allclose(curve.between(0.2, 0.7).beziers[0].T, theirs.specialize(0.2, 0.7).nodes, atol=1e-10)


def test_crossings_against_bezier():
    """Every crossing that ``bezier`` finds, and no other."""
    curves = random_cubics(80, seed=2)
    count = 0
    for one, other in zip(curves[::2], curves[1::2], strict=True):
        theirs = as_bezier(one).intersect(as_bezier(other))
        theirs = theirs[:, np.argsort(theirs[0])].T
        np.testing.assert_allclose(np.array(between(one, other)).reshape(-1, 2), theirs, atol=1e-8)
        count += len(theirs)
    assert count > 25, "the sample must hold crossings, or it shows nothing"


def test_self_crossings_against_bezier_and_geos():
    looped = 0
    for curve in random_cubics(120, seed=3):
        found = self_crossings(curve)
        assert bool(found) != as_line(curve).is_simple
        theirs = as_bezier(curve).self_intersections()
        np.testing.assert_allclose(np.array(found).reshape(-1, 2), np.sort(theirs.T, axis=1), atol=1e-8)
        looped += len(found)
    assert looped > 3


def test_areas_against_bezier_and_geos():
    rng = np.random.default_rng(4)
    for radii in rng.uniform(50, 200, (20, 5)):
        angles = np.arange(5) / 5 * 2 * math.pi
        corners = np.stack([np.cos(angles), np.sin(angles)], axis=1) * radii[:, None]
        following = np.roll(corners, -1, axis=0)
        shape = Curve(np.stack([corners, corners * 1.3, following * 1.2, following], axis=1)).closed_up()
        edges = [bezier.Curve(np.asfortranarray(piece.T), degree=3) for piece in shape.beziers]
        assert signed_area(shape) == pytest.approx(bezier.CurvedPolygon(*edges).area, rel=1e-12)
        polygon = as_polygon(shape)
        assert signed_area(shape) == pytest.approx(polygon.area, abs=SAGITTA_MM * polygon.length)
        np.testing.assert_allclose(Outline(shape).centroid, [polygon.centroid.x, polygon.centroid.y], atol=1e-3)
        np.testing.assert_allclose(shape.bounds, polygon.bounds, atol=2 * SAGITTA_MM)
        points = rng.uniform(-250, 250, (80, 2))
        np.testing.assert_array_equal(Outline(shape).contains(points), shapely.contains_xy(polygon, points))


def test_distances_against_geos():
    rng = np.random.default_rng(6)
    for curve in random_cubics(20, seed=5):
        points = rng.uniform(-100, 400, (50, 2))
        theirs = shapely.distance(shapely.points(points), as_line(curve))
        np.testing.assert_allclose(nearest_to_each(curve, points)[1], theirs, atol=1.5 * SAGITTA_MM)
