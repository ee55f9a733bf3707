"""From a part to its pattern: every line a maker cuts to or measures from, with words beside it."""

from __future__ import annotations

import math
from collections.abc import Collection, Sequence
from types import ModuleType
from typing import TYPE_CHECKING

from patterns.allowances import draw_allowances
from patterns.biscuits import draw_biscuits
from patterns.blanklines import ON_EDGE_MM, blank_lines, board_ends, draw_blank, draw_blank_notes
from patterns.boards import wood_bounds
from patterns.curve import Curve
from patterns.dimensions import draw_dimensions
from patterns.display import Display
from patterns.gluemarks import (
    draw_glue_edge_words,
    draw_glue_lines,
    draw_glue_words,
    draw_reference_edges,
    draw_reference_words,
)
from patterns.grainarrow import draw_grain
from patterns.holemarks import draw_hole_centres, draw_hole_words, draw_mark_words, draw_marks
from patterns.outline import Outline
from patterns.part import Board, Hole, Part, Stretch
from patterns.pattern import Behind, Pattern, Role
from patterns.piece import Piece
from patterns.seamfree import hole_centres, is_tight, joints, tight_places
from patterns.shop import Shop
from patterns.sketch import Sketch
from patterns.slug import slugs
from patterns.stationmarks import Around, draw_station_marks
from patterns.symmetry import mirror_line
from patterns.tightest import tightest_of_each

if TYPE_CHECKING:
    from patterns.carcass.shown import Shown

DATE = "date ________"


def patterns_of(part: Part, piece: Piece, shop: Shop, display: Display) -> tuple[Pattern, ...]:
    """The drawings of a part: one, or one for each of its boards where these are cut out before they are glued up.

    ``shop`` is what the part is made in; no figure of it is drawn unless the pattern file asks for it.
    """
    names = [spec.name for spec in piece.parts]
    taken = slugs(names)
    slug = taken[names.index(part.name)] if part.name in names else part.slug
    if not part.boards:
        return (_whole(part, piece, slug, display),)
    ticks = _ticks(part)
    return tuple(_board(part, board, piece, _board_slug(slug, board, taken), display, ticks) for board in part.boards)


def _shown(part: Part, board: Board | None = None, axis: int = 1) -> Shown | None:
    """What is drawn of a carcass's panel; None where the part is none."""
    if part.spec.panel is None:
        return None
    from patterns.carcass.shown import shown

    return shown(part, board, axis)


def _behind(part: Part) -> tuple[Behind, ...]:
    """What a panel has behind its outline."""
    if part.spec.panel is None:
        return ()
    from patterns.carcass.behind import behind  # late: few pieces have panels

    return behind(part, part.spec.panel)


def panelmarks() -> ModuleType:
    """What draws the panels of a carcass: late, since few pieces have any."""
    from patterns.carcass import panelmarks

    return panelmarks


def _board_slug(slug: str, board: Board, taken: Collection[str]) -> str:
    """A name of the board's own, also where another part is called "back board 1"."""
    found = f"{slug}-board-{board.number}"
    while found in taken:
        found = f"{found}-of-{slug}"
    return found


def _whole(part: Part, piece: Piece, slug: str, display: Display) -> Pattern:
    sketch = Sketch()
    _draw_outline(sketch, part.stretches, part.holes)
    lines = blank_lines(part.blank, part.stretches)
    draw_blank(sketch, lines)
    dimensions = draw_dimensions(sketch, part.blank, display)
    middle = mirror_line(part.outline, part.blank.middle_x)
    if middle is not None:
        _, y0, _, y1 = part.blank.bounds
        sketch.line(Role.CENTRE, (middle, y0), (middle, y1), "centre")
    draw_glue_lines(sketch, part.glue)
    draw_biscuits(sketch, part.glue, part.spec)
    draw_hole_centres(sketch, part.holes)
    draw_marks(sketch, part.spec.marks)
    panel = _shown(part)
    if panel is not None:
        panelmarks().draw_panel(sketch, panel, display)
    draw_glue_words(sketch, part.glue, display)
    draw_hole_words(sketch, part.holes, part.outline, display)
    draw_mark_words(sketch, part.spec.marks)
    draw_grain(sketch, part.outline, part.blank.bounds, part.grain)
    draw_allowances(sketch, part.spec.edges, part.stretches, part.blank, display)
    draw_station_marks(sketch, part.stretches, Around(part.blank.outline, part.outline.centroid))
    draw_blank_notes(sketch, lines, part.blank.outline, part.outline)
    if panel is not None:
        panelmarks().draw_panel_sketches(sketch, panel)
    return Pattern(
        part.name,
        slug,
        part.name,
        part.outline,
        tuple(sketch.strokes),
        tuple(sketch.labels),
        _title_block(part, piece, part.name, display),
        part.grain,
        part.spec.notes,
        dimensions,
        middle,
        hole_centres(part.holes),
        joints(part.glue),
        tight_places(part.stretches, part.tightest),
        _behind(part),
    )


def _board(part: Part, board: Board, piece: Piece, slug: str, display: Display, ticks: dict[float, float]) -> Pattern:
    name = f"{part.name}, board {board.number} of {len(part.boards)}"
    axis = 0 if abs(math.cos(part.grain)) < 0.5 else 1
    sketch = Sketch()
    room = wood_bounds(part.spec, part.blank)
    wood = _wood(board, room, axis)
    shaped = [stretch for stretch in board.stretches if stretch.kind != "glue"]
    _draw_outline(sketch, board.stretches, board.holes)
    lines = board_ends(board, room, axis)
    draw_blank(sketch, lines)
    middle = mirror_line(board.outline, part.blank.middle_x)
    if middle is not None:
        _, y0, _, y1 = board.outline.bounds
        sketch.line(Role.CENTRE, (middle, y0), (middle, y1), "centre")
    draw_hole_centres(sketch, board.holes)
    panel = _shown(part, board, axis)
    if panel is not None:
        panelmarks().draw_panel(sketch, panel, display)
    draw_biscuits(sketch, board.glue, part.spec)
    draw_reference_edges(sketch, board, room, axis, ticks)
    for run in board.glue:
        side = 1 if run.start[axis] <= board.strip[0] + ON_EDGE_MM else -1
        draw_glue_edge_words(sketch, run, display, side if axis else -side)
    draw_reference_words(sketch, board, axis, ticks)
    draw_hole_words(sketch, board.holes, board.outline, display)
    draw_grain(sketch, board.outline, wood.bounds, part.grain)
    draw_allowances(sketch, part.spec.edges, shaped, part.blank, display)
    draw_station_marks(sketch, shaped, Around(wood, board.outline.centroid))
    draw_blank_notes(sketch, lines, wood, board.outline)
    if panel is not None:
        panelmarks().draw_panel_sketches(sketch, panel)
    return Pattern(
        name,
        slug,
        part.name,
        board.outline,
        tuple(sketch.strokes),
        tuple(sketch.labels),
        _title_block(part, piece, name, display),
        part.grain,
        part.spec.notes,
        (),
        middle,
        hole_centres(board.holes),
        joints(board.glue),
        _tight_places(part, shaped),
        _behind(part),
    )


def _tight_places(part: Part, shaped: Sequence[Stretch]) -> tuple[tuple[float, float], ...]:
    """Those of a board's stretches; pieces of curves that are gentle in the whole part need not be looked at."""
    whole = list(zip((_origin(stretch) for stretch in part.stretches), part.tightest, strict=True))
    gentle = {origin for origin, _ in whole} - {origin for origin, radii in whole if is_tight(radii)}
    some = [stretch for stretch in shaped if _origin(stretch) not in gentle]
    return tight_places(some, tightest_of_each([stretch.curve for stretch in some]))


def _origin(stretch: Stretch) -> str:
    """The edge, cut or hole that a stretch is a piece of."""
    return stretch.key.split("/")[0]


def _title_block(part: Part, piece: Piece, name: str, display: Display) -> tuple[str, ...]:
    spec = part.spec
    thickness = f"{display.both(spec.thickness.value)} thick" if spec.thickness is not None else ""
    material = ", ".join(words for words in (spec.wood, thickness) if words)
    lines = (piece.title, name, "outside face up", f"make {spec.quantity}", material, DATE)
    return tuple(line for line in lines if line)


# -------------------------------------------------------------------- lines


def _draw_outline(sketch: Sketch, stretches: Sequence[Stretch], holes: Sequence[Hole]) -> None:
    for stretch in stretches:
        sketch.stroke(Role.CUT, stretch.curve, stretch.key)
    for hole in holes:
        sketch.stroke(Role.CUT, hole.curve, hole.key)


def _wood(board: Board, room: tuple[float, float, float, float], axis: int) -> Outline:
    """The straight board as it is before it is cut."""
    low, high = room[1 - axis], room[3 - axis]
    near, far = board.strip
    corners = [(low, near), (high, near), (high, far), (low, far)]
    return Outline(Curve.polyline([(a, b) if axis else (b, a) for a, b in corners], closed=True))


def _ticks(part: Part) -> dict[float, float]:
    """Where the tick of each straight edge of the boards is: half-way along the longest glue run, or the blank."""
    axis = 0 if abs(math.cos(part.grain)) < 0.5 else 1
    low, high = part.blank.bounds[1 - axis], part.blank.bounds[3 - axis]
    ticks = {level: (low + high) / 2 for board in part.boards for level in board.strip}
    for level in ticks:
        runs = [run for run in part.glue if abs(run.start[axis] - level) <= ON_EDGE_MM]
        if runs:
            longest = max(runs, key=lambda run: run.length)
            ticks[level] = (longest.start[1 - axis] + longest.end[1 - axis]) / 2
    return ticks
