"""Units of length and of the page against the documents that define them."""

from __future__ import annotations

import math
from fractions import Fraction

import pytest

from patterns import formula, measure
from patterns.measure import from_mm, to_mm


def mm(text: str) -> float:
    """A length of an inch file, in mm."""
    return formula.evaluate(text, wanted="length", units="in", names={}).value


def degrees(text: str) -> float:
    return math.degrees(formula.evaluate(text, wanted="angle", units="in", names={}).value)


def test_inch_is_25_4_mm_exactly() -> None:
    # International yard and pound agreement, 1959; NIST Handbook 44, appendix C: 1 in = 2.54 cm, 1 ft = 30.48 cm.
    assert mm("1 in") == 25.4
    assert mm("2.54 cm") == 25.4
    assert mm("1 ft") == 304.8
    assert mm("3 ft") == 914.4  # the yard of the agreement, 0.9144 m
    assert measure.EXACT_MM_PER["in"] == Fraction(127, 5)


def test_point_is_a_72nd_of_an_inch() -> None:
    # ISO 32000-1:2008, 8.3.2.3: the default user space unit is 1/72 inch. Values as listed in restatements of it.
    assert pytest.approx(0.35277777777777775, rel=1e-15) == measure.MM_PER_POINT
    assert pytest.approx(2.834645669291339, rel=1e-15) == 1 / measure.MM_PER_POINT
    # US letter, 8 1/2 x 11 in, is 612 x 792 points (PWG 5101.1 name na_letter_8.5x11in and PDF libraries' tables).
    assert [mm(side) / measure.MM_PER_POINT for side in ("8 1/2", "11")] == pytest.approx([612, 792], rel=1e-15)


def test_css_px_is_a_96th_of_an_inch() -> None:
    # W3C CSS Values and Units, "Absolute lengths": 1in = 96px = 72pt = 2.54cm; 1px = 0.75pt.
    assert pytest.approx(0.26458333333333334, rel=1e-15) == measure.MM_PER_CSS_PX
    assert pytest.approx(0.75, rel=1e-15) == measure.MM_PER_CSS_PX / measure.MM_PER_POINT
    assert pytest.approx(3.7795275590551185, rel=1e-15) == 1 / measure.MM_PER_CSS_PX


def test_iso_a4_in_points() -> None:
    # ISO 216: A4 is 210 x 297 mm; in points 595.2755905511812 x 841.8897637795277, as PDF libraries have it.
    sides = [mm(side) / measure.MM_PER_POINT for side in ("210 mm", "29.7 cm")]
    assert sides == pytest.approx([595.2755905511812, 841.8897637795277], rel=1e-14)


@pytest.mark.parametrize(
    ("inches", "published_mm"),
    # Fraction to millimetre tables of machinists' handbooks, to four decimals (exact conversions; from memory).
    [("1/64", 0.3969), ("1/32", 0.7938), ("1/16", 1.5875), ("3/8", 9.5250), ("13/16", 20.6375), ("63/64", 25.0031)],
)
def test_fraction_table(inches: str, published_mm: float) -> None:
    assert mm(inches) == pytest.approx(published_mm, abs=0.00005 + 1e-9)


@pytest.mark.parametrize(
    ("slope", "published_degrees"),
    # Dovetail slopes and their angles from square, as tables of the trade give them; common practice, no source.
    [("1:6", 9.462), ("1:7", 8.130), ("1:8", 7.125)],
)
def test_slopes_of_dovetails(slope: str, published_degrees: float) -> None:
    assert degrees(slope) == pytest.approx(published_degrees, abs=0.0005)
    assert degrees(slope.replace(":", " over ")) == degrees(slope)


@pytest.mark.parametrize(
    ("angle", "run"),
    # Router bits' angles and their slopes 1:n, from catalogues; common practice, slopes computed.
    [(7, 8.144), (8, 7.115), (9, 6.314), (10, 5.671), (14, 4.011), (18, 3.078)],
)
def test_angles_of_router_bits(angle: float, run: float) -> None:
    assert degrees(f"1:{run}") == pytest.approx(angle, abs=0.002)
    reading = formula.evaluate(f"1 / tan({angle})", wanted="number", units="in", names={})
    assert reading.value == pytest.approx(run, abs=0.0005)


def test_conversions_turn_round() -> None:
    for unit in ("in", "ft", "cm", "mm"):
        assert from_mm(to_mm(7.25, unit), unit) == pytest.approx(7.25, rel=1e-15)
