"""The start page and the cautions as plain text, for whoever opens a packet without a browser."""

from __future__ import annotations

import textwrap
from collections.abc import Iterable, Iterator, Sequence

from cli import report
from cli.packets.guide import Guide
from cli.packets.steps import steps_of
from tiling.cautions import CAUTIONS

WIDTH = 78


def start_text(guide: Guide) -> bytes:
    """The start page."""
    with report.at_width(WIDTH):
        return ("\n".join(_start(guide)) + "\n").encode("utf-8")


def cautions_text(cautions: Sequence[str]) -> bytes:
    """The cautions alone."""
    return ("\n".join(["CAUTIONS", "", *_listed(cautions)]) + "\n").encode("utf-8")


def _start(guide: Guide) -> Iterator[str]:
    yield guide.title
    yield "=" * report.columns_of(guide.title)
    yield from (["", *_folded(guide.about)] if guide.about else [])
    yield ""
    yield from guide.facts
    yield from _heading("Cautions: read these first")
    yield from _listed(CAUTIONS)
    yield from _heading("The sheets to print")
    yield from report.table(
        ("file", "sheets", "pages with the cover"),
        [(s.path, str(s.sheets), str(s.pages)) for s in guide.sheets],
        right="lrr",
    )
    for title, steps in steps_of(guide):
        yield from _heading(title)
        yield from _listed(steps, numbered=True)
    yield from _heading("The parts")
    for part in guide.parts:
        yield f"{part.name}: {part.size}; {'; '.join(part.facts)}"
        yield from (line for note in part.notes for line in _folded(note, "    "))
        yield from (f"    {path}" for path in part.links.values())
    yield from _heading("Blanks to cut")
    yield from report.table(guide.stock_head, guide.stock, right="lrlll")
    yield ""
    yield from _folded(guide.stock_note)
    if guide.sizes:
        yield from _heading("Sizes in force")
        yield from report.table(("size", "value", "what it is"), guide.sizes)
    if guide.warnings:
        yield from _heading("Warnings")
        yield from _listed(guide.warnings)
    yield from _heading("Change a size and print again")
    yield from _folded(
        "With Curvewright installed, the PDF is all that is needed: it carries the pattern file. In this folder, type"
    )
    for what, command in guide.commands:
        yield ""
        yield f"    {command}"
        yield from _folded(what, "        ")
    yield from _heading("All files")
    yield from report.table(("file", "what it is"), [(path, what) for path, what, _ in guide.files])
    yield ""
    yield from _folded("To see whether all of them are whole, type 'curvewright verify' and the packet's name, or")
    yield "    sha256sum -c SHA256SUMS"


def _heading(text: str) -> list[str]:
    return ["", "", text, "-" * report.columns_of(text), ""]


def _listed(texts: Iterable[str], numbered: bool = False) -> Iterator[str]:
    for number, text in enumerate(texts, 1):
        yield from textwrap.wrap(
            text, WIDTH, initial_indent=f"{number}. " if numbered else "- ", subsequent_indent="   "
        )


def _folded(text: str, indent: str = "") -> list[str]:
    return textwrap.wrap(text, WIDTH, initial_indent=indent, subsequent_indent=indent)
