"""What a printer does to a page, from four distances measured on its test sheet.

A printer maps what is drawn to what is printed by a linear map ``D`` (stretched across, stretched down, skewed), and then
lays it somewhere on the paper, turned by what the feed leaves. Distances tell nothing of place and turn, so that D is
known but for a turn, and the one that turns nothing is taken: the symmetric one. The page is drawn through ``D^-1``.
"""

from __future__ import annotations

import math
from typing import Literal

from msgspec import Struct

from patterns.affine import Affine
from tiling.printer import READ_TO_MM, Printer

SheetUnits = Literal["mm", "in"]

PLACES = 9
"""Decimals of a correction: the last moves the far end of a 5 m page by a few millionths of a millimetre."""

_WEIGHTS = (-2.0, -2.0, 1.0, 1.0)
"""The squares of a parallelogram's diagonals add up to twice those of its two sides (the parallelogram law)."""
_MOST_STEPS = 20


class Drawn(Struct, frozen=True):
    """The rectangle of a test sheet as it is drawn, in mm, and the unit that its figures are in."""

    units: SheetUnits
    width_mm: float
    height_mm: float

    @property
    def distances(self) -> Distances:
        """What a printer that prints true shows."""
        diagonal = math.hypot(self.width_mm, self.height_mm)
        return Distances(self.width_mm, self.height_mm, diagonal, diagonal)


class Distances(Struct, frozen=True):
    """The four distances in mm between the corners of the rectangle: A lower left, B lower right, C upper right, D upper
    left; ``across`` A to B, ``down`` D to A, ``rising`` A to C, ``falling`` D to B."""

    across: float
    down: float
    rising: float
    falling: float

    def values(self) -> tuple[float, float, float, float]:
        """Across, down, rising, falling."""
        return self.across, self.down, self.rising, self.falling


SHEETS: dict[SheetUnits, Drawn] = {"mm": Drawn("mm", 150.0, 200.0), "in": Drawn("in", 6 * 25.4, 8 * 25.4)}
"""The two test sheets; the diagonals are 250 mm and 10 in."""


def misclosure(measured: Distances) -> float:
    """By how much (mm²) the squares of the diagonals exceed twice those of the sides: 0 in a parallelogram."""
    return sum(weight * length**2 for weight, length in zip(_WEIGHTS, measured.values(), strict=True))


def off_alone(measured: Distances) -> Distances:
    """By how much (mm) each distance would have to be too long, if it alone were wrong."""
    rest = misclosure(measured)
    return Distances(*(rest / (2 * w * length) for w, length in zip(_WEIGHTS, measured.values(), strict=True)))


def adjusted(measured: Distances) -> Distances:
    """The distances of the parallelogram nearest to the four measured: the sum of the squares of the changes is least.

    All four are read off one rule, and so weigh alike. Where the changes are least, each is ``l = m / (1 + w k)`` with w
    its weight in the parallelogram law and one k for all (Lagrange), found by Newton's steps. Raises ValueError where no
    parallelogram is near.
    """
    k = 0.0
    pairs = list(zip(_WEIGHTS, measured.values(), strict=True))
    for _ in range(_MOST_STEPS):
        rest = sum(w * (m / (1 + w * k)) ** 2 for w, m in pairs)
        slope = sum(-2 * w**2 * m**2 / (1 + w * k) ** 3 for w, m in pairs)
        step = rest / slope
        k -= step
        if not abs(k) < 0.1:
            raise ValueError("four distances that belong to no parallelogram")
        if abs(step) < 1e-15:
            break
    return Distances(*(m / (1 + w * k) for w, m in pairs))


def distortion_of(drawn: Drawn, measured: Distances) -> Affine:
    """D, symmetric, in the frame of the upright page (y up); see the top of this file.

    With G = DᵀD, a drawn vector v is printed of the length √(vᵀGv): three unknowns, which the adjusted distances give.
    Raises ValueError where the distances belong to no page.
    """
    across, down, rising, falling = adjusted(measured).values()
    width, height = drawn.width_mm, drawn.height_mm
    g11, g22 = (across / width) ** 2, (down / height) ** 2
    g12 = (rising**2 - falling**2) / (4 * width * height)
    if g11 * g22 <= g12**2:
        raise ValueError("four distances that belong to no page")
    # The root of a symmetric positive matrix of two rows: (G + √|G| 1) / √(tr G + 2 √|G|), by Cayley and Hamilton.
    root = math.sqrt(g11 * g22 - g12**2)
    scale = math.sqrt(g11 + g22 + 2 * root)
    return Affine((g11 + root) / scale, g12 / scale, g12 / scale, (g22 + root) / scale)


def scale_error(drawn: Drawn) -> float:
    """One standard deviation of a corrected length over the length, in the direction in which it is greatest.

    From the least squares above, linear near the drawn rectangle, with readings that are off by anything up to half of
    ``READ_TO_MM``, evenly: the standard deviation of one is ``READ_TO_MM / √12``.
    """
    import numpy as np  # late: only sheets for a measured printer need it

    w, h = drawn.width_mm, drawn.height_mm
    q = math.hypot(w, h)
    rows = np.array([[w, 0, 0], [0, h, 0], [w * w / q, h * h / q, w * h / q], [w * w / q, h * h / q, -w * h / q]])
    spread = np.linalg.inv(rows.T @ rows) * READ_TO_MM**2 / 12
    angle = np.linspace(0.0, math.pi, 361)
    strain = np.stack([np.cos(angle) ** 2, np.sin(angle) ** 2, np.cos(angle) * np.sin(angle)], axis=1)
    return float(np.sqrt(np.einsum("ni,ij,nj->n", strain, spread, strain).max()))


def printer_of(name: str, drawn: Drawn, measured: Distances) -> Printer:
    """The printer with the correction that undoes what was measured. Raises ValueError where nothing can.

    Its numbers are rounded to ``PLACES``, so that a printer that prints true is corrected by nothing at all.
    """
    inverse = distortion_of(drawn, measured).inverse()
    a, b, c, d = (round(number, PLACES) + 0.0 for number in (inverse.a, inverse.b, inverse.c, inverse.d))
    return Printer(name, Affine(a, b, c, d), scale_error(drawn))
