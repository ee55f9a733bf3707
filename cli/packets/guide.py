"""What the start page of a packet tells, in whatever form: words and paths, nothing of how they are set."""

from __future__ import annotations

import shlex
from collections.abc import Mapping, Sequence

from msgspec import Struct

from cli.drawings import Kind
from patterns.measure import Units


class SheetsOnPage(Struct, frozen=True):
    """A PDF of sheets: its paper, its path in the packet, how many sheets and pages it has."""

    paper: str
    path: str
    sheets: int
    pages: int


class PartOnPage(Struct, frozen=True):
    """A pattern: its name, its size in words, more lines about it (how many, of what), the paths of a small picture and of
    its files by kind."""

    name: str
    size: str
    facts: Sequence[str]
    picture: str
    links: Mapping[Kind, str]
    notes: Sequence[str] = ()


class Guide(Struct, frozen=True):
    """All that stands on a start page. ``given`` are sizes that were not taken from the file; ``files`` are (path, what it
    is, group)."""

    title: str
    about: str
    revision: str
    date: str
    word: str
    member: str
    units: Units
    sheets: tuple[SheetsOnPage, ...]
    parts: tuple[PartOnPage, ...]
    has_halves: bool
    sizes: tuple[tuple[str, str, str], ...]
    given: Mapping[str, str]
    stock_head: tuple[str, ...]
    stock: tuple[tuple[str, ...], ...]
    stock_note: str
    warnings: tuple[str, ...]
    files: tuple[tuple[str, str, str], ...]
    pattern_file: str
    """The name of the pattern file, which lies in the folder ``pattern``."""
    mirrored: bool = False
    example: str = ""
    """A size and its value, as they are typed to change it; empty where there is none to change."""

    @property
    def facts(self) -> tuple[str, ...]:
        """Whom it is for, which way round, which revision it is, of when."""
        way = "The mirror image of the piece as drawn" if self.mirrored else ""
        whom = f"For {self.member}" if self.member else ""
        revision = f"Revision {self.revision}" if self.revision else ""
        return tuple(filter(None, (whom, way, revision, self.date, f"Word of the file and its sizes: {self.word}")))

    @property
    def commands(self) -> tuple[tuple[str, str], ...]:
        """What to type to read the piece back, to change a size and to print: (what it does, command line)."""
        pdf = shlex.quote(self.sheets[0].path)
        size = f" --size {shlex.quote(self.example)}" if self.example else ""
        changed = "after a change of a size" if size else "after a change of the pattern file"
        file = pdf if size else shlex.quote(f"pattern/{self.pattern_file}")
        return (
            ("reads the piece back: its sizes, its curves, what the shop's tools can't do", f"curvewright check {pdf}"),
            (
                f"prints, {changed}, only the sheets that differ",
                f"curvewright reprint {pdf} {file}{size} -o change.pdf",
            ),
            ("prints all of it on other paper", f"curvewright sheets {pdf} --paper A3 -o all.pdf"),
        )
