"""Half patterns: with its mirror image a half is the whole; what is not symmetrical is refused with every reason."""

from __future__ import annotations

import io
import re

import anypiece
import cairosvg
import fromfile
import numpy as np
import pytest
import shapely
import symmetrical
from hypothesis import given, settings
from PIL import Image
from scipy import ndimage

from patterns.affine import Affine
from patterns.display import Display
from patterns.errors import PatternError
from patterns.half import STRIP_MM, half_of
from patterns.pattern import Pattern, Role
from patterns.sketch import text_width
from patterns.svg import svg_text

TRUE_MM = 0.02
FLAT_MM = 0.002


def the_pattern(text: str) -> tuple[Pattern, Display]:
    order = fromfile.order_of(text)
    return order.patterns[0], order.display


def halved(text: str) -> tuple[Pattern, Pattern]:
    """The whole, and its half."""
    pattern, display = the_pattern(text)
    return pattern, half_of(pattern, display)


def over(half: Pattern) -> Affine:
    """The reflection in the flip line, written out by hand."""
    assert half.half is not None
    if half.half.side == "left":
        return Affine(a=-1.0, e=2 * half.half.at)
    return Affine(d=-1.0, f=2 * half.half.at)


def lines(pattern: Pattern, role: Role, by: Affine | None = None) -> shapely.MultiLineString:
    curves = [stroke.curve for stroke in pattern.strokes if stroke.role is role]
    flat = [curve.flattened(FLAT_MM) for curve in curves]
    return shapely.MultiLineString([by.apply(points) if by else points for points in flat])


def furthest(points_of: shapely.Geometry, line: shapely.Geometry) -> float:
    """How far the points of one line, closely spaced, are from another (mm)."""
    close = shapely.segmentize(points_of, 2.0)
    return float(shapely.distance(shapely.points(shapely.get_coordinates(close)), line).max())


def assert_true(whole: Pattern, half: Pattern) -> None:
    """The half and its mirror image make the whole cut line, holes and glue lines, and nothing but that."""
    for role in (Role.CUT, Role.GLUE):
        if any(stroke.role is role for stroke in whole.strokes):
            both = shapely.union_all([lines(half, role), lines(half, role, over(half))])
            assert furthest(lines(whole, role), both) <= TRUE_MM
            assert furthest(both, lines(whole, role)) <= TRUE_MM


@settings(max_examples=30, deadline=None)
@given(symmetrical.upright())
def test_half_and_mirror_image_make_the_whole(text: str) -> None:
    whole, half = halved(text)
    assert half.half is not None
    length, width = whole.outline.bounds[2], whole.outline.bounds[3]
    if length >= width:
        assert half.half.side == "left"
    assert_true(whole, half)


@settings(max_examples=15, deadline=None)
@given(symmetrical.level())
def test_lower_half_of_a_part_that_mirrors_top_to_bottom(text: str) -> None:
    whole, half = halved(text)
    assert half.half is not None and half.half.side == "lower"
    assert_true(whole, half)
    assert half.outline.bounds[3] == pytest.approx(half.half.at + half.half.strip)


@settings(max_examples=30, deadline=None)
@given(symmetrical.upright())
def test_nothing_but_the_strip_lies_beyond_the_flip_line(text: str) -> None:
    whole, half = halved(text)
    assert half.half is not None
    assert half.bounds[2 + half.half.axis] <= half.half.at + max(half.half.strip, 6.0) + 1e-6
    assert half.half.strip <= STRIP_MM
    for label in half.labels:
        if label.key.startswith("flip.strip"):
            continue
        reach = text_width(label.text, label.height) / 2
        across = abs(np.cos(label.angle) if half.half.axis == 0 else np.sin(label.angle))
        at = label.at[half.half.axis]
        assert at + across * reach <= half.half.at, label
    assert len({label.key for label in half.labels}) == len(half.labels)
    across = f"dimension.{'length' if half.half.axis == 0 else 'width'}"
    assert all("to the flip line" in one.text for one in half.dimensions if one.key == across)
    assert any(half.half.whole == line for line in half.title_block)
    assert half.slug != whole.slug and half.name != whole.name


def test_template_ends_as_the_whole_board_is_wide() -> None:
    """What the pattern says of both halves together is what the whole measures."""
    whole, half = halved(symmetrical.HEAD + PLAIN % ("411.5", "90"))
    assert half.half is not None
    assert "both halves together 411.5 mm (~16 3/16 in)" in half.title_block
    assert 2 * (half.half.at - half.outline.bounds[0]) == pytest.approx(whole.outline.bounds[2])


@pytest.mark.parametrize("name", ["dolls-cradle.toml", "hall-rack.toml", "bench-back.toml"])
def test_demo_pieces(name: str) -> None:
    order = fromfile.demo_order(name)
    done = 0
    for whole in order.patterns:
        try:
            half = half_of(whole, order.display)
        except PatternError:
            continue
        assert_true(whole, half)
        done += 1
    assert done >= 3


def pixels_of_cut(pattern: Pattern, box: tuple[float, float, float, float]) -> np.ndarray:
    """The cut line as an independent renderer draws it at 150 dpi in this box of the part (mm)."""
    svg = svg_text(pattern)
    path = re.search(r'<path class="cut"[^>]*?/?>', svg)
    assert path is not None
    x0, y0, x1, y1 = box
    drawing = (
        f'<svg xmlns="http://www.w3.org/2000/svg" width="{x1 - x0}mm" height="{y1 - y0}mm" '
        f'viewBox="{x0} {-y1} {x1 - x0} {y1 - y0}">{path[0].rstrip("/>")}/></svg>'
    )
    png = cairosvg.svg2png(bytestring=drawing.encode(), scale=150 / 96, background_color="white")
    return np.asarray(Image.open(io.BytesIO(png)).convert("L")) < 128


@pytest.mark.parametrize(
    ("name", "number"), [("dolls-cradle.toml", 0), ("dolls-cradle.toml", 2), ("hall-rack.toml", 1)]
)
def test_rendered_half_turned_over_covers_the_whole(name: str, number: int) -> None:
    order = fromfile.demo_order(name)
    whole = order.patterns[number]
    half = half_of(whole, order.display)
    assert half.half is not None and half.half.side == "left"
    x0, y0, x1, y1 = whole.outline.bounds
    reach = max(half.half.at - x0, x1 - half.half.at) + 10
    box = (half.half.at - reach, y0 - 10, half.half.at + reach, y1 + 10)
    printed = pixels_of_cut(half, box)
    both = printed | printed[:, ::-1]
    full = pixels_of_cut(whole, box)
    assert full.sum() > 1000
    near = np.ones((3, 3), dtype=bool)
    assert not (full & ~ndimage.binary_dilation(both, near)).any()
    assert not (both & ~ndimage.binary_dilation(full, near)).any()


# ---------------------------------------------------------------- which line, and what stands on it

PLAIN = '[[part]]\nname = "board"\nblank = { length = "%s", width = "%s" }\n'


@pytest.mark.parametrize(("length", "width", "side"), [("400", "90", "left"), ("90", "400", "lower")])
def test_of_two_lines_the_one_that_halves_the_longer_side(length: str, width: str, side: str) -> None:
    _, half = halved(symmetrical.HEAD + PLAIN % (length, width))
    assert half.half is not None and half.half.side == side


def test_a_hole_on_the_line_is_cut_in_the_strip_too() -> None:
    text = PLAIN % ("400", "90") + '[[part.hole]]\ncircle = "40"\nat = ["200", "45"]\n'
    _, half = halved(symmetrical.HEAD + text)
    opened = [stroke for stroke in half.strokes if stroke.key == "hole[0]"]
    assert len(opened) == 1 and not opened[0].curve.is_closed
    assert opened[0].curve.bounds[2] == pytest.approx(200 + STRIP_MM)
    assert not half.outline.holes


def test_crosses_to_prick_lie_on_the_flip_line_and_on_wood() -> None:
    text = PLAIN % ("900", "300") + '[[part.hole]]\ncircle = "120"\nat = ["450", "150"]\n'
    whole, half = halved(symmetrical.HEAD + text)
    crosses = {}
    for stroke in half.strokes:
        if stroke.key.startswith("flip.cross"):
            crosses.setdefault(stroke.key, []).append(stroke.curve.point(len(stroke.curve) / 2))
    assert len(crosses) >= 2
    for first, second in crosses.values():
        assert first == pytest.approx(second) and first[0] == pytest.approx(450)
        assert whole.outline.clearance(first[None])[0] > 5.0


def test_what_only_touches_the_strip_from_across_is_left_out() -> None:
    """The prongs of a fork that all but meet at its middle: only the one that belongs to the half is drawn."""
    corners = [
        (0, 0),
        (300, 0),
        (300, 120),
        (155, 120),
        (155, 60),
        (250, 60),
        (250, 30),
        (50, 30),
        (50, 60),
        (145, 60),
        (145, 120),
        (0, 120),
    ]
    vertices = ", ".join(f'["{x}", "{y}"]' for x, y in corners)
    text = f'[[part]]\nname = "clamp"\nblank = {{ vertices = [{vertices}] }}\n'
    _, half = halved(symmetrical.HEAD + text)
    beyond = [stroke for stroke in half.strokes if stroke.role is Role.CUT and stroke.curve.bounds[0] > 151]
    assert not beyond
    assert half.outline.area == pytest.approx(150 * 30 + 50 * 90 + 95 * 60 + STRIP_MM * 30)


def test_a_note_on_a_line_is_said_once_and_on_this_half() -> None:
    mark = '[[part.mark]]\nline = [["0", "30"], ["400", "30"]]\n[[part.mark]]\nnote = "shelf"\nat = ["300", "30"]\n'
    _, half = halved(symmetrical.HEAD + PLAIN % ("400", "90") + mark)
    assert [label.at[0] < 200 for label in half.labels if label.text == "shelf"] == [True]


@pytest.mark.parametrize(
    ("grain", "words"), [("30", "grain, printed side up"), ("across", "grain"), ("along", "grain")]
)
def test_slanting_grain_counts_while_the_printed_side_is_up(grain: str, words: str) -> None:
    _, half = halved(symmetrical.HEAD + PLAIN % ("400", "200") + f'grain = "{grain}"\n')
    assert [label.text for label in half.labels if label.key == "grain"] == [words]


# ---------------------------------------------------------------- refused

HOLE = '[[part.hole]]\ncircle = "10"\nat = ["{}", "45"]\n'
REFUSED = {
    "hole 2 moved": (
        HOLE.format(50) + HOLE.format(345),
        r'part "board", hole 1: has no twin .*; hole 2 misses by 5 mm',
    ),
    "lone hole": (HOLE.format(50), r'part "board", hole 1: has no twin on the other side of the upright centre line$'),
    "hole off the line": (HOLE.format(203), r'part "board", hole 1: is 3 mm off the upright centre line'),
    "another diameter": (
        HOLE.format(50) + HOLE.format(350).replace('"10"', '"12"'),
        r"hole 1: has no twin .*; hole 2 misses by 1 mm",
    ),
    "mark": ('[[part.mark]]\ncentre = ["60", "40"]\n', r"mark 1: has no twin"),
    "line": ('[[part.mark]]\nline = [["60", "40"], ["200", "40"]]\n', r"mark 1: has no twin"),
    "note": ('[[part.mark]]\nnote = "hinge"\nat = ["60", "40"]\n', r"mark 1: has no twin"),
    "one corner": (
        'corners.top_left = { round = "20" }\n',
        r"corners.top_left: has no twin .*: up to ~8.5 mm apart",
    ),
    "one end to fit": (
        "edges.left = { fit = true }\n",
        r'edges.left: has "leave long, fit to the piece", and edges.right',
    ),
    "round-over that stops": (
        'edges.top = { round_over = { radius = "6", from = "30", to = "350" } }\n',
        r"edges.top, round_over, from: has no twin .*; edges.top, round_over, to misses by 20 mm",
    ),
    "skew sweep": (
        'edges.top = { points = [["0", "10"], ["150", "20"], ["400", "10"]] }\n',
        r"edges.top: its two halves are no mirror images in the upright centre line: up to .* mm apart, at \[",
    ),
    "glue line across": (
        'grain = "across"\nglue_lines = ["150"]\n',
        r"glue line 1: is 50 mm off the upright centre line",
    ),
}


@pytest.mark.parametrize("case", REFUSED)
def test_refused_with_the_reason(case: str) -> None:
    words, expected = REFUSED[case]
    # Slanting ends keep the part from mirroring in a level line.
    slanting = '[[part]]\nname = "board"\nblank = { bottom = "400", top = "380", height = "90" }\n'
    square = "edges.top" in words or "corners" in words
    blank = PLAIN % ("400", "90") if square else slanting
    pattern, display = the_pattern(symmetrical.HEAD + blank + words)
    with pytest.raises(PatternError) as caught:
        half_of(pattern, display)
    assert re.search(expected, str(caught.value), re.MULTILINE), str(caught.value)


@settings(max_examples=30, deadline=None)
@given(symmetrical.upright())
def test_a_notch_at_one_end_is_always_found(text: str) -> None:
    corner = 'corners.bottom_right = { notch = ["4", "3"] }\nname = "board"'
    try:
        pattern, display = the_pattern(text.replace('name = "board"', corner))
    except PatternError:
        return  # no corner is left there to notch
    with pytest.raises(PatternError) as caught:
        half_of(pattern, display)
    assert re.search(r'part "board", (corners\.bottom_right|edges\.(bottom|right))', str(caught.value))


def test_reasons_are_not_more_than_anyone_reads() -> None:
    holes = "".join(HOLE.format(20 + 31 * k) for k in range(9))
    text = (
        symmetrical.HEAD + '[[part]]\nname = "board"\nblank = { bottom = "400", top = "380", height = "90" }\n' + holes
    )
    pattern, display = the_pattern(text)
    with pytest.raises(PatternError) as caught:
        half_of(pattern, display)
    assert len(caught.value.problems) <= 6


@settings(max_examples=25, deadline=None)
@given(anypiece.pattern_files(most_parts=1, calm=True))
def test_any_part_is_halved_or_refused_in_words(text: str) -> None:
    try:
        pattern, display = the_pattern(text)
    except PatternError:
        return
    try:
        half = half_of(pattern, display)
    except PatternError as error:
        assert all(problem.place and problem.what for problem in error.problems)
        return
    assert_true(pattern, half)
