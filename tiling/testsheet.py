"""The test sheet of a printer: a rectangle with a fine cross at each corner, to be measured, and what to do with it.

One upright page. The rectangle is drawn as it is, through no correction.
"""

from __future__ import annotations

import math
from collections.abc import Iterator

from tiling import pdf
from tiling.content import NARROW, Content
from tiling.distortion import Drawn
from tiling.doubts import length_text
from tiling.flow import BODY_MM, TITLE_MM, Block, heading, paragraph, stacked
from tiling.paper import Paper
from tiling.units import POINTS_PER_MM, to_units
from tiling.wrap import text_mm

TITLE = "Printer test sheet"
RIM_MM = 21.0
"""Beyond the crosses on all sides: for their letters, and for what the printer can't reach."""
ROLL_PAGE_MM = 297.0
"""Length of a test sheet off a roll."""

FINE = to_units(0.1)
"""Width of a cross's lines: finer than the lines of a rule."""
ARM_MM = 7.0
RING_MM = 2.5
LETTER_MM = 4.5
DASH_MM, GAP_MM = 2.0, 2.0
STUB_MM = 36.0
"""Of a diagonal, drawn from each corner inwards."""
CLEAR_MM = 9.0
"""Around a cross, where no line but its own is drawn."""
INSET_MM = 17.0
"""From the rectangle's sides to the words within it."""
COMMAND_MM = 3.0
"""Height of the letters of the line to type."""
BLANK_MM = 28.0

DISTANCES = (("across", "A", "B"), ("down", "D", "A"), ("rising", "A", "C"), ("falling", "D", "B"))
"""The distances and the corners they go between."""

Point = tuple[float, float]


def room_for(drawn: Drawn, paper: Paper) -> bool:
    """Whether the rectangle, with its letters, has room on the paper."""
    return paper.width_mm >= drawn.width_mm + 2 * RIM_MM and paper.height_mm >= drawn.height_mm + 2 * RIM_MM


def page_of(drawn: Drawn, paper: Paper) -> Paper:
    """The page itself: a piece of a roll, or the paper."""
    return paper.cut_to(ROLL_PAGE_MM) if paper.roll else paper


def made(drawn: Drawn, paper: Paper) -> bytes:
    """The PDF. ValueError where the paper has no room for it."""
    page = page_of(drawn, paper)
    if not room_for(drawn, page):
        raise ValueError("there is no room for the rectangle")
    size = (page.width_mm * POINTS_PER_MM, page.height_mm * POINTS_PER_MM)
    content = _Sheet(drawn, page).drawn()
    return pdf.assemble([pdf.Page(content, size, TITLE, TITLE)], [], TITLE, "Print at actual size, and measure")


def is_one(data: bytes) -> bool:
    """Whether these bytes are a test sheet of any paper and units as ``made`` gave it: no sheets, which carry their
    pattern file, and no page on which somebody has made notes in another program."""
    is_named = all(words in data for words in (f"/Title ({TITLE})".encode(), b"/Producer (Curvewright)"))
    others = (b"/EmbeddedFile", b"/Annots", b"/ObjStm")
    return is_named and data.count(b"startxref") == 1 and not any(words in data for words in others)


class _Sheet:
    """The page being drawn, in mm from its lower left corner."""

    def __init__(self, drawn: Drawn, page: Paper) -> None:
        self.size, self.page = drawn, page
        self.content = Content()
        left, low = (page.width_mm - drawn.width_mm) / 2, (page.height_mm - drawn.height_mm) / 2 - 3.0
        right, high = left + drawn.width_mm, low + drawn.height_mm
        self.corners: dict[str, Point] = {"A": (left, low), "B": (right, low), "C": (right, high), "D": (left, high)}

    def drawn(self) -> Content:
        for letter, corner in self.corners.items():
            self._cross(letter, corner)
        self.content.width(NARROW)
        for start, end in ("AB", "BC", "DC", "AD"):
            self._dashed(self.corners[start], self.corners[end], CLEAR_MM, self._length(start, end) - CLEAR_MM)
        for start, end in ("AC", "CA", "DB", "BD"):
            self._dashed(self.corners[start], self.corners[end], CLEAR_MM, STUB_MM)
        self._names()
        self._words()
        return self.content

    def _length(self, start: str, end: str) -> float:
        return math.dist(self.corners[start], self.corners[end])

    def _cross(self, letter: str, corner: Point) -> None:
        """Two fine lines through the corner, a ring to find it by, and its letter outside the rectangle."""
        x, y = (to_units(v) for v in corner)
        arm = to_units(ARM_MM)
        self.content.width(FINE)
        self.content.lines([(x - arm, y, x + arm, y), (x, y - arm, x, y + arm)])
        self.content.circle(x, y, to_units(RING_MM))
        out_x = -1 if letter in "AD" else 1
        out_y = -1 if letter in "AB" else 1
        base = y + to_units(out_y * 5.5 - LETTER_MM / 2)
        self.content.text(x + to_units(out_x * 5.5), base, letter, LETTER_MM, anchor="middle")

    def _dashed(self, start: Point, end: Point, first: float, last: float) -> None:
        """Dashes on the line from ``start`` to ``end``, between two distances from its start."""
        length = math.dist(start, end)

        def at(along: float) -> tuple[int, int]:
            share = along / length
            return tuple(to_units(a + (b - a) * share) for a, b in zip(start, end, strict=True))  # type: ignore[return-value]

        count = round((last - first + GAP_MM) / (DASH_MM + GAP_MM))
        pitch = (last - first - DASH_MM) / (count - 1)
        self.content.lines([(*at(first + k * pitch), *at(first + k * pitch + DASH_MM)) for k in range(count)])

    # ---------------------------------------------------------------- words

    def _names(self) -> None:
        """Each distance's name along its own line."""
        (x0, y0), (x1, y1) = self.corners["A"], self.corners["C"]
        slope = math.atan2(y1 - y0, x1 - x0)
        middle = (CLEAR_MM + STUB_MM) / 2 + 2.0
        self._label("across: A to B", ((x0 + x1) / 2, y0 + 1.8), 0.0)
        self._label("down: D to A", (x0 + 1.8 + BODY_MM, (y0 + y1) / 2), math.pi / 2)
        for name, (x, y), angle in (
            ("rising: A to C", (x0, y0), slope),
            ("falling: D to B", (x0, y1), -slope),
            ("rising: A to C", (x1, y1), slope + math.pi),
            ("falling: D to B", (x1, y0), math.pi - slope),
        ):
            cos, sin = math.cos(angle), math.sin(angle)
            reading = angle if abs(angle) < math.pi / 2 else angle - math.pi
            off = 2.2
            at = (x + middle * cos - off * math.sin(reading), y + middle * sin + off * math.cos(reading))
            self._label(name, at, reading)

    def _label(self, text: str, at: Point, angle: float) -> None:
        self.content.text(to_units(at[0]), to_units(at[1]), text, BODY_MM, angle=angle, anchor="middle")

    def _words(self) -> None:
        (x0, _), (x1, y1) = self.corners["A"], self.corners["C"]
        width = x1 - x0 - 2 * INSET_MM
        head = stacked([heading(TITLE, width, height=TITLE_MM, before=0.0)])
        head.draw(self.content, x0 + INSET_MM, y1 - 36.0)
        body = stacked(list(self._blocks(width)))
        body.draw(self.content, x0 + INSET_MM, y1 - 36.0 - head.height - 2.0)

    def _blocks(self, width: float) -> Iterator[Block]:
        drawn = self.size
        texts = (
            f"Print this page at actual size (100 %), {_lying(self.page)}, with the settings and the tray that the "
            "patterns will be printed with. Let the paper lie until it is dry and cool.",
            "Lay it flat. With a good steel rule measure the four distances, each from the middle of one cross to the "
            f"middle of the other, to {_read_to(drawn)}: across from A to B, down from D to A, and the two diagonals, "
            "rising from A to C and falling from D to B. Write them in the line below. Measure each twice.",
            f"Type all of this on one line, with a name of your own for the printer{_quotes(drawn)}:",
        )
        for k, text in enumerate(texts, 1):
            yield paragraph(text, width, lead=f"{k}.", before=1.6)
        yield _typed(["curvewright printer", "", f"--units {drawn.units}"])
        yield _typed(["    --across", "", "--down", ""])
        yield _typed(["    --rising", "", "--falling", ""])
        last = (
            "Then print with the printer's name:  curvewright sheets FILE -o OUT.pdf --printer NAME",
            "Print this page again after a repair, with other paper, or when the check bars no longer measure right.",
        )
        for k, text in enumerate(last, len(texts) + 1):
            yield paragraph(text, width, lead=f"{k}.", before=3.0 if k == len(texts) + 1 else 1.6)
        across, diagonal = (length_text(drawn, mm) for mm in (drawn.width_mm, drawn.distances.rising))
        down = length_text(drawn, drawn.height_mm)
        true = f"A printer that prints true shows {across} across, {down} down and {diagonal} on both diagonals."
        yield paragraph(true, width, before=1.6)


def _lying(page: Paper) -> str:
    return f"not turned, off a {page.name} wide" if page.roll else f"upright, on {page.name} paper"


def _quotes(drawn: Drawn) -> str:
    return ", figures with a space in quotes (such as '6 1/64')" if drawn.units == "in" else ""


def _read_to(drawn: Drawn) -> str:
    return "a quarter of a millimetre" if drawn.units == "mm" else "1/128 in, half of a sixty-fourth, or 1/100 in"


def _typed(words: list[str]) -> Block:
    """A line to type; an empty word is a blank to write in."""
    height = 9.5

    def draw(page: Content, x: float, y: float) -> None:
        base = y - height + 1.5
        page.width(NARROW)
        for word in words:
            shown = word.lstrip()
            x += 6.0 if shown != word else 0.0
            if not shown:
                page.lines([(to_units(x), to_units(base - 0.6), to_units(x + BLANK_MM), to_units(base - 0.6))])
                x += BLANK_MM + 3.0
                continue
            page.text(to_units(x), to_units(base), shown, COMMAND_MM)
            x += text_mm(shown, COMMAND_MM) + 2.0

    return Block(height, draw)
