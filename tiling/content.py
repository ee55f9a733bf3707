"""Writing a page's content stream: lines in whole draw units and real text.

Text is coded by glyph number, with the numbers of the whole font, so that a page's bytes do not depend on which other
letters the job happens to use.
"""

from __future__ import annotations

import hashlib
import math
from collections.abc import Iterable, Sequence
from functools import cached_property, lru_cache

from patterns.lettering import CAP_HEIGHT, UNITS_PER_EM, own_advance, run_of
from patterns.numbers import decimal
from tiling.units import UNITS_PER_MM, UNITS_PER_POINT, to_units

WIDE = to_units(0.3)
"""The cut line: ISO 128 wide, thin enough that a saw can split it."""
NARROW = to_units(0.15)
"""All other lines: half of wide."""

FONT_RESOURCE = "/F"
_LINE_STYLE = "1 J 1 j\n"
"""Round ends and joins."""

_QUARTERS = {0: (1, 0), 1: (0, 1), 2: (-1, 0), 3: (0, -1)}


class Content:
    """A page's content being written; points are whole draw units from ``corner``, a point of the page in units.

    A content that is made to be shown on many pages (``shown_often``) is written once in the file and placed by name;
    the name follows from what it draws, so that a page's own bytes still tell all that is on it.
    """

    def __init__(self, corner: tuple[int, int] = (0, 0), *, shown_often: bool = False) -> None:
        scale, x, y = (decimal(v / UNITS_PER_POINT, 8) for v in (1, *corner))
        self.parts: list[str] = [_LINE_STYLE] if shown_often else [f"q {scale} 0 0 {scale} {x} {y} cm {_LINE_STYLE}"]
        self.shown_often = shown_often
        self.shown: dict[str, Content] = {}
        self.glyphs: dict[int, str] = {}
        self._width = 0
        self._fingerprints: list[tuple[int, int]] = []

    # ---------------------------------------------------------------- lines

    def width(self, units: int) -> None:
        """The width of the lines that follow."""
        if units != self._width:
            self.parts.append(f"{units} w\n")
            self._width = units

    def clip(self, x0: int, y0: int, x1: int, y1: int) -> None:
        """From here to ``unclip`` nothing outside the rectangle is shown."""
        self.parts.append(f"q {x0} {y0} {x1 - x0} {y1 - y0} re W n\n")

    def unclip(self) -> None:
        """Ends ``clip``; the line width of before holds again."""
        self.parts.append("Q\n")
        self._width = 0

    def show(self, other: Content, x: int = 0, y: int = 0) -> None:
        """Shows a content that is shown often, its origin at (x, y)."""
        name = other.name
        self.shown[name] = other
        self.parts.append(f"q 1 0 0 1 {x} {y} cm {name} Do Q\n" if (x, y) != (0, 0) else f"q {name} Do Q\n")

    @cached_property
    def name(self) -> str:
        """The name by which pages show it; ask for it when it is finished."""
        return "/X" + hashlib.sha256(self.stream()).hexdigest()[:10]

    def raw(self, operators: str) -> None:
        """Operators as they are."""
        self.parts.append(operators)

    def line(self, x0: int, y0: int, x1: int, y1: int) -> None:
        """One straight line."""
        self.parts.append(f"{x0} {y0} m {x1} {y1} l S\n")

    def lines(self, pairs: Iterable[Sequence[int]]) -> None:
        """Several straight lines (x0, y0, x1, y1) in one stroke."""
        path = "".join(f"{a} {b} m {c} {d} l\n" for a, b, c, d in pairs)
        if path:
            self.parts.append(path + "S\n")

    def rectangle(self, x0: int, y0: int, x1: int, y1: int) -> None:
        """The outline of a rectangle."""
        self.parts.append(f"{x0} {y0} {x1 - x0} {y1 - y0} re S\n")

    def circle(self, x: int, y: int, radius: int) -> None:
        """A circle in four Béziers (handles of 4/3 (sqrt 2 - 1))."""
        k, r = round(radius * 0.5522847498), radius
        self.parts.append(
            f"{x + r} {y} m {x + r} {y + k} {x + k} {y + r} {x} {y + r} c "
            f"{x - k} {y + r} {x - r} {y + k} {x - r} {y} c {x - r} {y - k} {x - k} {y - r} {x} {y - r} c "
            f"{x + k} {y - r} {x + r} {y - k} {x + r} {y} c h S\n"
        )

    # ---------------------------------------------------------------- text

    def text(
        self, x: float, y: float, text: str, height_mm: float, *, angle: float = 0.0, anchor: str = "start"
    ) -> float:
        """A line of text with its base line at (x, y), capitals ``height_mm`` high; returns its width in units.

        ``anchor`` is the part of the line that stands at x: start, middle or end.
        """
        operators, glyphs, advance = _set(text)
        size = round(height_mm / CAP_HEIGHT * UNITS_PER_MM)
        width = advance * size / UNITS_PER_EM
        back = {"start": 0.0, "middle": width / 2, "end": width}[anchor]
        cos, sin, turned = _direction(angle)
        x, y = x - back * cos, y - back * sin
        self.parts.append(f"BT {FONT_RESOURCE} {size} Tf {turned} {round(x)} {round(y)} Tm {operators} ET\n")
        self.glyphs.update(glyphs)
        return width

    def begin_fingerprint(self) -> None:
        """What is written from here to ``end_fingerprint`` does not count towards the digest: the word made from it, and
        whom the sheet is for."""
        self._fingerprints.append((len(self.parts), len(self.parts)))

    def end_fingerprint(self) -> None:
        """Ends what ``begin_fingerprint`` began."""
        self._fingerprints[-1] = (self._fingerprints[-1][0], len(self.parts))

    # ---------------------------------------------------------------- done

    def stream(self) -> bytes:
        """The whole stream."""
        return ("".join(self.parts) + ("" if self.shown_often else "Q")).encode("ascii")

    def hashed(self) -> bytes:
        """The stream without what does not count towards the digest."""
        skipped = {k for start, end in self._fingerprints for k in range(start, end)}
        kept = [part for k, part in enumerate(self.parts) if k not in skipped]
        return ("".join(kept) + "Q").encode("ascii")


@lru_cache(maxsize=4096)
def _set(text: str) -> tuple[str, dict[int, str], int]:
    """The operator that shows a text, the glyphs it uses, and its advance in font units.

    The operator moves by the difference where a glyph's advance is not the font's own (kerning).
    """
    runs: list[str] = []
    codes = ""
    run = run_of(text)
    for number, advance in zip(run.numbers, run.advances, strict=True):
        codes += f"{number:04X}"
        kern = own_advance(number) - advance
        if kern:
            runs.append(f"<{codes}>{kern}")
            codes = ""
    if codes:
        runs.append(f"<{codes}>")
    known = dict(zip(reversed(run.numbers), reversed(run.texts), strict=True))
    return "[" + "".join(runs) + "] TJ", known, sum(run.advances)


def text_width(text: str, height_mm: float) -> float:
    """The width of a line of text in draw units."""
    return _set(text)[2] / UNITS_PER_EM * height_mm / CAP_HEIGHT * UNITS_PER_MM


@lru_cache(maxsize=256)
def _direction(angle: float) -> tuple[float, float, str]:
    """Cosine and sine, exact for quarter turns, and the first four numbers of the text matrix."""
    quarter = round(angle / (math.pi / 2))
    cos, sin = math.cos(angle), math.sin(angle)
    if abs(angle - quarter * math.pi / 2) < 1e-9:
        cos, sin = _QUARTERS[quarter % 4]
    return cos, sin, " ".join(decimal(v, 8) for v in (cos, sin, -sin, cos))
