"""Words on pages: wrapped by their true width, never over one another, never off the page."""

from __future__ import annotations

import itertools

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from patterns.lettering import shape
from tiling.content import Content
from tiling.flow import COLUMN_GAP_MM, Block, Frame, Pages, heading, paragraph, stacked, table
from tiling.wrap import ELLIPSIS, fitted, plain, wrapped

FRAME = Frame(12.0, 18.0, 186.0, 240.0)
WORDS = "The trimmed edge lies on the overlap of the sheet before it, half mark to half mark. " * 3

odd_text = st.text(st.characters(exclude_categories=["Cs"]), max_size=60) | st.text(
    "ab é\u0301-\u00a0\u202e\n曲", max_size=80
)


class Laid:
    """Blocks that remember where they were drawn: (page, x0, y0, x1, y1)."""

    def __init__(self, pages: Pages) -> None:
        self.pages = pages
        self.places: dict[int, tuple[int, float, float, float, float]] = {}

    def block(self, number: int, width: float, height: float, **more: object) -> Block:
        def draw(page: Content, x: float, y: float) -> None:
            on = next(k for k, content in enumerate(self.pages.contents) if content is page)
            self.places[number] = (on, x, y - height, x + width, y)

        return Block(height, draw, **more)


# -------------------------------------------------------------------- wrapping


@settings(max_examples=100, deadline=None)
@given(odd_text, st.floats(8.0, 120.0), st.floats(2.0, 6.0))
def test_no_line_is_wider_than_its_column_and_no_letter_is_lost(text, width, height):
    lines = wrapped(text, width, height)
    assert lines
    for line in lines:
        # Kerning over a space may differ a little from the sum of the words. One letter alone may be all too wide.
        too_wide = bool(line) and shape(line, height).width > width + 0.1 * height
        assert not too_wide or len(plain(line)) <= 3, line
    kept = "".join(plain(part) for part in text.splitlines())
    assert "".join(lines).replace(" ", "") == kept.replace(" ", "")


def test_words_are_kept_whole_where_they_can_be():
    for line in wrapped(WORDS, 60.0, 2.3):
        assert set(line.split()) <= set(WORDS.split())


def test_a_word_wider_than_the_column_is_broken_with_its_accents_kept_on_their_letters():
    lines = wrapped("x\u0301" * 60, 20.0, 2.3)
    assert len(lines) > 1
    assert all(line.startswith("x") for line in lines)


def test_line_breaks_of_the_maker_are_kept_and_other_control_characters_are_not():
    assert wrapped("one\ntwo\tthree\x00four", 100.0, 2.3) == ["one", "two three four"]
    assert wrapped("", 100.0, 2.3) == [""]


def test_a_no_break_space_holds_two_words_together():
    lines = wrapped("aaaa bbbb cccc\u00a0dddd", 24.0, 2.3)
    assert any("cccc\u00a0dddd" in line for line in lines)


def test_what_must_stand_on_one_line_is_cut_short_with_an_ellipsis():
    assert fitted("short", 60.0, 2.3) == "short"
    cut = fitted("a very long title of a piece " * 4, 60.0, 2.3)
    assert cut.endswith(ELLIPSIS)
    assert shape(cut, 2.3).width <= 60.0


# -------------------------------------------------------------------- pages

block_sizes = st.lists(
    st.tuples(st.floats(1.0, 115.0), st.floats(0.0, 6.0), st.booleans()),
    min_size=1,
    max_size=30,
)


@settings(max_examples=80, deadline=None)
@given(st.lists(st.tuples(block_sizes, st.integers(1, 3)), min_size=1, max_size=4))
def test_blocks_never_overlap_and_never_leave_the_frame(sections):
    pages = Pages(FRAME)
    laid, number = Laid(pages), itertools.count()
    for sizes, columns in sections:
        width = FRAME.column_width(columns)
        keeps = [keep and k % 2 == 0 for k, (_, _, keep) in enumerate(sizes)]  # pairs, so that a run fits a page
        pages.place(
            [
                laid.block(next(number), width, height, before=before, keeps_next=keep)
                for (height, before, _), keep in zip(sizes, keeps, strict=True)
            ],
            columns,
        )
    assert len(laid.places) == next(number)
    for on, x0, y0, x1, y1 in laid.places.values():
        assert x0 >= FRAME.left - 1e-6 and x1 <= FRAME.left + FRAME.width + 1e-6
        assert y1 <= FRAME.top + 1e-6
        assert y0 >= FRAME.bottom - 1e-6
        assert on < len(pages.contents)
    for a, b in itertools.combinations(laid.places.values(), 2):
        apart = a[3] <= b[1] + 1e-6 or b[3] <= a[1] + 1e-6 or a[4] <= b[2] + 1e-6 or b[4] <= a[2] + 1e-6
        assert a[0] != b[0] or apart


def test_a_heading_stays_with_what_follows():
    pages = Pages(FRAME)
    laid = Laid(pages)
    pages.place([laid.block(0, 100.0, 225.0), laid.block(1, 100.0, 6.0, keeps_next=True), laid.block(2, 100.0, 20.0)])
    assert laid.places[1][0] == laid.places[2][0] == 1


def test_columns_come_out_even():
    pages = Pages(FRAME)
    laid = Laid(pages)
    pages.place([laid.block(k, 80.0, 10.0) for k in range(10)], columns=2)
    left = [place for place in laid.places.values() if place[1] == FRAME.left]
    assert len(left) == 5
    assert {place[1] for place in laid.places.values()} == {FRAME.left, FRAME.left + 89.0 + COLUMN_GAP_MM}


def test_what_is_longer_than_a_page_goes_on_over_the_page():
    pages = Pages(FRAME)
    laid = Laid(pages)
    long = stacked([laid.block(k, 100.0, 30.0) for k in range(20)])
    pages.place([long])
    assert [laid.places[k][0] for k in range(20)] == [0] * 8 + [1] * 8 + [2] * 4


def test_a_head_goes_to_the_next_page_together_with_its_columns():
    pages = Pages(FRAME)
    laid = Laid(pages)
    pages.place([laid.block(0, 100.0, 200.0)])
    pages.place([laid.block(k, 80.0, 30.0) for k in (2, 3, 4, 5)], 2, head=laid.block(1, 100.0, 8.0))
    assert {laid.places[k][0] for k in (1, 2, 3, 4, 5)} == {1}


# -------------------------------------------------------------------- blocks


def test_a_paragraph_is_as_high_as_its_lines():
    one, three = paragraph("word", 100.0), paragraph("word\nword\nword", 100.0)
    assert three.height == pytest.approx(3 * one.height)
    assert len(three.pieces) == 3


def test_a_heading_keeps_with_the_next_block():
    assert heading("Trim", 80.0).keeps_next


def test_a_table_fits_its_width_and_wraps_only_what_is_long():
    rows = [("body_width", "11 1/2 in", WORDS), ("arch_rise", "1 7/8 in", "rise")]
    blocks = table(rows, 120.0, header=("Size", "Value", "What it is"))
    assert len(blocks) == 3
    first, second = blocks[1], blocks[2]
    assert first.height > 3 * second.height  # the note wraps, the others need one line


def test_a_table_row_taller_than_a_page_is_broken_into_lines():
    pages = Pages(Frame(12.0, 18.0, 100.0, 60.0))
    pages.place(table([("note", WORDS * 10)], 100.0))
    assert len(pages.contents) > 1
