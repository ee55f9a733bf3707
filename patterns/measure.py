"""Units of the shop and of the page, and what kind of quantity a value is.

The one table of conversions: everything else in the house is millimetres and radians.
"""

from __future__ import annotations

import math
from fractions import Fraction
from typing import Literal

from msgspec import Struct

Units = Literal["in", "mm", "cm"]
"""What a bare number of a pattern file may stand for."""

Kind = Literal["number", "length", "area", "angle"]

MM_PER_INCH = 25.4
"""Exactly, by the international agreement of 1959 (NIST Handbook 44, appendix C)."""

INCHES_PER_FOOT = 12

POINTS_PER_INCH = 72
"""A point of a PDF page, the default user space unit of ISO 32000, and the pt of CSS."""

CSS_PX_PER_INCH = 96
"""A px of CSS, and so a user unit of an SVG without a viewBox."""

MM_PER_POINT = MM_PER_INCH / POINTS_PER_INCH
MM_PER_CSS_PX = MM_PER_INCH / CSS_PX_PER_INCH

EXACT_MM_PER: dict[str, Fraction] = {
    "mm": Fraction(1),
    "cm": Fraction(10),
    "in": Fraction(254, 10),
    "ft": Fraction(254 * INCHES_PER_FOOT, 10),
}
"""Millimetres in one of each unit of length that a maker may write, as exact fractions."""


class Quantity(Struct, frozen=True):
    """A value with its kind: millimetres, square millimetres, radians or a bare number.

    Raises ValueError where the value is not finite.
    """

    value: float
    kind: Kind

    def __post_init__(self) -> None:
        if not math.isfinite(self.value):
            raise ValueError(f"a {self.kind} must be finite, not {self.value}")


def to_mm(value: float, unit: str) -> float:
    """A length in "in", "ft", "cm" or "mm" as millimetres, rounded once."""
    return float(Fraction(value) * EXACT_MM_PER[unit])


def from_mm(length_mm: float, unit: str) -> float:
    """A length in millimetres as "in", "ft", "cm" or "mm", rounded once."""
    return float(Fraction(length_mm) / EXACT_MM_PER[unit])
