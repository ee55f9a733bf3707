"""The draw unit, and what it is in millimetres and points."""

from __future__ import annotations

from typing import Any

import numpy as np
from numpy.typing import NDArray

UNITS_PER_POINT = 256
"""Cairo's own grid (24.8 fixed point). No division of an inch or a millimetre sits on the edge of its rounding."""

POINTS_PER_MM = 72.0 / 25.4
UNITS_PER_MM = UNITS_PER_POINT * POINTS_PER_MM

Integers = NDArray[np.int64]
Reals = NDArray[np.float64]
Flags = NDArray[np.bool_]
Cell = tuple[int, int]
"""(column, row) of a sheet in its lattice, counted from 0 at the lower left, negative where the grid grew."""

Json = dict[str, Any]


def to_units(mm: float) -> int:
    """Millimetres to the nearest whole draw unit."""
    return round(mm * UNITS_PER_MM)


def to_mm(units: float) -> float:
    """Draw units to millimetres."""
    return units / UNITS_PER_MM
