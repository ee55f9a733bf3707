"""A part as it stands when finished: its outline, stretch by stretch, its holes and the boards it comes from."""

from __future__ import annotations

from dataclasses import dataclass

from patterns.blank import Blank
from patterns.errors import Problem
from patterns.outline import Outline
from patterns.piece import PartSpec
from patterns.stretch import Board, GlueRun, Hole, StationMark, Stretch

__all__ = ["Board", "GlueRun", "Hole", "Part", "StationMark", "Stretch"]


@dataclass(frozen=True, eq=False, slots=True)
class Part:
    """A panel or board, built. ``stretches`` run counter-clockwise, each starting where the one before it ends.

    ``boards`` is empty unless the part is cut out before it is glued up. ``grain`` is in radians from the x axis.
    """

    spec: PartSpec
    name: str
    slug: str
    blank: Blank
    outline: Outline
    stretches: tuple[Stretch, ...]
    holes: tuple[Hole, ...]
    grain: float
    glue: tuple[GlueRun, ...] = ()
    boards: tuple[Board, ...] = ()
    warnings: tuple[Problem, ...] = ()
