"""The pictures of the cover, laid side by side in rows, each with its name and its size; and what their signs mean."""

from __future__ import annotations

from msgspec import Struct

from tiling.content import NARROW, WIDE, Content
from tiling.coverfacts import CoverFacts, PatternOnCover, SheetState
from tiling.fates import REPLACED, STATES
from tiling.flow import BODY_MM, COLUMN_GAP_MM, Block, Frame, beside, heading, paragraph, stacked
from tiling.pictures import BOLD, REPLACING, Picture, picture
from tiling.units import to_units
from tiling.wrap import text_mm

NAME_MM = 2.9
"""Height of a pattern's name over its picture."""
EASY_CELL_MM = (11.0, 8.0)
"""A sheet in a picture that is at least this large is easy to find one's way in."""
NARROWEST_MM = 50.0
"""A picture in a row with others has at least this width."""
HEIGHTS_MM = {1: 95.0, 2: 85.0, 3: 60.0}
"""The most a picture may be high, where so many stand side by side."""
LOWEST_MM = 42.0
"""A picture is not squeezed lower than this into what is left of a page."""
WORDS_MM = 38.0
"""What heading, legend and captions take beside a picture."""


class _Entry(Struct, frozen=True):
    """A pattern's picture with its words, and the share of the width that it takes."""

    block: Block
    share: float


def picture_blocks(facts: CoverFacts, frame: Frame, room: float) -> list[Block]:
    """All patterns in their order, as many in a row as they are large enough for, and the legend.

    ``room`` (mm) is what is left of the page: where it is not too little, the first pictures are drawn to fit it.
    """
    if not facts.patterns:
        return []
    most = 1 if len(facts.patterns) == 1 else 2 if len(facts.patterns) <= 4 else 3
    most = max(1, min(most, int((frame.width + COLUMN_GAP_MM) // (NARROWEST_MM + COLUMN_GAP_MM))))
    first = room - WORDS_MM if room - WORDS_MM >= LOWEST_MM else frame.height - WORDS_MM
    entries = [
        _entry(facts, on_cover, frame, most, first if k < most else frame.height - WORDS_MM)
        for k, on_cover in enumerate(facts.patterns)
    ]
    rows: list[list[_Entry]] = []
    for entry in entries:
        if rows and sum(e.share for e in rows[-1]) + entry.share <= 1.0 + 1e-9:
            rows[-1].append(entry)
        else:
            rows.append([entry])
    return [
        heading("The patterns and their sheets", frame.width),
        *_legend(facts, frame.width),
        *(_row(row, frame.width) for row in rows),
    ]


def _entry(facts: CoverFacts, on_cover: PatternOnCover, frame: Frame, most: int, room: float) -> _Entry:
    """The smallest of the usual pictures that is easy to find one's way in, else one as large as the page allows."""
    for number in range(most, 0, -1):
        width = frame.column_width(number)
        shown = picture(on_cover, width, min(HEIGHTS_MM[number], room))
        if all(have >= want for have, want in zip(shown.cell_mm, EASY_CELL_MM, strict=True)):
            break
    else:
        shown = picture(on_cover, width, min(190.0, frame.height - WORDS_MM))
    return _Entry(stacked([*_words(facts, on_cover, width), _drawn(shown, facts.reprint)]), 1 / number)


def _words(facts: CoverFacts, on_cover: PatternOnCover, width: float) -> list[Block]:
    """The name, the size of the pattern, and how much table it takes."""
    x0, y0, x1, y1 = on_cover.pattern.outline.bounds
    size = f"{facts.display.both(x1 - x0)} by {facts.display.both(y1 - y0)}"
    half = on_cover.pattern.half
    if half is not None:
        size += f", flip strip included; {half.whole}"
    lines = [paragraph(on_cover.pattern.name, width, height=NAME_MM, before=0.0), paragraph(size, width, before=0.4)]
    below = (_taped_size(facts, on_cover), on_cover.note)
    return lines + [paragraph(text, width, before=0.2) for text in below if text]


def _taped_size(facts: CoverFacts, on_cover: PatternOnCover) -> str:
    taped = on_cover.taped
    if len(taped) < 2:
        return "" if on_cover.note else "on one sheet"
    columns, rows = [sheet.cell[0] for sheet in taped], [sheet.cell[1] for sheet in taped]
    across, up = on_cover.lattice.form.page_mm
    step = [units / to_units(1.0) for units in on_cover.lattice.form.step]
    width = across + step[0] * (max(columns) - min(columns))
    height = up + step[1] * (max(rows) - min(rows))
    unit, divisor = ("in", 25.4) if facts.units == "in" else ("cm", 10.0)
    return f"{len(taped)} sheets, taped about {width / divisor:.0f} by {height / divisor:.0f} {unit}"


def _drawn(shown: Picture, tell_apart: bool) -> Block:
    def draw(page: Content, x: float, y: float) -> None:
        shown.draw(page, x, y, tell_apart)

    return Block(shown.height, draw, before=1.0)


def _row(row: list[_Entry], width: float) -> Block:
    place, blocks = 0.0, []
    for entry in row:
        blocks.append((place, entry.block))
        place += (width + COLUMN_GAP_MM) * entry.share
    return beside(blocks, before=3.0)


# -------------------------------------------------------------------- the legend

_WORDS: dict[SheetState, str] = {
    "print": "print",
    "keep": "keep",
    "join": "marks only, to hold others together",
    "left out": "not needed, no such sheet",
    "discard": STATES["discard"],
}
_SIGN_MM = (6.0, 4.2)

_Entered = tuple[SheetState | None, str]
"""A line of the legend's: a sheet's state, if the words are beside its sign, and the words."""


def _legend(facts: CoverFacts, width: float) -> list[Block]:
    """What the frames and crosses mean; none where every sheet is simply printed."""
    found = {sheet.state for on_cover in facts.patterns for sheet in on_cover.sheets}
    states = [state for state in _WORDS if state in found]
    if not facts.reprint and found <= {"print"}:
        return [
            paragraph(
                "Outside face up. The wide line is the line to cut to; each box is a sheet.", width, keeps_next=True
            )
        ]
    entries: list[_Entered] = [(state, _WORDS[state]) for state in states]
    if any(sheet.replaces for on_cover in facts.patterns for sheet in on_cover.sheets):
        entries.append((None, f"{REPLACING} {REPLACED}"))
    lines: list[list[_Entered]] = [[]]
    used = 0.0
    for entry in entries:
        wanted = _taken(entry)
        if lines[-1] and used + wanted > width:
            lines.append([])
            used = 0.0
        lines[-1].append(entry)
        used += wanted
    return [_legend_line(line, facts.reprint) for line in lines]


def _taken(entry: _Entered) -> float:
    """How wide (mm) an entry of the legend is, with the gap after it."""
    state, words = entry
    return (_SIGN_MM[0] + 1.5 if state else 0.0) + text_mm(words, BODY_MM) + 6.0


def _legend_line(entries: list[_Entered], tell_apart: bool) -> Block:
    def draw(page: Content, x: float, y: float) -> None:
        for state, words in entries:
            if state is not None:
                _sign(page, x, y, state, tell_apart)
                x += _SIGN_MM[0] + 1.5
            x += page.text(to_units(x), to_units(y - 3.2), words, BODY_MM) / to_units(1.0) + 6.0

    return Block(_SIGN_MM[1], draw, before=1.5, keeps_next=True)


def _sign(page: Content, x: float, y: float, state: SheetState, tell_apart: bool) -> None:
    """A sheet in small, drawn as in the pictures."""
    left, right, top, bottom = (to_units(v) for v in (x, x + _SIGN_MM[0], y, y - _SIGN_MM[1]))
    page.width(BOLD if tell_apart and state == "print" else NARROW)
    page.rectangle(left, bottom, right, top)
    rising, falling = (left, bottom, right, top), (left, top, right, bottom)
    page.width(WIDE * 2 if state == "discard" else NARROW)
    page.lines({"join": [rising], "left out": [rising, falling], "discard": [rising, falling]}.get(state, []))
