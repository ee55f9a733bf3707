"""The cover, read back by a PDF library that had no part in writing it (MuPDF)."""

from __future__ import annotations

import io
import itertools
import math

import numpy as np
import pymupdf
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from msgspec.structs import replace
from pypdf import PdfWriter
from pypdf.generic import DictionaryObject, NameObject, StreamObject

from patterns.affine import Affine
from patterns.curve import Curve
from patterns.display import Display
from patterns.outline import Outline
from patterns.pattern import Pattern, Role, Stroke
from tiling import cautions
from tiling.content import NARROW
from tiling.cover import CoverFacts, PatternOnCover, SheetOnCover, cover_pages
from tiling.fates import REPLACED, SheetFate
from tiling.fontfile import add_font
from tiling.form import SheetForm
from tiling.lattice import Lattice
from tiling.paper import Paper
from tiling.pictures import picture
from tiling.posterboard import PosterBoard, boards_needed, usual_board
from tiling.proofs import proof_distances
from tiling.units import UNITS_PER_MM

MM = 25.4 / 72
LETTER = SheetForm(Paper("letter", 215.9, 279.4), grid_mm=3.175)
A4 = SheetForm(Paper("A4", 210.0, 297.0))
PAPERS = [
    LETTER,
    A4,
    SheetForm(Paper("A5", 148.0, 210.0)),
    SheetForm(Paper("tabloid", 279.4, 431.8)),
    SheetForm(Paper("100 x 120 mm", 100.0, 120.0), margin_mm=3.0),
]


def _board(name, width, height):
    """A plain rectangle: no line of it is aslant."""
    edge = Curve.polyline([(0, 0), (width, 0), (width, height), (0, height)], closed=True)
    return Pattern(name, name, name, Outline(edge), (Stroke(Role.CUT, edge, "edges"),), (), (), 0.0)


def _on_cover(pattern, form=LETTER, states=lambda cell: "print", word=lambda cell: f"ka{cell[0]}lu{cell[1]}"):
    _, _, width, height = pattern.outline.bounds
    across, up = form.step
    columns = math.ceil(width * UNITS_PER_MM / across)
    rows = math.ceil(height * UNITS_PER_MM / up)
    cells = [(column, row) for row in range(rows) for column in range(columns)]
    sheets = tuple(SheetOnCover(cell, states(cell), "" if states(cell) == "left out" else word(cell)) for cell in cells)
    return PatternOnCover(pattern, Lattice(form, (0, 0)), Affine.scaling(UNITS_PER_MM), sheets)


def _facts(form=LETTER, patterns=None, **more):
    units = "in" if form is LETTER else "mm"
    patterns = (_on_cover(_board("side", 480.0, 300.0), form),) if patterns is None else patterns
    facts = {"title": "Wren cradle", "recipe_word": "mirula", **more}
    return CoverFacts(form=form, units=units, display=Display(units), patterns=tuple(patterns), **facts)


def _read(facts):
    """The cover as a PDF, opened by MuPDF."""
    contents, writer = cover_pages(facts), PdfWriter()
    font = add_font(writer, {number: text for page in contents for number, text in page.glyphs.items()})
    resources = DictionaryObject({NameObject("/Font"): DictionaryObject({NameObject("/F"): font})})
    for content in contents:
        page = writer.add_blank_page(facts.form.paper.width_mm / MM, facts.form.paper.height_mm / MM)
        stream = StreamObject()
        stream.set_data(content.stream())
        page[NameObject("/Contents")] = writer._add_object(stream)
        page[NameObject("/Resources")] = resources
    file = io.BytesIO()
    writer.write(file)
    return pymupdf.open(stream=file.getvalue(), filetype="pdf")


def _words(document):
    return " ".join(" ".join(page.get_text().split()) for page in document).replace("\u00a0", " ")


def _lines(page):
    """All straight lines of a page: (x0, y0, x1, y1, width) in mm."""
    for path in page.get_drawings():
        for item in path["items"]:
            if item[0] == "l":
                yield (*(value * MM for point in item[1:3] for value in point), path["width"] * MM)


def _aslant(document):
    return [line for page in document for line in _lines(page) if abs(line[0] - line[2]) > 0.1 < abs(line[1] - line[3])]


# -------------------------------------------------------------------- the check bars


def _run(line, across):
    """A line as (start, end) along one axis and (start, end) along the other, each in order."""
    x, y = sorted((line[0], line[2])), sorted((line[1], line[3]))
    return (x, y) if across else (y, x)


@pytest.mark.parametrize("form", [LETTER, A4], ids=lambda form: form.paper.name)
@pytest.mark.parametrize("length", [100.0, 101.6])
@pytest.mark.parametrize("across", [True, False])
def test_the_first_page_has_bars_of_100_mm_and_4_in_both_ways_between_their_end_lines(form, length, across):
    runs = [_run(line, across) for line in _lines(_read(_facts(form))[0])]
    bars = [run for run in runs if abs(run[0][1] - run[0][0] - length) < 0.01 and run[1][1] - run[1][0] < 0.01]
    assert len(bars) == 1
    ends, (at, _) = bars[0]
    for end in ends:
        square = [beside for along, beside in runs if abs(along[0] - end) < 0.01 and along[1] - along[0] < 0.01]
        assert any(low < at - 2 and high > at + 2 for low, high in square)


def test_a_page_too_small_for_them_has_bars_of_50_mm_and_2_in():
    lines = list(_lines(_read(_facts(PAPERS[-1]))[0]))
    for length in (50.0, 50.8):
        assert any(abs(abs(x1 - x0) - length) < 0.01 for x0, _, x1, _, _ in lines)
        assert any(abs(abs(y1 - y0) - length) < 0.01 for _, y0, _, y1, _ in lines)


def test_the_words_beside_the_bars_say_to_print_this_page_alone_at_actual_size():
    first = " ".join(_read(_facts())[0].get_text().split())
    assert "print this page alone" in first and "actual size (100 %)" in first


# -------------------------------------------------------------------- what it tells


def test_it_tells_what_the_job_is():
    sizes = (("arch_rise", "1 3/4 in (44.5 mm)", "rise of the foot board's arch"),)
    facts = _facts(
        revision="B", date="2025-03-04", about="For a large doll.", sizes=sizes, warnings=("too tight a curve",)
    )
    words = _words(_read(facts))
    expected = ["Wren cradle", "Revision B", "2025-03-04", "mirula", "For a large doll.", "too tight a curve"]
    for text in [*expected, *sizes[0]]:
        assert text in words


def test_every_sheet_is_listed_with_its_fingerprint_and_every_proof_with_its_tolerance():
    facts = _facts()
    words = _words(_read(facts))
    for sheet in facts.patterns[0].sheets:
        assert f"{sheet.name} {sheet.word}" in words
    for proof in proof_distances(facts.patterns[0], facts.display):
        assert f"{proof.from_sheet} to {proof.to_sheet} {proof.text} ± {proof.tolerance_text}" in words


def test_every_part_has_its_size():
    words = _words(_read(_facts(patterns=[_on_cover(_board("rocker", 508.0, 107.95))])))
    assert "20 in (508 mm) by 4 1/4 in (108 mm)" in words


def test_all_cautions_are_there_and_the_one_about_children_is_the_first():
    words = _words(_read(_facts()))
    for caution in cautions.CAUTIONS:
        assert caution in words
    assert "must meet the current safety standard where you live" in cautions.CAUTIONS[0]
    everything = " ".join(cautions.CAUTIONS).lower()
    for word in ("guard", "eye protection", "ear protection", "dust", "manual", "knife", "spray adhesive", "teacher"):
        assert word in everything


def test_a_job_of_single_sheets_says_nothing_of_taping():
    words = _words(_read(_facts(patterns=[_on_cover(_board("peg", 90.0, 40.0))])))
    assert "Tape, row by row" not in words and "Proof distances" not in words
    assert "on one sheet" in words and "Paste and cut" in words


# -------------------------------------------------------------------- the pictures


def test_a_sheet_that_is_not_needed_is_crossed_out_and_one_with_marks_only_is_crossed_once():
    left_out = _on_cover(
        _board("panel", 700.0, 700.0), states=lambda c: "left out" if c in {(2, 2), (3, 2)} else "print"
    )
    # Two sheets and the sign in the legend, two strokes each; a first printing draws nothing else aslant.
    assert len(_aslant(_read(_facts(patterns=[left_out])))) == 3 * 2
    joined = _on_cover(_board("panel", 700.0, 700.0), states=lambda c: "join" if c == (1, 1) else "print")
    # One stroke, open round the sheet's name, and the sign.
    assert len(_aslant(_read(_facts(patterns=[joined])))) == 2 + 1
    assert "B2 with marks only" in _words(_read(_facts(patterns=[joined])))


def test_a_reprint_tells_print_keep_and_throw_away_apart_without_colour():
    states = {(0, 0): "print", (1, 0): "keep", (2, 0): "discard", (3, 0): "left out"}
    on_cover = _on_cover(_board("panel", 700.0, 200.0), states=states.__getitem__)
    fates = tuple(
        SheetFate("panel", name, state) for name, state in (("A1", "print"), ("A2", "keep"), ("A3", "discard"))
    )
    document = _read(_facts(patterns=[on_cover], reprint=True, fresh_sheet_count=3, fates=fates))
    bold = [path for page in document for path in page.get_drawings() if path["width"] * MM > 0.5]
    frames = [path for path in bold if any(item[0] == "re" for item in path["items"])]
    crosses = [item for path in bold for item in path["items"] if item[0] == "l"]
    assert len(frames) == 2  # the sheet to print, and the sign
    assert len(crosses) == 4 + 2  # two strokes open round the name, and the sign
    words = _words(document)
    assert "Pattern Print Keep Throw away panel A1 A2 A3" in words
    assert "would take 3 sheets" in words and "print * " not in words


def test_the_old_print_of_a_sheet_that_is_printed_anew_is_thrown_away_in_so_many_words():
    """In the terminal's words; the parts that are there no longer are told as well."""
    on_cover = _on_cover(_board("panel", 500.0, 150.0))
    first, *others = on_cover.sheets
    patterns = [replace(on_cover, sheets=(replace(first, replaces=True), *others))]
    fates = (
        SheetFate("panel", "A1", "discard"),
        *(SheetFate("panel", sheet.name, "print") for sheet in on_cover.sheets),
        SheetFate("lid", "A1", "discard"),
        SheetFate("lid", "shared 2", "discard"),
    )
    words = _words(_read(_facts(patterns=patterns, reprint=True, fates=fates)))
    assert "Throw away panel A1, A2, A3 none A1 lid none none A1, shared 2 Throw away old prints" in words
    assert f"* {REPLACED}" in words and "A1 print *" in words and "A2 print A3 print" in words


def test_every_sheet_is_named_in_the_picture_or_by_its_row_and_column():
    small = _on_cover(_board("panel", 500.0, 500.0))
    large = _on_cover(_board("wall", 180.0 * 60, 250.0 * 12))
    assert picture(small, 180.0, 90.0).names_in_cells
    assert not picture(large, 180.0, 90.0).names_in_cells
    assert " 1 " in _words(_read(_facts(patterns=[large])))


@pytest.mark.parametrize("box", [(180.0, 90.0), (55.0, 60.0), (90.0, 40.0)])
@pytest.mark.parametrize("size", [(500.0, 100.0), (100.0, 900.0), (3600.0, 2600.0)])
def test_a_picture_fits_its_box_and_keeps_the_shape_of_a_sheet(size, box):
    shown = picture(_on_cover(_board("panel", *size)), *box)
    assert shown.width <= box[0] + 1e-6 and shown.height <= box[1] + 1e-6
    across, up = LETTER.step
    assert shown.cell_mm[0] / shown.cell_mm[1] == pytest.approx(across / up)


def test_the_pictured_outline_lies_where_it_lies_on_the_sheets():
    """A board of 2.5 by 1.5 sheets: its corner is half a cell into the third column, half into the second row."""
    step = np.array(LETTER.step) / UNITS_PER_MM
    on_cover = _on_cover(_board("panel", 2.5 * step[0], 1.5 * step[1]))
    document = _read(_facts(patterns=[on_cover]))
    page, cut = next(
        (page, path["rect"]) for page in document for path in page.get_drawings() if path["width"] * MM > 0.25
    )
    corner = [ln for ln in _lines(page) if math.dist(ln[:2], (cut.x0 * MM, cut.y1 * MM)) < 0.02]
    (cell_width,) = {round(ln[2] - ln[0], 2) for ln in corner if ln[2] - ln[0] > 1}
    (cell_height,) = {round(ln[1] - ln[3], 2) for ln in corner if ln[1] - ln[3] > 1}
    assert cut.width * MM == pytest.approx(2.5 * cell_width, abs=0.05)
    assert cut.height * MM == pytest.approx(1.5 * cell_height, abs=0.05)


# -------------------------------------------------------------------- how it looks


def _overlapping(page):
    """Pairs of printed lines of words whose boxes lie over one another by more than a hair."""
    lines = [line for block in page.get_text("dict")["blocks"] for line in block.get("lines", ())]
    spans = [span for line in lines for span in line["spans"] if span["text"].strip()]
    boxes = [pymupdf.Rect(span["bbox"]) for span in spans]
    for one, two in itertools.combinations(range(len(boxes)), 2):
        both = boxes[one] & boxes[two]
        # The box of a span is the font's, from ascender to descender: 1.36 of its size, set at 1.23.
        if both.width > 0.8 and both.height > 0.3 * min(boxes[one].height, boxes[two].height):
            yield spans[one]["text"], spans[two]["text"]


def _check_page(page, form):
    margin = form.margin_mm / MM
    room = pymupdf.Rect(margin, margin, page.rect.x1 - margin, page.rect.y1 - margin)
    marks = [pymupdf.Rect(path["rect"]) for path in page.get_drawings()]
    words = [pymupdf.Rect(word[:4]) for word in page.get_text("words")]
    for box in [*marks, *words]:
        assert box.x0 >= room.x0 and box.y0 >= room.y0 and box.x1 <= room.x1 and box.y1 <= room.y1
    assert not list(_overlapping(page))


@pytest.mark.parametrize("form", PAPERS, ids=lambda form: form.paper.name)
def test_nothing_overlaps_and_nothing_leaves_the_paper(form):
    names = ["rocker", "foot board", "head board", "side", "an apron with a long name that wraps", "peg"]
    patterns = [_on_cover(_board(name, 420.0 - 60 * k, 260.0 - 30 * k), form) for k, name in enumerate(names)]
    sizes = tuple((f"size_{k}", "11 1/2 in (292.0 mm)", "length of the foot board " * (k % 3)) for k in range(20))
    facts = _facts(form, patterns, about="For a class. " * 30, sizes=sizes, warnings=("too tight " * 20,) * 4)
    for page in _read(facts):
        _check_page(page, form)


def test_lines_are_black_and_never_thin_and_nothing_is_filled():
    states = {(0, 0): "print", (1, 0): "keep", (2, 0): "discard", (3, 0): "left out"}
    on_cover = _on_cover(_board("panel", 700.0, 200.0), states=states.__getitem__)
    for page in _read(_facts(patterns=[on_cover], reprint=True)):
        for path in page.get_drawings():
            assert path["type"] == "s" and path["color"] in ((0.0,), (0.0, 0.0, 0.0))
            assert path["width"] * MM >= NARROW / UNITS_PER_MM - 1e-3
        for block in page.get_text("dict")["blocks"]:
            for span in (span for line in block["lines"] for span in line["spans"]):
                assert span["size"] * MM * 0.714 >= 2.2
                assert span["color"] == 0


@settings(max_examples=25, deadline=None)
@given(st.text(max_size=200), st.text(max_size=400), st.text(max_size=60))
def test_whatever_the_maker_writes_is_laid_out(title, about, name):
    pattern = _board(name, 300.0, 200.0)
    sizes = ((name, about, title),)
    facts = _facts(A4, [_on_cover(pattern, A4)], about=about, sizes=sizes, warnings=(title,), revision=name)
    pages = cover_pages(replace(facts, title=title))
    assert pages and all(page.stream() for page in pages)


def test_odd_texts_never_overlap():
    odd = "Ti\u0000\u202etle 曲線 Ünï é\u0301 " + "Zimmermannswinkel" * 12 + " with\nline\tbreaks"
    facts = _facts(
        A4, [_on_cover(_board(odd, 300.0, 200.0), A4)], about=odd * 3, sizes=((odd, odd, odd),) * 2, warnings=(odd,)
    )
    for page in _read(facts):
        assert not list(_overlapping(page))


def test_the_same_facts_give_the_same_bytes():
    facts = _facts()
    assert [page.stream() for page in cover_pages(facts)] == [page.stream() for page in cover_pages(facts)]


def test_a_job_of_200_sheets_is_told_in_full():
    on_cover = _on_cover(_board("wall", 184.0 * 20, 247.0 * 10))
    words = _words(_read(_facts(patterns=[on_cover])))
    assert all(f"{sheet.name} {sheet.word}" in words for sheet in on_cover.sheets)
    assert len(on_cover.sheets) == 200


# -------------------------------------------------------------------- poster board


def test_small_patterns_share_a_board_and_a_large_one_takes_several():
    board = PosterBoard("500 x 700 mm", 500.0, 700.0)
    assert boards_needed([], board) == 0
    assert boards_needed([(300.0, 200.0)], board) == 1
    assert boards_needed([(300.0, 200.0)] * 4, board) == 1  # two by two, turned: 640 by 440
    assert boards_needed([(480.0, 680.0)] * 2, board) == 2
    assert boards_needed([(1300.0, 400.0)], board) == 2
    assert boards_needed([(400.0, 1300.0)], board) == 2


@settings(max_examples=60, deadline=None)
@given(
    st.lists(st.tuples(st.floats(20.0, 1500.0), st.floats(20.0, 1500.0)), max_size=12), st.sampled_from(["in", "mm"])
)
def test_boards_are_never_fewer_than_the_area_asks_for_nor_more_than_one_by_one(sizes, units):
    board = usual_board(units)
    count = boards_needed(sizes, board)
    area = sum((w + 20.0) * (h + 20.0) for w, h in sizes)
    assert count >= math.ceil(area / (board.width_mm * board.height_mm) - 1e-9)
    assert count <= sum(boards_needed([size], board) for size in sizes)


def test_the_board_is_of_the_size_that_shops_carry_and_is_said():
    """22 x 28 in and 500 x 700 mm: common practice, no source."""
    assert "1 board of 22 × 28 in" in _words(_read(_facts(patterns=[_on_cover(_board("peg", 90.0, 40.0))])))
    assert "1 board of 500 × 700 mm" in _words(_read(_facts(A4, [_on_cover(_board("peg", 90.0, 40.0), A4)])))


def test_sheets_that_little_holds_to_each_other_are_set_by_the_rule():
    """The legs of an arch, which meet at its top only; a block of sheets needs no such word."""
    arch = [(c, r) for c in range(9) for r in range(5) if r == 4 or c in (0, 8)]
    block = [(c, r) for c in range(3) for r in range(3)]
    board = _on_cover(_board("side", 100.0, 100.0))
    told = []
    for cells in (arch, block):
        sheets = tuple(SheetOnCover(cell, "print", "word") for cell in cells)
        told.append(_words(_read(_facts(patterns=[replace(board, sheets=sheets)]))))
    advice = cautions.holding_loosely("side", "A1", "A9")
    assert advice in told[0] and "to each other" not in told[1]
