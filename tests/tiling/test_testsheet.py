"""The printer's test sheet: crosses where they should be, found by a library that did not draw them; words and paper."""

from __future__ import annotations

import io

import numpy as np
import pagereader
import pikepdf
import pymupdf
import pytest

from tiling.distortion import SHEETS, Drawn
from tiling.paper import paper
from tiling.testsheet import ARM_MM, RING_MM, made, page_of, room_for

PAPERS = ["A4", "letter", "legal", "A3", "roll 24 in"]
CORNERS = {"A": (0, 0), "B": (1, 0), "C": (1, 1), "D": (0, 1)}


def crosses(data: bytes) -> np.ndarray:
    """Where the two lines of each cross meet (mm from the page's lower left corner): A, B, C, D."""
    (page,) = pagereader.pages(data)
    lines = [row for path in page for row in path.beziers[:, [0, 3]] * pagereader.POINT_MM if not path.closed]
    arms = [row for row in lines if abs(np.linalg.norm(row[1] - row[0]) - 2 * ARM_MM) < 0.01]
    assert len(arms) == 8
    level = [row for row in arms if row[0, 1] == row[1, 1]]
    upright = [row for row in arms if row[0, 0] == row[1, 0]]
    found = [(b[0, 0], a[0, 1]) for a in level for b in upright if np.linalg.norm(a.mean(0) - b.mean(0)) < 0.01]
    low = sorted(found, key=lambda at: at[1])
    return np.array([*sorted(low[:2]), *sorted(low[2:], reverse=True)])


def text_of(data: bytes) -> str:
    with pymupdf.open(stream=data) as document:
        return " ".join(document[0].get_text().split())


@pytest.mark.parametrize("drawn", SHEETS.values(), ids=SHEETS)
@pytest.mark.parametrize("name", PAPERS)
def test_the_crosses_are_where_they_are_said_to_be(name: str, drawn: Drawn) -> None:
    data = made(drawn, paper(name))
    a, b, c, d = crosses(data)
    wanted = drawn.distances.values()
    for (start, end), length in zip(((a, b), (d, a), (a, c), (d, b)), wanted, strict=True):
        assert np.linalg.norm(end - start) == pytest.approx(length, abs=0.003)
    assert a[0] == d[0]
    assert a[1] == b[1]


@pytest.mark.parametrize("drawn", SHEETS.values(), ids=SHEETS)
@pytest.mark.parametrize("name", PAPERS)
def test_everything_is_within_reach_of_the_printer_and_no_words_touch_a_cross(name: str, drawn: Drawn) -> None:
    data = made(drawn, paper(name))
    page = page_of(drawn, paper(name))
    with pymupdf.open(stream=data) as document:
        height = document[0].rect.height
        boxes = [np.array(w[:4]) * pagereader.POINT_MM for w in document[0].get_text("words")]
        assert len(document) == 1
        assert document[0].rect.width * pagereader.POINT_MM == pytest.approx(page.width_mm, abs=0.01)
    for x0, y0, x1, y1 in boxes:
        assert x0 > 7 and y0 > 7 and x1 < page.width_mm - 7 and y1 < page.height_mm - 7
        low, high = height * pagereader.POINT_MM - y1, height * pagereader.POINT_MM - y0
        for at in crosses(data):
            nearest = np.clip(at, (x0, low), (x1, high))
            assert np.linalg.norm(nearest - at) > RING_MM


def test_the_letters_stand_at_their_corners() -> None:
    data = made(SHEETS["mm"], paper("A4"))
    at = dict(zip("ABCD", crosses(data), strict=True))
    with pymupdf.open(stream=data) as document:
        height = document[0].rect.height * pagereader.POINT_MM
        words = [(w[4], (np.array(w[:2]) + w[2:4]) / 2 * pagereader.POINT_MM) for w in document[0].get_text("words")]
    for letter, corner in at.items():
        near = [word for word, place in words if np.linalg.norm(corner - (place[0], height - place[1])) < 12]
        assert near == [letter]


def test_it_asks_to_be_printed_at_actual_size_and_holds_nothing_of_the_clock() -> None:
    data = made(SHEETS["in"], paper("letter"))
    assert data == made(SHEETS["in"], paper("letter"))
    with pikepdf.open(io.BytesIO(data)) as pdf:
        assert pdf.Root.ViewerPreferences.PrintScaling == "/None"
    assert "actual size (100 %)" in text_of(data)
    assert "6 in across, 8 in down and 10 in on both diagonals" in text_of(data)


def test_small_paper_has_no_room() -> None:
    assert not room_for(SHEETS["mm"], paper("A5"))
    with pytest.raises(ValueError, match="no room"):
        made(SHEETS["mm"], paper("A5"))
