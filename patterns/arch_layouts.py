"""How each usual arch is struck: the left half, from the springing (-span / 2, 0) up to the crown (0, rise).

A half is a run of arcs, each taking up where and in the direction in which the one before it ended, so that
they are tangent by construction. Lengths are mm, angles radians. Limits are checked by ``arches``, not here.
"""

from __future__ import annotations

import math

import numpy as np
from msgspec import Struct

from patterns.affine import Affine, Points
from patterns.curve import ARC_STEP, Curve

NO_TURN = 1e-12
"""An arc that turns less than this (radians) is left out: at a radius of a kilometre it is a nanometre long."""

TUDOR_END_RADIUS = 2.0 / 3.0
"""The usual end radius of a four-centred arch, as a part of its rise."""


class ArchRadius(Struct, frozen=True):
    """One radius of an arch: what it is called, the radius in mm, and its centre on the left half (x, y) in mm.

    The right half's centre is the mirror image; a centre on the middle line serves both halves. The axes of the
    arch have their origin at mid-span on the springing line.
    """

    name: str
    radius: float
    centre: tuple[float, float]


class Half(Struct, frozen=True):
    """The left half of an arch and the radii it is struck with."""

    curve: Curve
    radii: tuple[ArchRadius, ...]
    rule: str


class _Arc(Struct, frozen=True):
    """An arc by what the compass is set to and how far it swings (radians, positive to the left)."""

    name: str
    radius: float
    turn: float


# -------------------------------------------------------------------- the six arches


def segmental(half_span: float, rise: float) -> Half:
    """One arc: R = (c²/4 + h²) / (2h) (Machinery's Handbook, 31st ed., segments of circles)."""
    radius = (half_span**2 + rise**2) / (2.0 * rise)
    angle = 2.0 * math.atan2(rise, half_span)
    return _half(half_span, rise, angle, [_Arc("radius", radius, -angle)], "one arc of a circle")


def elliptical(half_span: float, rise: float) -> Half:
    """Half an ellipse: a quarter of the unit circle, stretched (an affine map takes its Béziers along exactly).

    The unit quarter is within 6.7e-8 of the circle (see ``curve.ARC_STEP``), so the stretched one is within that
    of the longer half axis: 0.0007 mm at a span of 20 m. The radii are those of curvature at the two axes.
    """
    quarter = Curve.arc((0.0, 0.0), 1.0, math.pi, math.pi / 2).transformed(Affine.scaling(half_span, rise))
    end, crown = rise**2 / half_span, half_span**2 / rise
    radii = (
        ArchRadius("end radius", end, (end - half_span, 0.0)),
        ArchRadius("crown radius", crown, (0.0, rise - crown)),
    )
    return Half(_pinned(quarter, half_span, rise), radii, "half an ellipse; the radii are those at its axes")


def three_centred(half_span: float, rise: float, end_radius: float | None) -> Half:
    """Two end arcs and a crown arc, tangent: R = (a² - 2ar + b²) / (2(b - r)), elementary geometry.

    Without an end radius: r = L(L - (a - b)) / (2a), L² = a² + b², the drafting rule that comes near an ellipse.
    It makes the end arc and the crown arc meet on the chord from springing to crown.
    """
    a, b = half_span, rise
    if math.isclose(a, b, rel_tol=1e-9):
        return _half(a, b, math.pi / 2, [_Arc("radius", a, -math.pi / 2)], "a semicircle: the rise is half the span")
    if end_radius is None:
        slant = math.hypot(a, b)
        r, big = slant * (slant - (a - b)) / (2.0 * a), slant * (slant + (a - b)) / (2.0 * b)
        rule = "three arcs, the end radius by the rule that comes near an ellipse"
    else:
        r, big = end_radius, (a * a - 2.0 * a * end_radius + b * b) / (2.0 * (b - end_radius))
        rule = "three arcs, the end radius as given"
    turn = math.atan2(big - b, a - r)
    arcs = [_Arc("end radius", r, -turn), _Arc("crown radius", big, turn - math.pi / 2)]
    return _half(a, b, math.pi / 2, arcs, rule)


def pointed(half_span: float, rise: float) -> Half:
    """Two arcs struck from the springing line: R = (c²/4 + h²) / c."""
    radius = (half_span**2 + rise**2) / (2.0 * half_span)
    turn = math.atan2(rise, radius - half_span)
    rule = "two arcs, their centres on the springing line"
    return _half(half_span, rise, math.pi / 2, [_Arc("radius", radius, -turn)], rule)


def four_centred(half_span: float, rise: float, end_radius: float | None) -> Half:
    """End arcs and crown arcs, tangent; the crown arcs leave the crown along a line to a point over the springing
    as high as the end radius.

    Without an end radius: two thirds of the rise, the carpenters' and masons' usual layout for a given span and
    rise (from memory, no source at hand). The crown radius is that of the circle that touches this line at the
    crown and the end circle inside.
    """
    usual = end_radius is None
    r = TUDOR_END_RADIUS * rise if end_radius is None else end_radius
    over = half_span - r
    apex_slope = math.atan2(rise - r, half_span)
    reach = rise * math.cos(apex_slope) - over * math.sin(apex_slope) - r
    big = (over**2 + rise**2 - r**2) / (2.0 * reach)
    turn = math.atan2(big * math.cos(apex_slope) - rise, big * math.sin(apex_slope) + over)
    share = "two thirds of the rise" if usual else "as given"
    rule = f"four arcs, the end radius {share}; the crown arcs aim at a point as high as that over the springing"
    return four_centred_by_turn(half_span, rise, r, turn, rule)


def four_centred_by_turn(half_span: float, rise: float, end_radius: float, turn: float, rule: str) -> Half:
    """The general four-centred arch: end arcs that turn by ``turn``, then crown arcs through the crown.

    With K = c/2 - r: R = r + (K² + h² - r²) / (2(r + K cos β - h sin β)), geometry of tangent arcs.
    """
    over = half_span - end_radius
    divisor = 2.0 * (end_radius + over * math.cos(turn) - rise * math.sin(turn))
    big = end_radius + (over**2 + rise**2 - end_radius**2) / divisor
    centre = (big - end_radius) * math.cos(turn) - over, -(big - end_radius) * math.sin(turn)
    left = math.atan2(rise - centre[1], centre[0]) - turn
    arcs = [_Arc("end radius", end_radius, -turn), _Arc("crown radius", big, -left)]
    return _half(half_span, rise, math.pi / 2, arcs, rule)


def ogee(half_span: float, rise: float, end_radius: float | None) -> Half:
    """A reverse curve between parallel tangents (as surveyors set out): r1 + r2 = d / (2 sin δ), d the chord.

    At rises of half the span and more the tangents are upright and δ = 90° less the chord's slope. Under that an
    upright end would dip on its way, so the ends lean just enough for the arcs to meet level (common practice,
    no source). The arcs meet on the chord, r1 / (r1 + r2) of the way up; without an end radius at its middle.
    """
    chord, slope = math.hypot(half_span, rise), math.atan2(rise, half_span)
    heading = min(math.pi / 2, 2.0 * slope)
    both = chord / (2.0 * math.sin(heading - slope))
    r = both / 2.0 if end_radius is None else end_radius
    turn = 2.0 * (heading - slope)
    arcs = [_Arc("end radius", r, -turn), _Arc("crown radius", both - r, turn)]
    ends = "upright at springing and crown" if heading == math.pi / 2 else "level where they meet"
    share = "equal radii" if end_radius is None else "the end radius as given"
    return _half(half_span, rise, heading, arcs, f"reversed arcs, {ends}, {share}")


def ogee_radii_sum(half_span: float, rise: float) -> float:
    """What the two radii of an ogee add up to, in mm."""
    radii = ogee(half_span, rise, None).radii
    return sum(each.radius for each in radii)


# -------------------------------------------------------------------- striking the arcs


def _half(half_span: float, rise: float, heading: float, arcs: list[_Arc], rule: str) -> Half:
    """Strikes the arcs one after another from the springing, starting in the direction ``heading``."""
    at: Points = np.array([-half_span, 0.0])
    curves, radii = [], []
    for arc in arcs:
        side = -1.0 if arc.turn < 0 else 1.0
        centre = at + side * arc.radius * np.array([-math.sin(heading), math.cos(heading)])
        radii.append(ArchRadius(arc.name, arc.radius, (float(centre[0]), float(centre[1]))))
        if abs(arc.turn) > NO_TURN:
            curves.append(_arc(at, heading, arc))
            at = curves[-1].end
        heading += arc.turn
    return Half(_pinned(Curve.chain(curves), half_span, rise), tuple(radii), rule)


def _arc(start: Points, heading: float, arc: _Arc) -> Curve:
    """The arc from a point on, by its chords: exact to rounding even where the centre is kilometres away.

    Handles are 4/3 tan(θ/4) of the radius (Goldapp, CAGD 8, 1991), pieces as in ``curve.ARC_STEP``.
    """
    pieces = max(1, math.ceil(abs(arc.turn) / ARC_STEP - 1e-12))
    turned = arc.turn * np.arange(pieces + 1) / pieces
    chords = 2.0 * arc.radius * np.sin(np.abs(turned) / 2.0)
    knots = start + chords[:, None] * _directions(heading + turned / 2.0)
    handles = 4.0 / 3.0 * math.tan(abs(arc.turn) / pieces / 4.0) * arc.radius * _directions(heading + turned)
    return Curve(np.stack([knots[:-1], knots[:-1] + handles[:-1], knots[1:] - handles[1:], knots[1:]], axis=1))


def _directions(angles: Points) -> Points:
    return np.stack([np.cos(angles), np.sin(angles)], axis=1)


def _pinned(curve: Curve, half_span: float, rise: float) -> Curve:
    """The half with its ends set exactly on springing and crown, off which rounding has left them."""
    array = curve.beziers.copy()
    array[0, 0], array[-1, 3] = (-half_span, 0.0), (0.0, rise)
    return Curve(array)
