"""Router templates: their line against two independent geometry kernels, and the part that a simulated router leaves."""

from __future__ import annotations

import math

import anypiece
import fromfile
import numpy as np
import pyclipr
import pytest
import shapely
from hypothesis import HealthCheck, assume, given, settings
from hypothesis import strategies as st
from numpy.typing import NDArray
from shapely.geometry import LinearRing, Point, Polygon

from patterns.curve import Curve
from patterns.display import Display
from patterns.errors import PatternError
from patterns.outline import Outline
from patterns.pattern import Pattern, Role
from patterns.routerguide import Guide, guide_named
from patterns.routerreach import LEAST_MM, TightPlace, router_lines
from patterns.routertemplate import template_of

FLAT_MM = 5e-4
"""Chords stand no farther off a curve than this."""
TRUE_MM = 0.005
"""How far a template's line may be from that of another kernel: corners and all."""
DISPLAY = Display("mm", 32, 0.5)
GUIDES = (
    Guide("bushing", 15.875, 6.35, "5/8 in", "1/4 in bit"),
    Guide("bushing", 30.0, 12.0, "30 mm", "12 mm bit"),
    Guide("bearing", 12.7, 12.7, "1/2 in", "1/2 in bit"),
    Guide("bearing", 9.525, 12.7, "3/8 in", "1/2 in bit"),
    Guide("bearing", 19.05, 12.7, "3/4 in", "1/2 in bit"),
)
DEMOS = ("dolls-cradle.toml", "hall-rack.toml", "settle-crest.toml", "bench-back.toml")

bounded = settings(
    max_examples=15,
    deadline=None,
    derandomize=True,
    database=None,
    suppress_health_check=[HealthCheck.too_slow, HealthCheck.data_too_large, HealthCheck.filter_too_much],
)


def flat(curve: Curve) -> NDArray[np.float64]:
    return curve.flattened(FLAT_MM)


def polygon(outline: Outline, holes: bool = True) -> Polygon:
    return Polygon(flat(outline.boundary), [flat(hole) for hole in outline.holes] if holes else [])


def grown(shape: shapely.Geometry, by: float) -> shapely.Geometry:
    """A shape's parallel by shapely, arcs in chords that sag less than ``FLAT_MM``."""
    return shapely.buffer(shape, by, quad_segs=math.ceil(math.pi / 4 * math.sqrt(abs(by) / (2 * FLAT_MM))))


def assert_together(one: shapely.Geometry, other: shapely.Geometry) -> None:
    """No vertex, and no point of a long side, of either line lies farther than ``TRUE_MM`` from the other line."""
    for line, beside in ((one.boundary, other.boundary), (other.boundary, one.boundary)):
        points = shapely.points(shapely.get_coordinates(shapely.segmentize(line, 4.0)))
        shapely.prepare(beside)
        far = points[~shapely.dwithin(beside, points, TRUE_MM)]
        assert not len(far), f"{shapely.distance(far, beside).max()} mm apart"


def clipped(points: NDArray[np.float64], by: float) -> Polygon:
    """A closed line's parallel by Clipper, which reckons in whole numbers."""
    offset = pyclipr.ClipperOffset()
    offset.scaleFactor = 100_000
    offset.arcTolerance = FLAT_MM
    area = LinearRing(points).is_ccw
    offset.addPath(points[:-1] if area else points[-2::-1], pyclipr.JoinType.Round, pyclipr.EndType.Polygon)
    return shapely.union_all([Polygon(path) for path in offset.execute(by) if len(path) > 2])


L_SHAPE = Curve.polyline([(0, 0), (160, 0), (160, 60), (70, 60), (70, 140), (0, 140)], closed=True)
ACUTE = Curve.polyline([(0, 0), (200, 0), (200, 120), (110, 40), (80, 140), (0, 120)], closed=True)
BELLY = Curve.chain(
    [
        Curve.arc((0, 0), 80.0, math.pi, 2.0 * math.pi),
        Curve.arc((60, 0), 20.0, 0.0, math.pi / 2),
        Curve(np.array([[(60, 20), (30, 20), (10, 8), (0, 8)]], dtype=float)),
        Curve(np.array([[(0, 8), (-10, 8), (-40, 60), (-80, 60)]], dtype=float)),
        Curve.line((-80, 60), (-80, 0)),
    ]
).closed_up()
SLOTTED = Curve.polyline(
    [(0, 0), (200, 0), (200, 100), (104, 100), (104, 60), (96, 60), (96, 100), (0, 100)], closed=True
)
SHAPES = {
    "corners": L_SHAPE,
    "sharp corners": ACUTE,
    "curves": BELLY,
    "slot": SLOTTED,
    "disc": Curve.circle((5, 5), 60),
}


def demo_patterns() -> list[Pattern]:
    return [pattern for name in DEMOS for pattern in fromfile.demo_order(name).patterns]


# -------------------------------------------------------------------- the line


def assert_as_other_kernels_have_it(outline: Outline, guide: Guide, around: bool) -> None:
    """Skips what is refused in words."""
    try:
        lines = router_lines(outline, guide, around)
    except PatternError as error:
        assert str(error).strip()
        return
    by = guide.distance if around else -guide.distance
    kept = [hole for hole in outline.holes if not any(hole is other for other in lines.others)]
    true = Outline(outline.boundary) if around else Outline(outline.boundary, tuple(kept))
    made = polygon(lines.template)
    expected = grown(polygon(true), by) if by else polygon(true)
    if expected.geom_type != "Polygon" or len(expected.interiors) != len(made.interiors):
        largest = max(shapely.get_parts(expected), key=lambda part: part.area)
        assert grown(expected, -1e-3).symmetric_difference(grown(largest, -1e-3)).area < 0.5, (
            "pieces that were not told"
        )
        expected = largest
    assert_together(made, expected)
    if by:
        assert_together(Polygon(flat(lines.template.boundary)), clipped(flat(outline.boundary), by))


@pytest.mark.parametrize("around", [False, True])
@pytest.mark.parametrize("guide", GUIDES, ids=lambda guide: f"{guide.kind} {guide.diameter} {guide.bit}")
@pytest.mark.parametrize("name", SHAPES)
def test_corners_and_curves_agree_with_two_kernels(name: str, guide: Guide, around: bool) -> None:
    assert_as_other_kernels_have_it(Outline(SHAPES[name]), guide, around)


@pytest.mark.parametrize("guide", GUIDES[:1] + GUIDES[3:4], ids=lambda guide: guide.kind)
def test_demo_pieces_agree_with_two_kernels(guide: Guide) -> None:
    for pattern in demo_patterns():
        for around in (False, True):
            assert_as_other_kernels_have_it(pattern.outline, guide, around)


@bounded
@given(anypiece.pattern_files(most_parts=1, calm=True), st.sampled_from(GUIDES), st.booleans())
def test_random_pieces_agree_with_two_kernels(text: str, guide: Guide, around: bool) -> None:
    try:
        patterns = fromfile.order_of(text).patterns
    except PatternError:
        assume(False)
    for pattern in patterns:
        assert_as_other_kernels_have_it(pattern.outline, guide, around)


# -------------------------------------------------------------------- the router


def routed(template: Outline, guide: Guide, around: bool) -> shapely.Geometry:
    """What stays of the wood: the bushing is rolled along the template on the bit's side, and the bit cuts a groove.

    The axis goes wherever the bushing does not bite into the template; the wood is what the bit can't reach.
    """
    body = polygon(template)
    if around:
        axes = grown(body, -guide.diameter / 2)
        return grown(axes, guide.bit / 2)  # the opening that the window gives
    axes = shapely.box(*body.bounds).buffer(120.0).difference(grown(body, guide.diameter / 2))
    return shapely.box(*body.bounds).buffer(100.0).difference(grown(axes, guide.bit / 2))


def assert_router_leaves_the_part(outline: Outline, guide: Guide, around: bool) -> tuple[TightPlace, ...]:
    """But for the places that are named, each of the size that is told."""
    lines = router_lines(outline, guide, around)
    true = polygon(outline, holes=not around)
    if not around:
        holes = [flat(hole) for hole in outline.holes if not any(hole is other for other in lines.others)]
        true = Polygon(true.exterior, holes)
    made = routed(lines.template, guide, around)
    for part in shapely.get_parts(made.symmetric_difference(true)):
        off = shapely.points(shapely.get_coordinates(shapely.segmentize(part.boundary, 0.2)))
        worst = max(float(shapely.distance(off, line).max()) for line in (true.boundary, made.boundary))
        if worst <= LEAST_MM + 4 * TRUE_MM:
            continue
        named = [place for place in lines.places if part.distance(Point(place.at)) <= 0.05]
        assert named, f"{worst} mm at {part.centroid} is not told"
        assert worst <= max(place.amount for place in named) + 0.05, "more than is told"
    for place in lines.places:
        if place.kind != "hole":
            assert made.boundary.distance(Point(place.at)) == pytest.approx(place.amount, abs=4 * TRUE_MM)
            assert true.boundary.distance(Point(place.at)) < 1e-3
    return lines.places


@pytest.mark.parametrize("around", [False, True])
@pytest.mark.parametrize("guide", GUIDES, ids=lambda guide: f"{guide.kind} {guide.diameter} {guide.bit}")
@pytest.mark.parametrize("name", ["corners", "sharp corners", "curves", "disc"])
def test_a_simulated_router_leaves_the_part_but_for_the_places_named(name: str, guide: Guide, around: bool) -> None:
    assert_router_leaves_the_part(Outline(SHAPES[name]), guide, around)


def test_a_simulated_router_on_the_demo_pieces() -> None:
    made = 0
    for pattern in (one for name in DEMOS[:2] for one in fromfile.demo_order(name).patterns):
        for around in (False, True):
            try:
                assert_router_leaves_the_part(pattern.outline, GUIDES[0], around)
                made += 1
            except PatternError:
                continue
    assert made >= 12


def test_what_is_left_in_a_square_inside_corner() -> None:
    """The gap of a quarter circle in a square corner is r (sqrt 2 - 1): plain geometry. Outer corners lose d so."""
    guide = GUIDES[0]
    places = router_lines(Outline(L_SHAPE), guide, False).places
    (inside,) = (place for place in places if place.kind == "inside")
    assert inside.at == (70.0, 60.0) and inside.radius == 0.0
    assert inside.amount == pytest.approx(guide.bit / 2 * (math.sqrt(2) - 1), abs=TRUE_MM)
    outer = [place for place in places if place.kind == "outer"]
    assert {place.at for place in outer} == {(0, 0), (160, 0), (160, 60), (70, 140), (0, 140)}
    assert all(place.amount == pytest.approx(guide.distance * (math.sqrt(2) - 1), abs=TRUE_MM) for place in outer)


@pytest.mark.parametrize("radius", [2.0, 3.0, 3.4, 5.0])
def test_inside_curves_tighter_than_the_bit_are_named_and_no_others(radius: float) -> None:
    fillet = Curve.arc((70 + radius, 60 + radius), radius, 1.5 * math.pi, math.pi)
    around = [(70, 140), (0, 140), (0, 0), (160, 0), (160, 60), (70 + radius, 60)]
    outline = Outline(Curve.chain([Curve.polyline(around), fillet, Curve.line((70, 60 + radius), (70, 140))]))
    found = [place for place in router_lines(outline, GUIDES[0], False).places if place.kind == "inside"]
    if radius >= GUIDES[0].bit / 2:
        assert not found
        return
    (place,) = found
    assert place.radius == pytest.approx(radius, rel=1e-3)
    assert place.amount == pytest.approx((GUIDES[0].bit / 2 - radius) * (math.sqrt(2) - 1), abs=TRUE_MM)


def test_flush_moves_nothing_and_only_inside_corners_stay() -> None:
    lines = router_lines(Outline(L_SHAPE), GUIDES[2], False)
    assert lines.template.area == pytest.approx(Outline(L_SHAPE).area, rel=1e-12)
    assert [place.kind for place in lines.places] == ["inside"]


def test_the_sides_that_lines_move_to() -> None:
    """A bushing's template is smaller than the part and its holes are larger; a window is larger; a small bearing's too."""
    outline = Outline(Curve.circle((0, 0), 100), (Curve.circle((0, 0), 30),))
    for guide, around, radii in ((GUIDES[0], False, (95.2375, 34.7625)), (GUIDES[0], True, (104.7625,))):
        made = router_lines(outline, guide, around).template
        assert [curve.bounds[2] for curve in made.curves] == pytest.approx(radii, abs=TRUE_MM)
    made = router_lines(outline, GUIDES[3], False).template
    assert [curve.bounds[2] for curve in made.curves] == pytest.approx((101.5875, 28.4125), abs=TRUE_MM)


def test_a_hole_too_narrow_for_the_bit_is_left_to_a_drill() -> None:
    outline = Outline(Curve.circle((0, 0), 60), (Curve.circle((10, 0), 3),))
    lines = router_lines(outline, GUIDES[0], False)
    assert not lines.template.holes and len(lines.others) == 1
    assert [place.kind for place in lines.places if place.kind == "hole"] == ["hole"]


@pytest.mark.parametrize(
    ("points", "words"),
    [
        ([(0, 0), (60, 0), (60, 6), (0, 6)], "nothing would be left"),
        (
            [
                (0, 0),
                (60, 0),
                (60, 26),
                (120, 26),
                (120, 0),
                (180, 0),
                (180, 60),
                (120, 60),
                (120, 33),
                (60, 33),
                (60, 60),
                (0, 60),
            ],
            "pieces",
        ),
    ],
)
def test_no_template_where_the_part_is_narrower_than_the_move(points: list[tuple[float, float]], words: str) -> None:
    with pytest.raises(PatternError, match=words):
        router_lines(Outline(Curve.polyline(points, closed=True)), GUIDES[0], False)


# -------------------------------------------------------------------- the drawing


def test_the_pattern_has_the_moved_line_to_cut_and_the_true_line_beside_it() -> None:
    pattern = next(one for one in demo_patterns() if one.name == "foot board")
    made = template_of(pattern, GUIDES[0], DISPLAY)
    assert (made.name, made.slug) == ("foot board, router template", "foot-board--router-template")
    true = [stroke.curve for stroke in pattern.strokes if stroke.role is Role.CUT]
    assert [s.curve for s in made.strokes if s.role is Role.HIDDEN] == true
    assert [s.curve for s in made.strokes if s.role is Role.CUT] == list(made.outline.curves)
    words = " ".join([*made.title_block, *made.notes])
    for needed in (
        "5/8 in bushing",
        "1/4 in bit",
        "inside the true line",
        "counter-clockwise",
        "Clamp",
        "no climb cut",
        "manual",
    ):
        assert needed in words
    window = template_of(pattern, GUIDES[0], DISPLAY, around=True)
    assert window.slug == "foot-board--router-window" and "outside the true line" in " ".join(window.title_block)
    assert "clockwise inside the window" in " ".join(window.notes), "common practice, no source"


# -------------------------------------------------------------------- which guide


def read(text: str) -> float:
    from patterns import formula

    try:
        return formula.evaluate(text, wanted="length", units="in", names={}).value
    except formula.FormulaError as error:
        raise PatternError.of("--guide", str(error)) from error


@pytest.mark.parametrize(
    ("text", "kind", "diameter", "bit"),
    [
        ("5/8 bushing, 1/4 bit", "bushing", 15.875, 6.35),
        ("30 mm bushing and straight 1/2", "bushing", 30.0, 12.7),
        ("", "bushing", 11.1125, 6.35),
        ("3/8 bit", "bushing", 15.875, 9.525),
        ("3/4 bushing", "bushing", 19.05, 6.35),
        ("flush, 1/2 bit", "bearing", 12.7, 12.7),
        ("3/8 bearing, 1/2 bit", "bearing", 9.525, 12.7),
    ],
)
def test_guides_by_name_and_size(text: str, kind: str, diameter: float, bit: float) -> None:
    guide = guide_named(text, fromfile.SHOP.shop, Display("in"), read)
    assert (guide.kind, guide.diameter, guide.bit) == (kind, pytest.approx(diameter), pytest.approx(bit))
    assert guide.distance == pytest.approx((diameter - bit) / 2)


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("9/16 bushing, 1/4 bit", "no bushing of 9/16 in"),
        ("5/8 bushing, 5/16 bit", "no straight bit of 5/16 in"),
        ("7/16 bushing, 1/2 bit", "does not go through"),
        ("5/8 bushing, dovetail 1/2", "not straight"),
        ("5/8 bushing, flush, 1/2 bit", "more than one guide"),
        ("1/2 bearing", "names no bit"),
        ("5/8 bushing, blue bit", "neither a bit of the shop nor a diameter"),
        ("bushing", "outside diameter"),
    ],
)
def test_guides_that_are_not_there_are_told_with_what_the_shop_has(text: str, words: str) -> None:
    with pytest.raises(PatternError, match=words) as caught:
        guide_named(text, fromfile.SHOP.shop, Display("in"), read)
    assert "the shop has bushings 7/16 in (11 mm)" in str(caught.value)
