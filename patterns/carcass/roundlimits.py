"""How far a round-over runs along a wall's edge: it stops before the fingers of a corner and before the roof's seat."""

from __future__ import annotations

from collections.abc import Sequence

from msgspec.structs import replace

from patterns.carcass.panel import EndJoint
from patterns.piece import BlankSpec, EdgeSpec, Given, RoundOverSpec

SPARE_MM = 3.0
"""From where the cutter leaves the edge to what must stay square. Common practice, no source."""


def limited(
    edges: Sequence[EdgeSpec], blank: BlankSpec, joints: Sequence[EndJoint], thickness: float
) -> tuple[EdgeSpec, ...]:
    """The edges with a start and an end for each round-over whose file gives none, where the edge ends at something that
    must stay square."""
    return tuple(_limited(edge, blank, joints, thickness) for edge in edges)


def _limited(edge: EdgeSpec, blank: BlankSpec, joints: Sequence[EndJoint], thickness: float) -> EdgeSpec:
    rounded = edge.allowance.round_over
    if rounded is None or edge.name not in blank.edge_names:
        return edge
    number = blank.edge_names.index(edge.name)
    count = len(blank.edge_names)
    before, after = blank.edge_names[number - 1], blank.edge_names[(number + 1) % count]
    runs_back = blank.kind != "polygon" and edge.name not in ("bottom", "right")
    first, last = (after, before) if runs_back else (before, after)
    clear = [_clear(name, joints, thickness, rounded) for name in (first, last)]
    if clear == [0.0, 0.0]:
        return edge
    (x0, y0), (x1, y1) = blank.vertices[number], blank.vertices[(number + 1) % count]
    length = ((x1 - x0) ** 2 + (y1 - y0) ** 2) ** 0.5
    start, end = rounded.start, rounded.end
    if start is None and clear[0]:
        start = _given(clear[0], edge)
    if end is None and clear[1]:
        end = _given(length - clear[1], edge)
    stopped = replace(rounded, start=start, end=end)
    return replace(edge, allowance=replace(edge.allowance, round_over=stopped))


def _clear(beside: str, joints: Sequence[EndJoint], thickness: float, rounded: RoundOverSpec) -> float:
    """How far from an end of the edge the cutter has to stop, by what is there."""
    joint = next((one for one in joints if one.edge == beside), None)
    if joint is not None and joint.comb is not None:
        return thickness + joint.proud + rounded.radius.value + SPARE_MM
    return rounded.radius.value + SPARE_MM if beside == "roof" else 0.0


def _given(value: float, edge: EdgeSpec) -> Given:
    return Given(value, f"{value:.1f} mm", edge.place)
