"""The meetings of two curves as a maker counts them: each contact once, at joints where it is at a joint."""

from __future__ import annotations

import numpy as np

from patterns.affine import Points
from patterns.curve import JOIN_MM, Curve
from patterns.meetings import ALONG_MM
from patterns.tangents import cross

SAME_RUN = 1e-3
"""Meetings further apart in parameter than this are never one contact."""


def at_joints(curve: Curve, t: Points) -> Points:
    """The parameters ``t``, those at a joint or an end within ``JOIN_MM`` set on it; a closed curve's last point is 0."""
    joint = np.round(t)
    there = np.abs(curve.point(t) - curve.point(joint)).max(axis=-1, initial=0.0) <= JOIN_MM
    result = np.where(there & (np.abs(t - joint) <= SAME_RUN), joint, t)
    return np.where(result == len(curve), 0.0, result) if curve.is_closed else result


def merged(curve: Curve, other: Curve, t: Points, u: Points) -> list[tuple[float, float]]:
    """The meetings (parameters on both curves) in order, each contact once, at its best place."""
    t, u = at_joints(curve, t), at_joints(other, u)
    groups: list[list[tuple[float, float]]] = []
    for x, y in sorted(zip(t.tolist(), u.tolist(), strict=True)):
        for group in reversed(groups):
            if any(_same_contact(curve, other, (x, y), known) for known in group):
                group.append((x, y))
                break
        else:
            groups.append([(x, y)])
    return sorted(min(group, key=lambda place: _doubt(curve, other, place)) for group in groups)


def _same_contact(curve: Curve, other: Curve, place: tuple[float, float], known: tuple[float, float]) -> bool:
    """Whether two meetings are one: at one point, or the curves touch all the way between."""
    t, u = place[0], place[1]
    dt, du = _way(curve, t, known[0]), _way(other, u, known[1])
    if abs(dt) > SAME_RUN or abs(du) > SAME_RUN:
        return False
    if np.abs(curve.point(t) - curve.point(known[0])).max() <= ALONG_MM:
        return True
    middle = (t + 0.5 * dt) % len(curve)
    gap, tangent = curve.point(middle) - other.point((u + 0.5 * du) % len(other)), curve.derivative(middle)
    return bool(abs(cross(gap, tangent)) <= 4.0 * JOIN_MM * np.hypot(*tangent))


def _way(curve: Curve, start: float, end: float) -> float:
    """How far it is from one parameter to another, over the seam where that is shorter."""
    way = end - start
    return way - len(curve) * round(way / len(curve)) if curve.is_closed else way


def _doubt(curve: Curve, other: Curve, place: tuple[float, float]) -> tuple[bool, float]:
    """Orders the candidates for one contact: joints first, then the smallest gap."""
    return not any(x.is_integer() for x in place), float(np.hypot(*(curve.point(place[0]) - other.point(place[1]))))
