"""Bars of known length on the cover: the first thing that is measured."""

from __future__ import annotations

import math
from collections.abc import Sequence

from patterns.affine import Affine
from patterns.measure import Units
from tiling.content import NARROW, Content
from tiling.flow import BODY_MM, Block
from tiling.units import to_units

BARS_MM: dict[str, float] = {"4 in": 101.6, "100 mm": 100.0}
SHORT_BARS_MM: dict[str, float] = {"2 in": 50.8, "50 mm": 50.0}
"""For a page that has no room for the others."""

END_MM = 5.0
"""Length of the end lines."""
BAR_PITCH_MM = 8.5
"""From one bar to the next."""
STRIP_MM = 2 * BAR_PITCH_MM + 3.0
"""Width of the strip that two upright bars take."""


def bars_for(units: Units, room_across: float, room_up: float) -> list[tuple[str, float]]:
    """The two bars (words, mm), the file's own unit first: the long ones if both ways have room for them."""
    bars = BARS_MM if max(BARS_MM.values()) <= min(room_across, room_up) else SHORT_BARS_MM
    return sorted(bars.items(), key=lambda bar: bar[0].endswith("in") != (units == "in"))


def level_bars(bars: Sequence[tuple[str, float]], correction: Affine) -> Block:
    """The bars one above the other, across the page."""

    def draw(page: Content, x: float, y: float) -> None:
        for k, (words, length) in enumerate(bars):
            _bar(page, x, y - BAR_PITCH_MM * k - END_MM / 2 - 1.5, length, words, correction, upright=False)

    return Block(BAR_PITCH_MM * len(bars), draw, before=0.5)


def draw_upright(page: Content, x: float, top: float, bars: Sequence[tuple[str, float]], correction: Affine) -> None:
    """The bars side by side, down from ``top`` (mm), in a strip of ``STRIP_MM`` from ``x``."""
    for k, (words, length) in enumerate(bars):
        _bar(page, x + END_MM / 2 + 1.5 + BAR_PITCH_MM * k, top - length, length, words, correction, upright=True)


def _bar(page: Content, x: float, y: float, length: float, words: str, correction: Affine, *, upright: bool) -> None:
    """A bar from (x, y) to the right or up. Its ends are lines square to it: the length is from middle to middle.

    It is drawn through the printer's correction, so that it measures right on paper.
    """

    def at(along: float, beside: float) -> tuple[int, int]:
        dx, dy = correction.point(-beside, along) if upright else correction.point(along, beside)
        return to_units(x + dx), to_units(y + dy)

    half = END_MM / 2
    page.width(NARROW)
    page.lines([(*at(0.0, 0.0), *at(length, 0.0))])
    page.lines([(*at(end, -half), *at(end, half)) for end in (0.0, length)])
    tick_at = [length * k / 4 for k in (1, 2, 3)]
    page.lines([(*at(tick, -half / 2), *at(tick, 0.0)) for tick in tick_at])
    page.text(*at(length / 2, 0.9), words, BODY_MM, angle=math.pi / 2 if upright else 0.0, anchor="middle")
