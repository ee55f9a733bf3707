"""Proof distances: what a rule must read from sheet to sheet once a pattern is taped.

On every sheet two base lines cross at the same place; where they cross is its proof point. From one sheet's to
another's is a whole number of steps, and a step is a whole number of the file's own divisions.
"""

from __future__ import annotations

import math
from functools import lru_cache

from msgspec import Struct

from patterns.affine import Affine
from patterns.display import Display
from patterns.measure import MM_PER_INCH
from tiling.coverfacts import PatternOnCover
from tiling.form import sheet_form
from tiling.lattice import cell_name
from tiling.spans import Span, longest_spans
from tiling.taping import Taping, scale_sigma

SIGMAS = 2.0
"""A distance is accepted within so many sigmas of the expected error: of twenty careful tapings, nineteen pass."""

LOOSE_MM = 3.0
"""A distance that may be off by more is set by the rule while taping, rather than found out afterwards."""


class Proof(Struct, frozen=True):
    """A distance to measure between the proof points of two sheets of one pattern, in mm and in words.

    ``seams`` is how many sheets lie one on the other from the first to the second, ``sigma_mm`` the expected error.
    """

    pattern: str
    from_sheet: str
    to_sheet: str
    distance_mm: float
    text: str
    tolerance_mm: float
    tolerance_text: str
    seams: int
    sigma_mm: float

    @property
    def is_loose(self) -> bool:
        """Whether little holds the two sheets to each other."""
        return self.tolerance_mm > LOOSE_MM


@lru_cache(maxsize=128)  # most patterns of a watch stay as they were
def proof_distances(on_cover: PatternOnCover, display: Display) -> tuple[Proof, ...]:
    """The distances along the longest row, the longest column and the longest diagonal of the taped sheets.

    Each spans as many seams as it can; a pattern on one sheet has none.
    """
    cells = [sheet.cell for sheet in on_cover.taped]
    taping = Taping(cells, on_cover.lattice.form, on_cover.seams)
    return tuple(_proof(on_cover, span, taping, display) for span in longest_spans(cells))


def division_mm(display: Display) -> float:
    """The least difference that figures are shown to, in mm."""
    return MM_PER_INCH / display.inch_fraction if display.units == "in" else display.metric_step_mm


def tolerance_mm(sigma_mm: float, display: Display) -> float:
    """How far a distance may be off (mm), that is expected to be off by ``sigma_mm``: rounded up to a whole division of
    the display, since nothing finer can be read."""
    division = division_mm(display)
    return max(1, math.ceil(SIGMAS * sigma_mm / division - 1e-9)) * division


def _proof(on_cover: PatternOnCover, span: Span, taping: Taping, display: Display) -> Proof:
    start, end = span
    columns, rows = end[0] - start[0], end[1] - start[1]
    across, up = on_cover.lattice.form.step
    distance = _true_length(on_cover.to_drawing, columns * across, rows * up)
    scale = scale_sigma(sheet_form(on_cover.lattice.form).printer)
    sigma = math.hypot(taping.sigma_mm(start, end), scale * distance)
    tolerance = tolerance_mm(sigma, display)
    return Proof(
        pattern=on_cover.pattern.name,
        from_sheet=cell_name(start),
        to_sheet=cell_name(end),
        distance_mm=distance,
        text=display.both(distance),
        tolerance_mm=tolerance,
        tolerance_text=display.length(tolerance),
        seams=abs(columns) + abs(rows),
        sigma_mm=sigma,
    )


def _true_length(to_drawing: Affine, across: int, up: int) -> float:
    """What a step of the drawing (units) measures on the part, in mm: a printer's correction taken off again."""
    back = to_drawing.inverse()
    return math.hypot(back.a * across + back.c * up, back.b * across + back.d * up)
