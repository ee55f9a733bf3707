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
    """A pattern: its name, its size in words, more lines about it (how many, of what), and its files by kind."""

    name: str
    size: str
    facts: Sequence[str]
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

    @property
    def facts(self) -> tuple[str, ...]:
        """Whom it is for, which revision it is, of when."""
        whom = f"For {self.member}" if self.member else ""
        revision = f"Revision {self.revision}" if self.revision else ""
        return tuple(filter(None, (whom, revision, self.date, f"Word of the file and its sizes: {self.word}")))

    @property
    def commands(self) -> tuple[tuple[str, str], ...]:
        """What to type to print again, and to change a size: (what it does, command line)."""
        pdf = self.sheets[0].path
        name, value, _ = next(iter(self.sizes), ("arch_rise", "2", ""))
        size = shlex.quote(f"{name}={self.given.get(name, value.split(' (')[0].removeprefix('~'))}")
        return (
            ("reads the piece back: its sizes, its curves, what the shop's tools can't do", f"curvewright check {pdf}"),
            (
                "prints, after a change, only the sheets that differ",
                f"curvewright reprint {pdf} {pdf} --size {size} -o change.pdf",
            ),
            ("prints all of it on other paper", f"curvewright sheets {pdf} --paper A3 -o all.pdf"),
        )
