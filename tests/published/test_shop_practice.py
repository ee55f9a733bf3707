"""The built-in shop against figures of the trade. Common practice: owner's manuals and trade articles, no standard."""

from __future__ import annotations

import pytest

from patterns import shopfile

INCH = 25.4

BLADE_RADII = {0.125: 0.1875, 0.1875: 0.3125, 0.25: 0.625, 0.375: 1.4375, 0.5: 2.5, 0.75: 5.5}
"""Blade width to least comfortable radius, in inches. Common practice, no source; seen alike in two band-saw owner's
manuals and two trade articles."""

SET_IN = 0.0125
"""How much wider the kerf is than the blade, in inches: what fits the table below to geometry."""


def test_band_saw_blades_follow_the_radii_of_common_practice() -> None:
    found = {round(blade.width / INCH, 9): blade.least_radius / INCH for blade in shopfile.default().blades}
    assert found == pytest.approx(BLADE_RADII)


def test_band_saw_blades_agree_with_the_geometry_of_a_stiff_strip_in_its_kerf() -> None:
    """A strip of width w clears a curve of radius R in a kerf wider by s if w² / (8 R) <= s (sagitta of a chord)."""
    for blade in shopfile.default().blades:
        assert blade.least_radius == pytest.approx(blade.width**2 / (8 * SET_IN * INCH), rel=0.25)


def test_drums_and_round_over_bits_are_sizes_that_are_sold() -> None:
    """Common practice, no source: router bit and sanding drum catalogues."""
    shop = shopfile.default()
    assert {round(drum.diameter / INCH, 4) for drum in shop.drums} <= {0.25, 0.5, 0.75, 1.0, 1.5, 2.0, 3.0}
    assert {round(bit.radius / INCH, 4) for bit in shop.round_over_bits} <= {
        0.0625,
        0.125,
        0.1875,
        0.25,
        0.3125,
        0.375,
        0.5,
        0.625,
        0.75,
    }
