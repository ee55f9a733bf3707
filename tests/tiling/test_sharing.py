"""Small parts that share a sheet: each whole in its slot, none on another's, and kept where it lay."""

from __future__ import annotations

import fromfile
import numpy as np
import pagereader
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st

from tiling import job, recipe
from tiling.dealing import plans_of, sheet_count
from tiling.form import SlotForm
from tiling.order import form_for, usual_form
from tiling.packing import Packing
from tiling.paper import paper
from tiling.units import to_mm

PIECE = """
curvewright = 1
title = "Pegs and blocks"
units = "mm"
[sizes]
peg = "120"
block = "50"
[[part]]
name = "peg"
blank = { length = "peg", width = "32" }
corners.top_right = { round = "12" }
[[part]]
name = "block"
blank = { vertices = [["0", "0"], ["block", "0"], ["0", "block"]] }
[[part]]
name = "rail"
blank = { length = "600", width = "90" }
edges.bottom = { arch = "segmental", rise = "20", arch_to = "inside" }
[[part]]
name = "plate"
blank = { length = "90", width = "70" }
[[part.hole]]
circle = "20"
at = ["45", "35"]
"""
A4 = usual_form("mm")


def slots(made: job.Printed) -> dict[str, SlotForm]:
    forms = {one.pattern.name: one.layout.lattice.form for one in made.dealt}
    return {name: form for name, form in forms.items() if isinstance(form, SlotForm)}


def boxes(made: job.Printed, sheet: str) -> list[shapely.Geometry]:
    """The slots of a sheet as boxes on its window."""
    found = [form for form in slots(made).values() if form.name == sheet]
    return [shapely.box(*form.at, form.at[0] + form.size[0], form.at[1] + form.size[1]) for form in found]


# ---------------------------------------------------------------- packing


@settings(max_examples=60, deadline=None)
@given(st.lists(st.tuples(st.integers(1, 60), st.integers(1, 60)), min_size=1, max_size=25))
def test_packed_rectangles_lie_on_the_sheet_and_on_no_other(sizes: list[tuple[int, int]]) -> None:
    packing = Packing(100, 120)
    placed = []
    for width, height in sizes:
        at = packing.lowest(width, height)
        if at is None:
            continue
        packing.take((*at, at[0] + width, at[1] + height))
        placed.append(shapely.box(*at, at[0] + width, at[1] + height))
    sheet = shapely.box(0, 0, 100, 120)
    assert all(sheet.covers(box) for box in placed)
    assert shapely.union_all(placed).area == pytest.approx(sum(box.area for box in placed))


@settings(max_examples=40, deadline=None)
@given(st.lists(st.tuples(st.integers(5, 60), st.integers(5, 60)), min_size=1, max_size=12), st.randoms())
def test_a_place_is_found_wherever_there_is_one(sizes: list[tuple[int, int]], random) -> None:
    """Against looking at every whole place of the sheet."""
    packing, taken = Packing(100, 100), np.zeros((100, 100), dtype=bool)
    for width, height in sizes:
        at = packing.lowest(width, height)
        free = [
            (x, y)
            for y in range(101 - height)
            for x in range(101 - width)
            if not taken[x : x + width, y : y + height].any()
        ]
        assert (at is None) == (not free)
        if at is not None:
            assert at[1] == min(y for _, y in free)
            packing.take((*at, at[0] + width, at[1] + height))
            taken[at[0] : at[0] + width, at[1] : at[1] + height] = True


# ---------------------------------------------------------------- a job


def test_small_parts_share_a_sheet_and_each_lies_whole_in_a_slot_of_its_own() -> None:
    made = job.make_sheets(fromfile.order_of(PIECE), A4)
    assert set(slots(made)) == {"peg", "block", "plate"}
    together = boxes(made, "shared 1")
    window = shapely.box(0, 0, *slots(made)["peg"].sheet.window)
    assert all(window.covers(box) for box in together)
    assert shapely.union_all(together).area == pytest.approx(sum(box.area for box in together))
    shared = [sheet for sheet in made.sheets if sheet.others]
    assert len(shared) == 1 and len(made.sheets) == 1 + len(made.dealt[2].sheets)
    entry = shared[0].to_json()
    assert entry["label"] == "shared 1" and [part["part"] for part in entry["parts"]] == ["peg", "block", "plate"]


def cut_lines_of(made: job.Printed, name: str) -> tuple[shapely.Geometry, shapely.Geometry]:
    """The cut lines on paper within a part's window, mapped to the part; and the part's outline, holes and all."""
    pages = pagereader.pages(made.data)
    for sheet in made.to_json()["sheets"]:
        for part in sheet["parts"]:
            if part["part"] != name:
                continue
            window = shapely.box(*part["window_mm"])
            rows = [row for path in filter(pagereader.is_cut, pages[sheet["page"] - 1]) for row in path.beziers]
            lines = [pagereader.mapped(part["to_part"], pagereader.along(row[None], 60)[0]) for row in rows]
            inside = [shapely.LineString(line) for line in lines if window.covers(shapely.LineString(line))]
            outline = next(one.pattern.outline for one in made.dealt if one.pattern.name == name)
            curves = [curve.flattened(0.0005) for curve in outline.curves]
            return shapely.MultiLineString(inside), shapely.MultiLineString(curves)
    raise AssertionError(name)


@pytest.mark.parametrize("name", ["peg", "block", "plate"])
@pytest.mark.parametrize("on", ["A4", "letter", "roll 24 in"])
def test_each_parts_cut_line_on_a_shared_sheet_is_the_parts_outline(name: str, on: str) -> None:
    """Read back by another PDF library, and mapped by the ``to_part`` of its own slot."""
    made = job.make_sheets(fromfile.order_of(PIECE), form_for("mm", paper(on)))
    printed, outline = cut_lines_of(made, name)
    assert printed.hausdorff_distance(outline) < 0.005


@settings(max_examples=12, deadline=None)
@given(st.lists(st.tuples(st.integers(15, 180), st.integers(12, 120)), min_size=2, max_size=8))
def test_sharing_never_takes_more_sheets(sizes: list[tuple[int, int]]) -> None:
    text = 'curvewright = 1\ntitle = "Blocks"\nunits = "mm"\n'
    for k, (length, width) in enumerate(sizes):
        text += f'[[part]]\nname = "block {k + 1}"\nblank = {{ length = "{length}", width = "{width}" }}\n'
    order = fromfile.order_of(text)
    plans = plans_of(order, A4)
    assert sheet_count(plans) <= len(sizes)
    area = sum(length * width for length, width in sizes)
    across, up = (to_mm(side) for side in A4.window)
    assert sheet_count(plans) >= area / (across * up)


# ---------------------------------------------------------------- after a change


def reprinted(**given: str) -> tuple[job.Printed, job.Printed]:
    old = job.make_sheets(fromfile.order_of(PIECE), A4)
    kept = recipe.from_bytes(old.recipe.to_bytes(), "old.pdf")
    return old, job.make_reprint(fromfile.order_of(PIECE, given), kept)


def test_a_change_of_a_part_elsewhere_leaves_the_shared_sheet_alone() -> None:
    old, new = reprinted()
    assert not new.sheets and slots(new) == slots(old)


def test_a_part_that_grows_within_its_slot_stays_and_moves_no_other() -> None:
    old, new = reprinted(peg="124")
    assert slots(new) == slots(old)
    assert [sheet.name for sheet in new.sheets] == ["shared 1"]
    assert {(fate.name, fate.state) for fate in new.fates if fate.shared} == {
        ("shared 1", "print"),
        ("shared 1", "discard"),
    }


def test_a_part_that_outgrows_its_slot_gets_another_and_the_rest_keep_theirs() -> None:
    old, new = reprinted(peg="150")
    assert slots(new)["peg"] != slots(old)["peg"]
    assert {name: slots(new)[name] for name in ("block", "plate")} == {
        name: slots(old)[name] for name in ("block", "plate")
    }
    printed, outline = cut_lines_of(new, "peg")
    assert printed.hausdorff_distance(outline) < 0.005


def test_a_part_that_is_no_longer_small_gets_sheets_of_its_own() -> None:
    _, new = reprinted(peg="420")
    assert "peg" not in slots(new)
    fates = {(fate.pattern, fate.name, fate.state) for fate in new.fates}
    assert ("peg", "shared 1", "discard") in fates and ("peg", "A1", "print") in fates


def test_a_new_part_does_not_disturb_the_old_shared_sheet() -> None:
    old = job.make_sheets(fromfile.order_of(PIECE), A4)
    more = PIECE + '[[part]]\nname = "wedge"\nblank = { length = "60", width = "20" }\n'
    more += '[[part]]\nname = "button"\nblank = { length = "40", width = "25" }\n'
    new = job.make_reprint(fromfile.order_of(more), old.recipe)
    assert [sheet.name for sheet in new.sheets] == ["shared 2"]


def test_the_cover_counts_a_shared_sheet_once() -> None:
    old, new = reprinted(peg="124")
    for made, words in ((old, f"{len(old.sheets)} sheets to print"), (new, "1 sheet to print")):
        import pymupdf

        with pymupdf.open(stream=made.data) as document:
            assert words in " ".join(document[0].get_text().split())


@pytest.mark.parametrize(("given", "marks"), [({"peg": "124"}, ["print *"] * 3), ({}, ["keep"] * 3)])
def test_the_picture_of_a_part_on_a_shared_sheet_says_what_becomes_of_the_sheet(
    given: dict[str, str], marks: list[str]
) -> None:
    """Below the words over it; the part with sheets of its own has its marks after their names."""
    import pymupdf

    _, new = reprinted(**given)
    with pymupdf.open(stream=new.data) as document:
        lines = [line for page in document for line in page.get_text().splitlines()]
    pictured = lines[lines.index("The patterns and their sheets") :]
    pictured = pictured[: pictured.index("Sheets and their fingerprint words")]
    assert sum("on sheet shared 1" in line for line in pictured) == len(marks)
    legend = pictured.index("keep")
    assert [line for line in pictured[legend + 1 :] if line in ("print", "print *", "keep")] == marks


# ---------------------------------------------------------------- off a roll


def test_a_roll_gives_one_page_as_long_as_it_needs_to_be() -> None:
    made = job.make_sheets(fromfile.order_of(PIECE), form_for("mm", paper("roll 610 mm")))
    assert len(made.sheets) == 1 and set(slots(made)) == {"peg", "block", "rail", "plate"}
    form = slots(made)["rail"].sheet
    assert form.page_mm[0] == 610.0
    top = max(slot.at[1] + slot.size[1] for slot in slots(made).values()) + form.corner[1]
    assert to_mm(top) + form.margin_mm <= form.page_mm[1] <= to_mm(top) + form.margin_mm + 3.0


def test_what_is_wider_than_a_roll_comes_off_it_in_strips_to_tape() -> None:
    text = PIECE.replace('length = "600", width = "90"', 'length = "600", width = "450"')
    made = job.make_sheets(fromfile.order_of(text), form_for("mm", paper("roll 300 mm")))
    rail = next(one for one in made.dealt if one.pattern.name == "rail")
    assert len(rail.sheets) == 2 and {sheet.cell[1] for sheet in rail.sheets} == {0}
    pages = [sheet.dealt.layout.lattice.form.page_mm for sheet in made.sheets]
    assert all(width == 300.0 for width, _ in pages)


def test_what_is_longer_than_a_page_may_be_is_cut_in_two() -> None:
    text = PIECE.replace('length = "600", width = "90"', 'length = "7000", width = "500"')
    made = job.make_sheets(fromfile.order_of(text), form_for("mm", paper("roll 610 mm")))
    rail = next(one for one in made.dealt if one.pattern.name == "rail")
    assert len(rail.sheets) == 2
    for sheet in made.sheets:
        assert max(sheet.dealt.layout.lattice.form.page_points) <= 14400 + 1e-6


def test_a_roll_is_remembered_by_a_reprint() -> None:
    old = job.make_sheets(fromfile.order_of(PIECE), form_for("mm", paper("roll 610 mm")))
    kept = recipe.from_bytes(old.recipe.to_bytes(), "old.pdf")
    assert not job.make_reprint(fromfile.order_of(PIECE), kept).sheets
    new = job.make_reprint(fromfile.order_of(PIECE, {"block": "52"}), kept)
    assert [sheet.name for sheet in new.sheets] == ["roll 1"]
    assert slots(new) == slots(old)
