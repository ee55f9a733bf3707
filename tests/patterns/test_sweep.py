"""Sweeps: curves that replace edges, where a rule laid on the board would find them."""

from __future__ import annotations

import math
import sys
from collections.abc import Callable
from typing import Any

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from patterns.crossings import at_x, nearest
from patterns.errors import PatternError
from patterns.part import Part

Bench = Callable[..., Any]

PLAIN = '[[part]]\nname = "board"\nblank = { length = "400", width = "120" }\n'


def depth_from_top(part: Part, station: float, width: float = 120.0) -> float:
    """How far a square laid on the top edge reaches down to the cut line."""
    curve = part.outline.boundary
    return width - max(float(curve.point(float(t))[1]) for t in at_x(curve, station))


def problem_of(bench: Bench, text: str) -> str:
    with pytest.raises(PatternError) as caught:
        bench(text)
    return "\n".join(str(problem) for problem in caught.value.problems)


# -------------------------------------------------------------------- tables


@settings(max_examples=40, deadline=None)
@given(st.lists(st.floats(0, 60), min_size=3, max_size=9))
def test_a_table_is_met_at_every_station(bench: Bench, depths: list[float]) -> None:
    """Each offset within 1e-6 mm, as long as the fair curve stays on the board."""
    stations = [400 * k / (len(depths) - 1) for k in range(len(depths))]
    rows = ", ".join(f'["{s}", "{d:.9f}"]' for s, d in zip(stations, depths, strict=True))
    try:
        part = bench(f"{PLAIN}edges.top = {{ points = [{rows}] }}").part
    except PatternError as error:
        assert all("leaves the blank" in problem.what for problem in error.problems)
        return
    curve = part.stretches[[s.key for s in part.stretches].index("edges.top")].curve
    for station, depth in zip(stations, depths, strict=True):
        assert nearest(curve, (station, 120 - round(depth, 9)))[1] < 1e-6


def test_heights_are_measured_from_the_opposite_edge(bench: Bench) -> None:
    by_depth = bench(PLAIN + 'edges.top = { points = [["0","20"],["150","35"],["400","5"]] }').part
    by_height = bench(PLAIN + 'edges.top = { heights = [["0","100"],["150","85"],["400","115"]] }').part
    np.testing.assert_allclose(by_depth.outline.boundary.beziers, by_height.outline.boundary.beziers, atol=1e-9)


def test_stations_may_be_counted_from_the_middle(bench: Bench) -> None:
    part = bench(
        PLAIN + 'edges.top = { points = [["-200","8"],["0","30"],["200","12"]], stations_from = "middle" }'
    ).part
    assert depth_from_top(part, 200) == pytest.approx(30, abs=1e-6)
    ends = [s.curve.length for s in part.stretches if s.edge in ("left", "right")]
    assert sorted(ends) == pytest.approx([108, 112])


def test_a_mirrored_half_that_reaches_the_middle_joins_smoothly(bench: Bench) -> None:
    rows = 'points = [["0","40"],["90","22"],["200","10"]]'
    part = bench(PLAIN + f"edges.top = {{ {rows}, mirror = true }}").part
    sweep = next(s for s in part.stretches if s.key == "edges.top")
    for station in (37.0, 90.0, 166.0):
        assert depth_from_top(part, station) == pytest.approx(depth_from_top(part, 400 - station), abs=1e-9)
    (t,) = at_x(sweep.curve, 200)
    left, right = (sweep.curve.derivative(float(t) + step) for step in (-1e-9, 1e-9))
    assert abs(left[1] / left[0]) < 1e-6
    assert abs(right[1] / right[0]) < 1e-6


def test_a_mirrored_half_that_stops_short_leaves_a_straight_between(bench: Bench) -> None:
    part = bench(
        PLAIN + 'edges.top = { points = [["0","40"],["60","10"],["120","0"]], to = "120", mirror = true }'
    ).part
    straight = next(s for s in part.stretches if s.key == "edges.top/straight 1")
    assert sorted([straight.curve.start[0], straight.curve.end[0]]) == pytest.approx([120, 280])
    twin = next(s for s in part.stretches if s.key == "edges.top/mirror")
    assert nearest(twin.curve, (340, 110))[1] < 1e-6


def test_clamped_ends_leave_level_and_given_ends_at_their_angle(bench: Bench) -> None:
    rows = 'points = [["0","10"],["200","40"],["400","10"]]'
    clamped = bench(PLAIN + f'edges.top = {{ {rows}, ends = "clamped" }}').part
    turned = bench(PLAIN + f'edges.top = {{ {rows}, ends = ["20", "-20"] }}').part
    for part, angle in ((clamped, 0.0), (turned, math.radians(20))):
        curve = next(s for s in part.stretches if s.key == "edges.top").curve
        dx, dy = curve.derivative(len(curve))
        assert math.atan2(dy, -dx) == pytest.approx(angle, abs=1e-9)


def test_a_table_that_starts_inside_the_edge_makes_a_shoulder(bench: Bench) -> None:
    """In the middle of an edge the step is square to it, and somebody is asked whether it was meant."""
    part = bench(PLAIN + 'edges.top = { points = [["100","15"],["200","30"],["300","0"]] }').part
    step = next(s for s in part.stretches if s.kind == "step")
    assert sorted([tuple(step.curve.start), tuple(step.curve.end)]) == [(100, 105), (100, 120)]
    assert "a step of 15 mm" in part.warnings[0].what


@pytest.mark.parametrize(
    ("edge", "words"),
    [
        (
            'points = [["100","15"],["300","0"]], from = "100", to = "300"',
            "stops 15 mm deep at 100 mm, short of the edge's end: a step of 15 mm",
        ),
        ('points = [["0","9"],["300","15"]]', "stops 15 mm deep at 300 mm"),
        ('points = [["0","9"],["150","4"]], mirror = true', "stops 4 mm deep at 150 mm and 250 mm"),
        (
            'points = [["-200","9"],["-50","4"]], mirror = true, stations_from = "middle"',
            "stops 4 mm deep at 50 mm from the middle, short",
        ),
        (
            'arch = "segmental", rise = "20", from = "100", to = "300"',
            "the arch springs 20 mm inside the edge at 100 mm and 300 mm: a step of 20 mm is cut there",
        ),
    ],
)
def test_a_sweep_that_ends_off_the_edge_is_told(bench: Bench, edge: str, words: str) -> None:
    (warning,) = bench(f"{PLAIN}edges.top = {{ {edge} }}").part.warnings
    assert warning.place == 'part "board", edges.top'
    assert words in warning.what


def test_neighbouring_sweeps_that_do_not_meet_are_told(bench: Bench) -> None:
    """Where a centre arch stands between a sweep and its reflection, both steps are told at once."""
    one, other = 'points = [["0","1"],["4","1/2"]]', 'points = [["4","3/4"],["16","0"]]'
    inches = '[[part]]\nname = "board"\nblank = { length = "16", width = "5" }\n'
    (warning,) = bench(f"{inches}edges.top = [{{ {one} }}, {{ {other} }}]", "in").part.warnings
    told = 'part "board", edges.top: between sweep 1 and sweep 2 a step of 1/4 in is cut at 4 in;'
    assert str(warning).startswith(told)
    one = 'points = [["0","20"],["100","10"]]'
    arch = 'arch = "segmental", rise = "30", from = "100", to = "300"'
    (warning,) = bench(f"{PLAIN}edges.top = [{{ {arch} }}, {{ {one}, mirror = true }}]").part.warnings
    assert "between sweep 1 and sweep 2 a step of 20 mm is cut at 100 mm and 300 mm" in warning.what


@pytest.mark.parametrize("depth", ["10", "10.01"])
def test_sweeps_that_meet_are_not_told(bench: Bench, depth: str) -> None:
    one, other = 'points = [["0","20"],["100","10"]]', f'points = [["100","{depth}"],["400","5"]]'
    assert bench(f"{PLAIN}edges.top = [{{ {one} }}, {{ {other} }}]").part.warnings == ()
    assert bench(PLAIN + 'edges.top = { points = [["0","20"],["100","0"]], mirror = true }').part.warnings == ()


MISREAD = [(20 * k, 40 - 30 * math.sin(math.pi * k / 20) + (4 if k == 6 else 0)) for k in range(11)]
"""Half of a crown, measured every 20 mm; the reading at 120 is 4 mm out."""


@pytest.mark.parametrize("mirror", [True, False])
@pytest.mark.parametrize("given", ["left", "right", "middle"])
def test_a_misread_reading_is_a_warning_told_once(bench: Bench, mirror: bool, given: str) -> None:
    width = 400 if mirror else 200
    rows = MISREAD if given != "right" or not mirror else [(400 - s, d) for s, d in reversed(MISREAD)]
    origin = width / 2 if given == "middle" else 0
    more = (', stations_from = "middle"' if given == "middle" else "") + (", mirror = true" if mirror else "")
    text = ", ".join(f'["{s - origin:g}", "{d:.1f}"]' for s, d in rows)
    board = f'[[part]]\nname = "board"\nblank = {{ length = "{width}", width = "120" }}\n'
    (warning,) = bench(f'{board}edges.top = {{ measured = [{text}], within = "0.3"{more} }}').part.warnings
    number = 5 if given == "right" and mirror else 7
    station = next(s for s, d in rows if d > 18 and f"{d:.1f}" == "19.7") - origin
    assert f"edges.top, measured, point {number}, " in warning.place
    assert warning.what.startswith(f"19.7 at {station:g} looks misread: its neighbours ask for 16 mm;")


def test_a_measured_table_is_met_within_its_tolerance(bench: Bench) -> None:
    noisy = [(40 * k, 30 * math.sin(math.pi * k / 10) + (0.4 if k % 2 else -0.4) + 5) for k in range(11)]
    rows = ", ".join(f'["{s}", "{d:.4f}"]' for s, d in noisy)
    part = bench(PLAIN + f'edges.top = {{ measured = [{rows}], within = "0.6" }}').part
    assert max(abs(depth_from_top(part, min(max(s, 1e-6), 400 - 1e-6)) - d) for s, d in noisy) <= 0.6 + 1e-4
    assert next(s for s in part.stretches if s.key == "edges.top").fitted is not None


# -------------------------------------------------------------------- arches


def test_an_arch_to_the_edge_touches_it_and_springs_its_rise_inside(bench: Bench) -> None:
    part = bench(PLAIN + 'edges.top = { arch = "segmental", rise = "30" }').part
    assert depth_from_top(part, 200) == pytest.approx(0, abs=1e-3)
    sides = [s.curve.length for s in part.stretches if s.edge in ("left", "right")]
    assert sides == pytest.approx([90, 90])


def test_an_arch_inside_springs_from_the_edge_and_is_cut_its_rise_deep(bench: Bench) -> None:
    text = PLAIN + 'edges.bottom = { arch = "elliptical", rise = "45", arch_to = "inside", from = "50", to = "350" }'
    curve = bench(text).part.outline.boundary
    for station, rise in ((200, 45), (275, 45 * math.sqrt(0.75))):
        lowest = min(float(curve.point(float(t))[1]) for t in at_x(curve, station))
        assert lowest == pytest.approx(rise, abs=1e-3)


@settings(max_examples=30, deadline=None)
@given(st.floats(-30, 60), st.floats(10, 50))
def test_on_a_sloping_blank_the_springing_meets_the_sides(bench: Bench, lean: float, rise: float) -> None:
    """The arch is as wide as the board is at the springing, and the sides keep their slope."""
    top = 300 + 2 * lean
    blank = f'blank = {{ bottom = "300", top = "{top}", height = "200" }}'
    part = bench(f'[[part]]\nname = "head"\n{blank}\nedges.top = {{ arch = "segmental", rise = "{rise}" }}').part
    arch = next(s for s in part.stretches if s.kind == "arch")
    assert arch.span == pytest.approx(300 + 2 * lean * (200 - rise) / 200)
    left = next(s for s in part.stretches if s.edge == "left").curve
    slope = (left.start - left.end) / math.dist(left.start, left.end)
    assert slope == pytest.approx(np.array([-lean, 200]) / math.hypot(lean, 200), abs=1e-9)


def test_a_radius_gives_the_same_arch_as_its_rise_between_sloping_sides(bench: Bench) -> None:
    blank = '[[part]]\nname = "head"\nblank = { bottom = "300", top = "360", height = "200" }\n'
    by_rise = bench(blank + 'edges.top = { arch = "segmental", rise = "40" }').part
    arch = next(s for s in by_rise.stretches if s.kind == "arch").arch
    by_radius = bench(blank + f'edges.top = {{ arch = "segmental", radius = "{arch.radii[0].radius:.9f}" }}').part
    assert by_radius.outline.area == pytest.approx(by_rise.outline.area, rel=1e-8)


# -------------------------------------------------------------------- what can't be


@pytest.mark.parametrize(
    ("edges", "words"),
    [
        (
            'edges.top = { arch = "segmental", rise = "250" }',
            ("edges.top, rise", "250 is more than half", "200 mm is the most"),
        ),
        (
            'edges.top = { arch = "elliptical", rise = "130" }',
            ("edges.top, rise", "130 is too much: the curve leaves the blank by 10 mm", "past the bottom edge"),
        ),
        (
            'edges.top = { arch = "segmental", rise = "5", from = "50", to = "450" }',
            ("edges.top, to", "450 is beyond", "400 mm"),
        ),
        ('edges.top = { points = [["0","5"],["401","2"]] }', ("station", "401 is beyond")),
        (
            'edges.top = { points = [["0","20"],["100","0"],["140","0"],["400","60"]] }',
            ("edges.top", "leaves the blank by", "at station"),
        ),
        (
            'edges.top = { heights = [["0","121"],["400","100"]] }',
            ("height", "121 is 1 mm above the edge", "120 mm is the most"),
        ),
        (
            'edges.top = { points = [["0","130"],["150","5"]], to = "150", mirror = true }',
            ("edges.top, points, point 1, depth: 130 is too much: the curve leaves the blank by 10 mm",),
        ),
        (
            'edges.top = [{ arch = "ogee", rise = "125", to = "200" }, { arch = "segmental", rise = "1", from = "300" }]',
            ("edges.top, sweep 1, rise: 125 is too much",),
        ),
        ('edges.top = { points = [["0","5"],["250","2"]], mirror = true }', ("past the middle", "200 mm")),
        ('edges.top = { points = [["0","5"],["100","2"]], to = "150" }', ("edges.top, to", "the table ends at 100")),
        (
            'edges.top = [{ points = [["0","5"],["100","0"]] }, { points = [["90","0"],["200","5"]] }]',
            ("sweep 2", "overlap from 90 mm to 100 mm"),
        ),
        (
            'edges.top = { points = [["0","80"],["200","90"],["400","80"]] }\n'
            'edges.bottom = { points = [["0","10"],["200","50"],["400","10"]] }',
            ("crosses itself", "edges.bottom and edges.top"),
        ),
    ],
)
def test_an_impossible_sweep_is_refused_with_its_place(bench: Bench, edges: str, words: tuple[str, ...]) -> None:
    message = problem_of(bench, PLAIN + edges)
    assert [word for word in words if word not in message] == []


def test_a_mirrored_sweep_that_leaves_the_blank_is_told_once(bench: Bench) -> None:
    message = problem_of(bench, PLAIN + 'edges.top = { points = [["0","130"],["150","5"]], to = "150", mirror = true }')
    assert message.count("leaves the blank") == 1


ROCKING = '[[part]]\nname = "board"\nblank = { length = "17", width = "4" }\n'


@pytest.mark.parametrize(
    ("edge", "words"),
    [
        (
            'points = [["0","1 3/4"],["3","0"],["6","1"]]',
            (
                "edges.top: between the points [3, 0] and [6, 1] the smooth curve swings past them and leaves the blank",
                "by less than 1/32 in (0.4 mm) past the top edge at station 3 9/32 in",
                'give a point more there, or take ends = "clamped", or let the table lie deeper',
            ),
        ),
        (
            'points = [["0","1 3/4"],["3","0"],["4 1/4","0"]], to = "4 1/4", mirror = true, ends = "clamped"',
            ("between the points [3, 0] and [4 1/4, 0]", "~1/16 in past the top edge", "there, or let the table lie"),
        ),
        (
            'points = [["13","0"],["14","0"],["17","1 3/4"]], from = "13", mirror = true',
            ("between the points [13, 0] and [14, 0]", "at station ~13 19/32 in"),
        ),
        (
            'points = [["0","1"],["3","3 3/4"],["6","3 3/4"],["17","1"]]',
            (
                "between the points [3, 3 3/4] and [6, 3 3/4]",
                "past the bottom edge at station 4",
                "make the blank larger",
            ),
        ),
        (
            'heights = [["0","3"],["3","4"],["6","3 3/4"],["17","1"]]',
            ("[3, 4] and [6, 3 3/4]", "make the blank larger"),
        ),
        (
            'measured = [["0","1 3/4"],["3","4"],["6","4"],["17","1"]], within = "1/16"',
            ("between the readings [3, 4] and [6, 4]", "past the bottom edge"),
        ),
    ],
)
def test_a_smooth_curve_that_swings_out_is_told_with_points_cause_and_remedy(
    bench: Bench, edge: str, words: tuple[str, ...]
) -> None:
    with pytest.raises(PatternError) as caught:
        bench(f"{ROCKING}edges.top = {{ {edge} }}", "in")
    message = str(caught.value)
    assert [word for word in words if word not in message] == []
    assert len(caught.value.problems) == 1


def test_a_point_that_lies_outside_is_told_itself(bench: Bench) -> None:
    message = problem_of(bench, PLAIN + 'edges.bottom = { points = [["0","50"],["200","130"],["400","0"]] }')
    assert "edges.bottom, points, point 2, depth: the point [200, 130] lies outside" in message
    assert "11 mm past the top edge" in message


def test_a_measured_curve_does_not_leave_its_board_for_the_tolerances_sake(bench: Bench) -> None:
    """The crown lies on the edge at two readings; the smoothest curve within 1/16 would swing past it between them."""
    rows = '[["0","1 3/4"],["6","0"],["9","0"],["17","2"]]'
    part = bench(f'{ROCKING}edges.top = {{ measured = {rows}, within = "1/16" }}', "in").part
    assert part.outline.bounds[3] <= 4 * 25.4 + 0.001
    fitted = next(s.fitted for s in part.stretches if s.fitted)
    assert 0 < fitted.largest_deviation <= 25.4 / 16


def test_heights_are_refused_on_a_polygon(bench: Bench) -> None:
    blank = 'blank = { vertices = [["0","0"],["300","0"],["100","200"]] }'
    message = problem_of(
        bench, f'[[part]]\nname = "a"\n{blank}\nedges.edge_1 = {{ heights = [["0","1"],["300","5"]] }}'
    )
    assert "polygon" in message
    assert "give depths" in message


def test_every_mistake_of_a_part_is_told_at_once(bench: Bench) -> None:
    message = problem_of(
        bench,
        PLAIN
        + 'edges.top = { arch = "segmental", rise = "250" }\nedges.bottom = { points = [["0","1"],["500","1"]] }\n'
        + 'hole = [{ points = [["10","10"],["20","10"],["20","30"]] }]\n',
    )
    assert message.count("\n") == 1


def test_building_without_a_measured_table_never_loads_scipy() -> None:
    import subprocess

    code = (
        "import sys; from patterns.patternfile import load, PatternSource; from patterns.part import build;"
        "from patterns.display import Display; from patterns.drawing import patterns_of; import patterns.svg;"
        't=\'curvewright = 1\\ntitle = "t"\\nunits = "mm"\\n[[part]]\\nname = "a"\\n'
        'blank = { length = "400", width = "100" }\\nedges.top = { arch = "ogee", rise = "30" }\\n\';'
        "p = load(PatternSource(t, 't')).piece; d = Display('mm');"
        "patterns.svg.svg_text(patterns_of(build(p.parts[0], d), p, None, d)[0]);"
        "sys.exit('scipy' in sys.modules)"
    )
    assert subprocess.run([sys.executable, "-c", code], check=False).returncode == 0
