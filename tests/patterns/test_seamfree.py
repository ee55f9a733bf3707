"""Places that seams keep away from: holes, ends of glue lines, and where curves are tightest."""

from __future__ import annotations

import fromfile
import pytest

PIECE = """
curvewright = 1
title = "Tray"
units = "mm"
[[part]]
name = "tray end"
blank = { length = "400", width = "200" }
glue_lines = ["120"]
corners.top_left = { round = "30" }
edges.bottom = { arch = "elliptical", rise = "100", arch_to = "inside", from = "100", to = "350" }
[[part.hole]]
circle = "20"
at = ["60", "150"]
"""


def test_the_places_are_those_of_the_drawing() -> None:
    (pattern,) = fromfile.order_of(PIECE).patterns
    assert pattern.hole_centres == (pytest.approx((60.0, 150.0)),)
    assert sorted(pattern.joints) == [pytest.approx((0.0, 120.0)), pytest.approx((400.0, 120.0))]


def test_an_arc_is_kept_whole_at_its_middle_and_an_ellipse_at_its_ends() -> None:
    """A quarter round of 30 at the corner (0, 200) has its middle 30 (1 - sqrt 1/2) from both edges. An ellipse of half
    axes 125 and 100 is tightest at the ends of the long one, b²/a = 80, so no place here; of 125 and 90, 64.8: there."""
    (pattern,) = fromfile.order_of(PIECE).patterns
    inset = 30 * (1 - 0.5**0.5)
    assert pattern.tight_places == (pytest.approx((inset, 200 - inset), abs=0.05),)
    (pattern,) = fromfile.order_of(PIECE.replace('rise = "100"', 'rise = "90"')).patterns
    ends = [(100.0, 0.0), (350.0, 0.0)]
    assert any(place == pytest.approx(end, abs=0.5) for place in pattern.tight_places for end in ends)
