"""Glue lines with their lengths, and the straight edges that lay a pattern on its board."""

from __future__ import annotations

import math
from collections.abc import Sequence

from patterns.display import Display
from patterns.freespace import Point
from patterns.pattern import Role
from patterns.sketch import Place, Sketch, text_width
from patterns.stretch import Board, GlueRun

TICK_MM = 6.0
"""Half of a tick across a board's straight edge: two boards laid tick to tick are in place."""
AWAY_MM = 4.5
"""From a line to the middle of the words along it."""


def draw_glue_lines(sketch: Sketch, runs: Sequence[GlueRun]) -> None:
    """Each glue line, where it runs through the wood."""
    for run in runs:
        sketch.line(Role.GLUE, run.start, run.end, run.key)


def draw_glue_words(sketch: Sketch, runs: Sequence[GlueRun], display: Display) -> None:
    """Each glue line's length; the words stand above it (left of it) or else below."""
    for run in runs:
        text = f"glue line, {display.both(run.length)}"
        sketch.label(f"{run.key}.length", text, _places(run, text, 1) + _places(run, text, -1))


def draw_glue_edge_words(sketch: Sketch, run: GlueRun, display: Display, side: int) -> None:
    """What is to be done with an edge that will be glued, and its length: above it (left of it), below for ``side`` = -1.

    Shorter words where the edge is short.
    """
    own, both = display.length(run.length), display.both(run.length)
    first = "glue line, joint this edge straight first"
    texts = [text for text in (f"{first}, {both}", f"{first}, {own}") if text_width(text) + 4.0 <= run.length]
    for text in texts:
        if sketch.label(f"{run.key}.length", text, _places(run, text, side), needed=False):
            return
    text = f"glue line, {both}"
    sketch.label(f"{run.key}.length", text, _places(run, text, side))


def _places(run: GlueRun, text: str, side: int) -> list[Place]:
    """Along the line, one row away from it and then two; not beyond its ends where the words are shorter than it."""
    upright = abs(run.end[0] - run.start[0]) < abs(run.end[1] - run.start[1])
    room = min(text_width(text) / 2 + 2.0, run.length / 2)
    places: list[Place] = []
    for step in (side * AWAY_MM, 2 * side * AWAY_MM):
        for share in (0.25, 0.75, 0.5, 0.4, 0.6):
            along = min(max(share * run.length, room), run.length - room)
            x, y = run.start
            at = (x - step, y + along) if upright else (x + along, y + step)
            places.append((at, math.pi / 2 if upright else 0.0))
    return places


def draw_reference_edges(
    sketch: Sketch, board: Board, room: tuple[float, float, float, float], axis: int, ticks: dict[float, float]
) -> None:
    """The board's two straight edges over the whole length of its wood, each with its tick.

    ``axis`` is the coordinate that is the same all along them; ``ticks`` gives the place of the tick on each edge, the
    same for the two boards that meet there.
    """
    low, high = room[1 - axis], room[3 - axis]
    for number, level in enumerate(board.strip):
        key = f"reference[{number}]"
        for piece in _beyond(board, level, axis, low, high):
            sketch.line(Role.REFERENCE, _point(piece[0], level, axis), _point(piece[1], level, axis), key)
        at = ticks[level]
        sketch.line(Role.REFERENCE, _point(at, level - TICK_MM, axis), _point(at, level + TICK_MM, axis), f"{key}.tick")


def draw_reference_words(sketch: Sketch, board: Board, axis: int, ticks: dict[float, float]) -> None:
    """What the straight edges are for, beside their ticks."""
    text = "board's straight edge, tick to tick"
    for number, level in enumerate(board.strip):
        at = ticks[level]
        inward = AWAY_MM if number == 0 else -AWAY_MM
        half = text_width(text) / 2 + 4.0
        places = [
            (_point(at + aside, level + step, axis), 0.0 if axis else math.pi / 2)
            for step in (inward, 2 * inward, 3 * inward, -inward)
            for aside in (half, -half)
        ]
        sketch.label(f"reference[{number}].words", text, places)


def _point(along: float, level: float, axis: int) -> Point:
    return (along, level) if axis else (level, along)


def _beyond(board: Board, level: float, axis: int, low: float, high: float) -> list[tuple[float, float]]:
    """The parts of a straight edge that are not drawn yet as glue line or cut line."""
    covered = [
        (float(stretch.curve.start[1 - axis]), float(stretch.curve.end[1 - axis]))
        for stretch in board.stretches
        if stretch.curve.is_straight
        and abs(float(stretch.curve.start[axis]) - level) < 1e-6
        and abs(float(stretch.curve.end[axis]) - level) < 1e-6
    ]
    return uncovered(low, high, covered)


def uncovered(low: float, high: float, covered: Sequence[tuple[float, float]]) -> list[tuple[float, float]]:
    """What of the range from ``low`` to ``high`` none of the ranges covers."""
    free, here = [], low
    for a, b in sorted((min(pair), max(pair)) for pair in covered):
        a, b = min(a, high), min(b, high)
        if a - here > 1e-6:
            free.append((here, a))
        here = max(here, b)
    if high - here > 1e-6:
        free.append((here, high))
    return free
