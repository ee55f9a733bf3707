"""Whole parts: the shapes of the handbook of this project, cuts, corners and holes, measured as a maker would."""

from __future__ import annotations

import itertools
import math
from collections.abc import Callable
from typing import Any

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely.geometry import Point, Polygon

from patterns.errors import PatternError
from patterns.part import Part

Bench = Callable[..., Any]

PLAIN = '[[part]]\nname = "board"\nblank = { length = "300", width = "120" }\n'
INCH = 25.4

ROCKER = """
[[part]]
name = "rocker"
blank = { length = "17", width = "4" }
edges.bottom = { arch = "segmental", rise = "1 1/4", arch_to = "edge" }
edges.top = { points = [["0", "1 7/8"], ["1 1/2", "1 5/8"], ["3", "5/8"], ["4", "0"]], to = "4", mirror = true }
"""
APRON = """
[[part]]
name = "apron"
blank = { length = "42", width = "5" }
edges.bottom = { arch = "three-centred", rise = "2 1/4", arch_to = "inside", from = "4", to = "38" }
"""


def problem_of(bench: Bench, text: str) -> str:
    with pytest.raises(PatternError) as caught:
        bench(text)
    return "\n".join(str(problem) for problem in caught.value.problems)


def polygon_of(part: Part) -> Polygon:
    """The part for the independent geometry kernel, chords within a micrometre."""
    return Polygon(part.outline.boundary.flattened(1e-3), [hole.flattened(1e-3) for hole in part.outline.holes])


def assert_closed(part: Part) -> None:
    """Every stretch starts where the one before it ends, and the area is the other kernel's but for its chords."""
    for before, after in itertools.pairwise([*part.stretches, part.stretches[0]]):
        assert math.dist(before.curve.end, after.curve.start) < 1e-6
    assert polygon_of(part).is_valid
    assert part.outline.area == pytest.approx(polygon_of(part).area, abs=2.0)


# -------------------------------------------------------------------- the two of the file format's description


def test_the_rocker_has_a_blunt_tip_of_seven_eighths_and_a_seat_of_nine_inches(bench: Bench) -> None:
    part = bench(ROCKER, "in").part
    assert_closed(part)
    x0, y0, x1, y1 = part.outline.bounds
    assert (x0, y0, x1, y1) == pytest.approx((0, 0, 17 * INCH, 4 * INCH), abs=1e-3)
    lengths = {s.key: s.curve.length / INCH for s in part.stretches}
    assert lengths["edges.left"] == pytest.approx(7 / 8)
    assert lengths["edges.right"] == pytest.approx(7 / 8)
    assert lengths["edges.top/straight 1"] == pytest.approx(9)


def test_the_rockers_arc_has_the_radius_of_chord_and_rise(bench: Bench) -> None:
    """R = (c²/4 + h²) / 2h."""
    arc = next(s for s in bench(ROCKER, "in").part.stretches if s.kind == "arch")
    radius = (17**2 / 4 + 1.25**2) / 2.5 * INCH
    centre = np.array([17 * INCH / 2, radius])
    points = arc.curve.point(np.linspace(0, len(arc.curve), 200))
    np.testing.assert_allclose(np.hypot(*(points - centre).T), radius, atol=0.001)


def test_the_apron_stands_on_two_feet(bench: Bench) -> None:
    part = bench(APRON, "in").part
    assert_closed(part)
    feet = [s.curve.length / INCH for s in part.stretches if s.key.startswith("edges.bottom/straight")]
    assert feet == pytest.approx([4, 4])


@settings(max_examples=40, deadline=None)
@given(st.floats(0.2, 5.0), st.floats(10, 20), st.floats(3, 6))
def test_scaling_every_measurement_scales_the_part(bench: Bench, factor: float, rise: float, depth: float) -> None:
    def area(k: float) -> float:
        return float(
            bench(
                f'[[part]]\nname = "a"\nblank = {{ length = "{200 * k:.9f}", width = "{80 * k:.9f}" }}\n'
                f'edges.top = {{ arch = "ogee", rise = "{rise * k:.9f}" }}\n'
                f'edges.bottom = {{ points = [["0","0"],["{90 * k:.9f}","{depth * k:.9f}"],["{200 * k:.9f}","0"]] }}\n'
                f'corners.bottom_left = {{ round = "{4 * k:.9f}" }}\n'
            ).part.outline.area
        )

    assert area(factor) == pytest.approx(area(1.0) * factor**2, rel=1e-6)


# -------------------------------------------------------------------- cuts


def test_the_smaller_side_of_a_cut_falls_away(bench: Bench) -> None:
    part = bench(PLAIN + '[[part.cut]]\nfrom = ["right", "70"]\nto = ["top", "240"]').part
    assert_closed(part)
    assert part.outline.area == pytest.approx(300 * 120 - 60 * 50 / 2)


def test_waste_names_the_side_that_falls_away(bench: Bench) -> None:
    cut = '[[part.cut]]\nfrom = ["bottom", "100"]\nto = ["top", "100"]\n'
    assert bench(PLAIN + cut).part.outline.bounds == pytest.approx((100, 0, 300, 120))
    assert bench(PLAIN + cut + 'waste = "right"').part.outline.bounds == pytest.approx((0, 0, 100, 120))
    assert bench(PLAIN + cut + 'waste = "top_left"').part.outline.bounds == pytest.approx((100, 0, 300, 120))


def test_a_cut_passes_its_points_and_may_turn_upright(bench: Bench) -> None:
    points = [(120.0, 100.0), (60.0, 70.0), (100.0, 40.0)]
    rows = ", ".join(f'["{x}", "{y}"]' for x, y in points)
    part = bench(PLAIN + f'[[part.cut]]\nfrom = ["top", "60"]\nto = ["bottom", "150"]\npoints = [{rows}]').part
    assert_closed(part)
    cut = next(s for s in part.stretches if s.kind == "cut")
    boundary = polygon_of(part).exterior
    assert max(boundary.distance(Point(p)) for p in [*points, (60, 120), (150, 0)]) < 2e-3
    assert cut.key == "cut[0]"


def test_a_mirrored_cut_has_a_twin(bench: Bench) -> None:
    text = '[[part.cut]]\nfrom = ["left", "60"]\nto = ["bottom", "50"]\npoints = [["30", "40"]]\nmirror = true'
    part = bench(PLAIN + text).part
    assert_closed(part)
    assert part.outline.centroid[0] == pytest.approx(150, abs=1e-9)
    assert [s.key for s in part.stretches if s.kind == "cut"] == ["cut[0]", "cut[0]/mirror"]


def test_a_cut_may_start_on_a_swept_edge(bench: Bench) -> None:
    text = (
        'edges.top = { arch = "segmental", rise = "30" }\n[[part.cut]]\nfrom = ["top", "150"]\nto = ["bottom", "150"]'
    )
    part = bench(PLAIN + text).part
    whole = bench(PLAIN + 'edges.top = { arch = "segmental", rise = "30" }').part
    assert part.outline.area == pytest.approx(whole.outline.area / 2, rel=1e-7)


# -------------------------------------------------------------------- corners


@settings(max_examples=40, deadline=None)
@given(st.floats(1, 40), st.floats(-40, 60))
def test_a_rounded_corner_touches_both_sides(bench: Bench, radius: float, lean: float) -> None:
    """Against the independent kernel: what a ball of the same radius cannot reach is what is taken away."""
    blank = f'blank = {{ bottom = "200", top = "{200 + 2 * lean}", height = "150" }}'
    part = bench(f'[[part]]\nname = "a"\n{blank}\ncorners.bottom_left = {{ round = "{radius}" }}').part
    assert_closed(part)
    whole = Polygon(part.blank.vertices)
    opened = whole.buffer(-radius).buffer(radius, quad_segs=400)
    near = Point(0, 0).buffer(95)
    assert polygon_of(part).intersection(near).symmetric_difference(opened.intersection(near)).area < 0.05


def test_a_corner_is_rounded_where_an_arch_meets_the_side(bench: Bench) -> None:
    part = bench(PLAIN + 'edges.top = { arch = "segmental", rise = "25" }\ncorners.top_left = { round = "12" }').part
    assert_closed(part)
    k = next(k for k, s in enumerate(part.stretches) if s.key == "corners.top_left")
    before, arc, after = (part.stretches[n].curve for n in (k - 1, k, (k + 1) % len(part.stretches)))
    for first, second in ((before, arc), (arc, after)):
        a, b = first.derivative(len(first)), second.derivative(0.0)
        assert abs(a[0] * b[1] - a[1] * b[0]) / (np.hypot(*a) * np.hypot(*b)) < 1e-6


def test_an_inner_corner_is_filled(bench: Bench) -> None:
    vertices = '[["0","0"],["200","0"],["200","80"],["80","80"],["80","180"],["0","180"]]'
    part = bench(
        f'[[part]]\nname = "L"\nblank = {{ vertices = {vertices} }}\ncorners.corner_4 = {{ round = "30" }}'
    ).part
    assert part.outline.area - part.blank.outline.area == pytest.approx(30**2 * (1 - math.pi / 4), rel=1e-6)


def test_chamfer_and_notch_take_what_they_say(bench: Bench) -> None:
    part = bench(PLAIN + 'corners.top_right = { chamfer = "20" }\ncorners.bottom_right = { notch = ["10", "30"] }').part
    assert_closed(part)
    assert part.outline.area == pytest.approx(300 * 120 - 200 - 300)
    notch = next(s for s in part.stretches if s.key == "corners.bottom_right")
    assert notch.curve.point(1.0) == pytest.approx((270, 10))


# -------------------------------------------------------------------- holes


def test_holes_are_taken_off_the_area(bench: Bench) -> None:
    part = bench(
        PLAIN
        + '[[part.hole]]\ncircle = "30"\nat = ["60", "60"]\nmirror = true\n'
        + '[[part.hole]]\nelongated = { length = "50", width = "20", angle = "90" }\nat = ["150", "60"]\nmirror = true\n'
    ).part
    assert [hole.key for hole in part.holes] == ["hole[0]", "hole[0]/mirror", "hole[1]"]
    slot = 30 * 20 + math.pi * 100
    assert part.outline.area == pytest.approx(300 * 120 - 2 * math.pi * 225 - slot, rel=1e-7)
    x0, y0, x1, y1 = part.holes[2].curve.bounds
    assert (x1 - x0, y1 - y0) == pytest.approx((20, 50), abs=1e-3)


def test_a_closed_hole_passes_its_points(bench: Bench) -> None:
    points = [(100, 40), (160, 50), (180, 80), (120, 90)]
    rows = ", ".join(f'["{x}", "{y}"]' for x, y in points)
    hole = bench(PLAIN + f"[[part.hole]]\npoints = [{rows}]").part.holes[0]
    ring = Polygon(hole.curve.flattened(1e-4)).exterior
    assert max(ring.distance(Point(p)) for p in points) < 1e-3


# -------------------------------------------------------------------- what can't be


@pytest.mark.parametrize(
    ("text", "words"),
    [
        (
            '[[part.hole]]\ncircle = "30"\nat = ["10", "60"]',
            ("hole 1", "at [10, 60] cuts through the part's outline at 0 mm"),
        ),
        ('[[part.hole]]\ncircle = "30"\nat = ["2 * 200", "60"]', ("hole 1", "at [2 * 200, 60] is outside")),
        (
            'hole = [{ circle = "30", at = ["60","60"], name = "peg" }, { circle = "30", at = ["80","60"] }]',
            ('the hole "peg"', "overlaps", "at 70 mm"),
        ),
        (
            'hole = [{ circle = "60", at = ["60","60"] }, { circle = "10", at = ["60","60"] }]',
            ("hole 2", "in the same place"),
        ),
        ('[[part.hole]]\ncircle = "30"\nat = ["140", "60"]\nmirror = true', ("reflection", "overlaps")),
        ('corners.top_left = { round = "150" }', ("corners.top_left, round", "150 is larger", "120 mm is the most")),
        ('corners.top_left = { chamfer = "130" }', ("chamfer", "130 is larger", "120 mm is the most")),
        ('[[part.cut]]\nfrom = ["left", "130"]\nto = ["top", "50"]', ("cut 1", "130 is beyond the edge", "120 mm")),
        (
            '[[part.cut]]\nfrom = ["left", "60"]\nto = ["top", "50"]\npoints = [["30", "130"], ["60", "60"]]',
            ("cut 1", "runs into edges.top"),
        ),
        (
            'corners.top_left = { round = "10" }\n[[part.cut]]\nfrom = ["left", "60"]\nto = ["top", "50"]',
            ("corners.top_left", "has been cut away"),
        ),
    ],
)
def test_what_can_not_be_cut_is_refused_with_its_place(bench: Bench, text: str, words: tuple[str, ...]) -> None:
    message = problem_of(bench, PLAIN + text)
    assert [word for word in words if word not in message] == []


def test_a_part_of_twenty_metres_is_refused(bench: Bench) -> None:
    message = problem_of(bench, '[[part]]\nname = "a"\nblank = { length = "20000", width = "100" }')
    assert "is the unit right?" in message


@settings(max_examples=60, deadline=None)
@given(
    st.lists(st.floats(0, 70), min_size=2, max_size=6),
    st.sampled_from(["segmental", "elliptical", "three-centred", "pointed", "four-centred", "ogee"]),
    st.floats(5, 110),
    st.floats(1, 60),
)
def test_any_file_yields_a_sound_part_or_a_reason(
    bench: Bench, depths: list[float], arch: str, rise: float, radius: float
) -> None:
    rows = ", ".join(f'["{300 * k / (len(depths) - 1):.6f}", "{d:.6f}"]' for k, d in enumerate(depths))
    text = (
        PLAIN + f"edges.top = {{ points = [{rows}] }}\n"
        f'edges.bottom = {{ arch = "{arch}", rise = "{rise:.6f}", arch_to = "inside", from = "60", to = "200" }}\n'
        f'corners.bottom_right = {{ round = "{radius:.6f}" }}\n'
    )
    try:
        part = bench(text).part
    except PatternError as error:
        assert all(problem.place and problem.what for problem in error.problems)
        return
    assert_closed(part)
    x0, y0, x1, y1 = part.outline.bounds
    assert min(x0, y0) > -0.0011
    assert x1 < 300.0011
    assert y1 < 120.0011
