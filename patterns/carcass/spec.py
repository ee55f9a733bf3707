"""A carcass with every figure worked out: its shape, its joints and its panels."""

from __future__ import annotations

from typing import TYPE_CHECKING

from msgspec import Struct

from patterns.carcass.board import Board
from patterns.carcass.box import Box
from patterns.carcass.fingers import Layout
from patterns.carcass.panel import Panel
from patterns.carcass.vessel import Vessel

if TYPE_CHECKING:
    from patterns.carcass.measured import Residual


class Carcass(Struct, frozen=True, dict=True):
    """The whole of it. ``panels`` by the name of the part that each is; ``layouts`` are those of finger joints, one for
    each corner in the order of the walls, empty where the joints are others."""

    shape: Box | Vessel
    panels: tuple[tuple[str, Panel], ...]
    layouts: tuple[Layout, ...] = ()
    base: Board | None = None
    residuals: tuple[Residual, ...] = ()
    """How the measurements fit, if it is known by them."""

    @property
    def boards(self) -> tuple[Board, ...]:
        """Every board as it stands, with its fingers, the base last."""
        from patterns.carcass.fingers import boards_with_fingers

        walls = (
            boards_with_fingers(self.shape.walls, self.shape.joints, self.layouts)
            if self.layouts
            else self.shape.boards
        )
        over = self.shape.hood_boards if isinstance(self.shape, Box) else ()
        return (*walls, *over, *((self.base,) if self.base is not None else ()))
