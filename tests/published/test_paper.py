"""Paper sizes, page units and print settings against published standards, read back by libraries that did not write them."""

from __future__ import annotations

import io
import math
from functools import cache

import handmade
import numpy as np
import pagereader
import pikepdf
import pymupdf
import pytest

from patterns.errors import PatternError
from tiling import job
from tiling.form import SheetForm
from tiling.paper import MOST_SIDE_MM, names, paper

# ISO 216:2007, A series, in mm (each side rounded to the millimetre).
ISO_216 = {"A5": (148, 210), "A4": (210, 297), "A3": (297, 420), "A2": (420, 594)}
# ANSI/ASME Y14.1, A and B; legal: PWG 5101.1, na_legal_8.5x14in. In inches.
INCHES = {"letter": (8.5, 11.0), "tabloid": (11.0, 17.0), "legal": (8.5, 14.0)}
# The international inch (1959; NIST Handbook 44, Appendix C) and PDF's default user space of 1/72 in (ISO 32000-1, 8.3.2.3).
INCH_MM = 25.4
POINTS_AN_INCH = 72
# Points of ISO 216 sizes, mm * 72 / 25.4; of US office sizes, in * 72.
POINTS = {
    "A4": (595.2755905511812, 841.8897637795277),
    "A3": (841.8897637795277, 1190.5511811023623),
    "A2": (1190.5511811023623, 1683.7795275590554),
    "letter": (612, 792),
    "legal": (612, 1008),
    "tabloid": (792, 1224),
}


@cache
def made(name: str) -> job.Printed:
    shape = handmade.arched_panel(230, 300, 50)
    return job.make_sheets(handmade.order_of(shape.pattern), SheetForm(paper(name)))


@pytest.mark.parametrize("name", ISO_216)
def test_iso_216_sizes(name: str) -> None:
    assert (paper(name).width_mm, paper(name).height_mm) == ISO_216[name]


@pytest.mark.parametrize("name", INCHES)
def test_north_american_sizes(name: str) -> None:
    sides = paper(name).width_mm / INCH_MM, paper(name).height_mm / INCH_MM
    assert sides == pytest.approx(INCHES[name], abs=1e-12)


def test_every_named_paper_is_checked_here() -> None:
    assert set(names()) == set(ISO_216) | set(INCHES)


@pytest.mark.parametrize("larger", ["A4", "A3", "A2"])
def test_each_a_size_halves_the_next(larger: str) -> None:
    """ISO 216, 4: a cut parallel to the short side gives the next size, rounded down to the millimetre."""
    smaller = paper(f"A{int(larger[1]) + 1}")
    assert (smaller.width_mm, smaller.height_mm) == (paper(larger).height_mm // 2, paper(larger).width_mm)


@pytest.mark.parametrize("name", ISO_216)
def test_sides_are_as_one_to_the_root_of_two(name: str) -> None:
    """ISO 216, 3, within the rounding to a millimetre."""
    assert paper(name).height_mm / paper(name).width_mm == pytest.approx(math.sqrt(2), rel=0.5 / 148 + 0.5 / 210)


@pytest.mark.parametrize("name", POINTS)
def test_pages_are_the_paper_in_points(name: str) -> None:
    """MediaBox in units of 1/72 in (ISO 32000-1, 7.7.3.3 and 8.3.2.3), not in whole points: A4 loses 0.1 mm then."""
    with pikepdf.open(io.BytesIO(made(name).data)) as pdf:
        for page in pdf.pages:
            x0, y0, x1, y1 = (float(v) for v in page.mediabox)
            assert (x0, y0) == (0, 0)
            assert sorted((x1, y1)) == pytest.approx(sorted(POINTS[name]), abs=1e-4)
            assert "/UserUnit" not in page.obj
            assert int(page.obj.get("/Rotate", 0)) == 0
    with pymupdf.open(stream=made(name).data) as document:
        for page in document:
            assert sorted((page.rect.width, page.rect.height)) == pytest.approx(sorted(POINTS[name]), abs=1e-3)


def test_the_largest_page_is_within_the_limit_of_viewers() -> None:
    """14,400 units a side (ISO 32000-1, Annex C, Table C.1): 200 in."""
    assert pytest.approx(200 * INCH_MM) == MOST_SIDE_MM
    assert paper("914 x 5080 mm").height_mm == 5080
    with pytest.raises(PatternError, match=r"5\.08 m"):
        paper("914 x 5081 mm")


def test_print_scaling_is_off_and_enforced() -> None:
    """ISO 32000-1, Table 150: PrintScaling None (PDF 1.6). ISO 32000-2, Table 147: Enforce, an array of names, may hold
    PrintScaling only where that is not AppDefault."""
    with pikepdf.open(io.BytesIO(made("A4").data)) as pdf:
        wanted = pdf.Root.ViewerPreferences
        assert wanted.PrintScaling == "/None"
        assert list(wanted.Enforce) == ["/PrintScaling"]
        assert wanted.DisplayDocTitle == True  # noqa: E712 a pikepdf object
        assert tuple(int(n) for n in pdf.pdf_version.split(".")) >= (1, 6)


def test_title_language_and_no_scripts() -> None:
    """ISO 32000-1, 14.9.2 (Lang) and 14.3.3 (Title); nothing that runs (12.6.4.16)."""
    with pikepdf.open(io.BytesIO(made("A4").data)) as pdf:
        assert str(pdf.Root.Lang) == "en"
        assert str(pdf.docinfo.Title) == handmade.TITLE
        assert "/OpenAction" not in pdf.Root and "/AA" not in pdf.Root
        assert "/JavaScript" not in pdf.Root.Names
        for key in ("/CreationDate", "/ModDate"):
            assert key not in pdf.docinfo
        assert pdf.check_pdf_syntax() == []


def test_page_labels_form_a_number_tree() -> None:
    """ISO 32000-1, 12.4.2 and 7.9.7: keys ascending from 0, one for each page, each with its prefix."""
    with pikepdf.open(io.BytesIO(made("A4").data)) as pdf:
        pairs = list(pdf.Root.PageLabels.Nums)
        keys = [int(key) for key in pairs[0::2]]
        assert keys == list(range(len(pdf.pages)))
        assert str(pairs[1].P) == "Cover"


@pytest.mark.parametrize("name", ["letter", "A4"])
def test_check_bars_measure_100_mm_and_4_in_both_ways(name: str) -> None:
    """Common practice, no source: 100 mm and 4 in, measured across and up the page, on every sheet and on the cover."""
    pages = pagereader.pages(made(name).data)
    for page in [pages[0]] + [pages[sheet.page - 1] for sheet in made(name).sheets]:
        ends = np.concatenate([path.beziers[:, [0, 3]] for path in page]) * INCH_MM / POINTS_AN_INCH
        for axis in (0, 1):
            level = np.ptp(ends[:, :, 1 - axis], axis=1) < 1e-6
            lengths = np.abs(np.diff(ends[level][:, :, axis], axis=1))
            assert np.abs(lengths - 4 * INCH_MM).min() < 0.002
            ticks = np.unique(np.round(ends[~level][:, 0, axis], 3))
            apart = np.abs(ticks[:, None] - ticks[None])
            assert (np.abs(apart - 100) < 0.003).any()
