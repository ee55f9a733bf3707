"""What is to be printed, and on what."""

from __future__ import annotations

from collections.abc import Callable, Mapping

from msgspec import Struct

from patterns.display import Display
from patterns.filetext import NamedText
from patterns.pattern import Pattern
from patterns.piece import Piece
from patterns.routerguide import Template
from tiling.form import SheetForm
from tiling.paper import Paper, paper

MOST_SHEETS = 2000
"""More than this is a wrong unit sooner than a piece of furniture."""

Progress = Callable[[str, int, int], None]
"""Called with what is being done, how many steps of it are done, and how many there are."""


def no_progress(what: str, done: int, total: int) -> None:
    """Tells nobody."""


class Order(Struct, frozen=True):
    """A piece's patterns to be printed. ``given`` are sizes given beside the file, ``only`` the parts asked for."""

    source: NamedText
    given: Mapping[str, str]
    shop_text: str
    piece: Piece
    display: Display
    patterns: tuple[Pattern, ...]
    warnings: tuple[str, ...] = ()
    only: tuple[str, ...] = ()
    many: bool = False
    halves: Mapping[str, float] = {}
    """Parts whose patterns are halves, and how wide their flip strips are (mm)."""
    mirrored: bool = False
    """Whether the whole piece is drawn as its mirror image."""
    templates: tuple[Template, ...] = ()
    """Router templates among the patterns."""
    shop_aids: bool = False
    """Whether cards for the angles and clamp blocks are among the patterns."""
    member: str = ""
    """Whom of a class the sheets are for; empty for nobody by name."""


def usual_form(units: str) -> SheetForm:
    """The sheet form of a file that says nothing of paper: letter for inches, A4 for metric."""
    return SheetForm(paper("letter" if units == "in" else "A4"), grid_mm=grid_of(units))


def form_for(
    units: str, chosen: Paper | None = None, margin_mm: float | None = None, overlap_mm: float | None = None
) -> SheetForm:
    """The usual form with what was asked for in its place; unchecked."""
    usual = usual_form(units)
    return SheetForm(
        chosen or usual.paper,
        usual.orientation,
        usual.margin_mm if margin_mm is None else margin_mm,
        usual.overlap_mm if overlap_mm is None else overlap_mm,
        usual.grid_mm,
    )


def grid_of(units: str) -> float:
    """Steps between sheets are whole eighths of an inch, or whole millimetres."""
    return 25.4 / 8 if units == "in" else 1.0
