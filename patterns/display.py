"""Figures as they are shown to a maker: rounded to what a rule can show, and marked where the rounding matters."""

from __future__ import annotations

import math
from decimal import Decimal
from fractions import Fraction

from msgspec import Struct

from patterns.measure import MM_PER_INCH, Units
from patterns.numeral import spelt

ROUNDED = "~"
"""Stands before a figure that rounding has moved by more than a quarter of its last division.

The sign U+2248 would be the usual one, but the lettering's font (Noto Sans) does not have it, nor do the code pages of
older terminals.
"""

NOISE = 1e-7
"""The part of a division by which float arithmetic may be off: far under what any rule shows."""

ANGLE_STEP_DEG = 0.1


class Display(Struct, frozen=True):
    """How figures are shown: in ``units``, to 1/``inch_fraction`` inch and to ``metric_step_mm`` millimetres.

    Raises ValueError for a division that no rule has.
    """

    units: Units
    inch_fraction: int = 32
    metric_step_mm: float = 0.5

    def __post_init__(self) -> None:
        if self.inch_fraction < 1 or self.inch_fraction & (self.inch_fraction - 1):
            raise ValueError(f"inches are divided by 1, 2, 4, 8, 16, 32 or 64, not by {self.inch_fraction}")
        if not (math.isfinite(self.metric_step_mm) and self.metric_step_mm >= 0.01):
            raise ValueError(f"millimetres are shown in steps of 0.01 or more, not {self.metric_step_mm}")

    def length(self, mm: float) -> str:
        """A length in mm, in the file's own unit: 22 13/16 in, 579.5 mm, 57.95 cm."""
        return self._inches(mm) if self.units == "in" else self._metric(mm)

    def both(self, mm: float) -> str:
        """A length in mm, in the file's own unit with the other in brackets: 22 13/16 in (579.5 mm)."""
        other = self._metric(mm) if self.units == "in" else self._inches(mm)
        return f"{self.length(mm)} ({other})"

    def amount(self, mm: float) -> str:
        """A length in mm that is not nothing, told truthfully where no rule shows it: less than 1/32 in (0.2 mm)."""
        if mm >= self._division * (1.0 - NOISE):
            return self.length(mm)
        small = f"{mm:.1g} mm" if mm >= 0.001 else "under 0.001 mm"
        return f"less than {self.length(self._division)} ({small})"

    def at_most(self, mm: float) -> str:
        """The greatest figure that can be shown and is not over ``mm``: for saying what limit would work."""
        return self.length(math.floor(mm / self._division + NOISE) * self._division)

    def at_least(self, mm: float) -> str:
        """The least figure that can be shown and is not under ``mm``: for saying what limit would work."""
        return self.length(math.ceil(mm / self._division - NOISE) * self._division)

    def angle(self, radians: float) -> str:
        """An angle in radians, in degrees to one tenth: 7.1°."""
        return f"{_stepped(math.degrees(radians), ANGLE_STEP_DEG)}°"

    def area(self, mm2: float) -> str:
        """An area in mm², in square inches or square centimetres to one tenth."""
        if self.units == "in":
            return f"{_stepped(mm2 / MM_PER_INCH**2, 0.1)} sq in"
        return f"{_stepped(mm2 / 100.0, 0.1)} sq cm"

    @property
    def _division(self) -> float:
        return MM_PER_INCH / self.inch_fraction if self.units == "in" else self.metric_step_mm

    def _inches(self, mm: float) -> str:
        count, mark = _counted(mm / MM_PER_INCH * self.inch_fraction)
        return f"{mark}{spelt(Fraction(count, self.inch_fraction))} in"

    def _metric(self, mm: float) -> str:
        if self.units == "cm":
            return f"{_stepped(mm / 10.0, self.metric_step_mm / 10.0)} cm"
        return f"{_stepped(mm, self.metric_step_mm)} mm"


def _counted(divisions: float) -> tuple[int, str]:
    """The nearest whole number of divisions, halves away from zero, and the mark if that is far off."""
    if not math.isfinite(divisions):
        raise ValueError(f"can't show {divisions}: a figure must be finite")
    count = math.floor(abs(divisions) + 0.5 + NOISE)
    mark = ROUNDED if abs(count - abs(divisions)) > 0.25 + NOISE else ""
    return (-count if divisions < 0 else count), mark


def _stepped(value: float, step: float) -> str:
    """``value`` to the nearest ``step``, marked, without trailing zeros, exponent or -0."""
    count, mark = _counted(value / step)
    text = f"{count * Decimal(repr(round(step, 9))):f}"
    return mark + (text.rstrip("0").rstrip(".") if "." in text else text)
