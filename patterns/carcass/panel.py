"""What a part knows of the carcass it is a wall of: its board in space, its joints, and how its edges are cut."""

from __future__ import annotations

from typing import Literal

from msgspec import Struct

from patterns.carcass.board import Board
from patterns.carcass.fingers import Comb, CutWay
from patterns.carcass.ring import JointKind

CurveCut = Literal["square", "level"]


class EndJoint(Struct, frozen=True):
    """The joint at one end (``edge`` is "left" or "right") of a panel with ``other``, a panel's name in words.

    ``is_long``: the board reaches the outside at a butt or a rabbet. ``rabbet`` is how deep (mm) the rabbet in this board
    is, and ``rabbet_width`` how far it reaches from the end along the inside face; 0 where it has none. ``comb`` and the
    rest are of finger joints: ``owns_first`` says that this board has the finger at the bottom, ``gap`` is what a square
    jig leaves open (mm). ``height`` is how far up the edge of the outside face the joint reaches (mm).
    """

    edge: str
    kind: JointKind
    other: str
    dihedral: float
    height: float
    stands: float = 0.0
    """How far up the corner line this board goes, before anything is cut from it (mm)."""
    is_long: bool = True
    rabbet: float = 0.0
    rabbet_width: float = 0.0
    comb: Comb | None = None
    owns_first: bool = False
    cut: CutWay = "tilted"
    proud: float = 0.0
    play: float = 0.0
    gap: float = 0.0
    finger_lines: tuple[tuple[tuple[float, float], tuple[float, float]], ...] = ()
    """The cheeks and roots on the outside face, from point to point in the part's coordinates."""


class Panel(Struct, frozen=True):
    """A part as a wall, a stave or the base of a carcass.

    ``stands`` are the places that it takes ("right_side", "left_side"). ``board`` is as far as the tips of its fingers
    reach. ``curves`` are edges whose curves are not cut square to the face. ``mirrored``: the part is the mirror image
    of the board.
    """

    board: Board
    stands: tuple[str, ...]
    carcass: Literal["box", "staved"]
    count: int
    joints: tuple[EndJoint, ...] = ()
    curves: tuple[tuple[str, CurveCut], ...] = ()
    fit: bool = False
    chamfer: float = 0.0
    standing: tuple[tuple[tuple[float, float], ...], ...] = ()
    """Of a base the outlines of the walls on its upper face, outside and inside, in the part's coordinates."""
    roofs: tuple[str, ...] = ()
    """The roof boards of the piece's hood, from the left eaves to the right."""
    mirrored: bool = False

    def joint_at(self, edge: str) -> EndJoint | None:
        """The joint at an end, None where there is none."""
        return next((joint for joint in self.joints if joint.edge == edge), None)
