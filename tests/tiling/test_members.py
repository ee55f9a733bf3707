"""Whom the sheets are for: the name is on the cover and on every sheet, and makes no sheet another than it was."""

from __future__ import annotations

from functools import cache

import fromfile
import pymupdf
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from msgspec.structs import replace

from patterns.affine import Affine
from tiling import job, recipe
from tiling.form import SheetForm
from tiling.paper import paper
from tiling.printer import Printer

NAME = "Ines Varga-Lindqvist"
SMALL = """\
curvewright = 1
title = "Pegs"
units = "in"
[[part]]
name = "peg"
blank = { length = "3", width = "1" }
[[part]]
name = "button"
blank = { length = "2", width = "1" }
"""
FORMS = {
    "A4": SheetForm(paper("A4")),
    "A5": SheetForm(paper("A5")),
    "letter, corrected": SheetForm(
        paper("letter"), printer=Printer("the old laser printer", Affine.scaling(1.0031, 0.9987), 0.0006)
    ),
}


@cache
def printed(member: str, paper_name: str, text: str = fromfile.PANEL) -> job.Printed:
    return job.make_sheets(replace(fromfile.order_of(text), member=member), FORMS[paper_name])


@pytest.mark.parametrize("form", FORMS)
@pytest.mark.parametrize("text", [fromfile.PANEL, SMALL])
def test_the_name_is_on_the_cover_and_on_every_sheet(form: str, text: str) -> None:
    """Read back by a library that did not write it."""
    with pymupdf.open(stream=printed(NAME, form, text).data) as document:
        for page in document:
            assert f"for {NAME}" in " ".join(page.get_text().split())


@pytest.mark.parametrize("form", FORMS)
@pytest.mark.parametrize("text", [fromfile.PANEL, SMALL])
def test_a_sheet_of_one_member_is_the_sheet_of_another(form: str, text: str) -> None:
    """So that a member who gives sheets to another, or takes on her job, reprints nothing for the name's sake."""
    named, plain = printed(NAME, form, text), printed("", form, text)
    assert [s.sheet.digest for s in named.sheets] == [s.sheet.digest for s in plain.sheets]
    assert [s.sheet.word for s in named.sheets] == [s.sheet.word for s in plain.sheets]
    order = replace(fromfile.order_of(text), member="Noor Adeyemi")
    assert not job.make_reprint(order, named.recipe).sheets


def test_all_that_differs_on_a_sheet_is_the_name() -> None:
    named, plain = printed(NAME, "A4"), printed("", "A4")
    for one, other in zip(named.sheets, plain.sheets, strict=True):
        more = [part for part in one.sheet.content.parts if part not in other.sheet.content.parts]
        assert other.sheet.content.parts == [part for part in one.sheet.content.parts if part not in more]
        assert 1 <= len(more) <= 2 and all(part.startswith("BT ") for part in more)


def inner(box: pymupdf.Rect) -> pymupdf.Rect:
    """The letters' own box: a line's is higher."""
    return pymupdf.Rect(box.x0 + 1, box.y0 + 2, box.x1 - 1, box.y1 - 2)


def test_trimming_leaves_the_name_where_the_sheet_has_room_and_it_lies_on_no_other_word() -> None:
    """As a person with scissors would see it: what is left of the sheet says whose it is."""
    named = printed(NAME, "A4")
    trimmed = 0
    with pymupdf.open(stream=named.data) as document:
        for sheet in named.sheets:
            page = document[sheet.page - 1]
            found = page.search_for(f"for {NAME}")
            trimmed += len(found) > 1
            words = [word for word in page.get_text("words") if word[4] not in f"for {NAME}"]
            others = [inner(pymupdf.Rect(word[:4])) for word in words]
            assert not any(inner(box).intersects(other) for box in found for other in others), sheet.name
    assert trimmed >= 0.8 * len(named.sheets)


@settings(max_examples=25, deadline=None)
@given(
    st.text(st.characters(codec="utf-8", exclude_categories=["Cc", "Cf", "Cs", "Cn", "Co", "Zl", "Zp"]), max_size=60)
)
def test_any_name_comes_back_from_the_record(name: str) -> None:
    made = job.make_sheets(replace(fromfile.order_of(SMALL), member=name), FORMS["A5"])
    assert recipe.from_bytes(made.recipe.to_bytes(), "old.pdf").member == name


def test_a_record_of_the_second_format_is_for_nobody_by_name() -> None:
    """It is still reprinted: its sheets look as those of today."""
    import json

    value = json.loads(printed("", "A4").recipe.to_bytes())
    del value["member"]
    old = recipe.from_bytes(json.dumps(value | {"format": 2}).encode(), "old.pdf")
    assert old.member == ""
    assert not job.make_reprint(fromfile.order_of(fromfile.PANEL), old).sheets
