"""The printing instructions of a start page: those of the cover, for every paper of the packet."""

from __future__ import annotations

from cli.packets.guide import Guide
from tiling import cautions
from tiling.paper import paper

Steps = tuple[tuple[str, tuple[str, ...]], ...]
"""Headings, each with its steps."""


def steps_of(guide: Guide) -> Steps:
    """What to do, in order."""
    first = paper(guide.sheets[0].paper, guide.units)
    names = [one.paper for one in guide.sheets]
    which = (f"Take the PDF for the paper in your printer: {' or '.join(names)}.",) if len(names) > 1 else ()
    print_words = cautions.printing(first)
    if len(names) > 1 and not first.roll:
        print_words = tuple(words.replace(f"on {first.name} paper", "on that paper") for words in print_words)
    found = [
        (_of_cover(cautions.CHECK_HEADING), (*which, *map(_of_cover, cautions.check_first(guide.units)))),
        ("Print", print_words),
        ("Trim", cautions.TRIMMING),
        ("Tape, row by row", cautions.TAPING),
        ("Check", cautions.CHECKING),
        ("Paste and cut", cautions.pasting(guide.units)),
    ]
    if guide.has_halves:
        found.append(("Draw with a half pattern", cautions.HALVES))
    return tuple(found)


def _of_cover(words: str) -> str:
    """The cover's own words about itself, said from elsewhere."""
    return words.replace("this page", "the cover")
