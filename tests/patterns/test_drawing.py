"""Drawings: what a maker finds on a pattern, and that it stays put while sizes change."""

from __future__ import annotations

import math
from collections.abc import Callable
from typing import Any

import numpy as np
import pytest
from shapely.affinity import rotate
from shapely.geometry import Point, Polygon, box

from patterns.crossings import nearest_to_each
from patterns.lettering import shape
from patterns.pattern import Label, Pattern, Role

Bench = Callable[..., Any]

FOOT = """
[[part]]
name = "foot board"
quantity = 3
thickness = "18"
wood = "ash"
blank = {{ bottom = "300", top = "340", height = "220" }}
edges.top = {{ arch = "segmental", rise = "{rise}" }}
edges.left = {{ leave = "1" }}
edges.right = {{ fit = true }}
edges.bottom = {{ round_over = {{ radius = "3", faces = "outside", from = "40", to = "260" }} }}
notes = ["Sand the top last."]
[[part.hole]]
circle = "30"
at = ["60", "110"]
mirror = true
[[part.mark]]
line = [["20", "40"], ["280", "40"]]
[[part.mark]]
note = "base"
at = ["150", "30"]
"""


def drawn(bench: Bench, rise: float = 40) -> Pattern:
    (pattern,) = bench(FOOT.format(rise=rise)).patterns()
    return pattern


def box_of(label: Label) -> Polygon:
    half = shape(label.text, label.height).width / 2, label.height / 2
    x, y = label.at
    return rotate(box(x - half[0], y - half[1], x + half[0], y + half[1]), math.degrees(label.angle), (x, y))


def test_the_cut_strokes_are_the_outline(bench: Bench) -> None:
    pattern = drawn(bench)
    cut = [stroke for stroke in pattern.strokes if stroke.role is Role.CUT]
    drawn_length = sum(stroke.curve.length for stroke in cut)
    assert drawn_length == pytest.approx(sum(curve.length for curve in pattern.outline.curves))
    assert {"edges.top", "edges.left", "edges.right", "edges.bottom", "hole[0]", "hole[0]/mirror"} == {
        s.key for s in cut
    }


def test_the_blank_is_drawn_only_where_the_cut_leaves_it(bench: Bench) -> None:
    pattern = drawn(bench)
    for stroke in pattern.strokes:
        if stroke.role is Role.BLANK:
            middle = stroke.curve.point(0.5)
            assert nearest_to_each(pattern.outline.boundary, middle)[1][0] > 0.05 or stroke.key == "blank.top"
    length = sum(s.curve.length for s in pattern.strokes if s.role is Role.BLANK)
    side = math.hypot(20, 220)
    assert length == pytest.approx(340 + 2 * side * 40 / 220)


def test_small_words_tell_the_blank_from_the_cut_line(bench: Bench) -> None:
    """They stand in the waste, close to a line of the blank and clear of the cut line; a few of them are enough."""
    for rise, most in ((60, 2), (4, 0)):
        pattern = drawn(bench, rise)
        notes = [label for label in pattern.labels if label.key.startswith("blank.note")]
        blank = [s.curve for s in pattern.strokes if s.role is Role.BLANK]
        assert len(notes) == most
        solid = Polygon(pattern.outline.boundary.flattened(0.01))
        for note in notes:
            assert (note.text, note.height) == ("do not cut", 2.5)
            assert box_of(note).distance(solid) > 0.5
            assert min(nearest_to_each(curve, np.array([note.at]))[1][0] for curve in blank) < 4


def test_a_board_that_keeps_its_blank_has_no_such_words(bench: Bench) -> None:
    plain = 'blank = { length = "200", width = "90" }\ncorners.top_left = { chamfer = "8" }'
    (pattern,) = bench(f'[[part]]\nname = "a"\n{plain}').patterns()
    assert "do not cut" not in [label.text for label in pattern.labels]


def test_a_note_points_with_a_small_cross_and_stands_beside_it(bench: Bench) -> None:
    plain = '[[part]]\nname = "a"\nblank = { length = "300", width = "200" }\n'
    note = '[[part.mark]]\nnote = "hook here"\nat = ["120", "80"]\n'
    for more, crosses in (("", 2), ('[[part.mark]]\ncentre = ["120", "80"]\n', 0)):
        (pattern,) = bench(plain + note + more).patterns()
        spot = [s.curve for s in pattern.strokes if s.key == "mark[0]"]
        assert [curve.point(0.5) == pytest.approx((120, 80)) for curve in spot] == [True] * crosses
        (label,) = [label for label in pattern.labels if label.key == "mark[0].text"]
        assert 0.5 < box_of(label).distance(Point(120, 80)) < 9
        assert label.text == "hook here"


def test_the_title_block_names_piece_part_face_number_wood_and_leaves_the_date(bench: Bench) -> None:
    lines = drawn(bench).title_block
    assert lines[:4] == ("Trial piece", "foot board", "outside face up", "make 3")
    assert lines[4].startswith("ash, 18 mm (")
    assert lines[5].startswith("date ___")
    assert drawn(bench).notes == ("Sand the top last.",)


def test_allowances_are_said_along_their_edges(bench: Bench) -> None:
    texts = {label.key: label.text for label in drawn(bench).labels}
    assert texts["edges.left.leave"] == "leave 1 mm outside the line"
    assert texts["edges.right.fit"] == "leave long, fit to the piece"
    assert texts["edges.bottom.round_over"] == "round over 3 mm, outside face between the ticks"
    ticks = [s.curve.start for s in drawn(bench).strokes if s.key.startswith("edges.bottom.round_over")]
    assert sorted(float(x) for x, _ in ticks) == pytest.approx([40, 260])


def test_the_blanks_dimensions_are_in_the_files_unit_first(bench: Bench) -> None:
    pattern = drawn(bench)
    texts = {d.key: d.text for d in pattern.dimensions}
    assert texts["dimension.bottom"].startswith("300 mm (")
    assert texts["dimension.height"].startswith("220 mm (")
    for dimension in pattern.dimensions:
        assert math.dist(dimension.start, dimension.end) == pytest.approx(float(dimension.text.split()[0]))


def test_figures_are_high_enough_and_words_do_not_cover_each_other(bench: Bench) -> None:
    labels = drawn(bench).labels
    assert {label.text for label in labels if label.height < 3.5} <= {"do not cut"}
    boxes = [box_of(label) for label in labels]
    assert all(not a.intersects(b) for k, a in enumerate(boxes) for b in boxes[:k])


def test_no_words_cross_the_cut_line(bench: Bench) -> None:
    pattern = drawn(bench)
    line = Polygon(pattern.outline.boundary.flattened(0.01)).exterior
    assert [label.text for label in pattern.labels if box_of(label).intersects(line)] == []


def test_springing_and_crown_have_ticks_on_the_curve(bench: Bench) -> None:
    pattern = drawn(bench)
    arch = next(s.curve for s in pattern.strokes if s.key == "edges.top")
    ticks = [s for s in pattern.strokes if s.key.startswith("edges.top.")]
    assert len(ticks) == 3
    assert max(nearest_to_each(arch, np.array([t.curve.start for t in ticks]))[1]) < 1e-6


def test_keys_stay_while_sizes_change_and_what_is_far_away_does_not_move(bench: Bench) -> None:
    low, high = drawn(bench, 30), drawn(bench, 60)
    keys = [{label.key for label in p.labels if not label.key.startswith("blank.note")} for p in (low, high)]
    assert keys[0] == keys[1]
    assert {stroke.key for stroke in low.strokes} == {stroke.key for stroke in high.strokes}
    still = ("dimension", "hole", "mark", "grain", "edges.bottom", "edges.left", "edges.right")
    places = [{k.key: (k.text, k.at) for k in p.labels if k.key.startswith(still)} for p in (low, high)]
    assert places[0] == places[1]


def test_a_drawing_that_mirrors_has_its_centre_line(bench: Bench) -> None:
    pattern = drawn(bench)
    assert pattern.symmetrical_about_x == 150.0
    centre = [s for s in pattern.strokes if s.key == "centre"]
    assert [float(s.curve.start[0]) for s in centre] == [150.0]
    (lopsided,) = bench(
        '[[part]]\nname = "a"\nblank = { length = "90", width = "50" }\ncorners.top_left = { round = "9" }'
    ).patterns()
    assert lopsided.symmetrical_about_x is None


@pytest.mark.parametrize(("grain", "angle"), [("along", 0.0), ("across", 90.0), ("30", 30.0), ("135", 135.0)])
def test_the_grain_arrow_lies_along_the_grain_inside_the_outline(bench: Bench, grain: str, angle: float) -> None:
    text = f'[[part]]\nname = "a"\nblank = {{ length = "300", width = "200" }}\ngrain = "{grain}"'
    (pattern,) = bench(text).patterns()
    assert math.degrees(pattern.grain) == pytest.approx(angle)
    arrow = next(s.curve for s in pattern.strokes if s.key == "grain")
    dx, dy = arrow.end - arrow.start
    assert math.degrees(math.atan2(dy, dx)) == pytest.approx(angle)
    assert pattern.outline.contains(np.array([arrow.start, arrow.end])).all()


@pytest.mark.parametrize("blank", ['{ length = "300", width = "200" }', '{ length = "90", width = "14" }'])
@pytest.mark.parametrize("grain", ["along", "across", "40"])
def test_the_word_grain_stays_with_its_arrow(bench: Bench, blank: str, grain: str) -> None:
    crowd = "".join(f'[[part.mark]]\nline = [["{5 * k}", "1"], ["{5 * k + 4}", "13"]]\n' for k in range(1, 17))
    for more in ("", crowd):
        (pattern,) = bench(f'[[part]]\nname = "a"\nblank = {blank}\ngrain = "{grain}"\n{more}').patterns()
        (label,) = [label for label in pattern.labels if label.key == "grain"]
        arrow = next(s.curve for s in pattern.strokes if s.key == "grain")
        assert nearest_to_each(arrow, np.array([label.at]))[1][0] < 5


def texts_of_stations(bench: Bench, edge: str, blank: str = '{ length = "400", width = "400" }') -> list[str]:
    """What is written at the stations, from left to right and from the bottom up."""
    (pattern,) = bench(f'[[part]]\nname = "a"\nblank = {blank}\n{edge}').patterns()
    labels = [label for label in pattern.labels if ".station" in label.key]
    return [label.text for label in sorted(labels, key=lambda label: (round(label.at[0] / 50), label.at[1]))]


def test_station_labels_say_what_the_table_says(bench: Bench) -> None:
    """A station of the reflected half says the end it is measured from: a rule laid at 0 would not find it."""
    edge = 'edges.top = { points = [["0","75"],["100","50"],["200","20"]], mirror = true }'
    assert texts_of_stations(bench, edge) == [
        "0 mm: 75 mm deep",
        "100 mm: 50 mm deep",
        "200 mm: 20 mm deep",
        "100 mm from right: 50 mm deep",
        "0 mm from right: 75 mm deep",
    ]


def test_a_depth_stands_alone_where_its_station_finds_no_room(bench: Bench) -> None:
    blank = '{ length = "400", width = "60" }'
    edge = 'edges.top = { points = [["0","44"],["100","9"]], mirror = true }'
    assert "44 mm deep" in texts_of_stations(bench, edge, blank)
    small = 'blank = { length = "60", width = "30" }\nedges.bottom = { arch = "segmental", rise = "6" }'
    crowded = f'[[part]]\nname = "a"\n{small}'
    assert "" not in [label.text for pattern in bench(crowded).patterns() for label in pattern.labels]


@pytest.mark.parametrize(
    ("edge", "words"),
    [
        ('bottom = { points = [["0","75"],["120","0"]], mirror = true }', ["120 mm from right: 0 mm", "75 mm deep"]),
        ('left = { points = [["0","75"],["120","0"]], mirror = true }', ["120 mm from top: 0 mm"]),
        ('top = { points = [["280","0"],["400","75"]], mirror = true }', ["400 mm from right: 75 mm deep"]),
        (
            'top = { points = [["200","6"],["300","20"],["400","75"]], mirror = true }',
            ["300 mm from right: 20 mm deep"],
        ),
        (
            'top = { heights = [["-200","350"],["0","390"]], stations_from = "middle", mirror = true }',
            ["200 mm from middle: 350 mm high", "0 mm from middle: 390 mm high"],
        ),
        (
            'top = { points = [["-150","20"],["0","9"],["150","30"]], stations_from = "middle" }',
            ["150 mm from middle: 30"],
        ),
    ],
)
def test_a_station_says_where_it_is_measured_from(bench: Bench, edge: str, words: list[str]) -> None:
    texts = "\n".join(texts_of_stations(bench, f"edges.{edge}"))
    assert [word for word in words if word not in texts] == []


def test_a_polygons_stations_are_measured_from_its_sides_ends(bench: Bench) -> None:
    blank = '{ vertices = [["0","0"],["400","0"],["400","300"],["0","300"]], edge_names = ["a","b","top","d"] }'
    edge = 'edges.top = { points = [["0","60"],["120","0"]], mirror = true }'
    assert texts_of_stations(bench, edge, blank)[:2] == ["0 mm from end: 60 mm deep", "120 mm from end: 0 mm deep"]


def test_two_parts_of_like_names_have_files_of_their_own(bench: Bench) -> None:
    plain = 'blank = { length = "90", width = "50" }\n'
    made = bench(f'[[part]]\nname = "leg 1"\n{plain}[[part]]\nname = "Leg: 2"\n{plain}')
    assert [made.patterns(k)[0].slug for k in (0, 1)] == ["leg-1", "leg-2"]
