"""Round-overs against the bits of a shop: a bearing that can't enter a hollow, or has nothing left to run on."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence

from patterns.blank import Edge
from patterns.boundary import Place, place_at_station, run_between
from patterns.curvature import corners
from patterns.curve import Curve
from patterns.display import Display
from patterns.errors import Problem
from patterns.part import Part
from patterns.piece import EdgeSpec, Given, RoundOverSpec
from patterns.shop import RoundOverBit, Shop
from patterns.stretch import Stretch
from patterns.tightest import SAME_RADIUS, tightest_of_each

SAME_BIT_MM = 0.4
"""A bit this near to the radius asked for is the one meant (about 1/64 in: 3 mm and 1/8 in). Common practice, no source."""

LEAST_FLAT_MM = 1.6
"""What must be left of an edge for a bearing to run on: 1/16 in. Common practice, no source."""

INSIDE_CORNER = math.radians(5)
"""A hollow break of the outline that turns by more than this stops a bearing."""


def round_over_warnings(part: Part, shop: Shop, display: Display) -> Iterator[Problem]:
    """Everything to warn of in the part's round-overs."""
    for edge_spec in part.spec.edges:
        rounded, edge = edge_spec.allowance.round_over, part.blank.edge(edge_spec.name)
        if rounded is None or edge is None:
            continue
        place = rounded.radius.place.removesuffix(", radius")
        yield from _off_edge(rounded, edge, display)
        yield from _thickness(part, rounded, place, display)
        bit = _bit_for(rounded.radius.value, shop)
        if bit is None:
            yield from _no_bit(rounded, place, shop, display)
            continue
        for curve in _rounded_curves(part, edge_spec, edge, rounded):
            yield from _bearing(curve, bit, place, display)


def _bit_for(radius_mm: float, shop: Shop) -> RoundOverBit | None:
    """Of the bits with that radius the one with the smallest bearing."""
    fit = [bit for bit in shop.round_over_bits if abs(bit.radius - radius_mm) <= SAME_BIT_MM]
    return min(fit, key=lambda bit: bit.bearing, default=None)


def _no_bit(rounded: RoundOverSpec, place: str, shop: Shop, display: Display) -> Iterator[Problem]:
    near = min(shop.round_over_bits, key=lambda bit: abs(bit.radius - rounded.radius.value), default=None)
    nearest = f"; the nearest is {near.written}" if near is not None else ""
    radius = display.length(rounded.radius.value)
    yield Problem(place, f"this shop has no round-over bit of {radius}{nearest}")


def _off_edge(rounded: RoundOverSpec, edge: Edge, display: Display) -> Iterator[Problem]:
    for given in (rounded.start, rounded.end):
        if given is not None and not -1e-6 <= given.value <= edge.length + 1e-6:
            what = f"{given.written} is not on the edge, which runs from 0 to {display.at_most(edge.length)}"
            yield Problem(given.place, what)


def _thickness(part: Part, rounded: RoundOverSpec, place: str, display: Display) -> Iterator[Problem]:
    thickness = part.spec.thickness
    if thickness is None:
        return
    count = 2 if rounded.faces == "both" else 1
    left = thickness.value - count * rounded.radius.value
    if left >= LEAST_FLAT_MM - 1e-9:
        return
    radius = display.length(rounded.radius.value)
    rounds = f"round-overs of {radius} on both faces" if count == 2 else f"a round-over of {radius}"
    rest = f"leave {display.length(left)}" if left > 1e-9 else "leave nothing"
    rest = rest if count == 2 else rest.replace("leave", "leaves", 1)
    yield Problem(
        place,
        f"{rounds} {rest} of the {display.length(thickness.value)} thickness for the bearing to run on; take a smaller "
        + ("radius, or round the second face by hand" if count == 2 else "radius, or guide the router by a template"),
    )


def _bearing(curve: Curve, bit: RoundOverBit, place: str, display: Display) -> Iterator[Problem]:
    """A hollow too tight for the bearing: a curve that turns right, or an inside corner."""
    tightest = tightest_of_each([curve])[0].get("right")
    bearing = f"the {display.length(bit.bearing)} bearing of the {bit.written} round-over bit"
    if tightest is not None and tightest.radius < bit.bearing / 2 * (1.0 - SAME_RADIUS):
        hollow = f"the hollow of radius {display.length(tightest.radius)} at {_point(tightest.at, display)}"
        yield Problem(place, f"{bearing} can't enter {hollow}; finish it by hand")
    for corner in corners(curve):
        if corner.turn < -INSIDE_CORNER:
            where = _point(corner.at, display)
            yield Problem(place, f"{bearing} can't enter the inside corner at {where}; finish it with a chisel")


def _point(point: Sequence[float], display: Display) -> str:
    return f"[{display.length(point[0])}, {display.length(point[1])}]"


# -------------------------------------------------------------------- the stretch that is rounded


def _rounded_curves(part: Part, spec: EdgeSpec, edge: Edge, rounded: RoundOverSpec) -> list[Curve]:
    """What is rounded of the edge's line, each unbroken run as one curve."""
    runs = _runs_of(part.stretches, spec.name)
    first, last = (rounded.start, rounded.end) if edge.forward else (rounded.end, rounded.start)
    return [Curve.chain(s.curve for s in run) for run in _limited(part, runs, spec.name, first, last) if run]


def _limited(
    part: Part, runs: list[list[int]], name: str, first: Given | None, last: Given | None
) -> list[list[Stretch]]:
    """The runs between two stations, in the boundary's direction; a station that is cut away limits nothing."""
    if not runs or (first is None and last is None):
        return [[part.stretches[k] for k in run] for run in runs]
    end = runs[-1][-1]
    start_place = _place(part, name, first) or Place(runs[0][0], 0.0)
    end_place = _place(part, name, last) or Place(end, float(len(part.stretches[end].curve)))
    between = run_between(part.stretches, start_place, end_place)
    return [[between[k] for k in run] for run in _runs_of(between, name, closed=False)]


def _place(part: Part, name: str, given: Given | None) -> Place | None:
    return None if given is None else place_at_station(part.stretches, part.blank, name, given.value)


def _runs_of(stretches: Sequence[Stretch], name: str, closed: bool = True) -> list[list[int]]:
    """The numbers of the stretches of an edge, in the boundary's direction, those that follow each other together."""
    count = len(stretches)
    away = next((k for k in range(count) if stretches[k].edge != name), 0) if closed else 0
    runs: list[list[int]] = []
    for k in ((away + step) % count for step in range(count)):
        if stretches[k].edge != name:
            continue
        if runs and (runs[-1][-1] + 1) % count == k:
            runs[-1].append(k)
        else:
            runs.append([k])
    return runs
