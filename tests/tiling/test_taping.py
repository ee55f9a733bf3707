"""The expected error of a taped pattern, against an independent simulation: thousands of tapings by hand, with true
rotations, each sheet and each row fitted to its marks by a rigid motion.

The misses of single marks (0.15 mm, one sigma, each way) and the readings of a rule (anywhere within half of 0.25 mm) are
common practice, no source.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from itertools import accumulate, combinations, pairwise

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from numpy.typing import NDArray

from patterns.display import Display
from tiling.distortion import SHEETS, Distances, printer_of
from tiling.form import SheetForm
from tiling.lattice import Lattice
from tiling.paper import paper
from tiling.printer import NO_PRINTER, Printer
from tiling.proofs import SIGMAS, tolerance_mm
from tiling.seams import SeamMarks, Seams
from tiling.spans import longest_spans
from tiling.taping import MARK_MM, Taping, scale_sigma, taping_order
from tiling.units import to_mm

Reals = NDArray[np.float64]
Cell = tuple[int, int]
Span = tuple[Cell, Cell]
Shares = Callable[[Cell, Cell], Reals]
"""Where the two marks of the seam between two sheets stand, as shares of its length."""
TRIALS = 4000
READING_MM = 0.125
"""A reading to 0.25 mm is off by half of that at most, evenly."""

SHAPES: dict[str, list[Cell]] = {
    "a row of eight": [(c, 0) for c in range(8)],
    "a column of six": [(0, r) for r in range(6)],
    "a block": [(c, r) for c in range(5) for r in range(4)],
    "an L": [(c, 0) for c in range(6)] + [(0, r) for r in range(1, 5)],
    "an arch on two legs": [(0, 0), (0, 1), (5, 0), (5, 1)] + [(c, 2) for c in range(6)],
    "a ring that hangs on an arm": (
        [(0, r) for r in range(4)] + [(c, 4) for c in range(6)] + [(3, 3), (5, 3)] + [(c, 2) for c in range(3, 6)]
    ),
    "a ring": [(c, r) for c in range(5) for r in range(4) if c in (0, 4) or r in (0, 3)],
    "grown to the left and below": [(c, r) for c in range(-2, 3) for r in range(-1, 2)],
}


class Motions:
    """One rigid motion for each trial: turn by ``angle``, then shift."""

    def __init__(self, angle: Reals, shift: Reals) -> None:
        self.angle, self.shift = angle, shift

    def __call__(self, points: Reals) -> Reals:
        """Points (trials, n, 2), moved."""
        cos, sin = np.cos(self.angle)[:, None], np.sin(self.angle)[:, None]
        x, y = points[..., 0], points[..., 1]
        return np.stack([cos * x - sin * y, sin * x + cos * y], axis=2) + self.shift[:, None]

    def after(self, first: Motions) -> Motions:
        return Motions(self.angle + first.angle, self(first.shift[:, None])[:, 0])


def fitted(source: Reals, target: Reals) -> Motions:
    """The rigid motion that brings (trials, n, 2) nearest to target: the plane's case of Kabsch's and Umeyama's method."""
    a, b = source - source.mean(axis=1, keepdims=True), target - target.mean(axis=1, keepdims=True)
    turn = np.arctan2((a[..., 0] * b[..., 1] - a[..., 1] * b[..., 0]).sum(axis=1), (a * b).sum(axis=(1, 2)))
    turned = Motions(turn, np.zeros((len(turn), 2)))
    return Motions(turn, target.mean(axis=1) - turned(source.mean(axis=1, keepdims=True))[:, 0])


def at_the_quarters(one: Cell, other: Cell) -> Reals:
    """Where marks stand if no line is near."""
    return np.array([0.25, 0.75])


def taped(
    cells: list[Cell], across: float, up: float, random: np.random.Generator, shares_of: Shares
) -> dict[Cell, Motions]:
    """The motion of every sheet from where it belongs to where it was taped."""

    def marks(one: Cell, other: Cell) -> Reals:
        (c, r), upright = max(one, other), one[1] == other[1]
        shares = shares_of(one, other)
        return np.stack(
            [np.full(2, c), r + shares] if upright else [c + shares, np.full(2, max(one[1], other[1]))], axis=1
        ) * (across, up)

    def everywhere(points: Reals) -> Reals:
        return np.broadcast_to(points, (TRIALS, *points.shape))

    def missed(points: Reals) -> Reals:
        return points + random.normal(0, MARK_MM, points.shape)

    here = Motions(np.zeros(TRIALS), np.zeros((TRIALS, 2)))
    lying: dict[Cell, Motions] = {}
    left = set(cells)
    while left:
        free = sorted(left, key=lambda cell: (cell[1], cell[0]))
        starts = [cell for cell in free if (cell[0] - 1, cell[1]) not in left]
        rows = []
        for c, r in starts:
            row = [(c, r)]
            while (row[-1][0] + 1, r) in left:
                row.append((row[-1][0] + 1, r))
            rows.append(row)
        touching = [row for row in rows if not lying or any((c, r + s) in lying for c, r in row for s in (-1, 1))]
        row = touching[0]
        within = {row[0]: here}
        for before, cell in pairwise(row):
            places = everywhere(marks(before, cell))
            within[cell] = fitted(places, missed(within[before](places)))
        source, target = [], []
        for c, r in row:
            for beside in ((c, r - 1), (c, r + 1)):
                if beside in lying:
                    places = everywhere(marks((c, r), beside))
                    source.append(within[(c, r)](places))
                    target.append(missed(lying[beside](places)))
        whole = fitted(np.concatenate(source, axis=1), np.concatenate(target, axis=1)) if source else here
        lying |= {cell: whole.after(motion) for cell, motion in within.items()}
        left -= set(row)
    return lying


def off_by(lying: dict[Cell, Motions], span: Span, form: SheetForm) -> Reals:
    """How far the distance between two proof points is off in every trial (mm)."""
    across, up = (to_mm(side) for side in form.step)
    places = [np.array([[cell[0] * across + 12.0, cell[1] * up + 12.0]]) for cell in span]
    ends = [lying[cell](np.broadcast_to(place, (TRIALS, 1, 2)))[:, 0] for cell, place in zip(span, places, strict=True)]
    return np.hypot(*(ends[1] - ends[0]).T) - math.dist(places[0][0], places[1][0])


def measured(cells: list[Cell], form: SheetForm, seed: int) -> dict[Span, Reals]:
    """For each longest span: how far it is off in every trial (mm), with the marks at the quarters."""
    lying = taped(cells, *(to_mm(side) for side in form.step), np.random.default_rng(seed), at_the_quarters)
    return {span: off_by(lying, span, form) for span in longest_spans(cells)}


@pytest.mark.parametrize("name", ["A4", "letter"])
@pytest.mark.parametrize("shape", SHAPES)
def test_the_expected_error_is_that_of_thousands_of_tapings(shape: str, name: str) -> None:
    cells, form = SHAPES[shape], SheetForm(paper(name))
    taping = Taping(cells, form)
    for span, off in measured(cells, form, seed=len(shape)).items():
        assert off.std() == pytest.approx(taping.sigma_mm(*span), rel=0.08)
        assert abs(off.mean()) < 0.15 * off.std()


@pytest.mark.parametrize("shape", SHAPES)
def test_nor_does_it_matter_where_the_marks_of_each_seam_stand(shape: str) -> None:
    """Marks give way to the lines near a seam, along the half of it that is theirs: the nearer to each other, the less
    they hold a turn. Between any two sheets."""
    cells, form = SHAPES[shape], SheetForm(paper("A4"), "landscape")
    random, seams, crowded = np.random.default_rng(5), {}, {}
    for c, r in cells:
        for axis, other in enumerate([(c - 1, r), (c, r - 1)]):
            shares = np.array([random.uniform(0.14, 0.43), random.uniform(0.57, 0.86)])
            first, second = (shares * form.step[1 - axis]).round().astype(int).tolist()
            crowded[(0, c, r) if axis == 0 else (1, r, c)] = SeamMarks((first, second), 0)
            seams[frozenset([(c, r), other])] = shares
    taping = Taping(cells, form, Seams(Lattice(form, (0, 0)), crowded))
    sides = (to_mm(side) for side in form.step)
    lying = taped(cells, *sides, random, lambda one, other: seams[frozenset([one, other])])
    for start, end in combinations(cells, 2):
        off = off_by(lying, (start, end), form)
        assert off.std() == pytest.approx(taping.sigma_mm(start, end), rel=0.08)


def test_marks_close_together_make_a_row_less_sure() -> None:
    cells, form = SHAPES["a row of eight"], SheetForm(paper("A4"))
    close = (round(0.43 * form.step[1]), round(0.57 * form.step[1]))
    seams = Seams(Lattice(form, (0, 0)), {(0, c, 0): SeamMarks(close, 0) for c in range(8)})
    span = ((0, 0), (7, 0))
    assert Taping(cells, form, seams).sigma_mm(*span) > 2 * Taping(cells, form).sigma_mm(*span)


# ---------------------------------------------------------------- the printer's share, and what is accepted


def scales_left(width: float, height: float, angle: float, random: np.random.Generator) -> Reals:
    """By what share lengths at an angle to a sheet's lower edge come out wrong, after a printer was corrected by its four
    distances: across, down and both diagonals, each read as above. A linear least-squares fit of two stretches and a
    skew."""
    sides = np.array([[width, 0.0], [0.0, height], [width, height], [width, -height]])

    def gains(v: Reals) -> Reals:
        """What 1 of either stretch, and of the skew, adds to a length, as a share of it."""
        x, y = v[..., 0], v[..., 1]
        return np.stack([x * x, y * y, x * y], axis=-1) / (x * x + y * y)[..., None]

    lengths = np.hypot(*sides.T)
    readings = random.uniform(-READING_MM, READING_MM, (4, TRIALS))
    fitted_to = np.linalg.lstsq(gains(sides) * lengths[:, None], readings, rcond=None)[0]
    return gains(np.array([math.cos(angle), math.sin(angle)])) @ fitted_to


MEASURED = printer_of("study", SHEETS["mm"], Distances(148.5, 199.0, 248.5, 248.0))
"""Measured on the rectangle of 150 by 200 mm; what it does to a page does not matter here."""


def test_the_scale_that_is_left_of_a_printers_error() -> None:
    """A check bar of 100 mm, or four distances on a rectangle of 150 by 200 mm."""
    random = np.random.default_rng(3)
    by_bar = random.uniform(-READING_MM, READING_MM, TRIALS) / 100.0
    assert scale_sigma(NO_PRINTER) == pytest.approx(by_bar.std(), rel=0.03)
    worst = max(scales_left(150.0, 200.0, angle, random).std() for angle in np.linspace(0.0, math.pi, 37))
    assert scale_sigma(MEASURED) == pytest.approx(worst, rel=0.05)


@pytest.mark.parametrize("shape", SHAPES)
@pytest.mark.parametrize("printer", [NO_PRINTER, MEASURED])
def test_nineteen_of_twenty_tapings_are_accepted(printer: Printer, shape: str) -> None:
    """Printer's error included, of a printer that passed by its check bar, and of one that was measured."""
    random, form = np.random.default_rng(7), SheetForm(paper("A4"))
    cells = SHAPES[shape]
    for span, off in measured(cells, form, seed=11).items():
        columns, rows = (abs(a - b) for a, b in zip(*span, strict=True))
        across, up = columns * to_mm(form.step[0]), rows * to_mm(form.step[1])
        distance = math.hypot(across, up)
        by_bar = random.uniform(-READING_MM, READING_MM, TRIALS) / 100.0
        scale = by_bar if printer is NO_PRINTER else scales_left(150.0, 200.0, math.atan2(up, across), random)
        sigma = math.hypot(Taping(cells, form).sigma_mm(*span), scale_sigma(printer) * distance)
        assert np.mean(np.abs(off + scale * distance) <= SIGMAS * sigma) > 0.94
        assert np.mean(np.abs(off + scale * distance) <= tolerance_mm(sigma, Display("mm"))) > 0.95


# ---------------------------------------------------------------- the order of taping


STEPS = [(1, 0), (-1, 0), (0, 1), (0, -1)]
cells_that_hang_together = st.lists(st.sampled_from(STEPS), max_size=25).map(
    lambda steps: list(dict.fromkeys(accumulate(steps, lambda a, b: (a[0] + b[0], a[1] + b[1]), initial=(0, 0))))
)


def order_by_looking(cells: list[Cell]) -> list[tuple[Cell, ...]]:
    """The order of taping as a person finds it: look along the rows from below for the first run that touches."""
    left, lying, order = sorted(cells, key=lambda cell: (cell[1], cell[0])), set[Cell](), []
    runs = []
    for c, r in left:
        if (c - 1, r) not in left:
            run = [(c, r)]
            while (run[-1][0] + 1, r) in left:
                run.append((run[-1][0] + 1, r))
            runs.append(tuple(run))
    while runs:
        run = next(run for run in runs if not lying or any((c, r + s) in lying for c, r in run for s in (-1, 1)))
        runs.remove(run)
        lying |= set(run)
        order.append(run)
    return order


@settings(max_examples=60, deadline=None)
@given(cells_that_hang_together)
def test_what_is_taped_next_is_the_lowest_that_touches(cells: list[Cell]) -> None:
    assert [laid.run for laid in taping_order(cells)] == order_by_looking(cells)


@settings(max_examples=60, deadline=None)
@given(cells_that_hang_together)
def test_every_sheet_is_taped_once_and_to_something_that_lies_there(cells: list[Cell]) -> None:
    lying: set[Cell] = set()
    for laid in taping_order(cells):
        assert bool(laid.pairs) == bool(lying)
        assert all(mine in laid.run and other in lying for mine, other in laid.pairs)
        assert not lying & set(laid.run)
        lying |= set(laid.run)
    assert lying == set(cells)


@settings(max_examples=40, deadline=None)
@given(cells_that_hang_together)
def test_a_distance_is_as_sure_from_either_end(cells: list[Cell]) -> None:
    taping = Taping(cells, SheetForm(paper("A4")))
    for start, end in longest_spans(cells):
        assert taping.sigma_mm(start, end) == pytest.approx(taping.sigma_mm(end, start))
        assert taping.sigma_mm(start, end) > 0.0


def test_more_seams_make_a_distance_less_sure() -> None:
    form = SheetForm(paper("letter"))
    rows = [Taping([(c, 0) for c in range(n)], form).sigma_mm((0, 0), (n - 1, 0)) for n in range(2, 12)]
    assert rows == sorted(rows)


def test_two_sheets_by_hand() -> None:
    """Two marks, each missed by sigma each way: along the row the sheet is off by sigma / sqrt 2, and turned by
    sigma sqrt 2 / (distance of the marks); the proof point lies (up / 2 - 12 mm) under the marks' middle."""
    form = SheetForm(paper("A4"))
    up = to_mm(form.step[1])
    offset, turn = MARK_MM / math.sqrt(2), MARK_MM * math.sqrt(2) / (up / 2)
    by_hand = math.hypot(offset, turn * (up / 2 - 12.0))
    assert Taping([(0, 0), (1, 0)], form).sigma_mm((0, 0), (1, 0)) == pytest.approx(by_hand, rel=1e-3)


@pytest.mark.parametrize("row", [0, 1, 3])
def test_a_row_is_no_less_sure_in_a_block_than_by_itself(row: int) -> None:
    form = SheetForm(paper("A4"))
    block = Taping([(c, r) for c in range(6) for r in range(4)], form)
    alone = Taping([(c, 0) for c in range(6)], form).sigma_mm((0, 0), (5, 0))
    assert block.sigma_mm((0, row), (5, row)) == pytest.approx(alone)


def test_corners_of_a_block_are_surer_than_those_of_an_arch() -> None:
    """The foot of one leg hangs on the other's by way of the top alone."""
    form = SheetForm(paper("A4"))
    block = Taping([(c, r) for c in range(6) for r in range(3)], form)
    arch = Taping(SHAPES["an arch on two legs"], form)
    assert arch.sigma_mm((0, 0), (5, 0)) > 3 * block.sigma_mm((0, 0), (5, 0))


def test_two_thousand_sheets_are_reckoned_as_well() -> None:
    """A row's error is the root of a sum of cubes: it grows with the power 1.5 once turns outweigh all else."""
    form = SheetForm(paper("A4"))
    rows = [Taping([(c, 0) for c in range(n)], form).sigma_mm((0, 0), (n - 1, 0)) for n in (500, 2000)]
    assert 2.0 < rows[1] / rows[0] < 4.0**1.5
