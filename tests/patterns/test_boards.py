"""Boards cut out before they are glued up: together they are the part, and they meet along their glue lines."""

from __future__ import annotations

import itertools
import math
import re
from collections.abc import Callable
from typing import Any

import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st
from shapely.geometry import Polygon, box

from patterns.errors import PatternError
from patterns.outline import Outline
from patterns.pattern import Role
from patterns.svg import svg_text

Bench = Callable[..., Any]

HEAD = """
[[part]]
name = "head board"
quantity = 1
thickness = "22"
wood = "oak"
blank = { length = "700", width = "480" }
edges.top = { arch = "elliptical", rise = "200" }
edges.bottom = { arch = "segmental", rise = "70", arch_to = "inside", from = "120", to = "580" }
shape = "before glue"
"""
HOLE = '[[part.hole]]\ncircle = "60"\nat = ["350", "{y}"]\n'


def polygon_of(outline: Outline) -> Polygon:
    return Polygon(outline.boundary.flattened(1e-3), [hole.flattened(1e-3) for hole in outline.holes])


@settings(max_examples=40, deadline=None)
@example([100.0, 102.0], 130.0)  # the hole touches a glue line from above
@example([100.0, 160.0], 130.0)  # and two of them
@given(st.lists(st.floats(20, 460), min_size=1, max_size=3), st.floats(130, 300))
def test_the_boards_together_are_the_part(bench: Bench, lines: list[float], hole_y: float) -> None:
    """Each board is what an independent kernel leaves of the part between two glue lines (chords: 2 mm² are theirs)."""
    lines = sorted(round(y, 4) for y in lines)
    if any(b - a < 2 for a, b in itertools.pairwise(lines)):
        return
    given_lines = ", ".join(f'"{y}"' for y in lines)
    part = bench(HEAD + f"glue_lines = [{given_lines}]\n" + HOLE.format(y=round(hole_y, 4))).part
    assert sum(board.outline.area for board in part.boards) == pytest.approx(part.outline.area, rel=1e-9)
    whole = polygon_of(part.outline)
    for low, high in itertools.pairwise([0, *lines, 480]):
        mine = [board for board in part.boards if board.strip == pytest.approx((low, high))]
        strip = whole.intersection(box(-1, low, 701, high))
        assert sum(board.outline.area for board in mine) == pytest.approx(strip.area, abs=2.0)
        assert len(mine) == len(getattr(strip, "geoms", [strip]))


def test_lengths_along_the_glue_line_agree_on_both_boards(bench: Bench) -> None:
    part = bench(HEAD + 'glue_lines = ["200", "380"]').part
    lower, middle, upper = part.boards
    assert [run.length for run in lower.glue] == pytest.approx([700])
    assert {run.key: run.length for run in middle.glue} == pytest.approx(
        {**{r.key: r.length for r in lower.glue}, **{r.key: r.length for r in upper.glue}}
    )
    half = 350 * math.sqrt(1 - (100 / 200) ** 2)
    assert upper.glue[0].length == pytest.approx(2 * half, abs=0.002)


def test_a_glue_line_through_the_feet_yields_a_piece_of_wood_for_each(bench: Bench) -> None:
    part = bench(HEAD + 'glue_lines = ["50"]').part
    assert len(part.boards) == 3
    left, right, upper = part.boards
    assert left.outline.bounds[2] < right.outline.bounds[0]
    assert len(upper.glue) == 2
    assert [board.number for board in part.boards] == [1, 2, 3]


def test_a_hole_on_a_glue_line_is_cut_half_from_each_board(bench: Bench) -> None:
    part = bench(HEAD + 'glue_lines = ["200"]\n' + HOLE.format(y=200)).part
    assert [len(board.holes) for board in part.boards] == [0, 0]
    assert len(part.glue) == 2
    assert sum(run.length for run in part.glue) == pytest.approx(640, abs=1e-3)


def test_glue_lines_run_across_with_the_grain(bench: Bench) -> None:
    text = '[[part]]\nname = "a"\nblank = { length = "300", width = "100" }\ngrain = "across"\nshape = "before glue"\n'
    part = bench(text + 'glue_lines = ["120"]\nedges.top = { arch = "segmental", rise = "20" }').part
    left, right = part.boards
    assert left.glue[0].start[1] < left.glue[0].end[1]
    assert right.glue[0].start == pytest.approx(left.glue[0].start)
    assert left.outline.bounds[2] == pytest.approx(120)
    assert right.outline.bounds[0] == pytest.approx(120)
    assert left.outline.area + right.outline.area == pytest.approx(part.outline.area)


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ('glue_lines = ["500"]', ("glue line 1", "500", "from 1 mm to 479 mm")),
        ('glue_lines = ["200"]\ngrain = "30"', ("grain", "30", "along or across")),
    ],
)
def test_a_glue_line_that_can_not_be_is_refused(bench: Bench, text: str, words: tuple[str, ...]) -> None:
    with pytest.raises(PatternError) as caught:
        bench(HEAD + text)
    assert [word for word in words if word not in str(caught.value)] == []


def test_each_board_has_a_drawing_with_straight_edges_and_ticks_that_meet(bench: Bench) -> None:
    found = bench(HEAD + 'glue_lines = ["200", "380"]').patterns()
    assert [pattern.slug for pattern in found] == [f"head-board-board-{k}" for k in (1, 2, 3)]
    assert [pattern.title_block[1] for pattern in found] == [f"head board, board {k} of 3" for k in (1, 2, 3)]
    ticks = []
    for pattern in found:
        reference = [s for s in pattern.strokes if s.role is Role.REFERENCE]
        ticks.append({tuple(s.curve.point(0.5).round(6)) for s in reference if s.key.endswith(".tick")})
        assert len(ticks[-1]) == 2
        assert pattern.grain == 0.0
    assert len(ticks[0] & ticks[1]) == 1
    assert len(ticks[1] & ticks[2]) == 1


@pytest.mark.parametrize("hole_y", [150, 200])
def test_a_boards_cut_line_is_closed_along_its_glue_lines(bench: Bench, hole_y: float) -> None:
    """The paper is cut out there too: scissors, and programs that read the drawing, go round the whole board."""
    found = bench(HEAD + 'glue_lines = ["200", "380"]\n' + HOLE.format(y=hole_y))
    for board, pattern in zip(found.part.boards, found.patterns(), strict=True):
        cut = [s.curve for s in pattern.strokes if s.role is Role.CUT]
        assert sum(curve.length for curve in cut) == pytest.approx(sum(c.length for c in board.outline.curves))
        assert [s for s in pattern.strokes if s.role is Role.GLUE] == []
        (path,) = re.findall(r'<path [^>]*id="cut-[^>]*>', svg_text(pattern))
        assert path.count("M") == path.count("Z") == 1 + len(board.holes)


def test_a_glue_edge_says_what_to_do_first_where_there_is_room(bench: Bench) -> None:
    lower, upper = bench(HEAD.replace('"580"', '"600"') + 'glue_lines = ["200"]').patterns()
    for pattern in (lower, upper):
        (label,) = [label for label in pattern.labels if label.key.startswith("glue")]
        assert label.text == "glue line, joint this edge straight first, 700 mm (27 9/16 in)"
        assert abs(label.at[1] - 200) < 10
        assert (label.at[1] < 200) == (pattern is lower)
    feet = bench(HEAD.replace('from = "120"', 'from = "20"') + 'glue_lines = ["20"]').patterns()
    (label,) = [label for label in feet[0].labels if label.key.startswith("glue")]
    assert re.match(r"glue line, ~?\d", label.text)


def test_every_board_has_the_parts_notes(bench: Bench) -> None:
    found = bench(HEAD + 'glue_lines = ["200", "380"]\nnotes = ["Joint first.", "Then saw."]').patterns()
    assert [pattern.notes for pattern in found] == [("Joint first.", "Then saw.")] * 3


def test_a_part_glued_up_first_is_one_drawing_with_its_glue_lines(bench: Bench) -> None:
    (pattern,) = bench(HEAD.replace('"before glue"', '"whole"') + 'glue_lines = ["200"]').patterns()
    assert [s.key for s in pattern.strokes if s.role is Role.GLUE] == ["glue[0]"]
    assert "glue line, 700 mm" in "\n".join(label.text for label in pattern.labels)
