"""What speaks for and against a layout: where its seams run, and how much paper it leaves at the rim."""

from __future__ import annotations

import math
from collections.abc import Sequence
from functools import lru_cache

import numpy as np
from msgspec import Struct
from msgspec.structs import replace

from patterns.affine import Affine
from patterns.pattern import Pattern, Role
from tiling.form import AnyForm
from tiling.inkpoints import sampled
from tiling.needed import EDGE, joining_cells
from tiling.seams import BASE
from tiling.segments import ROLES, Lines
from tiling.taping import Taping
from tiling.units import Flags, Integers, Reals, to_mm, to_units

NEAR = to_units(10.0)
"""So near to a seam, a hole's centre, a joint or a tight curve is hard to tape true."""

_BESIDE = to_units(3.0)
"""A line this near to a base line might be taken for it."""
_ERROR_STEP_MM = 0.05
"""A lesser difference of the expected error settles nothing."""
_MOST_RECKONED = 200
"""Points of a sample lie so far apart on the lines of more sheets, that they miss some and leave others unjoined."""
_NARROW = to_units(15.0)
"""Less than this of a last row or column is a sliver."""


class Score(Struct, frozen=True, order=True):
    """What speaks against a layout, gravest first; the least is chosen.

    About how many mm of line lie in the strips that are trimmed off at the left and at the bottom, and how many run along
    in an overlap or beside a base line (a quarter counts of what is not the cut line); how many hole centres, joints and
    tightest places of curves lie near a seam; mm that a last row or column is too narrow; the expected error of the
    longest distance once taped (mm, one sigma, in steps of 0.05); how unevenly the slack lies (mm).
    """

    sheets: int
    trimmed: int
    along_seams: float
    holes_on_seams: int
    joints_on_seams: int
    tight_on_seams: int
    sliver: float
    taping_error: float
    uneven_slack: float
    turned: int

    @property
    def graver(self) -> tuple[float, ...]:
        """All that weighs more than the expected error."""
        return (
            self.sheets,
            self.trimmed,
            self.along_seams,
            self.holes_on_seams,
            self.joints_on_seams,
            self.tight_on_seams,
            self.sliver,
        )

    @property
    def is_clean(self) -> bool:
        """Whether nothing speaks against it for which a drawing may be turned."""
        return not (self.trimmed or self.along_seams or self.holes_on_seams or self.joints_on_seams)


class Keep(Struct, frozen=True, eq=False):
    """Places of a drawing (units) that a seam should keep away from: hole centres, joints, and where curves are tightest."""

    holes: Reals
    joints: Reals
    tight: Reals

    @classmethod
    def of(cls, pattern: Pattern, to_drawing: Affine) -> Keep:
        """Those of a pattern."""
        places = (pattern.hole_centres, pattern.joints, pattern.tight_places)
        return cls(*(to_drawing.apply(np.array(some).reshape(-1, 2)) for some in places))


class Sample(Struct, frozen=True, eq=False):
    """Points along a drawing's lines in even steps: where, whether on the cut line, and which way the line runs there."""

    points: Reals
    cut: Flags
    heading: Reals
    spacing_mm: float

    @classmethod
    def of(cls, lines: Lines) -> Sample:
        """Of the lines that have to be shown. Raises ValueError where there are none."""
        if not len(lines.beziers):
            raise ValueError("there is nothing to lay out")
        points, index, spacing = sampled(lines)
        cut = (lines.role == ROLES.index(Role.CUT))[index]
        return cls(points, cut, (lines.beziers[:, 3] - lines.beziers[:, 0])[index], to_mm(spacing))


class AxisScore(Struct, frozen=True, eq=False):
    """One phase on one axis, and what speaks against it by itself. ``cell`` counts from the first column (row) needed."""

    phase: int
    cell: Integers
    trimmed: int
    along: float
    holes: int
    joints: int
    tight: int
    sliver: float
    uneven: float

    @classmethod
    def of(cls, sample: Sample, keep: Keep, phases: Sequence[int], form: AnyForm, axis: int) -> list[AxisScore]:
        """The scores of phases (units) on axis 0 (columns) or 1 (rows), all at once."""
        at, step, half = sample.points[:, axis], form.step[axis], form.overlap / 2
        ranges = [_shown_range(at, phase, step, half) for phase in phases]
        phase = np.array(phases)[:, None]
        start, end = np.array(ranges).T[:, :, None]
        away = at - phase
        cell = np.clip(np.floor(away / step).astype(np.int64), start, end - 1) - start
        first, last = phase + start * step, phase + end * step
        level = np.abs(sample.heading[:, axis]) < 0.35 * np.abs(sample.heading[:, 1 - axis])
        in_overlap = (at > first + half) & (at < last - half) & (_off_lattice(away, step) < half)
        by_base_line = _off_lattice(away - BASE, step) < _BESIDE
        along = np.where(level & (in_overlap | by_base_line), np.where(sample.cut, 1.0, 0.25), 0.0).sum(axis=1)
        trimmed = (at < first).sum(axis=1)
        holes, joints, tight = (
            _near_seams(places[:, axis], phase, step, start, end) for places in (keep.holes, keep.joints, keep.tight)
        )
        low, high = float(at.min()) - first[:, 0], last[:, 0] - float(at.max())
        return [
            cls(
                phases[k],
                cell[k],
                math.ceil(int(trimmed[k]) * sample.spacing_mm),
                float(along[k]) * sample.spacing_mm,
                int(holes[k]),
                int(joints[k]),
                int(tight[k]),
                max(0.0, _NARROW - (step - max(float(low[k]), float(high[k])))) / to_units(1.0),
                abs(float(low[k]) - float(high[k])) / to_units(1.0),
            )
            for k in range(len(phases))
        ]


def score_of(column: AxisScore, row: AxisScore, form: AnyForm, turn: int) -> Score:
    """Both axes together."""
    return best_of([column], [row], form, turn)[0]


def best_of(
    columns: Sequence[AxisScore], rows: Sequence[AxisScore], form: AnyForm, turn: int
) -> tuple[Score, AxisScore, AxisScore]:
    """The pair with the least score. The expected error takes longest and is reckoned only where all graver is alike."""
    up = max(int(row.cell.max()) for row in rows) + 1
    shown = _shown(columns, rows, up)
    counts = np.count_nonzero(shown, axis=2)
    fewest = int(counts.min())
    pairs = [
        (_without_error(fewest, columns[i], rows[k], turn), columns[i], rows[k], shown[i, k])
        for i, k in np.argwhere(counts == fewest).tolist()
    ]
    gravest = min(score.graver for score, *_ in pairs)
    scored = [
        (replace(score, taping_error=_taping_error(tuple(np.flatnonzero(cells).tolist()), up, form)), column, row)
        for score, column, row, cells in pairs
        if score.graver == gravest
    ]
    return min(scored, key=lambda one: one[0])


def _shown(columns: Sequence[AxisScore], rows: Sequence[AxisScore], up: int) -> Flags:
    """Which sheets, each column * up + row, show a point of the sample: for every phase of the columns with every one of
    the rows."""
    across = max(int(column.cell.max()) for column in columns) + 1
    pairs = np.arange(len(columns) * len(rows)).reshape(len(columns), len(rows), 1)
    cells = np.array([column.cell for column in columns])[:, None] * up + np.array([row.cell for row in rows])
    counts = np.bincount((pairs * (across * up) + cells).ravel(), minlength=pairs.size * across * up)
    result: Flags = counts.reshape(len(columns), len(rows), -1) > 0
    return result


def _without_error(sheets: int, column: AxisScore, row: AxisScore, turn: int) -> Score:
    return Score(
        sheets,
        column.trimmed + row.trimmed,
        round(column.along + row.along, 1),
        column.holes + row.holes,
        column.joints + row.joints,
        column.tight + row.tight,
        round(max(column.sliver, row.sliver), 1),
        0.0,
        round(column.uneven + row.uneven, 1),
        turn,
    )


@lru_cache(maxsize=256)
def _taping_error(shown: tuple[int, ...], rows: int, form: AnyForm) -> float:
    """The expected error (mm) of the sheets that show something, each column * rows + row, and of those that would have to
    join them; most phases show the same. None is reckoned of a great many sheets: see ``_MOST_RECKONED``."""
    if len(shown) > _MOST_RECKONED:
        return 0.0
    cells = {divmod(cell, rows) for cell in shown}
    worst = Taping(cells | joining_cells(cells), form).worst_mm()
    return round(worst / _ERROR_STEP_MM) * _ERROR_STEP_MM


def _near_seams(at: Reals, phase: Integers, step: int, start: Integers, end: Integers) -> Integers:
    """How many coordinates (m,) lie near a seam that is taped, for each of the phases (n, 1): not the first line of the
    lattice (start), nor the last (end)."""
    line = np.rint((at - phase) / step)
    taped = (line > start) & (line < end)
    result: Integers = (taped & (np.abs(at - phase - line * step) < NEAR)).sum(axis=1)
    return result


def _off_lattice(at: Reals, step: int) -> Reals:
    """How far coordinates are from the nearest multiple of the step."""
    off: Reals = np.abs(at - np.rint(at / step) * step)
    return off


def _shown_range(at: Reals, phase: int, step: int, half: float) -> tuple[int, int]:
    """The first column (row) whose window still shows the least coordinate, and one past the last for the greatest."""
    first = math.floor((float(at.min()) - phase + half + EDGE) / step)
    return first, max(first + 1, math.ceil((float(at.max()) - phase - half - EDGE) / step))
