"""The map of a printer from four distances: against independent solvers, and in the worst case."""

from __future__ import annotations

import itertools
import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy import linalg, optimize
from simulatedprinter import QUARTERS, SimulatedPrinter, read

from patterns.affine import Affine
from tiling.distortion import (
    READ_TO_MM,
    SHEETS,
    Distances,
    Drawn,
    adjusted,
    distortion_of,
    misclosure,
    off_alone,
    printer_of,
    scale_error,
)
from tiling.form import SheetForm
from tiling.paper import paper
from tiling.printer import Printer, corrected_for, in_words

printers = st.builds(
    SimulatedPrinter, st.floats(0.985, 1.015), st.floats(0.985, 1.015), st.floats(-0.3, 0.3), st.floats(-2.0, 2.0)
)
sheets = st.sampled_from(sorted(SHEETS)).map(SHEETS.__getitem__)
misreadings = st.tuples(*[st.floats(-0.5, 0.5)] * 4)


def matrix(affine: Affine) -> np.ndarray:
    assert (affine.e, affine.f) == (0.0, 0.0)
    return np.array([[affine.a, affine.c], [affine.b, affine.d]])


def distances_of(printer: SimulatedPrinter, drawn: Drawn, off=(0.0, 0.0, 0.0, 0.0)) -> Distances:
    return Distances(*(printer.distances(drawn.width_mm, drawn.height_mm) + off))


def test_the_sheets_are_six_by_eight_inches_and_150_by_200_mm() -> None:
    assert SHEETS["mm"].distances.values() == (150.0, 200.0, 250.0, 250.0)
    assert np.allclose(np.array(SHEETS["in"].distances.values()) / 25.4, (6, 8, 10, 10))


@settings(max_examples=60, deadline=None)
@given(printers, sheets)
def test_what_is_found_is_the_printer_without_its_turn(printer: SimulatedPrinter, drawn: Drawn) -> None:
    """SciPy's polar decomposition, by singular values, gives the factor that turns nothing."""
    _, without_turn = linalg.polar(printer.matrix)
    found = matrix(distortion_of(drawn, distances_of(printer, drawn)))
    assert np.abs(found - without_turn).max() < 1e-12


@settings(max_examples=30, deadline=None)
@given(printers, sheets, misreadings)
def test_misread_distances_are_fitted_as_a_general_solver_fits_them(printer, drawn, off) -> None:
    """Levenberg and Marquardt's method (MINPACK in SciPy) over scale across, scale down and skew."""
    measured = distances_of(printer, drawn, off)

    def left(unknowns):
        fitted = SimulatedPrinter(*unknowns)
        return fitted.distances(drawn.width_mm, drawn.height_mm) - measured.values()

    solved = optimize.least_squares(left, (1.0, 1.0, 0.0), method="lm", xtol=1e-14, ftol=1e-14, gtol=1e-14)
    _, wanted = linalg.polar(SimulatedPrinter(*solved.x).matrix)
    assert np.abs(matrix(distortion_of(drawn, measured)) - wanted).max() < 1e-7
    nearest = adjusted(measured)
    assert abs(misclosure(nearest)) < 1e-8
    changes = np.array(nearest.values()) - measured.values()
    assert np.sum(changes**2) == pytest.approx(2 * solved.cost, rel=1e-6, abs=1e-12)


def test_one_wrong_distance_is_named_by_how_far_it_is_out() -> None:
    true = np.array(SHEETS["mm"].distances.values())
    for k in range(4):
        off = np.zeros(4)
        off[k] = 1.25
        assert off_alone(Distances(*(true + off))).values()[k] == pytest.approx(1.25, rel=0.01)


@pytest.mark.parametrize("wild", [(150, 200, 900, 10), (1, 1, 1, 500), (150, 200, 353, 6)])
def test_distances_of_no_page_are_an_error_and_not_a_number(wild) -> None:
    with pytest.raises(ValueError, match="belong to no"):
        distortion_of(SHEETS["mm"], Distances(*map(float, wild)))


# -------------------------------------------------------------------- how true it prints


def worst_of_600(drawn: Drawn, reading: float) -> float:
    """The largest error of a 600 mm distance over printers, extreme misreadings and directions."""
    angles = np.linspace(0, math.pi, 121)
    directions = 600 * np.stack([np.cos(angles), np.sin(angles)])
    worst = 0.0
    scales, skews = np.linspace(0.985, 1.015, 4), (-0.3, 0.0, 0.3)
    for across, down, skew in itertools.product(scales, scales, skews):
        printer = SimulatedPrinter(across, down, skew)
        for off in itertools.product((-reading, reading), repeat=4):
            correction = printer_of("study", drawn, distances_of(printer, drawn, off)).correction
            printed = printer.matrix @ matrix(correction) @ directions
            worst = max(worst, float(np.abs(np.linalg.norm(printed, axis=0) - 600).max()))
    return worst


def test_600_mm_come_out_within_1_mm_whatever_the_printer_and_however_it_is_read() -> None:
    """Readings to the nearest quarter of a millimetre are off by an eighth at most. The error is nearly linear in the
    four of them, and so greatest where each is off by its most: all 16 corners are tried."""
    worst = worst_of_600(SHEETS["mm"], READ_TO_MM / 2)
    print(f"a 600 mm distance is off by {worst:.3f} mm at most")
    assert 0.5 < worst < 1.0


def test_so_they_do_by_the_inch_sheet_read_to_a_hundredth() -> None:
    assert worst_of_600(SHEETS["in"], 0.005 * 25.4) < 1.0


@settings(max_examples=60, deadline=None)
@given(printers, st.floats(0, math.pi))
def test_within_the_corners_it_is_no_worse(printer: SimulatedPrinter, angle: float) -> None:
    drawn = SHEETS["mm"]
    measured = Distances(*read(np.array(distances_of(printer, drawn).values())))
    correction = printer_of("study", drawn, measured).correction
    printed = printer.matrix @ matrix(correction) @ (600 * np.array([math.cos(angle), math.sin(angle)]))
    assert abs(np.linalg.norm(printed) - 600) < 0.8


def test_the_error_that_is_left_is_known() -> None:
    """Against 4,000 readings drawn at random for a true printer, in the direction where they spread the most."""
    drawn = SHEETS["mm"]
    random = np.random.default_rng(4)
    angles = np.linspace(0, math.pi, 37)
    directions = np.stack([np.cos(angles), np.sin(angles)])
    lengths = []
    for _ in range(4000):
        off = random.uniform(-READ_TO_MM / 2, READ_TO_MM / 2, 4)
        measured = Distances(*(np.array(drawn.distances.values()) + off))
        lengths.append(np.linalg.norm(matrix(printer_of("", drawn, measured).correction) @ directions, axis=0))
    assert np.std(lengths, axis=0).max() == pytest.approx(scale_error(drawn), rel=0.05)


# -------------------------------------------------------------------- on sheets


@settings(max_examples=60, deadline=None)
@given(printers, st.sampled_from(sorted(QUARTERS)))
def test_a_sheet_that_lies_on_its_side_is_corrected_as_it_is_turned(printer: SimulatedPrinter, fed: str) -> None:
    """Either way round that a page is turned to be printed, it comes out true."""
    drawn = SHEETS["mm"]
    correction = printer_of("study", drawn, distances_of(printer, drawn))
    form = SheetForm(paper("A4"), "landscape", printer=correction)
    square = np.array([[0.0, 0.0], [100.0, 0.0], [100.0, 100.0], [0.0, 100.0]])
    printed = printer.printed(form.correction.apply(square), landscape=True, fed=fed)
    sides = np.linalg.norm(printed - np.roll(printed, 1, axis=0), axis=1)
    assert np.allclose(sides, 100.0, atol=1e-6)
    assert np.linalg.norm(printed[2] - printed[0]) == pytest.approx(100 * math.sqrt(2), abs=1e-6)


@settings(max_examples=60, deadline=None)
@given(printers, st.sampled_from(["A5", "A4", "letter"]), st.sampled_from([1.0, 25.4 / 8]), st.booleans())
def test_steps_between_sheets_are_whole_divisions_on_paper(printer, name: str, grid: float, landscape: bool) -> None:
    drawn = SHEETS["mm"]
    corrected = printer_of("study", drawn, distances_of(printer, drawn))
    form = SheetForm(paper(name), "landscape" if landscape else "portrait", grid_mm=grid, printer=corrected)
    plain = SheetForm(paper(name), form.orientation, grid_mm=grid)
    for axis in (0, 1):
        step = np.zeros(2)
        step[axis] = form.step[axis] * 25.4 / 18432
        printed = float(np.linalg.norm(printer.printed(step, landscape)))
        assert abs(printed / grid - round(printed / grid)) * grid < 0.0011  # a draw unit, less than a thousandth
        assert abs(form.step[axis] - plain.step[axis]) * 25.4 / 18432 < 0.016 * 420 + grid
        # To a draw unit, as steps and overlaps are rounded to one.
        assert form.page_mm[axis] - form.margin_mm - (form.corner[axis] + form.window[axis]) * 25.4 / 18432 > -0.0014


def test_a_sheet_says_which_printer_it_is_for() -> None:
    drawn = SHEETS["mm"]
    study = printer_of("study", drawn, distances_of(SimulatedPrinter(1 / 1.004, 1 / 0.999, 0.0), drawn))
    assert corrected_for(study) == 'corrected for "study": +0.40 % across, -0.10 % down, skew +0.00°'
    leaning = printer_of("hall", drawn, distances_of(SimulatedPrinter(1.0, 1.0, 0.12), drawn))
    assert in_words(leaning).endswith("skew +0.12°"), "what leans to the right is drawn leaning to the left"
    assert corrected_for(Printer()) == in_words(Printer()) == ""
    true = printer_of("study", drawn, drawn.distances)
    assert corrected_for(true) == 'corrected for "study": nothing to correct'
    assert true.correction == Affine()
