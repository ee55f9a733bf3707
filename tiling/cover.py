"""The cover: what is read, measured and decided before a sheet is printed, trimmed or taped.

Portrait pages of the job's own paper. A pure function of its facts: no clock, no file; same facts, same bytes.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence

from msgspec.structs import replace

from tiling import cautions
from tiling.checkbars import STRIP_MM, bars_for, draw_upright, level_bars
from tiling.content import Content
from tiling.coverfacts import CoverFacts, PatternOnCover, SheetOnCover, SheetState
from tiling.coverpictures import picture_blocks
from tiling.fates import STATES
from tiling.flow import BODY_MM, TITLE_MM, Block, Frame, Pages, heading, paragraph, rule, stacked, table
from tiling.frame import for_whom
from tiling.posterboard import boards_needed, needs_splicing, usual_board
from tiling.proofs import Proof, proof_distances
from tiling.sketches import trim_and_tape
from tiling.units import to_units
from tiling.wrap import fitted, text_mm

__all__ = ["CoverFacts", "PatternOnCover", "SheetOnCover", "SheetState", "cover_pages"]

EDGE_MM = 12.0
"""From the paper's edge to the words, where the printer's margin is not wider."""
FOOT_MM = 6.0
"""Room for the line at the foot of each page."""
WIDEST_MM = 260.0
"""Wider pages are not filled: nobody reads lines across a roll of paper."""
TEXT_COLUMN_MM = 56.0
"""The least width of a column where there are several."""
MOST_COLUMNS = 3

UNTITLED = "Untitled"
THROWN = "Throw away old prints, those of sheets that are printed anew included, so that none of them is taped in."
NO_BREAK = "\N{NO-BREAK SPACE}"


def cover_pages(facts: CoverFacts) -> list[Content]:
    """The cover's pages, first to last, with all lines in draw units from the page's lower left corner."""
    pages = Pages(_frame(facts))
    pages.place(_title(facts, pages.frame.width))
    _check_first(facts, pages)
    pages.place(_warnings(facts, pages.frame.width))
    if facts.reprint:
        pages.place(_what_to_do(facts, pages.frame.width))
    pages.place(picture_blocks(facts, pages.frame, pages.room))
    pages.place(_notes(facts, pages.frame.width))
    pages.place(_fingerprints(facts, pages.frame.width))
    pages.place(_proofs(facts, pages.frame.width))
    pages.place(_sizes(facts, pages.frame.width))
    columns = max(1, min(MOST_COLUMNS, int(pages.frame.width // TEXT_COLUMN_MM)))
    if facts.reprint:
        pages.place(_numbered("Change the sheets", cautions.CHANGING, pages.frame.width))
        words = [paragraph(text, pages.frame.width) for text in cautions.CAUTIONS_AGAIN]
        pages.place([heading("Cautions", pages.frame.width), *words])
        _feet(facts, pages)
        return pages.contents
    pages.place(list(_steps(facts, pages.frame.column_width(columns))), columns)
    words = [paragraph(text, pages.frame.column_width(columns), lead="–") for text in cautions.CAUTIONS]
    pages.place(words, columns, head=heading("Cautions", pages.frame.width))
    _feet(facts, pages)
    return pages.contents


def _frame(facts: CoverFacts) -> Frame:
    paper, edge = facts.form.paper, max(EDGE_MM, facts.form.margin_mm + 1.0)
    width = min(paper.width_mm - 2 * edge, WIDEST_MM)
    return Frame(edge, edge + FOOT_MM, width, paper.height_mm - 2 * edge - FOOT_MM)


# -------------------------------------------------------------------- the head


def _title(facts: CoverFacts, width: float) -> list[Block]:
    facts_line = [
        for_whom(facts.member) if facts.member else "",
        "The mirror image of the piece as drawn" if facts.mirrored else "",
        f"Revision {facts.revision}" if facts.revision else "",
        facts.date,
        f"Word of this file and its sizes: {facts.recipe_word}" if facts.recipe_word else "",
        "A reprint: only the sheets that changed" if facts.reprint else "",
    ]
    title = facts.title or UNTITLED
    blocks = [heading(f"{title}, mirrored" if facts.mirrored else title, width, height=TITLE_MM, before=0.0)]
    texts = ("  ·  ".join(filter(None, facts_line)), facts.about)
    return blocks + [paragraph(text, width, before=0.9) for text in texts if text]


def _check_first(facts: CoverFacts, pages: Pages) -> None:
    """The bars and their words: upright bars at the left, words and level bars beside them, all on one page.

    What then finds no room beside the upright bars follows beneath, over the whole width.
    """
    width = pages.frame.width - STRIP_MM
    bars = bars_for(facts.units, width, pages.frame.height - 20.0)
    longest = max(length for _, length in bars)
    correction = facts.form.correction
    first, *_ = _check_words(facts)
    title = cautions.CHECK_ROLL_HEADING if facts.paper.roll else cautions.CHECK_HEADING
    beside = [heading(title, width, before=0.0), paragraph(first, width), level_bars(bars, correction)]
    if max(_height(beside), longest) + 5.0 > pages.room and pages.y < pages.frame.top:
        pages.new_page()
    pages.y -= 4.0 if pages.y < pages.frame.top else 0.0
    top = pages.y
    draw_upright(pages.contents[-1], pages.frame.left, top, bars, correction)
    others = _more_words(facts, width)
    fitting = next((k for k in range(len(others), 0, -1) if _height([*beside, *others[:k]]) <= pages.room), 0)
    pages.place_beside([*beside, *others[:fitting]], STRIP_MM)
    pages.y = min(pages.y, top - longest - 1.0)
    pages.place(_more_words(facts, pages.frame.width)[fitting:])


def _check_words(facts: CoverFacts) -> tuple[str, ...]:
    return cautions.CHECK_ROLL if facts.paper.roll else cautions.check_first(facts.units)


def _more_words(facts: CoverFacts, width: float) -> list[Block]:
    _, *rest = _check_words(facts)
    return [*(paragraph(text, width) for text in rest), *_summary(facts, width)]


def _height(blocks: Iterable[Block]) -> float:
    return sum(block.height + block.before for block in blocks)


def _summary(facts: CoverFacts, width: float) -> list[Block]:
    """How much there is to print, tape and paste."""
    printed = facts.count("print", "join")
    taped = facts.count("print", "join", "keep")
    board = usual_board(facts.units)
    boxes = [_size_mm(p) for p in facts.patterns]
    boards = boards_needed(boxes, board)
    count = f"{_counted(len(facts.patterns), 'pattern')}, {_counted(printed, 'sheet')} to print"
    kept = f", {taped} in all with those you keep" if facts.reprint else ""
    lines = [
        f"{count} {_on(facts)}{kept}.",
        f"Poster board to paste them on: {_counted(boards, 'board')} of {board.name}, a usual size.",
    ]
    if any(needs_splicing(box, board) for box in boxes):
        lines.append("Where a pattern is larger than a board, butt two edges and tape them behind, before you paste.")
    if facts.reprint and facts.fresh_sheet_count is not None:
        lines.append(f"A fresh printing, laid out anew, would take {_counted(facts.fresh_sheet_count, 'sheet')}.")
    if facts.correction:
        lines.append(f"All pages are {facts.correction}. Print them on that printer only.")
    lines.append("Read the cautions at the end of this cover before you cut paper or wood.")
    return [heading("In this job", width), *(paragraph(line, width, before=0.6) for line in lines)]


def _warnings(facts: CoverFacts, width: float) -> list[Block]:
    own = [f"{p.pattern.name}: {text}" for p in facts.patterns for text in p.warnings]
    texts = [*facts.warnings, *own]
    if not texts:
        return []
    return _numbered("Warnings", texts, width, lead="!")


# -------------------------------------------------------------------- sheets


def _notes(facts: CoverFacts, width: float) -> list[Block]:
    """What the maker wrote beside the parts; boards of one part share its notes."""
    rows = [(p.pattern.part, note) for p in facts.patterns for note in p.pattern.notes]
    if not rows:
        return []
    return [heading("Notes", width), *(paragraph(f"{name}: {note}", width) for name, note in dict.fromkeys(rows))]


def _what_to_do(facts: CoverFacts, width: float) -> list[Block]:
    """On a reprint: what to print, what to keep, what to throw away, part by part, as the terminal has it."""
    named: dict[tuple[str, str], list[str]] = {}
    for fate in facts.fates:
        named.setdefault((fate.pattern, fate.state), []).append(fate.name)
    rows = [
        (pattern, *(", ".join(named.get((pattern, state), ["none"])) for state in STATES))
        for pattern in dict.fromkeys(fate.pattern for fate in facts.fates)
    ]
    header = ("Pattern", *(word.capitalize() for word in STATES.values()))
    note = [paragraph(THROWN, width)] if any(state == "discard" for _, state in named) else []
    return [heading("Print, keep, throw away", width), *table(rows, width, header=header), *note]


def _fingerprints(facts: CoverFacts, width: float) -> list[Block]:
    """Every sheet with its word, in columns of even width."""
    entries = [(p, [f"{s.name} {s.word}" for s in _with_words(p)]) for p in facts.patterns]
    entries = [(p, words) for p, words in entries if words]
    if not entries:
        return []
    label = min(max(text_mm(p.pattern.name, BODY_MM) for p, _ in entries), width * 0.3)
    pitch = max(text_mm(word, BODY_MM) for _, words in entries for word in words) + 4.0
    count = max(1, int((width - label - 4.0 + 4.0) // pitch))
    blocks: list[Block] = [heading("Sheets and their fingerprint words", width)]
    for on_cover, words in entries:
        lines = [_spread(words[k : k + count], pitch) for k in range(0, len(words), count)]
        name = paragraph(on_cover.pattern.name, label, before=0.0)
        first, *rest = [_shifted(line, label + 4.0) for line in lines]
        blocks.append(_side_by_side(name, first))
        blocks += rest
    texts = [*cautions.KEEPING, *_left_out(facts)]
    return [*blocks, *(paragraph(text, width) for text in texts)]


def _with_words(on_cover: PatternOnCover) -> Sequence[SheetOnCover]:
    return [sheet for sheet in on_cover.taped if sheet.word]


def _left_out(facts: CoverFacts) -> Iterator[str]:
    """Which sheets of the grids are not printed, which hold others together, and why."""
    for on_cover in facts.patterns:
        name = on_cover.pattern.name
        left_out = [sheet.name for sheet in on_cover.in_state("left out")]
        if left_out:
            yield f"{name}: {_listed(left_out)} not needed, since other sheets show all there is."
        joining = [sheet.name for sheet in on_cover.in_state("join")]
        if joining:
            yield f"{name}: {_listed(joining)} with marks only, to hold the other sheets together."


def _spread(words: Sequence[str], pitch: float) -> Block:
    """Words at even distances, on one line."""
    cells = [paragraph(word.replace(" ", NO_BREAK), 1e9, before=0.0) for word in words]

    def draw(page: Content, x: float, y: float) -> None:
        for k, cell in enumerate(cells):
            cell.draw(page, x + k * pitch, y)

    return Block(cells[0].height, draw)


def _shifted(block: Block, by: float) -> Block:
    def draw(page: Content, x: float, y: float) -> None:
        block.draw(page, x + by, y)

    return replace(block, draw=draw)


def _side_by_side(name: Block, line: Block) -> Block:
    def draw(page: Content, x: float, y: float) -> None:
        name.draw(page, x, y)
        line.draw(page, x, y)

    return Block(max(name.height, line.height), draw, before=0.8)


def _proofs(facts: CoverFacts, width: float) -> list[Block]:
    proofs = [proof for on_cover in facts.patterns for proof in proof_distances(on_cover, facts.display)]
    if not proofs:
        return []
    rows = [(p.pattern, f"{p.from_sheet} to {p.to_sheet}", p.text, f"± {p.tolerance_text}") for p in proofs]
    return [
        heading("Proof distances, to measure after taping", width),
        *table(rows, width, header=("Pattern", "Circle to circle", "Distance", "May be off by")),
        paragraph(cautions.PROVING, width),
        *(paragraph(text, width) for text in _loose(proofs)),
    ]


def _loose(proofs: Sequence[Proof]) -> Iterator[str]:
    """A word on the loosest distance of each pattern that has one."""
    for name in dict.fromkeys(p.pattern for p in proofs):
        worst = max((p for p in proofs if p.pattern == name), key=lambda p: p.sigma_mm)
        if worst.is_loose:
            yield cautions.holding_loosely(name, worst.from_sheet, worst.to_sheet)


# -------------------------------------------------------------------- the words


def _steps(facts: CoverFacts, width: float) -> Iterator[Block]:
    """A block a step, so that a column begins with a heading."""
    taped = any(len(on_cover.taped) > 1 for on_cover in facts.patterns)
    yield _step("Print", cautions.printing(facts.paper), width)
    if taped:
        sketch = trim_and_tape(width)
        yield stacked([_step("Trim", cautions.TRIMMING, width), *filter(None, [sketch])], before=4.5)
        yield _step("Tape, row by row", cautions.TAPING, width)
        yield _step("Check", cautions.CHECKING, width)
    yield _step("Paste and cut", cautions.pasting(facts.units), width)
    if any(on_cover.pattern.half is not None for on_cover in facts.patterns):
        yield _step("Draw with a half pattern", cautions.HALVES, width)


def _sizes(facts: CoverFacts, width: float) -> list[Block]:
    if not facts.sizes:
        return []
    return [heading("Sizes in force", width), *table(facts.sizes, width, header=("Size", "Value", "What it is"))]


def _step(title: str, texts: Iterable[str], width: float) -> Block:
    return stacked(_numbered(title, texts, width), before=4.5)


def _numbered(title: str, texts: Iterable[str], width: float, lead: str = "") -> list[Block]:
    blocks = [heading(title, width)]
    blocks += [paragraph(text, width, lead=lead or f"{k}.") for k, text in enumerate(texts, 1)]
    return blocks


def _feet(facts: CoverFacts, pages: Pages) -> None:
    """A line at the foot of each page, so that pages of several jobs are told apart."""
    frame, count = pages.frame, len(pages.contents)
    for number, page in enumerate(pages.contents, 1):
        right = f"cover {number} of {count}"
        room = frame.width - text_mm(right, BODY_MM) - 4.0
        rule(page, frame.left, frame.bottom - 1.2, frame.width)
        base = to_units(frame.bottom - FOOT_MM + 0.6)
        whom = for_whom(facts.member) if facts.member else ""
        facts_line = (facts.title or UNTITLED, whom, facts.revision and f"revision {facts.revision}", facts.recipe_word)
        left = fitted("  ·  ".join(filter(None, facts_line)), room, BODY_MM)
        page.text(to_units(frame.left), base, left, BODY_MM)
        page.text(to_units(frame.left + frame.width), base, right, BODY_MM, anchor="end")


def _on(facts: CoverFacts) -> str:
    return f"on paper off a {facts.paper.name} wide" if facts.paper.roll else f"on {facts.paper.name} paper"


def _size_mm(on_cover: PatternOnCover) -> tuple[float, float]:
    x0, y0, x1, y1 = on_cover.pattern.outline.bounds
    return x1 - x0, y1 - y0


def _counted(count: int, noun: str) -> str:
    return f"{count} {noun}" if count == 1 else f"{count} {noun}s"


def _listed(names: Sequence[str]) -> str:
    return names[0] if len(names) == 1 else f"{', '.join(names[:-1])} and {names[-1]}"
