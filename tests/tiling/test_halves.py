"""What half patterns cost in paper, held against plain grids that are worked out here by themselves."""

from __future__ import annotations

import math

import fromfile
import pytest
import symmetrical
from hypothesis import given, settings
from hypothesis import strategies as st

from patterns.errors import PatternError
from patterns.half import half_of
from patterns.pattern import Pattern
from tiling.deal import first_plan
from tiling.form import SheetForm
from tiling.halves import STRIPS_MM, strip_for
from tiling.order import Order, form_for
from tiling.paper import paper

PAPERS = ("letter", "A4")
DEMO = ("dolls-cradle.toml", "hall-rack.toml", "bench-back.toml", "settle-crest.toml")
MM = 72 / 25.4 * 256
"""Units of the integer drawing in a millimetre."""


def window_mm(form: SheetForm, landscape: bool) -> tuple[float, float]:
    """What one sheet shows, across and up."""
    turned = SheetForm(
        form.paper, "landscape" if landscape else "portrait", form.margin_mm, form.overlap_mm, form.grid_mm
    )
    across, up = turned.window
    return across / MM, up / MM


def grid(width: float, height: float, form: SheetForm) -> int:
    """Sheets of the plain grid over a box (mm), upright or on its side, whichever takes fewer."""
    counts = []
    for landscape in (False, True):
        sides = zip((width, height), window_mm(form, landscape), strict=True)
        # A line on a window's very edge is shown whole; windows are rounded to a draw unit (0.0014 mm).
        each = [
            max(1, math.ceil((side - form.overlap_mm - 0.002) / (window - form.overlap_mm))) for side, window in sides
        ]
        counts.append(each[0] * each[1])
    return min(counts)


def half_grid(half: Pattern, form: SheetForm) -> int:
    """The same over the half and its strip."""
    x0, y0, x1, y1 = half.outline.bounds
    return grid(x1 - x0, y1 - y0, form)


def sheets(pattern: Pattern, form: SheetForm) -> int:
    return len(first_plan(pattern, form).cells)


def columns(pattern: Pattern, form: SheetForm) -> int:
    """The longer way of the sheets that the whole takes."""
    cells = first_plan(pattern, form).cells
    return max(len({column for column, _ in cells}), len({row for _, row in cells}))


def printed_half(order: Order, whole: Pattern, form: SheetForm) -> Pattern:
    return half_of(whole, order.display, strip_for([whole], order.display, form))


def test_demo_pieces_take_no_more_than_their_grid() -> None:
    """Run with -s for the table: sheets of whole and half, of the grid over the half, and what its area would fill."""
    print(f"\n{'pattern':28s}{'paper':>8s}{'whole':>7s}{'half':>6s}{'grid':>6s}{'area':>6s}{'share':>7s}{'strip':>7s}")
    wholes = halves = 0
    for name in DEMO:
        order = fromfile.demo_order(name)
        for whole in order.patterns:
            for each in PAPERS:
                form = form_for(order.piece.units, paper(each))
                try:
                    half = printed_half(order, whole, form)
                except PatternError:
                    continue
                full, taken, most = sheets(whole, form), sheets(half, form), half_grid(half, form)
                width, height = window_mm(form, landscape=False)
                area = half.outline.area / (width * height)
                share, strip = taken / full, half.half.strip if half.half else 0
                print(f"{whole.name:28s}{each:>8s}{full:7d}{taken:6d}{most:6d}{area:6.1f}{share:7.0%}{strip:5.0f} mm")
                assert taken <= most
                if columns(whole, form) >= 5:
                    assert share <= 0.6
                wholes, halves = wholes + full, halves + taken
    print(f"{'in all':36s}{wholes:7d}{halves:6d}{halves / wholes:25.0%}")
    assert wholes >= 20


def test_a_half_that_just_fills_a_sheet_takes_one() -> None:
    """A half of 199 by 189 mm, its strip counted in, on a window of 189 mm, which rounding makes 0.0007 mm less."""
    text = 'curvewright = 1\ntitle = "Board"\nunits = "mm"\n[[part]]\nname = "board"\n'
    order = fromfile.order_of(text + 'blank = { length = "368", width = "189" }\n')
    form = form_for("mm", paper("A4"))
    half = half_of(order.patterns[0], order.display, 15.0)
    assert sheets(half, form) == half_grid(half, form) == 1


@settings(max_examples=12, deadline=None)
@given(symmetrical.upright(), st.sampled_from(PAPERS))
def test_no_more_than_the_grid_over_the_half(text: str, name: str) -> None:
    order = fromfile.order_of(text)
    form, whole = form_for("mm", paper(name)), order.patterns[0]
    half = printed_half(order, whole, form)
    taken, full = sheets(half, form), sheets(whole, form)
    assert taken <= half_grid(half, form)
    assert taken <= full
    if columns(whole, form) >= 5:
        assert taken <= 0.6 * full


@pytest.mark.parametrize("name", PAPERS)
@pytest.mark.parametrize("count", [5, 6, 7, 8])
def test_a_rail_that_just_fills_its_columns(name: str, count: int) -> None:
    """Half of an even number of columns ends just where a further one would begin; the strip must not ask for it."""
    form = form_for("mm", paper(name))
    window = window_mm(form, landscape=True)[0]
    most = count * (window - form.overlap_mm) + form.overlap_mm
    for less in (0.5, 4.0, 9.0, 14.0, 19.0, 26.0):
        text = f'[[part]]\nname = "rail"\nblank = {{ length = "{most - less:.2f}", width = "110" }}\n'
        order = fromfile.order_of(symmetrical.HEAD + text)
        whole = order.patterns[0]
        full = sheets(whole, form)
        half = printed_half(order, whole, form)
        assert full == count
        assert sheets(half, form) == math.ceil(count / 2)
        assert half.half is not None and half.half.strip in STRIPS_MM


def test_the_strip_is_wide_where_that_costs_nothing() -> None:
    form = form_for("mm", paper("A4"))
    order = fromfile.order_of(symmetrical.HEAD + '[[part]]\nname = "rail"\nblank = { length = "300", width = "90" }\n')
    assert strip_for(order.patterns, order.display, form) == STRIPS_MM[0]
