"""Parts of the opposite hand: the mirror image of a part, and whether the paper of the one serves for the other.

A part that is its own mirror image is alike for both hands. One whose lines can be taken from the back of its template,
round the outline and through pricked points, serves both: the template is turned over. Any other has a twin, with a pattern
of its own.
"""

from __future__ import annotations

import math
from collections.abc import Collection, Sequence
from typing import Literal

from msgspec import Struct
from msgspec.structs import replace

from patterns.affine import Affine
from patterns.blank import Blank, Edge
from patterns.boundary import outline_of
from patterns.display import Display
from patterns.errors import PatternError
from patterns.half import centre_line
from patterns.outline import Outline
from patterns.part import Board, GlueRun, Hole, Part, StationMark, Stretch
from patterns.pattern import Pattern
from patterns.piece import Given, MarkSpec, PartSpec

Way = Literal["alike", "turned over", "own pattern"]

TURN_OVER = "turn over for the other side"
OPPOSITE = "opposite hand"
MIRRORED = "mirrored"
_FROM_RIGHT, _FROM_END, _FROM_MIDDLE = " from right", " from end", " from middle"


class Hands(Struct, frozen=True):
    """How the two hands of a part are made: ``drawn`` of it as drawn, ``opposite`` of the other hand; ``reasons`` say why
    neither pattern serves both."""

    way: Way
    drawn: int
    opposite: int
    reasons: tuple[str, ...] = ()

    @property
    def words(self) -> str:
        """What the pattern says instead of how many to make."""
        if self.way == "alike":
            return f"make {self.drawn + self.opposite}: both hands are alike"
        if self.way == "turned over":
            return f"make {self.drawn + self.opposite}: {self.drawn} as drawn, {self.opposite} turned over"
        return f"make {self.drawn} of this hand"

    @property
    def told(self) -> str:
        """The same in a sentence, for a report."""
        if self.way == "own pattern":
            because = "; ".join(self.reasons)
            return f"{self.drawn} as drawn, {self.opposite} of the opposite hand, with a pattern of its own: {because}"
        if self.way == "alike":
            return f"{self.drawn} and {self.opposite}: both hands are alike, since the part is its own mirror image"
        return f"{self.drawn} as drawn, {self.opposite} of the opposite hand: {TURN_OVER}"


def hands_of(part: Part, patterns: Sequence[Pattern], display: Display) -> Hands | None:
    """How the hands of a part are made; None where it has none of the opposite hand. ``patterns`` are its drawings."""
    spec = part.spec
    if not spec.opposite_hand:
        return None
    drawn = spec.quantity - spec.opposite_hand
    if all(is_alike(pattern, display) for pattern in patterns):
        return Hands("alike", drawn, spec.opposite_hand)
    reasons = _unseen_from_behind(spec)
    return Hands("own pattern" if reasons else "turned over", drawn, spec.opposite_hand, reasons)


def is_alike(pattern: Pattern, display: Display) -> bool:
    """Whether a pattern is its own mirror image, with all that is drawn on it."""
    try:
        centre_line(pattern, display)
    except PatternError:
        return False
    return True


def _unseen_from_behind(spec: PartSpec) -> tuple[str, ...]:
    """What is drawn inside the outline and can't be taken from the back of a template: it is neither an edge nor a point."""
    found = []
    if any(mark.form == "line" for mark in spec.marks):
        found.append("it has lines to take over")
    if any(mark.form == "note" for mark in spec.marks):
        found.append("it has notes at certain points")
    return tuple(found)


def with_hands(patterns: Sequence[Pattern], hands: Hands) -> tuple[Pattern, ...]:
    """The drawings of a part as drawn, with what they say of its hands."""
    return tuple(replace(pattern, title_block=_titled(pattern.title_block, hands)) for pattern in patterns)


def _titled(lines: Sequence[str], hands: Hands) -> tuple[str, ...]:
    result = []
    for line in lines:
        result.append(hands.words if line.startswith("make ") else line)
        if line.startswith("make ") and hands.way == "turned over":
            result.append(TURN_OVER)
    return tuple(result)


def as_twin(pattern: Pattern, hands: Hands, part: str) -> Pattern:
    """A drawing of the twin: named as such, and how many of it there are."""
    lines = [
        f"make {hands.opposite} of this hand" if line.startswith("make ") else line for line in pattern.title_block
    ]
    return replace(pattern, part=part, title_block=tuple(lines))


# ---------------------------------------------------------------- the mirror image


def mirrored(part: Part, name: str, slug: str) -> Part:
    """The mirror image of a part in the upright line through the middle of its blank, under another name and slug.

    Everything keeps its place in the file, and every figure its value. What is said of where a station is counted from is
    true of the mirror image: a station on a bottom or top edge is then counted from the right.
    """
    over = Affine.reflection_x(part.blank.middle_x)
    blank = _blank(part.blank, over)
    stretches = _stretches(part.stretches, part.blank, over)
    holes = tuple(_hole(hole, over) for hole in part.holes)
    panel = part.spec.panel
    if panel is not None:
        panel = replace(panel, mirrored=not panel.mirrored)
    spec = replace(part.spec, marks=tuple(_mark(mark, over) for mark in part.spec.marks), panel=panel)
    return replace(
        part,
        spec=spec,
        name=name,
        slug=slug,
        blank=blank,
        outline=outline_of(stretches, [hole.curve for hole in holes]),
        stretches=stretches,
        holes=holes,
        grain=-part.grain % math.pi,
        glue=tuple(_run(run, over) for run in part.glue),
        boards=tuple(_board(board, part.blank, part.grain, over) for board in part.boards),
    )


def free_slug(slug: str, taken: Collection[str], ending: str) -> str:
    """A slug for the mirror image that no other pattern has."""
    found, number = f"{slug}-{ending.replace(' ', '-')}", 1
    while found in taken:
        number += 1
        found = f"{slug}-{ending.replace(' ', '-')}-{number}"
    return found


def _blank(blank: Blank, over: Affine) -> Blank:
    """The edges keep their names and where their stations start, so that what is said of them stays true."""
    first, *others = (
        Edge(one.name, over.point(*one.start), over.point(*one.end), not one.forward) for one in blank.edges
    )
    vertices = [over.point(*vertex) for vertex in blank.vertices]
    return Blank(blank.spec, (vertices[1], vertices[0], *reversed(vertices[2:])), (first, *reversed(others)))


def _stretches(stretches: Sequence[Stretch], blank: Blank, over: Affine) -> tuple[Stretch, ...]:
    """The boundary, counter-clockwise again."""
    found = []
    for stretch in reversed(stretches):
        image = stretch.transformed(over).turned_round()
        marks = tuple(_counted_anew(mark, stretch.edge, blank) for mark in reversed(image.marks))
        found.append(replace(image, marks=marks))
    return tuple(found)


def _counted_anew(mark: StationMark, edge: str, blank: Blank) -> StationMark:
    """The mark with words for a station that is counted from the other side of the drawing."""
    is_polygon = blank.spec.kind == "polygon"
    if mark.kind != "station" or _FROM_MIDDLE in mark.text or not (is_polygon or edge in ("bottom", "top")):
        return mark
    origin = _FROM_END if is_polygon else _FROM_RIGHT
    station, parted, rest = mark.text.partition(": ")
    if not parted:
        return mark
    words = station.removesuffix(origin) if station.endswith(origin) else station + origin
    return replace(mark, text=f"{words}: {rest}")


def _hole(hole: Hole, over: Affine) -> Hole:
    return Hole(hole.key, hole.spec, hole.curve.transformed(over).reversed(), over.point(*hole.centre))


def _run(run: GlueRun, over: Affine) -> GlueRun:
    """Its ends from left to right (bottom to top), as of every run."""
    start, end = sorted((over.point(*run.start), over.point(*run.end)))
    return GlueRun(run.key, start, end)


def _board(board: Board, blank: Blank, grain: float, over: Affine) -> Board:
    stretches = _stretches(board.stretches, blank, over)
    holes = tuple(_hole(hole, over) for hole in board.holes)
    low, high = board.strip
    if abs(math.cos(grain)) < 0.5:  # the boards stand beside one another: the strip is one of distances from the left
        low, high = over.point(high, 0.0)[0], over.point(low, 0.0)[0]
    outline = Outline(outline_of(stretches).boundary, tuple(curve.transformed(over) for curve in board.outline.holes))
    return Board(board.number, outline, stretches, holes, (low, high), tuple(_run(run, over) for run in board.glue))


def _mark(mark: MarkSpec, over: Affine) -> MarkSpec:
    points = tuple((_moved(x, over.point(x.value, y.value)[0]), y) for x, y in mark.points)
    return replace(mark, points=points)


def _moved(given: Given, value: float) -> Given:
    return replace(given, value=value)
