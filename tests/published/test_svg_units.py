"""Units of SVG and CSS: a drawing in millimetres is as large as the standards say.

Sources: W3C CSS Values and Units Module Level 3 and 4, "Absolute lengths" (1in = 2.54cm = 96px = 72pt); W3C SVG 2 and
SVG 1.1, coordinate systems and units (a user unit is scaled by width over the view box's width).
"""

from __future__ import annotations

import io
from collections.abc import Callable
from typing import Any
from xml.etree import ElementTree

import cairosvg
import pytest
from PIL import Image
from pypdf import PdfReader

from patterns.svg import png, svg_text

CSS_PX_PER_INCH = 96
MM_PER_INCH = 25.4
POINTS_PER_INCH = 72

Bench = Callable[..., Any]

STRIP = '[[part]]\nname = "strip"\nblank = { length = "10", width = "2" }\n'


@pytest.fixture
def svg(bench: Bench) -> str:
    return svg_text(bench(STRIP, "in").patterns()[0])


def test_a_user_unit_is_a_millimetre(svg: str) -> None:
    """SVG: with width in mm and a view box of the same numbers a user unit is 1 mm, so 10 in are 254 units."""
    root = ElementTree.fromstring(svg)
    box = [float(v) for v in (root.get("viewBox") or "").split()]
    assert float((root.get("width") or "").removesuffix("mm")) / box[2] == 1.0
    assert float((root.get("height") or "").removesuffix("mm")) / box[3] == 1.0
    (path,) = root.findall("{http://www.w3.org/2000/svg}path")
    corners = {tuple(map(float, c.lstrip("ML").split(","))) for c in (path.get("d") or "").split() if c != "Z"}
    assert corners == {(0, 0), (254, 0), (254, -50.8), (0, -50.8)}


def test_an_inch_is_96_css_pixels_on_a_screen(svg: str, bench: Bench) -> None:
    root = ElementTree.fromstring(svg)
    width_mm = float((root.get("width") or "").removesuffix("mm"))
    picture = Image.open(io.BytesIO(png(bench(STRIP, "in").patterns()[0], CSS_PX_PER_INCH)))
    assert picture.width == pytest.approx(width_mm / MM_PER_INCH * CSS_PX_PER_INCH, abs=1)


def test_an_inch_is_72_points_on_paper(svg: str) -> None:
    """Printed from the SVG alone, through a writer that knows no more than the standards."""
    root = ElementTree.fromstring(svg)
    width_mm = float((root.get("width") or "").removesuffix("mm"))
    page = PdfReader(io.BytesIO(cairosvg.svg2pdf(bytestring=svg.encode()))).pages[0]
    assert float(page.mediabox.width) == pytest.approx(width_mm / MM_PER_INCH * POINTS_PER_INCH, abs=0.01)
