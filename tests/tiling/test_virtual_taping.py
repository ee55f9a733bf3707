"""Virtual taping: the pages of a written PDF, drawn by two independent renderers at 300 dpi, each page turned and shifted
at random, laid by the registration marks found in the pictures, and held against the exact curve and the whole drawing."""

from __future__ import annotations

from pathlib import Path

import handmade
import numpy as np
import pytest
import renderers
from virtualtaping import centre_line, ink_apart, laid, pictures, straight_pages

from tiling import job
from tiling.form import SheetForm
from tiling.paper import paper

CASES = {
    "arched panel on A4": (handmade.arched_panel(470, 560, 85), "A4"),
    "flowing rail on letter": (handmade.flowing_rail(820, (30.0, 75.0, 48.0, 96.0, 40.0, 12.0, 18.0), 60.0), "letter"),
}


@pytest.mark.parametrize("renderer", renderers.RENDERERS)
@pytest.mark.parametrize("case", CASES)
def test_taped_pages_are_the_pattern(case: str, renderer: str, tmp_path: Path) -> None:
    shape, paper_name = CASES[case]
    made = job.make_sheets(handmade.order_of(shape.pattern), SheetForm(paper(paper_name)))
    pages = straight_pages(made, shape)
    inks = pictures(made, pages, renderer, tmp_path)
    motions, left = laid(pages, inks)
    off, share = centre_line(shape, pages, inks, motions)
    there, back, compared = ink_apart(shape, pages, inks, motions, renderer, tmp_path)
    print(
        f"\n{case}, {len(pages)} sheets, {renderer}: marks meet within {left:.3f} px rms; centre of the cut line "
        f"{np.abs(off).max():.3f} px off at most, {np.sqrt((off**2).mean()):.3f} rms ({share:.0%} of it measured); ink "
        f"{there:.2f} px from the whole drawing's, {back:.2f} the other way ({compared:,} pixels)"
    )
    assert share > 0.8
    assert np.abs(off).max() < 0.5
    assert max(there, back) < 1.0


def test_taping_notices_a_printer_that_is_not_true(tmp_path: Path) -> None:
    """1 in 1000 too large: nothing a maker would see on one page, and half a millimetre on the rail."""
    shape, paper_name = CASES["flowing rail on letter"]
    made = job.make_sheets(handmade.order_of(shape.pattern), SheetForm(paper(paper_name)))
    pages = straight_pages(made, shape)
    inks = pictures(made, pages, "MuPDF", tmp_path, scale=1.001)
    off, _ = centre_line(shape, pages, inks, laid(pages, inks)[0])
    assert np.abs(off).max() > 0.5
