"""Which angles of a piece the sizes of a class member alter: each of them is a machine set-up of the member's own."""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping

from msgspec import Struct

from cli import reportchanges
from cli.request import Job
from patterns.blank import Point
from patterns.part import Part
from patterns.stretch import Stretch
from patterns.wording import key_in_words

SAME_DEG = 1e-6
"""Lines whose directions differ by less lie alike: far below what any saw is set to, far above rounding."""

PARALLEL = 1e-6
"""The same for the sine between an edge's line and the blank's own edge."""

BY_HAND = ("face line", "edge line")
"""Angles of the settings that are for hand work, and follow from the others."""


class SetUp(Struct, frozen=True):
    """An angle (degrees) that a member's own sizes alter: its address, the part it is of, the file's own, the member's."""

    address: str
    part: str
    usual: float
    own: float


def set_ups(usual: Job, own: Job) -> tuple[SetUp, ...]:
    """The angles that differ: sizes that are angles, straight lines to saw, and what the reports say in degrees.

    A line that one of the two jobs alone has is left out: it is no angle that changed.
    """
    return (*_sizes(usual, own), *_lines(usual, own), *_reported(usual, own))


def _sizes(usual: Job, own: Job) -> Iterator[SetUp]:
    before = {size.name: size.value for size in usual.piece.sizes}
    for size in own.piece.sizes:
        if size.kind == "angle" and abs(size.value - before[size.name]) > math.radians(SAME_DEG):
            yield SetUp(size.name, "", math.degrees(before[size.name]), math.degrees(size.value))


def _lines(usual: Job, own: Job) -> Iterator[SetUp]:
    before = {part.name: angles_of(part) for part in usual.parts}
    for part in own.parts:
        if part.spec.panel is not None:
            continue  # its settings are told
        known = before.get(part.name, {})
        for address, angle in angles_of(part).items():
            turned = abs(math.remainder(angle - known.get(address, angle), 180.0))
            if turned > SAME_DEG:
                yield SetUp(address, part.name, known[address], angle)


def _reported(usual: Job, own: Job) -> Iterator[SetUp]:
    panels = {part.name for part in own.parts if part.spec.panel is not None}
    for one in reportchanges.changes(usual, own):
        told_else = one.report == "settings" and (one.part not in panels or one.address.endswith(BY_HAND))
        if told_else:
            continue
        if one.is_angle and isinstance(one.old, int | float) and isinstance(one.new, int | float):
            yield SetUp(one.address, one.part, float(one.old), float(one.new))


def angles_of(part: Part) -> Mapping[str, float]:
    """The angle of each straight line of the outline to the blank's first edge, in degrees from 0 up to 180.

    Lines along one edge of the blank are told once, by that edge; what runs along the first edge is left out.
    """
    base = part.blank.edges[0]
    found: dict[str, float] = {}
    for stretch in part.stretches:
        if stretch.kind == "step" or not stretch.curve.is_straight:
            continue
        edge = part.blank.edge(stretch.edge) if stretch.kind == "straight" else None
        direction = _direction(stretch)
        if edge is not None and (edge is base or abs(_sine(edge.direction, direction)) > PARALLEL):
            continue  # what is not parallel is a curve that runs straight on to its neighbour
        name = f"edges.{edge.name}" if edge is not None else key_in_words(stretch.key)
        angle = math.degrees(math.atan2(_sine(base.direction, direction), _cosine(base.direction, direction))) % 180.0
        found.setdefault(f"{name} to edges.{base.name}", angle)
    return found


def _direction(stretch: Stretch) -> Point:
    (x0, y0), (x1, y1) = stretch.curve.start, stretch.curve.end
    length = math.hypot(x1 - x0, y1 - y0)
    return float(x1 - x0) / length, float(y1 - y0) / length


def _sine(a: Point, b: Point) -> float:
    return a[0] * b[1] - a[1] * b[0]


def _cosine(a: Point, b: Point) -> float:
    return a[0] * b[0] + a[1] * b[1]
