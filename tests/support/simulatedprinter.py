"""A printer that stretches and skews its pages, and a maker who measures its test sheet; written without the product's
own arithmetic."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

Reals = NDArray[np.float64]

QUARTERS = {"counter-clockwise": np.array([[0.0, -1.0], [1.0, 0.0]]), "clockwise": np.array([[0.0, 1.0], [-1.0, 0.0]])}


@dataclass(frozen=True)
class SimulatedPrinter:
    """Stretches across the upright paper by ``across`` and down it by ``down``; what is drawn upright leans by ``skew``
    degrees; ``turn`` degrees are what the feed turns a page by."""

    across: float
    down: float
    skew: float
    turn: float = 0.0

    @property
    def matrix(self) -> Reals:
        """Acts on columns (x, y) of the upright paper."""
        lean, turn = np.radians(self.skew), np.radians(self.turn)
        distorted = np.array([[self.across, self.down * np.sin(lean)], [0.0, self.down * np.cos(lean)]])
        return np.array([[np.cos(turn), -np.sin(turn)], [np.sin(turn), np.cos(turn)]]) @ distorted

    def distances(self, width: float, height: float) -> Reals:
        """Across, down, rising and falling of a printed rectangle, exactly."""
        corners = self.matrix @ np.array([[0, width, width, 0], [0, 0, height, height]], dtype=float)
        a, b, c, d = corners.T
        return np.array([np.linalg.norm(b - a), np.linalg.norm(a - d), np.linalg.norm(c - a), np.linalg.norm(b - d)])

    def printed(self, points_mm: Reals, landscape: bool, fed: str = "counter-clockwise") -> Reals:
        """Where points (..., 2) of a page come to lie on paper, up to a shift; a page that lies on its side is turned to
        be printed, one way or the other, and the paper is turned back to be read."""
        if not landscape:
            return points_mm @ self.matrix.T
        turned = QUARTERS[fed]
        return points_mm @ (turned.T @ self.matrix @ turned).T


def read(lengths: Reals, to: float = 0.25) -> Reals:
    """The lengths as they are read off a rule: to the nearest quarter of a millimetre."""
    return np.round(lengths / to) * to
