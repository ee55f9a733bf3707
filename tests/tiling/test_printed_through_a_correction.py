"""Sheets for a measured printer, written, read back by another library, sent through the simulated printer, laid by their
registration marks, and measured: proof distances, cut line and check bars in true millimetres."""

from __future__ import annotations

import itertools
from functools import cache

import handmade
import numpy as np
import pagereader
import pymupdf
import pytest
import taping
from exact import distance
from msgspec.structs import replace
from simulatedprinter import SimulatedPrinter, read
from virtualtaping import EDGE, mark_centres

from tiling import job
from tiling.covering import cover_facts
from tiling.distortion import SHEETS, Distances, printer_of
from tiling.form import SheetForm
from tiling.lattice import cell_name, cell_of
from tiling.paper import paper
from tiling.printer import in_words
from tiling.proofs import proof_distances

SHAPE = handmade.arched_panel(610, 640, 95)
DRAWN = SHEETS["mm"]
PROOF_RADIUS_MM = 1.57

LYING = list(itertools.product(["A4", "letter"], ["portrait", "landscape"], [0, 90]))
PRINTERS = [
    SimulatedPrinter(across, down, skew, turn)
    for across, down, skew, turn in [
        (0.985, 1.015, 0.3, 0.4),
        (1.015, 0.985, -0.3, 0.0),
        (1.015, 1.015, 0.3, -0.7),
        (0.985, 0.985, -0.3, 0.2),
        (0.992, 0.996, 0.1, 0.0),
        (1.006, 0.991, -0.2, 1.0),
        (0.985, 1.0, 0.3, 0.0),
        (1.0, 1.015, -0.3, -0.1),
    ]
]
PAIRS = list(zip(LYING, PRINTERS, strict=True))


def measured(printer: SimulatedPrinter, to: float) -> Distances:
    return Distances(*read(printer.distances(DRAWN.width_mm, DRAWN.height_mm), to))


@cache
def plain(paper_name: str) -> job.Printed:
    return job.make_sheets(handmade.order_of(SHAPE.pattern), SheetForm(paper(paper_name)))


@cache
def sheets(printer: SimulatedPrinter, paper_name: str, orientation: str, turn: int, to: float = 0.25) -> job.Printed:
    """The sheets for the printer as it was measured, lying as they are told to."""
    known = printer_of("study", DRAWN, measured(printer, to))
    form = SheetForm(paper(paper_name), printer=known)
    first = plain(paper_name).recipe
    record = first.patterns[0]
    lattice = replace(record.layout.lattice, form=replace(form, orientation=orientation))
    lying = replace(record, layout=replace(record.layout, lattice=lattice, turn=turn), slots={})
    return job.make_sheets(handmade.order_of(SHAPE.pattern), form, like=replace(first, patterns=(lying,)))


class Taped:
    """The printed sheets on the table: where points of each page (points) come to lie, in true mm."""

    def __init__(self, made: job.Printed, printer: SimulatedPrinter) -> None:
        self.made, self.printer = made, printer
        self.landscape = made.dealt[0].layout.lattice.form.orientation == "landscape"
        paths = pagereader.pages(made.data)
        entries = made.to_json()["sheets"]
        self.paths = {cell_of(entry["label"]): paths[entry["page"] - 1] for entry in entries}
        self.to_part = {cell_of(entry["label"]): entry["parts"][0]["to_part"] for entry in entries}
        self.marks = {cell: self._marks(cell) for cell in self.paths}
        self.shift = self._laid()

    def _marks(self, cell) -> dict:
        """Where the centres of a sheet's marks are printed, by seam; no sheet is laid yet."""
        x0, y0, x1, y1 = next(path.clip for path in self.paths[cell] if path.clip)
        clip = (x0 + EDGE, y0 + EDGE, x1 - EDGE, y1 - EDGE)
        overlap = self.made.dealt[0].layout.lattice.form.overlap / 256
        found = mark_centres(self.paths[cell], cell, clip, overlap)
        return {key: self.flat(mark) for key, mark in found.items()}

    def flat(self, points: np.ndarray) -> np.ndarray:
        return self.printer.printed(points * pagereader.POINT_MM, self.landscape)

    def at(self, cell, points: np.ndarray) -> np.ndarray:
        return self.flat(points) + self.shift[cell]

    def _laid(self) -> dict:
        """Sheet by sheet, each shifted so that its marks lie on those of the sheets laid before. All come out of the
        printer alike, so that no sheet needs a turn, and marks that are met twice must meet."""
        shift = {min(self.marks): np.zeros(2)}
        known = dict(self.marks[min(self.marks)])
        while len(shift) < len(self.marks):
            cell, keys = max(
                ((cell, known.keys() & marks.keys()) for cell, marks in self.marks.items() if cell not in shift),
                key=lambda one: len(one[1]),
            )
            marks = self.marks[cell]
            off = np.array([known[key] - marks[key] for key in keys])
            assert len(keys) >= 2
            assert np.ptp(off, axis=0).max() < 0.001
            shift[cell] = off.mean(axis=0)
            known |= {key: mark + shift[cell] for key, mark in marks.items()}
        return shift


def proof_points(taped: Taped) -> dict:
    """The circle where the base lines cross on every sheet, by the sheet's name."""
    found = {}
    for cell, paths in taped.paths.items():
        for path in paths:
            x0, y0, x1, y1 = path.box
            if path.closed and abs((x1 - x0) * pagereader.POINT_MM - 2 * PROOF_RADIUS_MM) < 0.05:
                found[cell_name(cell)] = taped.at(cell, np.array([(x0 + x1) / 2, (y0 + y1) / 2]))
    return found


def proofs_of(made: job.Printed):
    order = handmade.order_of(SHAPE.pattern)
    facts = cover_facts(order, made.dealt, made.form, (), None, made.recipe, None)
    return proof_distances(facts.patterns[0], order.display)


@pytest.mark.parametrize(("lying", "printer"), PAIRS)
def test_the_taped_pattern_is_true(lying, printer) -> None:
    paper_name, orientation, turn = lying
    made = sheets(printer, paper_name, orientation, turn)
    taped = Taped(made, printer)
    assert made.dealt[0].layout.turn == turn
    assert taped.landscape == (orientation == "landscape")
    points, found = proof_points(taped), proofs_of(made)
    assert len(points) == len(taped.paths)
    assert len(found) == 3
    for proof in found:
        length = np.linalg.norm(points[proof.to_sheet] - points[proof.from_sheet])
        assert abs(length - proof.distance_mm) < proof.distance_mm / 600
    before, after = cut_line(taped)
    motion = taping.fitted(after, before)
    off = distance(SHAPE.exact, motion(after))
    print(f"{lying}: cut line {off.max():.2f} mm off at most where it is laid best")
    assert off.max() < 0.6, "half of what a panel of 640 mm may be off from end to end, and a little"


@pytest.mark.parametrize(("lying", "printer"), PAIRS[:4])
def test_nothing_but_the_reading_of_the_rule_stands_between_the_taped_pattern_and_the_truth(lying, printer) -> None:
    made = sheets(printer, *lying, to=1e-9)
    taped = Taped(made, printer)
    points = proof_points(taped)
    for proof in proofs_of(made):
        length = np.linalg.norm(points[proof.to_sheet] - points[proof.from_sheet])
        assert length == pytest.approx(proof.distance_mm, abs=0.003)
    before, after = cut_line(taped)
    assert distance(SHAPE.exact, taping.fitted(after, before)(after)).max() < 0.01


def cut_line(taped: Taped) -> tuple[np.ndarray, np.ndarray]:
    """Points of the cut line on all sheets: on the part, as the job says, and on the table."""
    before, after = [], []
    for cell, paths in taped.paths.items():
        for path in paths:
            if pagereader.is_cut(path):
                rows = pagereader.along(path.beziers, 9).reshape(-1, 2)
                before.append(pagereader.mapped(taped.to_part[cell], rows))
                after.append(taped.at(cell, rows))
    return np.concatenate(before), np.concatenate(after)


# -------------------------------------------------------------------- bars


def printed_lines(path: pagereader.PaintedPath, printer: SimulatedPrinter, landscape: bool) -> np.ndarray:
    """The two ends of every line of a path, in true mm on paper."""
    return printer.printed(path.beziers[:, [0, 3]] * pagereader.POINT_MM, landscape)


@pytest.mark.parametrize(("lying", "printer"), PAIRS[:4])
def test_check_bars_measure_right_on_every_sheet_both_ways(lying, printer) -> None:
    made = sheets(printer, *lying, to=1e-9)
    landscape = lying[1] == "landscape"
    for page in pagereader.pages(made.data)[-len(made.sheets) :]:
        bars = []
        for path in page:
            lines = printed_lines(path, printer, landscape)
            lengths = np.linalg.norm(lines[:, 1] - lines[:, 0], axis=1)
            if (
                path.clip is None
                and len(lengths) in (1 + 6 + 3, 1 + 11 + 5)
                and min(abs(lengths[0] - (50.8, 101.6))) < 5
            ):
                bars.append((lines, lengths))
        assert len(bars) == 2, "a level one and an upright one"
        for lines, lengths in bars:
            inches, tens = (4, 10) if lengths[0] > 60 else (2, 5)
            assert lengths[0] == pytest.approx(25.4 * inches, abs=0.003)
            feet = lines[1:, 0]  # where the ticks leave the bar: the ten millimetres first, then the inches
            apart = np.linalg.norm(feet - feet[0], axis=1)
            wanted = [*(10.0 * k for k in range(tens + 1)), *(25.4 * k for k in range(inches + 1))]
            assert np.abs(apart - wanted).max() < 0.003
        level, upright = (lines[0, 1] - lines[0, 0] for lines, _ in bars)
        cosine = level @ upright / (np.linalg.norm(level) * np.linalg.norm(upright))
        assert abs(cosine) < 1e-3, "true bars stand square on paper"


def test_the_bars_of_the_cover_measure_right() -> None:
    printer = PRINTERS[0]
    made = sheets(printer, "A4", "landscape", 0, to=1e-9)
    lengths = []
    for path in pagereader.pages(made.data)[0]:
        lines = printed_lines(path, printer, landscape=False)
        lengths += list(np.linalg.norm(lines[:, 1] - lines[:, 0], axis=1))
    for bar in (100.0, 101.6):
        assert sum(abs(length - bar) < 0.003 for length in lengths) == 2, f"{bar} mm, level and upright"


# -------------------------------------------------------------------- words and other printers


@pytest.mark.parametrize("paper_name", ["A5", "A4", "letter"])
@pytest.mark.parametrize("orientation", ["portrait", "landscape"])
@pytest.mark.parametrize("name", ["study", "the old one in the hall"])
def test_every_sheet_and_the_cover_say_which_correction_they_carry(paper_name, orientation, name) -> None:
    known = printer_of(name, DRAWN, measured(PRINTERS[4], 0.25))
    form = SheetForm(paper(paper_name), orientation, printer=known)
    order = handmade.order_of(handmade.arched_panel(120, 90, 20, hole=8.0).pattern)
    first = job.make_sheets(order, SheetForm(paper(paper_name), printer=known))
    record = first.recipe.patterns[0]
    lattice = replace(record.layout.lattice, form=form)
    lying = replace(record, layout=replace(record.layout, lattice=lattice), slots={})
    made = job.make_sheets(order, form, like=replace(first.recipe, patterns=(lying,)))
    figures = in_words(known)
    with pymupdf.open(stream=made.data) as document:
        texts = [" ".join(page.get_text().split()) for page in document]
    assert f'corrected for "{name}": {figures}' in " ".join(texts[: -len(made.sheets)])
    for text in texts[-len(made.sheets) :]:
        assert figures in text
        assert f'"{name[:5]}' in text


def test_another_printer_s_sheets_lie_where_the_old_ones_lay() -> None:
    """--like with another printer: the same turn, and sheets in the same places on the part, within a division."""
    order = handmade.order_of(SHAPE.pattern)
    old = plain("A4")
    known = printer_of("study", DRAWN, measured(PRINTERS[0], 0.25))
    new = job.make_sheets(order, SheetForm(paper("A4"), printer=known), like=old.recipe)
    assert new.dealt[0].layout.turn == old.dealt[0].layout.turn
    starts = [
        made.dealt[0].layout.to_drawing.inverse().point(*made.dealt[0].layout.lattice.phase) for made in (old, new)
    ]
    assert np.abs(np.subtract(*starts)).max() < 0.002
    assert new.recipe.form.printer == known


@pytest.mark.parametrize("paper_name", ["A4", "letter", "roll 24 in"])
def test_small_patterns_on_a_shared_sheet_and_long_ones_off_a_roll_are_true(paper_name: str) -> None:
    """What a page does to a part, from the part to the paper, turns and shifts it and nothing else."""
    printer = PRINTERS[1]
    form = SheetForm(paper(paper_name), printer=printer_of("study", DRAWN, measured(printer, 1e-9)))
    shapes = [handmade.arched_panel(120, 90, 20, hole=8.0), handmade.flowing_rail(160, (22.0, 30.0, 12.0), 45.0)]
    made = job.make_sheets(handmade.order_of(*(shape.pattern for shape in shapes)), form)
    (page,) = made.to_json()["sheets"]
    assert len(page["parts"]) == 2
    landscape = made.dealt[0].layout.lattice.form.sheet.orientation == "landscape"
    cut = [path for path in pagereader.pages(made.data)[page["page"] - 1] if pagereader.is_cut(path)]
    shown = 0
    for part, shape in zip(page["parts"], shapes, strict=True):
        linear = np.array(part["to_part"][:4]).reshape(2, 2)
        moved = np.linalg.inv(linear) @ printer.printed(np.eye(2) * pagereader.POINT_MM, landscape)
        assert np.allclose(moved @ moved.T, np.eye(2), atol=1e-7)
        off = [
            distance(
                shape.exact, pagereader.mapped(part["to_part"], pagereader.along(path.beziers, 9)).reshape(-1, 2)
            ).max()
            for path in cut
        ]
        shown += sum(apart < 0.005 for apart in off)
    assert shown == len(cut)
