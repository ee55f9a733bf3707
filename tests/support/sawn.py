"""A cutting card replayed: each cut as a rigid motion of the board and a half-space, with nothing but what the card says.

The board lies in its own coordinates: x and y as drawn on the outside face, z out of it. The saw: X to the right, Y ahead, Z
up, the blade through X = 0 on the table, leaning left or right. ``lines`` are the edges of the drawing by name: where each
begins on the outside face, and its direction out of the board.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from typing import Any

import numpy as np
from numpy.typing import NDArray
from solids import Solid

Reals = NDArray[np.float64]
Line = tuple[Reals, Reals]


def turn_about_z(angle: float) -> Reals:
    c, s = math.cos(angle), math.sin(angle)
    return np.array([[c, -s, 0.0], [s, c, 0.0], [0.0, 0.0, 1.0]])


def sawn(solid: Solid, card: Mapping[str, Any], lines: Mapping[str, Line], tilts: str) -> Solid:
    """What is left of the board after one cut of the card."""
    motion, at = _pose(card, lines)
    lean = math.radians(card["blade_tilt_deg"]) * (1.0 if tilts == "left" else -1.0)
    blade = np.array([math.cos(lean), 0.0, math.sin(lean)])  # to the right of the blade
    normal = motion.T @ blade  # the same plane, in the board's coordinates, through the mark
    wood = normal if card["keep"] == "right" else -normal
    return solid.trim_by_plane(wood, float(wood @ at))


def _pose(card: Mapping[str, Any], lines: Mapping[str, Line]) -> tuple[Reals, Reals]:
    """The rotation from the board to the saw, and a point of the board that the blade passes."""
    if card["pose"] == "on edge":
        return _on_edge(card, lines)
    over = np.eye(3) if card["face_up"] == "outside" else np.diag([-1.0, 1.0, -1.0])
    if card["way"] == "fence":
        # The edge at the fence, or else the one across from what is cut, faces the side that is kept.
        towards = 1.0 if card["keep"] == "right" else -1.0
        start, out = lines[card["edge"]]
        across = over @ np.append(-out, 0.0)
        motion = turn_about_z((0.0 if towards > 0 else math.pi) - math.atan2(across[1], across[0])) @ over
        if card["against"] in lines:
            fence, way = lines[card["against"]]
            return motion, np.append(fence - way * card["mark_mm"], 0.0)
        return motion, np.append(start, 0.0)
    start, out = lines[card["against"]]
    swing = math.radians(card["swing_deg"])
    facing = np.array([math.sin(swing), -math.cos(swing)]) * (-1.0 if card["gauge_turned_round"] else 1.0)
    flat = over @ np.append(out, 0.0)
    motion = turn_about_z(math.atan2(facing[1], facing[0]) - math.atan2(flat[1], flat[0])) @ over
    along = np.array([-out[1], out[0]])
    return motion, np.append(start + along * card["mark_mm"], 0.0)


def _on_edge(card: Mapping[str, Any], lines: Mapping[str, Line]) -> tuple[Reals, Reals]:
    """The board stands with the cut edge down; the named face is at a fence that stands on the side that is kept."""
    start, out = lines[card["edge"]]
    fence = 1.0 if card["keep"] == "right" else -1.0
    face = np.array([0.0, 0.0, 1.0 if card["face_up"] == "outside" else -1.0])  # out of the face that is at the fence
    down = np.append(out, 0.0)
    rows = np.array([fence * face, np.cross(-down, fence * face), -down])
    return rows, np.append(start, 0.0)
