"""How wide the flip strips of half patterns are on a certain paper."""

from __future__ import annotations

from collections.abc import Sequence

from patterns.display import Display
from patterns.half import STRIP_MM, half_of
from patterns.pattern import Pattern
from tiling.deal import first_plan
from tiling.form import SheetForm

STRIPS_MM = (STRIP_MM, 10.0, 5.0)
"""Widths to choose from. The narrowest is half of the usual overlap, and so almost never costs a sheet: half a pattern
of an even number of columns then ends within the overlap of its last column."""


def strip_for(wholes: Sequence[Pattern], display: Display, form: SheetForm) -> float:
    """The widest of the strips (mm) with which the halves of a part's patterns take as few sheets as with the narrowest.

    Raises PatternError where they have no half.
    """
    least = _sheets(wholes, display, STRIPS_MM[-1], form)
    for strip in STRIPS_MM[:-1]:
        if _sheets(wholes, display, strip, form) <= least:
            return strip
    return STRIPS_MM[-1]


def _sheets(wholes: Sequence[Pattern], display: Display, strip: float, form: SheetForm) -> int:
    halves = [half_of(pattern, display, strip) for pattern in wholes]
    return sum(len(first_plan(half, form).cells) for half in halves)
