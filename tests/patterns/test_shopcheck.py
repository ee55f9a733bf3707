"""Warnings of the shop: blades, drums, bearings, and wood that is weak across the grain."""

from __future__ import annotations

import math
import re

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from patterns import part as parts
from patterns import patternfile, shopcheck, shopfile
from patterns.affine import Affine
from patterns.curvature import least_radius
from patterns.curve import Curve
from patterns.errors import Problem
from patterns.outline import Outline
from patterns.part import Part
from patterns.patternfile import PatternSource
from patterns.shop import Shop
from patterns.shortgrain import necks
from patterns.tightest import tightest_of_each

HEAD = 'curvewright = 1\ntitle = "Stool"\nunits = "mm"\n'
SHOP = (
    'units = "mm"\n[band_saw]\nblades = [{ width = 6, least_radius = 16 }, { width = 12, least_radius = 60 }]\n'
    "[sanding]\ndrums = [50, 40]\n[router]\nround_over_bits = [{ radius = 6, bearing = 12 }]\n"
)


def shop_of(text: str = SHOP) -> Shop:
    return shopfile.load(text, "shop.toml").shop


def part_of(lines: str, blank: str = "{ length = 600, width = 200 }", thickness: str = "thickness = 20") -> Part:
    text = f'{HEAD}[[part]]\nname = "seat"\n{thickness}\nblank = {blank}\n{lines}\n'
    spec = patternfile.load(PatternSource(text, "stool.toml")).piece.parts[0]
    return parts.build(spec, shop_of().display("mm"))


def warned(part: Part, shop: Shop | None = None) -> list[str]:
    shop = shop or shop_of()
    found: list[Problem] = shopcheck.warnings(part, shop, shop.display("mm"))
    return [str(problem).removeprefix('part "seat", ') for problem in found]


# -------------------------------------------------------------------- saw and drum


def arched(radius: float, inside: bool) -> str:
    """A half circle of that radius in the middle of the top edge: a bump, or a hollow."""
    to = "inside" if inside else "edge"
    ends = f"from = {300 - radius}, to = {300 + radius}"
    return f'edges.top = {{ arch = "segmental", rise = {radius}, {ends}, arch_to = "{to}" }}'


@pytest.mark.parametrize(("radius", "told"), [(15.9, True), (16.0, False), (16.1, False)])
def test_a_hollow_the_narrowest_blade_can_t_follow(radius: float, told: bool) -> None:
    saw = [line for line in warned(part_of(arched(radius, inside=True))) if "band-saw" in line]
    assert bool(saw) == told
    if told:
        assert saw[0].startswith("edges.top: the hollow of radius")
        assert "the 6 blade needs a radius of 16 mm" in saw[0]


def test_a_bulge_the_narrowest_blade_can_t_follow() -> None:
    found = warned(part_of("corners.top_left = { round = 10 }"))
    assert len(found) == 1
    assert found[0].startswith("corners.top_left: the curve of radius 10 mm at [")
    assert "tighter than any band-saw blade" in found[0]


@pytest.mark.parametrize(("radius", "told"), [(19.9, True), (20.0, False), (25.0, False)])
def test_a_hollow_no_drum_enters(radius: float, told: bool) -> None:
    drum = [line for line in warned(part_of(arched(radius, inside=True))) if "drum" in line]
    assert bool(drum) == told
    if told:
        assert "the slimmest, 40 across, needs a radius of 20 mm" in drum[0]


def test_drums_have_nothing_to_do_with_bulges() -> None:
    assert not any("drum" in line for line in warned(part_of("corners.top_left = { round = 10 }")))


def test_a_hole_through_points_is_sanded_too_but_not_sawn_on_the_band_saw() -> None:
    lines = "[[part.hole]]\npoints = [[290, 100], [300, 90], [310, 100], [300, 110]]\n"
    found = warned(part_of(lines))
    assert [line.split(":")[0] for line in found] == ["hole 1"]
    assert "drum" in found[0]


def test_drilled_holes_are_neither() -> None:
    assert warned(part_of("[[part.hole]]\ncircle = 8\nat = [300, 100]\n")) == []


def test_a_gentle_part_has_nothing_to_warn_of() -> None:
    assert warned(part_of('edges.top = { arch = "segmental", rise = 40, arch_to = "inside" }')) == []


def test_a_shop_without_band_saw_and_drums_is_not_told_what_they_can_t_do() -> None:
    bare = shop_of("[band_saw]\nblades = []\n[sanding]\ndrums = []\n")
    assert warned(part_of(arched(10, inside=True)), bare) == []


def test_a_mirrored_sweep_is_told_once() -> None:
    lines = "edges.top = { points = [[100, 0], [108, 12], [116, 0]], from = 100, to = 116, mirror = true }"
    found = [line for line in warned(part_of(lines)) if "hollow" in line and "band-saw" in line]
    assert len(found) == 1
    assert re.search(r" at \[492 mm, [^]]*\] and \[108 mm, [^]]*\] is tighter", found[0])


def test_the_widest_blade_that_follows_a_curve() -> None:
    shop = shop_of()
    assert shopcheck.blade_for(15.0, shop) is None
    for radius, width in ((16.0, 6.0), (59.0, 6.0), (60.0, 12.0), (1e6, 12.0)):
        blade = shopcheck.blade_for(radius, shop)
        assert blade is not None
        assert blade.width == width


@settings(max_examples=40, deadline=None)
@given(st.lists(st.lists(st.floats(-100, 100), min_size=8, max_size=8), min_size=1, max_size=5))
def test_one_pass_over_many_curves_finds_what_asking_each_finds(numbers: list[list[float]]) -> None:
    """The reference is ``least_radius``, one curve and one side at a time."""
    curves = [Curve(np.array(eight).reshape(1, 4, 2)) for eight in numbers]
    for curve, radii in zip(curves, tightest_of_each(curves), strict=True):
        for side in ("left", "right"):
            one = least_radius(curve, side)
            if one is None:
                assert side not in radii
            else:
                assert radii[side].radius == pytest.approx(one.radius, rel=1e-9, abs=1e-12)
                assert radii[side].turning == side


# -------------------------------------------------------------------- round-overs


def rounded(curve: str, **more: str) -> str:
    keys = {"radius": "6", "faces": '"outside"'} | more
    over = ", ".join(f"{key} = {value}" for key, value in keys.items())
    return curve.removesuffix("}") + f", round_over = {{ {over} }} }}"


@pytest.mark.parametrize(("radius", "told"), [(5.9, True), (6.0, False)])
def test_a_bearing_that_can_t_enter_a_hollow(radius: float, told: bool) -> None:
    found = [
        line for line in warned(part_of(rounded(arched(radius, inside=True)))) if "hollow" in line and "bearing" in line
    ]
    assert bool(found) == told


def test_only_the_rounded_stretch_of_an_edge_counts() -> None:
    hollow = arched(5, inside=True)
    for limits, told in (({"to": "250"}, False), ({"from": "350"}, False), ({"from": "250", "to": "350"}, True)):
        found = [line for line in warned(part_of(rounded(hollow, **limits))) if "can't enter the hollow" in line]
        assert bool(found) == told, limits


def test_a_bearing_that_meets_an_inside_corner() -> None:
    two = (
        'edges.top = [{ arch = "segmental", rise = 40, from = 0, to = 300, round_over = { radius = 6, faces = "inside" } }, '
        '{ arch = "segmental", rise = 40, from = 300, to = 600 }]'
    )
    found = [line for line in warned(part_of(two)) if "inside corner" in line]
    assert len(found) == 1
    assert "[300 mm, 160 mm]" in found[0]


def test_every_inside_corner_that_stops_a_bearing_is_named() -> None:
    """Of very many the first few, and how many more there are."""
    for count, words in (
        (3, "corner at [400 mm, 180 mm] and [200 mm, 180 mm];"),
        (6, "[300 mm, 180 mm], [200 mm, 180 mm] and 1 more;"),
    ):
        span = 600 // count
        places = [f"from = {span * k}, to = {span * k + span}" for k in range(count)]
        arches = [f'{{ arch = "segmental", rise = 20, {place} }}' for place in places]
        arches[0] = arches[0].replace(" }", ', round_over = { radius = 6, faces = "inside" } }')
        (line,) = [one for one in warned(part_of(f"edges.top = [{', '.join(arches)}]")) if "inside corner" in one]
        assert words in line


@pytest.mark.parametrize(
    ("thickness", "faces", "told"),
    [
        ("13", "both", True),
        ("13.6", "both", False),
        ("13", "outside", False),
        ("6", "outside", True),
        ("7", "inside", True),
    ],
)
def test_a_bearing_with_nothing_left_to_run_on(thickness: str, faces: str, told: bool) -> None:
    """Two round-overs of 6 mm leave 1.6 mm of 13.6; one leaves 1 mm of 7. Common practice, no source."""
    line = rounded("edges.top = { fit = true }", faces=f'"{faces}"')
    found = [w for w in warned(part_of(line, thickness=f"thickness = {thickness}")) if "bearing to run on" in w]
    assert bool(found) == told


def test_without_a_thickness_nothing_is_said_of_it() -> None:
    assert warned(part_of(rounded("edges.top = { fit = true }"), thickness="")) == []


def test_a_radius_that_the_shop_has_no_bit_for() -> None:
    found = warned(part_of(rounded("edges.top = { fit = true }", radius="9")))
    assert found == ["edges.top, round_over: this shop has no round-over bit of 9 mm; the nearest is 6"]
    assert warned(part_of(rounded("edges.top = { fit = true }", radius="6.35"))) == []


def test_a_round_over_that_begins_beyond_its_edge() -> None:
    found = warned(part_of(rounded("edges.top = { fit = true }", **{"from": "700"})))
    assert "edges.top, round_over, from: 700 is not on the edge, which runs from 0 to 600 mm" in found


# -------------------------------------------------------------------- short grain


def waisted(width: float) -> Outline:
    """An upright hourglass 400 mm high, 200 wide at its ends, ``width`` at its waist; its sides are arcs."""
    rise = 100 - width / 2
    radius = (200**2 + rise**2) / (2 * rise)
    half = math.asin(200 / radius)
    right = Curve.arc((width / 2 + radius, 0), radius, math.pi + half, math.pi - half)
    left = Curve.arc((-width / 2 - radius, 0), radius, half, -half)
    sides = [Curve.line((-100, -200), (100, -200)), right, Curve.line((100, 200), (-100, 200)), left]
    return Outline(Curve.chain(sides).closed_up())


def test_a_waist_across_the_grain_is_found_where_it_is() -> None:
    found = necks(waisted(40), 0.0, 60.0)
    assert len(found) == 1
    assert found[0].width == pytest.approx(40, abs=0.5)
    assert math.hypot(*found[0].at) < 8


def test_along_the_grain_a_waist_is_no_neck() -> None:
    assert necks(waisted(40), math.pi / 2, 60.0) == ()


def test_a_wide_waist_is_no_neck() -> None:
    assert necks(waisted(70), 0.0, 60.0) == ()


@settings(max_examples=30, deadline=None)
@given(
    turn=st.floats(0, 2 * math.pi),
    scale=st.floats(0.2, 5),
    shift=st.tuples(st.floats(-500, 500), st.floats(-500, 500)),
    width=st.floats(20, 50),
)
def test_a_neck_turns_grows_and_moves_with_the_part(
    turn: float, scale: float, shift: tuple[float, float], width: float
) -> None:
    move = Affine.translation(*shift) @ Affine.rotation(turn) @ Affine.scaling(scale)
    found = necks(waisted(width).transformed(move), turn, 60.0 * scale)
    assert len(found) == 1
    assert found[0].width == pytest.approx(width * scale, rel=0.03)
    assert math.dist(found[0].at, shift) < 0.25 * width * scale


def ring(radius: float, width: float) -> Outline:
    """The upper half of a ring, legs down."""
    outer, inner = radius + width / 2, radius - width / 2
    left, right = Curve.line((-outer, 0), (-inner, 0)), Curve.line((inner, 0), (outer, 0))
    arcs = Curve.arc((0, 0), outer, 0, math.pi), Curve.arc((0, 0), inner, math.pi, 0)
    return Outline(Curve.chain([arcs[0], left, arcs[1], right]).closed_up())


def test_both_legs_of_an_arch_sawn_from_one_board_have_short_grain() -> None:
    """Below 45 degrees up from the springing the fibres cross the ring: one warning a leg, none at the crown."""
    found = necks(ring(150, 40), 0.0, 60.0)
    assert len(found) == 2
    for neck in found:
        assert neck.width == pytest.approx(40, rel=0.02)
        assert math.hypot(*neck.at) == pytest.approx(150, abs=3)
        assert abs(math.degrees(math.atan2(neck.at[1], abs(neck.at[0])))) < 45


def rectangle(length: float, width: float, *holes: Curve) -> Outline:
    return Outline(Curve.polyline([(0, 0), (length, 0), (length, width), (0, width)], closed=True).closed_up(), holes)


@pytest.mark.parametrize(
    ("outline", "count"),
    [
        (rectangle(40, 60), 0),
        (rectangle(40, 79), 0),
        (rectangle(40, 100), 1),
        (rectangle(400, 40), 0),
        (rectangle(400, 100, Curve.circle((20, 50), 6).reversed()), 0),
        (rectangle(400, 100, Curve.polyline([(100, 60), (100, 80), (300, 80), (300, 60)], closed=True).closed_up()), 0),
        (rectangle(100, 400, Curve.polyline([(60, 100), (60, 300), (80, 300), (80, 100)], closed=True).closed_up()), 2),
    ],
    ids=["knob", "short strip", "limb", "rail along", "peg hole near the end", "slot along", "slot across"],
)
def test_what_is_weak_and_what_is_not(outline: Outline, count: int) -> None:
    assert len(necks(outline, 0.0, 61.0)) == count


def test_a_neck_is_told_with_its_place_and_what_to_do() -> None:
    lines = (
        'edges.left = { points = [[0, 0], [100, 20], [200, 0]], ends = "natural" }\n'
        'edges.right = { points = [[0, 0], [100, 20], [200, 0]], ends = "natural" }'
    )
    found = warned(part_of(lines, blank="{ length = 80, width = 200 }"))
    assert len(found) == 1
    assert found[0].startswith('part "seat": short grain: about [40 mm, ')
    assert "only 40 mm wide and the grain runs across it" in found[0]
    assert warned(part_of(lines + '\ngrain = "across"', blank="{ length = 80, width = 200 }")) == []


def test_what_is_narrow_follows_from_the_thickness() -> None:
    lines = "\n".join(f"edges.{side} = {{ points = [[0, 0], [100, 20], [200, 0]] }}" for side in ("left", "right"))
    blank = "{ length = 80, width = 200 }"
    assert warned(part_of(lines, blank, "thickness = 13")) == []
    assert len(warned(part_of(lines, blank, "thickness = 14"))) == 1
    assert len(warned(part_of(lines, blank, ""))) == 1
