"""Pieces at random, made or refused in words; what is made is held against an independent geometry kernel and the
figures that its pattern file states."""

from __future__ import annotations

import itertools
import math
import re
import unicodedata
from pathlib import Path

import numpy as np
import pytest
from anypiece import Shop, edge_tables, pattern_files
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from shapely.affinity import scale
from shapely.geometry import LineString, Point, Polygon, box
from shapely.ops import unary_union

from cli import printing, request
from patterns import shopfile
from patterns.boundary import curve_of
from patterns.curve import Curve
from patterns.errors import PatternError
from patterns.part import Part, Stretch
from patterns.pattern import Pattern, Role
from patterns.patternfile import PatternSource
from patterns.piece import SweepSpec
from patterns.slug import slug
from tiling.job import Printed, make_sheets
from tiling.order import form_for

SHOP = shopfile.load(shopfile.default_text(), shopfile.DEFAULT_SHOP)

CHORD_MM = 2e-3
"""A polygon's chords stand this far off the curve at most."""

SAG = 4.0
"""An area of chords may differ by the sag along the whole line; this is room for that, in mm of sag x mm of line."""

bounded = settings(
    max_examples=60,
    deadline=None,
    derandomize=True,
    database=None,
    suppress_health_check=[HealthCheck.too_slow, HealthCheck.data_too_large, HealthCheck.filter_too_much],
)


def job_of(text: str) -> request.Job | None:
    """The job; None where the file is refused, each problem of it with its place and in printable words."""
    try:
        return request.make(PatternSource(text, "piece.toml"), {}, SHOP)
    except PatternError as error:
        assert error.problems
        for problem in error.problems:
            assert problem.place and problem.what
            assert str(problem).isprintable()
        assert len({str(problem) for problem in error.problems}) == len(error.problems), "told twice"
        return None


def polygon_of(boundary: Curve, holes: tuple[Curve, ...] = ()) -> Polygon:
    return Polygon(boundary.flattened(CHORD_MM), [hole.flattened(CHORD_MM) for hole in holes])


# -------------------------------------------------------------------- a part


def assert_honest_part(part: Part) -> None:
    """Everything a maker takes for granted of a part's shape."""
    assert_one_closed_line(part)
    assert_area_and_centroid(part)
    assert_inside_blank(part)
    assert_boards_make_up_the_part(part)
    for stretch in part.stretches:
        assert np.isfinite(stretch.curve.beziers).all()
        assert_marks_on_the_line(part, stretch)
        if stretch.arch is not None:
            assert_arch_as_reported(stretch)
        if stretch.kind == "corner":
            assert_corner_as_written(part, stretch)
    assert_tables_are_passed(part)
    assert_holes_as_written(part)


def assert_one_closed_line(part: Part) -> None:
    for before, after in itertools.pairwise([*part.stretches, part.stretches[0]]):
        assert math.dist(before.curve.end, after.curve.start) < 1e-6, (before.key, after.key)
    keys = [stretch.key for stretch in part.stretches]
    assert len(set(keys)) == len(keys), f"two stretches of one name: {keys}"


def assert_area_and_centroid(part: Part) -> None:
    shape = polygon_of(part.outline.boundary, part.outline.holes)
    assert shape.is_valid
    line = sum(curve.length for curve in part.outline.curves)
    assert part.outline.area > 0
    assert abs(part.outline.area - shape.area) <= CHORD_MM * line
    reach = math.dist(part.outline.bounds[:2], part.outline.bounds[2:])
    slack = 2 * CHORD_MM * line * reach / shape.area + 1e-9
    assert math.dist(part.outline.centroid, shape.centroid.coords[0]) <= slack


def assert_inside_blank(part: Part) -> None:
    """A worked corner that turns inward is filled where it is rounded or chamfered, and so may leave the blank."""
    blank = Polygon(part.blank.vertices)
    assert part.outline.area <= blank.area * (1 + 1e-9) or not part.blank.is_convex
    for stretch in part.stretches:
        if stretch.kind == "corner" and not part.blank.is_convex:
            continue
        points = stretch.curve.flattened(0.01)
        outside = max(blank.distance(Point(p)) for p in points)
        assert outside <= 1.1e-3, (stretch.key, outside)


def assert_boards_make_up_the_part(part: Part) -> None:
    if not part.boards:
        return
    areas = [board.outline.area for board in part.boards]
    assert min(areas) > 0
    assert math.isclose(sum(areas), part.outline.area, rel_tol=1e-9, abs_tol=1e-6)
    shapes = [polygon_of(board.outline.boundary, board.outline.holes) for board in part.boards]
    whole = polygon_of(part.outline.boundary, part.outline.holes)
    length = sum(curve.length for curve in part.outline.curves)
    for shape in shapes:
        assert shape.difference(whole).area <= 2 * CHORD_MM * length
    for one, other in itertools.combinations(shapes, 2):
        assert one.intersection(other).area <= 2 * CHORD_MM * length
    for run in part.glue:
        middle = Point((run.start[0] + run.end[0]) / 2, (run.start[1] + run.end[1]) / 2)
        assert whole.contains(middle)


def assert_marks_on_the_line(part: Part, stretch: Stretch) -> None:
    edge = part.blank.edge(stretch.edge) if stretch.edge else None
    line = LineString(stretch.curve.flattened(1e-3))
    for mark in stretch.marks:
        if mark.kind != "springing" or mark.depth == 0:
            assert line.distance(Point(mark.point)) <= 2e-3, (stretch.key, mark)
        assert math.isclose(math.hypot(*mark.tick), 1.0, rel_tol=1e-9)
        if edge is not None:
            assert math.isclose(edge.from_part.point(*mark.point)[1], mark.depth, abs_tol=1e-6)


def assert_arch_as_reported(stretch: Stretch) -> None:
    """On the drawn curve, unless the corner took some of it: the span, the rise and every radius that is reported."""
    arch = stretch.arch
    assert arch is not None
    if not math.isclose(stretch.curve.length, arch.curve.length, rel_tol=1e-9):
        return
    start, end = stretch.curve.start, stretch.curve.end
    assert math.isclose(math.dist(start, end), arch.span, rel_tol=1e-9, abs_tol=1e-6)
    assert (stretch.span, stretch.rise) == (arch.span, arch.rise)
    along = (end - start) / arch.span
    offsets = (stretch.curve.flattened(1e-3) - start) @ np.array([-along[1], along[0]])
    assert math.isclose(np.abs(offsets).max(), arch.rise, abs_tol=2e-3)
    assert np.abs(offsets).min() <= 1e-6
    found = {round(abs(1 / k), 1) for k in _curvatures(stretch.curve)}
    if arch.kind != "elliptical":
        assert found, "no curve at all"
        for radius in arch.radii:
            assert any(abs(radius.radius - r) <= 0.051 + 2e-3 * radius.radius for r in found), (arch.radii, found)


def _curvatures(curve: Curve) -> list[float]:
    """Signed curvature in the middle of each Bézier."""
    result = []
    for k in range(len(curve)):
        (x, y), (xx, yy) = curve.derivative(k + 0.5), curve.second_derivative(k + 0.5)
        curvature = (x * yy - y * xx) / math.hypot(x, y) ** 3
        if abs(curvature) > 1e-9:
            result.append(float(curvature))
    return result


def assert_corner_as_written(part: Part, stretch: Stretch) -> None:
    spec = next(c for c in part.spec.corners if f"corners.{c.corner}" == stretch.key)
    amount = spec.amounts[0].value
    if spec.form == "round":
        for curvature in _curvatures(stretch.curve):
            assert math.isclose(1 / abs(curvature), amount, rel_tol=2e-3)
        number = part.stretches.index(stretch)
        for other, here, there in (
            (part.stretches[number - 1].curve, "end", "start"),
            (part.stretches[(number + 1) % len(part.stretches)].curve, "start", "end"),
        ):
            ours = _direction(stretch.curve, there)
            theirs = _direction(other, here)
            assert abs(ours[0] * theirs[1] - ours[1] * theirs[0]) <= 1e-4, f"{stretch.key} is not tangent"
    elif spec.form == "chamfer":
        assert stretch.curve.is_straight
        assert stretch.curve.length <= 2 * amount + 1e-6
    else:
        after, before = (given.value for given in spec.amounts)
        swept = any(edge.sweeps for edge in part.spec.edges)
        assert swept or math.isclose(stretch.curve.length, after + before, rel_tol=1e-6)


def _direction(curve: Curve, end: str) -> np.ndarray:
    slope = curve.derivative(0.0 if end == "start" else float(len(curve)))
    return slope / math.hypot(*slope)


def assert_tables_are_passed(part: Part) -> None:
    """Every point of a table that its stretch still reaches lies on the drawn line, a measured one as near as it says."""
    for edge_spec in part.spec.edges:
        edge = part.blank.edge(edge_spec.name)
        assert edge is not None
        for number, sweep in enumerate(edge_spec.sweeps):
            key = f"edges.{edge.name}" if len(edge_spec.sweeps) == 1 else f"edges.{edge.name}[{number}]"
            for stretch in part.stretches:
                if sweep.form != "arch" and stretch.key == key:
                    _assert_passes(stretch.curve.transformed(edge.from_part), sweep, _rows(sweep, part, edge.name))


def _assert_passes(curve: Curve, sweep: SweepSpec, rows: list[tuple[float, float]]) -> None:
    """``curve`` runs over stations and depths."""
    first, last = sorted((float(curve.start[0]), float(curve.end[0])))
    line = LineString(curve.flattened(1e-4))
    for (station, depth), (written, _) in zip(rows, sweep.table, strict=True):
        if not first - 1e-6 <= station <= last + 1e-6:
            continue  # a cut, a corner or the edge beside took this end away
        if any(a.value <= written.value <= b.value for a, b in sweep.leave_out) or (sweep.mirror and sweep.leave_out):
            continue  # a stretch left out of one half is left out of its reflection too
        if sweep.within is None:
            assert line.distance(Point(station, depth)) <= 2e-4, (station, depth)
        else:
            upright = line.intersection(LineString([(station, -1e5), (station, 1e5)]))
            reached = upright if isinstance(upright, Point) else line.interpolate(line.project(Point(station, depth)))
            assert abs(reached.y - depth) <= sweep.within.value + 2e-4, (station, depth, reached.y)


def _rows(sweep: SweepSpec, part: Part, name: str) -> list[tuple[float, float]]:
    """(station from the edge's start, depth) of a table."""
    edge = part.blank.edge(name)
    assert edge is not None
    zero = edge.length / 2 if sweep.stations_from == "middle" else 0.0
    if sweep.table_is == "depths":
        return [(s.value + zero, d.value) for s, d in sweep.table]
    opposite = part.blank.opposite(edge)
    assert opposite is not None
    height = edge.from_part.point(*opposite.start)[1]
    return [(s.value + zero, height - h.value) for s, h in sweep.table]


def assert_holes_as_written(part: Part) -> None:
    for hole in part.holes:
        area = -_signed_area(hole.curve)
        spec = hole.spec
        if spec.diameter is not None:
            assert math.isclose(area, math.pi * spec.diameter.value**2 / 4, rel_tol=1e-5)
        if spec.length is not None and spec.width is not None:
            length, width = spec.length.value, spec.width.value
            assert math.isclose(area, (length - width) * width + math.pi * width**2 / 4, rel_tol=1e-5)
    outer = polygon_of(curve_of(part.stretches))
    for hole in part.holes:
        assert outer.contains(Polygon(hole.curve.flattened(CHORD_MM)).buffer(-2 * CHORD_MM))


def _signed_area(curve: Curve) -> float:
    from patterns.outline import signed_area

    return signed_area(curve)


# -------------------------------------------------------------------- a pattern


def assert_honest_pattern(pattern: Pattern) -> None:
    """Finite lines, the cut line in closed loops, words that can be printed, a name that can be a file's."""
    assert pattern.slug == slug(pattern.slug)
    for stroke in pattern.strokes:
        assert np.isfinite(stroke.curve.beziers).all(), stroke.key
        assert stroke.curve.length > 0, stroke.key
    for text in (*(label.text for label in pattern.labels), *pattern.title_block):
        assert text.strip()
        assert not any(unicodedata.category(c).startswith("C") for c in text), repr(text)
    for label in pattern.labels:
        assert all(math.isfinite(v) for v in (*label.at, label.angle, label.height))
    keys = [label.key for label in pattern.labels]
    assert len(set(keys)) == len(keys), f"two labels of one key: {sorted(k for k in keys if keys.count(k) > 1)}"
    assert_cut_strokes_close(pattern)


def assert_cut_strokes_close(pattern: Pattern) -> None:
    """With its glue lines, a board's cut line is closed too."""
    ends: list[tuple[float, float]] = []
    for stroke in pattern.strokes:
        if stroke.role in (Role.CUT, Role.GLUE) and not stroke.curve.is_closed:
            ends += [tuple(map(float, stroke.curve.start)), tuple(map(float, stroke.curve.end))]
    cut = [s for s in pattern.strokes if s.role is Role.CUT and not s.curve.is_closed]
    for stroke in cut:
        for end in (stroke.curve.start, stroke.curve.end):
            near = sum(math.dist(end, other) <= 1e-5 for other in ends)
            assert near >= 2, f"{stroke.key} hangs loose at {end}"


# -------------------------------------------------------------------- sheets


def printed_of(job: request.Job) -> Printed:
    return make_sheets(printing.order_of(job, None, many=False), form_for(job.piece.units, None, None, None))


def assert_on_paper(printed: Printed) -> None:
    """Every cut stroke lies on sheets that are printed."""
    for dealt in printed.dealt:
        windows = [
            Polygon([(x0, y0), (x1, y0), (x1, y1), (x0, y1)])
            for sheet in printed.sheets
            if sheet.dealt is dealt
            for x0, y0, x1, y1 in [sheet.to_json()["parts"][0]["window_mm"]]
        ]
        paper = unary_union(windows).buffer(1e-2)
        for stroke in dealt.pattern.strokes:
            if stroke.role is Role.CUT:
                assert paper.covers(LineString(stroke.curve.flattened(1e-2))), stroke.key


@bounded
@given(pattern_files())
def test_whatever_is_written_comes_out_honest_or_is_refused_in_words(text: str) -> None:
    assert_honest(text)


@bounded
@given(pattern_files(most_parts=1, calm=True))
def test_plainer_pieces_and_their_boards_come_out_honest(text: str) -> None:
    """Few of these are refused, and every second one is glued up from boards."""
    assert_honest(text)


def assert_honest(text: str) -> None:
    job = job_of(text)
    if job is not None:
        for part in job.parts:
            assert_honest_part(part)
        for pattern in job.patterns:
            assert_honest_pattern(pattern)


@settings(bounded, max_examples=14)
@given(pattern_files(most_parts=1, calm=True))
def test_every_cut_line_is_on_paper_and_the_same_piece_gives_the_same_bytes(text: str) -> None:
    job = job_of(text)
    if job is not None:
        printed = printed_of(job)
        assert_on_paper(printed)
        again = job_of(text)
        assert again is not None
        assert printed_of(again).data == printed.data


# -------------------------------------------------------------------- pieces of the demo, spoilt


DEMO = sorted((Path(__file__).parents[2] / "demo").glob("*.toml"))
ODD = (
    "0",
    "-1",
    "3/0",
    "1e400",
    "999999",
    "1/1000",
    "nan",
    "",
    "10 m",
    "5 deg",
    "1:8",
    "rail",
    "½",
    "12000 mm",
    "1' 2\"",
)


@st.composite
def spoilt(draw: st.DrawFn) -> str:
    """A demo file with a few slips: lines lost, doubled or swapped, figures and units changed, a stray sign."""
    text = draw(st.sampled_from(DEMO)).read_text(encoding="utf-8")
    for _ in range(draw(st.integers(1, 3))):
        lines = text.split("\n")
        k, other = (draw(st.integers(0, len(lines) - 1)) for _ in range(2))
        figures = list(re.finditer(r'"[^"\n]*"', text)) or [re.match("", text)]
        figure = draw(st.sampled_from(figures))
        slip = draw(st.sampled_from(("lost", "doubled", "swapped", "figure", "figure", "taken", "units", "stray")))
        if slip == "lost":
            text = "\n".join(lines[:k] + lines[k + 1 :])
        elif slip == "doubled":
            text = "\n".join([*lines[:k], lines[other], *lines[k:]])
        elif slip == "swapped":
            lines[k], lines[other] = lines[other], lines[k]
            text = "\n".join(lines)
        elif slip == "figure":
            text = f'{text[: figure.start()]}"{draw(st.sampled_from(ODD))}"{text[figure.end() :]}'
        elif slip == "taken":
            text = text[: figure.start()] + draw(st.sampled_from(figures)).group() + text[figure.end() :]
        elif slip == "units":
            text = text.replace('units = "mm"', 'units = "cm"').replace('units = "in"', 'units = "mm"')
        else:
            place = draw(st.integers(0, len(text)))
            text = text[:place] + draw(st.sampled_from("\"[]{}=\n#,'\\\0é\u202e.")) + text[place:]
    return text


@settings(bounded, max_examples=40)
@given(spoilt())
def test_a_slip_of_the_pen_is_told_in_words_or_makes_an_honest_piece(text: str) -> None:
    job = job_of(text)
    if job is not None:
        for part in job.parts:
            assert_honest_part(part)


# -------------------------------------------------------------------- what a maker can reckon by hand


def part_of(lines: str, blank: str = '{ length = "400", width = "400" }') -> Part:
    head = f'curvewright = 1\ntitle = "Trial"\nunits = "mm"\n[[part]]\nname = "board"\nblank = {blank}\n'
    job = request.make(PatternSource(head + lines + "\n", "piece.toml"), {}, SHOP)
    return job.parts[0]


@settings(bounded, max_examples=30)
@given(st.data())
def test_the_same_sweep_cuts_the_same_shape_from_any_edge_of_a_square(data: st.DataObject) -> None:
    """Stations run rightward on bottom and top, upward on left and right, so the shapes are reflections."""
    sweep = data.draw(edge_tables(Shop("mm"), 400.0, 400.0))
    areas = []
    for edge in ("bottom", "top", "left", "right"):
        try:
            areas.append(part_of(f"edges.{edge} = {sweep}").outline.area)
        except PatternError as error:
            areas.append(len(error.problems))
    assert areas == pytest.approx([areas[0]] * 4, rel=1e-9)


def test_a_short_swing_past_an_edge_is_seen_on_a_blank_that_turns_inward_too() -> None:
    blank = '{ vertices = [["0", "0"], ["26", "0"], ["26", "20"], ["0", "20"], ["6", "10"]] }'
    table = '[["0", "1.6"], ["1.6", "0"], ["3.2", "0"], ["4.8", "0"], ["26", "0"]]'
    with pytest.raises(PatternError, match=r"leaves the blank .*past the edge_1 edge"):
        part_of(f"edges.edge_1 = {{ points = {table} }}", blank)


@settings(bounded, max_examples=30)
@given(
    st.lists(st.tuples(st.integers(1, 180), st.integers(5, 60)), min_size=2, max_size=6, unique_by=lambda row: row[0]),
    st.sampled_from(("natural", "clamped")),
    st.integers(5, 40),
    st.integers(5, 40),
)
def test_a_mirrored_part_is_the_same_turned_over(
    rows: list[tuple[int, int]], ends: str, radius: int, across: int
) -> None:
    table = ", ".join(f'["{station}", "{depth}"]' for station, depth in sorted(rows))
    try:
        part = part_of(
            f'edges.top = {{ points = [{table}], mirror = true, ends = "{ends}" }}\n'
            f'corners.bottom_left = {{ round = "{radius}" }}\ncorners.bottom_right = {{ round = "{radius}" }}\n'
            '[[part.cut]]\nfrom = ["left", "100"]\nto = ["bottom", "120"]\npoints = [["60", "70"]]\nmirror = true\n'
            f'[[part.hole]]\ncircle = "{across}"\nat = ["170", "200"]\nmirror = true'
        )
    except PatternError as error:
        assert "leaves the blank" in str(error) or "cut" in str(error) or "corner" in str(error)
        return
    shape = polygon_of(part.outline.boundary, part.outline.holes)
    turned = scale(shape, xfact=-1.0, origin=(200.0, 0.0))
    assert shape.symmetric_difference(turned).area <= 4 * CHORD_MM * shape.length
    assert part.outline.centroid[0] == pytest.approx(200.0, abs=1e-9)


@settings(bounded, max_examples=40)
@given(
    st.integers(50, 400), st.integers(2, 95), st.sampled_from(("edge", "inside")), st.sampled_from(("top", "bottom"))
)
def test_arches_have_the_area_and_the_circle_of_the_handbook(span: int, share: int, to: str, edge: str) -> None:
    """Segment: R = (c²/4 + h²) / 2h, area R²/2 (θ - sin θ); half an ellipse: π c h / 4. (Any handbook of formulas.)"""
    span = 400 if to == "edge" else span
    rise = span / 2 * share / 100
    limits = f', from = "{(400 - span) / 2}", to = "{(400 + span) / 2}"' if to == "inside" else ""
    sweep = f'rise = "{rise}", arch_to = "{to}"{limits}'
    radius = (span**2 / 4 + rise**2) / (2 * rise)
    angle = 2 * math.asin(min(1.0, span / 2 / radius))
    segment = radius**2 / 2 * (angle - math.sin(angle))
    for kind, under in (("segmental", segment), ("elliptical", math.pi * span * rise / 4)):
        part = part_of(f'edges.{edge} = {{ arch = "{kind}", {sweep} }}')
        taken = under if to == "inside" else span * rise - under
        assert part.outline.area == pytest.approx(400 * 400 - taken, abs=1e-3 * span)


@settings(bounded, max_examples=40)
@given(st.floats(30, 150), st.floats(0.02, 0.9), st.sampled_from(("round", "chamfer")))
def test_a_worked_corner_of_any_angle_takes_the_area_of_the_handbook(angle: float, share: float, form: str) -> None:
    """Round: r² (1 / tan(α/2) - (π - α)/2); chamfer a along both sides: a²/2 sin α. (Any handbook of formulas.)"""
    alpha = math.radians(round(angle, 2))
    tip = (round(300 * math.cos(alpha), 9), round(300 * math.sin(alpha), 9))
    figures = [("0", "0"), ("300", "0"), tuple(f"{v:.9f}" for v in tip)]
    blank = "{ vertices = [" + ", ".join(f'["{x}", "{y}"]' for x, y in figures) + "] }"
    reach = share * 300
    amount = round(reach * math.tan(alpha / 2) if form == "round" else reach, 6)
    part = part_of(f'corners.corner_1 = {{ {form} = "{amount}" }}', blank)
    taken = amount**2 * (1 / math.tan(alpha / 2) - (math.pi - alpha) / 2)
    if form == "chamfer":
        taken = amount**2 / 2 * math.sin(alpha)
    assert part.outline.area == pytest.approx(300**2 / 2 * math.sin(alpha) - taken, abs=1e-2)


def test_a_board_and_a_part_named_like_it_have_files_of_their_own() -> None:
    head = 'curvewright = 1\ntitle = "Trial"\nunits = "mm"\n'
    back = '[[part]]\nname = "back"\nblank = { length = 400, width = 200 }\nglue_lines = [100]\nshape = "before glue"\n'
    other = '[[part]]\nname = "back board 1"\nblank = { length = 300, width = 100 }\n'
    job = request.make(PatternSource(head + back + other, "piece.toml"), {}, SHOP)
    names = [pattern.slug for pattern in job.patterns]
    assert len(set(names)) == 3
    assert {"back-board-1", "back-board-2"} <= set(names)


@settings(bounded, max_examples=40)
@given(
    st.lists(st.tuples(st.integers(0, 4), st.integers(5, 9)), min_size=2, max_size=7),
    st.lists(st.integers(1, 8), min_size=1, max_size=3, unique=True),
    st.booleans(),
)
def test_boards_part_where_steps_lie_on_their_glue_lines(
    columns: list[tuple[int, int]], lines: list[int], across: bool
) -> None:
    """Shoulders and steps are often made just where the boards meet; GEOS says what is left between two lines."""
    low = min(a for a, _ in columns)
    below = [(20 * (k + side), 20 * (a - low)) for k, (a, _) in enumerate(columns) for side in (0, 1)]
    above = [(20 * (k + side), 20 * (b - low)) for k, (_, b) in enumerate(columns) for side in (0, 1)]
    around = _corners([*below, *reversed(above)])
    if across:
        around = [(y, x) for x, y in reversed(around)]
    figures = ", ".join(f'["{x}", "{y}"]' for x, y in around)
    whole = Polygon(around)
    lines = [20 * line for line in sorted(lines) if 0 < line < max(b for _, b in columns) - low]
    if not lines:
        return
    given_lines = ", ".join(f'"{line}"' for line in lines)
    grain = "across" if across else "along"
    details = f'grain = "{grain}"\nglue_lines = [{given_lines}]\nshape = "before glue"'
    part = part_of(details, f"{{ vertices = [{figures}] }}")
    for first, last in itertools.pairwise([-1, *lines, 999]):
        window = (first, -1, last, 999) if across else (-1, first, 999, last)
        strip = whole.intersection(box(*window))
        pieces = [one for one in getattr(strip, "geoms", [strip]) if one.area > 0]
        mine = [board for board in part.boards if polygon_of(board.outline.boundary).within(box(*window).buffer(1e-6))]
        assert sorted(board.outline.area for board in mine) == pytest.approx(sorted(one.area for one in pieces))
    for run in part.glue:
        line = LineString([run.start, run.end])
        assert whole.buffer(1e-6).covers(line)
        assert line.intersection(whole.exterior).length == pytest.approx(0.0, abs=1e-6)
    glued = [run for board in part.boards for run in board.glue]
    assert sum(run.length for run in glued) == pytest.approx(2 * sum(run.length for run in part.glue))


def _corners(points: list[tuple[int, int]]) -> list[tuple[int, int]]:
    """The points at which the line round them turns."""
    points = [p for k, p in enumerate(points) if p != points[k - 1]]
    return [
        p
        for k, p in enumerate(points)
        if (p[0] - points[k - 1][0]) * (points[(k + 1) % len(points)][1] - p[1])
        != (p[1] - points[k - 1][1]) * (points[(k + 1) % len(points)][0] - p[0])
    ]
