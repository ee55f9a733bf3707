"""DXF and SVG for machines, read back by libraries that know nothing of ours and held against the analytic curves."""

from __future__ import annotations

import io
import math
import os
import subprocess
import sys
from collections.abc import Iterator
from functools import cache
from pathlib import Path

import ezdxf
import fromfile
import numpy as np
import pyogrio
import pytest
import shapely
import svgelements
from hypothesis import given, settings
from hypothesis import strategies as st
from numpy.typing import NDArray
from scipy.interpolate import BSpline

from cli import request
from patterns.affine import Affine
from patterns.curve import Curve
from patterns.dxf import dxf_bytes
from patterns.filetext import NamedText
from patterns.inside import inside
from patterns.laser import laser_svg
from patterns.outline import Outline
from patterns.pattern import Pattern, Role
from patterns.shapes import ArcPiece, LinePiece, SplinePiece, pieces_of
from patterns.svg import svg_text

TOLERANCE_MM = 0.005
PIECES = ("dolls-cradle", "bench-back", "hall-rack", "settle-crest")

Points = NDArray[np.float64]


@cache
def patterns_of(name: str) -> tuple[Pattern, ...]:
    text = (fromfile.DEMO / f"{name}.toml").read_text(encoding="utf-8")
    return request.make(NamedText(text, f"{name}.toml"), {}, fromfile.SHOP).patterns


@cache
def read_back(pattern: Pattern) -> ezdxf.document.Drawing:
    return ezdxf.read(io.StringIO(dxf_bytes(pattern).decode("utf-8")))


EVERY = [(name, k) for name in PIECES for k in range(len(patterns_of(name)))]


def evaluated(entity: ezdxf.entities.DXFEntity) -> Points:
    """Points along an entity, worked out from its own figures alone: trigonometry, and SciPy's B-splines."""
    kind, data = entity.dxftype(), entity.dxf
    if kind == "LINE":
        return np.array([tuple(data.start)[:2], tuple(data.end)[:2]])
    if kind in ("ARC", "CIRCLE"):
        first, last = (data.start_angle, data.end_angle) if kind == "ARC" else (0.0, 360.0)
        angles = np.radians(np.linspace(first, last + (360.0 if last < first else 0.0), 400))
        return np.array(tuple(data.center)[:2]) + data.radius * np.stack([np.cos(angles), np.sin(angles)], axis=1)
    assert kind == "SPLINE"
    knots, controls = np.array(entity.knots), np.array([tuple(point)[:2] for point in entity.control_points])
    return BSpline(knots, controls, data.degree)(np.linspace(knots[0], knots[-1], 100 * len(controls)))


def dense(curve: Curve) -> Points:
    return np.asarray(curve.point(np.linspace(0.0, len(curve), 60 * len(curve) + 1)))


def farthest(some: list[Points], other: list[Points]) -> float:
    """Of all points of the one, the greatest distance from the lines of the other (mm)."""
    lines = shapely.MultiLineString([shapely.LineString(points) for points in other])
    return float(shapely.distance(shapely.points(np.concatenate(some)), lines).max())


def curves_of(pattern: Pattern, role: Role) -> list[Points]:
    return [dense(stroke.curve) for stroke in pattern.strokes if stroke.role is role]


@pytest.mark.parametrize(("name", "number"), EVERY)
def test_every_line_reads_back_where_it_is(name: str, number: int) -> None:
    pattern = patterns_of(name)[number]
    space = read_back(pattern).modelspace()
    for role in Role:
        drawn, wanted = [evaluated(one) for one in space.query(f'*[layer=="{role.value}"]')], curves_of(pattern, role)
        assert bool(drawn) == bool(wanted)
        if drawn:
            assert farthest(drawn, wanted) <= TOLERANCE_MM
            assert farthest(wanted, drawn) <= TOLERANCE_MM


@pytest.mark.parametrize(("name", "number"), EVERY)
def test_a_reader_of_another_hand_finds_every_line_where_it_is(name: str, number: int, tmp_path: Path) -> None:
    """GDAL's: it knows nothing of the library that writes. It hands out points, those of arcs a tenth of a degree apart."""
    pattern = patterns_of(name)[number]
    file = tmp_path / "pattern.dxf"
    file.write_bytes(dxf_bytes(pattern))
    pyogrio.set_gdal_config_options({"OGR_ARC_STEPSIZE": 0.1})
    told, _, geometry, fields = pyogrio.raw.read(file)
    layers = fields[list(told["fields"]).index("Layer")]
    shapes = shapely.from_wkb(geometry)
    for role in Role:
        drawn = [np.asarray(shape.coords)[:, :2] for layer, shape in zip(layers, shapes, strict=True) if layer == role]
        wanted = curves_of(pattern, role)
        assert bool(drawn) == bool(wanted)
        if drawn:
            assert farthest(drawn, wanted) <= TOLERANCE_MM
            assert farthest(wanted, drawn) <= (0.1 if _has_spline(pattern, role) else TOLERANCE_MM), "sag of its chords"


def _has_spline(pattern: Pattern, role: Role) -> bool:
    strokes = [stroke for stroke in pattern.strokes if stroke.role is role]
    return any(isinstance(piece, SplinePiece) for stroke in strokes for piece in pieces_of(stroke.curve))


@pytest.mark.parametrize(("name", "number"), EVERY)
def test_the_drawing_as_svg_reads_back_in_millimetres(name: str, number: int) -> None:
    """By a library of its own; 96 of its pixels are an inch (CSS Values 4, 6.2)."""
    pattern = patterns_of(name)[number]
    svg = svgelements.SVG.parse(io.StringIO(svg_text(pattern)), reify=True)
    cut = next(one for one in svg.elements() if isinstance(one, svgelements.Path) and one.id == f"cut-{pattern.slug}")
    subpaths = [svgelements.Path(one) for one in cut.as_subpaths()]
    points = np.array([path.point(t) for path in subpaths for t in np.linspace(0, 1, 700)]) * 25.4 / 96
    box = svgelements.Matrix(svg.viewbox_transform)
    x0, y0 = box.e * 25.4 / 96, box.f * 25.4 / 96
    in_part = np.stack([points[:, 0] - x0, y0 - points[:, 1]], axis=1)
    assert farthest([in_part], curves_of(pattern, Role.CUT)) <= TOLERANCE_MM


@pytest.mark.parametrize(("name", "number"), EVERY)
def test_a_reader_finds_millimetres_true_entities_and_nothing_to_mend(name: str, number: int) -> None:
    """The DXF reference: $INSUNITS 4 is millimetres, $MEASUREMENT 1 metric, AC1024 the release of 2010 (from memory)."""
    document = read_back(patterns_of(name)[number])
    assert not document.audit().errors and not document.audit().fixes
    assert document.header["$INSUNITS"] == 4 and document.header["$MEASUREMENT"] == 1
    assert document.dxfversion == "AC1024"
    kinds = {one.dxftype() for one in document.modelspace() if one.dxf.layer != "words"}
    assert kinds <= {"LINE", "ARC", "CIRCLE", "SPLINE"}, "nothing is flattened"
    assert {one.dxf.layer for one in document.modelspace()} <= {*(role.value for role in Role), "words"}
    assert {one.dxf.degree for one in document.modelspace().query("SPLINE")} <= {3}


def test_an_arch_is_one_arc_of_its_radius() -> None:
    """The foot board's arch: radius from rise and span, r = (s² / 4 + h²) / 2h, as handbooks have it (from memory)."""
    foot_board = next(one for one in patterns_of("dolls-cradle") if one.slug == "foot-board")
    stretch = next(stroke.curve for stroke in foot_board.strokes if stroke.key == "edges.top")
    span, rise = math.dist(stretch.start, stretch.end), stretch.bounds[3] - float(stretch.start[1])
    radius = (span**2 / 4 + rise**2) / (2 * rise)
    arcs = read_back(foot_board).modelspace().query('ARC[layer=="cut"]')
    assert sorted(round(arc.dxf.radius, 3) for arc in arcs) == [12.7, 12.7, round(radius, 3)], "a hand hole and an arch"


def test_round_holes_are_circles_and_a_freehand_sweep_a_spline() -> None:
    cleat = next(one for one in patterns_of("hall-rack") if one.slug == "cleat")
    assert len(read_back(cleat).modelspace().query('CIRCLE[layer=="cut"]')) == 2
    side = next(one for one in patterns_of("dolls-cradle") if one.slug == "side")
    (spline,) = read_back(side).modelspace().query('SPLINE[layer=="cut"]')
    sweep = next(stroke.curve for stroke in side.strokes if len(stroke.curve) > 1)
    assert len(spline.control_points) == 3 * len(sweep) + 1, "the Béziers' own control points"


@pytest.mark.parametrize("name", PIECES)
def test_the_same_bytes_twice_and_whatever_the_hash_seed(name: str) -> None:
    code = (
        "import fromfile, hashlib; from cli import request; from patterns.filetext import NamedText;"
        "from patterns.dxf import dxf_bytes; from patterns.laser import laser_svg;"
        f"text = (fromfile.DEMO / '{name}.toml').read_text(encoding='utf-8');"
        "every = request.make(NamedText(text, 'x'), {}, fromfile.SHOP).patterns;"
        "print(hashlib.sha256(b''.join(dxf_bytes(p) + laser_svg(p).encode() for p in every)).hexdigest())"
    )
    paths = os.pathsep.join([str(fromfile.DEMO.parent), str(fromfile.DEMO.parent / "tests" / "support")])
    told = {
        subprocess.run(
            [sys.executable, "-c", code],
            env={**os.environ, "PYTHONPATH": paths, "PYTHONHASHSEED": seed},
            capture_output=True,
            check=True,
        ).stdout
        for seed in ("0", "7")
    }
    assert len(told) == 1


# ---------------------------------------------------------------- what a curve is


thousandths = st.integers(-500_000, 500_000).map(lambda k: k / 1000)


@settings(max_examples=60, deadline=None)
@given(
    st.floats(0.5, 4000),
    st.floats(-7, 7),
    st.floats(0.05, 6.2),
    st.sampled_from([1.0, -1.0]),
    st.lists(st.floats(0.02, 0.98), max_size=3),
)
def test_an_arc_is_found_again_however_it_was_cut(
    radius: float, start: float, turn: float, way: float, cuts: list[float]
) -> None:
    drawn = Curve.arc((30.0, -20.0), radius, start, start + way * turn)
    pieces = drawn.split_at(sorted({share * len(drawn) for share in cuts}))
    (found,) = pieces_of(Curve.chain(pieces))
    assert isinstance(found, ArcPiece)
    assert found.radius == pytest.approx(radius, abs=2e-3 / min(1.0, turn) ** 2)
    assert found.turn == pytest.approx(way * turn, abs=2e-3 / radius / min(1.0, turn) + 1e-3)


@settings(max_examples=60, deadline=None)
@given(st.lists(st.tuples(thousandths, thousandths), min_size=4, max_size=4))
def test_any_bezier_comes_back_within_a_thousandth(points: list[tuple[float, float]]) -> None:
    curve = Curve(np.array([points]))
    drawn = list(_drawn(pieces_of(curve)))
    if drawn:
        assert farthest([dense(curve)], drawn) <= 0.002
        assert farthest(drawn, [dense(curve)]) <= 0.15, "points of the reference are as far apart as that"


def _drawn(pieces: list[LinePiece | ArcPiece | SplinePiece]) -> Iterator[Points]:
    for piece in pieces:
        if isinstance(piece, LinePiece):
            yield np.array([piece.start, piece.end])
        elif isinstance(piece, ArcPiece):
            angles = piece.start_angle + piece.turn * np.linspace(0, 1, 500)
            yield np.array(piece.centre) + piece.radius * np.stack([np.cos(angles), np.sin(angles)], axis=1)
        else:
            yield dense(Curve(piece.beziers))


def test_lines_that_run_on_are_one_and_a_corner_ends_a_spline() -> None:
    assert pieces_of(Curve.polyline([(0, 0), (10, 0), (30, 0), (30, 5)])) == [
        LinePiece((0.0, 0.0), (30.0, 0.0)),
        LinePiece((30.0, 0.0), (30.0, 5.0)),
    ]
    wave = Curve(np.array([[(0, 0), (10, 30), (20, -30), (40, 0)]]))
    back = wave.transformed(Affine.translation(40, 0))
    assert [len(piece.beziers) for piece in pieces_of(Curve.chain([wave, back])) if isinstance(piece, SplinePiece)] == [
        1,
        1,
    ]
    circle = pieces_of(Curve.circle((5, 5), 20))
    assert len(circle) == 1 and isinstance(circle[0], ArcPiece) and circle[0].is_circle


# ---------------------------------------------------------------- for a laser cutter


@pytest.mark.parametrize(("name", "number"), EVERY)
def test_a_laser_cuts_the_outline_and_the_holes_once_each_holes_first(name: str, number: int) -> None:
    """Read by a library of its own; 96 of its pixels are an inch (CSS Values 4, 6.2)."""
    pattern = patterns_of(name)[number]
    svg = svgelements.SVG.parse(io.StringIO(laser_svg(pattern)), reify=True)
    cut = next(one for one in svg.elements() if isinstance(one, svgelements.Group) and one.id == "cut")
    paths = [one for one in cut if isinstance(one, svgelements.Path)]
    assert [path.id for path in paths] == [*(f"hole-{k + 1}" for k in range(len(paths) - 1)), "outline"]
    outline, *holes = pattern.outline.curves
    x0, y0 = pattern.outline.bounds[0] - 5.0, pattern.outline.bounds[3] + 5.0
    for path, curve in zip(paths, [*holes, outline], strict=True):
        assert isinstance(path[-1], svgelements.Close)
        points = np.array([path.point(t) for t in np.linspace(0, 1, 800)]) * 25.4 / 96
        in_part = [np.stack([points[:, 0] + x0, y0 - points[:, 1]], axis=1)]
        assert farthest(in_part, [dense(curve)]) <= TOLERANCE_MM


@pytest.mark.parametrize(("name", "number"), EVERY)
def test_nothing_that_is_engraved_lies_beside_the_template_or_along_its_edge(name: str, number: int) -> None:
    """Read back by a library, and asked of a geometry kernel (GEOS) whether the template covers it."""
    pattern = patterns_of(name)[number]
    text = laser_svg(pattern)
    assert text.index('id="engrave"') < text.index('id="cut"'), "before the template is loose"
    svg = svgelements.SVG.parse(io.StringIO(text), reify=True)
    engrave = next(one for one in svg.elements() if isinstance(one, svgelements.Group) and one.id == "engrave")
    outline, *holes = (curve.flattened(0.005) for curve in pattern.outline.curves)
    template = shapely.Polygon(outline, holes)
    x0, y0 = pattern.outline.bounds[0] - 5.0, pattern.outline.bounds[3] + 5.0
    lines = [points for path in _paths(engrave) for points in _runs(path, x0, y0)]
    assert lines, "the name at least"
    engraved = shapely.MultiLineString(lines)
    assert engraved.difference(template.buffer(0.02)).is_empty
    along = engraved.intersection(template.exterior.buffer(0.03))
    assert along.length < 0.2 * max(1, len(lines)), "where lines end at the edge, and no further"


def _paths(group: svgelements.Group) -> Iterator[svgelements.Path]:
    for one in group.select():
        if isinstance(one, svgelements.Path):
            yield one


def _runs(path: svgelements.Path, x0: float, y0: float) -> Iterator[NDArray[np.float64]]:
    """Points along each run of a path in millimetres of the part; 96 of the reader's pixels are an inch."""
    for run in path.as_subpaths():
        piece = svgelements.Path(run)
        if piece.length() > 0.0:
            points = np.array([piece.point(t) for t in np.linspace(0, 1, 60)]) * 25.4 / 96
            yield np.stack([points[:, 0] + x0, y0 - points[:, 1]], axis=1)


def test_a_line_half_on_the_template_is_engraved_on_it_alone() -> None:
    frame = Outline(Curve.polyline([(0, 0), (100, 0), (100, 60), (0, 60)], closed=True), (Curve.circle((50, 30), 10),))
    ((start, end),) = [(one.start, one.end) for one in inside(Curve.line((-20, 10), (30, 10)), frame)]
    assert np.allclose([start, end], [(0, 10), (30, 10)])
    across = inside(Curve.line((-5, 30), (105, 30)), frame)
    assert np.allclose([(c.start[0], c.end[0]) for c in across], [(0, 40), (60, 100)]), "not in the hole"
    assert inside(Curve.line((10, 0), (90, 0)), frame) == [], "along the edge"
    assert inside(Curve.line((10, -1), (90, -1)), frame) == []
    whole = Curve.line((10, 5), (90, 8))
    assert [one.length for one in inside(whole, frame)] == [whole.length]
