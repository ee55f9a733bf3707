"""Whether what is cut into a panel leaves its joints whole, and what looks weak in it."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence

import numpy as np

from patterns.blank import Blank, Edge
from patterns.carcass.innerface import inner_face
from patterns.carcass.panel import EndJoint, Panel
from patterns.display import Display
from patterns.errors import Problem
from patterns.gluelines import axis_of
from patterns.outline import Outline
from patterns.piece import PartSpec
from patterns.sketch import moved
from patterns.stretch import Hole, Stretch

MOST_GAP_MM = 25.4 / 64
"""A wider gap at fingers shows. Common practice, no source."""

LEAST_STEP_MM = 0.2
ALMOST_MM = 0.01
"""A curve that begins where a joint ends leaves it whole."""
LOOKED_AT = 24


def joint_problems(
    spec: PartSpec, panel: Panel, stretches: Sequence[Stretch], outline: Outline, blank: Blank, display: Display
) -> list[Problem]:
    """What eats into the joints: along each of them the whole thickness of the neighbour has to be wood."""
    found = []
    for joint in panel.joints:
        edge = blank.edge(joint.edge)
        if edge is None:
            continue
        reach = straight_from_bottom(stretches, edge)
        needed = min(joint.height, edge.length)  # tips that stand proud reach a little less high under a sloping top
        if reach < needed - ALMOST_MM:
            found.append(
                Problem(
                    f"{spec.place}, edges.{joint.edge}",
                    f"what is cut out here eats the joint with the {joint.other}: {display.at_least(needed)} of the "
                    f"edge have to stay straight, and {display.at_most(max(reach, 0.0))} do",
                )
            )
        elif (eaten := _eaten(joint, edge, panel, outline, blank)) is not None:
            place = display.length(eaten)
            found.append(
                Problem(
                    f"{spec.place}, edges.{joint.edge}",
                    f"a hole or a cut eats the joint with the {joint.other}, {place} up; keep it out of the strip where "
                    "the two boards overlap",
                )
            )
    return found


def straight_from_bottom(stretches: Sequence[Stretch], edge: Edge) -> float:
    """How far up from the bottom the edge is the straight one of the blank (mm)."""
    runs = []
    for stretch in stretches:
        if stretch.edge == edge.name and stretch.kind == "straight":
            ends = [edge.from_part.point(float(x), float(y))[0] for x, y in (stretch.curve.start, stretch.curve.end)]
            runs.append((min(ends), max(ends)))
    reach = 0.0
    low = edge.start[1] <= edge.end[1]
    for start, end in sorted(runs, reverse=not low):
        near, far = (start, end) if low else (edge.length - end, edge.length - start)
        if near > reach + ALMOST_MM:
            break
        reach = max(reach, far)
    return reach


def _eaten(joint: EndJoint, edge: Edge, panel: Panel, outline: Outline, blank: Blank) -> float | None:
    """How far up the first place is where the joint's strip is not wood, None where it is whole."""
    deep = _depth(joint, panel)
    if deep <= 0.0:
        return None
    places = np.linspace(0.02, 0.98, LOOKED_AT) * joint.height
    up = edge.start[1] <= edge.end[1]
    points = [
        moved(moved(edge.start, edge.direction, place if up else edge.length - place), edge.inward, share * deep)
        for place in places
        for share in (0.1, 0.5, 0.9)
    ]
    missing = np.flatnonzero(blank.outline.contains(np.array(points)) & ~outline.contains(np.array(points)))
    return float(places[int(missing[0]) // 3]) if len(missing) else None


def _depth(joint: EndJoint, panel: Panel) -> float:
    """How wide the strip is in which the boards overlap (mm), measured on the outside face."""
    if joint.comb is not None or (joint.is_long and joint.kind in ("butt", "rabbet")):
        return panel.board.thickness
    return 0.0


def panel_warnings(
    spec: PartSpec,
    panel: Panel,
    stretches: Sequence[Stretch],
    holes: Sequence[Hole],
    grain: float,
    display: Display,
) -> Iterator[Problem]:
    """Steps on the inside face, gaps of square fingers, grain that runs along a joint."""
    if not panel.mirrored:
        for step in inner_face(panel, stretches).steps:
            if step.amount >= LEAST_STEP_MM:
                x, y = (display.length(v) for v in step.at)
                yield Problem(
                    spec.place,
                    f"at [{x}, {y}] a curve that is cut square meets a bevelled edge: the inside face has a step of "
                    f"{display.amount(step.amount)} there; ease it by hand, or cut the edge square (bevels)",
                )
    yield from _glue_through_holes(spec, holes)
    for joint in panel.joints:
        if joint.comb is None:
            continue
        if joint.cut == "square" and joint.gap > MOST_GAP_MM:
            yield Problem(
                f"{spec.place}, edges.{joint.edge}",
                f"on a square jig the slope leaves a gap of {display.amount(joint.gap)} at the roots of the fingers, more "
                'than 1/64 in; cut them with the stock tilted (cut = "tilted")',
            )
        if abs(math.cos(grain)) < 0.5:
            yield Problem(
                f"{spec.place}, grain",
                f"the grain runs along the fingers of the {joint.edge} edge, which then break off; turn it into them",
            )


def _glue_through_holes(spec: PartSpec, holes: Sequence[Hole]) -> Iterator[Problem]:
    """Glue lines that a hole is cut through."""
    axis = axis_of(spec)
    for number, line in enumerate(spec.glue_lines):
        for hole in holes:
            low, high = hole.curve.bounds[axis], hole.curve.bounds[axis + 2]
            if low < line.value < high:
                name = hole.spec.name or "a hole"
                yield Problem(
                    line.place,
                    f"glue line {number + 1}, {line.written}, runs through {name}: the joint is weak there; move the one or "
                    "the other",
                )
