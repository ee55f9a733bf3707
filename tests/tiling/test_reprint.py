"""A change of one figure: which sheets it touches, and that all others stay as they are, to the byte and to the pixel."""

from __future__ import annotations

import io
from collections.abc import Iterable
from functools import cache
from pathlib import Path

import fromfile
import handmade
import numpy as np
import pikepdf
import pymupdf
import pytest
import renderers
import shapely
from msgspec.structs import replace

from patterns.errors import PatternError
from patterns.pattern import Pattern, Role
from tiling import job, recipe
from tiling.form import SheetForm
from tiling.lattice import Lattice, cell_name
from tiling.layout import Layout
from tiling.order import Order
from tiling.paper import paper
from tiling.units import to_units

FORM = SheetForm(paper("A4"))
CHANGES = 60
SHOWN_BEYOND_MM = 1.0
"""Lines are drawn this far beyond a window, where they are not seen."""


def panel(rise_mm: float) -> Order:
    """The panel with an arch of this rise."""
    return fromfile.order_of(fromfile.PANEL, {"arch_rise": f"{rise_mm:.4f} mm"})


@cache
def first() -> job.Printed:
    """The first printing: what lies on the bench."""
    return job.make_sheets(panel(140), FORM)


def rises() -> list[float]:
    """Sixty rises: a hair's breadth up and down, then at random over all that the file allows."""
    random = np.random.default_rng(60)
    near = 140 + random.uniform(-2, 2, CHANGES // 3)
    return [float(v) for v in (*near, *random.uniform(21, 419, CHANGES - len(near)))]


def drawn(pattern: Pattern) -> dict[Role, shapely.Geometry]:
    """All lines that are drawn on sheets, flattened, by role."""
    lines: dict[Role, list] = {}
    for role, points in handmade.flattened(pattern):
        lines.setdefault(role, []).append(points)
    return {role: shapely.MultiLineString(rows) for role, rows in lines.items()}


def differs(old: dict, new: dict, window: tuple[float, ...], grown: float) -> bool:
    """Whether any line in a window (mm, grown) is not the same in both drawings, to a thousandth of a millimetre."""
    box = shapely.box(window[0] - grown, window[1] - grown, window[2] + grown, window[3] + grown)
    for role in old.keys() | new.keys():
        none = shapely.MultiLineString()
        one, other = (shapely.intersection(drawing.get(role, none), box) for drawing in (old, new))
        if one.is_empty != other.is_empty or (not one.is_empty and one.hausdorff_distance(other) > 1e-3):
            return True
    return False


def words(made: job.Printed) -> dict[str, list[str]]:
    """The words inside each sheet's window, without the fingerprint, as a PDF reader finds them."""
    found = {}
    with pymupdf.open(stream=made.data) as document:
        for sheet in made.sheets:
            text = document[sheet.page - 1].get_text("words")
            found[cell_name(sheet.sheet.cell)] = sorted(word[4] for word in text if word[4] != sheet.sheet.word)
    return found


def windows(made: job.Printed) -> dict[str, tuple[float, ...]]:
    return {sheet["label"]: tuple(sheet["parts"][0]["window_mm"]) for sheet in made.to_json()["sheets"]}


def streams(made: job.Printed) -> dict[str, bytes]:
    """The content stream of every sheet as a reader unpacks it."""
    with pikepdf.open(io.BytesIO(made.data)) as pdf:
        return {cell_name(s.sheet.cell): pdf.pages[s.page - 1].Contents.read_bytes() for s in made.sheets}


def digests(made: job.Printed) -> dict[str, str]:
    return {cell_name(sheet.sheet.cell): sheet.sheet.digest for sheet in made.sheets}


def pixels(made: job.Printed, names: Iterable[str], renderer: str, file: Path) -> dict[str, bytes]:
    file.write_bytes(made.data)
    draw = renderers.RENDERERS[renderer]
    pages = {cell_name(sheet.sheet.cell): sheet.page for sheet in made.sheets}
    return {name: draw(file, pages[name], 100).tobytes() for name in sorted(names)}


def test_the_panel_takes_about_twenty_sheets() -> None:
    assert 18 <= len(first().sheets) <= 22


def test_sixty_changes_leave_every_untouched_sheet_as_it_is() -> None:
    old = first()
    before, old_words, old_streams, old_digests = drawn(old.dealt[0].pattern), words(old), streams(old), digests(old)
    kept = redrawn = by_words = 0
    for rise in rises():
        order = panel(rise)
        new = job.make_sheets(order, FORM, like=old.recipe)
        after, new_words, new_streams, new_digests = drawn(new.dealt[0].pattern), words(new), streams(new), digests(new)
        reprinted = {cell_name(s.sheet.cell) for s in job.make_reprint(order, old.recipe).sheets}
        where = windows(old) | windows(new)
        for name in old_digests.keys() & new_digests.keys():
            if differs(before, after, where[name], SHOWN_BEYOND_MM):
                if differs(before, after, where[name], 0.0):
                    assert new_digests[name] != old_digests[name], (rise, name)
                    assert name in reprinted
                    redrawn += 1
            elif new_words[name] != old_words[name]:
                assert new_digests[name] != old_digests[name], (rise, name)
                by_words += 1
            else:
                assert new_streams[name] == old_streams[name], (rise, name)
                assert new_digests[name] == old_digests[name]
                assert name not in reprinted
                kept += 1
        assert new_digests.keys() - old_digests.keys() <= reprinted
    print(
        f"{kept} untouched sheets stayed the same to the byte; {redrawn} that show the sweep and {by_words} with other"
    )
    print("words got another digest")
    assert kept > 10 * CHANGES / 2
    assert by_words < kept / 20


@pytest.mark.parametrize("renderer", renderers.RENDERERS)
def test_untouched_sheets_are_the_same_to_the_pixel(renderer: str, tmp_path: Path) -> None:
    old = first()
    compared = 0
    for rise in rises()[::12]:
        new = job.make_sheets(panel(rise), FORM, like=old.recipe)
        same = {name for name, digest in digests(new).items() if digests(old).get(name) == digest}
        one, other = (pixels(made, same, renderer, tmp_path / "sheets.pdf") for made in (old, new))
        assert one == other, rise
        compared += len(same)
    assert compared > 40


def test_the_same_piece_again_needs_no_sheet() -> None:
    again = job.make_reprint(panel(140), first().recipe)
    assert again.sheets == ()
    assert {fate.state for fate in again.fates} == {"keep"}
    assert again.page_count >= 1


def test_there_and_back_again_is_the_first_printing() -> None:
    """Changed, then changed back: every old sheet is good again."""
    there = job.make_sheets(panel(200), FORM, like=first().recipe)
    back = job.make_sheets(panel(140), FORM, like=there.recipe)
    assert digests(back) == digests(first())


def test_fates_account_for_every_sheet() -> None:
    old = first()
    new = job.make_reprint(panel(300), old.recipe)
    printed = {cell_name(sheet.sheet.cell) for sheet in new.sheets}
    told: dict[str, set[str]] = {state: set() for state in ("print", "keep", "discard")}
    for fate in new.fates:
        assert fate.name not in told[fate.state]
        told[fate.state].add(fate.name)
    assert told["print"] == printed
    assert told["keep"] | told["discard"] == set(digests(old))
    assert not told["keep"] & (told["discard"] | told["print"])
    everything = {cell_name(sheet.cell) for sheet in new.dealt[0].sheets}
    assert told["keep"] | told["print"] == everything


def test_a_grown_panel_gets_new_sheets_at_the_rim_and_keeps_the_rest() -> None:
    small, large = handmade.arched_panel(500, 600, 30), handmade.arched_panel(500, 600, 240, springing=570)
    old = job.make_sheets(handmade.order_of(small.pattern), FORM)
    new = job.make_reprint(handmade.order_of(large.pattern), old.recipe)
    assert new.dealt[0].layout.lattice == old.dealt[0].layout.lattice
    assert any(fate.state == "keep" for fate in new.fates)
    assert max(s.sheet.cell[1] for s in new.sheets) > max(s.sheet.cell[1] for s in old.sheets)


def test_a_part_that_grows_below_its_datum_gets_rows_named_with_a_minus() -> None:
    shallow = handmade.flowing_rail(500, (20.0, 60.0, 35.0), 40.0)
    deep = handmade.flowing_rail(500, (20.0, 60.0, 35.0), 460.0)
    recipe_of_any = job.make_sheets(handmade.order_of(shallow.pattern), FORM).recipe
    record = recipe_of_any.patterns[0]
    upright = Layout(Lattice(FORM, (to_units(-5), to_units(-60))), 0)
    like = replace(recipe_of_any, patterns=(replace(record, layout=upright, slots={}),))
    old = job.make_sheets(handmade.order_of(shallow.pattern), FORM, like=like)
    new = job.make_reprint(handmade.order_of(deep.pattern), old.recipe)
    assert {name[0] for name in digests(old)} == {"A"}
    assert {"-A", "-B"} == {cell_name(s.sheet.cell)[:2] for s in new.sheets if s.sheet.cell[1] < 0}


def test_a_reprint_reads_from_the_pdf_what_it_needs(tmp_path: Path) -> None:
    file = tmp_path / "old.pdf"
    file.write_bytes(first().data)
    carried = recipe.read(file)
    assert job.make_reprint(panel(150), carried).data == job.make_reprint(panel(150), first().recipe).data


def test_the_sheets_of_another_piece_are_refused() -> None:
    other = handmade.flowing_rail(500, (20.0, 60.0, 35.0), 40.0)
    with pytest.raises(PatternError, match="none of the parts"):
        job.make_reprint(handmade.order_of(other.pattern), first().recipe)


def test_a_reprint_follows_the_old_paper_margin_and_overlap() -> None:
    shape = handmade.arched_panel(400, 500, 60)
    form = SheetForm(paper("letter"), margin_mm=9.0, overlap_mm=14.0)
    old = job.make_sheets(handmade.order_of(shape.pattern), form)
    new = job.make_reprint(handmade.order_of(handmade.arched_panel(400, 500, 70).pattern), old.recipe)
    assert {sheet.dealt.layout.lattice.form for sheet in new.sheets} == {old.dealt[0].layout.lattice.form}
