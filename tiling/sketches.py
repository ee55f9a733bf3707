"""A sketch for the cover: which edges of a sheet are trimmed, and how the next sheet is laid on it."""

from __future__ import annotations

import math
from collections.abc import Iterator

from tiling.content import NARROW, WIDE, Content
from tiling.flow import BODY_MM, Block, paragraph, stacked
from tiling.units import to_units

PAGE_MM = (20.5, 25.0)
"""A sheet of the sketch; its trim lines and half overlaps lie ``TRIM_MM`` and ``HALF_MM`` from where they belong."""
TRIM_MM = 3.8
LONG_MM = 3.8
DASH_MM = 1.2
MARK_MM = 1.5
SECOND_MM = 26.0
"""Where the two sheets that are taped begin."""
WIDTH_MM = SECOND_MM + 2 * (PAGE_MM[0] - TRIM_MM) - LONG_MM

Line = tuple[float, float, float, float]


def trim_and_tape(width: float) -> Block | None:
    """The sketch and a line beneath it; None where there is no room for it."""
    if width < WIDTH_MM:
        return None

    def draw(page: Content, x: float, y: float) -> None:
        base = y - PAGE_MM[1]
        _sheet_to_trim(page, x, base)
        _sheets_to_tape(page, x + SECOND_MM, base + TRIM_MM / 2)

    words = "The trimmed edge of A2 lies on the overlap of A1, half mark to half mark."
    return stacked([Block(PAGE_MM[1], draw), paragraph(words, width, before=0.8)], before=2.0)


def _sheet_to_trim(page: Content, x: float, y: float) -> None:
    width, height = PAGE_MM
    _stroke(page, NARROW, _frame(x, y, x + width, y + height))
    cuts = [(x + TRIM_MM, y, x + TRIM_MM, y + height), (x, y + TRIM_MM, x + width, y + TRIM_MM)]
    _stroke(page, WIDE, [dash for cut in cuts for dash in _dashed(cut)])
    middle_x, middle_y = x + (TRIM_MM + width) / 2, y + (TRIM_MM + height) / 2
    _write(page, x + TRIM_MM / 2 + BODY_MM / 2, middle_y, "cut off", upright=True)
    _write(page, middle_x, y + (TRIM_MM - BODY_MM) / 2, "cut off")
    _write(page, x + width - 1.0, middle_y, "leave", upright=True)
    _write(page, middle_x, y + height - 1.0 - BODY_MM, "leave")
    _write(page, middle_x, middle_y - BODY_MM / 2, "A2")


def _sheets_to_tape(page: Content, x: float, y: float) -> None:
    """Two trimmed sheets, the right one on top: what is hidden of the left one is dashed."""
    width, height = PAGE_MM[0] - TRIM_MM, PAGE_MM[1] - TRIM_MM
    seam = x + width - LONG_MM
    _stroke(page, NARROW, [(x, y, seam, y), (x, y, x, y + height), (x, y + height, seam, y + height)])
    _stroke(page, NARROW, _dashed((x + width, y, x + width, y + height)))
    _stroke(page, NARROW, _frame(seam, y, seam + width, y + height))
    for share in (0.22, 0.78):
        centre = y + height * share
        page.circle(to_units(seam), to_units(centre), to_units(MARK_MM))
        reach = MARK_MM + 0.8
        _stroke(page, NARROW, [(seam - reach, centre, seam + reach, centre)])
    _write(page, (x + seam) / 2, y + height / 2 - BODY_MM / 2, "A1")
    _write(page, seam + LONG_MM + (width - LONG_MM) / 2, y + height / 2 - BODY_MM / 2, "A2")


def _frame(x0: float, y0: float, x1: float, y1: float) -> list[Line]:
    return [(x0, y0, x1, y0), (x1, y0, x1, y1), (x1, y1, x0, y1), (x0, y1, x0, y0)]


def _dashed(line: Line) -> Iterator[Line]:
    x0, y0, x1, y1 = line
    count = max(1, round(math.hypot(x1 - x0, y1 - y0) / DASH_MM) // 2 * 2 + 1)
    for k in range(0, count, 2):
        a, b = k / count, (k + 1) / count
        yield x0 + (x1 - x0) * a, y0 + (y1 - y0) * a, x0 + (x1 - x0) * b, y0 + (y1 - y0) * b


def _stroke(page: Content, width: int, lines: list[Line] | Iterator[Line]) -> None:
    page.width(width)
    page.lines([[to_units(value) for value in line] for line in lines])


def _write(page: Content, x: float, y: float, words: str, *, upright: bool = False) -> None:
    """Words with their middle at x (or at y, where they run up the page), on the base line."""
    angle = math.pi / 2 if upright else 0.0
    page.text(to_units(x), to_units(y), words, BODY_MM, angle=angle, anchor="middle")
