"""A hundred changes of the demo pieces' sizes: what is said to be unchanged is, what is printed anew fits between it."""

from __future__ import annotations

import io
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
from exact import ExactDrawn
from virtualtaping import StraightPage, centre_line, laid, pictures, straight_pages

from patterns.curve import Curve
from patterns.pattern import Role
from tiling import dealing, job
from tiling.form import SlotForm
from tiling.order import Order, usual_form

DEMO = ("bench-back.toml", "dolls-cradle.toml", "hall-rack.toml", "settle-crest.toml")
CHANGES = 100
LOOKED_AT = 12
"""Changes whose unchanged sheets are compared pixel by pixel."""

Key = tuple[str, str]


def text_of(name: str) -> str:
    if name == "panel":
        return fromfile.PANEL
    return (fromfile.DEMO / name).read_text(encoding="utf-8")


@cache
def order_of(name: str, given: tuple[tuple[str, str], ...] = ()) -> Order:
    return fromfile.order_of(text_of(name), dict(given))


@cache
def first(name: str) -> job.Printed:
    """The first printing: what lies on the bench."""
    order = order_of(name)
    return job.make_sheets(order, usual_form(order.piece.units))


def changes() -> list[tuple[str, tuple[str, str]]]:
    """(piece, (size, value)): every size that has limits, at random between them, with the shop's divisions or without."""
    random = np.random.default_rng(100)
    sizes = [
        (name, size) for name in DEMO for size in order_of(name).piece.sizes if None not in (size.least, size.most)
    ]
    chosen = []
    for k in range(CHANGES):
        name, size = sizes[k % len(sizes)]
        value = random.uniform(size.least, size.most)
        value = round(value / 3.175) * 3.175 if k % 2 else value
        chosen.append((name, (size.name, f"{min(max(value, size.least), size.most):.6f} mm")))
    return chosen


def streams(made: job.Printed) -> dict[Key, bytes]:
    """The content of each sheet's page, by pattern and name, as another PDF library reads it."""
    found: dict[Key, bytes] = {}
    with pikepdf.open(io.BytesIO(made.data)) as pdf:
        for sheet in made.sheets:
            for one in (sheet.dealt, *sheet.others):
                found[(one.pattern.name, sheet.name)] = pdf.pages[sheet.page - 1].Contents.read_bytes()
    return found


def drawn_streams(made: job.Printed) -> dict[Key, bytes]:
    """The content of every sheet of the piece, printed or not."""
    return {
        (one.pattern.name, one.layout.lattice.name_of(sheet.cell)): sheet.content.stream()
        for one in made.dealt
        for sheet in one.sheets
    }


@cache
def reprint(name: str, size: tuple[str, str]) -> job.Printed:
    return job.make_reprint(order_of(name, (size,)), first(name).recipe)


@cache
def all_again(name: str, size: tuple[str, str]) -> job.Printed:
    """Every sheet after the change, where the old ones lay."""
    order = order_of(name, (size,))
    return job.make_sheets(order, usual_form(order.piece.units), like=first(name).recipe)


def said(new: job.Printed, state: str) -> set[Key]:
    return {(fate.pattern, fate.name) for fate in new.fates if fate.state == state}


def test_a_hundred_changes_name_rightly_what_is_unchanged() -> None:
    """Against every sheet as it is drawn after the change, and for each size once against a job printed whole."""
    kept = printed = 0
    before = {name: streams(first(name)) for name in DEMO}
    printed_whole: set[Key] = set()
    for name, size in changes():
        new = reprint(name, size)
        keep, to_print, after, again = said(new, "keep"), said(new, "print"), drawn_streams(new), streams(new)
        assert keep | to_print == set(after), size
        for key in keep:
            assert after[key] == before[name][key], (name, size, key)
        for key in to_print:
            assert after[key] != before[name].get(key), (name, size, key)
        assert again == {key: after[key] for key in to_print}, (name, size)
        if (name, size[0]) not in printed_whole:
            printed_whole.add((name, size[0]))
            assert streams(all_again(name, size)) == after, (name, size)
        kept, printed = kept + len(keep), printed + len(to_print)
    print(f"{CHANGES} changes: {kept} sheets unchanged to the byte, {printed} printed anew")
    assert kept > CHANGES and printed > CHANGES


@pytest.mark.parametrize("renderer", renderers.RENDERERS)
def test_unchanged_sheets_are_the_same_to_the_pixel(renderer: str, tmp_path: Path) -> None:
    compared = 0
    for name, size in changes()[:: CHANGES // LOOKED_AT]:
        old, new, keep = first(name), all_again(name, size), said(reprint(name, size), "keep")
        one, other = (pixels(made, keep, renderer, tmp_path / "sheets.pdf") for made in (old, new))
        assert one == other, (name, size)
        compared += len(one)
    assert compared > LOOKED_AT


def pixels(made: job.Printed, keys: set[Key], renderer: str, file: Path) -> dict[Key, bytes]:
    file.write_bytes(made.data)
    draw, found = renderers.RENDERERS[renderer], {}
    for sheet in made.sheets:
        key = (sheet.dealt.pattern.name, sheet.name)
        if key in keys:
            found[key] = draw(file, sheet.page, 60).tobytes()
    return found


def test_a_reprint_needs_at_most_one_row_and_one_column_more() -> None:
    """More than the old sheets had, or than a fresh printing of the changed part would take, whichever is more: a part that
    grows by half does need more."""
    for name, size in changes():
        old, new = first(name), reprint(name, size)
        fresh = dealing.plans_of(order_of(name, (size,)), old.form)
        before = {one.pattern.name: grid(one.layout.lattice.form, [s.cell for s in one.sheets]) for one in old.dealt}
        wanted = {one.pattern.name: grid(one.layout.lattice.form, one.cells) for one in fresh}
        for one in new.dealt:
            columns, rows = grid(one.layout.lattice.form, [sheet.cell for sheet in one.sheets])
            most = [max(pair) + 1 for pair in zip(before[one.pattern.name], wanted[one.pattern.name], strict=True)]
            turned = sorted(wanted[one.pattern.name], reverse=columns > rows)
            assert columns <= max(most[0], turned[0] + 1) and rows <= max(most[1], turned[1] + 1), (name, size)


def grid(form: object, cells: list[tuple[int, int]]) -> tuple[int, int]:
    if isinstance(form, SlotForm):
        return 1, 1
    columns, rows = [c for c, _ in cells], [r for _, r in cells]
    return max(columns) - min(columns) + 1, max(rows) - min(rows) + 1


# ---------------------------------------------------------------- the demo's arch


@pytest.mark.parametrize(("name", "size"), [("dolls-cradle.toml", "1 7/8"), ("bench-back.toml", "111.35")])
def test_a_quarter_inch_more_arch_reprints_no_sheet_that_the_arch_does_not_enter(name: str, size: str) -> None:
    """The cradle's foot board from 1 5/8 to 1 7/8 in, and with it the sides that follow; the bench from 105 mm."""
    old, new, whole = first(name), reprint(name, ("arch_rise", size)), all_again(name, ("arch_rise", size))
    assert new.sheets and len(new.sheets) < len(whole.sheets)
    changed = {one.pattern.name: changed_lines(old, whole, one.pattern.name) for one in whole.dealt}
    for sheet in new.to_json()["sheets"]:
        lines = changed[sheet["parts"][0]["part"]]
        x0, y0, x1, y1 = sheet["parts"][0]["window_mm"]
        assert lines and shapely.MultiLineString(lines).intersects(shapely.box(x0, y0, x1, y1)), sheet["label"]


def changed_lines(old: job.Printed, new: job.Printed, name: str) -> list[np.ndarray]:
    """The lines of a pattern that are not the same in both, old and new."""
    drawn = []
    for made in (old, new):
        pattern = next(one.pattern for one in made.dealt if one.pattern.name == name)
        drawn.append({stroke.curve.beziers.tobytes(): stroke.curve for stroke in pattern.strokes})
    return [
        curve.flattened(0.01) for key, curve in (drawn[0] | drawn[1]).items() if (key in drawn[0]) != (key in drawn[1])
    ]


# ---------------------------------------------------------------- kept and new sheets, taped


def drawn_shape(made: job.Printed, name: str) -> handmade.Handmade:
    pattern = next(one.pattern for one in made.dealt if one.pattern.name == name)
    cuts = [piece for stroke in pattern.strokes if stroke.role is Role.CUT for piece in smooth_pieces(stroke.curve)]
    return handmade.Handmade(pattern, tuple(ExactDrawn(curve.flattened(0.0005)) for curve in cuts))


def smooth_pieces(curve: Curve) -> list[Curve]:
    """A curve parted at its corners: beside a corner the middle of a wide line is not the line."""
    before, after = curve.beziers[:-1, 3] - curve.beziers[:-1, 2], curve.beziers[1:, 1] - curve.beziers[1:, 0]
    turn = np.abs(before[:, 0] * after[:, 1] - before[:, 1] * after[:, 0]) / np.hypot(*before.T) / np.hypot(*after.T)
    return [Curve(rows) for rows in np.split(curve.beziers, np.flatnonzero(turn > 0.02) + 1)]


def mixed_job() -> tuple[str, str, tuple[str, str]]:
    """(piece, pattern, change) of the first change after which some sheets of a pattern are kept and some are new."""
    for name, size in changes():
        states: dict[str, set[str]] = {}
        for fate in reprint(name, size).fates:
            states.setdefault(fate.pattern, set()).add(fate.state)
        for pattern, seen in states.items():
            if {"keep", "print"} <= seen:
                return name, pattern, size
    raise AssertionError("no change leaves a pattern with old and new sheets")


@cache
def kept_and_new(
    name: str, pattern: str, size: tuple[str, str]
) -> tuple[handmade.Handmade, list[StraightPage], list[StraightPage]]:
    """The pattern after the change, the old pages that are kept and the new ones: the same for every renderer."""
    old, new = first(name), reprint(name, size)
    shape = drawn_shape(new, pattern)
    keep = {fate.name for fate in new.fates if (fate.pattern, fate.state) == (pattern, "keep")}
    cells = {s.sheet.cell for s in old.sheets if s.dealt.pattern.name == pattern and s.name in keep}
    assert cells and len(cells) == len(keep)
    return shape, straight_pages(old, shape, cells), straight_pages(new, shape)


@pytest.mark.parametrize("renderer", renderers.RENDERERS)
def test_kept_and_new_sheets_taped_together_are_the_pattern(renderer: str, tmp_path: Path) -> None:
    """A board of the bench's back, and a panel of twenty sheets."""
    for name, pattern, size in (mixed_job(), ("panel", "back", ("arch_rise", "165"))):
        old, new = first(name), reprint(name, size)
        shape, before, after = kept_and_new(name, pattern, size)
        pages = [*before, *after]
        inks = [*pictures(old, before, renderer, tmp_path), *pictures(new, after, renderer, tmp_path)]
        motions, left = laid(pages, inks)
        off, share = centre_line(shape, pages, inks, motions)
        print(
            f"{pattern}, {size}: {len(before)} kept and {len(after)} new, {renderer}: marks meet within {left:.3f} px, "
            f"cut line {np.abs(off).max():.3f} px off"
        )
        assert share > 0.5 and np.abs(off).max() < 0.5 and left < 0.1


def test_the_cover_of_a_reprint_says_what_to_do() -> None:
    new = reprint("dolls-cradle.toml", ("arch_rise", "1 7/8"))
    with pymupdf.open(stream=new.data) as document:
        words = " ".join(document[0].get_text().split())
        pages = document.page_count - len(new.sheets)
    assert "Print, keep, throw away" in words and "foot board" in words and "A1 print" in words
    assert pages <= 3
