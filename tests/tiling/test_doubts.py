"""What is said of distances that can't be right, and that nothing is said of those that can."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st
from simulatedprinter import SimulatedPrinter, read

from tiling.distortion import SHEETS, Distances
from tiling.doubts import doubts, refusals

MM, INCH = SHEETS["mm"], SHEETS["in"]


def printed(across: float, down: float, skew: float = 0.0, drawn=MM) -> Distances:
    return Distances(*read(SimulatedPrinter(across, down, skew).distances(drawn.width_mm, drawn.height_mm)))


@settings(max_examples=60, deadline=None)
@given(st.floats(0.982, 1.018), st.floats(0.982, 1.018), st.floats(-0.6, 0.6), st.sampled_from([MM, INCH]))
def test_printers_that_are_a_little_off_are_taken_as_they_are(across, down, skew, drawn) -> None:
    other = 6 / (150 / 25.4)  # a page that looks like the other sheet, of course, is questioned
    assume(min(abs(across - other), abs(across - 1 / other)) > 0.005)
    measured = printed(across, down, skew, drawn)
    assert refusals(drawn, measured) == []
    assert doubts(drawn, measured) == ()


@pytest.mark.parametrize(
    ("measured", "said"),
    [
        (printed(0.941, 0.941), "94.1 % it was shrunk to fit the page"),
        (printed(0.973, 0.973), "97.3 % it was fitted to another paper size"),
        (printed(1.04, 1.04), "4.0 % too large across and 4.0 % too large down, alike both ways"),
        (printed(0.96, 1.0), "the page is 4.0 % too small across and 0.0 % too"),
        (printed(1.0, 1.0, 1.3), "skewed by 1.3 degrees"),
        (Distances(150.0, 200.0, 250.0, 252.0), "the four do not go together"),
        (Distances(151.5, 200.0, 250.0, 250.0), "--across is 1.5 mm too long"),
        (Distances(150.0, 201.5, 250.0, 250.0), "--down is 1.5 mm too long"),
        (Distances(150.0, 200.0, 248.0, 250.0), "--rising is 2.0 mm too short"),
        (INCH.distances, "those of the other test sheet, 6 in by 8 in"),
    ],
)
def test_what_is_questioned(measured: Distances, said: str) -> None:
    assert refusals(MM, measured) == []
    assert said in " | ".join(doubts(MM, measured))


def test_the_metric_sheet_taken_for_the_one_in_inches_is_questioned() -> None:
    (said,) = doubts(INCH, MM.distances)
    assert "150 mm by 200 mm" in said
    assert "--units mm" in said


def test_a_diagonal_read_half_a_millimetre_wrong_is_not_questioned() -> None:
    assert doubts(MM, Distances(150.0, 200.0, 250.5, 250.0)) == ()


@pytest.mark.parametrize(
    ("lengths", "said"),
    [
        ((200, 150, 250, 250), "have changed places"),
        ((199.5, 150.25, 249.5, 250), "have changed places"),
        ((250, 200, 150, 250), "it looks like a diagonal"),
        ((150, 250, 250, 250), "it looks like a diagonal"),
        ((150, 150, 250, 250), "it looks like across"),
        ((150, 200, 250, 200.5), "it looks like down"),
        ((0, 200, 250, 250), "more than nothing"),
        ((150, -200, 250, 250), "more than nothing"),
        ((15, 20, 25, 25), "ten times too short"),
        ((1500, 2000, 2500, 2500), "ten times too long"),
        ((150 / 25.4, 200 / 25.4, 250 / 25.4, 250 / 25.4), "25.4 times too short; is its unit right?"),
        ((150, 200, 250, 1e300), "measure it again"),
        ((106, 141.5, 176.75, 177), "all four are about 71 % of what is drawn"),
        ((150, 200, 275, 222), "no printer does that"),
    ],
)
def test_what_is_refused_outright(lengths, said: str) -> None:
    problems = refusals(MM, Distances(*map(float, lengths)))
    assert said in " | ".join(map(str, problems))


@settings(max_examples=60, deadline=None)
@given(st.lists(st.floats(-1e4, 1e4), min_size=4, max_size=4), st.sampled_from([MM, INCH]))
def test_any_four_numbers_are_answered(lengths, drawn) -> None:
    measured = Distances(*lengths)
    if not refusals(drawn, measured):
        doubts(drawn, measured)


@settings(max_examples=60, deadline=None)
@given(*[st.floats(0.8, 1.2)] * 4, st.sampled_from([MM, INCH]))
def test_what_is_not_refused_can_be_worked_with(a, b, c, d, drawn) -> None:
    from tiling.distortion import printer_of

    measured = Distances(*(np.array(drawn.distances.values()) * (a, b, c, d)))
    if not refusals(drawn, measured):
        doubts(drawn, measured)
        correction = printer_of("study", drawn, measured).correction
        assert max(abs(correction.a - 1), abs(correction.b), abs(correction.d - 1)) < 1
