"""Boards as solids of an independent library (manifold3d), put together from what is on paper: a flat outline, a thickness
and the tilts of the edges. Nothing here asks the product for a plane."""

from __future__ import annotations

import math
from collections.abc import Sequence

import manifold3d
import numpy as np
from numpy.typing import NDArray

Reals = NDArray[np.float64]
Solid = manifold3d.Manifold


def inside_corners(outline: Sequence[Sequence[float]], thickness: float, tilts: Sequence[float]) -> Reals:
    """The corners of the inside face: each edge of the outside one moved outwards by thickness x tan(tilt), in the plane of
    the drawing, and met with its neighbours. Edge k runs from corner k to the next, counter-clockwise."""
    corners = np.asarray(outline, dtype=float)
    along = np.roll(corners, -1, axis=0) - corners
    along /= np.linalg.norm(along, axis=1)[:, None]
    out = np.stack([along[:, 1], -along[:, 0]], axis=1)
    offsets = (out * corners).sum(axis=1) + thickness * np.tan(tilts)
    found = []
    for k in range(len(corners)):
        pair = np.array([out[k - 1], out[k]])
        found.append(np.linalg.solve(pair, [offsets[k - 1], offsets[k]]))
    return np.array(found)


def flat_solid(outline: Sequence[Sequence[float]], inside: Reals, thickness: float) -> Solid:
    """The board lying on its inside face: x and y as drawn, the outside face at z = 0, the inside one below it."""
    return prism(np.c_[np.asarray(outline), np.zeros(len(outline))], np.c_[inside, np.full(len(inside), -thickness)])


def prism(outside: Reals, inside: Reals) -> Solid:
    """A solid between two faces with as many corners each, counter-clockwise seen from the outside face."""
    n = len(outside)
    flat_out, flat_in = _flat(outside), _flat(inside)
    upper = np.asarray(manifold3d.triangulate([flat_out]))
    lower = np.asarray(manifold3d.triangulate([flat_in]))
    faces = [*(upper + n), *lower[:, ::-1]]
    for k in range(n):
        j = (k + 1) % n
        faces += [np.array([k, j, n + j]), np.array([k, n + j, n + k])]
    mesh = manifold3d.Mesh64(vert_properties=np.vstack([inside, outside]), tri_verts=np.array(faces, dtype=np.uint64))
    solid = manifold3d.Manifold(mesh)
    assert solid.status() == manifold3d.Error.NoError, solid.status()
    return solid


def _flat(points: Reals) -> Reals:
    """Points of one plane, in coordinates of that plane that keep the sense of turning."""
    normal = np.zeros(3)
    for a, b in zip(points, np.roll(points, -1, axis=0), strict=True):
        normal += np.cross(a, b)
    normal /= np.linalg.norm(normal)
    x = points[1] - points[0]
    x /= np.linalg.norm(x)
    return np.stack([points @ x, points @ np.cross(normal, x)], axis=1)


def placed(points: Reals, at: Reals, yaw: float, lean: float) -> Reals:
    """Points of a board (x, y on its outside face, z out of it) put upright: its bottom edge level with (0, 0) at ``at``,
    its outside facing ``yaw`` (radians from x) and leaning outwards by ``lean``."""
    x = np.array([-math.sin(yaw), math.cos(yaw), 0.0])
    out = np.array([math.cos(yaw), math.sin(yaw), 0.0])
    y = np.array([0.0, 0.0, math.cos(lean)]) + out * math.sin(lean)
    z = out * math.cos(lean) - np.array([0.0, 0.0, math.sin(lean)])
    return at + points @ np.array([x, y, z])


def overlap(solids: Sequence[Solid]) -> float:
    """The largest volume (mm³) that two of the solids share."""
    return max((a ^ b).volume() for k, a in enumerate(solids) for b in solids[:k])


def union(solids: Sequence[Solid]) -> Solid:
    """All of them together."""
    return manifold3d.Manifold.batch_boolean(list(solids), manifold3d.OpType.Add)


def hull(points: Sequence[Reals]) -> Solid:
    """The convex solid round points."""
    return manifold3d.Manifold.hull_points(np.array(points))
