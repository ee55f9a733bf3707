"""The pictures of ``compare``: one for each part that differs, and for each board that does."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

from cli import comparing_text
from cli.comparing import Comparison
from patterns.compared import Compared
from patterns.comparisondrawing import Caption, picture
from patterns.display import Display
from patterns.slug import slugs
from tiling.order import usual_form

PICTURE_DPI = 150.0
SUFFIX = "compared"
"""What the files' names end with, so that nobody takes them for patterns."""

MOST_LINES = 4
"""Lines that have moved beyond these are only counted on a picture; the report has them all."""


Written = dict[str, tuple[Path, ...]]
"""The files that show each pattern that differs: its SVG file, and its PNG file if one was wanted."""


def pictures(found: Comparison, folder: Path, png: bool) -> tuple[dict[Path, bytes], Written]:
    """The files with their content, and which pattern they show."""
    differing = [one for one in found.parts if not one.is_same]
    files: dict[Path, bytes] = {}
    written: Written = {}
    for one, stem in zip(differing, slugs([one.new.name for one in differing]), strict=True):
        drawing = _drawn(one, found).encode("utf-8")
        path = folder / f"{stem}-{SUFFIX}.svg"
        shown = {path: drawing} | ({path.with_suffix(".png"): _png(drawing)} if png else {})
        written[one.new.name] = tuple(shown)
        files |= shown
    return files, written


def _drawn(one: Compared, found: Comparison) -> str:
    display = found.sides.new.display
    largest = one.largest
    caption = Caption(
        f"{one.new.name}: what changed",
        comparing_text.side_in_words(found.sides.old, found.sides.old_name),
        comparing_text.side_in_words(found.sides.new, found.sides.new_name),
        (found.sides.new.piece.title, *_findings(one, display)),
        comparing_text.distance(largest.distance, display) if largest is not None else "",
    )
    return picture(one, caption, _paper(one, found.sides.new.piece.units))


def _paper(one: Compared, units: str) -> tuple[float, float]:
    """Width and height of the usual paper (mm), lying for a part that is wider than high."""
    paper = usual_form(units).paper
    x0, y0, x1, y1 = one.new.outline.bounds
    short, long = sorted((paper.width_mm, paper.height_mm))
    return (long, short) if x1 - x0 >= y1 - y0 else (short, long)


def _findings(one: Compared, display: Display) -> Sequence[str]:
    moved = comparing_text.worth_telling(one)
    lines: list[str] = []
    for number, change in enumerate(moved[:MOST_LINES]):
        lead = "Largest distance" if number == 0 else "Also"
        lines.append(
            f"{lead}: {comparing_text.distance(change.distance, display)}, {comparing_text.where(change, display)}."
        )
    if len(moved) > MOST_LINES:
        lines.append(f"And {len(moved) - MOST_LINES} more.")
    return [*lines, *(f"{words[0].upper()}{words[1:]}." for words in comparing_text.holes(one)), *_blanks(one)]


def _blanks(one: Compared) -> list[str]:
    if not one.is_from_another_blank:
        return []
    return ["Of another blank than before: the two are laid on each other by the blanks' lower left corners."]


def _png(drawing: bytes) -> bytes:
    import cairosvg  # late: only a picture needs it

    content: bytes = cairosvg.svg2png(bytestring=drawing, scale=PICTURE_DPI / 96.0, background_color="white")
    return content
